"""The spoilboard: down on a slope, since no side is free; the ends of rows over the board; borders that stay."""

from __future__ import annotations

from math import sqrt

import pytest
from compiler.plan.plans import panel_of
from compiler.shop import dog, q
from compiler.works import bed_work, cut, work, zero

from flatwise.core.surface import Surface
from flatwise.gcode.write import write
from flatwise.model.shop import Rounded
from flatwise.model.stages import Leg
from flatwise.plan import plan
from flatwise.plan.holding import weakness
from flatwise.plan.path import Kinematics, Path, ramp
from flatwise.plan.rows import Rows, rows
from flatwise.plan.setup import border, overrun_of
from flatwise.plan.timing import duration, straight
from flatwise.seat import seat
from flatwise.verify import verify

L, W = 900.0, 500.0
#: where the centre may go: 40 mm inside all edges of the board
INSIDE = (40.0, 860.0, 40.0, 460.0)


def laid(reach: tuple[float, float, float, float] = INSIDE) -> Rows:
    return rows(work(L, W, job={"cut": cut()}), 6.0, reach)


def ramped(above: float, of: Rows | None = None, z_feed: float = 1500.0) -> list[Leg]:
    path = Path(of or laid(), 30.0, above, Kinematics(60.0, 6000.0, z_feed, 12000.0, 500.0, hop=3.0))
    ramp(path, path.above - path.plane)
    return path.legs


def test_the_ramp_begins_a_hop_above_the_wood_and_ends_where_the_first_row_begins() -> None:
    # 3 mm down at 1 in 20 take 60 mm; then 0.5 mm of wood over the cutter's diameter, 64 mm
    assert ramped(30.5)[:6] == [
        (True, 164.0, 40.0, 33.5),
        (True, 164.0, 40.0, 33.5),
        (False, 104.0, 40.0, 30.5),
        (False, 40.0, 40.0, 30.0),
        (False, 860.0, 40.0, 30.0),
        (False, 860.0, pytest.approx(40.0 + laid().step), 30.0),
    ]
    # 8 mm of wood at 1 in 20 take 160 mm; where Z goes down at a hundredth of the feed, 3.5 mm take 350 mm
    assert [leg[1:] for leg in ramped(38.0)[2:4]] == [(200.0, 40.0, 38.0), (40.0, 40.0, 30.0)]
    assert ramped(30.5, z_feed=60.0)[1] == (True, pytest.approx(40.0 + 64.0 + 300.0), 40.0, 33.5)


def test_a_ramp_longer_than_the_row_goes_to_and_fro() -> None:
    # 60 mm and 64 mm of ramp in a row of 50 mm: 24 mm from its beginning, two turns, and the wood 36 mm before the last
    of = laid((40.0, 90.0, 40.0, 460.0))
    found = [(x, z) for _, x, _, z in ramped(30.5, of)[1:6]]
    assert found[0] == (64.0, 33.5) and [x for x, _ in found] == pytest.approx([64.0, 40.0, 76.0, 90.0, 40.0])
    assert [z for _, z in found[1:]] == pytest.approx([32.3, 30.5, 30.5 - 0.5 * 14 / 64, 30.0])


def test_after_the_slope_every_row_runs_from_end_to_end() -> None:
    of = laid()
    moves = ramped(30.5, of)
    zigzag = [(x, y) for _, x, y, _ in moves[3 : 3 + 2 * len(of.at)]]
    expected = []
    for k, v in enumerate(of.at):
        expected += [(40.0, v), (860.0, v)] if k % 2 == 0 else [(860.0, v), (40.0, v)]
    assert zigzag == expected
    assert moves[-1] == (True, *moves[-2][1:3], 33.5)


