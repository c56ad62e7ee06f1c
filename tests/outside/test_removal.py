"""What the height field says is cut, against shapely's areas and distances and against closed forms."""

from __future__ import annotations

from math import pi

import numpy as np
import pytest
import shapely
from compiler.verify.verify_programs import HIGH, LENGTH, RADIUS, WIDTH, lines, proof, rows
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples
from shapely.geometry import LineString, Point, Polygon, box

from flatwise.core.surface import Surface
from flatwise.core.units import NOWHERE
from flatwise.verify.capsule import Capsule
from flatwise.verify.cells import GRAZE
from flatwise.verify.coverage import covered
from flatwise.verify.height_field import HeightField
from flatwise.verify.obstacles import Obstacle, distance

places = st.floats(-60.0, 160.0).map(lambda value: round(value, 6))  # shapely overflows on lengths of 1e-320
radii = st.floats(3.0, 40.0)
capsules = st.builds(Capsule, places, places, places, places, radii)


def swept(c: Capsule, more: float = 0.0) -> Polygon:
    """The area under a disc that moves along a segment; its outline is 0.03 % inside the true one."""
    return line_of(c).buffer(c.radius + more, quad_segs=64)


def line_of(c: Capsule) -> Point | LineString:
    return Point(c.ax, c.ay) if (c.ax, c.ay) == (c.bx, c.by) else LineString([(c.ax, c.ay), (c.bx, c.by)])


@examples(15, 1200)
@given(capsules)
def test_cells_that_are_cut_lie_inside_the_swept_area_and_all_that_it_meets_are_met(c: Capsule) -> None:
    wood = HeightField(Surface.flat(100.0, 70.0, 10.0), cell=3.0)
    inside, met = np.zeros((wood.ny, wood.nx), bool), np.zeros((wood.ny, wood.nx), bool)
    for area, masks in wood._boxes(c):
        some, whole = masks or (True, True)
        met[area] |= some
        inside[area] |= whole
    x, y = np.meshgrid(wood.xs, wood.ys)
    cells = shapely.box(x[:-1, :-1], y[:-1, :-1], x[1:, 1:], y[1:, 1:])
    # shapely's round ends are polygons, so compare with a disc a little larger and a little smaller
    slack = 1e-3 * c.radius + 0.01  # the field counts strips under 0.005 mm as nothing
    assert not (inside & ~shapely.contains_properly(swept(c, slack), cells)).any()
    assert not (shapely.contains_properly(swept(c, -slack), cells) & ~inside).any()
    assert not (met & ~shapely.intersects(swept(c, slack), cells)).any()
    assert not (shapely.intersects(swept(c, -slack - GRAZE), cells) & ~met).any()


@examples(12, 1000)
@given(st.lists(capsules, min_size=1, max_size=4))
def test_the_area_that_any_sweeps_cut_is_shapelys_less_the_cells_at_its_rim(moves: list[Capsule]) -> None:
    wood = HeightField(Surface.flat(100.0, 70.0, 10.0))
    for move in moves:
        wood.cut(move, 9.0, 9.0)
    wood.finish_level()
    panel = box(0, 0, 100, 70)
    # 0.03 % and 0.01 mm as above; the diagonal of a cell is 1.42 mm
    most = shapely.union_all([swept(move, 1e-3 * move.radius + 0.01) for move in moves]).intersection(panel).area
    least = shapely.union_all([swept(move, -1.42) for move in moves]).intersection(panel).area
    assert least <= cut_area(wood, 9.0) <= most


@pytest.mark.parametrize("above", [8.0, 9.0])
def test_a_touch_under_a_level_sees_what_its_rows_cut_together(above: float) -> None:
    """Two rows share a cell that neither covers alone; a touch at their own height leaves the level unfinished."""
    wood = HeightField(Surface.flat(100.0, 72.0, 10.0), cell=4.0)
    for y in (20.0, 40.0):
        wood.cut(Capsule(-20.0, y, 120.0, y, 10.1), 9.0, 9.0)
    met = wood.touch(Capsule(50.0, 30.0, 50.0, 30.0, 1.0), above)
    assert met is not None and met.top == (9.0 if above == 8.0 else 10.0)
    wood.finish_level()
    assert cut_area(wood, 9.0) == pytest.approx(100.0 * 36.0)


heights = st.floats(8.0, 10.0)


@examples(8, 600)
@given(st.lists(st.tuples(capsules, heights, heights), min_size=1, max_size=6), st.floats(1.0, 4.0))
def test_no_cell_is_lower_than_the_wood_that_numpy_leaves_in_it(
    moves: list[tuple[Capsule, float, float]], cell: float
) -> None:
    top = Surface(np.array([0.0, 100.0]), np.array([0.0, 70.0]), np.array([[9.0, 10.0], [9.5, 10.5]]))
    wood = HeightField(top, cell=cell)
    x, y = np.meshgrid(np.linspace(0.0, 100.0, 201), np.linspace(0.0, 70.0, 141))
    left = top.at(x, y)
    for (ax, ay, bx, by, radius), az, bz in moves:
        wood.cut(Capsule(ax, ay, bx, by, radius), min(az, bz), max(az, bz))
        for t in np.linspace(0.0, 1.0, 50):
            under = np.hypot(x - ax - t * (bx - ax), y - ay - t * (by - ay)) < radius - 0.01
            left = np.where(under, np.minimum(left, az + t * (bz - az)), left)
    wood.finish_level()
    i, j = np.minimum((x / wood.dx).astype(int), wood.nx - 1), np.minimum((y / wood.dy).astype(int), wood.ny - 1)
    gone = np.where(wood.forecast[j, i] < left - 1e-9)
    # what lies under the disc between two of the fifty places, numpy has missed: look again where it seems too low
    for px, py, claimed in zip(x[gone], y[gone], wood.forecast[j, i][gone], strict=True):
        point = Point(px, py)
        lowest = min(
            (max(az, bz) for c, az, bz in moves if line_of(c).distance(point) <= c.radius + 0.01), default=np.inf
        )
        assert claimed >= min(lowest, float(top.at(px, py))) - 1e-9


