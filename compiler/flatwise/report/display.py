"""How results are written for people: lengths, feeds, times and stacks of leaves."""

from __future__ import annotations

import re
from typing import NamedTuple

from flatwise.core.units import INCHES, feed_unit, settled, show
from flatwise.gcode.write import decimal
from flatwise.model.bed import BatchPlan
from flatwise.model.stages import Plan, Work


def thickness_left(plan: Plan) -> str:
    """`29mm +/- 0.17mm`, in the unit of the job."""
    unit = plan.work.job.stock.size.thickness
    return f"{show(plan.forecast, unit, 5)} +/- {show(plan.plus_minus, unit, 3)}"


def machine_time(plan: Plan | BatchPlan) -> float:
    """The machine time of all programs, s."""
    return sum(each.time for each in (plan.faces if isinstance(plan, BatchPlan) else plan.setups))


def leaf_mark(work: Work, value: float) -> str:
    """A leaf's thickness as its set declares it: `0.012in`, `0.30mm`."""
    for leaf in (leaf.thickness for shims in work.sets.values() for leaf in shims.leaves):
        if abs(float(leaf) - value) < 1e-9:
            return str(leaf)
    return show(value, work.job.stock.size.thickness)


def leaf_stack(work: Work, leaves: tuple[float, ...]) -> str:
    """`0.30mm + 0.05mm`."""
    return " + ".join(leaf_mark(work, leaf) for leaf in leaves)


def duration(seconds: float) -> str:
    """A time to the nearest second: `45 s`, `3 min`, `3 min 10 s`."""
    whole, rest = divmod(round(settled(seconds)), 60)
    if not whole:
        return f"{rest} s"
    return f"{whole} min {rest} s" if rest else f"{whole} min"


_NUMBERS = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def counted(number: int, one: str, many: str = "") -> str:
    """A number of things, in words up to ten: `one pass`, `three leaves`, `12 places`."""
    said = _NUMBERS[number] if number < len(_NUMBERS) else str(number)
    return f"{said} {one if number == 1 else many or one + 's'}"


def minutes(seconds: float) -> str:
    """A time to the nearest minute, in words up to ten: `seven minutes`."""
    whole = round(settled(seconds / 60))
    return counted(whole, "minute") if whole else "less than a minute"


def spaced(written: object) -> str:
    """Quantities as the job writes them, with a blank before the unit: `30mm + 1/4in` becomes `30 mm + 1/4 in`."""
    return re.sub(r"(?<=[0-9])(?=[a-zA-Z])", " ", str(written))


class DisplayUnit(NamedTuple):
    """The sheet's unit of length, `mm` or `in`, with a blank before it."""

    symbol: str

    @property
    def millimetres(self) -> float:
        """The length of one unit."""
        return 25.4 if self.symbol == "in" else 1.0

    def __call__(self, value: float) -> str:
        """A height in mm: to the thousandth of a millimetre or the tenth of a thou."""
        return self._rounded(value, 4 if self.symbol == "in" else 3)

    def coarse(self, value: float) -> str:
        """A height in a picture, mm: to the hundredth of a millimetre or the thou."""
        return self._rounded(value, 3 if self.symbol == "in" else 2)

    def place(self, value: float) -> str:
        """A position in mm: to the tenth of a millimetre or the hundredth of an inch."""
        return self._rounded(value, 2 if self.symbol == "in" else 1)

    def place_on_rule(self, value: float) -> str:
        """A position in mm; inches that are not whole quarters also as a rule divided into 64ths shows them."""
        place = self.place(value)
        if self.symbol != "in" or abs(value / 25.4 * 4 - round(value / 25.4 * 4)) < 1e-6:
            return place
        from fractions import Fraction  # most jobs are in millimetres and need not wait for it

        whole, rest = divmod(round(settled(value / 25.4 * 64)), 64)
        return f"{place} ({whole} {Fraction(rest, 64)})" if rest else f"{place} ({whole})"

    def feed(self, value: float) -> str:
        """A feed in mm/min."""
        return spaced(show(value, feed_unit(self.symbol), 6))

    def _rounded(self, value: float, places: int) -> str:
        return f"{decimal(value / self.millimetres, places, point=False)} {self.symbol}"


def display_unit(work: Work) -> DisplayUnit:
    """Inches for a job that writes its thickness in inches, otherwise millimetres."""
    return DisplayUnit("in" if work.job.stock.size.thickness.unit in INCHES else "mm")
