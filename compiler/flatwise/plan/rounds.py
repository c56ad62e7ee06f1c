"""Rounds from the edge inward: a spiral of straight sides over the box in which wood stands.

It begins beside the box at a corner, and from one side to the next takes a strip no wider than their distance.  At the
corners no wood is left between rounds as long as √2·(distance − R) is less than the radius R.  One run down the middle
takes the rest if that is quicker than another round.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from functools import partial
from math import ceil, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.units import settled
from flatwise.model.stages import Leg
from flatwise.plan.path import Path
from flatwise.plan.rows import BESIDE, OVERLAP, SEAM, SURE, Rows
from flatwise.plan.standing_wood import RUN_IN, StandingWood

#: rounds lie at most this share of the diameter apart; from 0.853 on the corners would leave scallops
ROUND_SHARE = 0.83


class Box(NamedTuple):
    """Where wood stands, mm along and across the rows, and how far inside it stands anywhere at most."""

    low_u: float
    high_u: float
    low_v: float
    high_v: float
    deepest: float

    @property
    def sides(self) -> tuple[float, float]:
        """Its length along the rows and its width across, mm."""
        return self.high_u - self.low_u, self.high_v - self.low_v


def box_of(wood: StandingWood, over: NDArray[np.bool_]) -> Box:
    """The box round all of the cells `over` (slices, cells), of which there is one at least.

    If the edge is cut first, wood at the edge takes the whole face, so that the cutter comes in only at a corner.
    """
    edges, cuts = wood.edges, wood.cuts
    rows, cells = np.flatnonzero(over.any(axis=1)), np.flatnonzero(over.any(axis=0))
    if wood.rows.edge_first and (over & ~wood.inner).any():
        rows, cells = np.array([0, len(cuts) - 2]), np.array([0, len(edges) - 2])
    low_u, high_u, low_v, high_v = map(
        float, (edges[cells[0]], edges[cells[-1] + 1], cuts[rows[0]], cuts[rows[-1] + 1])
    )
    along = np.minimum(edges[1:] - low_u, high_u - edges[:-1])
    # the deepest wood of each slice along, and of all slices
    deepest = np.where(over, along, -np.inf).max(axis=1)
    across = np.minimum(cuts[1:] - low_v, high_v - cuts[:-1])
    return Box(low_u, high_u, low_v, high_v, float(np.minimum(deepest, across).max()))


def rounds(path: Path, box: Box) -> Iterator[tuple[float, int, Callable[[], Iterator[list[Leg]]]]]:
    """The ways round a box that are worth trying, from the air into the air.

    Each with the least time that it takes from any corner (s), how many rounds it goes, and what gives its legs.
    """
    rows = path.rows
    # seen with u to the right and v away, one way round is anticlockwise; for rows along y that view is mirrored
    left = rows.climb != (rows.along == "x")
    ways = (left,) if rows.one_way else (False, True)

    def from_corners(insets: Sequence[float], run: bool) -> Iterator[list[Leg]]:
        for anticlockwise in ways:
            for backward in (False, True):
                through = path.fresh()
                _spiral(through, box, insets, run, (backward, backward == anticlockwise))
                yield through.legs

    at_feed, (length, width) = path.kinematics.at_feed, box.sides
    for insets, run in _insets(rows, box):
        backs = (*insets[1:], insets[-1])
        sides = (
            (length - 2.0 * inset, width - 2.0 * inset, length - 2.0 * inset, width - inset - back)
            for inset, back in zip(insets, backs, strict=True)
        )
        least = path.least_lift + sum(at_feed(max(0.0, side)) for each in sides for side in each)
        yield settled(least), len(insets), partial(from_corners, insets, run)


def _insets(rows: Rows, box: Box) -> Iterator[tuple[list[float], bool]]:
    """How far inside the box each round goes, mm, and whether a run down the middle follows."""
    sure, half = rows.sure_radius, min(box.sides) / 2.0
    first = rows.first_round
    widest = min(rows.most_step, rows.bite, ROUND_SHARE * rows.diameter, sure + (sure - SEAM) / sqrt(2.0))
    if half <= first + SURE or first <= 0.0 or widest <= 0.0:
        return
    # half of what one run down the middle takes
    middle = min(rows.bite / 2.0 - SEAM, sure - SURE)
    for run in (True, False):
        last = half - sure - (middle if run else -OVERLAP / 2.0)
        count = max(0, ceil((last - first) / widest - 1e-9))
        step = max(0.0, last - first) / count if count else 0.0
        insets = [first + step * k for k in range(count + 1)]
        needed = next((k for k, inset in enumerate(insets) if box.deepest <= inset + sure - OVERLAP / 2.0), None)
        if needed is None:
            yield insets, run
        elif run:
            yield insets[: needed + 1], False


def _spiral(path: Path, box: Box, insets: Sequence[float], run: bool, mirrored: tuple[bool, bool]) -> None:
    """Go round and inward, and down the middle if there is a `run`; mirrored along and across the rows."""
    rows, (length, width) = path.rows, box.sides

    def place(p: float, q: float) -> tuple[float, float]:
        return (
            box.high_u - p if mirrored[0] else box.low_u + p,
            box.high_v - q if mirrored[1] else box.low_v + q,
        )

    # it begins clear of the box, and beside the panel where that is no farther
    clear = -(rows.diameter / 2.0 + rows.rounding + max(RUN_IN, BESIDE))
    start, v = place(clear, insets[0])
    path.down_at(min(max(start, rows.start), rows.end), v, -1.0 if mirrored[0] else 1.0)
    for number, inset in enumerate(insets):
        more = number + 1 < len(insets)
        back = insets[number + 1] if more else inset
        for p, q in ((length - inset, inset), (length - inset, width - inset), (inset, width - inset), (inset, back)):
            path.to(*place(p, q))
    if run:
        last = insets[-1]
        core = min(length, width) / 2.0 - last - rows.sure_radius
        chord = sqrt(max(0.0, rows.sure_radius**2 - (max(core, 0.0) + SEAM) ** 2))
        short = last + rows.sure_radius + chord - SURE
        if length >= width:
            corners = [(last, width / 2.0), (max(last, length - short), width / 2.0)]
        else:
            corners = [(length / 2.0, last), (length / 2.0, max(last, width - short))]
        for p, q in corners:
            path.to(*place(p, q))
    path.up()