@examples(30, 2400)
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


@examples(15, 1200)
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


def cut_area(wood: HeightField, height: float) -> float:
    """Area of the cells that are cut to a height, mm²; every other cell must be as it was."""
    cut = wood.forecast == height
    assert (cut | np.isclose(wood.forecast, wood.ceiling, atol=1e-9)).all() and (wood.upper == wood.forecast).all()
    return float(cut.sum()) * wood.dx * wood.dy


def one_cut(move: tuple[float, float, float, float], radius: float = RADIUS) -> float:
    wood = HeightField(Surface.flat(LENGTH, WIDTH, HIGH))
    for z in (29.0, 28.0):  # twice over the same place, as passes go
        wood.cut(Capsule(*move, radius), z, z)
    wood.finish_level()
    return cut_area(wood, 28.0)


@pytest.mark.parametrize("x", [150.0, 150.37])
def test_a_plunge_takes_a_disc_less_the_cells_at_its_rim(x: float) -> None:
    assert pi * (RADIUS - 2**0.5) ** 2 <= one_cut((x, 101.21, x, 101.21)) <= pi * RADIUS**2


@pytest.mark.parametrize(("y", "radius"), [(100.0, 32.0), (100.3, 31.75), (77.77, 12.7)])
def test_a_slot_takes_its_width_times_its_length_less_a_cell_on_both_sides(y: float, radius: float) -> None:
    width = one_cut((-50.0, y, LENGTH + 50.0, y), radius) / LENGTH
    assert 2 * radius - 2 < width <= 2 * radius + 0.01


def test_a_slanting_slot_with_round_ends() -> None:
    far, inside = np.hypot(120.0, 60.0), RADIUS - 2**0.5
    area = one_cut((80.0, 60.0, 200.0, 120.0))
    assert 2 * inside * far + pi * inside**2 <= area <= 2 * RADIUS * far + pi * RADIUS**2


@pytest.mark.parametrize("front", [30.0, 29.6])
@pytest.mark.parametrize("angle", [0.0, 17.0, 90.0])
@pytest.mark.parametrize("cell", [1.0, 2.0])
def test_a_whole_face_is_left_at_the_plane_level_or_sloping(front: float, angle: float, cell: float) -> None:
    top = Surface(np.array([0.0, LENGTH]), np.array([0.0, WIDTH]), np.array([[front, front], [30.0, 30.0]]))
    wood = HeightField(top, top.level(0.1), cell=cell)
    for z in (29.5, 29.0):
        for row in rows(angle=angle):
            wood.cut(Capsule(*row, RADIUS), z, z)
    wood.finish_level()
    assert (wood.forecast == 29.0).all() and (wood.upper == 29.0).all() and wood.ceiling == 29.0


def test_the_lean_leaves_the_ridge_of_the_closed_form() -> None:
    # s·tan θ: a derived closed form; 0.02 mm in 200 mm is tan θ = 0.0001
    shown, _ = proof(lines())
    step = (WIDTH + 12.0 - 64.0) / 4  # four spaces of at most 41.6 mm
    assert shown.flatness == pytest.approx(step * 1e-4, abs=2e-6)


@pytest.mark.parametrize(("x", "y"), [(60.0, 30.0), (20.0, 50.0)])
def test_the_highest_wood_that_is_met_is_said_where_it_stands(x: float, y: float) -> None:
    xs, ys = np.arange(0.0, 101.0, 10.0), np.arange(0.0, 71.0, 10.0)
    z = np.full((len(ys), len(xs)), 10.0)
    z[int(y // 10), int(x // 10)] = 11.0
    wood = HeightField(Surface(xs, ys, z), Surface(xs, ys, np.full_like(z, 0.2)), cell=2.0)
    whole = Capsule(-50.0, 35.0, 150.0, 35.0, 60.0)
    for met in (
        wood.touch(whole, 5.0),
        wood.touch_in_box(-50.0, 150.0, 20.0, 50.0, 60.0, 5.0),
        wood.cut(whole, 9.0, 9.0),
    ):
        assert met is not None and met.top == pytest.approx(11.2) and met.forecast == pytest.approx(11.0)
        assert abs(met.x - x) <= wood.dx and abs(met.y - y) <= wood.dy
    # what is cut is no longer met, and what the capsule does not come near is not either
    assert wood.touch(whole, 9.001) is None
    assert (
        HeightField(Surface(xs, ys, z), cell=2.0).touch(Capsule(x - 25.0, -20.0, x - 25.0, 90.0, 10.0), 10.001) is None
    )
