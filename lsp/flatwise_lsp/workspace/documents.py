"""What the editor holds: the open documents by file, and the folders in which it works.

No file is opened here.  Documents and snapshots are immutable, so a worker may keep them while the editor goes on.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote, unquote, urlsplit

from flatwise_lsp.workspace.document_text import DocumentText, Encoding, TextChange


def path_of(uri: str) -> Path | None:
    """The file of a URI, links resolved; None for a URI that is not a file (an unsaved buffer without a name)."""
    try:
        parts = urlsplit(uri)
        if parts.scheme != "file":
            return None
        name = unquote(parts.path)
        if len(name) > 2 and name[0] == "/" and name[2] == ":":  # file:///c:/jobs
            name = name[1:]
        if parts.netloc and parts.netloc != "localhost":
            name = f"//{parts.netloc}{name}"
        if "\0" in name or not name:
            return None
        return Path(name).resolve()
    except (OSError, ValueError, RuntimeError):
        return None


def uri_of(path: Path) -> str:
    """The URI of a file."""
    text = path.as_posix()
    return "file://" + quote(text if text.startswith("/") else f"/{text}", safe="/:~")


class Document(NamedTuple):
    """One version of one open document."""

    uri: str
    path: Path
    version: int
    text: DocumentText


class Snapshot(NamedTuple):
    """Everything that was open at one moment.  `number` grows with every change of a buffer or of the disk."""

    number: int
    documents: Mapping[Path, Document]
    roots: tuple[Path, ...]

    @property
    def overlay(self) -> dict[Path, str]:
        """The texts that replace those on disk."""
        return {path: document.text.text for path, document in self.documents.items()}

    def working(self, path: Path) -> Path:
        """The folder that shown paths are relative to: the innermost workspace folder that holds the file, else its
        own folder.
        """
        holding = [root for root in self.roots if path.is_relative_to(root)]
        return max(holding, key=lambda root: len(root.parts), default=path.parent)


@dataclass
class Store:
    """The open documents, kept in step with the editor's.  Only the event loop uses it."""

    encoding: Encoding = "utf-16"
    roots: tuple[Path, ...] = ()
    #: the folders as the editor spells them
    root_uris: dict[Path, str] = field(default_factory=dict)
    number: int = 0
    #: by file; where an editor has one file in two buffers (by a link, say), the buffer that changed last
    documents: dict[Path, Document] = field(default_factory=dict)
    #: every buffer, by the editor's URI
    buffers: dict[str, Document] = field(default_factory=dict)

    def open(self, uri: str, version: int, text: str) -> Document:
        """Add a document.  A buffer without a file counts as a file in the first workspace folder."""
        return self._hold(Document(uri, path_of(uri) or self._path_without_file(uri), version, DocumentText(text)))

    def _hold(self, document: Document) -> Document:
        self.documents[document.path] = self.buffers[document.uri] = document
        self.number += 1
        return document

    def _path_without_file(self, uri: str) -> Path:
        name = re.sub(r"[^A-Za-z0-9_-]+", "_", unquote(uri))[-60:]
        folder = self.roots[0] if self.roots else Path.cwd().resolve()
        return folder / f"{name}.flat"

    def uri(self, path: Path) -> str:
        """A file's URI as the editor spells it: as it opened the file, or below its own name of the folder."""
        document = self.documents.get(path)
        if document is not None:
            return document.uri
        for root, root_uri in self.root_uris.items():
            if path.is_relative_to(root):
                below = quote(path.relative_to(root).as_posix(), safe="/~")
                return f"{root_uri.rstrip('/')}/{below}"
        return uri_of(path)

    def change(self, uri: str, version: int, changes: list[TextChange]) -> Document | None:
        """Make the next version of a document; None where it is not open."""
        old = self.get(uri)
        if old is None:
            return None
        text = old.text
        for change in changes:
            text = text.edited(change, self.encoding)
        return self._hold(Document(old.uri, old.path, version, text))

    def close(self, uri: str) -> Path | None:
        """Remove a document.  Returns its file, which another buffer may still hold."""
        document = self.buffers.pop(uri, None)
        if document is None:
            return None
        self.documents.pop(document.path, None)
        for other in self.buffers.values():
            if other.path == document.path:
                self.documents[other.path] = other
        self.number += 1
        return document.path

    def get(self, uri: str) -> Document | None:
        """The document that an editor calls `uri`; None where it is not open."""
        return self.buffers.get(uri)

    def touched(self) -> None:
        """Something has changed on disk."""
        self.number += 1

    def snapshot(self) -> Snapshot:
        """Everything that is open now."""
        return Snapshot(self.number, dict(self.documents), self.roots)
