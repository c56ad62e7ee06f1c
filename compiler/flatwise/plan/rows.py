"""How rows cover a face; u runs along them and v across, whichever of x and y those are."""

from __future__ import annotations

from math import ceil, hypot, sqrt
from typing import NamedTuple

import numpy as np

from flatwise.core.surface import Array
from flatwise.model.stages import Work

#: mm down per mm along a row where the cutter comes down over the face, at most (common practice, no source)
SLOPE = 1.0 / 20.0
#: a row shorter than this has no room for the ramp: the cutter would go to and fro for ever (mm)
SLOPE_LEAST = 25.0
#: the least distance of the cutter from the panel beside it, where it comes down, and in the air above it (mm)
BESIDE = 1.0
#: how far the bands of neighbouring rows overlap on each side, so that rounded rows leave nothing between them (mm)
SEAM = 0.5
#: wood is certainly gone where the cutter passed with its rim this far beyond (mm)
SURE = 2.0
#: the least overlap of neighbouring rows: where two only just touch, a fin may stay between them (mm)
OVERLAP = 1.5
#: in rounds the rim passes the edge by at least this share of the diameter, since less would leave the corners
ROUND_OVERRUN = 0.15
#: an auto stepover is at most this share of the diameter in the last pass and in those before it
LAST_SHARE, ROUGH_SHARE = 0.75, 0.9
#: rows in the other direction are looked at if they are no more than this, since that takes as long again
MOST_TURNED = 100
#: a face that takes more rows than this is refused
MOST_ROWS = 2_000
#: and so is a face that takes more rows than this in all its passes together
MOST_RUNS = 3_000


class Extent(NamedTuple):
    """Extent of a face's rows: where the centre begins and ends along a row, the lowest and highest row (mm)."""

    start: float
    end: float
    low: float
    high: float


