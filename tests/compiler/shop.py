"""The equipment of a small shop, made without a text: machine, cutter, wood, leaves, dogs and clamps.

Each function gives the same thing to every test; a test passes as arguments the values that it depends on.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import Any, TypeVar

from flatwise.core.units import Quantity, quantity
from flatwise.model.collets import ColletCode
from flatwise.model.shop import (
    ChipLoad,
    Controller,
    Cutter,
    FeedLimits,
    Leaf,
    Lean,
    Machine,
    Shims,
    Shoe,
    SpeedRange,
    Spindle,
    Travel,
    Wood,
)
from flatwise.model.stages import Holder
from flatwise.model.words import CodeWord, ModelBlock, Whole
from flatwise_grammar.nodes import Span

#: a span inside the job, where fixes can go
INSIDE = Span("jobs/example.flat", 20, 28)
LEAVES = (0.03, 0.05, 0.10, 0.15, 0.20, 0.25, 0.30, 0.40, 0.50, 1.00)
#: the direction in which a holder on each edge pushes
PUSHES = {"left": (1.0, 0.0), "right": (-1.0, 0.0), "front": (0.0, 1.0), "back": (0.0, -1.0)}
Box = tuple[float, float, float, float]
B = TypeVar("B", bound=ModelBlock)


def q(text: str) -> Quantity:
    """`q("0.5mm")`."""
    found = re.fullmatch(r"(-?[0-9./ ]+?)\s*([a-zA-Z%][a-zA-Z0-9/%]*)", text)
    assert found is not None, text
    return quantity(found[1], found[2], INSIDE)


def mm(value: float) -> Quantity:
    """A calculated length, exact to its last bit."""
    return Quantity(value, "mm", f"{value:g}mm", INSIDE)


def length_of(value: float | str) -> Quantity:
    """A length from mm, or from text with its unit."""
    return q(value) if isinstance(value, str) else mm(value)


def written(block: B, name: str = "", words: Iterable[str] = ()) -> B:
    """The block as if it had been read from a text, in which these words were written."""
    return block.placed(name, INSIDE, dict.fromkeys(words, INSIDE))


def machine(feed: Quantity | None = None, z_feed: Quantity | None = None, **changed: Any) -> Machine:
    words: dict[str, Any] = {
        "travel": Travel(x=q("1320mm"), y=q("1320mm"), z=q("160mm")),
        "feed": FeedLimits(most=feed or q("8m/min"), down=z_feed),
        "rapid": q("12m/min"),
        "acceleration": q("500mm/s2"),
        "spindle": Spindle(power=q("2.2kW"), least=q("8000rpm"), most=q("24000rpm")),
        "collet": ColletCode(code=CodeWord("ER20")),
        "nose": q("63mm"),
        "shoe": Shoe(across=q("140mm"), above=q("4mm")),
        "tram": Lean(out=q("0.02mm"), over=q("200mm")),
        "bed": q("0.08mm"),
        "opening": q("160mm"),
        "controller": Controller(),
    }
    return Machine(**{**words, **changed})


def cutter(**changed: Any) -> Cutter:
    words: dict[str, Any] = {
        "diameter": q("64mm"),
        "wings": Whole(3),
        "shank": q("12mm"),
        "blade": q("9mm"),
        "stick_out": q("38mm"),
        "depth": q("1.2mm"),
        "speed": SpeedRange(least=q("10000rpm"), most=q("16000rpm")),
        "chip_load": ChipLoad(least=q("0.10mm"), most=q("0.30mm")),
    }
    return Cutter(**{**words, **changed})


def ash(**changed: Any) -> Wood:
    words: dict[str, Any] = {
        "density": q("670kg/m3"),
        "modulus": q("12000MPa"),
        "cutting_energy": q("45N/mm2"),
    }
    return Wood(**{**words, **changed})


def shims(leaves: Sequence[float] = LEAVES, stack: int = 3, count: int | None = None) -> Shims:
    owned = None if count is None else Whole(count)
    return Shims(leaves=tuple(Leaf(thickness=mm(leaf)) for leaf in leaves), stack=Whole(stack), count=owned)


def dog(edge: str, along: float, length: float, width: float, *, height: float = 11.0, across: float = 19.0) -> Holder:
    """A dog against an edge of a panel."""
    r = across / 2
    x, y = {"left": (-r, along), "right": (length + r, along), "front": (along, -r), "back": (along, width + r)}[edge]
    return dog_at(x, y, height, across=across, edge=edge, along=along)


def dog_at(
    x: float, y: float, height: float, *, across: float = 19.0, edge: str = "left", along: float | None = None
) -> Holder:
    """A dog with its centre at any place."""
    r = across / 2
    at = y if along is None else along
    return _holder("dog", "low_dog", edge, at, (x - r, y - r, x + r, y + r), height, 0.0, height / 2)


def clamp(
    edge: str, along: float, length: float, width: float, *, height: float = 13.0, force: float = 450.0
) -> Holder:
    """A clamp with its foot against an edge of a panel."""
    a, out = 35.0, 32.0
    box = {
        "left": (-out, along - a, 0.0, along + a),
        "right": (length, along - a, length + out, along + a),
        "front": (along - a, -out, along + a, 0.0),
        "back": (along - a, width, along + a, width + out),
    }[edge]
    return clamp_in(box, height, edge=edge, along=along, force=force)


def clamp_in(
    box: Box,
    height: float,
    *,
    edge: str = "right",
    along: float | None = None,
    force: float = 450.0,
    pushes_at: float = 8.0,
) -> Holder:
    """A clamp with its foot in any box (x0, y0, x1, y1)."""
    at = box[1] if along is None else along
    return _holder("clamp", "side_cam", edge, at, box, height, force, pushes_at)


def _holder(
    kind: Any, name: str, edge: Any, along: float, box: Box, height: float, force: float, pushes_at: float
) -> Holder:
    return Holder(kind, name, edge, along, f"{along:g}mm", *box, height, PUSHES[edge], force, pushes_at, INSIDE)


def holders(length: float, width: float) -> tuple[Holder, ...]:
    """The holders of the sample: dogs left and front, clamps right and back."""
    return (
        *(dog("left", share * width, length, width) for share in (0.25, 0.75)),
        *(dog("front", share * length, length, width) for share in (0.15, 0.85)),
        clamp("right", 0.5 * width, length, width),
        *(clamp("back", share * length, length, width) for share in (0.2, 0.8)),
    )
