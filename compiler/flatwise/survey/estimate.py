"""What is known of a face: fields that add up, how far they may be off, and what no reading decides."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Protocol

import numpy as np

from flatwise.core.surface import Array
from flatwise.survey.forms import Fit
from flatwise.survey.probes import Probed


class Field(Protocol):
    """A smooth height over the outline, steps left out: its nodes, and its heights on a grid (ny, nx) in mm."""

    @property
    def xs(self) -> Array: ...
    @property
    def ys(self) -> Array: ...
    def on(self, xs: Array, ys: Array) -> Array: ...


@dataclass(frozen=True, eq=False)
class Known:
    """A sum of fields (share, field), how far it may be off (mm), and the shapes that no reading of it decides.

    The shapes are of `forms.TERMS`, and "either" where bow and cup can't be told apart.
    """

    fields: tuple[tuple[float, Field], ...]
    off: float
    undecided: frozenset[str]

    def plus(self, other: Known, sign: float = 1.0) -> Known:
        """The sum: errors add up, and a shape that either leaves open stays open."""
        fields = self.fields + tuple((sign * share, field) for share, field in other.fields)
        return Known(fields, self.off + other.off, self.undecided | other.undecided)

    def minus(self, other: Known) -> Known:
        """The difference; its errors add up all the same."""
        return self.plus(other, -1.0)

    def on(self, xs: Array, ys: Array) -> Array:
        """(ny, nx) heights on a grid (mm)."""
        total = np.zeros((len(ys), len(xs)))
        for share, field in self.fields:
            total = total + share * field.on(xs, ys)
        return total


def fitted_known(fitted: Fit, within: float, unseen: float) -> Known:
    """A form through readings that may be off by `within` (mm).

    Where bow and cup can't be told apart, half of their difference joins.  Bow and cup of opposite sense can hide
    each other: so at least half of `unseen` mm per mm over the shorter side is taken.
    """
    off = within + fitted.residual + fitted.form.missed
    return Known(((1.0, fitted.form),), off + _either(fitted, unseen), _open(fitted))


def probed_known(probed: Probed, within: float, unseen: float) -> Known:
    """A surface through probes that may be off by `within` (mm); what few points leave open stays open."""
    off = within + probed.missed
    if probed.shape is None:
        return Known(((1.0, probed),), off, frozenset())
    return Known(((1.0, probed),), off + _either(probed.shape, unseen), _open(probed.shape))


def _either(fitted: Fit, unseen: float) -> float:
    if fitted.either is None:
        return 0.0
    return max(fitted.either, 0.5 * unseen * min(fitted.form.length, fitted.form.width))


def _open(fitted: Fit) -> frozenset[str]:
    return frozenset(fitted.undecided) | ({"either"} if fitted.either is not None else frozenset())
