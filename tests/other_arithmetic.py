"""Run a module with the compiler's arithmetic as another processor or library might do it.

    python tests/other_arithmetic.py SEED MODULE ARGUMENT ...

A product, a sum or a solution comes out a little different where a library adds in another order or keeps more digits
in between.  Here every such result in the compiler's modules is moved by one unit in the last place of the terms
that it was made of, up or down or not at all, as chance has it.
"""

from __future__ import annotations

import ast
import builtins
import importlib.machinery
import runpy
import sys
from collections.abc import Sequence
from types import CodeType
from typing import Any

import numpy as np

#: functions and methods whose last digit is the library's own
MOVED = {
    *("sum", "mean", "dot", "cumsum", "einsum", "average", "interp", "fsum"),
    *("solve", "inv", "pinv", "lstsq", "svd", "norm"),
    *("hypot", "sin", "cos", "tan", "atan", "atan2", "arctan2", "radians", "exp", "log"),
}
PACKAGES = ("flatwise.core", "flatwise.survey", "flatwise.seat", "flatwise.plan", "flatwise.check", "flatwise.model")


def install(seed: int) -> None:
    """Move results in all modules that are imported from now on, with a chance of its own for each `seed`."""
    assert "flatwise" not in sys.modules
    chance = np.random.default_rng(seed)

    def moved(value: Any, size: Any = None) -> Any:
        if isinstance(value, tuple):
            return type(value)(*map(moved, value)) if hasattr(value, "_fields") else tuple(map(moved, value))
        if not isinstance(value, float | np.ndarray) or (isinstance(value, np.ndarray) and value.dtype.kind != "f"):
            return value
        size = np.max(np.abs(value), initial=0.0) if size is None else size
        changed = value + np.asarray(chance.integers(-1, 2, np.shape(value)) * np.spacing(size))
        return changed if isinstance(value, np.ndarray) else float(changed)

    def product(left: Any, right: Any) -> Any:
        return moved(left @ right, np.abs(left) @ np.abs(right))

    vars(builtins).update(_moved=moved, _product=product)
    sys.meta_path.insert(0, _Finder())


class _Finder:
    @staticmethod
    def find_spec(name: str, path: Sequence[str] | None, target: object = None) -> Any:
        if not name.startswith(PACKAGES):
            return None
        spec = importlib.machinery.PathFinder.find_spec(name, path)
        if spec is not None and spec.origin is not None:
            spec.loader = _Loader(name, spec.origin)
        return spec


class _Loader(importlib.machinery.SourceFileLoader):
    def get_code(self, name: str) -> CodeType:
        tree = _Moving().visit(ast.parse(self.get_data(self.path), self.path))
        return compile(ast.fix_missing_locations(tree), self.path, "exec", dont_inherit=True)


class _Moving(ast.NodeTransformer):
    def visit_BinOp(self, node: ast.BinOp) -> ast.expr:
        self.generic_visit(node)
        return _called("_product", node.left, node.right) if isinstance(node.op, ast.MatMult) else node

    def visit_Call(self, node: ast.Call) -> ast.expr:
        self.generic_visit(node)
        word = node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")
        return _called("_moved", node) if word in MOVED else node


def _called(name: str, *given: ast.expr) -> ast.Call:
    return ast.Call(ast.Name(name, ast.Load()), list(given), [])


if __name__ == "__main__":
    install(int(sys.argv[1]))
    sys.argv = sys.argv[2:]
    runpy.run_module(sys.argv[0], run_name="__main__", alter_sys=True)
