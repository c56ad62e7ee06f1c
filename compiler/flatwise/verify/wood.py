"""The panel's top as a field of cells, cut by a disc that moves along straight lines.

The field never claims more than is proven.  A cell counts as cut when one capsule (the disc swept along a segment)
covers it, or when the union of a level's capsules does, which is settled by cutting the cell's rectangle up along the
capsules' sides.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from flatwise.core.surface import Array, Surface
from flatwise.verify.capsule import Capsule, away, cells_along, chord, grown, off, parts, reach
from flatwise.verify.cover import NOTHING, covered

#: Below this, mm, wood and cutter do not meet: the controller's rounding is as large.
GRAZE = 1e-3
#: Rows of cells worked on at once: keeps the box round a slanting move tight.
_ROWS = 64
#: Sweeps that a second look goes back to.
_REMEMBERED = 4096
#: Cells of a field, at most.
_MOST = 3_000_000

Bools = NDArray[np.bool_]


@dataclass(frozen=True, slots=True)
class Met:
    """What a sweep met: the highest top with its bound, where, and the highest top of the forecast; mm."""

    top: float
    x: float
    y: float
    forecast: float


class Wood:
    """Heights of the top over cells of about a millimetre that end exactly at the outline.

    `high` is the highest that a cell's top may be by the forecast; `safe` the same with the bound and with `sink`,
    how low zero may have been touched, where nothing has been cut; `low` the lowest that any move left.
    Arrays are (ny, nx), mm.
    """

    def __init__(self, top: Surface, bound: float, sink: float = 0.0, cell: float = 1.0) -> None:
        cell = max(cell, (top.length * top.width / _MOST) ** 0.5)
        self.nx = max(1, int(np.ceil(top.length / cell - 1e-9)))
        self.ny = max(1, int(np.ceil(top.width / cell - 1e-9)))
        self.dx, self.dy = top.length / self.nx, top.width / self.ny
        self.length, self.width = top.length, top.width
        xs: Array = np.linspace(0.0, top.length, self.nx + 1)
        ys: Array = np.linspace(0.0, top.width, self.ny + 1)
        self.xs, self.ys = xs, ys
        self.low, self.high = top.cells(xs, ys)
        self.safe = self.high + bound + sink
        self.mean = top.grid((xs[1:] + xs[:-1]) / 2, (ys[1:] + ys[:-1]) / 2)
        #: share of a cell that moves at its lowest height have swept, where they did not cover it
        self.part = np.zeros((self.ny, self.nx), dtype=np.float32)
        self._lowest_clean = float(self.low.min()) - bound
        self._clean_at = self.centre(int(self.low.argmin()))
        #: cells that one, and that two capsules of this level have met
        self._once = np.zeros((self.ny, self.nx), dtype=bool)
        self._twice = np.zeros((self.ny, self.nx), dtype=bool)
        self._level: list[Capsule] = []
        self._height = np.inf
        #: the last sweeps, each with the highest that it left, in a ring; and the boxes round their lines (x, X, y, Y)
        self._past: list[tuple[Capsule, float]] = []
        self._boxes = np.empty((_REMEMBERED, 4))
        self._next = 0
        self.ceiling = float(self.safe.max())

    @property
    def cleanest(self) -> tuple[float, float, float]:
        """(lowest top less its bound, x, y) before any cut: a plane above it may leave some of the old face."""
        return (self._lowest_clean, *self._clean_at)

    def centre(self, flat: int) -> tuple[float, float]:
        """Middle of the cell with this index in the flattened field, mm."""
        row, column = divmod(flat, self.nx)
        return (column + 0.5) * self.dx, (row + 0.5) * self.dy

    def meet(self, capsule: Capsule, above: float) -> Met | None:
        """The highest wood that the capsule meets, where some stands above `above`; nothing is cut."""
        if self.ceiling <= above:
            return None
        best: Met | None = None
        for rows, columns, met, inside in self._chunks(capsule):
            best = self._highest(rows, columns, self._tops(rows, columns, met, inside, capsule, above), above, best)
        return best

    def box(self, x0: float, x1: float, y0: float, y1: float, radius: float, above: float) -> Met | None:
        """The highest wood above `above` that a disc may meet anywhere in a box, axes moving as they like."""
        if self.ceiling <= above:
            return None
        best: Met | None = None
        for capsule in grown(x0, x1, y0, y1, radius):
            for rows, columns, met, _ in self._chunks(capsule):
                safe = self.safe[rows, columns]
                best = self._highest(rows, columns, safe if met is None else np.where(met, safe, -np.inf), above, best)
        columns = cells_along(x0 - radius + GRAZE, x1 + radius - GRAZE, self.dx, self.nx)
        rows = cells_along(y0, y1, self.dy, self.ny)
        if columns.stop > columns.start and rows.stop > rows.start:
            best = self._highest(rows, columns, self.safe[rows, columns], above, best)
        return best

    def sweep(self, capsule: Capsule, least: float, most: float, limit: float = 0.0) -> Met | None:
        """Cut along a capsule at heights from `least` to `most`; what it bit, or None where it met no wood.

        A slanting move is taken at its lowest for what it bites and at its highest for what it leaves.  Bites up
        to `limit` need no second look.
        """
        if least >= self.ceiling:
            return None
        if most != self._height or least != most:
            if self.meet(capsule, least) is None:
                return None  # air, so the level goes on after it
            self.settle()
            self._height = most
        self._level.append(capsule)
        best: Met | None = None
        for rows, columns, met, inside in self._chunks(capsule):
            safe, high = self.safe[rows, columns], self.high[rows, columns]
            tops = self._tops(rows, columns, met, inside, capsule, least + limit)
            best = self._highest(rows, columns, tops, least, best)
            if met is None or inside is None:
                self._twice[rows, columns] |= self._once[rows, columns]
                self._once[rows, columns] = True
                for field in (safe, high):
                    np.minimum(field, most, out=field)
                continue
            self._twice[rows, columns] |= self._once[rows, columns] & met
            self._once[rows, columns] |= met
            np.minimum(safe, most, out=safe, where=inside)
            np.minimum(high, most, out=high, where=inside)
            self._rim(rows, columns, met & ~inside, capsule, least)
        self._remember(capsule, most)
        return best

    def _remember(self, c: Capsule, height: float) -> None:
        """Keep a sweep for second looks; the oldest goes where there are too many."""
        if len(self._past) < _REMEMBERED:
            self._past.append((c, height))
        else:
            self._past[self._next] = (c, height)
        self._boxes[self._next] = min(c.ax, c.bx), max(c.ax, c.bx), min(c.ay, c.by), max(c.ay, c.by)
        self._next = (self._next + 1) % _REMEMBERED

    def settle(self) -> None:
        """End a level: cells that no capsule covers alone are cut where the level's capsules cover them together."""
        level, height = self._level, self._height
        self._level = []
        if len(level) > 1:
            doubtful = self._twice & (self.safe > height)
            for row, first, last in _runs(doubtful):
                self._settle_run(level, height, row, first, last)
        if level:
            self._once[:] = False
            self._twice[:] = False
            self.ceiling = float(self.safe.max())

    def _settle_run(self, level: list[Capsule], height: float, row: int, first: int, last: int) -> None:
        x0, x1, y0, y1 = self.xs[first], self.xs[last], self.ys[row], self.ys[row + 1]
        near = [
            c
            for c in level
            if min(c.ax, c.bx) - c.radius < x1
            and max(c.ax, c.bx) + c.radius > x0
            and min(c.ay, c.by) - c.radius < y1
            and max(c.ay, c.by) + c.radius > y0
        ]
        if covered((float(x0), float(x1), float(y0), float(y1)), near):
            for field in (self.safe, self.high):
                np.minimum(field[row, first:last], height, out=field[row, first:last])
        elif last - first > 1:
            middle = (first + last) // 2
            self._settle_run(near, height, row, first, middle)
            self._settle_run(near, height, row, middle, last)

    def _tops(
        self, rows: slice, columns: slice, met: Bools | None, inside: Bools | None, capsule: Capsule, doubt: float
    ) -> Array:
        """Heights of the wood that a capsule meets, −inf elsewhere; a closer look at what stands above `doubt`.

        A cell astride the rim keeps its old height though the part within may be gone: where an earlier sweep ran
        along the same line, what the capsule meets in the cell is no higher than that sweep left it.
        """
        if met is None or inside is None:
            return self.safe[rows, columns]
        tops: Array = np.where(met, self.safe[rows, columns], -np.inf)
        j, i = np.nonzero((tops > doubt) & ~inside)
        if len(j) and self._past:
            left = self._been(capsule, (i + columns.start + 0.5) * self.dx, (j + rows.start + 0.5) * self.dy)
            tops[j, i] = np.minimum(tops[j, i], left)
        return tops

    def _been(self, c: Capsule, x: Array, y: Array) -> Array:
        """The lowest that an earlier sweep along the same line left near each place, inf where there was none."""
        far = float(np.hypot(c.bx - c.ax, c.by - c.ay))
        ux, uy = ((c.bx - c.ax) / far, (c.by - c.ay) / far) if far else (0.0, 0.0)
        # the stretch of the line from which the disc can meet the cell
        u, v = (x - c.ax) * ux + (y - c.ay) * uy, (y - c.ay) * ux - (x - c.ax) * uy
        half = np.sqrt(np.maximum((c.radius + np.hypot(self.dx, self.dy)) ** 2 - v * v, 0.0))
        ends = [np.clip(u + way * half, 0.0, far) for way in (-1.0, 1.0)]
        places = [(c.ax + t * ux, c.ay + t * uy) for t in ends]
        left = np.full(len(x), np.inf)
        for past, height in self._touching(c):
            if height >= left.max():
                break
            if past.radius < c.radius:
                continue
            same = np.ones(len(x), dtype=bool)
            for px, py in places:
                same &= off(past, px, py) <= GRAZE
            left[same] = np.minimum(left[same], height)
        return left

    def _touching(self, c: Capsule) -> list[tuple[Capsule, float]]:
        """Remembered sweeps whose lines may have a place in common with this one's, the lowest first."""
        x0, x1, y0, y1 = self._boxes[: len(self._past)].T
        near = (x0 <= max(c.ax, c.bx) + GRAZE) & (x1 >= min(c.ax, c.bx) - GRAZE)
        near &= (y0 <= max(c.ay, c.by) + GRAZE) & (y1 >= min(c.ay, c.by) - GRAZE)
        return sorted((self._past[k] for k in np.flatnonzero(near)), key=lambda sweep: sweep[1])

    def _highest(self, rows: slice, columns: slice, tops: Array, above: float, best: Met | None) -> Met | None:
        """What is met, after one more part of it: the highest top and the highest of the forecast."""
        at = int(tops.argmax())
        row, column = divmod(at, tops.shape[1])
        top = float(tops[row, column])
        if top <= above or (best is not None and top <= best.forecast):
            return best
        forecast = float(np.minimum(self.high[rows, columns], tops).max())
        if best is not None:
            forecast = max(forecast, best.forecast)
            if top <= best.top:
                return Met(best.top, best.x, best.y, forecast)
        x, y = (columns.start + column + 0.5) * self.dx, (rows.start + row + 0.5) * self.dy
        return Met(top, x, y, forecast)

    def _rim(self, rows: slice, columns: slice, rim: Bools, c: Capsule, z: float) -> None:
        """Keep what share of a cell at the rim is swept, for the volume: by its middle's distance to the rim."""
        j, i = np.nonzero(rim & (np.minimum(self.mean[rows, columns], self.high[rows, columns]) > z))
        if not len(j):
            return
        j, i = j + rows.start, i + columns.start
        x, y = (i + 0.5) * self.dx, (j + 0.5) * self.dy
        away_x, away_y = away(c, x, y)
        far = np.hypot(away_x, away_y)
        # the cell's extent along the way to the rim
        extent = (np.abs(away_x) * self.dx + np.abs(away_y) * self.dy) / np.where(far > 0, far, 1.0)
        share = np.clip(0.5 + (c.radius - far) / np.where(extent > 0, extent, 1.0), 0.0, 1.0)
        lower = z < self.low[j, i] - 1e-9
        self.part[j, i] = np.where(lower, share, np.maximum(self.part[j, i], share))
        self.low[j, i] = np.where(lower, z, self.low[j, i])

    def _chunks(self, capsule: Capsule) -> Iterator[tuple[slice, slice, Bools | None, Bools | None]]:
        """(rows, columns, cells that are met, cells that lie wholly inside); None and None where all cells do."""
        c = capsule
        all_rows = cells_along(min(c.ay, c.by) - c.radius, max(c.ay, c.by) + c.radius, self.dy, self.ny)
        # a box round all of it wastes little where the line runs along x or y
        square = min(abs(c.bx - c.ax), abs(c.by - c.ay)) <= c.radius
        step = max(all_rows.stop - all_rows.start, 1) if square else _ROWS
        for start in range(all_rows.start, all_rows.stop, step):
            stop = min(start + step, all_rows.stop)
            edges = self.ys[start : stop + 1]
            left, right = reach(c._replace(radius=max(c.radius - GRAZE, 0.0)), edges)
            first = np.maximum(np.floor(left / self.dx), 0.0)
            last = np.minimum(np.ceil(right / self.dx), float(self.nx))
            some = last > first
            if not some.any():
                continue
            columns = slice(int(first[some].min()), int(last[some].max()))
            lefts, rights = chord(c._replace(radius=c.radius + NOTHING), edges)
            inner_first = np.ceil(np.maximum(lefts[:-1], lefts[1:]) / self.dx - 1e-9)
            inner_last = np.floor(np.minimum(rights[:-1], rights[1:]) / self.dx + 1e-9)
            for rows, part, core in parts(slice(0, stop - start), columns, inner_first, inner_last):
                here = slice(start + rows.start, start + rows.stop)
                if core:
                    yield here, part, None, None
                    continue
                index = np.arange(part.start, part.stop)
                met = (index >= first[rows, None]) & (index < last[rows, None])
                yield here, part, met, (index >= inner_first[rows, None]) & (index < inner_last[rows, None])

    def left_above(self, plane: float, needed: Bools | None = None) -> Met | None:
        """The highest wood that is left above a plane, over the cells that are needed (all of them)."""
        tops = self.high if needed is None else np.where(needed, self.high, -np.inf)
        at = int(tops.argmax())
        top = float(tops.ravel()[at])
        return None if top <= plane else Met(top, *self.centre(at), top)

    def extent(self, met: Met, plane: float) -> tuple[float, float]:
        """How far what is left above a plane reaches from a place along x and along y, mm, in whole cells."""
        row, column = int(met.y / self.dy), int(met.x / self.dx)
        return (
            _stretch(self.high[row] > plane, column) * self.dx,
            _stretch(self.high[:, column] > plane, row) * self.dy,
        )

    def removed(self) -> float:
        """Volume taken off the forecast, mm³; a cell that the rim crosses counts by its share."""
        top = np.minimum(self.mean, self.high)
        whole = (self.mean - top).sum()
        rest = (np.maximum(top - self.low, 0.0) * self.part).sum()
        return float(whole + rest) * self.dx * self.dy


def _stretch(standing: Bools, at: int) -> int:
    """Length of the run of True round an index."""
    down = np.flatnonzero(~standing[:at])
    up = np.flatnonzero(~standing[at:])
    return int((at + up[0]) if len(up) else len(standing)) - int(down[-1] + 1 if len(down) else 0)


def _runs(cells: Bools) -> Iterator[tuple[int, int, int]]:
    """(row, first, last + 1) of every run of True in a row."""
    if not cells.any():
        return
    padded = np.zeros((cells.shape[0], cells.shape[1] + 2), dtype=np.int8)
    padded[:, 1:-1] = cells
    rise = np.diff(padded, axis=1)
    for (row, first), last in zip(np.argwhere(rise == 1), np.nonzero(rise == -1)[1], strict=True):
        yield int(row), int(first), int(last)
