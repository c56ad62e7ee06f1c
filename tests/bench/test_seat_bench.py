"""Seating takes at most 10 ms for 50 × 50 nodes a face, and 1 s and 300 MB for 1000 × 1000.

Run with: pytest tests/bench/test_seat_bench.py --benchmark-only
"""

from __future__ import annotations

import tracemalloc
from typing import Any

import numpy as np
import pytest
from bench.pace import slower

from flatwise.core.surface import Surface
from flatwise.seat.rest import Rest
from flatwise.seat.slab import Slab


def faces(nodes: int, rough: float) -> tuple[Surface, Surface]:
    """A twisted, bowed panel with probing noise."""
    rng = np.random.default_rng(nodes)
    xs, ys = np.linspace(0.0, 1200.0, nodes), np.linspace(0.0, 600.0, nodes)
    u, v = xs[None, :] / 1200.0 - 0.5, ys[:, None] / 600.0 - 0.5
    lower = 0.8 * u * v + 0.6 * u**2 - 0.4 * v**2 + rough * rng.normal(size=(nodes, nodes))
    return Surface(xs, ys, lower), Surface(xs, ys, lower + 30.0 + rough * rng.normal(size=(nodes, nodes)))


def both(lower: Surface, upper: Surface) -> float:
    """Rest and slab, as seating computes them."""
    pose = Rest(lower).natural([])
    slab = Slab(lower, upper)
    slab.nearest_best(pose.a, pose.b)
    return slab.left(pose.a, pose.b)


@pytest.mark.parametrize("rough", [0.0, 0.02], ids=["smooth", "rough"])
def test_fifty_by_fifty(benchmark: Any, rough: float) -> None:
    lower, upper = faces(50, rough)
    benchmark(both, lower, upper)
    assert benchmark.stats.stats.median < 0.010 * slower()


@pytest.mark.parametrize("rough", [0.0, 0.02], ids=["smooth", "rough"])
def test_a_million_nodes(benchmark: Any, rough: float) -> None:
    lower, upper = faces(1000, rough)
    tracemalloc.start()
    both(lower, upper)
    peak = tracemalloc.get_traced_memory()[1]
    tracemalloc.stop()
    benchmark.pedantic(both, (lower, upper), rounds=2)
    assert benchmark.stats.stats.median < 1.0 * slower()
    assert peak < 300e6
