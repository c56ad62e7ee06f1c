"""What the readings say about a face or the thickness: height fields that add up, their bound, undecided shapes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from flatwise.core.surface import Array
from flatwise.survey.forms import Fit
from flatwise.survey.probes import ProbedSurface


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


@dataclass(frozen=True, eq=False)
class Estimate:
    """A sum of fields, each with its factor; the bound of the sum (mm); and the shapes that no reading decides.

    Undecided shapes are names of `forms.TERMS`, and "either" where the readings can't tell bow from cup.
    """

    fields: tuple[tuple[float, SmoothField], ...]
    bound: float
    undecided: frozenset[str]

    def plus(self, other: Estimate, sign: float = 1.0) -> Estimate:
        """The sum.  The bounds add up, and a shape undecided in either part stays undecided."""
        fields = self.fields + tuple((sign * factor, field) for factor, field in other.fields)
        return Estimate(fields, self.bound + other.bound, self.undecided | other.undecided)

    def minus(self, other: Estimate) -> Estimate:
        """The difference.  The bounds add up here too."""
        return self.plus(other, -1.0)

    def on(self, xs: Array, ys: Array) -> Array:
        """(ny, nx) heights on a grid (mm)."""
        total = np.zeros((len(ys), len(xs)))
        for factor, field in self.fields:
            total = total + factor * field.on(xs, ys)
        return total


def fitted_estimate(fitted: Fit, within: float, unseen: float) -> Estimate:
    """A form through readings, each of them right to within `within` mm.

    Bound: reading error + largest residual + what the nodes miss of the form + `_bow_or_cup`.
    """
    bound = within + fitted.residual + fitted.form.missed
    return Estimate(((1.0, fitted.form),), bound + _bow_or_cup(fitted, unseen), _undecided(fitted))


def probed_estimate(probed: ProbedSurface, within: float, unseen: float) -> Estimate:
    """A surface through probes, each of them right to within `within` mm; few points may leave shapes undecided."""
    bound = within + probed.missed
    if probed.shape is None:
        return Estimate(((1.0, probed),), bound, frozenset())
    return Estimate(((1.0, probed),), bound + _bow_or_cup(probed.shape, unseen), _undecided(probed.shape))


def _bow_or_cup(fitted: Fit, unseen: float) -> float:
    """What joins the bound where the readings can't tell bow from cup: half their difference (mm).

    A bow and a cup of opposite sense can hide each other, so it is at least half of `unseen` (mm per mm) times the
    shorter side.
    """
    if fitted.either is None:
        return 0.0
    return max(fitted.either, 0.5 * unseen * min(fitted.form.length, fitted.form.width))


def _undecided(fitted: Fit) -> frozenset[str]:
    return frozenset(fitted.undecided) | ({"either"} if fitted.either is not None else frozenset())
