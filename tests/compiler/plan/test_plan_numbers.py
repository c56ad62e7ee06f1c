"""Figures of a plan worked out by hand, each at the edge of its rule: planes, rows, the cut, holding, moves."""

from __future__ import annotations

from math import cos, radians, sin, sqrt
from typing import Any

import numpy as np
import pytest
from compiler.plan.plans import lay, planned
from compiler.shop import INSIDE, clamp, cutter, dog, machine, mm, q
from compiler.works import cut, faces, second_to, work, zero

from flatwise.core.surface import Surface
from flatwise.core.units import NOWHERE
from flatwise.model.job import Balanced, FirstTo, RowsLine
from flatwise.model.shop import Controller, Rounded
from flatwise.model.stages import Bound, Leg, Seating, Shim
from flatwise.plan import plan
from flatwise.plan.cutting import (
    deepest_allowed,
    peak_force,
    shank_fits,
    speed_range,
    spindle_power,
    typical_chip,
    wings_in_cut,
)
from flatwise.plan.holding import DIRECTIONS, weakness
from flatwise.plan.path import Kinematics, Path, ring
from flatwise.plan.planes import HeightGrid, balanced_plane, clean_plane, height_grid, planes
from flatwise.plan.row_orders import beside_panel
from flatwise.plan.rows import rows
from flatwise.plan.timing import cut_length, duration, straight
from flatwise.plan.touch import touch
from flatwise.plan.uncertainty import uncertainty_parts
from flatwise_grammar.nodes import Span

L, W = 900.0, 500.0


def wedge(low: float, high: float) -> Surface:
    """A face that rises along x."""
    return Surface(np.array([0.0, L]), np.array([0.0, W]), np.array([[low, high], [low, high]]))


# -- planes


@pytest.mark.parametrize("base", [0.0, 0.0503])
def test_heights_are_rounded_down_up_or_to_the_nearest_digit(base: float) -> None:
    on = HeightGrid(0.001, base)
    there = round(base + 30.0, 9)
    assert on.down(there) == on.up(there) == on.near(there) == there
    assert on.down(there + 0.0004) == on.near(there + 0.0004) == there
    assert on.up(there - 0.0004) == on.near(there - 0.0004) == there
    assert on.down(there - 0.0004) == pytest.approx(there - 0.001)
    assert on.up(there + 0.0004) == on.near(there + 0.0006) == pytest.approx(there + 0.001)
    assert on.step(0.3) == 0.3 and on.step(0.2999) == 0.299 and on.step(0.0004) == 0.001


def test_paper_shifts_the_heights_that_a_program_can_write_only_with_zero_on_the_bed() -> None:
    # zero lies 0.0503 mm above the bed, so a program can write 30.0003 but not 30; a zero on top is rounded itself
    to = {"faces": faces(first=FirstTo(height=q("30mm")))}
    assert planned(work(job={**to, "zero": zero(paper="0.0503mm")})).setups[0].plane == 30.0
    assert planned(work(job={**to, "zero": zero(on="bed", paper="0.0503mm")})).setups[0].plane == pytest.approx(30.0003)
    assert height_grid(work(job={"zero": zero(paper="0.0503mm")})) == HeightGrid(0.001, 0.0)


def test_balanced_is_in_the_middle_unless_a_face_would_not_come_clean() -> None:
    of = work(job={"faces": faces(first=Balanced(balanced="balanced"), second=second_to("28mm"))})
    upper = Surface.flat(L, W, 34.0)
    # 0.2 of 0.05 mm paper, 0.08 mm bed, 32 mm at 0.02 in 200
    allowed = 0.01 + 0.08 + 0.0032
    assert clean_plane(of, upper, Bound.even(upper.level(0.05))) == pytest.approx(34.0 - 0.05 - allowed)

    def balanced(rise: float) -> float:
        lower = wedge(0.0, rise)
        return balanced_plane(of, upper, lower, (Bound.even(upper.level(0.05)), Bound.even(lower.level(0.07))), 28.0)

    # the mean thickness is 33.8, so each face loses half of 5.8
    assert balanced(0.4) == pytest.approx(31.1)
    # the lower face reaches up to 4 mm: 28 mm above that, plus bound and allowance; the middle would be 32
    assert balanced(4.0) == pytest.approx(32.07 + allowed)
    # and never above the plane at which the first face comes clean
    assert balanced(7.0) == pytest.approx(33.95 - allowed)


