"""The widest slab between two parallel planes inside a panel: the most that cutting both faces flat can leave."""

from __future__ import annotations

from functools import cached_property

import numpy as np

from flatwise.core.surface import Array, Surface
from flatwise.seat.lp import corner_rows, hull_candidates, minimise, plane_rows

#: Tilts that leave at most this much less than the most count as equally good (mm).
AS_GOOD = 1e-6


class Slab:
    """The thickness left of a panel between two level planes, as a function of its tilt.

    A tilt (a, b) adds a·x + b·y to both faces (mm per mm).
    """

    def __init__(self, lower: Surface, upper: Surface) -> None:
        self.length, self.width = lower.length, lower.width
        self.upper = hull_candidates(upper, low=True)
        self.lower = hull_candidates(lower, low=False)

    def left(self, a: float, b: float) -> float:
        """The thickness left of the panel, tilted by (a, b), when both faces are cut level (mm)."""
        tilt = np.array([a, b, 1.0])
        return float((self.upper @ tilt).min() - (self.lower @ tilt).max())

    @cached_property
    def best(self) -> tuple[float, float, float]:
        """(a, b, thickness): maximise min(T + a·x + b·y) − max(B + a·x + b·y), a linear program (mm per mm, mm)."""
        over, under = (plane_rows(points, self.length, self.width) for points in (self.upper, self.lower))
        middle = float(self.lower[:, 2].mean())
        thick = float(self.upper[:, 2].mean()) - middle
        # unknowns: the slab's tilt along x and y, the height of its lower face, its thickness
        rows = np.concatenate(
            (np.column_stack((under, np.zeros(len(under)))), -np.column_stack((over, np.ones(len(over)))))
        )
        sides = np.concatenate((self.lower[:, 2] - middle, middle + thick - self.upper[:, 2]))
        inner = int((under[:, 0] ** 2 + under[:, 1] ** 2).argmin())
        corners = corner_rows(over)
        triangle = corners[:3] if under[inner, 0] + under[inner, 1] <= 0.0 else corners[3:0:-1]
        x, _ = minimise(rows, sides, np.array([0.0, 0.0, 0.0, -1.0]), (inner, *(k + len(under) for k in triangle)))
        return -2.0 * float(x[0]) / self.length, -2.0 * float(x[1]) / self.width, float(x[3]) + thick

    def nearest_best(self, a: float, b: float) -> tuple[float, float]:
        """Of all tilts that leave the most, the one nearest to (a, b), measured at the panel's edges (mm per mm).

        The tilts that leave within 1e-6 mm of the most form a convex polygon.  Each of its sides belongs to a low place
        of the top and a high place of the lower face; sides are added until the nearest tilt breaks none.
        """
        aim = self.best[2] - AS_GOOD
        scale = np.array([self.length, self.width]) / 2.0
        start = at = np.array([a, b]) * scale
        sides: list[Array] = []
        offsets: list[float] = []
        for _ in range(200):
            tilt = np.array([*(at / scale), 1.0])
            top = self.upper[int((self.upper @ tilt).argmin())]
            low = self.lower[int((self.lower @ tilt).argmax())]
            if float((top - low) @ tilt) >= aim - 1e-9:
                return float(at[0] / scale[0]), float(at[1] / scale[1])
            sides.append((top - low)[:2] / scale)
            offsets.append(aim - float(top[2] - low[2]))
            nearest = _nearest(start, np.array(sides), np.array(offsets))
            if nearest is None:
                break
            at = nearest
        return self.best[0], self.best[1]


def _nearest(start: Array, sides: Array, offsets: Array) -> Array | None:
    """The point p (2,) of the polygon sides·p ≥ offsets that is nearest to `start`; None if the polygon is empty.

    sides: (n, 2), offsets: (n,).  It tries the start, its foot on every side, and every corner.
    """
    squares = np.einsum("ij,ij->i", sides, sides)
    squares = np.where(squares > 0, squares, 1.0)
    tries = [start, *(start + sides * ((offsets - sides @ start) / squares)[:, None])]
    for i in range(len(sides)):
        for j in range(i):
            det = sides[i, 0] * sides[j, 1] - sides[i, 1] * sides[j, 0]
            if abs(det) > 1e-12:
                x = (offsets[i] * sides[j, 1] - offsets[j] * sides[i, 1]) / det
                y = (offsets[j] * sides[i, 0] - offsets[i] * sides[j, 0]) / det
                tries.append(np.array([x, y]))
    points = np.array(tries)
    good = points[(points @ sides.T >= offsets - 1e-10).all(axis=1)]
    if not len(good):
        return None
    return np.asarray(good[int(((good - start) ** 2).sum(axis=1).argmin())])
