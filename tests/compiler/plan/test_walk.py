"""The points of a measuring walk by hand, and their order against an exact search (Held and Karp 1962, from memory)."""

from __future__ import annotations

from itertools import combinations, pairwise
from typing import Any

import numpy as np
import pytest
from compiler.plan.plans import panel_of
from compiler.shop import clamp, dog, holders
from compiler.walks import L, T, W, bare_panel, gauge, walk_of, walking
from compiler.works import stock, zero

from flatwise.core.surface import Array, Surface
from flatwise.model.job import Survey
from flatwise.plan.timing import straight
from flatwise.plan.walk import plan_walk, shortest_order


def seconds(lengths: Array) -> Array:
    return np.array([straight(float(length), 12000.0, 500.0) for length in np.atleast_1d(lengths)])


def least_time(places: Array, first: int) -> float:
    """The least time of all orders that begin with `first` (Held and Karp's dynamic program)."""
    n = len(places)
    way = [[float(seconds(np.hypot(*(a - b)))[0]) for b in places] for a in places]
    others = [k for k in range(n) if k != first]
    best = {(frozenset((k,)), k): way[first][k] for k in others}
    for size in range(2, n):
        for visited in map(frozenset, combinations(others, size)):
            for last in visited:
                before = visited - {last}
                best[visited, last] = min(best[before, k] + way[k][last] for k in before)
    return min(best[frozenset(others), k] for k in others)


def airtime(places: Array, order: list[int]) -> float:
    return float(seconds(np.hypot(*np.diff(places[order], axis=0).T)).sum())


@pytest.mark.parametrize(("nx", "ny"), [(2, 2), (3, 3), (4, 2), (2, 4)])
def test_a_whole_grid_is_walked_in_the_least_time(nx: int, ny: int) -> None:
    stops = walk_of(walking(nx, ny)).stops
    places = np.array([(stop.x, stop.y) for stop in stops])
    assert airtime(places, list(range(len(stops)))) == pytest.approx(least_time(places, 0))
    assert (stops[0].x, stops[0].y) == (15.0, 15.0)


@pytest.mark.parametrize("seed", range(4))
def test_scattered_points_take_little_more_than_the_least_time(seed: int) -> None:
    places = np.random.default_rng(seed).uniform((0, 0), (L, W), (8, 2))
    order = shortest_order(places, (0.0, 0.0), seconds)
    assert sorted(order) == list(range(8))
    assert order[0] == int(np.hypot(*places.T).argmin())
    # 2-opt has no promise; a tenth is what these need
    assert airtime(places, order) <= 1.1 * least_time(places, order[0])


def test_a_long_walk_keeps_to_and_fro() -> None:
    """50 × 50 points: every way but those from row to row is one step along the shorter spacing."""
    stops = walk_of(walking(50, 50)).stops
    assert len({(stop.x, stop.y) for stop in stops}) == 2500
    assert [stop.number for stop in stops] == list(range(1, 2501))
    ways = [abs(a.x - b.x) + abs(a.y - b.y) for a, b in pairwise(stops)]
    assert sum(ways) == pytest.approx(50 * (W - 30.0) + L - 30.0)


def test_points_are_spread_evenly_and_the_outermost_lie_15_mm_in() -> None:
    stops = walk_of(walking()).stops
    assert {stop.x for stop in stops} == {15.0, 232.5, 450.0, 667.5, 885.0}
    assert {stop.y for stop in stops} == {15.0, 250.0, 485.0}


def test_without_readings_the_panel_is_nominal_within_a_millimetre() -> None:
    for under in (False, True):
        made = walk_of(walking(), under=under)
        assert {(stop.expected, stop.bound) for stop in made.stops} == {(T, 1.0)}
        # 32 + 1 + the bed's 0.08; the tip at rest hangs 5 mm below program Z; hop 3; lift 50
        assert made.may_stand == pytest.approx(33.08)
        assert (made.over, made.lift) == (pytest.approx(33.08 + 10 + 3), pytest.approx(33.08 + 50 + 5))
        assert made.feed == 2000.0


def test_no_walk_without_the_word() -> None:
    assert plan_walk(walking(job={"survey": Survey()}), bare_panel(), under=False) is None
    assert plan_walk(walking(job={"survey": None}), bare_panel(), under=False) is None


@pytest.mark.parametrize(("corner", "first"), [("front_left", (15.0, 15.0)), ("back_right", (885.0, 485.0))])
def test_the_walk_starts_at_the_corner_of_zero(corner: Any, first: tuple[float, float]) -> None:
    made = walk_of(walking(job={"zero": zero("950mm", "700mm", corner=corner)}))
    assert (made.stops[0].x, made.stops[0].y) == first


