"""Our own modules and their syntax trees, for the tests that read the code."""

from __future__ import annotations

import ast
from functools import cache
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PACKAGES = {
    "flatwise_grammar": ROOT / "grammar" / "flatwise_grammar",
    "flatwise": ROOT / "compiler" / "flatwise",
    "flatwise_lsp": ROOT / "lsp" / "flatwise_lsp",
}


@cache
def modules() -> list[tuple[str, Path]]:
    """The dotted name and the file of each."""
    found = []
    for package, folder in PACKAGES.items():
        for path in sorted(folder.rglob("*.py")):
            parts = path.relative_to(folder).with_suffix("").parts
            name = ".".join((package, *parts)).removesuffix(".__init__")
            found.append((name, path))
    return found


@cache
def tree(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"))
