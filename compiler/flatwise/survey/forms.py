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

from dataclasses import dataclass
from math import ceil, sqrt
from typing import Literal

import numpy as np

from flatwise.core.surface import Array

TERMS = ("offset", "tilt_x", "tilt_y", "twist", "cup", "bow")
OFFSET, TILT_X, TILT_Y, TWIST, CUP, BOW = range(6)
#: Readings decide a shape only if it changes one of them by more than this share of its height.
DECIDED = 0.1
#: The nodes are so close that the lines between them miss a curve by less than this (mm).
FINE = 0.001
#: No side gets more cells than this, even if they then miss more.
MOST_CELLS = 64


@dataclass(frozen=True, eq=False)
class Form:
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
        return sum(miss for miss in arches if miss > FINE)

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
        return np.asarray(_table(points, self.length, self.width, self.grain) @ self.terms)


@dataclass(frozen=True, eq=False)
class Fit:
    """A form fitted to readings: the largest residual (mm), and the terms that no reading decides.

    `either` is half the largest difference between bow and cup (mm) if the readings can't tell them apart, else None.
    """

    form: Form
    residual: float
    undecided: tuple[str, ...]
    either: float | None = None


def _arch(share: Array) -> Array:
    return np.asarray(1.0 - (2.0 * share - 1.0) ** 2)


def _cells(rise: float) -> int:
    cells = min(MOST_CELLS, max(1, ceil(sqrt(abs(rise) / FINE))))
    return cells if cells == 1 else cells + cells % 2


def _table(points: Array, length: float, width: float, grain: str) -> Array:
    """(n, 6): each term with a coefficient of 1 mm at points (n, 2+) in mm."""
    u, v = points[:, 0] / length, points[:, 1] / width
    along, across = (u, v) if grain == "x" else (v, u)
    return np.column_stack((np.ones(len(points)), u - 0.5, v - 0.5, (u - 0.5) * (v - 0.5), _arch(across), _arch(along)))


def fit(readings: Array, length: float, width: float, grain: Literal["x", "y"]) -> Fit:
    """The form through readings (n, 3), n ≥ 1, of x, y and height in mm, by least squares.

    Terms enter in order, each only if the readings decide it beside those already in.  Where the readings can't tell
    cup from bow, the result is the mean of the fits with either alone.
    """
    table = _table(readings, length, width, grain)
    heights = readings[:, 2]
    chosen: list[int] = []
    for term in range(len(TERMS)):
        if _adds(table, chosen, term):
            chosen.append(term)
    either = None
    terms = _solve(table, heights, chosen)
    if CUP in chosen and BOW not in chosen and _adds(table, [k for k in chosen if k != CUP], BOW):
        bowed = _solve(table, heights, [BOW if k == CUP else k for k in chosen])
        apart = Form(terms - bowed, length, width, grain)
        grid = np.linspace(0.0, 1.0, 33)
        either = 0.5 * float(np.abs(apart.on(grid * length, grid * width)).max())
        terms = (terms + bowed) / 2.0
        chosen.append(BOW)
    form = Form(terms, length, width, grain)
    residual = float(np.abs(heights - table @ terms).max())
    undecided = tuple(name for k, name in enumerate(TERMS) if k not in chosen)
    return Fit(form, residual, undecided, either)


def _adds(table: Array, chosen: list[int], term: int) -> bool:
    """Whether the readings decide a term beside those chosen."""
    column = table[:, term]
    if chosen:
        within = table[:, chosen]
        column = column - within @ np.linalg.lstsq(within, column, rcond=None)[0]
    scale = 1.0 if term in (OFFSET, CUP, BOW) else 0.5 if term != TWIST else 0.25
    return bool(np.abs(column).max() > DECIDED * scale)


def _solve(table: Array, heights: Array, chosen: list[int]) -> Array:
    """(6,) coefficients by least squares, 0 for the terms not chosen (mm)."""
    terms = np.zeros(len(TERMS))
    if chosen:
        terms[chosen] = np.linalg.lstsq(table[:, chosen], heights, rcond=None)[0]
    return terms
