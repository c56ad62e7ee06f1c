"""Dogs and clamps that stand too high under the planes that the cutter runs at, and distances to them in plan."""

from __future__ import annotations

from math import hypot
from typing import NamedTuple

from flatwise.core.units import Quantity
from flatwise.model.stages import FaceName, Holder, Plan, Setup, Work
from flatwise.plan.planes import allowance

#: a gap up to this is contact, even if every height is exact (mm)
CONTACT = 0.5


class TallHolder(NamedTuple):
    """A holder with less than the clearance under the lowest plane that passes over it, mm.

    `gap` lies between holder and plane (negative: it stands above); `stretch` is its length along its edge; `floor` is
    the largest gap that still counts as contact.
    """

    holder: Holder
    face: FaceName
    plane: float
    floor: float
    gap: float
    stretch: float

    @property
    def meets(self) -> bool:
        """Whether the cutter meets it, or may meet it with every height as far off as it may be."""
        return self.gap <= self.floor + 1e-9


def contact_gap(work: Work, sink: float = 0.0) -> float:
    """The largest gap over a holder that still counts as contact, mm.

    It is CONTACT and the uncertainty of the heights: bed, lean, how well Z repeats, touching off, and `sink`, how low
    the touched place may lie.
    """
    return round(sink + allowance(work) + float(work.machine.repeat) + CONTACT, 9)


def too_tall(plan: Plan) -> tuple[TallHolder, ...]:
    """Holders that the cutter may meet, or that have less than the clearance under the lowest plane of all setups.

    They come in the order of the job.  The clearance counts from the plane as planned, contact from the lowest that the
    cutter may run.
    """
    found: list[TallHolder] = []
    if not plan.setups:
        return ()
    lowest = min(plan.setups, key=lambda setup: setup.plane)
    deepest = min(plan.setups, key=lambda setup: setup.plane - setup.touch.sink)
    for holder in lowest.holders:
        under, deep = _tall(plan.work, holder, lowest), _tall(plan.work, holder, deepest)
        if deep.meets:
            found.append(under if under.meets else deep)
        elif under.gap < plan.work.rules.clearance - 1e-9:
            found.append(under)
    return tuple(found)


def _tall(work: Work, holder: Holder, setup: Setup) -> TallHolder:
    along = holder.y1 - holder.y0 if holder.edge in ("left", "right") else holder.x1 - holder.x0
    floor = contact_gap(work, setup.touch.sink)
    return TallHolder(holder, setup.face, setup.plane, floor, setup.plane - holder.height, along)


def by_line(plan: Plan) -> tuple[tuple[TallHolder, ...], ...]:
    """Holders that are too tall, grouped by kind, name and edge."""
    lines: dict[tuple[str, str, str], list[TallHolder]] = {}
    for one in too_tall(plan):
        lines.setdefault((one.holder.kind, one.holder.name, one.holder.edge), []).append(one)
    return tuple(tuple(line) for line in lines.values())


def places(line: tuple[TallHolder, ...]) -> str:
    """Where along their edge the holders of a line stand, as a phrase: `15%, 50% and 85%`."""
    *most, last = (each.holder.at for each in line)
    return f"{', '.join(most)} and {last}" if most else last


def unit_of(plan: Plan) -> str | Quantity:
    """The unit for heights in messages: that of the panel's thickness as the job writes it."""
    return plan.work.job.stock.size.thickness


def apart(x: float, y: float, holder: Holder) -> float:
    """Distance in plan from a point to a holder, mm; 0 inside it."""
    if holder.kind == "dog":
        centre = ((holder.x0 + holder.x1) / 2.0, (holder.y0 + holder.y1) / 2.0)
        return max(0.0, hypot(x - centre[0], y - centre[1]) - (holder.x1 - holder.x0) / 2.0)
    return hypot(max(holder.x0 - x, x - holder.x1, 0.0), max(holder.y0 - y, y - holder.y1, 0.0))


def overlap(one: Holder, other: Holder) -> float:
    """How far two holders overlap in plan, mm; 0 or less if they do not."""
    if one.kind == "dog" or other.kind == "dog":
        dog, rest = (one, other) if one.kind == "dog" else (other, one)
        radius = (dog.x1 - dog.x0) / 2.0
        return radius - apart((dog.x0 + dog.x1) / 2.0, (dog.y0 + dog.y1) / 2.0, rest)
    return min(min(one.x1, other.x1) - max(one.x0, other.x0), min(one.y1, other.y1) - max(one.y0, other.y0))
