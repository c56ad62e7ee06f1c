"""What the height field says is cut, against shapely's areas and distances and against closed forms."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely
from compiler.verify.verify_programs import HIGH, LENGTH, RADIUS, WIDTH, lines, proof, setup
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples
from shapely.geometry import LineString, Point, Polygon, box

from flatwise.core.surface import Surface
from flatwise.core.units import NOWHERE
from flatwise.verify.capsule import Capsule
from flatwise.verify.cover import covered
from flatwise.verify.holders import Obstacle, distance
from flatwise.verify.wood import GRAZE, Wood

places = st.floats(-60.0, 160.0).map(lambda value: round(value, 6))  # shapely overflows on lengths of 1e-320
radii = st.floats(3.0, 40.0)
capsules = st.builds(Capsule, places, places, places, places, radii)


def swept(c: Capsule, more: float = 0.0) -> Polygon:
    """The area under a disc that moves along a segment; its outline is 0.03 % inside the true one."""
    line = Point(c.ax, c.ay) if (c.ax, c.ay) == (c.bx, c.by) else LineString([(c.ax, c.ay), (c.bx, c.by)])
    return line.buffer(c.radius + more, quad_segs=64)


@examples(60)
@given(capsules)
def test_cells_that_are_cut_lie_inside_the_swept_area_and_all_that_it_meets_are_met(c: Capsule) -> None:
    wood = Wood(Surface.flat(100.0, 70.0, 10.0), 0.0, cell=3.0)
    inside, met = np.zeros((wood.ny, wood.nx), bool), np.zeros((wood.ny, wood.nx), bool)
    for rows, columns, some, whole in wood._chunks(c):
        met[rows, columns] |= some
        inside[rows, columns] |= whole
    x, y = np.meshgrid(wood.xs, wood.ys)
    cells = shapely.box(x[:-1, :-1], y[:-1, :-1], x[1:, 1:], y[1:, 1:])
    # shapely's round ends are polygons, so compare with a disc a little larger and a little smaller
    slack = 1e-3 * c.radius + 0.01  # the field counts strips under 0.005 mm as nothing
    assert not (inside & ~shapely.contains_properly(swept(c, slack), cells)).any()
    assert not (shapely.contains_properly(swept(c, -slack), cells) & ~inside).any()
    assert not (met & ~shapely.intersects(swept(c, slack), cells)).any()
    assert not (shapely.intersects(swept(c, -slack - GRAZE), cells) & ~met).any()


@examples(40)
@given(st.lists(capsules, min_size=1, max_size=4))
def test_the_volume_of_any_sweeps_is_shapelys_area_times_the_depth(moves: list[Capsule]) -> None:
    wood = Wood(Surface.flat(100.0, 70.0, 10.0), 0.0, cell=0.5)
    for move in moves:
        wood.sweep(move, 9.0, 9.0)
    wood.settle()
    area = shapely.union_all([swept(move) for move in moves]).intersection(box(0, 0, 100, 70)).area
    assert wood.removed() == pytest.approx(area, rel=0.005, abs=8.0)


def test_what_a_slanting_sweep_may_have_taken_below_its_highest_is_not_counted_at_a_rim() -> None:
    wood = Wood(Surface.flat(100.0, 70.0, 10.0), 0.0, cell=1.0)
    # over the whole panel and down from 10 mm to 9 mm: nothing is sure to be gone
    wood.sweep(Capsule(-50.0, 35.0, 150.0, 35.0, 60.0), 9.0, 10.0)
    assert wood.removed() == pytest.approx(0.0, abs=1e-9)
    # then 30.5 mm of its width at 9.5 mm: half of the cells at the rim, 0.5 mm deep
    wood.sweep(Capsule(-50.0, 0.0, 150.0, 0.0, 30.5), 9.5, 9.5)
    wood.settle()
    assert wood.removed() == pytest.approx(100.0 * 30.5 * 0.5)


@examples(120)
@given(
    st.lists(st.builds(Capsule, places, places, places, places, st.floats(10.0, 60.0)), min_size=1, max_size=5),
    st.floats(0.0, 90.0), st.floats(0.0, 90.0), st.floats(0.2, 30.0), st.floats(0.2, 30.0),
)  # fmt: skip
def test_a_box_is_never_called_covered_when_shapely_finds_a_hole(
    moves: list[Capsule], x: float, y: float, wide: float, deep: float
) -> None:
    area = box(x, y, x + wide, y + deep)
    # 5e-3 mm is what counts as nothing; shapely's round ends lie up to 0.03 % inside
    generous = shapely.union_all([swept(move, 0.006 + 1e-3 * move.radius) for move in moves])
    if covered((x, x + wide, y, y + deep), moves):
        assert generous.buffer(1e-9).covers(area)
    if len(moves) == 1 and swept(moves[0]).covers(area):
        assert covered((x, x + wide, y, y + deep), moves)


@pytest.mark.parametrize(
    "moves",
    [
        [Capsule(-9, 7, -6, 1, 9.0), Capsule(5, 5, 16, -7, 7.0)],
        [Capsule(1, 5, 7, 17, 9.0), Capsule(15, -3, 2, -8, 8.0)],
        [Capsule(-4, 8, -3, 3, 9.0), Capsule(13, 18, 11, -6, 10.0)],
    ],
)
def test_a_round_end_counts_once_the_other_sweep_has_cut_the_box_smaller(moves: list[Capsule]) -> None:
    area = box(0, 0, 10, 4)
    assert shapely.union_all([swept(move, 0.01) for move in moves]).covers(area)
    assert covered((0.0, 10.0, 0.0, 4.0), moves) and covered((0.0, 10.0, 0.0, 4.0), moves[::-1])
    assert not any(swept(move, 0.01).covers(area) for move in moves)


@examples(60)
@given(st.tuples(places, places, places, places), st.tuples(places, places), st.floats(1.0, 50.0), st.floats(1.0, 50.0))
def test_distances_to_clamps_and_dogs_are_shapelys(
    move: tuple[float, float, float, float], corner: tuple[float, float], wide: float, deep: float
) -> None:
    (x, y), ends = corner, np.array([move])
    clamp = Obstacle("clamp", "c", "", False, x, y, x + wide, y + deep, 10.0, NOWHERE)
    dog = Obstacle("dog", "d", "", True, x, y, x + wide, y + wide, 10.0, NOWHERE)
    line = LineString([move[:2], move[2:]])
    hull = box(min(move[0], move[2]), min(move[1], move[3]), max(move[0], move[2]), max(move[1], move[3]))
    middle = Point(x + wide / 2, y + wide / 2)
    for way, shape in ((False, line), (True, hull)):
        boxed = np.array([way])
        assert distance(ends, boxed, clamp)[0] == pytest.approx(shape.distance(box(x, y, x + wide, y + deep)), abs=1e-9)
        assert distance(ends, boxed, dog)[0] == pytest.approx(max(shape.distance(middle) - wide / 2, 0.0), abs=1e-9)


def one_cut(move: tuple[float, float, float, float], depth: float, radius: float = RADIUS, cell: float = 1.0) -> float:
    wood = Wood(Surface.flat(LENGTH, WIDTH, HIGH), 0.0, cell=cell)
    for z in (HIGH - depth / 2, HIGH - depth):  # twice over the same place, as passes go
        wood.sweep(Capsule(*move, radius), z, z)
    wood.settle()
    return wood.removed()


@pytest.mark.parametrize("x", [150.0, 150.37])
def test_a_plunge_takes_a_cylinder(x: float) -> None:
    assert one_cut((x, 101.21, x, 101.21), 2.0) == pytest.approx(pi * RADIUS**2 * 2.0, rel=0.005)


@pytest.mark.parametrize(("y", "radius"), [(100.0, 32.0), (100.3, 31.75), (77.77, 12.7)])
def test_a_slot_takes_its_width_times_length_times_depth(y: float, radius: float) -> None:
    volume = one_cut((-50.0, y, LENGTH + 50.0, y), 1.5, radius)
    assert volume == pytest.approx(2 * radius * LENGTH * 1.5, rel=0.005)


def test_a_slanting_slot_with_round_ends() -> None:
    far = np.hypot(120.0, 60.0)
    volume = one_cut((80.0, 60.0, 200.0, 120.0), 1.0)
    assert volume == pytest.approx(2 * RADIUS * far + pi * RADIUS**2, rel=0.005)


def test_a_whole_face_takes_area_times_depth() -> None:
    shown, found = proof(lines())
    assert found == []
    assert shown.removed_volume == pytest.approx(LENGTH * WIDTH * 1.0, rel=1e-9)


def test_a_sloping_face_takes_its_wedge() -> None:
    top = Surface(np.array([0.0, LENGTH]), np.array([0.0, WIDTH]), np.array([[30.0, 29.6], [30.0, 29.6]]))
    shown, found = proof(lines(), setup(top))
    assert found == []
    assert shown.removed_volume == pytest.approx(LENGTH * WIDTH * 0.8, rel=1e-6)


def test_the_lean_leaves_the_ridge_of_the_closed_form() -> None:
    # s·tan θ: a derived closed form; 0.02 mm in 200 mm is tan θ = 0.0001
    shown, _ = proof(lines())
    step = (WIDTH + 12.0 - 64.0) / 4  # four spaces of at most 41.6 mm
    assert shown.flatness == pytest.approx(step * 1e-4, abs=2e-6)


def test_the_hollow_along_a_row_is_never_half_of_the_ridge_across_rows() -> None:
    # R·sin θ·[1 − √(1 − (s/2R)²)], derived: R 25, s 30, 0.1° gives 0.008727 mm, and the ridge s·tan θ 0.052360 mm
    lean, radius = np.radians(0.1), 25.0

    def hollow(step: float) -> float:
        return float(radius * np.sin(lean) * (1 - np.sqrt(1 - (step / (2 * radius)) ** 2)))

    assert (hollow(30.0), 30.0 * np.tan(lean)) == (pytest.approx(0.008727, abs=1e-6), pytest.approx(0.052360, abs=1e-6))
    assert all(hollow(step) < step * np.tan(lean) / 2 for step in np.linspace(0.1, 50.0, 500))


@pytest.mark.parametrize(("x", "y"), [(60.0, 30.0), (20.0, 50.0)])
def test_the_highest_wood_that_is_met_is_said_where_it_stands(x: float, y: float) -> None:
    xs, ys = np.arange(0.0, 101.0, 10.0), np.arange(0.0, 71.0, 10.0)
    z = np.full((len(ys), len(xs)), 10.0)
    z[int(y // 10), int(x // 10)] = 11.0
    wood = Wood(Surface(xs, ys, z), 0.2, cell=2.0)
    whole = Capsule(-50.0, 35.0, 150.0, 35.0, 60.0)
    for met in (wood.meet(whole, 5.0), wood.box(-50.0, 150.0, 20.0, 50.0, 60.0, 5.0), wood.sweep(whole, 9.0, 9.0)):
        assert met is not None and met.top == pytest.approx(11.2) and met.forecast == pytest.approx(11.0)
        assert abs(met.x - x) <= wood.dx and abs(met.y - y) <= wood.dy
    # what is cut is no longer met, and what the capsule does not come near is not either
    assert wood.meet(whole, 9.001) is None
    assert Wood(Surface(xs, ys, z), 0.0, cell=2.0).meet(Capsule(x - 25.0, -20.0, x - 25.0, 90.0, 10.0), 10.001) is None
