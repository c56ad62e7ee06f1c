"""Renaming files: the edits that keep every text that names one of them true."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator, Sequence
from pathlib import Path, PurePath
from typing import NamedTuple

from flatwise.core.finding import Edit
from flatwise.sources.load import Loaded
from flatwise.sources.paths import below_root
from flatwise_grammar.nodes import Span
from flatwise_lsp.workspace.analysis import Meaning


class Renaming(NamedTuple):
    """A file or folder before and after it is renamed, links resolved."""

    old: Path
    new: Path


class _NamedFile(NamedTuple):
    """A quoted text (its span with the quotation marks), the file in which it stands, and the one that it names."""

    span: Span
    text: str
    file: Path
    named: Path


#: the value of a setting, behind its key
_VALUE = re.compile(r"""\s*=\s*(?=(["'])(.*?)\1)""")


def rename_files(meaning: Meaning, renamings: Sequence[Renaming]) -> list[Edit]:
    """The edits of all loaded files, as they are before the renaming, so that each names the same files after them."""
    edits = []
    for span, text, file, named in _named_files(meaning.linked.loaded):
        written = _path_after(text, _after(file, renamings).parent, _after(named, renamings))
        if written != text and written.isprintable():
            quoted = re.sub(r'(["\\])', r"\\\1", written)
            edits.append(Edit(span, f'"{quoted}"'))
    return edits


def _named_files(loaded: Loaded) -> Iterator[_NamedFile]:
    """Every text that names a file: of `use`, of points, and the standard of a project's settings."""
    for source in loaded.sources.values():
        for use in source.tree.uses:
            used = below_root(source.path.parent, use.target.text, source.project.root)
            if used is not None:
                yield _NamedFile(use.target.span, use.target.text, source.path, used)
    for span, points in loaded.points.items():
        source = loaded.sources[span.path]
        if points.path is not None:
            text = re.sub(r"\\(.)", r"\1", source.text[span.start + 1 : span.end - 1])
            yield _NamedFile(span, text, source.path, points.path)
    for project in {source.project.root: source.project for source in loaded.sources.values()}.values():
        key = project.spans.get("standard_from")
        value = _VALUE.match(project.text, key.end) if key is not None else None
        file = below_root(project.root, project.standard_from, project.root)
        if key is not None and value is not None and file is not None:
            yield _NamedFile(
                Span(key.path, value.end(), value.end(2) + 1), value[2], project.root / "flatwise.toml", file
            )


def _after(path: Path, renamings: Sequence[Renaming]) -> Path:
    """Where a file or folder is after the renamings."""
    for old, new in renamings:
        if path.is_relative_to(old):
            return new / path.relative_to(old)
    return path


def _path_after(written: str, folder: Path, file: Path) -> str:
    """How a file is named from a folder: as written before, if that still leads there."""
    if os.path.normpath(folder / written) == str(file):
        return written
    if PurePath(written).is_absolute():
        return file.as_posix()
    try:
        return Path(os.path.relpath(file, folder)).as_posix()
    except ValueError:  # another drive
        return written