def test_a_finish_deeper_than_a_pass_is_limited_to_a_pass() -> None:
    assert planes(30.0, 30.75, 0.3, 0.5, HeightGrid(0.001, 0.0)) == (30.6, 30.3, 30.0)
    assert planes(30.0, 30.6, 0.3, None, HeightGrid(0.001, 0.0)) == (30.3, 30.0)


# -- rows: 900 x 500 mm under a cutter of 64 mm


def laid(overrun: float = 6.0, reach: Any = None, size: tuple[float, float] = (L, W), **changed: Any) -> Any:
    return rows(work(*size, job={"cut": cut(**changed)}), overrun, reach)


def test_rows_are_cut_short_on_each_side_that_the_travel_does_not_reach() -> None:
    whole = laid()
    assert (whole.start, whole.end, whole.at[0], whole.at[-1]) == (-38.0, 938.0, 26.0, 474.0)
    assert laid(reach=(-38.0, 938.0, 26.0, 474.0)) == whole and not whole.reach_short and whole.bite == 58.0
    for side, reach in enumerate(
        [(-37.0, 938.0, 26, 474), (-38, 937.0, 26, 474), (-38, 938, 27.0, 474), (-38, 938, 26, 473)]
    ):
        short = laid(reach=reach)
        assert short.reach_short and short.bite == 64.0 and not short.border
        assert (short.start, short.end, short.at[0], short.at[-1])[side] == reach[side]


def test_rows_that_end_over_the_board_reach_out_to_its_edges() -> None:
    for reach in ((10.0, 938.0, -5.0, 505.0), (-38.0, 890.0, -5.0, 505.0)):
        short = laid(reach=reach)
        assert (short.at[0], short.at[-1]) == (0.0, 500.0)
    assert laid(reach=(10.0, 938.0, 40.0, 460.0)).at[0] == 40.0
    assert laid(reach=(10.0, 938.0, 40.0, 460.0)).at[-1] == 460.0
    # rows that end exactly at the edge leave no corners
    assert laid(reach=(0.0, 900.0, -5.0, 505.0)).at[0] == 26.0


def test_rows_across_the_grain_use_the_other_travel() -> None:
    across = RowsLine(direction="across")
    whole = laid(reach=(26.0, 874.0, -38.0, 538.0), rows=across)
    assert not whole.reach_short and (whole.start, whole.end, whole.at[0], whole.at[-1]) == (-38.0, 538.0, 26.0, 874.0)
    short = laid(reach=(26.0, 874.0, -38.0, 510.0), rows=across)
    assert short.reach_short and short.end == 510.0


def test_rows_overlap_at_full_stepover_and_pass_the_edge_without_overrun() -> None:
    # centres over 448 mm: seven steps of 64 mm would only just touch; 1.5 mm of overlap makes it eight of 56 mm
    assert laid(stepover=q("100%")).step == pytest.approx(56.0)
    # 97.5 % of 64 mm is 62.4 mm, which overlaps enough by itself
    assert laid(stepover=q("97.5%")).step == pytest.approx(56.0)
    tiny = rows(work(30.0, 20.0, cutter=cutter(diameter=mm(2.0)), job={"cut": cut(stepover=q("100%"))}), 1.0)
    assert tiny.step == pytest.approx(1.0)
    bare = laid(overrun=0.0)
    assert (bare.at[0], bare.start, bare.end) == (pytest.approx(32.0 - 0.001), -33.0, 933.0)


def test_the_cutter_goes_round_the_edge_only_if_the_ring_has_a_middle() -> None:
    ring = RowsLine(direction="along", edge="edge")
    inset = 32.0 / sqrt(2.0) - 0.5
    round_it = laid(rows=ring)
    assert round_it.edge_first and round_it.bite == 64.0
    assert round_it.border == pytest.approx(inset + 32.0 - 2.0) and laid().border == 0.0
    assert laid(overrun=12.0, rows=ring).inset == pytest.approx(20.0)
    # where the travel cuts rows short, the cutter does not go round the edge
    assert not laid(reach=(-37.0, 938.0, 26.0, 474.0), rows=ring).edge_first
    # 52 mm + 2 × 6 mm of overrun is exactly the cutter: one row, and no ring
    assert not laid(size=(L, 52.0), rows=ring).edge_first and laid(size=(L, 53.0), rows=ring).edge_first
    assert not laid(size=(52.0, W), rows=ring).edge_first and laid(size=(53.0, W), rows=ring).edge_first
    assert laid(size=(L, 52.0)).at == (26.0,) and laid(size=(L, 52.0)).bite == 52.0


