"""Rows over the face: u runs along them and v across, whichever of x and y they are."""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, hypot, sqrt

from flatwise.model.stages import Work

#: mm down for each mm along a row, where a cutter comes down in wood (common practice, no source: 1 in 100 at most)
SLOPE = 0.008
#: mm that a row must have for that, else the cutter would go to and fro for ever
SLOPE_LEAST = 25.0
#: mm that the cutter keeps from the panel at least: beside it at the ends of a row, where it comes down, and over it
BESIDE = 1.0
#: mm that the bands of neighbouring rows overlap on each side, so that a rounded row leaves nothing between them
SEAM = 0.5
#: mm inside the rim to which the cutter is sure to cut: what stands there is gone once it has passed
SURE = 2.0
#: mm that rows overlap at least: where two just touch, a fin may stay between them
OVERLAP = 1.5
#: a face that takes more rows than this is refused
MOST_ROWS = 2_000
#: and more rows than this in all its passes
MOST_RUNS = 20_000


@dataclass(frozen=True)
class Rows:
    """How one face is swept, mm.

    `along` is the axis of the rows.  `at` are the rows' centres across, ascending; `start`, `end` where a row's
    centre begins and ends along it, clear of the panel.  `reach_short` says that travel cut the sweep short (only
    the spoilboard), `step` is how far apart rows are, `bite` the widest bite.
    """

    along: str
    length: float
    width: float
    diameter: float
    overrun: float
    at: tuple[float, ...]
    start: float
    end: float
    step: float
    bite: float
    reach_short: bool
    one_way: bool
    climb: bool
    perimeter: bool

    def point(self, u: float, v: float) -> tuple[float, float]:
        """(x, y) of a place along and across the rows, and (u, v) of one at (x, y): the two are swapped or not."""
        return (u, v) if self.along == "x" else (v, u)

    @property
    def inset(self) -> float:
        """mm that the centre stays inside the edge as it goes round: the overrun, or as much more as corners need.

        A disc that turns at (inset, inset) reaches the corner itself if inset·√2 is less than its radius.
        """
        radius = self.diameter / 2.0
        return min(radius - self.overrun, radius / sqrt(2.0) - SEAM)

    @property
    def leaves_border(self) -> bool:
        """Whether wood stays at an edge or a corner that travel keeps the cutter from.

        What rows leave between their ends is not counted: the cutter then runs along these too.
        """
        past_end, past_side = (
            max(0.0, self.start, self.length - self.end),
            max(0.0, self.at[0], self.width - self.at[-1]),
        )
        return hypot(past_end, past_side) > self.diameter / 2.0 + 1e-6

    @property
    def border(self) -> float:
        """mm from all edges that going round them is sure to cut; 0 where the cutter does not."""
        return max(0.0, self.inset + self.diameter / 2.0 - SURE) if self.perimeter else 0.0


def rows(work: Work, overrun: float, reach: tuple[float, float, float, float] | None = None) -> Rows:
    """Rows for a face of the job's panel.

    The first and last rows' rim passes the edge by `overrun`; the number of rows is the least that keeps the
    stepover.  Along a row the centre runs to D/2 + overrun (at least BESIDE) past the edge.  `reach` (x0, x1, y0,
    y1 in the setup frame) cuts the sweep short for the spoilboard.
    """
    cut, diameter = work.job.cut, float(work.cutter.diameter)
    grain = work.job.stock.grain
    along = grain if cut.pattern.direction == "along" else ("y" if grain == "x" else "x")
    length, width = (work.length, work.width) if along == "x" else (work.width, work.length)
    digit = work.machine.controller.digit
    # a rounded row must not fall short of the edge
    half = width / 2.0 + max(overrun, digit) - diameter / 2.0
    low, high = (width / 2.0 - half, width / 2.0 + half) if half > 0 else (width / 2.0, width / 2.0)
    past = diameter / 2.0 + max(overrun, BESIDE, digit)
    start, end = -past, length + past
    short = False
    if reach is not None:
        u0, u1, v0, v1 = reach if along == "x" else (reach[2], reach[3], reach[0], reach[1])
        short = low < v0 or high > v1 or start < u0 or end > u1
        if u0 > 0.0 or u1 < length:
            # rows that end over the board leave its corners, unless they run along the edge itself
            low, high = min(low, 0.0), max(high, width)
        low, high = min(max(low, v0), v1), max(min(high, v1), v0)
        start, end = max(start, u0), min(end, u1)
    limit = float(cut.stepover) * diameter
    if diameter >= limit > diameter - OVERLAP:
        limit = max(diameter - OVERLAP, diameter / 2.0)
    spread = max(0.0, high - low)
    count = min(MOST_ROWS + 1, ceil(spread / limit - 1e-9)) if limit > 0 else MOST_ROWS + 1
    step = spread / count if count else 0.0
    at = (*(low + step * i for i in range(count)), high) if count else (low,)
    first = min(diameter, width) if (short or not count) else min(diameter - overrun, width)
    ring = cut.pattern.perimeter is not None and not short and half > 0 and length + 2 * overrun > diameter
    return Rows(
        along=along,
        length=length,
        width=width,
        diameter=diameter,
        overrun=overrun,
        at=at,
        start=start,
        end=end,
        step=step,
        # round the edge, corners take the whole cutter
        bite=diameter if ring else max(first, min(step, diameter)),
        reach_short=short,
        one_way=cut.pattern.one_way is not None,
        climb=cut.pattern.way == "climb",
        perimeter=ring,
    )
