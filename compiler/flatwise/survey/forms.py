"""The form of a face from a few readings: offset, two tilts, twist, cup and bow.

u = x/length and v = y/width run from 0 to 1.  These are the terms, in the order in which they enter a fit; each
coefficient is a height in mm:

    offset   1
    tilts    u − ½ ,  v − ½
    twist    (u − ½)·(v − ½)    the gap under one corner while the other three touch
    cup      1 − (2s − 1)²      the middle above the edges; s runs across the grain
    bow      1 − (2s − 1)²      the middle above the ends; s runs along the grain
"""

from __future__ import annotations

from collections.abc import Collection
from math import ceil, sqrt
from typing import Literal, NamedTuple

import numpy as np

from flatwise.core.surface import Array

TERMS = ("offset", "tilt_x", "tilt_y", "twist", "cup", "bow")
#: the shapes that have a word in the survey
SHAPES = ("twist", "cup", "bow")
OFFSET, TILT_X, TILT_Y, TWIST, CUP, BOW = range(6)
MOST_READINGS_WITH_WEIGHTS = 200
#: Readings decide a shape only if it changes one of them by more than this share of its height.
DECIDED = 0.1
#: The nodes are so close that the lines between them miss a curve by less than this (mm).
FINE = 0.001
#: No side gets more cells than this, even if they then miss more.
MOST_CELLS = 64


class Form(NamedTuple):
    """Coefficients `terms` (6,) in mm over a panel of length × width mm whose grain runs along `grain`."""

    terms: Array
    length: float
    width: float
    grain: Literal["x", "y"]

    def _arches(self) -> tuple[float, float]:
        """How far the middle stands above the ends, along x and along y (mm)."""
        cup, bow = float(self.terms[CUP]), float(self.terms[BOW])
        return (bow, cup) if self.grain == "x" else (cup, bow)

    @property
    def xs(self) -> Array:
        """Nodes along x that the form needs."""
        return np.linspace(0.0, self.length, _cells(self._arches()[0]) + 1)

    @property
    def ys(self) -> Array:
        """Nodes along y that the form needs."""
        return np.linspace(0.0, self.width, _cells(self._arches()[1]) + 1)

    @property
    def missed(self) -> float:
        """How far the bilinear surface over the nodes may differ from the form (mm).

        The chord of an arch of rise r over a share h of the side misses it by r·h².
        """
        arches = [abs(rise) / _cells(rise) ** 2 for rise in self._arches()]
        return sum(miss for miss in arches if miss > FINE + 1e-9)

    def on(self, xs: Array, ys: Array) -> Array:
        """(ny, nx) heights on a grid (mm)."""
        u, v = xs / self.length, ys / self.width
        along_x, along_y = self._arches()
        t = self.terms
        return np.asarray(
            t[OFFSET]
            + (t[TILT_X] * (u - 0.5) + along_x * _arch(u))[None, :]
            + (t[TILT_Y] * (v - 0.5) + along_y * _arch(v))[:, None]
            + t[TWIST] * np.outer(v - 0.5, u - 0.5)
        )

    def at(self, points: Array) -> Array:
        """(n,) heights at points (n, 2+), mm."""
        return np.asarray(term_table(points, self.length, self.width, self.grain) @ self.terms)


class Fit(NamedTuple):
    """A form fitted to readings: what each misses of it (n,) (mm), and the terms that no reading decides.

    `either` is half the largest difference between bow and cup (mm) if the readings can't tell them apart, else None.
    `table` (n, 6) holds the terms at the readings.  `weights` (6, n) give the coefficients from the heights; they are
    None for more than MOST_READINGS_WITH_WEIGHTS, where `gram` (6, 6), the inverse of the normal equations, stands
    for them.
    """

    form: Form
    table: Array
    residuals: Array
    undecided: tuple[str, ...]
    either: float | None
    weights: Array | None
    gram: Array

    @property
    def residual(self) -> float:
        """The largest distance of a reading from the form (mm)."""
        return float(np.abs(self.residuals).max())

    def error_factor(self, table: Array) -> Array:
        """(m,) by how much an error of every reading can grow in the fitted value: Σ |weight of each reading|.

        `table` (m, 6) holds the terms where the form is evaluated.  For many readings it is √n × the root of the sum
        of squares, which is never less (Cauchy and Schwarz).
        """
        if self.weights is not None:
            return np.asarray(np.abs(table @ self.weights).sum(axis=1))
        squares = np.einsum("ij,jk,ik->i", table, self.gram, table)
        return np.asarray(np.sqrt(len(self.residuals) * np.maximum(squares, 0.0)))

    def reading_error(self, table: Array, within: float) -> Array:
        """(m,) how far readings that are each right to within `within` mm can throw the fitted value off, mm.

        The least of within × max(1, Σ |weights|) and, for each reading, what a forecast from that reading would give:
        it takes the shape from the fit and the height from the reading, so it is off by within × Σ |its weights|, and
        differs from the fitted value by the residual.  At the place of a reading that is within + residual.
        """
        least = within * np.maximum(1.0, self.error_factor(table))
        if self.weights is None:
            return least
        fitted = table @ self.weights
        own = self.table @ self.weights
        for index, residual in enumerate(self.residuals):
            weights = fitted - own[index]
            weights[:, index] += 1.0
            least = np.minimum(least, within * np.abs(weights).sum(axis=1) + abs(residual))
        return np.asarray(least)

    def misfits(self, within: float) -> Array:
        """(n,) by how much each reading lies farther from the form than reading errors explain, mm."""
        error = within * np.maximum(1.0, self.error_factor(self.table))
        return np.asarray(np.maximum(np.abs(self.residuals) - error - within, 0.0))


