"""The route of a pass: as quick as the best of all orders tried one by one, and it takes all the wood."""

from __future__ import annotations

from itertools import pairwise, permutations, product
from math import dist
from typing import Any

import numpy as np
import pytest
from compiler.plan.plans import first, islands, needed
from compiler.shop import cutter, mm, q
from compiler.works import cut, work
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise.core.surface import Surface
from flatwise.model.job import RowsLine
from flatwise.model.stages import Leg, Pass
from flatwise.plan.path import Kinematics, Path
from flatwise.plan.rounds import box_of, rounds
from flatwise.plan.routing import WayFinder
from flatwise.plan.row_orders import through_patches, ways_through
from flatwise.plan.rows import row_choices, rows
from flatwise.plan.standing_wood import StandingWood
from flatwise.plan.stretches import needed_stretches, patches, whole_rows
from flatwise.plan.timing import duration

L, W = 900.0, 500.0
KINEMATICS = Kinematics(80.0, 8000.0, 2000.0, 12000.0, 500.0, hop=3.0)
#: a lump of wood: its lower left corner and its size, in cells of 25 mm
LUMPS = st.tuples(st.integers(0, 11), st.integers(0, 7), st.integers(1, 6), st.integers(1, 4))


def lumpy(lumps: list[tuple[int, int, int, int]]) -> tuple[Any, Surface]:
    """Lumps of 1 mm on a top of 300 × 200 mm at 32 mm: as cells (8, 12), and as a surface with steps."""
    field = np.zeros((8, 12))
    for x, y, wide, deep in lumps:
        field[y : y + deep, x : x + wide] = 1.0
    xs, ys = np.repeat(np.arange(0.0, 301.0, 25.0), 2)[1:-1], np.repeat(np.arange(0.0, 201.0, 25.0), 2)[1:-1]
    return field, Surface(xs, ys, 32.0 + np.repeat(np.repeat(field, 2, axis=0), 2, axis=1))


def timed(moves: list[Leg], where: Any) -> float:
    start = where if where is not None else moves[0][1:]
    return KINEMATICS.seconds(start, moves)


@given(
    st.lists(LUMPS, min_size=1, max_size=4),
    st.sampled_from((None, (-25.0, 0.0, 36.0), (325.0, 200.0, 36.0), (150.0, 90.0, 36.0))),
    st.sampled_from((None, "climb", "conventional")),
)
@examples(15, 1200)
def test_a_few_patches_are_cut_in_the_quickest_of_all_orders_and_take_all_the_wood(
    lumps: list[tuple[int, int, int, int]], where: Any, way: Any
) -> None:
    field, top = lumpy(lumps)
    how = RowsLine(direction="along", one_way="one_way" if way else None, way=way)
    laid = rows(work(300.0, 200.0, cutter=cutter(diameter=mm(40.0)), job={"cut": cut(rows=how)}), 5.0)
    parts = needed(laid, top, KINEMATICS.run_in)
    path, groups = Path(laid, 32.5, 33.0, KINEMATICS), patches(laid, parts)
    taken = through_patches(path, groups, where)
    if len(groups) <= 3:
        through = [list(ways_through(path, group)) for group in groups]
        best = min(
            timed([move for moves in turns for move in moves], where)
            for order in permutations(through)
            for turns in product(*order)
        )
        assert timed(taken, where) <= best + 1e-9
    wood = np.repeat(np.repeat(field > 0, 25, axis=0), 25, axis=1)
    x, y = np.meshgrid(np.arange(0.5, 300.0), np.arange(0.5, 200.0))
    runs: dict[float, list[tuple[float, float]]] = {}
    for (_, ax, ay, az), (rapid, bx, by, bz) in pairwise(taken):
        if rapid:
            continue
        aside = np.hypot(
            np.maximum(np.maximum(min(ax, bx) - x, x - max(ax, bx)), 0.0),
            np.maximum(np.maximum(min(ay, by) - y, y - max(ay, by)), 0.0),
        )
        met = wood & (aside < 20.0)
        if az > bz:
            # straight down beside the panel, else 1 mm on 20 mm of the row, clear of all wood
            assert not met.any() and (laid.beside(ax, ay) if ax == bx else az - bz <= abs(bx - ax) / 20.0 + 1e-9)
        if ax == bx:
            # down clear of all wood, and from row to row past it: at most it grazes the edge of another patch
            assert met.sum(axis=1).max() <= (0.0 if ay == by else 10.0)
        else:
            assert ay == by
            if az == bz:
                runs.setdefault(ay, []).append((min(ax, bx), max(ax, bx)))
        wood &= aside >= 19.0
    assert not wood.any()
    if way:
        # not back along a row, which would drag over finished wood
        assert all(a[1] <= b[0] for row in runs.values() for a, b in pairwise(sorted(row)))