def test_a_holder_leaves_out_the_points_that_it_covers() -> None:
    """A dog 40 mm high at the left edge's middle: 29 mm of gauge and 2 mm of clearance reach the point 15 mm in."""
    tall = walk_of(walking(holders=(dog("left", 250.0, L, W, height=40.0),)))
    assert tall.left_out == ((15.0, 250.0),) and len(tall.stops) == 14
    assert (15.0, 250.0) not in {(stop.x, stop.y) for stop in tall.stops}
    # the tip stands at 32 mm: a holder may reach up to the clearance below it
    for height, covered in ((30.0, 0), (30.1, 1)):
        assert len(walk_of(walking(holders=(dog("left", 250.0, L, W, height=height),))).left_out) == covered
    assert walk_of(walking(holders=(*holders(L, W), clamp("right", 250.0, L, W)))).left_out == ()


def test_a_holder_under_the_nose_covers_a_point_that_the_slim_gauge_would_clear() -> None:
    """The nose, 63 mm wide, hangs 55 mm above the tip pressed by 5 mm: at 87 mm."""
    for height, covered in ((86.9, 0), (87.0, 1)):
        post = dog("left", 250.0, L, W, height=height)
        assert len(walk_of(walking(of=gauge(across="10mm"), holders=(post,))).left_out) == covered


def test_turned_over_a_cupped_panel_is_expected_as_it_then_lies() -> None:
    """Cupped across by 0.8 mm, 32 mm thick: hollow side up its edges stand high; turned, its middle does.

    Heights by hand: the old top rests on its two long edges, so the top at y is 32 mm and what the old top lies off
    the bed there, 0.8·(1 − (2y/W − 1)²).
    """
    ys = np.linspace(0.0, W, 21)
    sag = 0.8 * (2.0 * ys / W - 1.0) ** 2
    xs = np.array([0.0, L])
    lower = Surface(xs, ys, np.repeat(sag[:, None], 2, axis=1))
    panel = panel_of(lower, lower.plus(0.0, 0.0, T), (0.1, 0.2, 0.05))
    made = walk_of(walking(3, 3), panel, under=True)
    assert {stop.y: stop.expected for stop in made.stops} == {
        15.0: pytest.approx(T + 0.8 * (1 - (30 / W - 1) ** 2), abs=0.005),
        250.0: pytest.approx(T + 0.8, abs=1e-3),
        485.0: pytest.approx(T + 0.8 * (1 - (30 / W - 1) ** 2), abs=0.005),
    }
    # the thickness, and the gaps under the old top; it does not rock
    assert {round(stop.bound, 6) for stop in made.stops} == {0.25}


def test_turned_over_x_and_y_belong_to_the_panel_as_it_then_lies() -> None:
    """A wedge, 1 mm thicker at the back; turned about X the thick end comes to the front."""
    ys = np.array([0.0, W])
    top = Surface(np.array([0.0, L]), ys, np.array([[T, T], [T + 1.0, T + 1.0]]))
    panel = panel_of(Surface.flat(L, W, 0.0), top, (0.05, 0.05, 0.05))
    made = walk_of(walking(2, 2), panel, under=True)
    assert {stop.y: stop.expected for stop in made.stops} == {
        15.0: pytest.approx(T + 1.0 - 15.0 / W, abs=1e-3),
        485.0: pytest.approx(T + 15.0 / W, abs=1e-3),
    }


def test_a_twisted_panel_may_lie_either_way_when_it_is_turned() -> None:
    """Twisted by 1 mm it balances on a diagonal and rocks by about that much at a corner: the bound holds it."""
    xs, ys = np.array([0.0, L]), np.array([0.0, W])
    twisted = Surface(xs, ys, np.array([[0.0, 1.0], [1.0, 0.0]]))
    panel = panel_of(twisted, twisted.plus(0.0, 0.0, T), (0.05, 0.05, 0.05))
    assert walk_of(walking(), panel, under=True).stops[0].bound > 0.9


def test_a_point_on_a_step_holds_both_sides() -> None:
    """A step of 0.3 mm at the middle of the width, on which a row of points lies."""
    ys = np.array([0.0, 250.0, 250.0, W])
    top = Surface(np.array([0.0, L]), ys, np.array([[T, T], [T, T], [T + 0.3, T + 0.3], [T + 0.3, T + 0.3]]))
    made = walk_of(walking(), panel_of(Surface.flat(L, W, 0.0), top, (0.05, 0.05, 0.05)))
    on = {(stop.expected, round(stop.bound, 6)) for stop in made.stops if stop.y == 250.0}
    assert on == {(T + 0.3, 0.35)}


def test_a_small_panel_has_its_points_a_quarter_in() -> None:
    small = walking(2, 2, length=40.0, width=300.0, job={"stock": stock(40.0, 300.0, T)}, holders=())
    assert {stop.x for stop in walk_of(small).stops} == {10.0, 30.0}
