"""Units of measure: the value of a number with a unit, and how to show it in the unit in which it was written.

Base units inside the compiler: mm, mm/min (feed), rpm, mm/s2, W, N, degree, fraction (for %), MPa, kg/m3, s.
Exact by definition: 1 in = 25.4 mm (international inch), 1 thou = 0.001 in, 1 ft = 12 in.
The language sets 1 lbf = 4.4482216 N and 1 hp = 745.69987 W (mechanical horsepower).  psi and lb/ft3 follow from the
pound of 0.45359237 kg and the standard gravity of 9.80665 m/s2, both exact by definition.
"""

from __future__ import annotations

from fractions import Fraction
from functools import lru_cache
from typing import Any, NamedTuple

from flatwise_grammar.nodes import Span

NOWHERE = Span("", 0, 0)


class Unit(NamedTuple):
    """A unit: its dimension, and the value of one of it in that dimension's base unit."""

    symbol: str
    dimension: str
    worth: float


_TABLE: tuple[tuple[str, dict[str, float]], ...] = (
    ("length", {"mm": 1.0, "in": 25.4, "thou": 0.0254, "cm": 10.0, "m": 1000.0, "ft": 304.8}),
    ("feed", {"mm/min": 1.0, "m/min": 1000.0, "in/min": 25.4, "mm/s": 60.0, "ft/min": 304.8}),
    ("rotation", {"rpm": 1.0}),
    ("acceleration", {"mm/s2": 1.0, "m/s2": 1000.0, "in/s2": 25.4}),
    ("power", {"W": 1.0, "kW": 1000.0, "hp": 745.69987}),
    ("force", {"N": 1.0, "kN": 1000.0, "lbf": 4.4482216}),
    ("angle", {"deg": 1.0}),
    ("ratio", {"%": 0.01}),
    ("pressure", {"MPa": 1.0, "N/mm2": 1.0, "GPa": 1000.0, "psi": 4.4482216152605 / 25.4**2}),
    ("density", {"kg/m3": 1.0, "lb/ft3": 0.45359237 / 0.3048**3}),
    ("time", {"s": 1.0, "min": 60.0, "ms": 0.001}),
)

UNITS: dict[str, Unit] = {
    symbol: Unit(symbol, dimension, worth) for dimension, units in _TABLE for symbol, worth in units.items()
}

#: Units as they are spoken, in the singular, and the symbol that is written for each.
SPOKEN: dict[str, str] = {
    "millimetre": "mm",
    "millimeter": "mm",
    "centimetre": "cm",
    "centimeter": "cm",
    "metre": "m",
    "meter": "m",
    "inch": "in",
    "inche": "in",  # inches without its s
    "foot": "ft",
    "feet": "ft",
    "percent": "%",
    "degree": "deg",
    "newton": "N",
    "watt": "W",
    "kilowatt": "kW",
    "second": "s",
    "sec": "s",
    "minute": "min",
}

#: The name of each dimension in a message, with its article.
NAME_WITH_ARTICLE: dict[str, str] = {
    "length": "a length",
    "feed": "a feed",
    "rotation": "a speed of rotation",
    "acceleration": "an acceleration",
    "power": "a power",
    "force": "a force",
    "angle": "an angle",
    "ratio": "a percentage",
    "pressure": "a pressure or modulus",
    "density": "a density",
    "time": "a time",
}


def dimension_name(dimension: str) -> str:
    """The name of a dimension without its article: `length`, `speed of rotation`."""
    return NAME_WITH_ARTICLE[dimension].partition(" ")[2]


def units_of(dimension: str) -> tuple[str, ...]:
    """The symbols of a dimension's units, the most likely first."""
    return tuple(unit.symbol for unit in UNITS.values() if unit.dimension == dimension)


