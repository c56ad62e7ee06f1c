"""What stands above a plane that the cutter has to pass: dogs and clamps, in height and in plan."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot

from flatwise.core.units import Quantity
from flatwise.model.stages import FaceName, Holder, Plan, Setup


@dataclass(frozen=True)
class Tall:
    """A holder under the lowest plane that passes over it: mm of gap (negative: it stands above), mm along its edge.

    `sink`: how far below that plane the cutter may run, mm, so that it may meet the holder.
    """

    holder: Holder
    face: FaceName
    plane: float
    sink: float
    gap: float
    stretch: float

    @property
    def meets(self) -> bool:
        """Whether the cutter meets it, or may where zero was set as low as the top may lie."""
        return self.gap <= self.sink + 1e-9


def too_tall(plan: Plan) -> tuple[Tall, ...]:
    """Holders with less than the clearance under the lowest plane of any setup, or that it may meet; as the job lists.

    The clearance counts from the plane as worked out.  A bound of the survey may be wider than it, so contact is
    judged from as low as the cutter may run.
    """
    found: list[Tall] = []
    if not plan.setups:
        return ()
    lowest = min(plan.setups, key=lambda setup: setup.plane)
    deepest = min(plan.setups, key=lambda setup: setup.plane - setup.touch.sink)
    for holder in lowest.holders:
        under, deep = _tall(holder, lowest), _tall(holder, deepest)
        if deep.meets:
            found.append(under if under.meets else deep)
        elif under.gap < plan.work.rules.clearance - 1e-9:
            found.append(under)
    return tuple(found)


def _tall(holder: Holder, setup: Setup) -> Tall:
    along = holder.y1 - holder.y0 if holder.edge in ("left", "right") else holder.x1 - holder.x0
    return Tall(holder, setup.face, setup.plane, setup.touch.sink, setup.plane - holder.height, along)


def by_line(plan: Plan) -> tuple[tuple[Tall, ...], ...]:
    """Holders that are too tall, those of one kind on one edge together."""
    lines: dict[tuple[str, str, str], list[Tall]] = {}
    for one in too_tall(plan):
        lines.setdefault((one.holder.kind, one.holder.name, one.holder.edge), []).append(one)
    return tuple(tuple(line) for line in lines.values())


def places(line: tuple[Tall, ...]) -> str:
    """Where along their edge the holders of a line stand, spoken: `15%, 50% and 85%`."""
    *most, last = (each.holder.at for each in line)
    return f"{', '.join(most)} and {last}" if most else last


def unit_of(plan: Plan) -> str | Quantity:
    """The unit to speak of heights in: that of the cutter's diameter, as the shop writes it."""
    return plan.work.cutter.diameter


def apart(x: float, y: float, holder: Holder) -> float:
    """mm from a point to a holder in plan (0 inside it)."""
    if holder.kind == "dog":
        centre = ((holder.x0 + holder.x1) / 2.0, (holder.y0 + holder.y1) / 2.0)
        return max(0.0, hypot(x - centre[0], y - centre[1]) - (holder.x1 - holder.x0) / 2.0)
    return hypot(max(holder.x0 - x, x - holder.x1, 0.0), max(holder.y0 - y, y - holder.y1, 0.0))


def overlap(one: Holder, other: Holder) -> float:
    """How deep two holders stand in each other in plan, mm (0 or less: apart)."""
    if one.kind == "dog" or other.kind == "dog":
        dog, rest = (one, other) if one.kind == "dog" else (other, one)
        radius = (dog.x1 - dog.x0) / 2.0
        return radius - apart((dog.x0 + dog.x1) / 2.0, (dog.y0 + dog.y1) / 2.0, rest)
    return min(min(one.x1, other.x1) - max(one.x0, other.x0), min(one.y1, other.y1) - max(one.y0, other.y0))
