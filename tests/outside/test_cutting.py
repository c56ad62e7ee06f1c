"""Feed, rim speed, removal, thin chips, lean and collets against figures from outside the project."""

from __future__ import annotations

from math import pi

import pytest
from compiler.plan.plans import bumpy, first, planned
from compiler.shop import cutter, machine, q
from compiler.works import cut, work

from flatwise.check import fw303_collet
from flatwise.model.shop import ChipLoad, ColletCode, Lean, SpeedRange, Spindle
from flatwise.model.words import CodeWord, Whole
from flatwise.plan.cutting import cutting_power, rim_speed, thinning


def test_feed_is_speed_times_wings_times_chip() -> None:
    # second-hand worked example: 18000 rpm x 2 x 0.10 mm = 3600 mm/min
    tool = cutter(
        wings=Whole(2),
        speed=SpeedRange(least=q("10000rpm"), most=q("24000rpm")),
        chip_load=ChipLoad(least=q("0.05mm"), most=q("0.10mm")),
    )
    setup = first(work(cutter=tool, job={"cut": cut(speed=q("18000rpm"))}))
    assert (setup.feed, setup.feed_limit) == (3600.0, "chip_load")
    assert setup.chip_load == pytest.approx(0.10)


def test_rim_speed() -> None:
    # derived: pi x 50 mm x 18000 rpm = 47.124 m/s
    assert rim_speed(50.0, 18_000.0) == pytest.approx(47.124, abs=5e-4)


def test_removal_and_power() -> None:
    # derived: 30 x 1.5 x 3600 = 162000 mm3/min = 2700 mm3/s; at 50 N/mm2 that is 135 W
    assert cutting_power(30.0, 1.5, 3600.0, 60_000.0) == pytest.approx(162_000.0)
    assert cutting_power(30.0, 1.5, 3600.0, 50.0) == pytest.approx(2700.0 * 50.0 / 1000.0)


@pytest.mark.parametrize(
    ("share", "one_over"),
    [(0.001, 15.8193), (0.05, 2.2942), (0.1, 1.6667), (0.2, 1.25), (0.3, 1.0911), (0.5, 1.0), (0.8, 1.0)],
)
def test_thin_chips(share: float, one_over: float) -> None:
    # derived: h_max = 2 f_z sqrt[(a_e/D)(1 - a_e/D)] below half the diameter
    assert 1.0 / thinning(share * 64.0, 64.0) == pytest.approx(one_over, abs=5e-5)


@pytest.mark.parametrize(
    ("lean", "step", "ridge"),
    [
        # derived: s tan(theta), 30 mm at 0.1 degree: 0.052360 mm; at 0.05 mm in 200 mm: 0.007500 mm
        (Lean(out=q("1.745331mm"), over=q("1000mm")), 30.0, 0.052360),
        (Lean(out=q("0.05mm"), over=q("200mm")), 30.0, 0.007500),
    ],
)
def test_ridge_across_rows(lean: Lean, step: float, ridge: float) -> None:
    # 50 mm cutter, rows over 330 mm with 10 mm overrun: centres over 300 mm, so a stepover of 60 % gives 30 mm
    of = work(
        600.0,
        330.0,
        cutter=cutter(diameter=q("50mm")),
        machine=machine(tram=lean),
        job={"cut": cut(stepover=q("60%"), overrun=q("10mm"))},
    )
    setup = first(of)
    assert setup.stepover == pytest.approx(step)
    assert setup.ridge == pytest.approx(ridge, abs=1e-6)


def test_force_is_power_over_rim_speed() -> None:
    setup = first(work())
    assert setup.force == pytest.approx(setup.power / (pi * 0.064 * setup.speed / 60.0))


def test_spindle_power_falls_with_speed() -> None:
    # 0.4 kW at a quarter of the top speed is 100 W, of which the rules grant 70 W: the power then sets the feed
    weak = machine(spindle=Spindle(power=q("0.4kW"), least=q("6000rpm"), most=q("24000rpm")))
    tool = cutter(speed=SpeedRange(least=q("6000rpm"), most=q("6000rpm")))
    setup = first(work(machine=weak, cutter=tool, job={"cut": cut(speed="auto")}), bumpy(900.0, 500.0, 32.0, rough=3.0))
    assert setup.feed_limit == "power"
    assert 0.95 * 0.7 * 100.0 < setup.power <= 0.7 * 100.0 + 1e-9


@pytest.mark.parametrize(
    ("code", "shank", "fits"),
    [
        # DIN 6499 / ISO 15488, second-hand; 25.4 mm only in ER40
        ("ER20", "12mm", True),
        ("ER16", "12mm", False),
        ("ER20", "12.7mm", True),
        ("ER32", "1/2in", True),
        ("ER32", "25.4mm", False),
        ("ER40", "1in", True),
        ("ER11", "8mm", False),
    ],
)
def test_shank_and_collet(code: str, shank: str, fits: bool) -> None:
    of = work(machine=machine(collet=ColletCode(code=CodeWord(code))), cutter=cutter(shank=q(shank)))
    assert [finding.code for finding in fw303_collet.check(planned(of))] == ([] if fits else ["FW303"])
