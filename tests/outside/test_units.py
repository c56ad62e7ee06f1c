"""Units against pint, a general library of units, and against the exact definitions."""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from flatwise.core.units import UNITS, number, quantity, show, show_apart

#: what each symbol and each dimension's base unit is called in pint
NAMES = {
    "mm": "mm", "in": "inch", "thou": "thou", "cm": "cm", "m": "m", "ft": "foot",
    "mm/min": "mm/minute", "m/min": "m/minute", "in/min": "inch/minute", "mm/s": "mm/second", "ft/min": "foot/minute",
    "rpm": "rpm", "mm/s2": "mm/second**2", "m/s2": "m/second**2", "in/s2": "inch/second**2",
    "W": "watt", "kW": "kilowatt", "hp": "horsepower", "N": "newton", "kN": "kilonewton", "lbf": "force_pound",
    "deg": "degree", "%": "percent", "MPa": "megapascal", "N/mm2": "newton/mm**2", "GPa": "gigapascal", "psi": "psi",
    "kg/m3": "kg/m**3", "lb/ft3": "pound/foot**3", "s": "second", "min": "minute", "ms": "millisecond",
}  # fmt: skip
BASES = {
    "length": "mm", "feed": "mm/minute", "rotation": "rpm", "acceleration": "mm/second**2", "power": "watt",
    "force": "newton", "angle": "degree", "ratio": "dimensionless", "pressure": "megapascal", "density": "kg/m**3",
    "time": "second",
}  # fmt: skip
#: the language fixes these two by eight digits, so they meet pint's definition to that many
EIGHT_DIGITS = {"hp", "lbf"}


@pytest.fixture(scope="module")
def registry() -> Any:
    import pint  # a worker that has none of these tests need not wait for its definitions

    return pint.UnitRegistry()


def test_every_unit_is_compared() -> None:
    assert set(NAMES) == set(UNITS)


@pytest.mark.parametrize("symbol", UNITS)
def test_worth_of_a_unit(registry: Any, symbol: str) -> None:
    outside = registry.Quantity(1.0, NAMES[symbol]).to(BASES[UNITS[symbol].dimension]).magnitude
    assert UNITS[symbol].worth == pytest.approx(outside, rel=1e-8 if symbol in EIGHT_DIGITS else 1e-12)
    for text in ("1", "3/4", "1 1/8", "0.37"):
        expected = float(number(text)) * outside
        assert quantity(text, symbol) == pytest.approx(expected, rel=1e-8 if symbol in EIGHT_DIGITS else 1e-12)


def test_the_inch_is_exact() -> None:
    # the international inch of 1959: 25.4 mm by definition; a thou is its thousandth
    assert float(quantity("1", "in")) == 25.4
    assert float(quantity("1 1/8", "in")) == 28.575
    assert float(quantity("1/64", "in")) == 0.396875
    assert float(quantity("20", "thou")) == 0.508
    assert UNITS["hp"].worth == 745.69987 and UNITS["lbf"].worth == 4.4482216


@given(st.integers(0, 999), st.integers(0, 63), st.sampled_from([2, 4, 8, 16, 32, 64]))
def test_mixed_numbers_are_exact(whole: int, top: int, bottom: int) -> None:
    assert number(f"{whole} {top}/{bottom}") == whole + Fraction(top, bottom)
    assert number(f"-{top}/{bottom}") == -Fraction(top, bottom)


@given(st.floats(0.001, 90_000), st.sampled_from(sorted(UNITS)))
def test_what_is_shown_reads_back(value: float, symbol: str) -> None:
    shown = show(value * UNITS[symbol].worth, symbol, digits=7)
    back = quantity(shown.removesuffix(symbol), symbol)
    assert "e" not in shown.removesuffix(symbol)
    assert back == pytest.approx(value * UNITS[symbol].worth, rel=1e-4, abs=1e-7 * UNITS[symbol].worth)


@given(st.floats(0.0001, 5_000), st.floats(1e-6, 1.0), st.sampled_from(["mm", "in", "thou", "in/min", "N"]))
def test_two_figures_that_a_message_compares_are_told_apart(low: float, more: float, symbol: str) -> None:
    high = low + more
    worth = UNITS[symbol].worth
    texts = show_apart(low, high, symbol)
    first, second = (float(number(text.removesuffix(symbol))) for text in texts)
    assert first < second, texts
    assert (first, second) == pytest.approx((low / worth, high / worth), rel=1e-3, abs=1e-4)


def test_figures_have_no_more_digits_than_it_takes() -> None:
    assert show_apart(0.0991, 0.1016, "in", 3) == ("0.0039in", "0.004in")
    assert show_apart(0.2, 0.5, "mm") == ("0.2mm", "0.5mm") and show_apart(0.5, 0.5, "mm") == ("0.5mm", "0.5mm")
    assert show_apart(29.0, 28.9996, "mm") == ("29mm", "28.9996mm")
    # a rough figure in inches still shows the thou, as millimetres show the hundredth
    assert show(0.13, "in", 2) == "0.005in" and show(0.13, "mm", 2) == "0.13mm"


@pytest.mark.parametrize("text", ["", "1-1/8", "1e3", "one", "1/2/3", "--1", "1 2", "0x10", "1_000"])
def test_what_is_no_number(text: str) -> None:
    with pytest.raises(ValueError):
        number(text)
