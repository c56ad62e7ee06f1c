"""What the editor holds: open documents by their files, and the folders that it works in.

Nothing here opens a file.  Documents and snapshots never change, so a worker may keep one while the editor goes on.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from urllib.parse import quote, unquote, urlsplit

from flatwise_lsp.workspace.text import Change, Encoding, Text


def path_of(uri: str) -> Path | None:
    """The file that a URI means, links followed; None for a URI that is no file (an unsaved, nameless buffer)."""
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


@dataclass(frozen=True)
class Document:
    """One version of one open document."""

    uri: str
    path: Path
    version: int
    text: Text


@dataclass(frozen=True)
class Snapshot:
    """Everything that was open at one moment.  `number` grows with every change, of a buffer or on the disk."""

    number: int
    documents: Mapping[Path, Document]
    roots: tuple[Path, ...]

    @property
    def overlay(self) -> dict[Path, str]:
        """The texts that count instead of the files."""
        return {path: document.text.text for path, document in self.documents.items()}

    def working(self, path: Path) -> Path:
        """The folder that paths are shown from: the innermost workspace folder that holds the file, else its own."""
        holding = [root for root in self.roots if path.is_relative_to(root)]
        return max(holding, key=lambda root: len(root.parts), default=path.parent)


@dataclass
class Store:
    """The open documents, kept equal to the editor's by its changes.  Used by the event loop alone."""

    encoding: Encoding = "utf-16"
    roots: tuple[Path, ...] = ()
    #: the folders as the editor spells them
    root_uris: dict[Path, str] = field(default_factory=dict)
    number: int = 0
    #: by file; where an editor holds one in two buffers (a link, two folders), the one that changed last
    documents: dict[Path, Document] = field(default_factory=dict)
    #: every buffer, by the editor's own name for it
    buffers: dict[str, Document] = field(default_factory=dict)

    def open(self, uri: str, version: int, text: str) -> Document:
        """Take a document in.  A buffer that is no file yet counts as one in the first folder of the workspace."""
        return self._hold(Document(uri, path_of(uri) or self._nameless(uri), version, Text(text)))

    def _hold(self, document: Document) -> Document:
        self.documents[document.path] = self.buffers[document.uri] = document
        self.number += 1
        return document

    def _nameless(self, uri: str) -> Path:
        name = re.sub(r"[^A-Za-z0-9_-]+", "_", unquote(uri))[-60:]
        folder = self.roots[0] if self.roots else Path.cwd().resolve()
        return folder / f"{name}.flat"

    def uri(self, path: Path) -> str:
        """A file's URI as the editor spells it: as it opened it, or below its folder as it named that."""
        document = self.documents.get(path)
        if document is not None:
            return document.uri
        for root, spelt in self.root_uris.items():
            if path.is_relative_to(root):
                below = quote(path.relative_to(root).as_posix(), safe="/~")
                return f"{spelt.rstrip('/')}/{below}"
        return uri_of(path)

    def change(self, uri: str, version: int, changes: list[Change]) -> Document | None:
        """The next version of a document; None where it is not open."""
        old = self.get(uri)
        if old is None:
            return None
        text = old.text
        for change in changes:
            text = text.edited(change, self.encoding)
        return self._hold(Document(old.uri, old.path, version, text))

    def close(self, uri: str) -> Path | None:
        """Let a document go; its file, which another buffer may still hold."""
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
        return self.buffers.get(uri)

    def touched(self) -> None:
        """Something changed on the disk."""
        self.number += 1

    def snapshot(self) -> Snapshot:
        return Snapshot(self.number, dict(self.documents), self.roots)