@given(
    st.lists(LUMPS, min_size=1, max_size=5),
    st.sampled_from((None, (-25.0, 0.0, 80.0), (325.0, 200.0, 80.0), (150.0, 90.0, 80.0))),
    st.sampled_from((None, "climb", "conventional")),
    st.booleans(),
    st.sampled_from((500.0, 2000.0, 8000.0, 30000.0)),
    st.sampled_from((50.0, 500.0, 5000.0)),
)
@examples(40, 2000)
def test_no_way_takes_less_than_the_least_time_by_which_it_is_left_out(
    lumps: list[tuple[int, int, int, int]], where: Any, way: Any, ringed: bool, feed: float, acceleration: float
) -> None:
    _, top = lumpy(lumps)
    how = RowsLine(direction="along", one_way="one_way" if way else None, way=way, edge="edge" if ringed else None)
    laid = row_choices(work(300.0, 200.0, cutter=cutter(diameter=mm(40.0)), job={"cut": cut(rows=how)}), 5.0)
    moving = KINEMATICS._replace(feed=feed, acceleration=acceleration)
    for plane in (32.5, 31.5):
        finder = WayFinder(laid, top, moving)
        path = Path(laid.rough[0], plane, 33.0, moving)
        seen = 0
        for least, ways in finder.choices(path, finder.wood.over(plane), where):
            for each in ways():
                seen += 1
                assert least <= moving.seconds(where if where is not None else each.legs[0][1:], each.legs) + 1e-6
        assert seen


def lifts(one: Pass) -> int:
    return sum(a.z < b.z for a, b in pairwise(one.path))


def test_between_patches_the_cutter_stays_down_beside_the_panel_if_that_is_quicker() -> None:
    plunging = work(cutter=cutter(plunge="yes"), job={"cut": cut(rough="same")})
    # both at the left end: some 120 mm beside the panel at 8 m/min take less time than a hop
    assert lifts(first(plunging, islands((0, 100, 120, 160), (0, 100, 260, 300))).passes[0]) == 1
    # inside the face it could meet wood, and from end to end it is far
    assert lifts(first(plunging, islands((300, 400, 120, 160), (300, 400, 260, 300))).passes[0]) == 2
    assert lifts(first(plunging, islands((0, 100, 120, 160), (800, 900, 260, 300))).passes[0]) == 2


def test_the_edge_is_left_alone_where_nothing_stands_at_it() -> None:
    ringed = work(job={"cut": cut(rows=RowsLine(direction="along", edge="edge"), rough="same")})
    inner = first(ringed, islands((300, 420, 200, 260))).passes[0]
    assert not inner.whole and min(leg.x for leg in inner.path) > 200.0 and min(leg.y for leg in inner.path) > 150.0
    outer = first(ringed, islands((300, 420, 0, 60))).passes[0]
    assert not outer.whole and max(leg.y for leg in outer.path) > W - 64.0


def test_without_skipping_air_every_pass_takes_every_row() -> None:
    top = islands((300, 420, 200, 260))
    assert all(one.whole for one in first(work(job={"cut": cut(skip_air="no")}), top).passes)
    assert not first(work(), top).passes[0].whole


@pytest.mark.parametrize("climb", [True, False])
def test_two_rows_one_way_stay_climb_or_conventional_in_every_pass(climb: bool) -> None:
    # 90 + 12 − 64 mm: the centres are 38 mm apart
    way = RowsLine(direction="along", one_way="one_way", way="climb" if climb else "conventional")
    setup = first(work(L, 90.0, job={"cut": cut(rows=way)}))
    assert len(setup.passes) > 1
    for one in setup.passes:
        runs = [(a, b) for a, b in pairwise(one.path) if not b.rapid and a.y == b.y and abs(b.x - a.x) > 500.0]
        (a, b), (c, _) = runs
        # wood on the right of the way is climb: going along +x, the right is at lower y
        assert ((c.y < a.y) == (b.x > a.x)) == climb


