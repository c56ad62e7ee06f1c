"""How the sheet writes lengths and feeds: in millimetres, or in inches in a job that is written in inches."""

from __future__ import annotations

from dataclasses import dataclass

from flatwise.core.units import show
from flatwise.gcode.write import decimal
from flatwise.model.stages import Work


@dataclass(frozen=True, slots=True)
class Measures:
    """The unit of the people at this machine: `mm` or `in`."""

    symbol: str

    @property
    def worth(self) -> float:
        """mm."""
        return 25.4 if self.symbol == "in" else 1.0

    def __call__(self, value: float) -> str:
        """A height: to the thousandth of a millimetre or the tenth of a thou."""
        return self._said(value, 4 if self.symbol == "in" else 3)

    def coarse(self, value: float) -> str:
        """A height in a picture: to the hundredth of a millimetre or the thou."""
        return self._said(value, 3 if self.symbol == "in" else 2)

    def place(self, value: float) -> str:
        """A place, as a rule finds it: to the tenth of a millimetre or the hundredth of an inch."""
        return self._said(value, 2 if self.symbol == "in" else 1)

    def ruled(self, value: float) -> str:
        """A place; in inches that are no plain quarters also as a rule divided into 64ths shows it."""
        said = self.place(value)
        if self.symbol != "in" or abs(value / 25.4 * 4 - round(value / 25.4 * 4)) < 1e-6:
            return said
        from fractions import Fraction  # millimetres, the most of all jobs, do not wait for it

        whole, rest = divmod(round(value / 25.4 * 64), 64)
        return f"{said} ({whole} {Fraction(rest, 64)})" if rest else f"{said} ({whole})"

    def feed(self, value: float) -> str:
        """mm/min or in/min."""
        symbol = "in/min" if self.symbol == "in" else "mm/min"
        return show(value, symbol, 6).removesuffix(symbol) + " " + symbol

    def _said(self, value: float, places: int) -> str:
        return decimal(value / self.worth, places, point=False) + " " + self.symbol


def measures(work: Work) -> Measures:
    """The unit in which the job writes its panel's thickness."""
    return Measures("in" if work.job.stock.size.thickness.unit in ("in", "thou", "ft") else "mm")
