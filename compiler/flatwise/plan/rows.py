"""Rows over the face, and the moves of one pass along them.

u runs along the rows and v across them, whichever of x and y they are.  A pass that need not sweep the whole face
cuts only patches: stretches of the rows that are needed, from where nothing stands in the swept strip to where nothing
stands again.  Between two patches the cutter goes at feed in the plane, or by a lift, whichever is quicker.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import ceil

import numpy as np

from flatwise.plan.timing import straight
from flatwise.stages import Leg, Work
from flatwise.surface import Array, Surface, distinct
from flatwise_grammar.records import dataclass

#: mm that a cutter comes down clear of standing wood inside the face
RUN_IN = 2.0
#: mm above the plane where a rapid down turns into feed
LAST_BIT = 2.0
#: mm along a row in which wood is looked for
CELL = 5.0
#: mm beyond a row's strip in which wood is looked for too: a cutter must not come down against a slope beside it
ASIDE = 2.0
#: mm down for each mm along a row, where a cutter comes down in wood (common practice, no source: 1 in 100 at most)
SLOPE = 0.008
#: mm that a row must have for that, else the cutter would go to and fro for ever
SLOPE_LEAST = 25.0
#: mm that the bands of neighbouring rows overlap on each side
SEAM = 0.5
#: mm that a row's end lies clear of the panel at least: the cutter comes down there
BESIDE = 1.0
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
    the spoilboard), `per_row` is how far apart rows are, `width` the widest bite.
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
        """(x, y) of a place along and across the rows."""
        return (u, v) if self.along == "x" else (v, u)


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
        along,
        length,
        width,
        diameter,
        overrun,
        at,
        start,
        end,
        step,
        diameter if ring else max(first, min(step, diameter)),
        short,
        cut.pattern.one_way is not None,
        cut.pattern.way == "climb",
        ring,
    )


class Standing:
    """Where wood may stand, row by row.

    Each row answers for the band of the face that is nearer to it than to any other row: only what stands there
    needs the row.  Where the cutter comes down, nothing may stand in the whole strip that it sweeps.
    """

    def __init__(self, rows: Rows, top: Surface) -> None:
        self.count = max(1, ceil(rows.length / CELL))
        self.edges: Array = np.linspace(0.0, rows.length, self.count + 1)
        at = np.array(rows.at)
        reach = rows.diameter / 2.0 + ASIDE
        middles = (at[1:] + at[:-1]) / 2.0
        strips = np.column_stack((at - reach, at + reach))
        # bands overlap a little, so that a rounded row leaves nothing between them
        bands = np.column_stack((np.append(0.0, middles) - SEAM, np.append(middles, rows.width) + SEAM))
        cuts = distinct(np.clip(np.concatenate((strips.ravel(), bands.ravel())), 0.0, rows.width))
        high = top.cells(self.edges, cuts)[1] if rows.along == "x" else top.cells(cuts, self.edges)[1].T
        self._high = high
        self._cuts = cuts
        #: (rows, cells) mm, the highest top in the strip and in the band, as forecast
        self.strip: Array = self._highest(rows, strips)
        self.band: Array = self._highest(rows, bands)

    def _highest(self, rows: Rows, sides: Array) -> Array:
        clipped = np.clip(sides, 0.0, rows.width)
        first = np.searchsorted(self._cuts, clipped[:, 0] - 1e-9)
        last = np.searchsorted(self._cuts, clipped[:, 1] - 1e-9)
        empty = np.full(self.count, -np.inf)
        return np.array([self._high[a:b].max(axis=0) if b > a else empty for a, b in zip(first, last, strict=True)])

    def patches(self, rows: Rows, plane: float) -> list[list[tuple[float, float]]]:
        """For every row the stretches (from, to) that its centre must run so that what stands above `plane` is cut.

        `plane` counts from the forecast: what may stand higher than that has been taken off it.
        """
        clear = rows.diameter / 2.0 + RUN_IN
        found: list[list[tuple[float, float]]] = []
        for stands, needed in zip(self.strip > plane + 1e-9, self.band > plane + 1e-9, strict=True):
            flips = np.flatnonzero(np.diff(np.concatenate(([0], stands.astype(np.int8), [0]))))
            merged: list[tuple[float, float, bool]] = []
            for a, b in zip(flips[::2], flips[1::2], strict=True):
                low = rows.start if a == 0 else max(rows.start, float(self.edges[a]) - clear)
                high = rows.end if b == self.count else min(rows.end, float(self.edges[b]) + clear)
                need = bool(needed[a:b].any())
                # two patches nearer than that the cutter could not come down between them
                if merged and low - RUN_IN < merged[-1][1]:
                    merged[-1] = (merged[-1][0], high, merged[-1][2] or need)
                else:
                    merged.append((low, high, need))
            found.append([(low, high) for low, high, need in merged if need])
        return found


@lru_cache(maxsize=8)
def standing(rows: Rows, top: Surface) -> Standing:
    """Where wood may stand on a face; the last ones are kept, since most edits of a job change neither."""
    return Standing(rows, top)


Patches = Sequence[Sequence[tuple[float, float]]]


def islands(patches: Patches) -> list[Patches]:
    """The patches as groups of one patch a row, each beside the next, so that a zigzag over a group never leaves it."""
    groups: list[dict[int, tuple[float, float]]] = []
    for i, row in enumerate(patches):
        beside = [
            (min(b, d) - max(a, c), g, k)
            for g, group in enumerate(groups)
            for c, d in (group.get(i - 1, (0.0, 0.0)),)
            for k, (a, b) in enumerate(row)
            if a < d and c < b
        ]
        taken: set[int] = set()
        for _, g, k in sorted(beside, reverse=True):
            if i not in groups[g] and k not in taken:
                groups[g][i] = row[k]
                taken.add(k)
        groups += [{i: patch} for k, patch in enumerate(row) if k not in taken]
    return [[[group[i]] if i in group else [] for i in range(len(patches))] for group in groups]


class Path:
    """Moves of one pass, put together leg by leg; it knows how to go from one place to the next."""

    def __init__(self, rows: Rows, plane: float, lift: float, work: Work, feed: float) -> None:
        self.rows, self.plane, self.lift, self.feed = rows, plane, lift, feed
        self.rapid, self.acceleration = work.machine.rapid_feed, float(work.machine.acceleration)
        self.legs: list[Leg] = []
        self.where: tuple[float, float] | None = None

    def down_at(self, u: float, v: float) -> None:
        """Up if need be, over to a place clear of wood, and down to the plane: the last bit at feed."""
        self.up()
        x, y = self.rows.point(u, v)
        self.legs.append(Leg(True, x, y, self.lift))
        near = self.plane + LAST_BIT
        if near < self.lift:
            self.legs.append(Leg(True, x, y, near))
        self.legs.append(Leg(False, x, y, self.plane))
        self.where = (u, v)

    def to(self, u: float, v: float) -> None:
        """Straight at feed in the plane."""
        if self.where is not None and abs(u - self.where[0]) < 1e-9 and abs(v - self.where[1]) < 1e-9:
            return
        x, y = self.rows.point(u, v)
        self.legs.append(Leg(False, x, y, self.plane))
        self.where = (u, v)

    def up(self) -> None:
        """Straight up to the lift height."""
        if self.where is not None:
            x, y = self.rows.point(*self.where)
            self.legs.append(Leg(True, x, y, self.lift))
            self.where = None

    def link(self, corners: Sequence[tuple[float, float]]) -> None:
        """To the last of `corners` by way of the others, all clear of wood: at feed or by a lift, the quicker one."""
        assert self.where is not None
        u, v = self.where
        by_feed = 0.0
        length = 0.0
        for a, b in corners:
            run = abs(a - u) + abs(b - v)
            by_feed += straight(run, self.feed, self.acceleration)
            length += run
            u, v = a, b
        rise = self.lift - self.plane
        across = ((self.where[0] - u) ** 2 + (self.where[1] - v) ** 2) ** 0.5
        by_lift = (
            straight(rise, self.rapid, self.acceleration)
            + straight(across, self.rapid, self.acceleration)
            + straight(rise - LAST_BIT, self.rapid, self.acceleration)
            + straight(LAST_BIT, self.feed, self.acceleration)
        )
        if by_feed <= by_lift:
            for a, b in corners:
                self.to(a, b)
        else:
            self.down_at(u, v)


def meets_edge(rows: Rows, patches: Patches) -> bool:
    """Whether any patch reaches an edge of the face, so that going round it first is worth it."""
    runs_out = any(row and (row[0][0] <= rows.start or row[-1][1] >= rows.end) for row in patches)
    return bool(runs_out or patches[0] or patches[-1])


def ring(path: Path) -> None:
    """Once round the edge, from beside the panel and back off it; the uncut wood on the right for climb, else left."""
    rows = path.rows
    inset = rows.diameter / 2.0 - rows.overrun
    u0, u1, v0, v1 = inset, rows.length - inset, rows.at[0], rows.at[-1]
    # in u, v seen with u to the right this goes anticlockwise; for rows along y the frame is mirrored
    anticlockwise = (not rows.climb) == (rows.along == "x")
    if anticlockwise:
        path.down_at(rows.start, v0)
        corners = [(u1, v0), (u1, v1), (u0, v1), (u0, rows.start)]
    else:
        path.down_at(u0, rows.start)
        corners = [(u0, v1), (u1, v1), (u1, v0), (rows.start, v0)]
    for u, v in corners:
        path.to(u, v)
    path.up()


def sweep(path: Path, patches: Patches, near: tuple[float, float] | None) -> None:
    """All rows with patches, zigzag or one way; a zigzag begins at the end nearest to `near` (u, v)."""
    rows = path.rows
    order = [i for i, row in enumerate(patches) if row]
    if not order:
        return
    if rows.one_way:
        # the spindle turns clockwise seen from above: wood on the right of the way is climb.  Rows go up in v,
        # so the uncut side is +v: on the left of a run along +x, on the right of a run along +y.
        forward = rows.climb == (rows.along == "y")
        for i in order:
            stretches = list(patches[i]) if forward else [(b, a) for a, b in reversed(patches[i])]
            for k, (a, b) in enumerate(stretches):
                if k:
                    path.link([(a, rows.at[i])])
                else:
                    path.down_at(a, rows.at[i])
                path.to(b, rows.at[i])
        path.up()
        return
    forward = True
    if near is not None:
        if abs(near[1] - rows.at[order[-1]]) < abs(near[1] - rows.at[order[0]]):
            order.reverse()
        first = patches[order[0]]
        forward = abs(near[0] - first[0][0]) <= abs(near[0] - first[-1][1])
    for i in order:
        v = rows.at[i]
        stretches = list(patches[i]) if forward else [(b, a) for a, b in reversed(patches[i])]
        for k, (a, b) in enumerate(stretches):
            if path.where is None:
                path.down_at(a, v)
            elif k:
                path.link([(a, v)])
            else:
                # beyond both ends nothing stands in either strip: out, across, and in again
                out = (max if not forward else min)(path.where[0], a)
                path.link([(out, path.where[1]), (out, v), (a, v)])
            path.to(b, v)
        forward = not forward
    path.up()


def ramp(path: Path, above: float) -> None:
    """Zigzag over the whole sweep of a spoilboard that has no free side: down on a slope along the first row.

    `above` is the height that the wood may still have there, mm; the slope begins a little over it, and goes to and
    fro where the row is short.
    """
    rows = path.rows
    v = rows.at[0]
    x, y = rows.point(rows.start, v)
    path.legs.append(Leg(True, x, y, path.lift))
    high = min(path.lift, above + LAST_BIT)
    if high < path.lift:
        path.legs.append(Leg(True, x, y, high))
    # an odd number of runs, so that every pass turns at the same ends and cuts along the same lines
    runs = max(0, ceil((high - path.plane) / (SLOPE * max(rows.end - rows.start, SLOPE_LEAST)) - 1e-9)) // 2 * 2 + 1
    ends = (rows.start, rows.end)
    for k in range(1, runs + 1):
        x, y = rows.point(ends[k % 2], v)
        path.legs.append(Leg(False, x, y, high - (high - path.plane) * k / runs))
    path.where = (rows.end, v)
    for k, v in enumerate(rows.at, 1):
        path.to(ends[k % 2], v)
        path.to(ends[(k + 1) % 2], v)
    # rows that end over the board leave arcs between them there, half of which the turns have taken
    reach_of_disc = max(0.0, (rows.diameter / 2.0) ** 2 - (rows.step / 2.0 + 1.0) ** 2) ** 0.5
    if rows.start > reach_of_disc or rows.length - rows.end > reach_of_disc:
        here, other = ends[(len(rows.at) + 1) % 2], ends[len(rows.at) % 2]
        for u, v in ((here, rows.at[0]), (other, rows.at[0]), (other, rows.at[-1])):
            path.to(u, v)
    path.up()
