"""A face of the panel as heights over its outline.

The surface is piecewise bilinear over a rectangular grid of nodes, and that *is* the forecast: every stage works on the
same surface, so a linear program over its nodes is exact, and so are the extremes of a cell.  A coordinate that occurs
twice in `xs` or `ys` is a step (a glue line): both heights are kept.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from hashlib import blake2b
from typing import Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

Array = NDArray[np.float64]

#: `_reduce` takes the points of a range one after another if there are at most this many
SHORT_RANGE = 8


@dataclass(frozen=True, eq=False)
class Surface:
    """Heights in mm.  Two surfaces are equal if all their nodes are.

    xs: (nx,) and ys: (ny,) mm, ascending from 0 to the panel's length or width, with a value twice at a step.
    z: (ny, nx) mm.
    """

    xs: Array
    ys: Array
    z: Array

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Surface) and self._content == other._content

    def __hash__(self) -> int:
        return hash(self._content)

    @cached_property
    def _content(self) -> tuple[bytes, int]:
        """A digest of the nodes and how many lie along X: equal for equal surfaces, so that results can be cached."""
        digest = blake2b(digest_size=16)
        for part in (self.xs, self.ys, self.z):
            digest.update(part.tobytes())
        return digest.digest(), len(self.xs)

    @property
    def length(self) -> float:
        return float(self.xs[-1])

    @property
    def width(self) -> float:
        return float(self.ys[-1])

    @property
    def highest(self) -> float:
        return float(self.z.max())

    @property
    def lowest(self) -> float:
        return float(self.z.min())

    @property
    def mean(self) -> float:
        """Mean height over the area, exact for a bilinear surface, mm."""
        dx, dy = np.diff(self.xs), np.diff(self.ys)
        cells = (self.z[:-1, :-1] + self.z[1:, :-1] + self.z[:-1, 1:] + self.z[1:, 1:]) / 4.0
        return float(dy @ cells @ dx / (self.length * self.width))

    def nodes(self) -> Array:
        """(n, 3): x, y, z of every node in mm; whatever plane is added, the surface's extremes are at nodes."""
        x, y = np.meshgrid(self.xs, self.ys)
        return np.column_stack((x.ravel(), y.ravel(), self.z.ravel()))

    def at(self, x: ArrayLike, y: ArrayLike) -> Array:
        """Heights in mm at points (broadcast together): on a step, the far boards'; off the outline, its edge's."""
        i, s = _locate(self.xs, np.asarray(x, dtype=float))
        j, t = _locate(self.ys, np.asarray(y, dtype=float))
        z = self.z
        front = z[j, i] * (1 - s) + z[j, i + 1] * s
        back = z[j + 1, i] * (1 - s) + z[j + 1, i + 1] * s
        return np.asarray(front * (1 - t) + back * t)

    def grid(self, xs: Array, ys: Array) -> Array:
        """Heights in mm where lines cross, (len(ys), len(xs)): the same as `at`, several times as fast."""
        i, s = _locate(self.xs, xs)
        j, t = _locate(self.ys, ys)
        lines = self.z[j] * (1 - t)[:, None] + self.z[j + 1] * t[:, None]
        return np.asarray(lines[:, i] * (1 - s) + lines[:, i + 1] * s)

    def both_at(self, x: float, y: float) -> tuple[float, float]:
        """The lowest and the highest height at one point: two heights on a step."""
        low, high = self.cells(np.array([x, x]), np.array([y, y]))
        return float(low[0, 0]), float(high[0, 0])

    def cells(self, x_edges: ArrayLike, y_edges: ArrayLike) -> tuple[Array, Array]:
        """Exact lowest and highest height in mm over each closed cell: two arrays (ny - 1, nx - 1).

        Edges ascend.  Parts of a cell off the outline have the height of the outline's edge.
        """
        xe = np.clip(np.asarray(x_edges, dtype=float), 0.0, self.length)
        ye = np.clip(np.asarray(y_edges, dtype=float), 0.0, self.width)
        xi, xt, xp = _refine(self.xs, xe)
        yi, yt, yp = _refine(self.ys, ye)
        rows = self.z[yi] * (1 - yt)[:, None] + self.z[yi + 1] * yt[:, None]
        x0, x1 = _ranges(xp, xe)
        y0, y1 = _ranges(yp, ye)
        # extremes over x first, row by row, then over y: each row of nodes is a row of the refined grid
        fine = rows[:, xi] * (1 - xt) + rows[:, xi + 1] * xt
        low = _reduce(np.minimum, _reduce(np.minimum, fine, x0, x1, 1), y0, y1, 0)
        high = _reduce(np.maximum, _reduce(np.maximum, fine, x0, x1, 1), y0, y1, 0)
        return low, high

    def plus(self, a: float, b: float, c: float) -> Surface:
        """The surface with the plane a·x + b·y + c added (a, b in mm per mm, c in mm)."""
        return Surface(self.xs, self.ys, self.z + a * self.xs[None, :] + b * self.ys[:, None] + c)

    def under(self, plane: float) -> Surface:
        """The distance in mm from this surface up to a plane above it: plane − height."""
        return Surface(self.xs, self.ys, plane - self.z)

    def turned(self, about: Literal["x", "y"]) -> Surface:
        """Mirrored as when the panel is turned over: about x (x,y)→(x,W−y), about y (x,y)→(L−x,y).  Heights stay."""
        if about == "x":
            return Surface(self.xs, (self.width - self.ys)[::-1], self.z[::-1])
        return Surface((self.length - self.xs)[::-1], self.ys, self.z[:, ::-1])

    @staticmethod
    def flat(length: float, width: float, height: float) -> Surface:
        """A level surface."""
        return Surface(np.array([0.0, length]), np.array([0.0, width]), np.full((2, 2), float(height)))


