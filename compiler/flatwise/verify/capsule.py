"""Geometry of a capsule: the area that a disc sweeps along a straight line.

A capsule is convex.  So a cell lies inside it exactly when the cell's four corners do, and the capsule touches a cell
exactly when its extent in the cell's row overlaps the cell.  Both follow from chords, row by row, without sampling.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from flatwise.core.surface import Array


class Capsule(NamedTuple):
    """A disc of `radius` swept from (ax, ay) to (bx, by), mm."""

    ax: float
    ay: float
    bx: float
    by: float
    radius: float


def chords(c: Capsule, y: Array) -> tuple[Array, Array]:
    """Where lines of constant y enter and leave a capsule, x in mm: (inf, -inf) where they miss it."""
    left, right = np.full(y.shape, np.inf), np.full(y.shape, -np.inf)
    for ex, ey in ((c.ax, c.ay), (c.bx, c.by)):
        square = c.radius**2 - (y - ey) ** 2
        half = np.sqrt(np.maximum(square, 0.0))
        left = np.where(square >= 0, np.minimum(left, ex - half), left)
        right = np.where(square >= 0, np.maximum(right, ex + half), right)
    far = float(np.hypot(c.bx - c.ax, c.by - c.ay))
    if far > 0:
        dx, dy = (c.bx - c.ax) / far, (c.by - c.ay) / far
        # the straight part: 0 ≤ u ≤ far along the line, |v| ≤ radius across it, both linear in x
        u0, v0 = -c.ax * dx + (y - c.ay) * dy, c.ax * dy + (y - c.ay) * dx
        u_left, u_right = _interval(u0, dx, 0.0, far)
        v_left, v_right = _interval(v0, -dy, -c.radius, c.radius)
        a, b = np.maximum(u_left, v_left), np.minimum(u_right, v_right)
        hit = a <= b
        left = np.where(hit, np.minimum(left, a), left)
        right = np.where(hit, np.maximum(right, b), right)
    return left, right


def _interval(start: Array, slope: float, least: float, most: float) -> tuple[Array, Array]:
    """The interval of x in which least ≤ start + slope·x ≤ most."""
    if abs(slope) < 1e-12:
        inside = (start >= least) & (start <= most)
        return np.where(inside, -np.inf, np.inf), np.where(inside, np.inf, -np.inf)
    one, other = (least - start) / slope, (most - start) / slope
    return np.minimum(one, other), np.maximum(one, other)


def extents(c: Capsule, edges: Array) -> tuple[Array, Array]:
    """The extent in x of a capsule in each strip between two neighbouring y edges, mm: (inf, -inf) where it has none.

    A capsule recedes on both sides of its leftmost point.  So its left end in a strip is that of the chord nearest to
    this point; the same holds on the right.
    """
    low, high = edges[:-1], edges[1:]
    if c.ax == c.bx:
        leftmost = rightmost = np.clip(low, min(c.ay, c.by), max(c.ay, c.by))
    else:
        first, last = (c.ay, c.by) if c.ax < c.bx else (c.by, c.ay)
        leftmost, rightmost = np.full(len(low), first), np.full(len(low), last)
    left, right = chords(c, np.clip([leftmost, rightmost], low, high))
    return left[0], right[1]


def direction(c: Capsule) -> tuple[float, float, float]:
    """The length of a capsule's line, mm, and its direction in x and y; along x where it is a point."""
    far = float(np.hypot(c.bx - c.ax, c.by - c.ay))
    return (far, (c.bx - c.ax) / far, (c.by - c.ay) / far) if far else (0.0, 1.0, 0.0)


def stays_near(c: Capsule, lines: Array, reach: float) -> tuple[Array, Array]:
    """From where to where on a capsule's line, prolonged, it is within `reach` of each of `lines`, mm from its start.

    Each of `lines` is a row of ax, ay, bx, by; where the capsule's line never comes near it, the answer is (inf, -inf).
    All that lies near a line is convex: so a part of the capsule's line is near exactly when both its ends are.
    """
    _, ux, uy = direction(c)
    x, y = lines[:, 0::2] - c.ax, lines[:, 1::2] - c.ay
    along, across = x * ux + y * uy, y * ux - x * uy
    square = reach**2 - across**2
    half = np.sqrt(np.maximum(square, 0.0))
    first = np.where(square >= 0, along - half, np.inf).min(axis=1)
    last = np.where(square >= 0, along + half, -np.inf).max(axis=1)
    du, dv = along[:, 1] - along[:, 0], across[:, 1] - across[:, 0]
    far = np.hypot(du, dv)
    with np.errstate(divide="ignore", invalid="ignore"):
        cos, sin = du / far, dv / far
        # beside the straight part: 0 ≤ its own u ≤ far and |v| ≤ reach, both linear along the capsule's line
        u0, v0 = -along[:, 0] * cos - across[:, 0] * sin, along[:, 0] * sin - across[:, 0] * cos
        u, v = _stretch(u0, cos, 0.0, far), _stretch(v0, -sin, -reach, reach)
        a, b = np.maximum(u[0], v[0]), np.minimum(u[1], v[1])
    hit = (far > 0) & (a <= b)
    return np.where(hit, np.minimum(first, a), first), np.where(hit, np.maximum(last, b), last)


def _stretch(start: Array, slope: Array, least: Array | float, most: Array | float) -> tuple[Array, Array]:
    """As `_interval`, for a slope of each; to use it for chords as well would make the proof a tenth slower."""
    still = np.abs(slope) < 1e-12
    inside = (start >= least) & (start <= most)
    one, other = (least - start) / slope, (most - start) / slope
    low, high = np.minimum(one, other), np.maximum(one, other)
    return (
        np.where(still, np.where(inside, -np.inf, np.inf), low),
        np.where(still, np.where(inside, np.inf, -np.inf), high),
    )
