"""The spoilboard: down on a slope, since no side is free; the ends of rows over the board; borders that stay."""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import pytest
from compiler.plan.plans import panel_of
from compiler.shop import dog
from compiler.works import bed_work, cut, work, zero

from flatwise.core.surface import Surface
from flatwise.model.stages import Leg
from flatwise.plan import plan
from flatwise.plan.holding import weakness
from flatwise.plan.path import Kinematics, Path, ramp
from flatwise.plan.rows import Rows, rows
from flatwise.plan.setup import border, overrun_of
from flatwise.plan.timing import duration, straight
from flatwise.seat import seat

L, W = 900.0, 500.0
#: where the centre may go: 40 mm inside all edges of the board
INSIDE = (40.0, 860.0, 40.0, 460.0)


def laid(reach: tuple[float, float, float, float] = INSIDE) -> Rows:
    return rows(work(L, W, job={"cut": cut()}), 6.0, reach)


def ramped(above: float, of: Rows | None = None, lift: float = 60.0) -> list[Leg]:
    path = Path(of or laid(), 30.0, Kinematics(lift=lift, feed=6000.0, rapid=12000.0, acceleration=500.0))
    ramp(path, above)
    return path.legs


def test_the_slope_begins_two_millimetres_above_the_wood_and_ends_where_the_first_row_begins() -> None:
    # from 32.5 mm down to 30 mm at 0.008 mm per mm: 312.5 mm
    moves = ramped(30.5)
    assert moves[:4] == [
        (True, 352.5, 40.0, 60.0),
        (True, 352.5, 40.0, 32.5),
        (False, 40.0, 40.0, 30.0),
        (False, 860.0, 40.0, 30.0),
    ]
    # under a low lift it begins at the lift: 1 mm takes 125 mm
    assert ramped(30.5, lift=31.0)[:2] == [(True, 165.0, 40.0, 31.0), (False, 40.0, 40.0, 30.0)]


def test_a_slope_longer_than_the_row_goes_to_and_fro() -> None:
    # 8.5 mm takes 1062.5 mm, in a row of 820 mm: 531.25 mm there and back to where the row begins
    assert ramped(36.5)[:4] == [
        (True, 40.0, 40.0, 60.0),
        (True, 40.0, 40.0, 38.5),
        (False, 571.25, 40.0, pytest.approx(34.25)),
        (False, 40.0, 40.0, 30.0),
    ]
    three = ramped(45.0)
    assert three[0][1] == pytest.approx(40.0 + 17.0 / 0.008 / 3.0) and three[4][:3] == (False, 40.0, 40.0)
    assert [move[3] for move in three[1:5]] == pytest.approx([47.0, 47.0 - 17.0 / 3.0, 47.0 - 34.0 / 3.0, 30.0])


def test_after_the_slope_every_row_runs_from_end_to_end() -> None:
    of = laid()
    moves = ramped(30.5, of)
    zigzag = [(x, y) for _, x, y, _ in moves[2 : 2 + 2 * len(of.at)]]
    expected = []
    for k, v in enumerate(of.at):
        expected += [(40.0, v), (860.0, v)] if k % 2 == 0 else [(860.0, v), (40.0, v)]
    assert zigzag == expected
    assert moves[-1] == (True, *moves[-2][1:3], 60.0)


def closing(reach: tuple[float, float, float, float]) -> int:
    """The number of feed moves after the last row."""
    of = laid(reach)
    moves = ramped(30.5, of)
    return len(moves) - 2 - 2 * len(of.at) - 1


