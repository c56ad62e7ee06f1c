"""The items of a line: how they are spoken of, and those that belong together."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flatwise.core.units import UNITS
from flatwise.language.phrase_shape import Measure
from flatwise.model import words as w
from flatwise_grammar import nodes as n
from flatwise_grammar.nodes import Item


def spoken(item: Item) -> str:
    """An item as it was written, for a message."""
    if isinstance(item, n.NumberWithUnit):
        return f"{item.number}{item.unit}"
    if isinstance(item, n.String):
        return f'"{item.text}"' if len(item.text) <= 40 else f'"{item.text[:37]}…"'
    if isinstance(item, n.Point):
        inside = ", ".join(" ".join(spoken(part) for part in side) for side in (item.x, item.y))
        return f"({inside})"
    return item.text if len(item.text) <= 60 else item.text[:57] + "…"


def joined(items: Sequence[Item]) -> tuple[Item, ...]:
    """Items with `number blank unit` made into one quantity; `in` right after a number is the inch."""
    done: list[Item] = []
    for item in items:
        before = done[-1] if done else None
        if isinstance(before, n.Number) and isinstance(item, n.Name | n.Code) and item.text in UNITS:
            done[-1] = n.NumberWithUnit(before.text, item.text, before.span.to(item.span))
        else:
            done.append(item)
    return tuple(done)


def likely_units(kind: Measure, text: str) -> tuple[str, ...]:
    """The units that a bare number most likely means: one where the dimension has one, else the two usual ones."""
    units = kind.units
    if kind.of.dimension == "length":
        return ("in", "mm") if "/" in text else ("mm", "in")
    return units[:1] if kind.of.dimension in ("rotation", "ratio", "angle", "density", "time", "force") else units[:3]


def spread(value: Any) -> tuple[Any, ...]:
    """`corners` as four places; a reading or shim at the corners as four; anything else as it is."""
    if isinstance(value, w.Place):
        return tuple(value._replace(name=name) for name in w.CORNERS) if value.name == "corners" else (value,)
    place = getattr(value, "place", None)
    if isinstance(place, w.Place) and place.name == "corners":
        made = type(value)
        fields = {name: getattr(value, name) for name in made.model_fields}
        return tuple(w.placed_phrase(made, {**fields, "place": each}, value.span) for each in spread(place))
    return (value,)
