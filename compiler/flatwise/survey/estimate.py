"""What the readings say about a face or the thickness: height fields that add up, their bounds, undecided shapes."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple, Protocol

import numpy as np

from flatwise.core.surface import Array, Surface, distinct
from flatwise.survey.forms import SHAPES, TERMS, Fit, term_table
from flatwise.survey.probes import ProbedSurface

#: a bound that changes over the face is worked out on this many cells a side
CELLS = 12
#: (ny, nx) bounds in mm on a grid of xs (nx,) and ys (ny,)
BoundOn = Callable[[Array, Array], Array]


class SmoothField(Protocol):
    """Smooth heights over the outline, without the steps."""

    @property
    def xs(self) -> Array:
        """Nodes along x that the field needs (mm)."""

    @property
    def ys(self) -> Array:
        """Nodes along y that the field needs (mm)."""

    def on(self, xs: Array, ys: Array) -> Array:
        """(ny, nx) heights on a grid (mm)."""


class Misfit(NamedTuple):
    """The reading that lies farthest from the estimate: its place, by how much, and what it adds to the bound (mm)."""

    place: tuple[float, float]
    amount: float
    added: float


class Estimate(NamedTuple):
    """A sum of fields, each with its factor; the bounds that add up to its bound; the shapes that no reading decides.

    `bound` (mm) holds everywhere, `bounds` change over the face.  Undecided shapes are names of `forms.TERMS`, and
    "either" where the readings can't tell bow from cup.  `shapes` are the heights (mm) of the shapes that readings
    decide, twist, cup and bow, by name.  `misfit` is the reading that differs by more than errors explain.
    """

    fields: tuple[tuple[float, SmoothField], ...]
    bound: float
    undecided: frozenset[str]
    bounds: tuple[BoundOn, ...] = ()
    shapes: Mapping[str, float] = {}
    misfit: Misfit | None = None

    def plus(self, other: Estimate, sign: float = 1.0) -> Estimate:
        """The sum.  The bounds add up, and a shape undecided in either part stays undecided."""
        fields = self.fields + tuple((sign * factor, field) for factor, field in other.fields)
        undecided = self.undecided | other.undecided
        return Estimate(
            fields, self.bound + other.bound, undecided, self.bounds + other.bounds, self.shapes, self.misfit
        )

    def minus(self, other: Estimate) -> Estimate:
        """The difference.  The bounds add up here too."""
        return self.plus(other, -1.0)

    def on(self, xs: Array, ys: Array) -> Array:
        """(ny, nx) heights on a grid (mm)."""
        total = np.zeros((len(ys), len(xs)))
        for factor, heights in self.fields:
            total = total + factor * heights.on(xs, ys)
        return total

    def bound_on(self, xs: Array, ys: Array) -> Array:
        """(ny, nx) bound on a grid (mm)."""
        total = np.full((len(ys), len(xs)), self.bound)
        for bound in self.bounds:
            total = total + bound(xs, ys)
        return total


def fitted_estimate(fitted: Fit, within: float, unseen: float) -> Estimate:
    """A form through readings, each of them right to within `within` mm.

    Bound: `Fit.reading_error` + the largest of `Fit.misfits` + what the nodes miss of the form + `_bow_or_cup`.
    """
    form = fitted.form
    bound = float(fitted.misfits(within).max()) + form.missed + _bow_or_cup(fitted, unseen)
    xs, ys = bound_nodes(form.length), bound_nodes(form.width)
    table = term_table(_grid_points(xs, ys), form.length, form.width, form.grain)
    error = Surface(xs, ys, fitted.reading_error(table, within).reshape(len(ys), len(xs)))
    return Estimate(((1.0, form),), bound, _undecided(fitted), (error.grid,), _decided(fitted))


def probed_estimate(probed: ProbedSurface, within: float, unseen: float) -> Estimate:
    """A surface through probes, each of them right to within `within` mm; few points may leave shapes undecided.

    Bound: within × `ProbedSurface.error_factor` + what a curve between the points can hide + `_bow_or_cup`.
    """
    form = probed.shape
    few = form.weights is not None
    bound = probed.missed + form.form.missed + (_bow_or_cup(form, unseen) if few else 0.0)

    def reading_error(xs: Array, ys: Array) -> Array:
        return within * probed.error_factor(xs, ys)

    if not few:
        # it grows beyond the outermost probes alone, and less than the lines between these nodes
        x0, y0, x1, y1 = probed.inside
        xs = distinct(np.append(bound_nodes(form.form.length), (x0, x1)))
        ys = distinct(np.append(bound_nodes(form.form.width), (y0, y1)))
        reading_error = Surface(xs, ys, reading_error(xs, ys)).grid

    undecided = _undecided(form) if few else frozenset()
    return Estimate(((1.0, probed),), bound, undecided, (reading_error, probed.hidden.grid), _decided(form))


def bound_nodes(side: float) -> Array:
    """(CELLS + 1,) nodes that a bound needs over a side (mm)."""
    return np.linspace(0.0, side, CELLS + 1)


def _grid_points(xs: Array, ys: Array) -> Array:
    """(ny·nx, 2): the points of a grid, row by row (mm)."""
    x, y = np.meshgrid(xs, ys)
    return np.column_stack((x.ravel(), y.ravel()))


def _bow_or_cup(fitted: Fit, unseen: float) -> float:
    """The part of the bound where the readings can't tell bow from cup: half their difference (mm).

    A bow and a cup of opposite sense can hide each other, so it is at least half of `unseen` (mm per mm) times the
    shorter side.
    """
    if fitted.either is None:
        return 0.0
    return max(fitted.either, 0.5 * unseen * min(fitted.form.length, fitted.form.width))


def _decided(fitted: Fit) -> dict[str, float]:
    """The heights of twist, cup and bow that the readings decide (mm)."""
    undecided = _undecided(fitted) | ({"cup", "bow"} if fitted.either is not None else set())
    return {name: float(fitted.form.terms[TERMS.index(name)]) for name in SHAPES if name not in undecided}


def _undecided(fitted: Fit) -> frozenset[str]:
    return frozenset(fitted.undecided) | ({"either"} if fitted.either is not None else frozenset())
