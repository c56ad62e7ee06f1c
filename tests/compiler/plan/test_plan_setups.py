"""Planes, passes, setups, zero and tolerance of a plan."""

from __future__ import annotations

import re
from itertools import product
from typing import Any

import numpy as np
import pytest
from compiler.plan.plans import bumpy, first, lay, panel_of, planned
from compiler.shop import cutter, machine, q
from compiler.works import bed_work, cut, faces, second_to, work, zero

from flatwise import check
from flatwise.core.surface import Surface
from flatwise.core.units import NOWHERE
from flatwise.model.job import (
    After,
    Balanced,
    FirstTo,
    Reading,
    Take,
    UntilClean,
)
from flatwise.model.shop import Controller
from flatwise.model.words import Place
from flatwise.plan import falls_short, never_within, plan
from flatwise.plan.planes import HeightGrid, bites, planes
from flatwise.seat import seat

L, W = 900.0, 500.0
CLEAN = UntilClean(until="until")


def test_planes_rise_from_the_last_and_the_topmost_takes_the_rest() -> None:
    assert planes(30.0, 31.35, 0.5, 0.2, HeightGrid(0.001, 0.0)) == (31.2, 30.7, 30.2, 30.0)
    assert bites((31.2, 30.7, 30.2, 30.0), 31.35) == pytest.approx((0.15, 0.5, 0.5, 0.2))
    assert planes(30.0, 30.9, 0.5, None, HeightGrid(0.001, 0.0)) == (30.5, 30.0)
    assert planes(30.0, 30.15, 0.5, 0.2, HeightGrid(0.001, 0.0)) == (30.0,)


def test_a_limit_between_digits_is_rounded_down() -> None:
    step = float(q("1/64in"))
    steps = -np.diff(planes(30.0, 33.0, step, None, HeightGrid(0.001, 0.0)))
    assert steps.max() <= step and steps.min() == pytest.approx(0.396)


@pytest.mark.parametrize("units", ["mm", "in"])
@pytest.mark.parametrize("on", ["top", "bed"])
def test_written_heights_need_no_rounding(units: Any, on: str) -> None:
    of = work(machine=machine(controller=Controller(units=units)), job={"zero": zero(on=on)})
    plan_ = planned(of, bumpy(L, W, 32.0), bumpy(L, W, 0.3, seed=2, rough=0.3))
    digit = of.machine.controller.digit
    for setup in plan_.setups:
        for one in setup.passes:
            written = (one.plane - setup.touch.zero) / digit
            assert written == pytest.approx(round(written), abs=1e-5)
        steps = [a.plane - b.plane for a, b in zip(setup.passes, setup.passes[1:], strict=False)]
        assert max(steps) <= 0.5 + 1e-9


def test_until_clean_is_the_lowest_place_less_bound_and_allowance() -> None:
    top = bumpy(L, W, 32.0)
    setup = first(work(), top, bound=0.07)
    # bound, 0.2 × paper, the bed, half the diameter × the lean
    expected = top.lowest - 0.07 - 0.2 * 0.05 - 0.08 - 0.5 * 64 * 0.02 / 200
    assert expected - 0.001 - 1e-9 <= setup.plane <= expected + 1e-9


def test_first_to_and_take() -> None:
    top = bumpy(L, W, 32.0)
    to = first(work(job={"faces": faces(first=FirstTo(height=q("30mm")))}), top)
    take = first(work(job={"faces": faces(first=Take(depth=q("1.5mm")))}), top)
    assert to.plane == 30.0
    assert take.plane == pytest.approx(top.highest - 1.5, abs=5e-4)


def test_balanced_takes_the_same_off_both_faces() -> None:
    plan_ = planned(work(job={"faces": faces(first=Balanced(balanced="balanced"))}), bumpy(L, W, 32.0))
    one, two = plan_.setups
    assert one.removed_mean == pytest.approx(two.removed_mean, abs=2e-3)
    assert two.plane == 28.0


def test_balanced_is_never_above_the_clean_plane() -> None:
    of = work(job={"faces": faces(first=Balanced(balanced="balanced"), second=second_to("31.5mm"))})
    until = first(work(), bumpy(L, W, 32.0, rough=0.4))
    assert first(of, bumpy(L, W, 32.0, rough=0.4)).plane == until.plane


