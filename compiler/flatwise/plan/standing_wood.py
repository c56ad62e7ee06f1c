"""Where wood stands above a plane, in thin slices along the rows.

u runs along the rows and v across them.  Each row is responsible for a band of the face, and only wood that stands in
the band needs the row.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.surface import Array, Surface, distinct
from flatwise.plan.rows import SEAM, SURE, Rows

#: the distance from standing wood that the cutter keeps where it comes down inside the face (mm)
RUN_IN = 2.0
#: length of the cells along a row in which wood is looked for (mm)
CELL = 5.0
#: the cells become longer where a face of long rows close together would have more of them than this
MOST_CELLS = 4_000_000


class WoodRuns(NamedTuple):
    """Runs of standing wood along the slices, ascending by slice: arrays (runs,).

    `slice`: its number; `bottom` and `top`: its sides, mm across; `low` and `high`: the ends of the run, mm along;
    `left` and `right`: the same, but infinitely far where the run meets the end of the face.  `first` (slices + 1): the
    number of the first run of each slice.
    """

    slice: NDArray[np.intp]
    bottom: Array
    top: Array
    low: Array
    high: Array
    left: Array
    right: Array
    first: list[int]


class StandingWood:
    """The top of a face in slices along the rows and cells along the slices.

    For every row, `strips`, `bands` and `sure` hold the slices (first, beyond) where wood is in the way of coming down,
    for which the row is responsible, and which it certainly cuts.
    """

    def __init__(self, rows: Rows, top: Surface) -> None:
        self.rows = rows
        #: the least distance between the cutter's centre and standing wood where it comes down (mm)
        self.clear = rows.diameter / 2.0 + rows.rounding + RUN_IN
        at, half = np.array(rows.at), half_band(rows)
        low, high = np.append(0.0, at[1:] - half), np.append(at[:-1] + half, rows.width)
        sure = max(0.0, rows.sure_radius - SURE)
        border = (rows.border, rows.width - rows.border)
        sides = (low, high, np.array(border), *(at + aside for aside in (self.clear, sure, -self.clear, -sure)))
        #: (slices + 1,) and (cells + 1,) mm: the sides of the slices across, the ends of the cells along
        self.cuts = _cuts(rows, top, sides)
        self.edges = _edges(rows, len(self.cuts))
        if rows.along == "x":
            self.high: Array = top.cells(self.edges, self.cuts)[1]
        else:
            self.high = top.cells(self.cuts, self.edges)[1].T

        def slices(v: Array) -> list[int]:
            found: list[int] = np.searchsorted(self.cuts, np.clip(v, 0.0, rows.width) - 1e-9).tolist()
            return found

        self.strips = list(zip(slices(at - self.clear), slices(at + self.clear), strict=True))
        self.bands = list(zip(slices(low), slices(high), strict=True))
        self.sure = list(zip(slices(at - sure), slices(at + sure), strict=True))
        inside = (self.cuts[:-1] >= border[0] - 1e-9) & (self.cuts[1:] <= border[1] + 1e-9)
        within = (self.edges[1:] > border[0] + 1e-9) & (self.edges[:-1] < rows.length - border[0] - 1e-9)
        #: (slices, cells): what is left of the face once the cutter has been round its edge
        self.inner: NDArray[np.bool_] = inside[:, None] & within

    def over(self, plane: float) -> NDArray[np.bool_]:
        """(slices, cells): where the forecast stands above `plane`; the caller takes off what may stand higher (mm)."""
        return np.asarray(self.high > plane + 1e-9)

    def runs(self, over: NDArray[np.bool_]) -> WoodRuns:
        """The runs of the cells `over` (slices, cells) that hold wood."""
        edges, cuts = self.edges, self.cuts
        padded = np.zeros((over.shape[0], over.shape[1] + 2), dtype=np.bool_)
        padded[:, 1:-1] = over
        slices, flips = np.nonzero(padded[:, 1:] != padded[:, :-1])
        k, a, b = slices[::2], flips[::2], flips[1::2]
        low, high = edges[a], edges[b]
        left, right = np.where(a == 0, -np.inf, low), np.where(b == len(edges) - 1, np.inf, high)
        first = np.searchsorted(k, np.arange(len(cuts) + 1)).tolist()
        return WoodRuns(k, cuts[k], cuts[k + 1], low, high, left, right, first)


def _cuts(rows: Rows, top: Surface, sides: tuple[Array, ...]) -> Array:
    """(slices + 1,) where the face is cut into slices: at the given sides, and to either side of each step (mm)."""
    across = top.ys if rows.along == "x" else top.xs
    lines = across[1:][across[1:] == across[:-1]]
    return distinct(np.clip(np.concatenate((*sides, lines - SEAM, lines, lines + SEAM)), 0.0, rows.width))


def _edges(rows: Rows, cuts: int) -> Array:
    """(cells + 1,) where the slices are cut into cells (mm)."""
    count = max(1, min(ceil(rows.length / CELL), MOST_CELLS // cuts))
    edges: Array = np.linspace(0.0, rows.length, count + 1)
    if rows.edge_first:
        edges = distinct(np.append(edges, np.clip((rows.border, rows.length - rows.border), 0.0, rows.length)))
    return edges


def half_band(rows: Rows) -> float:
    """Half the width of the band that a row is responsible for (mm): to the neighbour's band, or further.

    The row before the first row of a patch is not run, so the first takes all that stands between that row's band and
    its own rim.  The band is wide enough for this to be no more than the widest bite.
    """
    return max(rows.step / 2.0 + SEAM, rows.step + rows.diameter / 2.0 - rows.bite)


@lru_cache(maxsize=8)
def standing_wood(rows: Rows, top: Surface) -> StandingWood:
    """The same; the last ones are kept, since most edits of a job change neither rows nor top."""
    return StandingWood(rows, top)
