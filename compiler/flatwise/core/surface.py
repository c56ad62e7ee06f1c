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
        """Heights where lines cross, (len(ys), len(xs)) mm: as `at`, but several times faster."""
        return _between(self.xs, _between(self.ys, self.z.T, ys).T, xs)

    def both_at(self, x: float, y: float) -> tuple[float, float]:
        """The lowest and the highest height at a point, which differ on a step."""
        low, high = self.cells(np.array([x, x]), np.array([y, y]))
        return float(low[0, 0]), float(high[0, 0])

    def cells(self, x_edges: ArrayLike, y_edges: ArrayLike) -> tuple[Array, Array]:
        """Exact lowest and highest height in mm over each closed cell: two arrays (ny - 1, nx - 1).

        Edges ascend.  Parts of a cell off the outline have the height of the outline's edge.
        """
        xe = np.clip(np.asarray(x_edges, dtype=float), 0.0, self.length)
        ye = np.clip(np.asarray(y_edges, dtype=float), 0.0, self.width)
        # heights along the lines of nodes and along the y edges, each at the nodes and at the x edges
        lines = [(along, _between(self.xs, along, xe)) for along in (self.z, _between(self.ys, self.z.T, ye).T)]

        def extreme(op: np.ufunc) -> Array:
            at_nodes, at_edges = (_over_cells(op, self.xs, nodes, xe, edges) for nodes, edges in lines)
            return _over_cells(op, self.ys, at_nodes.T, ye, at_edges.T).T

        return extreme(np.minimum), extreme(np.maximum)

    def plus(self, a: float, b: float, c: float) -> Surface:
        """The surface with the plane a·x + b·y + c added (a, b in mm per mm, c in mm)."""
        return Surface(self.xs, self.ys, self.z + a * self.xs[None, :] + b * self.ys[:, None] + c)

    def raised(self, by: Surface, sign: float = 1.0) -> Surface:
        """The surface with sign × another one on the same nodes added, mm."""
        return Surface(self.xs, self.ys, self.z + sign * by.z)

    def level(self, height: float) -> Surface:
        """A level surface on the same nodes, mm."""
        return Surface(self.xs, self.ys, np.full_like(self.z, float(height)))

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


def _between(nodes: Array, values: Array, at: Array) -> Array:
    """Values at nodes (rows, nodes) → values between them, linear (rows, at)."""
    i, s = _locate(nodes, at)
    return np.asarray(values[:, i] * (1 - s) + values[:, i + 1] * s)


def _over_cells(op: np.ufunc, nodes: Array, at_nodes: Array, edges: Array, at_edges: Array) -> Array:
    """`op` (minimum or maximum) of rows over each closed cell between two edges; linear between nodes and edges."""
    extreme = np.asarray(op(at_edges[:, :-1], at_edges[:, 1:]))
    begin, end = np.searchsorted(edges, nodes, side="left") - 1, np.searchsorted(edges, nodes, side="right")
    for k in range(np.searchsorted(nodes, edges[0]), np.searchsorted(nodes, edges[-1], side="right")):
        cells = extreme[:, max(begin[k], 0) : end[k]]
        op(cells, at_nodes[:, k : k + 1], out=cells)
    return extreme
