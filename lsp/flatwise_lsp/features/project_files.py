"""The files of a project that a line may name."""

from __future__ import annotations

from itertools import islice
from pathlib import Path

from flatwise.sources.paths import folders_below

#: the most files that are offered, and the most folders that are searched for them
MOST_FILES = 500
MOST_FOLDERS = 500


def files_below(root: Path, suffix: str) -> list[Path]:
    """The files below a folder whose names end so, without hidden folders and those that are written."""
    found: list[Path] = []
    for place, files in islice(folders_below(root, ("node_modules", "out")), MOST_FOLDERS):
        found.extend(place / name for name in files if name.endswith(suffix))
        if len(found) >= MOST_FILES:
            break
    return found[:MOST_FILES]