# -- the cut


def test_wings_in_the_cut() -> None:
    # the arc acos(1 − 2a/D) ÷ the pitch: half the cutter is a quarter turn, all of it half a turn
    assert [wings_in_cut(64.0, 64.0, wings) for wings in (1, 2, 3, 4, 5)] == [1, 1, 2, 2, 3]
    assert [wings_in_cut(32.0, 64.0, wings) for wings in (3, 4, 5, 8, 9)] == [1, 1, 2, 2, 3]
    assert wings_in_cut(0.0, 64.0, 3) == 1 and wings_in_cut(90.0, 64.0, 4) == 2
    assert peak_force(0.5, 0.2, 45.0, 2) == pytest.approx(9.0 * sqrt(2.0))


@pytest.mark.parametrize(
    ("by", "first", "bite"),
    # two rows meet with 64 - 6 = 58 mm; round the edge the whole cutter is in the wood
    [(None, None, 58.0), ("0.4mm", None, 58.4), ("1mm", None, 59.0), ("1mm", "edge", 64.0)],
)
def test_power_and_force_count_what_the_machine_rounds_corners_by(by: str | None, first: Any, bite: float) -> None:
    corners = {"controller": Controller(corners=Rounded(by=q(by)))} if by else {}
    how = cut(rows=RowsLine(direction="along", edge=first), feed=q("5m/min"))
    (_, setup) = planned(work(job={"cut": how}, machine=machine(**corners))).setups
    # width x depth x feed x cutting energy (N/mm2 = J/cm3), mm3/min of 0.5 mm in ash
    assert setup.power == pytest.approx(bite * 0.5 * 5000.0 * 45.0 / 60_000.0)
    assert setup.force == pytest.approx(setup.power / setup.rim_speed)


def test_the_deepest_bite_by_power() -> None:
    # 70 % of 2.2 kW x 14/24, over 58 mm at 14000 x 3 x 0.1 mm/min and 45 N/mm2: 4.9 mm, more than the rule's 0.6
    of = work(job={"cut": cut(depth=None)})
    assert speed_range(of) == (14000.0, 14000.0)
    assert spindle_power(of.machine, 14000.0) == pytest.approx(2200.0 * 14 / 24)
    assert spindle_power(of.machine, 30000.0) == 2200.0
    assert deepest_allowed(of, 58.0) == 0.6
    hard = of._replace(wood=of.wood.model_copy(update={"cutting_energy": q("1000N/mm2")}))
    by_power = 0.7 * 2200.0 * 14 / 24 * 60_000 / (58.0 * 4200.0 * 1000.0)
    assert deepest_allowed(hard, 58.0) == pytest.approx(by_power)
    fed = hard._replace(job=hard.job.model_copy(update={"cut": cut(depth=None, feed=q("6m/min"))}))
    assert deepest_allowed(fed, 58.0) == pytest.approx(by_power * 4200.0 / 6000.0)
    assert deepest_allowed(work(), 58.0) == 0.5


def test_the_thinnest_chip_is_that_of_a_row_that_takes_only_the_stepover() -> None:
    # 4200 mm/min at 14000 rpm and three wings is 0.1 mm; an eighth of the cutter: 2 sqrt(7)/8 of it
    assert typical_chip(work(), 8.0, 0.1, 58.0) == (pytest.approx(0.1 * sqrt(7.0) / 4.0), pytest.approx(0.1))
    # a sixty-fourth: 2 sqrt(63)/64
    assert typical_chip(work(), 1.0, 0.1, 58.0)[0] == pytest.approx(0.1 * sqrt(63.0) / 32.0)
    assert typical_chip(work(), 0.0, 0.1, 8.0) == (pytest.approx(0.1 * sqrt(7.0) / 4.0),) * 2
    assert typical_chip(work(), 40.0, 0.1, 8.0)[0] == pytest.approx(0.1 * sqrt(7.0) / 4.0)


