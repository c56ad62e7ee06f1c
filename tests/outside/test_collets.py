"""Collets against DIN 6499 / ISO 15488 (second-hand; some lists differ at the small end)."""

from __future__ import annotations

import pytest

from flatwise.model.shop import ColletCode
from flatwise.model.words import CodeWord

RANGES = {"ER11": (0.5, 7), "ER16": (0.5, 10), "ER20": (1, 13), "ER25": (1, 16), "ER32": (2, 20), "ER40": (3, 26)}


@pytest.mark.parametrize("code", RANGES)
def test_the_clamping_range(code: str) -> None:
    assert ColletCode(code=CodeWord(code)).range == RANGES[code]


@pytest.mark.parametrize(
    ("shank", "fits"),
    [
        (12.0, {"ER20", "ER25", "ER32", "ER40"}),  # 12 mm fits ER20 and not ER16
        (12.7, {"ER20", "ER25", "ER32", "ER40"}),  # half an inch
        (25.4, {"ER40"}),  # an inch: only the largest
    ],
)
def test_which_collets_take_a_shank(shank: float, fits: set[str]) -> None:
    def takes(code: str) -> bool:
        least, most = ColletCode(code=CodeWord(code)).range
        return least <= shank <= most

    assert {code for code in RANGES if takes(code)} == fits