class Rows(NamedTuple):
    """How one face is swept, mm.

    `along` is the axis of the rows, `length` and `width` the panel along and across them.  `at` are the rows' centres
    across, ascending, `step` apart; the centre runs from `start` to `end`, clear of the panel.  `bite` is the widest
    bite, `most_step` the stepover asked for.  `reach_short`: the travel does not reach round the face (only on the
    spoilboard).  `rounding`: how far the machine's path may be from the programmed one, so that only a disc smaller by
    as much is sure to cut.  `rough`: for the passes before the last, where those need not be like it;
    `goes_round`: they may also go round from the edge inward.
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
    edge_first: bool
    rounding: float = 0.0
    most_step: float = 0.0
    rough: bool = False
    goes_round: bool = False

    @property
    def short(self) -> bool:
        """Whether the cutter may turn at the end of a row as soon as it leaves nothing standing there.

        Only where stepping over in the wood is no wider a bite than a row's.
        """
        stepping = self.diameter + sqrt(max(0.0, self.diameter**2 - self.step**2))
        return self.rough and stepping / 2.0 <= self.bite

    def point(self, u: float, v: float) -> tuple[float, float]:
        """(x, y) of a place (u, v), and also (u, v) of a place (x, y): the two are swapped or not."""
        return (u, v) if self.along == "x" else (v, u)

    def beside(self, u: float, v: float) -> bool:
        """Whether the cutter at (u, v) is clear of the panel in plan."""
        radius = self.diameter / 2.0
        return not (-radius < u < self.length + radius and -radius < v < self.width + radius)

    @property
    def first_round(self) -> float:
        """How far inside the edge the centre goes in the outermost round (mm)."""
        corner = self.sure_radius / sqrt(2.0) - SEAM
        return min(self.diameter / 2.0 - ROUND_OVERRUN * self.diameter, corner, self.bite - self.diameter / 2.0)

    def within(self, travel: tuple[float, float, float, float], low: float, high: float) -> bool:
        """Whether the centre stays within x0, x1, y0, y1 along whole rows that lie between `low` and `high`; mm."""
        x0, x1, y0, y1 = travel
        (a, b), (c, d) = self.point(self.start, low), self.point(self.end, high)
        return x0 <= a + 1e-6 and c <= x1 + 1e-6 and y0 <= b + 1e-6 and d <= y1 + 1e-6

    @property
    def inset(self) -> float:
        """How far inside the edge the centre goes round: as the overrun asks, or further where corners need it (mm).

        A disc that turns at (inset, inset) covers the corner itself if inset·√2 is less than its radius.
        """
        return min(self.diameter / 2.0 - self.overrun, self.sure_radius / sqrt(2.0) - SEAM)

    @property
    def sure_radius(self) -> float:
        """Radius of the disc that is sure to cut, wherever the machine rounds its corners (mm)."""
        return self.diameter / 2.0 - self.rounding

    def before(self, aside: Array) -> Array:
        """How far before the end of wood the cutter's centre may turn, `aside` (any shape) beside its row; mm.

        √(R² − aside²) less a little, and no more than would make stepping over a wider bite than a row's.
        """
        chord = np.sqrt(np.maximum(0.0, self.sure_radius**2 - aside**2))
        return np.minimum(chord, self.bite - self.diameter / 2.0) - SURE

    @property
    def leaves_border(self) -> bool:
        """Whether wood stays at an edge or a corner because the travel ends there.

        Wood between the ends of rows does not count, because the cutter then runs along the ends too.
        """
        past_end = max(0.0, self.start, self.length - self.end)
        past_side = max(0.0, self.at[0], self.width - self.at[-1])
        return hypot(past_end, past_side) > self.sure_radius + 1e-6

    @property
    def border(self) -> float:
        """Width along all edges that going round them certainly cuts; 0 if the cutter does not go round (mm)."""
        return max(0.0, self.inset + self.sure_radius - SURE) if self.edge_first else 0.0


def stepover(work: Work, *, rough: bool = False) -> float:
    """The most that rows of the last pass, or of `rough` passes, may lie apart (mm).

    As written, or for `auto` as wide as the rule `ridge` allows and rows overlap by twice the `corner` of the wings and
    what the machine rounds corners by, at most three quarters of the diameter, in rough passes nine tenths.
    """
    written, diameter = work.job.cut.stepover, float(work.cutter.diameter)
    if not isinstance(written, str):
        return float(written) * diameter
    overlap = 2.0 * (float(work.cutter.corner) + work.machine.controller.rounding)
    widest = min((ROUGH_SHARE if rough else LAST_SHARE) * diameter, diameter - overlap)
    ridge, lean = work.rules.ridge, work.machine.tram.tangent
    return widest if rough or ridge is None or lean <= 0.0 else min(widest, ridge / lean)


def rows(
    work: Work,
    overrun: float,
    reach: tuple[float, float, float, float] | None = None,
    *,
    rough: bool = False,
    turned: bool = False,
) -> Rows:
    """Rows for the last pass over a face, or for its `rough` passes: as few as keep the stepover, evenly spread.

    `turned`: they run the other way than the job says, across the grain instead of along it or along instead of across.

    The rim passes the edge by `overrun` mm beyond the first and last row; at the ends of a row the centre runs on by
    D/2 + overrun (at least BESIDE).  `reach` (x0, x1, y0, y1 in the setup frame, mm) limits the rows of a spoilboard.
    """
    cut, diameter = work.job.cut, float(work.cutter.diameter)
    grain = work.job.stock.grain
    along = grain if (cut.rows.direction == "along") != turned else ("y" if grain == "x" else "x")
    length, width = (work.length, work.width) if along == "x" else (work.width, work.length)
    extent = _whole(length, width, diameter, overrun, work.machine.controller.digit)
    short = False
    if reach is not None:
        u0, u1, v0, v1 = reach if along == "x" else (reach[2], reach[3], reach[0], reach[1])
        short = extent.low < v0 or extent.high > v1 or extent.start < u0 or extent.end > u1
        extent = _within_travel(extent, length, width, (u0, u1, v0, v1))
    rounding = work.machine.controller.rounding
    most = stepover(work, rough=rough)
    at, step = _spread(extent, most, diameter, rounding)
    first = min(diameter if short or len(at) == 1 else diameter - overrun, width)
    ring = (
        cut.rows.edge is not None
        and not short
        and min(length + 2 * overrun, width + 2 * max(overrun, work.machine.controller.digit)) > diameter
    )
    return Rows(
        along=along,
        length=length,
        width=width,
        diameter=diameter,
        overrun=overrun,
        at=at,
        start=extent.start,
        end=extent.end,
        step=step,
        # corners take the whole cutter on the way round the edge
        bite=diameter if ring else max(first, min(step, diameter)),
        reach_short=short,
        one_way=cut.rows.one_way is not None,
        climb=cut.rows.way == "climb",
        edge_first=ring,
        rounding=rounding,
        rough=rough,
        most_step=most,
    )


class RowChoices(NamedTuple):
    """The rows that the passes before the last may run, and those of the last pass."""

    rough: tuple[Rows, ...]
    last: Rows

    @property
    def bite(self) -> float:
        """The widest bite of any row, mm, including the distance by which the machine rounds its path."""
        return min(self.last.diameter, max(each.bite for each in (*self.rough, self.last)) + self.last.rounding)


def row_choices(
    work: Work,
    overrun: float,
    reach: tuple[float, float, float, float] | None = None,
    travel: tuple[float, float, float, float] | None = None,
) -> RowChoices:
    """The rows that the passes of a face may run; `reach` as for `rows`.

    For `rough auto` rows in the other direction are a choice if they are few and no bite of theirs is wider.  These
    rows, and rounds, also have to lie within `travel` (x0, x1, y0, y1 in the setup frame, mm).
    """
    last = rows(work, overrun, reach)
    # where rows end over the board, other rows would leave wood in other places, too much for the last pass
    if work.job.cut.rough == "same" or last.reach_short:
        return RowChoices((last,), last)
    rough, turned = (rows(work, overrun, reach, rough=True, turned=turned) for turned in (False, True))
    inset = rough.first_round
    rough = rough._replace(goes_round=travel is None or rough.within(travel, inset, rough.width - inset))
    fits = travel is None or turned.within(travel, turned.at[0], turned.at[-1])
    narrow = turned.bite <= max(rough.bite, last.bite) + 1e-9
    few = len(turned.at) <= MOST_TURNED
    return RowChoices((rough, turned) if few and fits and narrow and not turned.reach_short else (rough,), last)


def widest_bite(work: Work, overrun: float) -> float:
    """The widest bite of any row over the face of a panel, mm."""
    return row_choices(work, overrun).bite


def _whole(length: float, width: float, diameter: float, overrun: float, digit: float) -> Extent:
    """The rows that cover a whole face; at least one digit of overrun, so that a rounded row does not fall short."""
    half = max(0.0, width / 2.0 + max(overrun, digit) - diameter / 2.0)
    past = diameter / 2.0 + max(overrun, BESIDE, digit)
    return Extent(-past, length + past, width / 2.0 - half, width / 2.0 + half)


def _within_travel(whole: Extent, length: float, width: float, reach: tuple[float, float, float, float]) -> Extent:
    """The rows as far as the travel u0, u1, v0, v1 lets the centre go."""
    u0, u1, v0, v1 = reach
    low, high = whole.low, whole.high
    if u0 > 0.0 or u1 < length:
        # rows that end over the board leave its corners, unless the outermost run along the edge itself
        low, high = min(low, 0.0), max(high, width)
    return Extent(max(whole.start, u0), min(whole.end, u1), min(max(low, v0), v1), max(min(high, v1), v0))


def _spread(extent: Extent, stepover: float, diameter: float, rounding: float) -> tuple[tuple[float, ...], float]:
    """The rows' centres across, as few as keep the stepover, and their distance (mm); MOST_ROWS + 2 if far too many."""
    sure = diameter - 2.0 * rounding
    if diameter >= stepover > sure - OVERLAP:
        stepover = max(sure - OVERLAP, sure / 2.0)
    spread = max(0.0, extent.high - extent.low)
    count = min(MOST_ROWS + 1, ceil(spread / stepover - 1e-9)) if stepover > 0 else MOST_ROWS + 1
    if not count:
        return (extent.low,), 0.0
    step = spread / count
    return (*(extent.low + step * i for i in range(count)), extent.high), step