def test_a_shank_fits_from_the_least_to_the_most_of_its_collet() -> None:
    # DIN 6499 / ISO 15488, second-hand: ER20 takes 1 to 13 mm
    for shank, fits in ((0.9, False), (1.0, True), (13.0, True), (13.1, False)):
        assert shank_fits(cutter(shank=mm(shank)), machine()) is fits


def test_only_the_last_pass_is_a_finish_and_only_if_the_job_asks() -> None:
    passes = planned(work()).setups[1].passes
    assert len(passes) > 2 and [one.finish for one in passes] == [False] * (len(passes) - 1) + [True]
    rough = planned(work(job={"cut": cut(finish=None)})).setups[1].passes
    assert len(rough) > 2 and not any(one.finish for one in rough)


def test_the_finding_of_absurdly_many_passes_or_rows_names_the_word_to_change() -> None:
    head, at = Span("jobs/example.flat", 0, 3), INSIDE

    def said(wrote: str = "", **changed: Any) -> tuple[str, Span | None]:
        block = cut(**changed).placed("", head, {wrote: at} if wrote else {})
        of = work(cutter=cutter(depth=q("0.0001mm")), job={"cut": block})
        made, (one,) = plan(of, *lay(of))
        assert made is None
        return one.message, one.span

    too_many_rows = "With a stepover of 0.001%, one face would take more than 2000 rows."
    assert said("stepover", stepover=q("0.001%")) == (too_many_rows, at)
    # a default stands nowhere, so the finding is at the head of the block
    assert said(stepover=q("0.001%")) == (too_many_rows, head)
    depth = {"depth": q("0.0001mm"), "finish": None}
    assert said("depth", **depth) == ("With a depth of 0.0001mm, one face would take more than 200 passes.", at)
    assert said(depth=None, finish=None) == ("With the depth allowed, one face would take more than 200 passes.", head)


# -- holding


def test_friction_alone_and_with_a_clamp() -> None:
    # 10 kg: 0.1 x 98.0665 N of grip
    bare = weakness((), L, W, 10.0, 50.0)
    assert bare is not None and bare.does == "slide"
    assert (bare.direction, bare.needs, bare.has) == ("to the right", 50.0, pytest.approx(9.80665))
    # two dogs on the left, a clamp of 100 N on the right: against a push to the right it has the clamp and the grip
    along = (dog("left", 125.0, L, W), dog("left", 375.0, L, W), clamp("right", 250.0, L, W, force=100.0))
    square = (dog("front", 225.0, L, W), dog("front", 675.0, L, W), clamp("back", 450.0, L, W, force=400.0))
    weak = weakness((*along, *square), L, W, 10.0, 250.0)
    grip = 0.1 * (98.0665 + 500.0)
    assert weak is not None and (weak.direction, weak.does) == ("to the right", "slide")
    assert (weak.needs, weak.has) == (250.0, pytest.approx(100.0 + grip))


def test_the_moment_of_a_turn_is_about_the_centre() -> None:
    # one dog in the middle of each edge and no clamp: a push of 1 kN at a corner turns the panel about them
    cross = tuple(
        dog(edge, W / 2 if edge in ("left", "right") else L / 2, L, W) for edge in ("left", "right", "front", "back")
    )
    weak = weakness(cross, L, W, 10.0, 1000.0)
    assert weak is not None and weak.does == "turn" and weak.direction == "to the right and back"
    # diagonally at the corner, 450 mm along and 250 mm across; friction has a quarter of the shorter side as its arm
    assert (weak.needs, weak.has) == (pytest.approx(700_000.0 * sqrt(0.5)), pytest.approx(9.80665 * W / 4.0))
    # dogs opposite each other beside the middle lock a turn both ways
    locked = tuple(dog(edge, at * W, L, W) for edge in ("left", "right") for at in (0.2, 0.8))
    locked += tuple(dog(edge, at * L, L, W) for edge in ("front", "back") for at in (0.2, 0.8))
    assert weakness(locked, L, W, 10.0, 100_000.0) is None


