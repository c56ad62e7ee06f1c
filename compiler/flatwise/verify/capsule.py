"""Geometry of a capsule: a disc swept along a straight line, against the rows and cells of a field.

A capsule is convex, so a cell lies wholly inside it exactly when its four corners do, and is met by it exactly when
the capsule's stretch in the cell's row meets the cell: both come from chords, row by row, with no sampling.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

import numpy as np

from flatwise.core.surface import Array

#: Of a sweep's box so many cells that lie wholly inside are worth to be treated as one, and how wide a row of them is,
#: as a share of the widest.
_LARGE, _NEARLY = 2_000, 0.8


class Capsule(NamedTuple):
    """A disc of `radius` swept from (ax, ay) to (bx, by), mm."""

    ax: float
    ay: float
    bx: float
    by: float
    radius: float


def chord(c: Capsule, y: Array) -> tuple[Array, Array]:
    """Where lines of constant y enter and leave a capsule: (left, right), (inf, -inf) where they miss it."""
    left, right = np.full(len(y), np.inf), np.full(len(y), -np.inf)
    for ex, ey in ((c.ax, c.ay), (c.bx, c.by)):
        under = c.radius**2 - (y - ey) ** 2
        half = np.sqrt(np.maximum(under, 0.0))
        left = np.where(under >= 0, np.minimum(left, ex - half), left)
        right = np.where(under >= 0, np.maximum(right, ex + half), right)
    far = float(np.hypot(c.bx - c.ax, c.by - c.ay))
    if far > 0:
        dx, dy = (c.bx - c.ax) / far, (c.by - c.ay) / far
        # the straight part: 0 ≤ u ≤ far along, |v| ≤ radius across, both linear in x
        u0, v0 = -c.ax * dx + (y - c.ay) * dy, c.ax * dy + (y - c.ay) * dx
        u_left, u_right = _between(u0, dx, 0.0, far)
        v_left, v_right = _between(v0, -dy, -c.radius, c.radius)
        a, b = np.maximum(u_left, v_left), np.minimum(u_right, v_right)
        hit = a <= b
        left = np.where(hit, np.minimum(left, a), left)
        right = np.where(hit, np.maximum(right, b), right)
    return left, right


def _between(start: Array, slope: float, least: float, most: float) -> tuple[Array, Array]:
    """The x for which least ≤ start + slope·x ≤ most."""
    if abs(slope) < 1e-12:
        inside = (start >= least) & (start <= most)
        return np.where(inside, -np.inf, np.inf), np.where(inside, np.inf, -np.inf)
    one, other = (least - start) / slope, (most - start) / slope
    return np.minimum(one, other), np.maximum(one, other)


def reach(c: Capsule, edges: Array) -> tuple[Array, Array]:
    """The stretch of x over which a capsule meets each strip between two edges: (left, right).

    The capsule's left end recedes on both sides of its leftmost point, so its reach in a strip is its chord
    where the strip comes nearest to that point; the same on the right.
    """
    low, high = edges[:-1], edges[1:]
    y_low, y_high = min(c.ay, c.by), max(c.ay, c.by)
    if c.ax == c.bx:
        leftmost = rightmost = np.clip(low, y_low, y_high)
    else:
        first, last = (c.ay, c.by) if c.ax < c.bx else (c.by, c.ay)
        leftmost, rightmost = np.full(len(low), first), np.full(len(low), last)
    left, _ = chord(c, np.clip(leftmost, low, high))
    _, right = chord(c, np.clip(rightmost, low, high))
    return left, right


def away(c: Capsule, x: Array, y: Array) -> tuple[Array, Array]:
    """From the nearest place on a capsule's line to each point, mm in x and in y."""
    ux, uy = c.bx - c.ax, c.by - c.ay
    far = ux * ux + uy * uy
    t = np.clip(((x - c.ax) * ux + (y - c.ay) * uy) / far, 0.0, 1.0) if far else np.zeros(len(x))
    return x - c.ax - t * ux, y - c.ay - t * uy


def off(c: Capsule, x: Array, y: Array) -> Array:
    return np.asarray(np.hypot(*away(c, x, y)))


def grown(x0: float, x1: float, y0: float, y1: float, radius: float) -> tuple[Capsule, Capsule]:
    """The front and back of a box that a disc sweeps."""
    return Capsule(x0, y0, x1, y0, radius), Capsule(x0, y1, x1, y1, radius)


def cells_along(low: float, high: float, step: float, count: int) -> slice:
    """Cells that an open stretch meets, clipped to the field."""
    first = min(max(int(np.floor(low / step)), 0), count)
    last = min(max(int(np.ceil(high / step)), first), count)
    return slice(first, last)


def parts(rows: slice, columns: slice, first: Array, last: Array) -> Iterator[tuple[slice, slice, bool]]:
    """A box in parts: (rows, columns, whether the whole part lies inside), where a large one does.

    `first` and `last` are the cells inside in every row.  What lies inside is convex, so rows in which nearly as much
    lies inside as in any other follow one another.
    """
    begin, end = np.maximum(first, columns.start), np.minimum(last, columns.stop)
    wide = end - begin
    most = float(wide.max())
    at = np.flatnonzero(wide >= _NEARLY * max(most, 1.0))
    if not len(at):
        yield rows, columns, False
        return
    low, high = int(at[0]), int(at[-1]) + 1
    left, right = int(begin[low:high].max()), int(end[low:high].min())
    if (right - left) * (high - low) < _LARGE:
        yield rows, columns, False
        return
    for some, part, core in (
        (slice(rows.start, low), columns, False),
        (slice(low, high), slice(columns.start, left), False),
        (slice(low, high), slice(left, right), True),
        (slice(low, high), slice(right, columns.stop), False),
        (slice(high, rows.stop), columns, False),
    ):
        if some.stop > some.start and part.stop > part.start:
            yield some, part, core
