"""What the judgements of a plan share: limits shown on the safe side, and the mend that writes one in."""

from __future__ import annotations

from collections.abc import Callable
from math import ceil, floor

from flatwise.diagnostics import Edit, Fix
from flatwise.units import NOWHERE, UNITS, Quantity, show


def at_most(value: float, unit: str | Quantity) -> str:
    """A limit in a unit, rounded down to four digits so that what is shown keeps the limit."""
    return _rounded(value, unit, floor, 1e-9)


def at_least(value: float, unit: str | Quantity) -> str:
    """A limit in a unit, rounded up to four digits so that what is shown keeps the limit."""
    return _rounded(value, unit, ceil, -1e-9)


def _rounded(value: float, unit: str | Quantity, towards: Callable[[float], int], slack: float) -> str:
    symbol = unit.unit if isinstance(unit, Quantity) else unit
    worth = UNITS[symbol].worth if symbol in UNITS else 1.0
    shown = value / worth
    places = max(0, 4 - len(str(int(abs(shown))))) if abs(shown) >= 1 else 4
    step = 10.0**-places
    return show(towards(shown / step + slack) * step * worth, symbol)


def put(written: Quantity | None, text: str) -> Fix | None:
    """The mend that writes `text` where a value stands; None where the value was not written."""
    if written is None or written.span == NOWHERE:
        return None
    return Fix(f"Write {text}", (Edit(written.span, text),))
