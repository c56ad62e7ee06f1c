"""Rows, stretches, ways and time of a pass."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from compiler.plan.plans import first, islands, needed
from compiler.shop import cutter, dog, machine, q
from compiler.works import cut, work
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise.core.surface import Surface
from flatwise.model.job import RowsLine
from flatwise.model.shop import Controller, Park
from flatwise.model.stages import Leg, Pass
from flatwise.plan.rows import rows
from flatwise.plan.timing import duration, straight

L, W = 900.0, 500.0


def lines(direction: Any = "along", **rest: Any) -> RowsLine:
    return RowsLine(direction=direction, **rest)


def feeds(one: Pass) -> list[tuple[Leg, Leg]]:
    return [(a, b) for a, b in pairwise(one.path) if not b.rapid]


def test_rows_are_as_few_as_keep_the_stepover_and_evenly_spread() -> None:
    laid = rows(work(), 6.0)
    # centres over 500 + 2 x 6 - 64 = 448 mm; 65 % of 64 mm is 41.6 mm: eleven steps of 40.73 mm
    assert len(laid.at) == 12
    assert laid.at[0] == pytest.approx(26.0) and laid.at[-1] == pytest.approx(474.0)
    assert np.diff(laid.at) == pytest.approx([448.0 / 11] * 11)
    assert (laid.start, laid.end) == (-38.0, 938.0)
    assert laid.bite == pytest.approx(58.0)


def test_rows_across_the_grain_and_on_a_panel_narrower_than_the_cutter() -> None:
    across = rows(work(job={"cut": cut(rows=lines("across"))}), 6.0)
    assert across.along == "y" and across.end == 538.0
    narrow = rows(work(300.0, 40.0), 6.0)
    assert narrow.at == (20.0,) and narrow.bite == 40.0


def test_a_whole_pass_steps_over_beside_the_panel() -> None:
    one = first(work()).passes[-1]
    for a, b in feeds(one):
        if abs(a.y - b.y) > 1e-9:
            assert a.x == b.x and (a.x == -38.0 or a.x == 938.0)


@pytest.mark.parametrize("height", [11.0, 31.0])
def test_rapids_change_z_alone_or_xy_alone_a_hop_above_wood_and_holders(height: float) -> None:
    of = work(holders=(dog("left", 200.0, L, W, height=height),))
    setup = first(of, islands((300.0, 420.0, 200.0, 260.0), (100.0, 160.0, 100.0, 160.0)), bound=0.1)
    hops = 0
    for one, above in zip(setup.passes, (setup.may_stand, *(one.plane for one in setup.passes)), strict=False):
        assert one.path[0].z == setup.lift and one.path[-1].z == setup.lift
        for a, b in pairwise(one.path):
            if b.rapid and (a.x, a.y) != (b.x, b.y):
                hops += 1
                # a holder counts with the clearance of 2 mm; the first pass also with what zero may be off
                assert a.z == b.z and 0.0 <= b.z - max(above, height + 2.0) - 3.0 < 0.5 < setup.lift - b.z
            elif b.rapid and b.z < a.z:
                assert b.z >= one.plane + 3.0 - 1e-9
    assert hops


def test_a_pass_cuts_only_where_wood_stands() -> None:
    setup = first(work(), islands((300.0, 420.0, 200.0, 260.0)))
    partial = [one for one in setup.passes if not one.whole]
    assert partial and setup.passes[-1].whole
    for one in partial:
        # only rows whose strip meets the bump or 2 mm beside it, only along the bump plus cutter, run-in and ramp
        assert all(200.0 - 34.0 <= v <= 260.0 + 34.0 for v in one.rows)
        assert min(leg.x for leg in one.path) >= 300.0 - 10.0 - 32.0 - 5.0 - 60.0 - 1e-9
        assert max(leg.x for leg in one.path) <= 420.0 + 10.0 + 32.0 + 5.0 + 60.0 + 1e-9
    whole = first(work(job={"cut": cut(skip_air="no")}), islands((300.0, 420.0, 200.0, 260.0)))
    assert all(one.whole for one in whole.passes)
    assert whole.time > setup.time


def test_two_bumps_far_apart_make_two_stretches_and_near_ones_make_one() -> None:
    def patches(gap: float) -> int:
        xs = np.array([0.0, 200, 200, 260, 260, 260 + gap, 260 + gap, 330 + gap, 330 + gap, L])
        z = np.full((2, 10), 32.0)
        z[:, 2:4] += 1.0
        z[:, 6:8] += 1.0
        laid = rows(work(), 6.0)
        parts = needed(laid, Surface(xs, np.array([0.0, W]), z), 2.0)
        return len(parts[0].fresh)

    assert patches(300.0) == 2
    assert patches(60.0) == 1


def on_the_right(a: Leg, b: Leg, v: float, other: float, along: str) -> bool:
    """Whether the row at `other` lies on the right of the way from a to b in the row at v."""
    way = np.sign(b.x - a.x) if along == "x" else np.sign(b.y - a.y)
    # right of +x is -y, right of +y is +x
    return bool((other < v) == (way > 0)) if along == "x" else bool((other > v) == (way > 0))


@pytest.mark.parametrize("direction", ["along", "across"])
@pytest.mark.parametrize("way", [None, "climb", "conventional"])
def test_climb_has_the_uncut_wood_on_the_right(direction: str, way: Any) -> None:
    # M3 turns clockwise seen from above, so a wing on the right of the way moves against the feed: climb
    of = work(job={"cut": cut(rows=lines(direction, one_way="one_way", way=way))})
    one = first(of).passes[-1]
    along = "x" if direction == "along" else "y"
    runs = [(a, b) for a, b in feeds(one) if a.z == b.z]
    assert len(runs) == len(one.rows)
    for (a, b), (c, _) in pairwise(runs):
        v, uncut = (a.y, c.y) if along == "x" else (a.x, c.x)
        assert on_the_right(a, b, v, uncut, along) == (way == "climb")


@pytest.mark.parametrize(
    ("direction", "climb"), [("along", True), ("along", False), ("across", True), ("across", False)]
)
def test_the_cutter_goes_round_the_edge_first(direction: str, climb: bool) -> None:
    rest = {"one_way": "one_way", "way": "climb"} if climb else {}
    of = work(job={"cut": cut(rows=lines(direction, edge="edge", **rest))})
    one = first(of).passes[-1]
    loop = [leg for leg in one.path[2:8] if not leg.rapid]
    inside = [(leg.x, leg.y) for leg in loop]
    # an overrun of 6 mm would leave the corners; 32/√2 − 0.5 mm inside the edges reaches them
    inset = 32.0 / 2.0**0.5 - 0.5
    for corner in ((inset, inset), (L - inset, inset), (inset, W - inset), (L - inset, W - inset)):
        # each corner is a turn, or lies on the way in and out along the edge
        assert any(
            min(abs(x - corner[0]), abs(y - corner[1])) < 1e-6 and (abs(x - corner[0]) < 65 or abs(y - corner[1]) < 65)
            for x, y in inside
        )
    # shoelace: positive is anticlockwise, the wood on the left, conventional
    area = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*inside, inside[0]]))
    assert (area < 0) == climb


def test_time_of_a_straight_move() -> None:
    # uniform acceleration: 100 mm/s is reached after 20 mm and 0.4 s at 250 mm/s²
    assert straight(1000.0, 6000.0, 250.0) == pytest.approx(960.0 / 100.0 + 0.8)
    assert straight(10.0, 6000.0, 250.0) == pytest.approx(2.0 * (10.0 / 250.0) ** 0.5)
    start = (0.0, 0.0, 0.0)
    apart = [(False, 500.0, 0.0, 0.0), (False, 1000.0, 0.0, 0.0)]
    corner = [(False, 500.0, 0.0, 0.0), (False, 500.0, 500.0, 0.0)]
    assert duration(start, apart, 6000.0, 1500.0, 9000.0, 250.0) == pytest.approx(straight(1000.0, 6000.0, 250.0))
    assert duration(start, corner, 6000.0, 1500.0, 9000.0, 250.0) == pytest.approx(2 * straight(500.0, 6000.0, 250.0))
    # straight down at the z feed, up at the feed
    down, up = (False, 0.0, 0.0, -30.0), (False, 0.0, 0.0, 30.0)
    assert duration(start, [down], 6000.0, 1500.0, 9000.0, 250.0) == pytest.approx(straight(30.0, 1500.0, 250.0))
    assert duration(start, [up], 6000.0, 1500.0, 9000.0, 250.0) == pytest.approx(straight(30.0, 6000.0, 250.0))


def test_the_time_of_a_setup_counts_its_passes_and_the_spin_up() -> None:
    setup = first(work())
    moves = sum(one.time for one in setup.passes)
    assert moves + 5.0 < setup.time < moves + 5.0 + 3.0
    # the spindle also stops before it parks
    parks = work(machine=machine(controller=Controller(park=Park(x=q("0mm"), y=q("0mm")))))
    assert first(parks).time == pytest.approx(first(work()).time + 5.0)
    assert machine().controller.spin_up == 5.0 and cutter().diameter == 64.0
    assert q("64mm") == 64.0


def test_a_row_is_left_out_only_if_the_one_before_has_cut_its_whole_band() -> None:
    same: dict[str, Any] = {"rough": "same", "depth": q("0.2mm"), "finish": None}

    def runs(stepover: str, line: float) -> tuple[float, ...]:
        """Rows of the topmost pass if the boards beyond a glue line stand 0.4 mm higher."""
        z = np.array([[32.0, 32.0], [32.0, 32.0], [32.4, 32.4], [32.4, 32.4]])
        top = Surface(np.array([0.0, L]), np.array([0.0, line, line, W]), z)
        return first(work(job={"cut": cut(**same, stepover=q(stepover))}), top).passes[0].rows

    # eleven steps of 40.73 mm: the band of row 6 ends at 250.0 mm; row 7 at 270.36 mm certainly cuts to 240.36 mm
    laid = rows(work(), 6.0)
    assert laid.at[6] - 30.0 == pytest.approx(240.364, abs=1e-3)
    assert runs("65%", 249.5) == pytest.approx(laid.at[6:])
    assert runs("65%", 241.5) == pytest.approx(laid.at[6:])
    assert runs("65%", 239.5) == pytest.approx(laid.at[5:])
    # close rows cover each other's bands, and still no strip is wider than the stepover
    close = rows(work(job={"cut": cut(stepover=q("30%"))}), 6.0)
    kept = runs("30%", 100.0)
    assert kept == pytest.approx(close.at[-len(kept) :]) and kept[0] < 130.0


def test_rows_go_outward_from_a_middle_one_if_that_is_shorter() -> None:
    # a ridge along the middle of the face, rising to the right: where it is higher, it is wider above a plane
    ys = np.linspace(0.0, W, 41)
    z = np.array([[31.0, 31.0 + 2.0 * max(0.0, 1.0 - abs(y - 250.0) / 125.0)] for y in ys])

    def orders(**job: Any) -> list[list[float]]:
        """The rows of every pass except the last, in their order, without those that go round the edge."""
        passes = first(work(job=job), Surface(np.array([0.0, L]), ys, z)).passes[:-1]
        return [
            list(dict.fromkeys(a.y for a, b in feeds(one) if a.y == b.y and 40.0 < a.y < W - 40.0)) for one in passes
        ]

    # after going round the edge the whole cutter is planned for, so a middle row may take as much
    round_it = orders(cut=cut(rows=lines(edge="edge"), rough="same"))
    assert any(min(order) < order[0] < max(order) for order in round_it if order)
    # otherwise it would take more than planned: so rows go from one side to the other
    straight_on = orders(cut=cut(rough="same"))
    assert all(order in (sorted(order), sorted(order)[::-1]) for order in straight_on)
    assert sum(len(order) > 2 for order in straight_on) > 1


def test_after_going_round_the_edge_rows_cut_only_what_is_left() -> None:
    setup = first(work(job={"cut": cut(rows=lines(edge="edge"), rough="same")}))
    inset, laid = 32.0 / 2.0**0.5 - 0.5, rows(work(), 6.0)
    for one in setup.passes[:-1]:
        # the ring has cut the first and last row; the others end 2 mm clear of what the ring left
        assert one.rows == pytest.approx(laid.at[1:-1])
        runs = [{a.x, b.x} for a, b in pairwise(one.path) if a.y == b.y in laid.at[1:-1] and not b.rapid]
        # the first comes in from beside the panel
        inside = [x for run in runs[2:] for x in run]
        assert min(inside) == pytest.approx(inset + 32.0 - 2.0 - 34.0, abs=0.01)
        assert max(inside) == pytest.approx(L - min(inside))
    assert setup.passes[-1].rows == pytest.approx(laid.at)


@pytest.mark.parametrize("climb", [True, False])
def test_one_way_passes_begin_where_the_last_ended_and_stay_climb_or_conventional(climb: bool) -> None:
    way = lines(one_way="one_way", way="climb" if climb else "conventional")
    of = work(job={"cut": cut(rows=way, rough="same")})
    ups = []
    for one in first(of).passes:
        runs = [(a, b) for a, b in feeds(one) if a.z == b.z]
        assert len(runs) == len(one.rows)
        for (a, b), (c, _) in pairwise(runs):
            assert on_the_right(a, b, a.y, c.y, "x") == climb
        ups.append(runs[0][0].y < runs[-1][0].y)
    assert ups == [k % 2 == 0 for k in range(len(ups))]


@pytest.mark.parametrize("climb", [True, False])
@pytest.mark.parametrize("direction", ["along", "across"])
def test_one_way_passes_before_the_last_go_round_with_the_wood_on_the_same_side(climb: bool, direction: str) -> None:
    way = lines(direction, one_way="one_way", way="climb" if climb else "conventional")
    *rough, last = first(work(job={"cut": cut(rows=way)})).passes
    assert rough and last.rows
    for one in rough:
        # the middle of the panel lies on the right of every side: wood on the right of the way is climb
        sides = [(a, b) for a, b in feeds(one) if a.z == b.z and (a.x, a.y) != (b.x, b.y)][: 4 * 3]
        turns = [(b.x - a.x) * (W / 2 - a.y) - (b.y - a.y) * (L / 2 - a.x) for a, b in sides]
        assert not one.rows and len(sides) == 12 and all((turn < 0) == climb for turn in turns)


def test_a_pass_that_forks_is_cut_branch_after_branch() -> None:
    # a bridge along the back with two piers to the front: the cutter does not go to and fro between the piers
    xs = np.array([0.0, 150, 150, 750, 750, L])
    ys = np.array([0.0, 380, 380, W])
    z = np.full((4, 6), 32.0)
    z[2:, :] = z[:, :2] = z[:, 4:] = 33.0
    one: Pass = first(work(job={"cut": cut(rough="same")}), Surface(xs, ys, z)).passes[0]
    across = [(a, b) for a, b in feeds(one) if a.y == b.y and a.y < 380 - 34 and min(a.x, b.x) < 300 < max(a.x, b.x)]
    assert not one.whole and across == []
    lifts = sum(a.z < b.z for a, b in pairwise(one.path))
    assert lifts == 2


EDGES = st.floats(-60.0, 60.0)


@given(
    EDGES, EDGES, EDGES, EDGES, st.sampled_from(["20%", "45%", "65%", "95%", "100%"]), st.sampled_from([40.0, 150.0])
)
@examples(100)
def test_a_border_stays_where_the_travel_ends(
    left: float, right: float, front: float, back: float, stepover: str, width: float
) -> None:
    of = work(200.0, width, job={"cut": cut(stepover=q(stepover))})
    laid = rows(of, 6.0, (left, 200.0 - right, front, width - back))
    if laid.start > laid.end:
        return
    # how far corners and edges lie beyond the rim of a cutter that goes wherever the travel lets it
    u, v = np.meshgrid(np.linspace(0.0, 200.0, 201), np.linspace(0.0, width, 201))
    off_u = np.maximum(np.maximum(laid.start - u, u - laid.end), 0.0)
    off_v = np.maximum(np.maximum(laid.at[0] - v, v - laid.at[-1]), 0.0)
    beyond = np.hypot(off_u, off_v).max() - 32.0
    assert laid.leaves_border == (beyond > 1e-6)


def test_no_border_stays_on_a_panel() -> None:
    assert not any(rows(work(300.0, wide), overrun).leaves_border for wide in (40.0, 500.0) for overrun in (0.0, 6.0))
