"""The shop's recipe for end grain: no wing leaves the board over an unsupported edge, except at a corner.

Computed from the moves alone.  The spindle turns clockwise seen from above (M3, RS274/NGC), so a wing at (dx, dy)
from the centre moves along (dy, -dx).
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

from flatwise.core.surface import Array
from flatwise.model.stages import Leg, Pass, Setup
from flatwise.pipeline import read_works, work_out

#: mm between the places of the cutter, and between the points of the edges, that are looked at
STEP = 2.0
POINTS = 4.0


def edge_points(length: float, width: float) -> tuple[Array, Array]:
    """Points on the four edges (n, 2), and the outward direction at each (n, 2)."""
    along, across = np.arange(1.0, length, POINTS), np.arange(1.0, width, POINTS)
    sides = [
        (np.stack([along, np.zeros_like(along)], 1), (0.0, -1.0)),
        (np.stack([along, np.full_like(along, width)], 1), (0.0, 1.0)),
        (np.stack([np.zeros_like(across), across], 1), (-1.0, 0.0)),
        (np.stack([np.full_like(across, length), across], 1), (1.0, 0.0)),
    ]
    return np.concatenate([points for points, _ in sides]), np.concatenate(
        [np.tile(out, (len(points), 1)) for points, out in sides]
    )


def centres(sweep: Pass) -> Iterator[tuple[int, Array]]:
    """The number of each stretch of feed moves at the plane, and the places of the cutter's centre, `STEP` apart."""
    last: Leg | None = None
    stretch = 0
    for leg in sweep.path:
        if leg.rapid:
            stretch += last is not None and not last.rapid
        elif last is not None and last.z == leg.z == sweep.plane:
            count = max(2, int(np.hypot(leg.x - last.x, leg.y - last.y) / STEP) + 1)
            yield stretch, np.linspace((last.x, last.y), (leg.x, leg.y), count)
        last = leg


def first_meetings(sweep: Pass, points: Array, radius: float) -> tuple[Array, Array]:
    """For each point the stretch in which a wing first meets it, or -1, and the direction of the wing there (n, 2)."""
    stretch, way = np.full(len(points), -1), np.zeros_like(points)
    for number, path in centres(sweep):
        for centre in path:
            offset = points - centre
            met = (stretch < 0) & (np.hypot(offset[:, 0], offset[:, 1]) <= radius)
            stretch[met] = number
            way[met] = np.stack([offset[met, 1], -offset[met, 0]], 1) / radius
    return stretch, way


def leaving(setup: Setup, length: float, width: float, radius: float) -> tuple[Array, Array]:
    """Over all passes: edge points where a wing first leaves the board, and points that rows meet first."""
    points, out = edge_points(length, width)
    left, later = [], []
    for sweep in setup.passes:
        stretch, way = first_meetings(sweep, points, radius)
        left.append(points[(stretch >= 0) & ((way * out).sum(1) > 0.2)])
        later.append(points[stretch > 0])
    return np.concatenate(left), np.concatenate(later)


def from_corner(points: Array, length: float, width: float) -> float:
    """The largest distance of these edge points from their nearest corner, mm."""
    aside = np.minimum(points[:, 0], length - points[:, 0]) + np.minimum(points[:, 1], width - points[:, 1])
    return float(aside.max(initial=0.0))


def board(shop: Path, repository: Path, more: str = "") -> tuple[tuple[Setup, ...], float, float, float]:
    text = (repository / "jobs" / "bread_board.flat").read_text()
    (shop / "jobs" / "bread_board.flat").write_text(text.replace("    stock {", f"    {more}\n    stock {{", 1))
    (work,) = read_works([shop / "jobs"]).works
    plan, findings, _ = work_out(work)
    assert plan is not None and (more or not findings)
    return plan.setups, work.length, work.width, float(work.cutter.diameter) / 2.0


def test_the_round_meets_every_edge_first_and_wings_come_in_over_it(shop: Path, repository: Path) -> None:
    setups, length, width, radius = board(shop, repository)
    assert len(setups) == 2
    for setup in setups:
        left, later = leaving(setup, length, width, radius)
        # the round leaves a tip at each corner; apart from those, the rows meet no edge that still stands
        assert from_corner(later, length, width) < 5.0
        # where the round starts and where it turns, wings leave over less than the cutter's width of the edge
        assert from_corner(left, length, width) < 2 * radius


@pytest.mark.nightly
@pytest.mark.parametrize("rows", ["along grain", "along grain, one_way climb"])
def test_without_the_round_wings_leave_over_a_long_stretch_of_edge(shop: Path, repository: Path, rows: str) -> None:
    setups, length, width, radius = board(shop, repository, f"cut {{ rows {rows} }}")
    left, _ = leaving(setups[0], length, width, radius)
    middle = (left[:, 1] > 2 * radius) & (left[:, 1] < width - 2 * radius)
    assert POINTS * middle.sum() > 40.0
