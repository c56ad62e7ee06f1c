"""`flatwise check --fix`: apply the safe fixes of findings to the files that were named."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from flatwise.fixed_texts import fixed_texts
from flatwise.pipeline import Front
from flatwise.sources.plain_file import put_all


class Changed(Exception):
    """A file was changed by someone else; nothing was written."""


def fix_files(paths: Sequence[Path]) -> tuple[Front, Mapping[str, int]]:
    """Fix the job files named, or below the folders named, and give what is read then, and the fixes in each file.

    Files that they use are left alone.  Raises Changed, or OSError where a file can't be written: then none is.
    """
    fixed = fixed_texts(paths, {}, [path.resolve() for path in paths])
    _write({name: (fixed.first.texts[name], text) for name, text in fixed.texts.items()})
    return fixed.front, fixed.applied


def _write(texts: Mapping[str, tuple[str, str]]) -> None:
    """Replace files, each given by its name, the text that was read and the new one, unless any has changed since."""
    for name, (old, _) in texts.items():
        if Path(name).read_bytes() != old.encode("utf-8"):
            raise Changed(f"{name} was changed while it was being fixed, so nothing was written. Run it again.")
    put_all({Path(name).resolve(): new.encode("utf-8") for name, (_, new) in texts.items()})
