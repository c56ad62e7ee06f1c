"""Surfaces through probed points: a full grid keeps its nodes, a scatter is met by finer and finer grids."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from flatwise.core.surface import Array, Surface, distinct
from flatwise.survey.forms import Fit, fit

#: The finest grid for a scatter, in cells a side.
FINEST = 256
#: The grids become no finer once they miss no point of the scatter by more than this (mm).
REACHED = 0.001
#: Up to this many points are tested for shapes that they leave undecided: two rows of probes show no arch between them.
FEW = 200


@dataclass(frozen=True, eq=False)
class ProbedSurface:
    """A surface through probes, and how far it may be off apart from the reading error (mm).

    `missed` is, for a grid, what the slope adds between the outermost probes and the outline; for a scatter, the
    largest distance from a point.  `shape` is the form fitted to the points, up to FEW of them, and else None: the
    probes do not show the terms that it leaves undecided.
    """

    surface: Surface
    missed: float
    shape: Fit | None = None

    @property
    def xs(self) -> Array:
        return self.surface.xs

    @property
    def ys(self) -> Array:
        return self.surface.ys

    def on(self, xs: Array, ys: Array) -> Array:
        """(ny, nx) heights on a grid (mm)."""
        return self.surface.grid(xs, ys)


def interpolate(points: Array, length: float, width: float, grain: Literal["x", "y"]) -> ProbedSurface:
    """The surface through points (n, 3), n ≥ 1, in mm, over a panel of length × width mm; nothing is smoothed.

    Points on a full grid, with places rounded to 0.01 mm, become its nodes; any other set is a scatter.
    """
    shape = fit(points, length, width, grain) if len(points) <= FEW else None
    x, y = np.round(points[:, 0], 2), np.round(points[:, 1], 2)
    xs, ys = distinct(x), distinct(y)
    if len(xs) > 1 and len(ys) > 1 and len(xs) * len(ys) == len(points):
        z = np.full((len(ys), len(xs)), np.nan)
        z[np.searchsorted(ys, y), np.searchsorted(xs, x)] = points[:, 2]
        if not np.isnan(z).any():
            return replace(_grid(xs, ys, z, length, width), shape=shape)
    return replace(_scatter(points, length, width, grain), shape=shape)


def _grid(xs: Array, ys: Array, z: Array, length: float, width: float) -> ProbedSurface:
    """The surface over a full grid (ny, nx) of probes; what the slope adds beyond them joins the bound."""
    xs, z, along = _extended(xs, z, length)
    ys, turned, across = _extended(ys, z.T, width)
    return ProbedSurface(Surface(xs, ys, np.ascontiguousarray(turned.T)), max(along, across))


def _extended(at: Array, z: Array, side: float) -> tuple[Array, Array, float]:
    """Nodes (n,) and heights (m, n) with the slope of the outermost cells continued to 0 and to the side (mm).

    Nobody knows whether that slope is right, so the third value is its largest difference from a level edge.
    """
    missed = 0.0
    if at[0] > 1e-9:
        rise = -(z[:, 1:2] - z[:, :1]) * (at[0] / (at[1] - at[0]))
        missed = float(np.abs(rise).max())
        at, z = np.append(0.0, at), np.hstack((z[:, :1] + rise, z))
    if side - at[-1] > 1e-9:
        rise = (z[:, -1:] - z[:, -2:-1]) * ((side - at[-1]) / (at[-1] - at[-2]))
        missed = max(missed, float(np.abs(rise).max()))
        at, z = np.append(at, side), np.hstack((z, z[:, -1:] + rise))
    return np.array([0.0, *at[1:-1], side]), z, missed


def _scatter(points: Array, length: float, width: float, grain: Literal["x", "y"]) -> ProbedSurface:
    """The form, plus what it misses, spread to the nodes of finer and finer grids until the points are met.

    On each grid a node rises by the weighted mean of what is still missed around it; the weight of a point is the
    square of its share in the node (multilevel approximation of Lee, Wolberg and Shin, 1997, with bilinear pieces).
    """
    shape = fit(points, length, width, grain).form
    rest = points[:, 2] - shape.at(points)
    cells = 1
    surface = Surface(np.array([0.0, length]), np.array([0.0, width]), np.zeros((2, 2)))
    while True:
        xs, ys = np.linspace(0.0, length, cells + 1), np.linspace(0.0, width, cells + 1)
        z = surface.grid(xs, ys)
        left = rest - surface.at(points[:, 0], points[:, 1])
        surface = Surface(xs, ys, z + _spread(points, left, cells, length, width))
        missed = float(np.abs(rest - surface.at(points[:, 0], points[:, 1])).max())
        if missed <= REACHED or cells >= FINEST:
            break
        cells *= 2
    xs = distinct(np.concatenate((surface.xs, shape.xs)))
    ys = distinct(np.concatenate((surface.ys, shape.ys)))
    whole = Surface(xs, ys, surface.grid(xs, ys) + shape.on(xs, ys))
    missed = float(np.abs(points[:, 2] - whole.at(points[:, 0], points[:, 1])).max())
    return ProbedSurface(whole, missed)


def _spread(points: Array, left: Array, cells: int, length: float, width: float) -> Array:
    """(cells + 1, cells + 1): how far each node should rise for the points to be met (mm)."""
    i = np.minimum((points[:, 0] / length * cells).astype(int), cells - 1)
    j = np.minimum((points[:, 1] / width * cells).astype(int), cells - 1)
    s, t = points[:, 0] / length * cells - i, points[:, 1] / width * cells - j
    corners = (((0, 0), (1 - s) * (1 - t)), ((0, 1), s * (1 - t)), ((1, 0), (1 - s) * t), ((1, 1), s * t))
    total = sum(weight**2 for _, weight in corners)
    size = (cells + 1) ** 2
    above, below = np.zeros(size), np.zeros(size)
    for (up, across), weight in corners:
        node = (j + up) * (cells + 1) + i + across
        above += np.bincount(node, weight**2 * (weight * left / total), size)
        below += np.bincount(node, weight**2, size)
    return np.where(below > 0, above / np.where(below > 0, below, 1.0), 0.0).reshape(cells + 1, cells + 1)
