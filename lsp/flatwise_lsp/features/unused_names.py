"""Names that files of the project declare which a document does not use yet."""

from __future__ import annotations

import re
from functools import lru_cache
from pathlib import Path

from flatwise.sources.paths import SOURCE_LIMIT
from flatwise.sources.plain_file import read_plain_file
from flatwise_lsp.features.project_files import files_below
from flatwise_lsp.workspace.view import View

_HEADER = re.compile(r"^([a-z]+)[ \t]+([a-z][a-z0-9_]*)[^{}\n#]*\{", re.MULTILINE)


def unused_names(view: View) -> dict[str, dict[str, Path]]:
    """By kind, the names that one more `use` line would make visible, and the file of each.

    Files with jobs are left out, since nobody shares those, and files that declare a name which is visible already.
    """
    found: dict[str, dict[str, Path]] = {}
    visible = view.meaning.linked
    for path in files_below(view.root, ".flat"):
        declared = _declared_in(path, _modified(path)) if path != view.path else ()
        if any(one == "job" or visible.find(one, name, view.name) is not None for one, name in declared):
            continue
        for one, name in declared:
            found.setdefault(one, {}).setdefault(name, path)
    return found


def _modified(path: Path) -> int:
    try:
        return path.stat().st_mtime_ns
    except OSError:
        return 0


@lru_cache(maxsize=1000)
def _declared_in(path: Path, modified: int) -> tuple[tuple[str, str], ...]:
    """The kinds and names that a file declares; `modified` is its time, so that a changed file is read again."""
    try:
        text = read_plain_file(path, SOURCE_LIMIT).decode("utf-8")
    except (OSError, RuntimeError, UnicodeDecodeError):
        return ()
    return tuple((found[1], found[2]) for found in _HEADER.finditer(text))
