"""What a target may not do, and how long it may take."""

from __future__ import annotations

from pathlib import Path

#: s of processor time that may go for every 10 KB of text begun, by the target
PER_10_KB = 1.0
#: s more where a job is planned: 20,000 rows a face is the most that a plan may take
PLANNING = 4.0
#: s of processor time after which a target is stopped where it stands
HANGS = 60


class Fault(AssertionError):
    """What a target did that it may not."""


def tree(folder: Path) -> dict[str, tuple[int, int]]:
    """Every file below a folder with its size and time of change."""
    found = {}
    for path in folder.rglob("*"):
        if path.is_file():
            status = path.stat()
            found[path.relative_to(folder).as_posix()] = (status.st_size, status.st_mtime_ns)
    return found
