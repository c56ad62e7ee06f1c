"""The items of a line: as they were written, and numbers joined with their units."""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from math import inf

from flatwise.core.units import UNITS, quantity
from flatwise_grammar import nodes
from flatwise_grammar.nodes import Block, Item


def as_written(item: Item) -> str:
    """An item as it was written, long ones cut short."""
    if isinstance(item, nodes.NumberWithUnit):
        return f"{item.number}{item.unit}"
    if isinstance(item, nodes.String):
        return f'"{item.text}"' if len(item.text) <= 40 else f'"{item.text[:37]}…"'
    if isinstance(item, nodes.Point):
        x, y = (" ".join(as_written(part) for part in side) for side in (item.x, item.y))
        return f"({x}, {y})"
    return item.text if len(item.text) <= 60 else item.text[:57] + "…"


def join_units(items: Sequence[Item]) -> tuple[Item, ...]:
    """The items, a number and the unit after it made one quantity; `in` after a number is the inch."""
    done: list[Item] = []
    for item in items:
        before = done[-1] if done else None
        if isinstance(before, nodes.Number) and isinstance(item, nodes.Name | nodes.Code) and item.text in UNITS:
            done[-1] = nodes.NumberWithUnit(before.text, item.text, before.span.to(item.span))
        else:
            done.append(item)
    return tuple(done)


def height_of(holder: Block) -> float:
    """The height that a dog or clamp declares in its text, in mm; infinite where it can't be read."""
    for line in holder.fields:
        written = join_units(line.items)[:1]
        if line.word.text == "height" and written and isinstance(written[0], nodes.NumberWithUnit):
            with suppress(KeyError, ValueError, ZeroDivisionError):
                return quantity(written[0].number, written[0].unit)
    return inf
