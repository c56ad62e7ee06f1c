"""The search for leaves takes no more steps and memory than its limits allow, however many places there are."""

from __future__ import annotations

import numpy as np
import pytest

from flatwise.core.surface import Array, Surface
from flatwise.seat import rest
from flatwise.seat.choice import MOST_LAID, LeafPlace, LeafSearch
from flatwise.seat.leaves import Stacks


def search(count: int) -> LeafSearch:
    xs, ys = np.array([0.0, 500.0, 1000.0]), np.array([0.0, 300.0, 600.0])
    lower = Surface(xs, ys, np.array([[0.0, 0.1, 0.0], [0.2, 0.3, 0.1], [0.0, 0.4, 0.5]]))
    stacks = Stacks(((0.1, 4), (0.2, 4), (0.3, 4)), 2)
    places = tuple(LeafPlace(13.0 + 24.0 * k, 13.0 + 570.0 * (k % 2), stacks) for k in range(count))
    return LeafSearch(lower, lower.plus(0.0, 0.0, 30.0), 12.0, 0.2, places)


def test_no_more_stacks_are_laid_than_the_limit() -> None:
    assert search(3).counts == range(4)
    assert search(MOST_LAID + 4).counts == range(MOST_LAID + 1)


def test_choices_are_looked_at_some_at_a_time_with_the_same_result(monkeypatch: pytest.MonkeyPatch) -> None:
    whole = search(12).choices(2)
    largest = 0
    looked = rest.minimise_all

    def counted(rows: Array, sides: Array, costs: Array) -> tuple[Array, Array]:
        nonlocal largest
        largest = max(largest, len(sides))
        return looked(rows, sides, costs)

    monkeypatch.setattr(rest, "minimise_all", counted)
    monkeypatch.setattr(rest, "MOST_HEIGHTS", 20_000)
    assert search(12).choices(2) == whole
    assert 1 < largest < 30
