"""Collets against DIN 6499 / ISO 15488."""

from __future__ import annotations

import pytest
from compiler.plan.plans import planned
from compiler.shop import cutter, machine, q
from compiler.works import work
from outside.published import COLLETS

from flatwise.check import fw303_collet
from flatwise.model.collets import ColletCode
from flatwise.model.words import CodeWord

#: two thousandths of a millimetre: less than any two shanks differ by
STEP = 0.002


def is_refused(code: str, shank: str) -> bool:
    of = work(machine=machine(collet=ColletCode(code=CodeWord(code))), cutter=cutter(shank=q(shank)))
    codes = [finding.code for finding in fw303_collet.check(planned(of))]
    assert codes in ([], ["FW303"])
    return bool(codes)


@pytest.mark.parametrize("code", COLLETS)
def test_a_collet_grips_just_the_shanks_of_its_range(code: str) -> None:
    least, most = COLLETS[code]
    assert not is_refused(code, f"{least}mm") and not is_refused(code, f"{most}mm")
    assert is_refused(code, f"{least - STEP}mm") and is_refused(code, f"{most + STEP}mm")


@pytest.mark.parametrize(
    ("shank", "fits"),
    [
        # worked from the table by hand
        ("12mm", {"ER20", "ER25", "ER32", "ER40"}),
        ("12.7mm", {"ER20", "ER25", "ER32", "ER40"}),
        ("1/2in", {"ER20", "ER25", "ER32", "ER40"}),
        ("1in", {"ER40"}),
        ("8mm", {"ER16", "ER20", "ER25", "ER32", "ER40"}),
    ],
)
def test_which_collets_take_a_shank(shank: str, fits: set[str]) -> None:
    assert {code for code in COLLETS if not is_refused(code, shank)} == fits