def test_directions_match_their_names() -> None:
    ways = {"right": (1, 0), "left": (-1, 0), "back": (0, 1), "front": (0, -1)}
    for name, x, y in DIRECTIONS:
        words = [ways[word] for word in name.split() if word in ways]
        assert (np.sign(x), np.sign(y)) == tuple(np.sum(words, axis=0)) and x * x + y * y == pytest.approx(1.0)
    assert len({(x, y) for _, x, y in DIRECTIONS}) == 8


# -- moves


def test_a_bend_of_less_than_five_degrees_needs_no_stop() -> None:
    def bent(angle: float, rapid: bool = False) -> float:
        on = 500.0 + 500.0 * cos(radians(angle)), 500.0 * sin(radians(angle)), 0.0
        moves = [(False, 500.0, 0.0, 0.0), (False, 500.0, 0.0, 0.0), (rapid, *on)]
        return duration((0.0, 0.0, 0.0), moves, 6000.0, 1500.0, 9000.0, 250.0)

    assert bent(4.9) == pytest.approx(straight(1000.0, 6000.0, 250.0))
    assert bent(5.1) == pytest.approx(2.0 * straight(500.0, 6000.0, 250.0))
    # it stops between feed and rapid, even on a straight line
    assert bent(0.0, True) == pytest.approx(straight(500.0, 6000.0, 250.0) + straight(500.0, 9000.0, 250.0))
    # exactly as long as accelerating and braking take: v²/a, in 2v/a
    assert straight(40.0, 6000.0, 250.0) == pytest.approx(0.8) and straight(0.0, 6000.0, 250.0) == 0.0
    assert cut_length((1.0, 2.0, 3.0), [(True, 1.0, 2.0, 9.0), (False, 4.0, 6.0, 9.0), (False, 4.0, 6.0, 21.0)]) == 17.0


def test_a_link_lifts_only_if_that_is_quicker() -> None:
    pace = Kinematics(60.0, 6000.0, 1500.0, 12000.0, 500.0, hop=4.0, plunges=True)
    # holders and wood stand up to 34 mm: 8 mm up, 4 mm down, 4 mm at 25 mm/s
    by_lift = 2.0 * (sqrt(8 / 500) + sqrt(4 / 500)) + 4 / 25 + 25 / 500
    assert Path(laid(), 30.0, 34.0, pace).lift_time == pytest.approx(by_lift)
    assert Path(laid(), 30.0, 31.0, pace._replace(holders=34.0)).lift_time == pytest.approx(by_lift)

    def linked(*corners: tuple[float, float]) -> list[tuple[bool, float, float, float]]:
        over = Path(laid(), 30.0, 34.0, pace)
        over.where = (100.0, 50.0)
        over.link(corners, corners[-1][0], 1.0)
        return over.legs

    # the first distance at which feeding takes longer than lifting
    far = 50.0
    while straight(far, 6000.0, 500.0) <= by_lift + straight(far, 12000.0, 500.0):
        far += 1.0
    assert linked((100.0 + far - 1.0, 50.0)) == [(False, 99.0 + far, 50.0, 30.0)]
    there = 100.0 + far
    assert linked((there, 50.0)) == [
        (True, 100.0, 50.0, 38.0), (True, there, 50.0, 38.0), (True, there, 50.0, 34.0), (False, there, 50.0, 30.0),
    ]  # fmt: skip
    # round two corners, each with a stop; a corner at the cutter's own place takes no time
    assert linked((100.0, 50.0), (100.0, 90.0), (120.0, 90.0)) == [
        (False, 100.0, 90.0, 30.0),
        (False, 120.0, 90.0, 30.0),
    ]