@pytest.mark.parametrize("turn_of", [(900.0, 500.0), (400.0, 500.0)])
def test_the_second_face_is_the_lower_face_turned_over(turn_of: tuple[float, float]) -> None:
    length, width = turn_of
    lower = bumpy(length, width, 0.3, seed=3, rough=0.4)
    of = work(length, width)
    one, two = planned(of, lower=lower).setups
    x, y = 0.2 * length, 0.3 * width
    turned = (x, width - y) if length >= width else (length - x, y)
    assert two.top.at(*turned) == pytest.approx(one.plane - float(lower.at(x, y)))
    assert two.under.highest == 0.0 and two.shims == ()


def test_the_touch_is_where_the_top_varies_least() -> None:
    xs, ys = np.linspace(0, L, 10), np.linspace(0, W, 6)
    z = 32.0 + 0.5 * np.random.default_rng(5).uniform(size=(6, 10))
    z[2:5, 4:7] = 32.25
    # where both faces are cut, both are touched at one place on the outline; one face alone anywhere
    setup = first(work(job={"faces": faces(second=None)}), Surface(xs, ys, z))
    assert 400.0 <= setup.touch.x <= 600.0 and 200.0 <= setup.touch.y <= 400.0
    assert setup.touch.height == pytest.approx(32.25, abs=1e-3)
    assert setup.touch.lowest == pytest.approx(32.25 - setup.bound.under.highest, abs=1e-3)


def test_the_second_touch_is_on_the_outline_and_clear_of_holders() -> None:
    touch = planned(work(), bumpy(L, W, 32.0), bumpy(L, W, 0.3, seed=2)).setups[1].touch
    assert touch.x in (0.0, L) or touch.y in (0.0, W)
    for holder in work().holders:
        dx = max(holder.x0 - touch.x, touch.x - holder.x1, 0.0)
        dy = max(holder.y0 - touch.y, touch.y - holder.y1, 0.0)
        assert np.hypot(dx, dy) >= 32.0


def test_a_touch_covers_the_highest_top_under_the_wings() -> None:
    top = bumpy(L, W, 32.0, nodes=33)
    touch = first(work(), top).touch
    angle, share = np.meshgrid(np.linspace(0, 2 * np.pi, 90), np.linspace(0, 1, 30))
    under = top.at(touch.x + 32.0 * share * np.cos(angle), touch.y + 32.0 * share * np.sin(angle))
    assert under.max() <= touch.height + 1e-3
    assert touch.height <= top.cells([touch.x - 34, touch.x + 34], [touch.y - 34, touch.y + 34])[1] + 1e-3


def test_z_bed_is_touched_off_beside_the_panel_once_for_both_faces() -> None:
    one, two = planned(work(job={"zero": zero(on="bed")})).setups
    assert one.touch == two.touch
    assert one.touch.zero == 0.05
    x, y = one.touch.x, one.touch.y
    assert np.hypot(max(-x, x - L, 0), max(-y, y - W, 0)) >= 32.0


def test_the_plus_minus_is_the_plain_sum() -> None:
    plan_ = planned(work(), bound=0.06)
    assert plan_.plus_minus == pytest.approx(0.2 * 0.05 + 0.06 + 0.08 + 0.0032 + 0.02)
    on_bed = planned(work(job={"zero": zero(on="bed", paper=None)}), bound=0.06)
    assert on_bed.plus_minus == pytest.approx(0.08 + 0.0032 + 0.02)


def test_most_left_comes_clean_on_both_faces_and_a_digit_more_does_not() -> None:
    upper, lower = bumpy(L, W, 32.0), bumpy(L, W, 0.3, seed=2)
    most = planned(work(), upper, lower).most_left
    from flatwise.check import fw601_not_clean

    def found(thickness: float) -> list[str]:
        job = {"faces": faces(second=second_to(f"{thickness:.3f}mm"))}
        return [one.code for one in fw601_not_clean.check(planned(work(job=job), upper, lower))]

    assert found(most) == []
    assert found(most + 0.002) == ["FW601"]


def test_deepest_pass_without_a_depth_is_the_least_of_the_limits() -> None:
    job = {"cut": cut(depth=None, finish=None)}
    top = bumpy(L, W, 32.0, rough=6.0)
    assert first(work(job=job), top).passes[-1].limit == pytest.approx(0.6)

    of = work(job=job)
    assert first(of._replace(rules=of.rules._replace(depth=None)), top).passes[-1].limit == pytest.approx(1.2)