def test_the_time_and_length_of_a_pass_count_from_where_the_last_ended() -> None:
    setup = first(work(job={"cut": cut(feed=q("6m/min"))}), islands((300, 420, 200, 260)))
    where = (setup.passes[0].path[0].x, setup.passes[0].path[0].y, setup.lift)
    for one in setup.passes:
        moves = [(leg.rapid, leg.x, leg.y, leg.z) for leg in one.path]
        assert one.time == pytest.approx(duration(where, moves, 6000.0, 2000.0, 12000.0, 500.0))
        fed = [(a, b) for a, b in pairwise(one.path) if not b.rapid]
        assert one.cut_length == pytest.approx(sum(dist(a[1:], b[1:]) for a, b in fed))
        where = (one.path[-1].x, one.path[-1].y, one.path[-1].z)


@pytest.mark.parametrize("ringed", [False, True])
@pytest.mark.parametrize("rough", [False, True])
@given(
    st.lists(LUMPS, min_size=1, max_size=5),
    st.sampled_from((1.0, 5.0, 8.0, 11.0, 16.0)),
    st.sampled_from(("50%", "65%", "80%", "90%")),
    st.integers(0, 24),
)
@examples(10, 800)
def test_no_way_bites_wider_than_planned_or_leaves_wood(
    rough: bool, ringed: bool, lumps: list[tuple[int, int, int, int]], overrun: float, stepover: str, shift: int
) -> None:
    """For every way tried, since power, feed and holding count on it; places 2 × 0.5 mm apart are counted."""
    field = np.zeros((9, 12))
    for x, y, wide, deep in lumps:
        field[y : y + deep, x : x + wide] = 1.0
    xs = np.repeat(np.arange(0.0, 301.0, 25.0), 2)[1:-1]
    lines = np.array([0.0, *(np.arange(shift, 201.0, 25.0)[shift == 0 :]), 200.0])
    ys = np.repeat(np.unique(lines), 2)[1:-1]
    field = field[: len(ys) // 2]
    top = Surface(xs, ys, 32.0 + np.repeat(np.repeat(field, 2, axis=0), 2, axis=1))
    how = RowsLine(direction="along", edge="edge" if ringed else None)
    of = work(300.0, 200.0, cutter=cutter(diameter=mm(40.0)), job={"cut": cut(rows=how, stepover=q(stepover))})
    laid = rows(of, overrun, rough=rough)
    standing = StandingWood(laid, top)
    over = standing.over(32.5)
    x, y = np.arange(1.0, 300.0, 2.0)[None, :], np.arange(0.25, 200.0, 0.5)[:, None]
    wood = top.grid(x[0], y[:, 0]) > 32.5
    path = Path(laid, 32.5, 33.0, KINEMATICS)
    if rough:
        for _, _, ways_round in rounds(path, box_of(standing, over)):
            for moves in ways_round():
                assert not left_by(moves, path, x, y, wood).any()
    if ringed:
        over &= standing.inner
        inside = (np.abs(x - 150.0) < 150.0 - laid.border) & (np.abs(y - 100.0) < 100.0 - laid.border)
        wood = wood & inside
    parts = needed_stretches(standing, over, KINEMATICS.run_in)
    found = [
        [left_by(moves, path, x, y, wood) for moves in ways_through(path, patch)] for patch in patches(laid, parts)
    ]
    for turn in range(max(map(len, found), default=0)):
        # a way through a patch may take wood of others too
        assert not np.logical_and.reduce([ways[turn % len(ways)] for ways in found]).any()
    for moves in ways_through(path, whole_rows(laid)):
        assert not left_by(moves, path, x, y, wood).any()


def left_by(moves: list[Leg], path: Path, x: Any, y: Any, wood: Any) -> Any:
    """What moves leave of the wood at places x, y, once no bite was found wider than planned."""
    left, here = wood, (moves[0].x, moves[0].y)
    for rapid, to, v, z in moves:
        if not rapid:
            low, high = sorted((here[0], to))
            beyond = np.maximum(np.maximum(low - x, x - high), 0.0)
            aside = np.maximum(np.maximum(min(v, here[1]) - y, y - max(v, here[1])), 0.0)
            under = left & (beyond**2 + aside**2 < 20.0**2)
            # it comes down clear of wood, and straight on bites as wide as what stands across its way
            assert z == path.plane or not under.any()
            width = under.sum(axis=0).max() / 2.0 if v == here[1] else under.sum(axis=1).max() * 2.0
            assert width <= path.rows.bite + (1.0 if v == here[1] else 4.0)
            left = left & ~(beyond**2 + aside**2 < 19.5**2)
        here = (to, v)
    return left
