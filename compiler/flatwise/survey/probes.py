"""Surfaces through probed points: the form that fits them best, plus what it leaves at each point, interpolated."""

from __future__ import annotations

from collections.abc import Collection
from typing import Literal, NamedTuple

import numpy as np

from flatwise.core.surface import Array, Surface, distinct
from flatwise.survey.forms import Fit, fit, term_table

#: The finest grid for a scatter, in cells a side.
FINEST = 256
#: The grids become no finer once they miss no point of the scatter by more than this (mm).
REACHED = 0.001


class ProbedSurface(NamedTuple):
    """A form and the `rest` that it leaves at the probes, interpolated between them and held beyond the outermost.

    `missed` is how far the surface may pass a point of a scatter (mm).  `hidden` is what a curve between the probes can
    hide: ¼ (|Δ²x| + |Δ²y|) of the rest, in each cell the largest of its corners and of those next to it (mm).
    `inside` are the outermost probes: x0, y0, x1, y1.
    """

    shape: Fit
    rest: Surface
    missed: float
    hidden: Surface
    inside: tuple[float, float, float, float]

    @property
    def xs(self) -> Array:
        return distinct(np.concatenate((self.rest.xs, self.shape.form.xs)))

    @property
    def ys(self) -> Array:
        return distinct(np.concatenate((self.rest.ys, self.shape.form.ys)))

    def on(self, xs: Array, ys: Array) -> Array:
        """(ny, nx) heights on a grid (mm)."""
        return self.shape.form.on(xs, ys) + self.rest.grid(xs, ys)

    def at(self, points: Array) -> Array:
        """(n,) heights at points (n, 2+), mm."""
        return self.shape.form.at(points) + self.rest.at(points[:, 0], points[:, 1])

    def error_factor(self, xs: Array, ys: Array) -> Array:
        """(ny, nx) by how much an error of every probe can grow: 1 + Σ |weights of what the form adds|.

        Where the rest is interpolated, a probe's own weight is its share there, and the shares add up to 1.  The form
        adds its terms at the place less the same terms interpolated between the probes.
        """
        form = self.shape.form
        x, y = (part.ravel() for part in np.meshgrid(xs, ys))
        here = term_table(np.column_stack((x, y)), form.length, form.width, form.grain)
        if self.shape.weights is None:
            # the probes lie so close that only the border beyond them counts
            x0, y0, x1, y1 = self.inside
            held = term_table(np.column_stack((x.clip(x0, x1), y.clip(y0, y1))), form.length, form.width, form.grain)
        else:
            nodes = self.rest.nodes()
            x0, y0, x1, y1 = self.inside
            probed = np.column_stack((nodes[:, 0].clip(x0, x1), nodes[:, 1].clip(y0, y1)))
            terms = term_table(probed, form.length, form.width, form.grain)
            grids = (terms[:, k].reshape(self.rest.z.shape) for k in range(terms.shape[1]))
            held = np.column_stack([Surface(self.rest.xs, self.rest.ys, z).grid(xs, ys).ravel() for z in grids])
        added = here - held
        factor = np.ones(len(added))
        differs = np.abs(added).max(axis=1) > 1e-12
        factor[differs] += self.shape.error_factor(added[differs])
        return factor.reshape(len(ys), len(xs))


def interpolate(
    points: Array, length: float, width: float, grain: Literal["x", "y"], without: Collection[str] = ()
) -> ProbedSurface:
    """The surface through points (n, 3), n ≥ 1, in mm, over a panel of length × width mm.

    Points on a full grid, with places rounded to 0.01 mm, are interpolated bilinearly; any other set is a scatter.
    """
    shape = fit(points, length, width, grain, without)
    x, y = np.round(points[:, 0], 2), np.round(points[:, 1], 2)
    xs, ys = distinct(x), distinct(y)
    if len(xs) > 1 and len(ys) > 1 and len(xs) * len(ys) == len(points):
        z = np.full((len(ys), len(xs)), np.nan)
        z[np.searchsorted(ys, y), np.searchsorted(xs, x)] = shape.residuals
        if not np.isnan(z).any():
            rest, hidden = _held(xs, ys, z, length, width), _held(xs, ys, _hidden(z), length, width)
            return ProbedSurface(shape, rest, 0.0, hidden, (xs[0], ys[0], xs[-1], ys[-1]))
    return _scatter(points, shape, length, width)


def _held(xs: Array, ys: Array, z: Array, length: float, width: float) -> Surface:
    """Heights z (ny, nx) on a grid of probes, held from the outermost ones to the outline."""
    before_x, after_x = int(xs[0] > 1e-9), int(xs[-1] < length - 1e-9)
    before_y, after_y = int(ys[0] > 1e-9), int(ys[-1] < width - 1e-9)
    xs = np.concatenate((np.zeros(before_x), xs, np.full(after_x, length)))
    ys = np.concatenate((np.zeros(before_y), ys, np.full(after_y, width)))
    xs[0], xs[-1], ys[0], ys[-1] = 0.0, length, 0.0, width
    return Surface(xs, ys, np.pad(z, ((before_y, after_y), (before_x, after_x)), mode="edge"))


def _hidden(z: Array) -> Array:
    """(ny, nx) what a curve through grid heights z can hide, at each node the largest of it and its neighbours (mm)."""
    total = np.zeros_like(z)
    for axis in (0, 1):
        if z.shape[axis] > 2:
            bend = np.abs(np.diff(z, n=2, axis=axis)) / 4.0
            # the outermost probes have a neighbour on one side only: they take the bend of the next one
            total += np.pad(bend, [(1, 1) if axis == each else (0, 0) for each in (0, 1)], mode="edge")
    around = np.pad(total, 1, mode="edge")
    rows = np.maximum(np.maximum(around[:-2], around[1:-1]), around[2:])
    return np.maximum(np.maximum(rows[:, :-2], rows[:, 1:-1]), rows[:, 2:])


def _scatter(points: Array, shape: Fit, length: float, width: float) -> ProbedSurface:
    """The rest is spread to the nodes of finer and finer grids until the points are met.

    On each grid a node rises by the weighted mean of what is still missed around it; the weight of a point is the
    square of its share in the node (multilevel approximation of Lee, Wolberg and Shin, 1997, with bilinear pieces).
    What a curve can hide is taken as for a grid with as many cells as there are points.
    """
    cells = 1
    surface = Surface(np.array([0.0, length]), np.array([0.0, width]), np.zeros((2, 2)))
    while True:
        xs, ys = np.linspace(0.0, length, cells + 1), np.linspace(0.0, width, cells + 1)
        z = surface.grid(xs, ys)
        left = shape.residuals - surface.at(points[:, 0], points[:, 1])
        surface = Surface(xs, ys, z + _spread(points, left, cells, length, width))
        missed = float(np.abs(shape.residuals - surface.at(points[:, 0], points[:, 1])).max())
        if missed <= REACHED or cells >= FINEST:
            break
        cells *= 2
    sides = min(FINEST, max(2, int(np.sqrt(len(points)))))
    xs, ys = np.linspace(0.0, length, sides + 1), np.linspace(0.0, width, sides + 1)
    inside = (*points[:, :2].min(axis=0).tolist(), *points[:, :2].max(axis=0).tolist())
    hidden = Surface(xs, ys, _hidden(surface.grid(xs, ys)))
    return ProbedSurface(shape, surface, missed, hidden, (inside[0], inside[1], inside[2], inside[3]))


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
