"""`-` as a PATH: the text on standard input in the place of a file."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from flatwise.core.finding import Findings
from flatwise.tool.arguments import STANDARD_INPUT

if TYPE_CHECKING:
    from flatwise.pipeline import Front


def read_works(paths: Sequence[Path], as_path: Path | None) -> Front:
    """Read files, and standard input where a path is `-`, as if `as_path` contained it."""
    from flatwise import pipeline

    paths, overlay, findings = with_input(paths, as_path)
    front = pipeline.read_works(paths, overlay)
    return front._replace(findings=findings + front.findings)


def with_input(paths: Sequence[Path], as_path: Path | None) -> tuple[Sequence[Path], dict[Path, str], Findings]:
    """The files to read, the text of the one that standard input stands for, and a finding if that is not UTF-8.

    Without `as_path` it is a file called `-` in the working folder.
    """
    others = [each for each in paths if str(each) != STANDARD_INPUT]
    if len(others) == len(paths):
        return paths, {}, ()
    path = as_path or Path(STANDARD_INPUT)
    if sys.stdin is None:
        raise OSError("standard input is closed, so there is no text to read from `-`")
    data = sys.stdin.buffer.read()
    try:
        return [path, *others], {path: data.decode("utf-8")}, ()
    except UnicodeDecodeError as error:
        from flatwise.findings import fw004_file

        line = data[: error.start].count(b"\n") + 1
        return others, {}, (fw004_file.not_utf8("Standard input", None, error.start, line),)
