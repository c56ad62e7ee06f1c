"""The page of each code: the docstring of its file, here or in `check`.  It is read as text, so no stage is loaded."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path
from typing import NamedTuple

FINDINGS = Path(__file__).parent
CHECKS = FINDINGS.parent / "check"


class Page(NamedTuple):
    """The page that `explain` prints for a code."""

    code: str
    title: str
    text: str


@cache
def _files() -> dict[str, Path]:
    found = {path.name[:5].upper(): path for folder in (FINDINGS, CHECKS) for path in folder.glob("fw*.py")}
    return dict(sorted(found.items()))


def codes() -> tuple[str, ...]:
    """Every code, in order."""
    return tuple(_files())


@cache
def page(code: str) -> Page | None:
    """The page of a code, or None if the code doesn't exist."""
    path = _files().get(code.upper())
    if path is None:
        return None
    text = (ast.get_docstring(ast.parse(path.read_text("utf-8"))) or "").strip() + "\n"
    if "```flat" in text and "\nuse " not in text:
        text += "\nThe examples use shared/shop.flat and shared/sample.flat.\n"
    return Page(code.upper(), text.splitlines()[0].partition("·")[2].strip(), text)