def test_the_cutter_runs_along_the_ends_of_rows_that_end_over_the_board() -> None:
    of = laid()
    # circles of 32 mm, a step apart, meet that far before and behind their centres; 1 mm of step is a reserve
    meet = sqrt(32.0**2 - (of.step / 2.0 + 1.0) ** 2)
    assert closing(INSIDE) == 3
    assert closing((meet + 0.1, L + 38.0, 40.0, 460.0)) == closing((-38.0, L - meet - 0.1, 40.0, 460.0)) == 3
    assert closing((meet - 0.1, L + 38.0, 40.0, 460.0)) == closing((-38.0, L - meet + 0.1, 40.0, 460.0)) == 0
    last = [(x, y) for _, x, y, _ in ramped(30.5, of)[-4:-1]]
    here, other = (40.0, 860.0) if len(of.at) % 2 == 0 else (860.0, 40.0)
    assert last == [(here, 40.0), (other, 40.0), (other, 460.0)]


def test_two_moves_of_one_slope_need_no_stop_but_going_up_again_does() -> None:
    down, up = [(False, 100.0, 0.0, 5.0), (False, 200.0, 0.0, 0.0)], (False, 300.0, 0.0, 10.0)
    half = sqrt(100.0**2 + 5.0**2)
    assert duration((0.0, 0.0, 10.0), down, 6000.0, 9000.0, 250.0) == pytest.approx(straight(2 * half, 6000.0, 250.0))
    # the first 2.9° down, then 5.7° up
    there = straight(2 * half, 6000.0, 250.0) + straight(sqrt(100.0**2 + 10.0**2), 6000.0, 250.0)
    assert duration((0.0, 0.0, 10.0), [*down, up], 6000.0, 9000.0, 250.0) == pytest.approx(there)


def test_on_a_spoilboard_the_slope_begins_two_millimetres_above_the_highest_wood() -> None:
    panel = panel_of(Surface.flat(1300, 1300, -18.0), Surface.flat(1300, 1300, 0.0), (0.0, 0.08, 0.08))
    made, _ = plan(bed_work(take="1mm"), panel, seat(bed_work(), panel)[0])
    assert made is not None
    (setup,) = made.setups
    assert [one.plane for one in setup.passes] == pytest.approx([-0.2, -0.6, -1.0])
    # the top may be 0.08 mm higher, touched off where it is 0.08 mm lower; the lean is 0.0032; then the plane before
    above = [0.1632, -0.2, -0.6]
    assert [one.path[1].z for one in setup.passes] == pytest.approx([z + 2.0 for z in above])
    assert all(one.path[0].z == setup.lift and one.path[1].rapid for one in setup.passes)


def test_two_dogs_opposite_one_between_them_lock_a_turn() -> None:
    middle = (dog("front", L / 2, L, W), dog("back", L / 2, L, W))
    for one, two in (("left", "right"), ("right", "left")):
        pair = (dog(one, W / 2, L, W), *(dog(two, share * W, L, W) for share in (0.2, 0.8)))
        assert weakness((*middle, *pair), L, W, 10.0, 100_000.0) is None
        weak = weakness((*middle, *pair[:2]), L, W, 10.0, 100_000.0)
        assert weak is not None and weak.turning


def test_the_overrun_is_the_jobs_or_the_standards_or_three_millimetres() -> None:
    unsaid = work(job={"cut": cut(overrun=None)})
    assert overrun_of(work()) == 6.0 and overrun_of(unsaid) == 4.0
    assert overrun_of(replace(unsaid, rules=replace(unsaid.rules, overrun=None))) == 3.0


def test_each_side_of_a_spoilboard_that_stays_uncut_is_reported() -> None:
    # the centre goes from −x to 1320 mm − x over a board of 1300 mm, the rim 32 mm further
    def reported(x: float, y: float) -> list[str]:
        of = bed_work()
        return list(border(replace(of, job=of.job.model_copy(update={"zero": zero(x, y, None)}))))

    def short(side: str, by: str) -> str:
        return f"The travel ends short of the {side} edge: a border of {by} stays uncut there."

    assert reported(-32.0, 52.0) == reported(52.0, -32.0) == []
    assert reported(-40.0, 65.0) == [short("left", "8mm"), short("back", "13mm")]
    assert reported(60.0, -42.0) == [short("right", "8mm"), short("front", "10mm")]
