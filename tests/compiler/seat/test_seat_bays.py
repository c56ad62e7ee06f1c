"""Bays between scattered supports against their definition: an empty rectangle that lies in no other one."""

from __future__ import annotations

import random
import time
from itertools import combinations, product

import pytest

from flatwise.seat.bending import bays


@pytest.mark.parametrize("seed", range(12))
def test_bays_are_the_empty_rectangles_that_lie_in_no_other(seed: int) -> None:
    draw = random.Random(seed)
    length, width = draw.choice(((1120.0, 610.0), (300.0, 60.0), (40.0, 20.0)))
    spots = [(draw.uniform(0.0, length), draw.choice((0.0, width, draw.uniform(0.0, width)))) for _ in range(seed % 7)]
    xs, ys = sorted({0.0, length, *(x for x, _ in spots)}), sorted({0.0, width, *(y for _, y in spots)})
    empty = [
        (*x, *y)
        for x, y in product(combinations(xs, 2), combinations(ys, 2))
        if not any(x[0] + 25 < at < x[1] - 25 and y[0] + 25 < up < y[1] - 25 for at, up in spots)
    ]

    def holds(a: tuple[float, ...], b: tuple[float, ...]) -> bool:
        return a != b and a[0] <= b[0] and b[1] <= a[1] and a[2] <= b[2] and b[3] <= a[3]

    largest = [one for one in empty if not any(holds(other, one) for other in empty)]
    assert [(b.x0, b.x1, b.y0, b.y1) for b in bays(spots, length, width)] == largest


def test_many_supports_take_little_time() -> None:
    draw = random.Random(1)
    spots = [(draw.uniform(0.0, 1120.0), draw.uniform(0.0, 610.0)) for _ in range(40)]
    started = time.process_time()
    assert len(bays(spots, 1120.0, 610.0)) > 40
    assert time.process_time() - started < 2.0  # 0.03 s seen; trying every pair of rectangles takes over ten minutes
