"""The cells of a grid that a capsule touches and that it covers, in boxes of neighbouring rows and columns."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.surface import Array
from flatwise.verify.capsule import Capsule, chords, extents
from flatwise.verify.coverage import NOTHING

#: Overlaps up to this, mm, are no contact: the controller rounds as much.
GRAZE = 1e-3
#: Cells along a side of a tile.
TILE = 16
#: Rows of cells in one strip of a slanting capsule: few, so that its boxes stay tight.
_ROWS = 64
#: A box of covered cells is treated as a whole from this many cells on; its rows are at least this share as wide as
#: the widest.
_CORE_CELLS, _CORE_WIDTH = 500, 0.8

Bools = NDArray[np.bool_]
Area = tuple[slice, slice]


class CellBox(NamedTuple):
    """A box of cells (rows, columns): which of them a capsule touches and which it covers, None where it covers all."""

    area: Area
    touched_and_covered: tuple[Bools, Bools] | None


class Strip:
    """Neighbouring rows of a capsule's cells, with the columns that it touches and covers in each, from first to last.

    Its boxes are made when somebody asks for them: over many a strip nothing stands that would matter.
    """

    __slots__ = ("_bounds", "area", "boxes", "tiles")

    def __init__(self, area: Area, bounds: tuple[Array, Array, Array, Array]) -> None:
        self.area, self.tiles, self._bounds = area, tiles_over(area), bounds
        self.boxes: list[CellBox] = []

    def make_boxes(self) -> Iterator[CellBox]:
        """A large core of covered cells and what lies around it."""
        first, last, inner_first, inner_last = self._bounds
        rows, columns = self.area
        for part, wide, core in _around_core(slice(0, len(first)), columns, inner_first, inner_last):
            area = slice(rows.start + part.start, rows.start + part.stop), wide
            if core:
                yield CellBox(area, None)
                continue
            index = np.arange(wide.start, wide.stop, dtype=float)  # as the bounds are
            touched = (index >= first[part, None]) & (index < last[part, None])
            inside = (index >= inner_first[part, None]) & (index < inner_last[part, None])
            yield CellBox(area, (touched, inside))


def strips_of(c: Capsule, xs: Array, ys: Array) -> list[Strip]:
    """The strips of a capsule on a grid whose cells end at `xs` and `ys`, mm; both are evenly spaced from 0."""
    nx, ny = len(xs) - 1, len(ys) - 1
    dx, dy = float(xs[-1]) / nx, float(ys[-1]) / ny
    rows = cells_between(min(c.ay, c.by) - c.radius, max(c.ay, c.by) + c.radius, dy, ny)
    if rows.stop == rows.start:
        return []
    edges = ys[rows.start : rows.stop + 1]
    left, right = extents(c._replace(radius=max(c.radius - GRAZE, 0.0)), edges)
    first = np.maximum(np.floor(left / dx), 0.0)
    last = np.minimum(np.ceil(right / dx), float(nx))
    lefts, rights = chords(c._replace(radius=c.radius + NOTHING), edges)
    inner_first = np.ceil(np.maximum(lefts[:-1], lefts[1:]) / dx - 1e-9)
    inner_last = np.floor(np.minimum(rights[:-1], rights[1:]) / dx + 1e-9)
    # a single box wastes little where the line runs along x or y
    level = min(abs(c.bx - c.ax), abs(c.by - c.ay)) <= c.radius
    step = len(first) if level else max(_ROWS, int(2 * c.radius / dy))
    starts = np.arange(0, len(first), step)
    some = last > first
    begin = np.minimum.reduceat(np.where(some, first, np.inf), starts).tolist()
    end = np.maximum.reduceat(np.where(some, last, -np.inf), starts).tolist()
    found = []
    for start, low, high in zip(starts.tolist(), begin, end, strict=True):
        if high > low:
            part = slice(start, start + step)
            area = slice(rows.start + start, min(rows.start + start + step, rows.stop)), slice(int(low), int(high))
            found.append(Strip(area, (first[part], last[part], inner_first[part], inner_last[part])))
    return found


def cells_between(low: float, high: float, step: float, count: int) -> slice:
    """The cells that an open interval overlaps, of those that there are."""
    first = min(max(int(np.floor(low / step)), 0), count)
    return slice(first, min(max(int(np.ceil(high / step)), first), count))


def tiles_over(area: Area) -> Area:
    """The tiles (rows, columns) that an area overlaps; none where it is empty."""
    rows, columns = (slice(each.start // TILE, -(-each.stop // TILE)) for each in area)
    return (rows, columns) if area[0].stop > area[0].start and area[1].stop > area[1].start else (slice(0), slice(0))


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