class Quantity(float):
    """A number in base units that remembers how it was written.

    It is a float, so arithmetic works and gives plain floats.  `text` is the source text (`"1 1/8in"`), `unit` the
    symbol, `span` the place.
    """

    __slots__ = ("span", "text", "unit")
    unit: str
    text: str
    span: Span

    def __new__(cls, value: float, unit: str = "", text: str = "", span: Span = NOWHERE) -> Quantity:
        self = super().__new__(cls, value)
        self.unit = unit
        self.text = text
        self.span = span
        return self

    @property
    def dimension(self) -> str:
        unit = UNITS.get(self.unit)
        return unit.dimension if unit else ""

    def __str__(self) -> str:
        return self.text or show(float(self), self.unit)

    def __reduce__(self) -> tuple[Any, ...]:
        return (type(self), (float(self), self.unit, self.text, self.span))


def number(text: str) -> Fraction:
    """The exact value of a number as written: `-3`, `0.5`, `3/4`, `1 1/8`.

    Raises ValueError for anything else, ZeroDivisionError for `1/0`.
    """
    sign = -1 if text.startswith("-") else 1
    body = text.removeprefix("-")
    whole, _, rest = body.rpartition(" ")
    if any(ch not in "0123456789./ " for ch in body) or (whole and "/" not in rest):
        raise ValueError(text)
    return sign * ((Fraction(whole) if whole else 0) + Fraction(rest))


def quantity(text: str, unit: str, span: Span = NOWHERE) -> Quantity:
    """The value of a number and a unit symbol, in the base unit of its dimension.

    Computed exactly and rounded once.  Raises KeyError for an unknown unit, ValueError for a bad number.
    """
    joint = " " if unit[:1].isalpha() and text[-1:].isspace() else ""
    return Quantity(_value(text, unit), unit, f"{text}{joint}{unit}", span)


@lru_cache(maxsize=4096)
def _value(text: str, unit: str) -> float:
    """Cached, since a file repeats the same few quantities and exact arithmetic is slow."""
    worth = UNITS[unit].worth
    if unit in ("psi", "lb/ft3"):  # their worth is a quotient, known only as a float
        return float(number(text)) * worth
    return float(number(text) * Fraction(str(worth)))


#: units of length whose feeds are in in/min
INCHES = ("in", "thou", "ft")
#: digits that tell apart whatever the checks do
_MOST_DIGITS = 12
#: decimals of a length below 1 that show a thou; two are enough for millimetres
_FEWEST = {"in": 3, "cm": 3, "m": 5, "ft": 5}


def settled(value: float) -> float:
    """A value before it is rounded or compared: without the digits that hang on the order in which a library adds."""
    return round(value, 9)


def fixed(value: float, places: int = 0) -> str:
    """A value with so many decimals."""
    return f"{settled(value):.{places}f}"


def show(value: float, unit: str | Quantity = "mm", digits: int = 4) -> str:
    """The text of `value` (base units) in a unit, or in the unit in which another quantity was written.

    Rounded to `digits` significant digits (below 1 to that many decimals, and a length to at least a thou), without
    trailing zeros or an exponent: `30.42mm`, `0.015in`.
    """
    symbol = unit.unit if isinstance(unit, Quantity) else unit
    worth = UNITS[symbol].worth if symbol in UNITS else 1.0
    shown = settled(value / worth)
    places = max(0, digits - len(str(int(abs(shown))))) if abs(shown) >= 1 else max(digits, _FEWEST.get(symbol, 0))
    text = f"{shown:.{places}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return ("0" if text in ("-0", "") else text) + symbol


def show_apart(value: float, other: float, unit: str | Quantity = "mm", digits: int = 4) -> tuple[str, str]:
    """The texts of two values that a message compares, with enough digits from `digits` on to tell them apart."""
    texts = show(value, unit, digits), show(other, unit, digits)
    if texts[0] != texts[1] or value == other or digits >= _MOST_DIGITS:
        return texts
    return show_apart(value, other, unit, digits + 1)


def feed_unit(length: str | Quantity) -> str:
    """The unit for feeds in a job that writes its lengths in this unit: in/min or mm/min."""
    symbol = length.unit if isinstance(length, Quantity) else length
    return "in/min" if symbol in INCHES else "mm/min"
