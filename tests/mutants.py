"""The small changes that `mutate.py` makes: comparisons, arithmetic, constants, and/or, min/max, dropped statements.

It leaves texts, types, decorators, formats of numbers, rounding tolerances and defaults of an empty `min` alone.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

#: functions that format a number for a message
SHOWN = {"show", "at_least", "at_most", "spoken"}
#: what a comparison becomes: its neighbour first, then its opposite
COMPARE: dict[type[ast.cmpop], tuple[type[ast.cmpop], ...]] = {
    ast.Lt: (ast.LtE, ast.GtE), ast.LtE: (ast.Lt, ast.Gt), ast.Gt: (ast.GtE, ast.LtE), ast.GtE: (ast.Gt, ast.Lt),
    ast.Eq: (ast.NotEq,), ast.NotEq: (ast.Eq,), ast.Is: (ast.IsNot,), ast.IsNot: (ast.Is,),
    ast.In: (ast.NotIn,), ast.NotIn: (ast.In,),
}  # fmt: skip
ARITHMETIC: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.FloorDiv: ast.Div,
    ast.Mod: ast.Mult, ast.Pow: ast.Mult,
}  # fmt: skip
SWAPPED = {"min": "max", "any": "all", "floor": "ceil", "minimum": "maximum", "sin": "cos"}
SWAPPED |= {new: old for old, new in SWAPPED.items()}


class Mutant(NamedTuple):
    """Bytes start…end of a file become `new`; `lines` are those of the node and of the statement around it."""

    path: Path
    start: int
    end: int
    new: str
    lines: tuple[int, int]
    told: str


def mutants(path: Path) -> Iterator[Mutant]:
    """Every mutant of a file, in the order of its text."""
    text = path.read_bytes()
    starts = [0]
    for line in text.splitlines(keepends=True):
        starts.append(starts[-1] + len(line))

    def visit(node: ast.AST, line: int) -> Iterator[Mutant]:
        line = node.lineno if isinstance(node, ast.stmt) else line
        for new in _changes(node):
            assert isinstance(node, ast.expr | ast.stmt)
            start = starts[node.lineno - 1] + node.col_offset
            end = starts[(node.end_lineno or 0) - 1] + (node.end_col_offset or 0)
            was = " ".join(text[start:end].decode().split())
            told = f"{path}:{node.lineno}:{node.col_offset + 1}  {was}  →  {new}"
            yield Mutant(path, start, end, new, (node.lineno, line), told)
        for child in _children(node):
            yield from visit(child, line)

    for node in ast.parse(text).body:
        yield from visit(node, node.lineno)


def _children(node: ast.AST) -> Iterator[ast.AST]:
    """The nodes below that are code: no types, texts, decorators or formats of numbers."""
    if isinstance(node, ast.JoinedStr | ast.Import | ast.ImportFrom):
        return
    if isinstance(node, ast.keyword) and node.arg == "default":
        return
    if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id in SHOWN:
        return
    for name, value in ast.iter_fields(node):
        if name not in ("annotation", "returns", "decorator_list", "bases"):
            yield from (
                child for child in (value if isinstance(value, list) else [value]) if isinstance(child, ast.AST)
            )


def _changes(node: ast.AST) -> Iterator[str]:
    """The texts that may replace a node."""
    match node:
        case ast.Compare():
            soft = any(_small(child) for child in ast.walk(node))
            for i, op in enumerate(node.ops):
                for other in COMPARE[type(op)][soft and len(COMPARE[type(op)]) > 1 :]:
                    ops = [*node.ops[:i], other(), *node.ops[i + 1 :]]
                    yield f"({ast.unparse(ast.Compare(node.left, ops, node.comparators))})"
        case ast.BinOp() if type(node.op) in ARITHMETIC:
            yield f"({ast.unparse(ast.BinOp(node.left, ARITHMETIC[type(node.op)](), node.right))})"
        case ast.BoolOp():
            yield f"({ast.unparse(ast.BoolOp(ast.Or() if isinstance(node.op, ast.And) else ast.And(), node.values))})"
            for i in range(len(node.values)):
                left = [*node.values[:i], *node.values[i + 1 :]]
                yield f"({ast.unparse(left[0] if len(left) == 1 else ast.BoolOp(node.op, left))})"
        case ast.UnaryOp(op=ast.USub() | ast.Not()):
            yield f"({ast.unparse(node.operand)})"
        case ast.IfExp():
            yield f"({ast.unparse(ast.IfExp(node.test, node.orelse, node.body))})"
        case ast.Constant(value=bool()):
            yield str(not node.value)
        case ast.Constant(value=int() as number):
            yield f"{number + 1}"
        case ast.Constant(value=float() as number) if not _small(node):
            yield f"{number * 1.01 or 0.01!r}"
        case ast.Name(id=name) if name in SWAPPED:
            yield SWAPPED[name]
        case ast.Attribute(attr=name) if name in SWAPPED:
            yield f"{ast.unparse(node.value)}.{SWAPPED[name]}"
        case ast.Return(value=ast.AST()) if not (isinstance(node.value, ast.Constant) and node.value.value is None):
            yield "return None"
        case (
            ast.Expr(value=ast.Call() | ast.Yield() | ast.YieldFrom()) | ast.AugAssign() | ast.Continue() | ast.Break()
        ):
            yield "pass"


def _small(node: ast.AST) -> bool:
    """Whether a node is a rounding tolerance; a test cannot tell < from <= where there is one."""
    return isinstance(node, ast.Constant) and isinstance(node.value, float) and 0 < node.value < 1e-4
