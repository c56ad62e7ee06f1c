"""What a fuzz target must not do, and how long it may take."""

from __future__ import annotations

from pathlib import Path

#: s of processor time that a target may take for each started 10 KB of text
PER_10_KB = 1.0
#: s more where a job is planned: a plan may have 20,000 rows a face
PLANNING = 4.0
#: s of processor time after which a target is stopped
HANGS = 60


class Fault(AssertionError):
    """A target did what it must not do."""


def tree(folder: Path) -> dict[str, tuple[int, int]]:
    """Every file below a folder with its size and modification time."""
    found = {}
    for path in folder.rglob("*"):
        if path.is_file():
            status = path.stat()
            found[path.relative_to(folder).as_posix()] = (status.st_size, status.st_mtime_ns)
    return found
