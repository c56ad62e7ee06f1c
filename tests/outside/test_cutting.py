"""Feed, rim speed, removal, thin chips, lean, force and the load on the holders against figures worked by hand."""

from __future__ import annotations

from math import pi, sqrt

import numpy as np
import pytest
from compiler.plan.plans import bumpy, first
from compiler.shop import cutter, machine, q
from compiler.works import cut, work

from flatwise.model.shop import ChipLoad, Lean, SpeedRange, Spindle
from flatwise.model.words import Whole
from flatwise.plan.cutting import cut_figures, cutting_power, rim_speed, thinning, wings_in_cut


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


def test_power_and_force_worked_by_hand() -> None:
    # 64 x 0.5 x 4200 / 60 = 2240 mm3/s, at 45 N/mm2 100.8 W; the rim runs at 46.914 m/s, so 2.149 N
    of = work(job={"cut": cut(feed=q("4200mm/min"))})
    found = cut_figures(of, 64.0, 0.5, lambda load: True)
    assert found.power == pytest.approx(100.8)
    assert found.force == pytest.approx(2.149, abs=5e-4)
    setup = first(of)
    assert setup.force == pytest.approx(setup.power / 46.914, rel=1e-4)


def test_spindle_power_falls_with_speed() -> None:
    # 0.4 kW at a quarter of the top speed is 100 W, of which the rules grant 70 W: the power then sets the feed
    weak = machine(spindle=Spindle(power=q("0.4kW"), least=q("6000rpm"), most=q("24000rpm")))
    tool = cutter(speed=SpeedRange(least=q("6000rpm"), most=q("6000rpm")))
    setup = first(work(machine=weak, cutter=tool, job={"cut": cut(speed="auto")}), bumpy(900.0, 500.0, 32.0, rough=3.0))
    assert setup.feed_limit == "power"
    assert 0.95 * 0.7 * 100.0 < setup.power <= 0.7 * 100.0 + 1e-9


@pytest.mark.parametrize("wings", [1, 2, 3, 4, 5, 6, 8])
@pytest.mark.parametrize("width", [1.0, 10.0, 15.9, 16.1, 31.0, 33.0, 47.0, 58.0, 63.9, 64.0])
def test_wings_in_the_cut_are_the_most_that_are_found_by_turning_the_cutter(wings: int, width: float) -> None:
    # a wing cuts while its tip is within the engaged width, counted from one side of a 64 mm cutter
    turned = np.linspace(0.0, 2.0 * pi, 14_400, endpoint=False)[:, None]
    angles = turned + 2.0 * pi * np.arange(wings) / wings
    depth_of_tip, advancing = 32.0 - 32.0 * np.cos(angles), np.sin(angles) > 0.0
    in_cut = (depth_of_tip < width) & advancing
    assert wings_in_cut(width, 64.0, wings) == max(1, in_cut.sum(axis=1).max())


@pytest.mark.parametrize(
    ("wings", "width", "feed", "in_cut"),
    [
        # 14000 rpm x wings x 0.10 mm gives the feed; 64 mm is half a turn, 32 mm a quarter, 16 mm a sixth
        ("3", 64.0, "4200mm/min", 2),
        ("3", 16.0, "4200mm/min", 1),
        ("6", 64.0, "8400mm/min", 3),
        ("6", 32.0, "8400mm/min", 2),
    ],
)
def test_the_load_on_the_holders_worked_by_hand(wings: str, width: float, feed: str, in_cut: int) -> None:
    # one wing: depth 0.5 mm x chip 0.10 mm x cutting energy 45 N/mm2 = 2.25 N; the thrust of the feed is as large and
    # square to it, so sqrt(2) x 2.25 N; four times that for safety
    by_hand = 4.0 * sqrt(2.0) * 2.25 * in_cut
    small = machine(spindle=Spindle(power=q("0.2kW"), least=q("8000rpm"), most=q("24000rpm")))
    of = work(machine=small, cutter=cutter(wings=Whole(int(wings))), job={"cut": cut(feed=q(feed))})
    found = cut_figures(of, width, 0.5, lambda load: True)
    assert found.chip_load == pytest.approx(0.10)
    assert found.load == pytest.approx(by_hand)
    # a stall of this spindle pushes less: 200 W at 46.914 m/s
    assert by_hand > 200.0 / 46.914


def test_the_load_on_the_holders_is_never_less_than_the_push_of_a_stall() -> None:
    # 2200 W at pi x 64 mm x 14000 rpm = 46.914 m/s give 46.894 N; the cut itself, as above, 4 x 3.182 N
    of = work(job={"cut": cut(feed=q("4200mm/min"))})
    assert cut_figures(of, 16.0, 0.5, lambda load: True).load == pytest.approx(46.894, abs=2e-3)
    assert first(of).holding_load == pytest.approx(46.894, abs=2e-3)
