"""The files of a project that a line may name."""

from __future__ import annotations

import os
from itertools import islice
from pathlib import Path

#: the most files that are offered, and the most folders that are searched for them
MOST_FILES = 500
MOST_FOLDERS = 500


def files_below(root: Path, suffix: str) -> list[Path]:
    """The files below a folder whose names end so, without hidden folders and those that are written."""
    found: list[Path] = []
    for place, folders, files in islice(os.walk(root), MOST_FOLDERS):
        folders[:] = sorted(name for name in folders if name[0] != "." and name not in ("node_modules", "out"))
        found.extend(Path(place) / name for name in sorted(files) if name.endswith(suffix))
        if len(found) >= MOST_FILES:
            break
    return found[:MOST_FILES]
