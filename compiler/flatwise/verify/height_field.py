"""The top of the panel as a grid of cells, cut by a disc that moves along straight lines.

The field never claims more than is proven.  A cell counts as cut when one capsule (the disc swept along a straight
line) covers it, or when the capsules of one level cover it together.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.surface import Array, Surface
from flatwise.verify.capsule import Capsule, chords, direction, extents, stays_near
from flatwise.verify.coverage import NOTHING, covered

#: Overlaps up to this, mm, are no contact: the controller rounds as much.
GRAZE = 1e-3
#: Rows of cells in one box round a slanting capsule: few, so that the box stays tight.
_ROWS = 64
#: Earlier cuts that are kept for second looks.
_EARLIER_CUTS = 4096
#: Earlier cuts that a second look compares at once.
_LOOKS = 64
#: Capsules whose cells are kept: more than the rows of a pass; and the most of these cells.
_KNOWN_CAPSULES, _KNOWN_CELLS = 1024, 16_000_000
#: Most cells of a field.
_MOST_CELLS = 3_000_000
#: A box of covered cells is treated as a whole from this many cells on; its rows are at least this share as wide as
#: the widest.
_CORE_CELLS, _CORE_WIDTH = 500, 0.8
#: Runs along x of up to so many cells are taken along y instead.
_SHORT_RUN = 8

Bools = NDArray[np.bool_]
Area = tuple[slice, slice]


class Contact(NamedTuple):
    """The highest wood that a cutter touches: `top` with its bound, where, and the highest top of the forecast; mm."""

    top: float
    x: float
    y: float
    forecast: float


class CellBox(NamedTuple):
    """A box of cells (rows, columns): which of them a capsule touches and which it covers, None where it covers all."""

    area: Area
    touched_and_covered: tuple[Bools, Bools] | None


class Along(NamedTuple):
    """Earlier cuts along a capsule's line, the lowest first: from where to where on it, and what they left, mm."""

    first: Array
    last: Array
    heights: Array


