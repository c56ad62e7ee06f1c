"""Paths of a project: what they are called, where they lead, and whether a file can be read."""

from __future__ import annotations

import os
import stat
from collections.abc import Collection, Iterator
from itertools import islice
from pathlib import Path

from flatwise.core.finding import Finding
from flatwise.core.fixes import MANY_WORDS, near_words
from flatwise.findings import fw004_file
from flatwise_grammar.nodes import Span

#: bytes of a job file or a shop file, and of a file of points or a program
SOURCE_LIMIT = 1_000_000
POINTS_LIMIT = 64_000_000


def shown(path: Path, working: Path) -> str:
    """A path as people see it: relative to the working folder where it lies below it, else whole."""
    return str(path.relative_to(working)) if path.is_relative_to(working) else str(path)


def root_name(root: Path) -> str:
    """The name of a project's folder, without where it stands on this computer."""
    return root.name or str(root)


def shortened(name: str) -> str:
    """A name short enough for a message."""
    name = name.replace("\0", "\\0")
    return name if len(name) <= 120 else name[:60] + "…" + name[-59:]


def folders_below(root: Path, skipped: Collection[str] = ()) -> Iterator[tuple[Path, list[str]]]:
    """A folder and all below it but hidden and skipped ones, in order, each with the names of its files."""
    for place, folders, files in os.walk(root):
        folders[:] = sorted(name for name in folders if not name.startswith(".") and name not in skipped)
        yield Path(place), sorted(files)


def followed(folder: Path, target: str) -> Path | None:
    """The path that a text in `folder` names, links followed; None where it is no path or its links form a circle."""
    try:
        return (folder / target).resolve()
    except (OSError, RuntimeError, ValueError):
        return None


def below_root(folder: Path, target: str, root: Path) -> Path | None:
    """As `followed`, and None where the path leads out of the root."""
    path = followed(folder, target)
    return path if path is not None and path.is_relative_to(root) else None


def unreadable(path: Path, name: str, span: Span | None, limit: int, *, folders: bool = False) -> Finding | None:
    """FW004 for a file that cannot be read, judged without opening it; None for one that can."""
    try:
        status = os.stat(path)
    except (FileNotFoundError, NotADirectoryError):
        near = near_file(path, folders=folders)
        return fw004_file.missing(name, span, str(Path(name).with_name(near)) if near else "")
    except (OSError, ValueError) as error:
        return fw004_file.not_allowed(shortened(name), span, getattr(error, "strerror", None) or str(error))
    if stat.S_ISDIR(status.st_mode):
        return None if folders else fw004_file.folder(name, span)
    if not stat.S_ISREG(status.st_mode):
        return fw004_file.not_regular(name, span)
    if status.st_size > limit:
        return fw004_file.too_large(name, span, status.st_size, limit)
    return None


def near_file(path: Path, *, folders: bool = False) -> str:
    """The name of a file (or folder) beside `path` that is spelt like it, or ""."""
    try:
        names = (
            entry.name
            for entry in os.scandir(path.parent)
            if entry.name.endswith(path.suffix or ".flat") or (folders and not path.suffix and entry.is_dir())
        )
        # one more than are ever compared, so that a folder of thousands is not read to its end for each wrong name
        found = near_words(path.name, islice(names, MANY_WORDS + 1))
    except OSError:
        return ""
    return found[0] if found else ""
