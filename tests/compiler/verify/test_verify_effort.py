"""How much a proof looks at: programs of slopes ask for no more than their own size."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace

import numpy as np
import pytest
import shapely
from compiler.shop import clamp_in
from compiler.verify.verify_programs import RADIUS, lines, proof, setup
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples
from shapely.geometry import LineString

from flatwise.core.surface import Array, Surface
from flatwise.verify import obstacles
from flatwise.verify.capsule import Capsule, direction, stays_near
from flatwise.verify.cells import TILE, Bools
from flatwise.verify.height_field import _KNOWN_CELLS, HeightField
from flatwise.verify.interpreter import Move
from flatwise.verify.prove import FINE, side
from flatwise.verify.rs274 import read_program

places = st.integers(-60, 160).map(float)
four = st.tuples(places, places, places, places)


@examples(60, 4000)
@given(four, st.lists(four, min_size=1, max_size=4), st.sampled_from((1e-3, 1.0, 20.0)))
def test_a_line_stays_near_another_as_long_as_shapely_says(
    line: tuple[float, ...], others: list[tuple[float, ...]], reach: float
) -> None:
    c = Capsule(*line, 10.0)
    first, last = stays_near(c, np.array(others), reach)
    _, ux, uy = direction(c)
    for (ax, ay, bx, by), begin, end in zip(others, first, last, strict=True):
        other = LineString([(ax, ay), (bx, by)])

        def away(t: float, other: LineString = other) -> float:
            return float(shapely.distance(other, shapely.Point(c.ax + t * ux, c.ay + t * uy)))

        if begin <= end:
            assert max(away(begin), away(end), away((begin + end) / 2)) <= reach + 1e-9
            assert min(away(begin - 1e-2), away(end + 1e-2)) > reach - 1e-9
        else:
            assert min(away(t) for t in np.linspace(-300.0, 300.0, 301)) > reach - 1e-9


def test_cuts_that_cross_need_no_second_look_and_a_line_is_looked_at_once() -> None:
    chance = random.Random(1)
    wood = HeightField(Surface.flat(300.0, 300.0, 30.0))
    for number in range(60):
        away = Capsule(*(float(chance.randint(0, 300)) for _ in range(4)), 10.0)
        wood.cut(away, 29.0 - number / 10, 29.0 - number / 10)
    assert len(wood._earlier.along(Capsule(3.0, 150.0, 297.0, 149.0, 10.0)).heights) == 0
    for number in range(60):
        wood.cut(Capsule(3.0, 150.0, 297.0, 149.0, 10.0), 20.0 - number / 10, 20.0 - number / 10)
    along = wood._earlier.along(Capsule(3.0, 150.0, 297.0, 149.0, 10.0))
    assert along.heights.tolist() == [] and along.whole == 20.0 - 59 / 10


def test_what_is_kept_of_cells_is_bounded() -> None:
    wood = HeightField(Surface.flat(2000.0, 1500.0, 30.0))
    for number in range(30):
        wood.cut(Capsule(0.0, 50.0 * number, 2000.0, 1500.0 - 50.0 * number, 900.0), 29.0, 29.0)
        kept = [box for strips in wood._known.values() for strip in strips for box in strip.boxes]
        masks = [box.touched_and_covered[0].size for box in kept if box.touched_and_covered]
        assert 0 < sum(masks) <= _KNOWN_CELLS


def test_short_ways_to_an_answer_change_no_answer() -> None:
    chance = random.Random(3)
    wood, other = (HeightField(Surface.flat(150.0, 90.0, 30.0)) for _ in range(2))
    ways = [Capsule(*(float(chance.randint(-10, 150)) for _ in range(4)), 5.0 + 15 * (i % 2)) for i in range(30)]
    level, short = 29.0, 0
    for _ in range(400):
        capsule = chance.choice(ways)
        above = chance.uniform(20.0, 30.0)
        if chance.random() < 0.5:
            wood.finish_level()
            other.finish_level()
            assert wood.ceiling == wood.upper.max()
            tiles = [(slice(j, j + TILE), slice(i, i + TILE)) for j in range(0, 90, TILE) for i in range(0, 150, TILE)]
            assert wood._roof.ravel().tolist() == [wood.upper[tile].max() for tile in tiles]
            highest = max((top.max() for _, top in other._tops(capsule, -np.inf, above)), default=-np.inf)
            assert wood.meets(capsule, above) == (highest > above)
            box = (*sorted(capsule[0:3:2]), *sorted(capsule[1:4:2]), capsule.radius)
            tops = [top.max() for _, top in (*other._front_and_back(*box), *other._middle(*box))]
            met, highest = wood.touch_in_box(*box, above), max(tops, default=-np.inf)
            assert wood.meets_in_box(*box, above) == (highest > above) == (met is not None)
            assert met is None or met.top == highest
        level, down = chance.choice((level, level, above)), chance.choice((0.0, 0.0, 1.0))
        soon = wood.cut(capsule, level - down, level, enough=level)
        last = other.cut(capsule, level - down, level)
        if soon is None or last is None or last.top <= level:
            assert soon == last
        else:
            assert level < soon.top <= last.top
            short += soon != last
        assert (wood.upper == other.upper).all() and (wood.forecast == other.forecast).all()
    assert short > 0


def moves(count: int, far: float, fall: float, rapid: bool = False) -> list[Move]:
    """Moves up and down from corner to corner of a square."""
    at = [(far * (i % 2), far * (i // 2 % 2), 29.0 - fall * (i % 3)) for i in range(count + 1)]
    line = read_program("G0 X0\nM2\n", 256)[0][0]
    turning = (1000.0, 14000.0, 1, 9.0, 0.0, frozenset[int](), False)
    return [Move(line, rapid, a, b, *turning) for a, b in itertools.pairwise(at)]


def test_only_a_program_of_many_long_slopes_is_proven_in_larger_cells() -> None:
    large = setup()._replace(top=Surface.flat(3000.0, 2000.0, 30.0))
    assert side(FINE, large, RADIUS, moves(100, 1500.0, 1.0)) == FINE
    assert side(FINE, large, RADIUS, moves(1500, 1500.0, 1.0)) > 2 * FINE
    # of rows, however many a face may have, hardly more
    rows = [replace(each, b=(each.b[0], each.a[1], each.a[2])) for each in moves(2000, 3000.0, 0.0)]
    assert side(FINE, large, RADIUS, rows * 10) < 2 * FINE
    assert side(FINE, large, RADIUS, moves(20_000, 300.0, 0.0, rapid=True)) < 2 * FINE


@pytest.mark.parametrize("along", ["x", "y"])
def test_cells_between_rows_are_compared_in_long_runs_with_the_rows_near_them(
    along: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    wood = HeightField(Surface.flat(300.0, 300.0, 30.0), cell=2.0)
    compared: list[int] = []
    together = HeightField._cut_together

    def counted(self: HeightField, level: list[Capsule], rows: slice, columns: slice) -> None:
        compared.append(len(level))
        together(self, level, rows, columns)

    monkeypatch.setattr(HeightField, "_cut_together", counted)
    for row in range(101):
        v = 3.0 * row + 0.7
        ends = (-5.0, v, 305.0, v) if along == "x" else (v, -5.0, v, 305.0)
        wood.cut(Capsule(*ends, 2.0), 29.0, 29.0)
    wood.finish_level()
    assert max(compared) <= 3 and len(compared) <= 101 and wood.ceiling == 29.0


def test_holders_far_from_a_move_are_not_measured(monkeypatch: pytest.MonkeyPatch) -> None:
    measured: list[float] = []

    def counted(lines: Array, rapid: Bools, thing: obstacles.Obstacle) -> Array:
        measured.append(thing.height)
        return distance(lines, rapid, thing)

    distance = obstacles.distance
    monkeypatch.setattr(obstacles, "distance", counted)
    # as high as the panel: the one close to the rows is measured, the other is not
    near, far = clamp_in((-110.0, 90.0, -90.0, 110.0), 28.0), clamp_in((-660.0, 90.0, -620.0, 110.0), 29.0)
    proof(lines(), setup(holders=(near, far)))
    assert set(measured) == {28.0}