class HeightField:
    """Heights over cells of about `cell` mm that end exactly at the outline.  Arrays are (ny, nx), mm.

    `forecast` is the highest point of the forecast in each cell.  `upper` adds the bound of the survey (on the nodes of
    the top; None: 0) and `sink`, by how much zero may have been touched too low.  Nothing stands above `measured`, if
    that is known.  Both are lowered by cuts; no `upper` exceeds `ceiling`.
    """

    def __init__(
        self,
        top: Surface,
        bound: Surface | None = None,
        sink: float = 0.0,
        cell: float = 1.0,
        measured: float = np.inf,
    ) -> None:
        cell = max(cell, (top.length * top.width / _MOST_CELLS) ** 0.5)
        self.nx = max(1, int(np.ceil(top.length / cell - 1e-9)))
        self.ny = max(1, int(np.ceil(top.width / cell - 1e-9)))
        self.dx, self.dy = top.length / self.nx, top.width / self.ny
        self.xs: Array = np.linspace(0.0, top.length, self.nx + 1)
        self.ys: Array = np.linspace(0.0, top.width, self.ny + 1)
        self.forecast = np.minimum(top.cells(self.xs, self.ys)[1], measured)
        upper = (top if bound is None else top.raised(bound)).cells(self.xs, self.ys)[1] + sink
        self.upper = np.minimum(upper, measured)
        self.ceiling = float(self.upper.max())
        #: the capsules of the present level, its height, and the cells that one or several of them cover in part
        self._level: list[Capsule] = []
        self._height = np.inf
        self._once = np.zeros((self.ny, self.nx), dtype=bool)
        self._twice = np.zeros((self.ny, self.nx), dtype=bool)
        #: the latest cuts, each a capsule and the highest that it left, and the rows in which they stand
        self._cuts = np.empty((_EARLIER_CUTS, 6))
        self._places: dict[Capsule, int] = {}
        self._known: dict[Capsule, list[CellBox]] = {}
        self._known_cells = 0

    def touch(self, capsule: Capsule, above: float) -> Contact | None:
        """The highest wood in a capsule, where some stands above `above`; nothing is cut."""
        if self.ceiling <= above:
            return None
        met = self._highest(self._tops(capsule, above), above)
        if met is None or not self._level or above >= self._height:
            return met
        self.finish_level()  # what stood between the rows of the level above may be gone
        return self._highest(self._tops(capsule, above), above)

    def touch_in_box(self, x0: float, x1: float, y0: float, y1: float, radius: float, above: float) -> Contact | None:
        """The highest wood above `above` that a disc may touch while its centre is anywhere in a box."""
        if self.ceiling <= above:
            return None
        rows = _cells(y0, y1, self.dy, self.ny)
        columns = _cells(x0 - radius + GRAZE, x1 + radius - GRAZE, self.dx, self.nx)
        boxes = [box for y in (y0, y1) for box in self._boxes(Capsule(x0, y, x1, y, radius))]
        if rows.stop > rows.start and columns.stop > columns.start:
            boxes.append(CellBox((rows, columns), None))
        return self._highest(((box.area, self._upper(box)) for box in boxes), above)

    def cut(self, capsule: Capsule, lowest: float, highest: float, limit: float = 0.0) -> Contact | None:
        """Cut along a capsule at heights from `lowest` to `highest`: what it touched, None where it was in air.

        A slanting move bites as at its lowest height and leaves what it would leave at its highest.  Bites up to
        `limit` get no second look.
        """
        if lowest >= self.ceiling:
            return None
        if highest != self._height or lowest != highest:
            if self.touch(capsule, lowest) is None:
                return None  # in air, so the level continues after it
            self.finish_level()
            self._height = highest
        self._level.append(capsule)
        contact = self._highest(self._tops(capsule, lowest + limit), lowest)
        for area, masks in self._boxes(capsule):
            if masks is None:
                within: Bools | bool = True
            else:
                touched, within = masks
                self._twice[area] |= self._once[area] & touched
                self._once[area] |= touched
            for field in (self.upper[area], self.forecast[area]):
                np.minimum(field, highest, out=field, where=within)
        self._keep(capsule, highest)
        return contact

    def finish_level(self) -> None:
        """Cut the cells that no capsule of the present level covers alone, but several cover together."""
        if len(self._level) > 1:
            level = np.array(self._level)
            left, right = (pick(level[:, [0, 2]], axis=1) for pick in (np.min, np.max))
            low, high = (pick(level[:, [1, 3]], axis=1) for pick in (np.min, np.max))
            radius = level[:, 4]
            for rows, columns in _runs(self._twice & (self.upper > self._height)):
                # of thousands of capsules few are near
                near = (left - radius < self.xs[columns.stop]) & (right + radius > self.xs[columns.start])
                near &= (low - radius < self.ys[rows.stop]) & (high + radius > self.ys[rows.start])
                self._cut_together([self._level[k] for k in np.flatnonzero(near)], rows, columns)
        if self._level:
            self._level = []
            self._once[:] = False
            self._twice[:] = False
            self.ceiling = float(self.upper.max())

    def _cut_together(self, level: list[Capsule], rows: slice, columns: slice) -> None:
        """Cut a run of cells where capsules cover them together, halving the run where not."""
        x0, x1 = float(self.xs[columns.start]), float(self.xs[columns.stop])
        y0, y1 = float(self.ys[rows.start]), float(self.ys[rows.stop])
        near = [
            c
            for c in level
            if min(c.ax, c.bx) - c.radius < x1
            and max(c.ax, c.bx) + c.radius > x0
            and min(c.ay, c.by) - c.radius < y1
            and max(c.ay, c.by) + c.radius > y0
        ]
        if covered((x0, x1, y0, y1), near):
            for field in (self.upper[rows, columns], self.forecast[rows, columns]):
                np.minimum(field, self._height, out=field)
            return
        for first, last in _halves(columns):
            self._cut_together(near, rows, slice(first, last))
        for first, last in _halves(rows):
            self._cut_together(near, slice(first, last), columns)

    def _upper(self, box: CellBox) -> Array:
        """`upper` in the cells of a box that are touched, −inf in the others."""
        if box.touched_and_covered is None:
            return self.upper[box.area]
        return np.where(box.touched_and_covered[0], self.upper[box.area], -np.inf)

    def _tops(self, capsule: Capsule, doubt: float) -> Iterator[tuple[Area, Array]]:
        """Heights of the wood that a capsule touches, −inf elsewhere, with a second look at what exceeds `doubt`.

        A cell at the rim of a cut keeps its height although a part of it is gone.  Where an earlier cut followed the
        same line, the wood that the capsule touches in this cell is no higher than that cut left it.
        """
        along: Along | None = None
        for box in self._boxes(capsule):
            tops = self._upper(box)
            if box.touched_and_covered is not None and self._places:
                j, i = np.nonzero((tops > doubt) & ~box.touched_and_covered[1])
                if len(j):
                    rows, columns = box.area
                    x, y = (i + columns.start + 0.5) * self.dx, (j + rows.start + 0.5) * self.dy
                    along = self._cuts_along(capsule) if along is None else along
                    tops[j, i] = np.minimum(tops[j, i], self._left_by_earlier_cuts(capsule, x, y, along))
            yield box.area, tops

    def _left_by_earlier_cuts(self, c: Capsule, x: Array, y: Array, along: Along) -> Array:
        """The lowest that an earlier cut along the same line left at each point, inf where there was none."""
        far, ux, uy = direction(c)
        # the part of the line from which the disc reaches the cell
        u, v = (x - c.ax) * ux + (y - c.ay) * uy, (y - c.ay) * ux - (x - c.ax) * uy
        half = np.sqrt(np.maximum((c.radius + np.hypot(self.dx, self.dy)) ** 2 - v * v, 0.0))
        begin, end = np.clip(u - half, 0.0, far), np.clip(u + half, 0.0, far)
        left = np.full(len(x), np.inf)
        for part in range(0, len(along.heights), _LOOKS):
            if along.heights[part] >= left.max():
                break
            first, last, heights = (each[part : part + _LOOKS, None] for each in along)
            same = (first <= begin) & (last >= end)
            left = np.minimum(left, np.where(same, heights, np.inf).min(axis=0))
        return left

    def _cuts_along(self, c: Capsule) -> Along:
        """Earlier cuts that may have followed this capsule's line for as long as it reaches one cell."""
        ends, (radii, heights) = self._cuts[:, :4], self._cuts[:, 4:].T
        far, _, _ = direction(c)
        first, last = stays_near(c, ends[: len(self._places)], GRAZE)
        # from anywhere but its two ends it reaches a cell over a much longer way than a crossing line stays near
        least = (c.radius * float(np.hypot(self.dx, self.dy))) ** 0.5
        useful = (last - first >= least) | ((first <= 0.0) & (last >= 0.0)) | ((first <= far) & (last >= far))
        useful &= (first <= last) & (radii[: len(first)] >= c.radius)
        chosen = np.flatnonzero(useful)
        chosen = chosen[np.argsort(heights[chosen], kind="stable")]
        return Along(first[chosen], last[chosen], heights[chosen])

    def _keep(self, c: Capsule, height: float) -> None:
        """Keep the lowest cut along each line for second looks, in the place of the oldest where there are too many."""
        place = self._places.pop(c, None)
        if place is None:
            full = len(self._places) >= _EARLIER_CUTS
            place = self._places.pop(next(iter(self._places))) if full else len(self._places)
            self._cuts[place] = *c, height
        self._places[c] = place
        self._cuts[place, 5] = min(self._cuts[place, 5], height)

    def _highest(self, parts: Iterable[tuple[Area, Array]], above: float) -> Contact | None:
        """The highest wood in boxes of cells, given as heights in each, where some stands above `above`."""
        best: Contact | None = None
        for area, tops in parts:
            row, column = divmod(int(tops.argmax()), tops.shape[1])
            top = float(tops[row, column])
            if top <= above or (best is not None and top <= best.forecast):
                continue  # the forecast is never higher than the top
            forecast = float(np.minimum(self.forecast[area], tops).max())
            if best is not None:
                forecast = max(forecast, best.forecast)
            if best is not None and best.top >= top:
                best = best._replace(forecast=forecast)
            else:
                best = Contact(top, *self._centre(area[0].start + row, area[1].start + column), forecast)
        return best

    def _centre(self, row: int, column: int) -> tuple[float, float]:
        return (column + 0.5) * self.dx, (row + 0.5) * self.dy

    def _boxes(self, capsule: Capsule) -> list[CellBox]:
        """The cells that a capsule touches; kept, since passes repeat their rows."""
        known = self._known.get(capsule)
        if known is None:
            known = list(self._new_boxes(capsule))
            cells = sum(box.touched_and_covered[0].size for box in known if box.touched_and_covered is not None)
            if len(self._known) >= _KNOWN_CAPSULES or self._known_cells + cells > _KNOWN_CELLS:
                self._known.clear()
                self._known_cells = 0
            self._known[capsule] = known
            self._known_cells += cells
        return known

    def _new_boxes(self, c: Capsule) -> Iterator[CellBox]:
        rows = _cells(min(c.ay, c.by) - c.radius, max(c.ay, c.by) + c.radius, self.dy, self.ny)
        # a single box wastes little where the line runs along x or y
        level = min(abs(c.bx - c.ax), abs(c.by - c.ay)) <= c.radius
        step = max(rows.stop - rows.start, 1) if level else max(_ROWS, int(2 * c.radius / self.dy))
        for start in range(rows.start, rows.stop, step):
            edges = self.ys[start : min(start + step, rows.stop) + 1]
            left, right = extents(c._replace(radius=max(c.radius - GRAZE, 0.0)), edges)
            first = np.maximum(np.floor(left / self.dx), 0.0)
            last = np.minimum(np.ceil(right / self.dx), float(self.nx))
            some = last > first
            if not some.any():
                continue
            columns = slice(int(first[some].min()), int(last[some].max()))
            lefts, rights = chords(c._replace(radius=c.radius + NOTHING), edges)
            inner_first = np.ceil(np.maximum(lefts[:-1], lefts[1:]) / self.dx - 1e-9)
            inner_last = np.floor(np.minimum(rights[:-1], rights[1:]) / self.dx + 1e-9)
            for part, wide, core in _around_core(slice(0, len(edges) - 1), columns, inner_first, inner_last):
                area = slice(start + part.start, start + part.stop), wide
                if core:
                    yield CellBox(area, None)
                    continue
                index = np.arange(wide.start, wide.stop)
                touched = (index >= first[part, None]) & (index < last[part, None])
                inside = (index >= inner_first[part, None]) & (index < inner_last[part, None])
                yield CellBox(area, (touched, inside))

    def left_above(self, plane: float, needed: Bools | None = None) -> Contact | None:
        """The highest wood that is left above a plane, in all cells or in those that are needed."""
        tops = self.forecast if needed is None else np.where(needed, self.forecast, -np.inf)
        row, column = divmod(int(tops.argmax()), self.nx)
        top = float(tops[row, column])
        return None if top <= plane else Contact(top, *self._centre(row, column), top)

    def extent_above(self, x: float, y: float, plane: float) -> tuple[float, float]:
        """How far the wood above a plane extends from a point along x and along y, mm, in whole cells."""
        row, column = int(y / self.dy), int(x / self.dx)
        return (
            _run_length(self.forecast[row] > plane, column) * self.dx,
            _run_length(self.forecast[:, column] > plane, row) * self.dy,
        )


