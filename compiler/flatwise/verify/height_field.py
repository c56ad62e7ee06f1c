"""The top of the panel as a grid of cells, cut by a disc that moves along straight lines.

The field never claims more than is proven.  A cell counts as cut when one capsule (the disc swept along a straight
line) covers it, or when the capsules of one level cover it together.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.surface import Array, Surface
from flatwise.verify.capsule import Capsule
from flatwise.verify.cells import GRAZE, TILE, Area, Bools, CellBox, Strip, cells_between, strips_of, tiles_over
from flatwise.verify.coverage import covered
from flatwise.verify.earlier_cuts import Along, EarlierCuts

#: Capsules whose cells are kept: more than the rows of a pass; and the most of these cells.
_KNOWN_CAPSULES, _KNOWN_CELLS = 1024, 16_000_000
#: Most cells of a field.
_MOST_CELLS = 3_000_000
#: Runs along x of up to so many cells are taken along y instead.
_SHORT_RUN = 8


class Contact(NamedTuple):
    """The highest wood that a cutter touches: `top` with its bound, where, and the highest top of the forecast; mm."""

    top: float
    x: float
    y: float
    forecast: float


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
        # in whole tiles of cells, and the highest `upper` in each: where a tile is low, nobody looks at its cells
        self._tiled = np.full((-(-self.ny // TILE) * TILE, -(-self.nx // TILE) * TILE), -np.inf)
        self.upper = self._tiled[: self.ny, : self.nx]
        np.minimum(upper, measured, out=self.upper)
        self._roof = np.empty((self._tiled.shape[0] // TILE, self._tiled.shape[1] // TILE))
        self._new_roof((slice(0, self.ny), slice(0, self.nx)))
        self.ceiling = float(self._roof.max())
        #: the capsules of the present level, its height, and the cells that one or several of them cover in part
        self._level: list[Capsule] = []
        #: where the roof may be too high since then
        self._changed: list[Area] = []
        self._height = np.inf
        self._once = np.zeros((self.ny, self.nx), dtype=bool)
        self._twice = np.zeros((self.ny, self.nx), dtype=bool)
        self._earlier = EarlierCuts(self.dx, self.dy)
        self._known: dict[Capsule, list[Strip]] = {}
        self._known_cells = 0

    def meets(self, capsule: Capsule, above: float) -> bool:
        """Whether a capsule touches wood that stands above `above`; nothing is cut."""
        if self.ceiling <= above:
            return False
        met = self._any(capsule, above)
        if not met or not self._level or above >= self._height:
            return met
        self.finish_level()  # what stood between the rows of the level above may be gone
        return self._any(capsule, above)

    def touch(self, capsule: Capsule, above: float) -> Contact | None:
        """The highest wood in a capsule, where some stands above `above`; nothing is cut."""
        return self._highest(self._tops(capsule, above, above), above) if self.meets(capsule, above) else None

    def meets_in_box(self, x0: float, x1: float, y0: float, y1: float, radius: float, above: float) -> bool:
        """Whether a disc may touch wood above `above` while its centre is anywhere in a box."""
        if self.ceiling <= above:
            return False
        rows = cells_between(y0 - radius, y1 + radius, self.dy, self.ny)
        columns = cells_between(x0 - radius, x1 + radius, self.dx, self.nx)
        if self._roof[tiles_over((rows, columns))].max(initial=-np.inf) <= above:
            return False
        # the large middle mostly shows it
        parts = chain(self._middle(x0, x1, y0, y1, radius), self._front_and_back(x0, x1, y0, y1, radius))
        return any(float(tops.max()) > above for _, tops in parts)

    def touch_in_box(self, x0: float, x1: float, y0: float, y1: float, radius: float, above: float) -> Contact | None:
        """The highest wood above `above` that a disc may touch while its centre is anywhere in a box."""
        if not self.meets_in_box(x0, x1, y0, y1, radius, above):
            return None
        parts = chain(self._front_and_back(x0, x1, y0, y1, radius), self._middle(x0, x1, y0, y1, radius))
        return self._highest(parts, above)

    def _middle(self, x0: float, x1: float, y0: float, y1: float, radius: float) -> Iterator[tuple[Area, Array]]:
        """Heights that a disc with its centre anywhere in a box may touch in the rows of the box itself."""
        rows = cells_between(y0, y1, self.dy, self.ny)
        columns = cells_between(x0 - radius + GRAZE, x1 + radius - GRAZE, self.dx, self.nx)
        if rows.stop > rows.start and columns.stop > columns.start:
            yield (rows, columns), self.upper[rows, columns]

    def _front_and_back(
        self, x0: float, x1: float, y0: float, y1: float, radius: float
    ) -> Iterator[tuple[Area, Array]]:
        """Heights that it may touch with its centre at the front and at the back of the box."""
        for y in (y0, y1):
            for box in self._boxes(Capsule(x0, y, x1, y, radius)):
                yield box.area, self._upper(box)

    def cut(
        self, capsule: Capsule, lowest: float, highest: float, limit: float = 0.0, enough: float = np.inf
    ) -> Contact | None:
        """Cut along a capsule at heights from `lowest` to `highest`: what it touched, None where it was in air.

        A slanting move bites as at its lowest height and leaves what it would leave at its highest.  Bites up to
        `limit` get no second look.  Once it has touched wood above `enough`, no higher is looked for.
        """
        if lowest >= self.ceiling:
            return None
        if highest != self._height or lowest != highest:
            if not self.meets(capsule, lowest):
                return None  # in air, so the level continues after it
            self.finish_level()
            self._height = highest
        contact = self._highest(self._tops(capsule, lowest, lowest + limit), lowest, enough)
        self._level.append(capsule)
        # with a second capsule the first needs its marks
        for each in self._level if len(self._level) == 2 else [capsule]:
            self._lower(each, len(self._level) > 1)
        self._earlier.keep(capsule, highest)
        return contact

    def _lower(self, capsule: Capsule, mark: bool) -> None:
        """Cut the cells that a capsule of the present level covers, and mark those that it touches."""
        for strip in self._strips(capsule):
            if self._roof[strip.tiles].max() <= self._height:
                continue
            for area, masks in self._boxes_of(strip):
                most = self._height if masks is None else np.where(masks[1], self._height, np.inf)
                for field in (self.upper[area], self.forecast[area]):
                    np.minimum(field, most, out=field)
                if mark and masks is not None:
                    self._twice[area] |= self._once[area] & masks[0]
                    self._once[area] |= masks[0]
            self._changed.append(strip.area)

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
            self._once[:] = False
            self._twice[:] = False
        if len(self._level) > 1 and self._changed:
            self._changed = [_round_all(self._changed)]
        for area in self._changed:
            self._new_roof(area)
        if self._level:
            self._level, self._changed = [], []
            self.ceiling = float(self._roof.max())

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

    def _any(self, capsule: Capsule, above: float) -> bool:
        """Whether `_tops` with a second look at all of them are above `above` anywhere."""
        doubted: list[tuple[Area, Bools]] = []
        for box in self._boxes(capsule, above):
            if box.touched_and_covered is None:
                if float(self.upper[box.area].max()) > above:
                    return True
                continue
            touched, covered = box.touched_and_covered
            over = (self.upper[box.area] > above) & touched
            if not over.any():
                continue
            if not self._earlier or (over & covered).any():
                return True
            doubted.append((box.area, over))
        if not doubted:
            return False
        along = self._earlier.along(capsule).up_to(above)
        if along.whole <= above or not len(along.heights):
            return along.whole > above
        looks = (self._earlier.left(capsule, area, np.nonzero(over), along) for area, over in doubted)
        return any(float(left.max()) > above for left in looks)

    def _tops(self, capsule: Capsule, above: float, doubt: float) -> Iterator[tuple[Area, Array]]:
        """Heights of the wood that a capsule touches, −inf elsewhere, where some stands above `above`.

        What exceeds `doubt` gets a second look.  A cell at the rim of a cut keeps its height although a part of it is
        gone.  Where an earlier cut followed the same line, the wood that the capsule touches in this cell is no higher
        than that cut left it.
        """
        along: Along | None = None
        for strip in self._strips(capsule):
            roof = self._roof[strip.tiles].max()
            if roof <= above:
                continue
            looks = bool(self._earlier) and roof > doubt
            for box in self._boxes_of(strip):
                tops = self._upper(box)
                if looks and box.touched_and_covered is not None:
                    cells = np.nonzero((tops > doubt) & ~box.touched_and_covered[1])
                    if len(cells[0]):
                        along = self._earlier.along(capsule) if along is None else along
                        tops[cells] = np.minimum(tops[cells], self._earlier.left(capsule, box.area, cells, along))
                yield box.area, tops

    def _highest(self, parts: Iterable[tuple[Area, Array]], above: float, enough: float = np.inf) -> Contact | None:
        """The highest wood in boxes of cells, given as heights in each, where some stands above `above`.

        Once some stands above `enough`, the other boxes are left.
        """
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
                if top > enough:
                    break
        return best

    def _centre(self, row: int, column: int) -> tuple[float, float]:
        return (column + 0.5) * self.dx, (row + 0.5) * self.dy

    def _new_roof(self, area: Area) -> None:
        """The roof over an area whose cells have changed."""
        rows, columns = tiles_over(area)
        high, wide = rows.stop - rows.start, columns.stop - columns.start
        cells = self._tiled[TILE * rows.start : TILE * rows.stop, TILE * columns.start : TILE * columns.stop]
        # first by rows, which lie side by side in memory
        lines = cells.reshape(high, TILE, wide * TILE).max(axis=1)
        self._roof[rows, columns] = lines.reshape(high, wide, TILE).max(axis=2)

    def _boxes(self, capsule: Capsule, above: float = -np.inf) -> Iterator[CellBox]:
        """The cells that a capsule touches, but for some of those that no wood above `above` stands in."""
        for strip in self._strips(capsule):
            if self._roof[strip.tiles].max() > above:
                yield from self._boxes_of(strip)

    def _boxes_of(self, strip: Strip) -> list[CellBox]:
        """The boxes of a strip; too many cells are not kept."""
        if not strip.boxes:
            strip.boxes = list(strip.make_boxes())
            masks = (box.touched_and_covered for box in strip.boxes)
            self._known_cells += sum(each[0].size for each in masks if each is not None)
            if self._known_cells > _KNOWN_CELLS:
                self._known.clear()
                self._known_cells = 0
        return strip.boxes

    def _strips(self, capsule: Capsule) -> list[Strip]:
        """The strips of a capsule; kept, since passes repeat their rows."""
        known = self._known.get(capsule)
        if known is None:
            known = strips_of(capsule, self.xs, self.ys)
            if len(self._known) >= _KNOWN_CAPSULES:
                self._known.clear()
                self._known_cells = 0
            self._known[capsule] = known
        return known

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


def _round_all(areas: list[Area]) -> Area:
    """The box round some areas."""
    rows, columns = zip(*areas, strict=True)
    return (
        slice(min(each.start for each in rows), max(each.stop for each in rows)),
        slice(min(each.start for each in columns), max(each.stop for each in columns)),
    )


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