@pytest.mark.parametrize("climb", [True, False])
@pytest.mark.parametrize("corner", [(0.0, 0.0), (L, 0.0), (L, W), (0.0, W)])
def test_a_ring_begins_and_ends_beside_its_corner(corner: tuple[float, float], climb: bool) -> None:
    one_way: dict[str, Any] = {"one_way": "one_way", "way": "climb"} if climb else {}
    round_it = laid(rows=RowsLine(direction="along", edge="edge", **one_way))
    path = Path(round_it, 30.0, 57.0, Kinematics(60.0, 6000.0, 1500.0, 12000.0, 500.0, hop=3.0))
    ring(path, corner)
    places = [(x, y) for rapid, x, y, _ in path.legs if not rapid]
    inset = 32.0 / sqrt(2.0) - 0.5
    near = tuple(inset if at == 0.0 else at - inset for at in corner)
    # in along one edge and off along the other, each as far outside as rows begin: 38 mm
    for x, y in (places[0], places[-1]):
        out = [value for value, at, side in ((x, near[0], L), (y, near[1], W)) if value != pytest.approx(at)]
        assert out == [pytest.approx(-38.0)] or out[0] in (pytest.approx(L + 38.0), pytest.approx(W + 38.0))
    turns = [(inset, inset), (L - inset, inset), (L - inset, W - inset), (inset, W - inset)]
    rounded = sorted((round(x, 6), round(y, 6)) for x, y in [*places[1:-1], near])
    assert rounded == sorted((round(x, 6), round(y, 6)) for x, y in turns)
    assert path.legs[0][0] and path.legs[-1] == (True, *places[-1], 60.0)


@pytest.mark.parametrize(("direction", "end"), [("along", 938.0), ("across", 538.0)])
def test_the_way_between_patches_is_beside_the_panel_only_at_one_end_of_the_rows(direction: Any, end: float) -> None:
    these = laid(rows=RowsLine(direction=direction))

    def beside(u: float, to: float) -> bool:
        here, there = these.point(u, 100.0), these.point(to, 200.0)
        return beside_panel(these, (*here, 30.0), Leg(True, *there, 60.0))

    assert beside(-38.0, -38.0) and beside(end, end)
    assert not beside(-38.0, end) and not beside(200.0, 200.0) and not beside(-38.0, 200.0)


# -- touching off and uncertainty


def test_a_touch_on_a_slope_covers_the_wings_and_ten_millimetres_around_them() -> None:
    # the same slope everywhere, 0.01 mm per mm: so the place is in the middle, to half a cell of 10 mm
    found = touch(work(), "first", wedge(28.0, 37.0), Bound.even(wedge(0.05, 0.05)))
    assert found.on == "top" and abs(found.x - 450.0) <= 5.0 and abs(found.y - 250.0) <= 5.0
    assert found.height == pytest.approx(28.0 + 0.01 * (found.x + 32.0), abs=1e-3)
    assert found.lowest == pytest.approx(28.0 + 0.01 * (found.x - 42.0) - 0.05, abs=1e-3)


def test_a_zero_on_the_bed_is_touched_off_beside_the_corner() -> None:
    found = touch(work(job={"zero": zero(on="bed")}), "first", wedge(32.0, 32.0), Bound.even(wedge(0.05, 0.05)))
    # 32 mm of cutter and 10 mm of distance from the panel
    assert (found.x, found.y, found.height, found.lowest, found.bound) == (-42.0, -42.0, 0.0, 0.0, 0.0)


def test_a_gap_above_leaves_counts_in_the_plus_minus_only_where_one_face_is_cut() -> None:
    made = planned(work())
    gaps = tuple(Shim("front_left", 0.0, 0.0, (0.3,), 0.3, gap, False, NOWHERE) for gap in (0.02, 0.04))
    seating = made.seating._replace(shims=gaps)
    on_bed = planned(work(job={"zero": zero(on="bed")}))
    assert "survey at the touched place" not in {one.name for one in on_bed.parts}

    def values(of: Seating, one_face: bool) -> dict[str, float]:
        cut_ = work(job={"faces": faces(second=None)}) if one_face else made.work
        return {one.name: one.value for one in uncertainty_parts(cut_, of, made.setups[-1], None)}

    one = values(seating, True)
    assert one.pop("gap left above the leaves") == 0.04
    shut = seating._replace(shims=tuple(shim._replace(gap_left=0.0) for shim in gaps))
    assert one == values(shut, True) == values(seating, False) == values(made.seating, True)
    assert sum(one.values()) == pytest.approx(0.01 + 0.05 + 0.08 + 0.0032 + 0.02)


def test_the_last_digit_of_a_controller_in_inches() -> None:
    of = work(machine=machine(controller=Controller(units="in")))
    assert height_grid(of).digit == pytest.approx(0.00254)
