"""The built-in woods against the Wood Handbook and a published cutting test."""

from __future__ import annotations

import pytest
from compiler.works import stock, work
from outside.published import MARKS, WOODS

from flatwise.model.woods import FIGURES, NAMES, built_in
from flatwise.model.words import DeclaredName
from flatwise.seat.bending import CENTRE, Bay, sag

#: what the language calls each wood of the table
CALLED = {
    "white oak": "white_oak", "northern red oak": "red_oak", "white ash": "white_ash", "sugar maple": "sugar_maple",
    "red maple": "red_maple", "black cherry": "black_cherry", "black walnut": "black_walnut",
    "yellow birch": "yellow_birch", "American beech": "american_beech", "yellow-poplar": "yellow_poplar",
    "true hickories, lowest": "hickory", "pecan hickory": "pecan", "Douglas-fir, coast": "douglas_fir",
    "eastern white pine": "white_pine", "longleaf pine": "longleaf_pine", "slash pine": "slash_pine", "teak": "teak",
}  # fmt: skip
SECOND_NAMES = {
    "ash": "white_ash", "maple": "sugar_maple", "cherry": "black_cherry", "walnut": "black_walnut",
    "birch": "yellow_birch", "beech": "american_beech", "poplar": "yellow_poplar",
}  # fmt: skip


def test_every_built_in_wood_is_compared() -> None:
    assert set(CALLED) == set(WOODS)
    assert set(NAMES) == {*CALLED.values(), *SECOND_NAMES, "mdf"}


@pytest.mark.parametrize("species", WOODS)
def test_density_and_modulus(species: str) -> None:
    published, wood = WOODS[species], built_in(CALLED[species])
    assert wood is not None
    # at 12 % moisture content a volume weighs 1.12 times its dry wood
    assert float(wood.density) == pytest.approx(published.gravity * 1000.0 * 1.12)
    assert float(wood.modulus) == published.modulus
    # router chips in solid wood take 20 to 80 N/mm2 (from memory, weak): the estimate is in the middle
    assert 20.0 <= float(wood.cutting_energy) <= 80.0


@pytest.mark.parametrize("species", WOODS)
def test_no_figure_is_trusted_more_than_its_source(species: str) -> None:
    published, shown = WOODS[species], FIGURES[CALLED[species]]
    assert MARKS.index(shown.gravity_mark) >= MARKS.index(published.gravity_mark)
    assert MARKS.index(shown.modulus_mark) >= MARKS.index(published.modulus_mark)


def test_a_panel_of_white_oak_weighs_what_a_hand_calculation_gives() -> None:
    oak = built_in("white_oak")
    assert oak is not None
    panel = work(job={"stock": stock(900.0, 500.0, 32.0, wood=DeclaredName("white_oak"))}, wood=oak)
    # 0.90 m x 0.50 m x 0.032 m = 0.0144 m3; 0.68 x 1.12 = 0.7616 g/cm3; together 10.967 kg
    assert panel.mass == pytest.approx(10.967, abs=5e-4)


@pytest.mark.parametrize("second", SECOND_NAMES)
def test_second_names_mean_the_same_wood(second: str) -> None:
    one, other = built_in(second), built_in(SECOND_NAMES[second])
    assert one is not None and other is not None
    assert (one.density, one.modulus) == (other.density, other.modulus)


def test_an_unknown_name_is_no_wood() -> None:
    assert built_in("pear") is None


def test_mdf_takes_about_the_cutting_energy_of_particleboard() -> None:
    # particleboard, edge milling: 32.0 to 37.6 N/mm2 (Pałubicki, Materials 14:2208, 2021; read)
    mdf = built_in("mdf")
    assert mdf is not None
    assert 32.0 <= float(mdf.cutting_energy) <= 37.6
    # usual figures of the trade for medium-density fibreboard: common practice, no source
    assert (float(mdf.density), float(mdf.modulus)) == (750.0, 3000.0)


def test_mdf_is_equally_stiff_both_ways() -> None:
    mdf, ash = built_in("mdf"), built_in("white_ash")
    assert mdf is not None and ash is not None
    assert mdf.across == float(mdf.modulus) and ash.across == pytest.approx(float(ash.modulus) / 15.0)
    # an isotropic material: G = E / (2 (1 + Poisson's ratio)), which lies from 0 to 0.5 (theory of elasticity)
    assert mdf.across / 3.0 <= mdf.shear <= mdf.across / 2.0
    # so a bay bends as far whichever way the grain is said to run
    bay = Bay(0.0, 600.0, 0.0, 300.0, (False,) * 4)
    sags = [
        sag(work(job={"stock": stock(600.0, 300.0, 18.0, grain=grain)}, wood=mdf), bay, 50.0, CENTRE, 18.0)
        for grain in ("x", "y")
    ]
    assert sags[0] == pytest.approx(sags[1])