def reading(place: str, text: str) -> Reading:
    return Reading(place=Place(place, 0.0, 0.0, NOWHERE), value=q(text))


FOUR = ("front_left", "front_right", "back_left", "back_right")


def test_after_the_first_face_only_the_second_is_planned_from_readings() -> None:
    after = After(thickness=tuple(reading(place, "31.20mm") for place in FOUR), within=q("0.03mm"))
    plan_ = planned(work(job={"after_first": after}))
    (two,) = plan_.setups
    assert two.face == "second" and not two.again
    assert two.top.mean == pytest.approx(31.20, abs=1e-6)
    assert plan_.notes and "after the first face" in plan_.notes[0].lower()


def test_marks_left_cut_the_first_face_once_more() -> None:
    (again,) = planned(work(job={"after_first": After(marks="left")})).setups
    was = first(work())
    assert again.face == "first" and again.again
    assert again.plane == pytest.approx(was.plane - 0.2)
    assert [(one.whole, round(one.depth, 9)) for one in again.passes] == [(True, 0.2)]
    half = planned(work(job={"after_first": After(marks="left"), "cut": cut(finish=None)})).setups[0]
    assert half.plane == pytest.approx(was.plane - 0.25)
    # half the lesser of the cutter's 1.2 mm and the standard's 0.6 mm if the job gives neither
    bare = cut(depth=None, finish=None)
    least = planned(work(job={"after_first": After(marks="left"), "cut": bare})).setups[0]
    assert least.plane == pytest.approx(was.plane - 0.3)


def test_after_the_second_face_it_is_cut_again_only_above_the_tolerance() -> None:
    thick = After(thickness=(reading("centre", "28.62mm"),))
    good = After(thickness=(reading("centre", "28.31mm"),))
    (again,) = planned(work(job={"after_second": thick})).setups
    assert (again.face, again.again, again.plane) == ("second", True, 28.0)
    plan_ = planned(work(job={"after_second": good}))
    assert plan_.setups == () and plan_.forecast == pytest.approx(28.31)


def test_a_spoilboard_is_cut_as_far_as_the_travel_goes() -> None:
    of = bed_work()
    flat = Surface.flat(1300.0, 1300.0, 0.0)
    panel = panel_of(Surface.flat(1300.0, 1300.0, -18.0), flat, (0.0, 0.08, 0.08))
    plan_, findings = plan(of, panel, seat(of, panel)[0])
    assert plan_ is not None and findings == ()
    (setup,) = plan_.setups
    assert setup.plane == -0.6 and plan_.forecast == pytest.approx(17.4)
    shift = np.subtract(setup.origin_machine, setup.origin)
    at = np.array([(leg.x, leg.y) for one in setup.passes for leg in one.path]) + shift
    assert at.min() >= -1e-6 and at.max() <= 1320.0 + 1e-6
    # nothing comes straight down in wood: 1 mm on 20 mm at most, and over the cutter's diameter at least (common
    # practice, no source)
    for one, above in zip(setup.passes, (0.1632, *(one.plane for one in setup.passes)), strict=False):
        for before, leg in zip(one.path, one.path[1:], strict=False):
            if leg.z < before.z and not leg.rapid:
                far = np.hypot(leg.x - before.x, leg.y - before.y)
                assert before.z - leg.z <= far / 20.0 + 1e-9 and (leg.z >= above - 1e-9 or far >= 64.0 - 1e-9)
    assert any("front" in note and "8mm" in note for note in plan_.notes), plan_.notes


def test_target_forecast_and_most_left_of_a_first_face_alone() -> None:
    upper, lower = bumpy(L, W, 32.0), bumpy(L, W, 0.3, seed=2)
    alone = planned(work(job={"faces": faces(first=FirstTo(height=q("30mm")), second=None)}), upper, lower)
    assert alone.target == 30.0 and alone.forecast == pytest.approx(30.0 - lower.mean)
    # bound, 0.2 × paper, the bed, half the diameter × the lean; to a digit
    clean = upper.lowest - 0.05 - 0.2 * 0.05 - 0.08 - 0.5 * 64 * 0.02 / 200
    assert alone.most_left == pytest.approx(clean - lower.mean, abs=1.1e-3) and alone.most_left < clean - lower.mean
    assert planned(work(job={"faces": faces(second=None)}), upper, lower).target is None
    assert [one.face for one in planned(work(job={"faces": faces(first=None)}), upper, lower).setups] == ["second"]