def _cells(low: float, high: float, step: float, count: int) -> slice:
    """The cells that an open interval overlaps, of those that there are."""
    first = min(max(int(np.floor(low / step)), 0), count)
    return slice(first, min(max(int(np.ceil(high / step)), first), count))


def _around_core(rows: slice, columns: slice, first: Array, last: Array) -> Iterator[tuple[slice, slice, bool]]:
    """A box split into a large core of covered cells and what lies around it: (rows, columns, whether it is the core).

    `first` and `last` bound the covered cells of each row.  They form a convex area, so the rows in which nearly as
    many are covered as in the widest lie side by side.
    """
    begin, end = np.maximum(first, columns.start), np.minimum(last, columns.stop)
    width = end - begin
    wide = np.flatnonzero(width >= _CORE_WIDTH * max(float(width.max()), 1.0))
    low, high = (int(wide[0]), int(wide[-1]) + 1) if len(wide) else (0, 0)
    left, right = (int(begin[low:high].max()), int(end[low:high].min())) if len(wide) else (0, 0)
    if (right - left) * (high - low) < _CORE_CELLS:
        yield rows, columns, False
        return
    for part, across, core in (
        (slice(rows.start, low), columns, False),
        (slice(low, high), slice(columns.start, left), False),
        (slice(low, high), slice(left, right), True),
        (slice(low, high), slice(right, columns.stop), False),
        (slice(high, rows.stop), columns, False),
    ):
        if part.stop > part.start and across.stop > across.start:
            yield part, across, core