def _arch(share: Array) -> Array:
    return np.asarray(1.0 - (2.0 * share - 1.0) ** 2)


def _cells(rise: float) -> int:
    cells = min(MOST_CELLS, max(1, ceil(sqrt(abs(rise) / FINE) - 1e-9)))
    return cells if cells == 1 else cells + cells % 2


def term_table(points: Array, length: float, width: float, grain: str) -> Array:
    """(n, 6): each term with a coefficient of 1 mm at points (n, 2+) in mm."""
    u, v = points[:, 0] / length, points[:, 1] / width
    along, across = (u, v) if grain == "x" else (v, u)
    return np.column_stack((np.ones(len(points)), u - 0.5, v - 0.5, (u - 0.5) * (v - 0.5), _arch(across), _arch(along)))


def fit(readings: Array, length: float, width: float, grain: Literal["x", "y"], without: Collection[str] = ()) -> Fit:
    """The form through readings (n, 3), n ≥ 1, of x, y and height in mm, by least squares.

    Terms enter in order, each only if the readings decide it beside those already in, and none of those in `without`.
    Where the readings can't tell cup from bow, the result is the mean of the fits with either alone.
    """
    table = term_table(readings, length, width, grain)
    chosen: list[int] = []
    for term, name in enumerate(TERMS):
        if name not in without and _adds(table, chosen, term):
            chosen.append(term)
    either = None
    ways = [chosen]
    rest = [term for term in chosen if term != CUP]
    if len(rest) < len(chosen) and BOW not in chosen and "bow" not in without and _adds(table, rest, BOW):
        ways.append([*rest, BOW])
    solved = [_solve(table, readings[:, 2], way) for way in ways]
    if len(ways) > 1:
        apart = Form(solved[0].terms - solved[1].terms, length, width, grain)
        grid = np.linspace(0.0, 1.0, 33)
        either = 0.5 * float(np.abs(apart.on(grid * length, grid * width)).max())
        chosen.append(BOW)
    terms = np.mean([each.terms for each in solved], axis=0)
    gram = np.mean([each.gram for each in solved], axis=0)
    few = len(readings) <= MOST_READINGS_WITH_WEIGHTS
    return Fit(
        form=Form(terms, length, width, grain),
        table=table,
        residuals=readings[:, 2] - table @ terms,
        undecided=tuple(name for k, name in enumerate(TERMS) if k not in chosen),
        either=either,
        weights=gram @ table.T if few else None,
        gram=gram,
    )


class _Solved(NamedTuple):
    terms: Array
    gram: Array


def _adds(table: Array, chosen: list[int], term: int) -> bool:
    """Whether the readings decide a term beside those chosen."""
    column = table[:, term]
    if chosen:
        within = table[:, chosen]
        column = column - within @ (np.linalg.pinv(within.T @ within) @ (within.T @ column))
    scale = 1.0 if term in (OFFSET, CUP, BOW) else 0.5 if term != TWIST else 0.25
    return bool(np.abs(column).max() > DECIDED * scale)


def _solve(table: Array, heights: Array, chosen: list[int]) -> _Solved:
    """(6,) coefficients by least squares, 0 for the terms not chosen (mm), and the inverse of the normal equations."""
    gram = np.zeros((len(TERMS), len(TERMS)))
    within = table[:, chosen]
    gram[np.ix_(chosen, chosen)] = np.linalg.pinv(within.T @ within)
    return _Solved(gram @ (table.T @ heights), gram)