def test_absurdly_many_passes_or_rows_are_refused_quickly() -> None:
    of = work(job={"cut": cut(depth=q("0.0001mm"), finish=None)})
    made, findings = plan(of, *lay(of))
    assert made is None and [finding.code for finding in findings] == ["FW107"]
    of = work(job={"cut": cut(stepover=q("0.001%"))})
    made, findings = plan(of, *lay(of))
    assert made is None and [finding.code for finding in findings] == ["FW107"]
    made, findings = plan(work(job={"cut": cut(stepover="auto")}, cutter=cutter(diameter=q("0.15mm"))), *lay(of))
    assert made is None and [str(finding.message) for finding in findings] == [
        "With the stepover allowed, one face would take more than 2000 rows."
    ]
    assert findings[0].help == "Use a larger cutter."
    # 260 rows are fine for a pass, but not for each of 15
    of = work(job={"cut": cut(stepover=q("3%"), depth=q("0.1mm"), finish=None)})
    made, (one,) = plan(of, *lay(of))
    assert made is None and re.fullmatch(r".* one face would take more than 3000 rows in its \d+ passes\.", one.message)


def test_three_readings_on_a_line_do_not_throw_the_second_face_far() -> None:
    # readings −0.07, +0.01 and −0.02 mm from a flat forecast that is known within 0.05 mm
    texts = {"front_left": 0.07, "centre": -0.01, "back_right": 0.02}
    plane = planned(work()).setups[0].plane
    after = After(
        thickness=tuple(reading(place, f"{plane - off:.3f}mm") for place, off in texts.items()), within=q("0.03mm")
    )
    (two,) = planned(work(job={"after_first": after}), bound=0.05).setups
    assert two.top.highest - two.top.lowest < 1e-9
    # as forecast within 0.05 mm, and 0.03 mm + the largest difference from their mean about that mean
    mean = sum(texts.values()) / 3
    low, high = max(-0.05, -mean - 0.03 - (0.07 - mean)), min(0.05, -mean + 0.03 + (0.07 - mean))
    assert two.top.mean == pytest.approx(plane + (low + high) / 2, abs=1e-3)
    assert two.bound.over.highest == pytest.approx((high - low) / 2, abs=1e-3)


@pytest.mark.parametrize(("lift", "over"), [("0.2mm", 2.2), ("2.1mm", 2.2), ("5mm", 5.0)])
def test_moves_in_the_air_clear_the_wood_even_if_zero_was_set_low(lift: str, over: float) -> None:
    # a flat top at 32 mm, known within 1.2 mm: it may stand at 33.2 mm, and at 30.8 mm where zero is touched off, which
    # puts every height 1.2 mm lower; one more millimetre is kept
    setup = first(work(machine=machine(lift=q(lift), hop=q("1mm")), job={"zero": zero()}), bound=1.2)
    assert setup.lift == pytest.approx(33.2 + over, abs=0.001)


@pytest.mark.parametrize("how", [CLEAN, FirstTo(height=q("31mm")), Take(depth=q("1mm")), Balanced(balanced="balanced")])
@pytest.mark.parametrize("on", ["top", "bed"])
def test_what_falls_short_before_places_are_looked_for_falls_short_in_the_plan(how: Any, on: str) -> None:
    told = []
    for seed, (target, within, bound) in enumerate(product((28.0, 30.6, 31.2), ("0.15mm", "0.3mm"), (0.02, 0.1, 0.2))):
        second = second_to(f"{target + 0.01 * seed:.3f}mm", within)
        of = work(job={"faces": faces(first=how, second=second), "zero": zero(on=on)})
        panel, lying = lay(of, bumpy(L, W, 32.0, seed=seed), bumpy(L, W, 0.2, seed=seed + 50, rough=0.3), bound)
        draft, _ = plan(of, panel, lying, moves=False)
        assert draft is not None
        told.append((never_within(of, panel) or falls_short(of, lying), check.reaches(draft)))
    # never where the plan has wood enough
    assert (True, True) not in told and (False, True) in told and (True, False) in told
