"""Where the panels of a batch lie: in rows, in the order written, as near to each other as they may."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil
from typing import NamedTuple

from flatwise.core.finding import Finding, Findings
from flatwise.core.fixes import at_least
from flatwise.core.units import Quantity
from flatwise.model.job import Corner
from flatwise.model.stages import Plan
from flatwise.model.words import DeclaredName
from flatwise.plan.neighbours import bed_place, spacing, ways
from flatwise.plan.touch import corner_of

#: the ends of the travel along x and y
ENDS = (("left", "right"), ("front", "back"))


class BedRows(NamedTuple):
    """Rows along x from a corner of the bed: there `start` lies, a corner of the first panel, in machine coordinates.

    The panels of a row have one edge on a line.  Between all that belongs to two panels is `gap` (mm) at least.
    """

    start: Corner
    gap: float
    #: what `spacing` gave for two panels, which does not depend on their places
    known: dict[tuple[int, int, int], float]

    def laid(self, plans: Sequence[Plan], names: Sequence[DeclaredName]) -> tuple[tuple[Plan, ...], Findings]:
        """The plans with the places of their panels, or FW301 for the first panel that finds no room.

        `names` are the jobs' names in the batch.
        """
        done: list[Plan] = []
        row: list[Plan] = []
        for each, name in zip(plans, names, strict=True):
            following = self._following(each, name, row)
            if row and past(following, 0):
                done, row = done + row, []
                following = self._following(each, name, row)
            row = self._clear_of([*row, following], done)
            for one in row:
                if past(one, 0) or past(one, 1):
                    return (), (self._no_room(one, name),)
        return (*done, *row), ()

    def _following(self, each: Plan, name: DeclaredName, row: Sequence[Plan]) -> Plan:
        """A panel as the next of a row: on its line, beyond all that lie in it already."""
        first = self._at(each, float(self.start.x), float(self.start.y), name)
        beyond = [self._beyond(other, first, 0) for other in row]
        return self._at(first, self._farthest([float(self.start.x), *beyond], 0), float(self.start.y))

    def _clear_of(self, row: Sequence[Plan], done: Sequence[Plan]) -> list[Plan]:
        """The panels of a row on a line as far from the start as the rows before need it."""
        lines = [float(self.start.y)]
        for each in row:
            lines += [self._beyond(other, each, 1) for other in done if not self._beside(each, other)]
        line = self._farthest(lines, 1)
        return [self._at(each, float(each.work.job.zero.corner.x), line) for each in row]

    def _beside(self, one: Plan, other: Plan) -> bool:
        """Whether two panels keep clear of each other wherever they lie along y."""
        apart = bed_place(other.work)[0] - bed_place(one.work)[0]
        return apart >= self._spacing(one, other, 0) or -apart >= self._spacing(other, one, 0)

    def _spacing(self, one: Plan, other: Plan, axis: int) -> float:
        key = id(one.setups), id(other.setups), axis
        if key not in self.known:
            self.known[key] = spacing(one, other, axis, self.gap)
        return self.known[key]

    def _way(self, axis: int) -> float:
        """Whether an axis runs away from the start (1) or toward it (−1)."""
        against = self.start.corner.startswith("back") if axis else self.start.corner.endswith("right")
        return -1.0 if against else 1.0

    def _farthest(self, places: Sequence[float], axis: int) -> float:
        return max(places, key=lambda place: self._way(axis) * place)

    def _beyond(self, other: Plan, each: Plan, axis: int) -> float:
        """The nearest machine coordinate for the corner of a panel beyond another one, in whole steps from the start.

        Steps are millimetres, in inches sixteenths.
        """
        way, zero = self._way(axis), float((self.start.x, self.start.y)[axis])
        apart = self._spacing(other, each, axis) if way > 0 else self._spacing(each, other, axis)
        nearest = bed_place(other.work)[axis] + way * apart + corner_of(each.work)[axis]
        step = 25.4 / 16.0 if each.work.machine.controller.units == "in" else 1.0
        return zero + way * ceil(way * (nearest - zero) / step - 1e-6) * step

    def _at(self, each: Plan, x: float, y: float, name: DeclaredName | None = None) -> Plan:
        """The plan of a panel whose corner lies at machine X and Y, as its `name` in the batch says."""
        zero = each.work.job.zero
        span = name.span if name is not None else zero.corner.span
        place = {"x": Quantity(x, self.start.x.unit), "y": Quantity(y, self.start.y.unit)}
        zero = zero.model_copy(update={"corner": Corner(corner=self.start.corner, **place).placed(span)})
        job = each.work.job.model_copy(update={"zero": zero})
        return each._replace(work=each.work._replace(job=job))

    def _no_room(self, one: Plan, name: DeclaredName) -> Finding:
        over, end, axis = max(
            (over, end, axis) for axis in (0, 1) for over, end in zip(_past_ends(one, axis), ENDS[axis], strict=True)
        )
        which = f"{name}" if one.work.name == name else f"{one.work.name}, moved on by {name} in its row,"
        return Finding(
            "FW301",
            f"The panel of {which} finds no room on the bed: the cutter's centre would go "
            f"{at_least(over, self.start.x)} past the {end} end of the {'XY'[axis]} travel.",
            name.span,
            help=f"Take jobs out of the batch, write a smaller `gap`, or move `from` away from the {end} end.",
            value=over,
            limit=0.0,
        )


def past(each: Plan, axis: int) -> float:
    """How far the cutter's centre would go past the travel along x (0) or y (1), mm; 0 if it stays within it."""
    over = max(_past_ends(each, axis))
    return over if over > 1e-6 else 0.0


def _past_ends(each: Plan, axis: int) -> tuple[float, float]:
    """The same past the left or front end, and past the right or back end (negative: within), mm."""
    travel, at = each.work.machine.travel, bed_place(each.work)[axis]
    found = [moves for setup in each.setups if len(moves := ways(setup))]
    low = min((float(moves[:, 2 * axis].min()) for moves in found), default=0.0) + at
    high = max((float(moves[:, 2 * axis + 1].max()) for moves in found), default=0.0) + at
    return -low, high - float((travel.x, travel.y)[axis])