def _run_length(standing: Bools, at: int) -> int:
    """Length of the run of True round an index."""
    down = np.flatnonzero(~standing[:at])
    up = np.flatnonzero(~standing[at:])
    return int((at + up[0]) if len(up) else len(standing)) - int(down[-1] + 1 if len(down) else 0)


def _halves(run: slice) -> tuple[tuple[int, int], ...]:
    """The two halves of a run of cells, none of a single cell."""
    middle = (run.start + run.stop) // 2
    return ((run.start, middle), (middle, run.stop)) if run.stop - run.start > 1 else ()


def _runs(cells: Bools) -> Iterator[Area]:
    """All cells in runs along x, and where those are short along y."""
    if not cells.any():
        return
    rest = cells.copy()
    runs = _lines(cells)
    for row, first, last in runs[runs[:, 2] - runs[:, 1] > _SHORT_RUN].tolist():
        rest[row, first:last] = False
        yield slice(row, row + 1), slice(first, last)
    for column, first, last in _lines(rest.T).tolist():
        yield slice(first, last), slice(column, column + 1)


def _lines(cells: Bools) -> NDArray[np.intp]:
    """(runs, 3): the row, first and last + 1 of every run of True in a row."""
    padded = np.zeros((cells.shape[0], cells.shape[1] + 2), dtype=np.int8)
    padded[:, 1:-1] = cells
    rise = np.diff(padded, axis=1)
    return np.column_stack((np.argwhere(rise == 1), np.nonzero(rise == -1)[1]))