def closing(reach: tuple[float, float, float, float]) -> int:
    """The number of feed moves after the last row."""
    of = laid(reach)
    moves = ramped(30.5, of)
    return len(moves) - 3 - 2 * len(of.at) - 1


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
    there = straight(2 * half, 6000.0, 250.0)
    assert duration((0.0, 0.0, 10.0), down, 6000.0, 1500.0, 9000.0, 250.0) == pytest.approx(there)
    # the first 2.9° down, then 5.7° up
    there = straight(2 * half, 6000.0, 250.0) + straight(sqrt(100.0**2 + 10.0**2), 6000.0, 250.0)
    assert duration((0.0, 0.0, 10.0), [*down, up], 6000.0, 1500.0, 9000.0, 250.0) == pytest.approx(there)


def test_on_a_spoilboard_the_ramp_begins_a_hop_above_the_highest_wood() -> None:
    panel = panel_of(Surface.flat(1300, 1300, -18.0), Surface.flat(1300, 1300, 0.0), (0.0, 0.08, 0.08))
    made, _ = plan(bed_work(take="1mm"), panel, seat(bed_work(), panel)[0])
    assert made is not None
    (setup,) = made.setups
    assert [one.plane for one in setup.passes] == pytest.approx([-0.2, -0.6, -1.0])
    # the top may be 0.08 mm higher, touched off where it is 0.08 mm lower; the lean is 0.0032.  The first row runs
    # 40 mm from the edge: 8 mm of border stay as they are beside every ramp
    assert [one.path[1].z for one in setup.passes] == pytest.approx([0.1632 + 3.0] * 3)
    # a diameter for each 0.4 mm through wood
    (_, x, *_), (_, end, *_) = setup.passes[2].path[2:4]
    assert abs(end - x) == pytest.approx(64.0 * 1.1632 / 0.4)
    assert all(one.path[0].z == setup.lift and one.path[1].rapid for one in setup.passes)


@pytest.mark.parametrize("by", ["0.3mm", "5mm"])
def test_a_spoilboard_beyond_the_travel_is_proven_where_the_machine_rounds_its_corners(by: str) -> None:
    of = bed_work(take="1mm")
    controller = of.machine.controller.model_copy(update={"corners": Rounded(by=q(by))})
    of = of._replace(machine=of.machine.model_copy(update={"controller": controller}))
    panel = panel_of(Surface.flat(1300, 1300, -18.0), Surface.flat(1300, 1300, 0.0), (0.0, 0.08, 0.08))
    made, _ = plan(of, panel, seat(of, panel)[0])
    assert made is not None and len(made.setups[0].passes) == 3
    assert verify(write(made, made.setups[0]), made, made.setups[0])[1] == ()


def test_two_dogs_opposite_one_between_them_lock_a_turn() -> None:
    middle = (dog("front", L / 2, L, W), dog("back", L / 2, L, W))
    for one, two in (("left", "right"), ("right", "left")):
        pair = (dog(one, W / 2, L, W), *(dog(two, share * W, L, W) for share in (0.2, 0.8)))
        assert weakness((*middle, *pair), L, W, 10.0, 100_000.0) is None
        weak = weakness((*middle, *pair[:2]), L, W, 10.0, 100_000.0)
        assert weak is not None and weak.does == "turn"


def test_the_overrun_is_the_jobs_or_the_standards_or_three_millimetres() -> None:
    unsaid = work(job={"cut": cut(overrun=None)})
    assert overrun_of(work()) == 6.0 and overrun_of(unsaid) == 4.0
    assert overrun_of(unsaid._replace(rules=unsaid.rules._replace(overrun=None))) == 3.0


def test_each_side_of_a_spoilboard_that_stays_uncut_is_reported() -> None:
    # the centre goes from −x to 1320 mm − x over a board of 1300 mm, the rim 32 mm further
    def reported(x: float, y: float) -> list[str]:
        of = bed_work()
        return list(border(of._replace(job=of.job.model_copy(update={"zero": zero(x, y, None)}))))

    def short(side: str, by: str) -> str:
        return f"The travel ends short of the {side} edge: a border of {by} stays uncut there."

    assert reported(-32.0, 52.0) == reported(52.0, -32.0) == []
    assert reported(-40.0, 65.0) == [short("left", "8mm"), short("back", "13mm")]
    assert reported(60.0, -42.0) == [short("right", "8mm"), short("front", "10mm")]
