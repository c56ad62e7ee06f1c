"""The built-in woods against published figures, each with how far it can be trusted.

Source: Wood Handbook, USDA Forest Products Laboratory, FPL-GTR-190 (2010), tables 5-3 and 5-5, at 12 % moisture
(teak: table 5-5, gravity green).  r: read in a text of the document; s: second-hand, read in a text that credits
it; m: from memory.
"""

from __future__ import annotations

import pytest

from flatwise.model.woods import ALSO, FIGURES, NAMES, built_in

MARKS = {"r": "read", "s": "second-hand", "m": "memory"}

PUBLISHED = {
    "white_oak": (0.68, "s", 12300, "s"),
    "red_oak": (0.63, "s", 12500, "s"),
    "white_ash": (0.60, "s", 12000, "s"),
    "sugar_maple": (0.63, "s", 12600, "s"),
    "red_maple": (0.54, "s", 11300, "m"),
    "black_cherry": (0.50, "s", 10300, "s"),
    "black_walnut": (0.55, "s", 11600, "s"),
    "yellow_birch": (0.62, "s", 13900, "m"),
    "american_beech": (0.64, "s", 11900, "m"),
    "yellow_poplar": (0.42, "s", 10900, "s"),
    "hickory": (0.66, "s", 11900, "m"),  # pecan hickory
    "douglas_fir": (0.48, "m", 13400, "m"),  # coast
    "white_pine": (0.35, "s", 8500, "s"),  # eastern
    "longleaf_pine": (0.59, "m", 13700, "m"),
    "slash_pine": (0.59, "r", 13700, "r"),
    "teak": (0.55, "r", 10700, "r"),
}


def test_every_wood_is_compared() -> None:
    assert set(FIGURES) == set(PUBLISHED)
    assert set(NAMES) == {*PUBLISHED, *ALSO, "mdf"}


@pytest.mark.parametrize("name", PUBLISHED)
def test_gravity_and_modulus(name: str) -> None:
    gravity, gravity_mark, modulus, modulus_mark = PUBLISHED[name]
    wood = built_in(name)
    assert wood is not None
    # mass at 12 % over volume at 12 %: gravity × 1000 kg/m3 × 1.12
    assert float(wood.density) == pytest.approx(gravity * 1000.0 * 1.12)
    assert float(wood.modulus) == modulus
    assert FIGURES[name].gravity_mark == MARKS[gravity_mark]
    assert FIGURES[name].modulus_mark == MARKS[modulus_mark]
    # router chips, 20 to 80 N/mm2 (from memory, weak): an estimate in the middle
    assert 20.0 <= float(wood.cutting_energy) <= 80.0


def test_second_names_mean_the_same_wood() -> None:
    pairs = {"ash": "white_ash", "maple": "sugar_maple", "cherry": "black_cherry", "walnut": "black_walnut"}
    pairs |= {"birch": "yellow_birch", "beech": "american_beech", "poplar": "yellow_poplar"}
    assert pairs == ALSO
    for second, first in pairs.items():
        one, other = built_in(second), built_in(first)
        assert one is not None and other is not None
        assert (one.density, one.modulus) == (other.density, other.modulus)
    assert built_in("pear") is None


def test_mdf_is_near_particleboard() -> None:
    # particleboard, edge milling: 32.0 to 37.6 N/mm2 (Pałubicki, Materials 14:2208, 2021; read)
    mdf = built_in("mdf")
    assert mdf is not None
    assert 32.0 <= float(mdf.cutting_energy) <= 37.6
    assert (float(mdf.density), float(mdf.modulus)) == (750.0, 3000.0)
