"""Surfaces through probed points: a grid as it is, a scatter by ever finer grids."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

import numpy as np

from flatwise.core.surface import Array, Surface, distinct
from flatwise.survey.forms import Fit, fit

#: The finest grid that a scatter is brought to: cells a side.
FINEST = 256
#: A scatter is reached when no point is missed by more (mm).
REACHED = 0.001
#: So few points may leave a shape open: two rows of probes show no arch between them.
FEW = 200


@dataclass(frozen=True, eq=False)
class Probed:
    """A surface through probes, and how far it may be off beside the reading error: between grid and outline
    for a grid, at the points themselves for a scatter (mm).

    `shape` is the form through few points (up to FEW), whose undecided terms no probe shows; else None.
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
        return self.surface.at(xs[None, :], ys[:, None])


def through(points: Array, length: float, width: float, grain: Literal["x", "y"]) -> Probed:
    """The surface through points (n, 3) in mm, over a panel of length × width mm: interpolated, never smoothed.

    Full grids keep their nodes (places are taken to 0.01 mm); any other set is a scatter.
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


def _grid(xs: Array, ys: Array, z: Array, length: float, width: float) -> Probed:
    """Nodes are the probes.  Beyond the outermost ones the nearest cell's slope goes on to the outline; how far
    that differs from a level edge is not known to be right, so it joins the bound."""
    missed = 0.0
    for axis, side in ((1, length), (0, width)):
        at = xs if axis == 1 else ys
        heights = z if axis == 1 else z.T
        before, after = float(at[0]), side - float(at[-1])
        if before > 1e-9:
            edge = heights[:, :1] - (heights[:, 1:2] - heights[:, :1]) * (before / (at[1] - at[0]))
            missed = max(missed, float(np.abs(edge - heights[:, :1]).max()))
            at, heights = np.concatenate(([0.0], at)), np.hstack((edge, heights))
        if after > 1e-9:
            edge = heights[:, -1:] + (heights[:, -1:] - heights[:, -2:-1]) * (after / (at[-1] - at[-2]))
            missed = max(missed, float(np.abs(edge - heights[:, -1:]).max()))
            at, heights = np.concatenate((at, [side])), np.hstack((heights, edge))
        at = at.copy()
        at[0], at[-1] = 0.0, side
        if axis == 1:
            xs, z = at, heights
        else:
            ys, z = at, heights.T
    return Probed(Surface(xs, ys, np.ascontiguousarray(z)), missed)


def _scatter(points: Array, length: float, width: float, grain: Literal["x", "y"]) -> Probed:
    """First the form, then what it misses, spread to the nodes of ever finer grids until the points are met.

    On each grid a node takes the mean of what is still missed round it, each point weighted by the square of its
    share in the node (the multilevel scheme of Lee, Wolberg and Shin, 1997, with bilinear pieces).
    """
    shape = fit(points, length, width, grain).form
    rest = points[:, 2] - shape.at(points)
    cells = 1
    surface = Surface(np.array([0.0, length]), np.array([0.0, width]), np.zeros((2, 2)))
    while True:
        xs, ys = np.linspace(0.0, length, cells + 1), np.linspace(0.0, width, cells + 1)
        z = surface.at(xs[None, :], ys[:, None])
        left = rest - surface.at(points[:, 0], points[:, 1])
        surface = Surface(xs, ys, z + _spread(points, left, cells, length, width))
        missed = float(np.abs(rest - surface.at(points[:, 0], points[:, 1])).max())
        if missed <= REACHED or cells >= FINEST:
            break
        cells *= 2
    xs = distinct(np.concatenate((surface.xs, shape.xs)))
    ys = distinct(np.concatenate((surface.ys, shape.ys)))
    whole = Surface(xs, ys, surface.at(xs[None, :], ys[:, None]) + shape.on(xs, ys))
    missed = float(np.abs(points[:, 2] - whole.at(points[:, 0], points[:, 1])).max())
    return Probed(whole, missed)


def _spread(points: Array, left: Array, cells: int, length: float, width: float) -> Array:
    """(cells + 1, cells + 1): what each node should rise by for the points to be met (mm)."""
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