def distinct(values: Array) -> Array:
    """The values in ascending order, each once.  (`np.unique` first loads numpy's masked arrays, which takes 13 ms.)"""
    ordered = np.sort(values, axis=None)
    return np.asarray(ordered[np.concatenate(([True], ordered[1:] != ordered[:-1]))])


def _locate(nodes: Array, at: Array) -> tuple[NDArray[np.intp], Array]:
    """Index of the segment and the fraction along it; a point on a doubled node is in the later segment."""
    at = np.clip(at, nodes[0], nodes[-1])
    i = np.clip(np.searchsorted(nodes, at, side="right") - 1, 0, len(nodes) - 2)
    # a step at the very end has no length: go back to a segment that has
    while True:
        empty = (nodes[i + 1] <= nodes[i]) & (i > 0)
        if not empty.any():
            break
        i = np.where(empty, i - 1, i)
    span = nodes[i + 1] - nodes[i]
    return i, np.where(span > 0, (at - nodes[i]) / np.where(span > 0, span, 1.0), 0.0)


def _refine(nodes: Array, edges: Array) -> tuple[NDArray[np.intp], Array, Array]:
    """Nodes and edges together in ascending order, as (segment, fraction, position); doubled nodes stay doubled."""
    last = len(nodes) - 1
    inner = distinct(edges)
    inner = inner[nodes[np.minimum(np.searchsorted(nodes, inner), last)] != inner]
    at = np.concatenate((np.arange(len(nodes)), np.searchsorted(nodes, inner, side="right") - 1))
    position = np.concatenate((nodes, inner))
    order = np.argsort(position, kind="stable")
    at, position = at[order], position[order]
    segment = np.minimum(at, last - 1)
    start = nodes[segment]
    span = nodes[segment + 1] - start
    fraction = np.where(at == last, 1.0, np.where(span > 0, (position - start) / np.where(span > 0, span, 1.0), 0.0))
    return segment, fraction, position


def _ranges(position: Array, edges: Array) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """First index and index after the last of the positions in each closed cell."""
    return (
        np.searchsorted(position, edges[:-1], side="left"),
        np.searchsorted(position, edges[1:], side="right"),
    )


def _reduce(op: np.ufunc, values: Array, start: NDArray[np.intp], stop: NDArray[np.intp], axis: int) -> Array:
    """`op` over values[start:stop] along an axis, for ranges that may share their ends."""
    if (widest := int((stop - start).max(initial=0))) <= SHORT_RANGE:
        # a few calls of take are several times as fast as reduceat over many short ranges
        reduced = np.take(values, start, axis=axis)
        for k in range(1, widest):
            op(reduced, np.take(values, np.minimum(start + k, stop - 1), axis=axis), out=reduced)
        return reduced
    pad = np.take(values, [-1], axis=axis)
    padded = np.concatenate((values, pad), axis=axis)
    pairs = np.column_stack((start, stop)).ravel()
    reduced = op.reduceat(padded, pairs, axis=axis)
    return np.asarray(np.take(reduced, np.arange(0, len(pairs), 2), axis=axis))
