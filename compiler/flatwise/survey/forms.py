"""The shape of a face from a few readings: offset, two tilts, twist, cup and bow.

u = x/length and v = y/width run from 0 to 1.  The terms, in the order in which they enter a fit:

    offset   1
    tilts    u − ½ ,  v − ½
    twist    (u − ½)·(v − ½)          its coefficient is the gap under one corner, the other three touching
    cup      1 − (2s − 1)² across     the middle over the edges, s across the grain
    bow      1 − (2s − 1)² along      the middle over the ends, s along the grain
"""

from __future__ import annotations

from dataclasses import dataclass
from math import ceil, sqrt
from typing import Literal

import numpy as np

from flatwise.core.surface import Array

TERMS = ("offset", "tilt_x", "tilt_y", "twist", "cup", "bow")
OFFSET, TILT_X, TILT_Y, TWIST, CUP, BOW = range(6)
#: A shape that changes no reading by more than this share of its height is not decided by them.
DECIDED = 0.1
#: Nodes are so close that lines between them miss a curve by less than this (mm), up to MOST_CELLS a side.
FINE = 0.001
MOST_CELLS = 64


@dataclass(frozen=True, eq=False)
class Form:
    """Terms (6,) in mm over a panel of length × width mm whose grain runs along `grain`."""

    terms: Array
    length: float
    width: float
    grain: Literal["x", "y"]

    def _arches(self) -> tuple[float, float]:
        """Rise of the middle along x and along y (mm)."""
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
        """By how much the surface between the nodes may differ from the form (mm).

        The line between two points of an arch of rise r, a share h of the side apart, misses it by r·h².
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
        return np.asarray(columns(points, self.length, self.width, self.grain) @ self.terms)

    def plus(self, other: Form) -> Form:
        """The two shapes on each other."""
        return Form(self.terms + other.terms, self.length, self.width, self.grain)


@dataclass(frozen=True, eq=False)
class Fit:
    """A form through readings: the largest residual, the terms that no reading decides, half of what bow and cup
    differ by where the readings do not tell them apart (mm; None where they do)."""

    form: Form
    residual: float
    undecided: tuple[str, ...]
    either: float | None = None


def _arch(share: Array) -> Array:
    return np.asarray(1.0 - (2.0 * share - 1.0) ** 2)


def _cells(rise: float) -> int:
    cells = min(MOST_CELLS, max(1, ceil(sqrt(abs(rise) / FINE))))
    return cells if cells == 1 else cells + cells % 2


def columns(points: Array, length: float, width: float, grain: str) -> Array:
    """(n, 6): each term's value at points (n, 2+) in mm."""
    u, v = points[:, 0] / length, points[:, 1] / width
    along, across = (u, v) if grain == "x" else (v, u)
    return np.column_stack((np.ones(len(points)), u - 0.5, v - 0.5, (u - 0.5) * (v - 0.5), _arch(across), _arch(along)))


def fit(readings: Array, length: float, width: float, grain: Literal["x", "y"]) -> Fit:
    """The form through readings (n, 3): x, y, height in mm, by least squares.

    Terms enter in order, each only if the readings decide it beside those that are in.  Where they show only
    cup and bow together the result is the mean of either alone.
    """
    table = columns(readings, length, width, grain)
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
    column = table[:, term]
    if chosen:
        within = table[:, chosen]
        column = column - within @ np.linalg.lstsq(within, column, rcond=None)[0]
    scale = 1.0 if term in (OFFSET, CUP, BOW) else 0.5 if term != TWIST else 0.25
    return bool(np.abs(column).max() > DECIDED * scale)


def _solve(table: Array, heights: Array, chosen: list[int]) -> Array:
    terms = np.zeros(len(TERMS))
    if chosen:
        terms[chosen] = np.linalg.lstsq(table[:, chosen], heights, rcond=None)[0]
    return terms
