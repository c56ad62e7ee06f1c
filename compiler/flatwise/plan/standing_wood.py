"""Where wood stands above a plane, and what of each row that makes needed.

u runs along the rows and v across them.  Each row answers for the band of the face that is nearer to it than to any
other row: only what stands there needs the row.  A *stretch* of a row runs from where the whole cutter is clear of
standing wood to where it is clear again; stretches of rows that belong together are a *patch*.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from math import ceil
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.surface import Array, Surface, distinct
from flatwise.plan.rows import SEAM, SURE, Rows

#: mm that a cutter comes down clear of standing wood inside the face
RUN_IN = 2.0
#: mm along a row in which wood is looked for
CELL = 5.0
#: or longer, where rows so long lie so close that a face would have more cells than this
MOST_CELLS = 4_000_000

#: from and to along a row, mm
Stretch = tuple[float, float]


class Runs(NamedTuple):
    """Runs of wood along the slices, ascending by slice: arrays (runs).

    `slice`: which one; `bottom` and `top`: mm across, its sides; `low` and `high`: mm along, the run itself; `left` and
    `right`: the same, or infinitely far where the run meets the end of the face.  `first` (slices + 1): where the
    runs of each slice begin.
    """

    slice: NDArray[np.intp]
    bottom: Array
    top: Array
    low: Array
    high: Array
    left: Array
    right: Array
    first: list[int]


class Near(NamedTuple):
    """Wood that stands in a row's strip, and where the cutter comes too near to it: arrays (runs).

    `begin` and `end`: along the row the centre is not clear of it between them, ascending by `begin`; `low` and
    `high`: the wood itself; all mm along the row.  `needed`: the row answers for it; else it only is in the way of
    coming down.
    """

    begin: Array
    end: Array
    needed: NDArray[np.bool_]
    slice: NDArray[np.intp]
    low: Array
    high: Array


@dataclass(frozen=True)
class Part:
    """What a patch needs of one row, by what is cut already.

    `fresh`: nothing is, so that a stretch ends clear of all wood in the strip that the cutter sweeps.  `up`: the
    rows before it (lower v) have been run, so that less may be in the way, or nothing needed any more; `down`: the
    rows after it have.
    """

    row: int
    fresh: tuple[Stretch, ...]
    up: tuple[Stretch, ...]
    down: tuple[Stretch, ...]


#: parts by ascending row
Patch = Sequence[Part]


class Standing:
    """Where wood stands over a face, as forecast."""

    def __init__(self, rows: Rows, top: Surface) -> None:
        self.rows = rows
        border = (rows.border, rows.width - rows.border)
        #: mm between the cutter's centre and standing wood, at least, where it comes down
        self.clear = rows.diameter / 2.0 + RUN_IN
        at = np.array(rows.at)
        half = band(rows)
        low, high = np.append(0.0, at[1:] - half), np.append(at[:-1] + half, rows.width)
        # a row's strip in slices: to the clearance, and to where it is sure to cut
        sure = max(0.0, rows.diameter / 2.0 - SURE)
        asides = (self.clear, sure)
        sides = [low, high, np.array(border), *(at + a for a in asides), *(at - a for a in asides)]
        # and a thin slice at either side of a step
        across = top.ys if rows.along == "x" else top.xs
        lines = across[1:][across[1:] == across[:-1]]
        cuts = distinct(np.clip(np.concatenate((*sides, lines - SEAM, lines, lines + SEAM)), 0.0, rows.width))
        self.cuts = cuts
        count = max(1, min(ceil(rows.length / CELL), MOST_CELLS // len(cuts)))
        edges: Array = np.linspace(0.0, rows.length, count + 1)
        if rows.perimeter:
            edges = distinct(np.append(edges, np.clip((border[0], rows.length - border[0]), 0.0, rows.length)))
        self.edges = edges
        cells = top.cells(edges, cuts)[1] if rows.along == "x" else top.cells(cuts, edges)[1].T
        #: (slices, cells) mm: the highest top in thin slices along the rows
        self.high: Array = cells

        def slices(v: Array) -> list[int]:
            found: list[int] = np.searchsorted(cuts, np.clip(v, 0.0, rows.width) - 1e-9).tolist()
            return found

        #: for every row the slices (from, beyond) of its strip, of its band, and of where it is sure to cut
        self.strips = list(zip(slices(at - self.clear), slices(at + self.clear), strict=True))
        self.bands = list(zip(slices(low), slices(high), strict=True))
        self.sure = list(zip(slices(at - sure), slices(at + sure), strict=True))
        inside = (cuts[:-1] >= border[0] - 1e-9) & (cuts[1:] <= border[1] + 1e-9)
        within = (edges[1:] > border[0] + 1e-9) & (edges[:-1] < rows.length - border[0] - 1e-9)
        #: (slices, cells): what is left of the face once the cutter has been round its edge
        self.inner: NDArray[np.bool_] = inside[:, None] & within

    def parts(self, plane: float, ringed: bool) -> list[Part] | None:
        """What every row that is needed above `plane` must run, or None if that is all of all rows.

        `plane` counts from the forecast: what may stand higher than that has been taken off it.  `ringed`: the edge
        has been gone round before.
        """
        over = self.high > plane + 1e-9
        if not ringed:
            return None if over.all() else self._parts(over)
        over &= self.inner
        return self._parts(over) if (over != self.inner).any() else self._all_inner

    def at_edge(self, plane: float) -> bool:
        """Whether anything stands above `plane` that going round the edge cuts."""
        return bool((self.high > plane + 1e-9)[~self.inner].any())

    @cached_property
    def _all_inner(self) -> list[Part]:
        """The parts of all that the edge leaves: most passes after it take that."""
        return self._parts(self.inner)

    def _parts(self, over: NDArray[np.bool_]) -> list[Part]:
        """What every row that is needed must run where wood stands in the cells `over` (slices, cells)."""
        runs = self._runs(over)
        first = runs.first
        near = {row: self._near(row, runs) for row, (low, high) in enumerate(self.bands) if first[low] < first[high]}
        # upward all rows below have been run, so only what lies from the row's own band on can be in the way
        up: dict[int, tuple[Stretch, ...]] = {}
        for row, found in near.items():
            ahead, cut = found.slice >= self.bands[row][0], up.get(row - 1, ())
            if cut:
                found, ahead = _left(found, ahead, found.slice < self.sure[row - 1][1], cut)
            up[row] = _joined(found, ahead)
        down: dict[int, tuple[Stretch, ...]] = {}
        for row, found in reversed(near.items()):
            ahead, cut = found.slice < self.bands[row][1], down.get(row + 1, ())
            if cut:
                found, ahead = _left(found, ahead, found.slice >= self.sure[row + 1][0], cut)
            down[row] = _joined(found, ahead)
        return [Part(row, _joined(found, found.slice >= 0), up[row], down[row]) for row, found in near.items()]

    def _runs(self, over: NDArray[np.bool_]) -> Runs:
        """The runs of cells (slices, cells) where wood stands."""
        edges, cuts = self.edges, self.cuts
        padded = np.zeros((over.shape[0], over.shape[1] + 2), dtype=np.bool_)
        padded[:, 1:-1] = over
        slices, flips = np.nonzero(padded[:, 1:] != padded[:, :-1])
        k, a, b = slices[::2], flips[::2], flips[1::2]
        low, high = edges[a], edges[b]
        left, right = np.where(a == 0, -np.inf, low), np.where(b == len(edges) - 1, np.inf, high)
        first = np.searchsorted(k, np.arange(len(cuts) + 1)).tolist()
        return Runs(k, cuts[k], cuts[k + 1], low, high, left, right, first)

    def _near(self, row: int, runs: Runs) -> Near:
        """The wood that stands in the slices of a row's strip."""
        v, (first, last), (low, high) = self.rows.at[row], self.strips[row], self.bands[row]
        of = slice(runs.first[min(first, low)], runs.first[max(last, high)])
        k = runs.slice[of]
        aside = np.maximum(0.0, np.maximum(runs.bottom[of] - v, v - runs.top[of]))
        # half the chord of the clear disc, that far aside
        half = np.sqrt(np.maximum(0.0, self.clear * self.clear - aside * aside))
        begin = np.maximum(self.rows.start, runs.left[of] - half)
        end = np.minimum(self.rows.end, runs.right[of] + half)
        order = np.argsort(begin, kind="stable")
        k = k[order]
        return Near(begin[order], end[order], (low <= k) & (k < high), k, runs.low[of][order], runs.high[of][order])


def band(rows: Rows) -> float:
    """mm to either side of a row's centre where it cuts what stands: to its neighbour's band, or further.

    Further where the first row of a patch would else take more than the widest bite, with all that stands from beyond
    the band of the row before it, which is not run, to its own rim.
    """
    return max(rows.step / 2.0 + SEAM, rows.step + rows.diameter / 2.0 - rows.bite)


@lru_cache(maxsize=8)
def standing(rows: Rows, top: Surface) -> Standing:
    """Where wood stands on a face; the last ones are kept, since most edits of a job change neither."""
    return Standing(rows, top)


def _left(
    near: Near, ahead: NDArray[np.bool_], passed: NDArray[np.bool_], cut: Sequence[Stretch]
) -> tuple[Near, NDArray[np.bool_]]:
    """What is left of the wood `ahead` once the row before has been run along the stretches `cut`, over `passed`.

    Where wood stands beside such a one that the row before did not reach, the row is needed all the same: else the
    next one would take a strip wider than the stepover.  Masks are of shape (runs).
    """
    starts, ends = np.array(cut).T
    over = np.searchsorted(starts, near.low, "right") - 1
    gone = ahead & passed & (over >= 0) & (near.high <= ends[over])
    low, high = near.low[gone], near.high[gone]
    if not len(low):
        return near, ahead
    order = np.argsort(low)
    # of all that is gone and begins before a run ends, the furthest
    furthest = np.append(-np.inf, np.maximum.accumulate(high[order]))
    beside = near.low < furthest[np.searchsorted(low[order], near.high)]
    return near._replace(needed=near.needed | (beside & ~passed)), ahead & ~gone


def _joined(near: Near, ahead: NDArray[np.bool_]) -> tuple[Stretch, ...]:
    """The stretches of the wood `ahead` (runs) with needed wood; two are one if no cutter comes down between them."""
    needed = near.needed[ahead]
    if not needed.any():
        return ()
    begin, furthest = near.begin[ahead], np.maximum.accumulate(near.end[ahead])
    parted = (begin[1:] - RUN_IN >= furthest[:-1]).nonzero()[0]
    if not len(parted):
        return ((float(begin[0]), float(furthest[-1])),)
    firsts, lasts = np.append(0, parted + 1), np.append(parted, len(furthest) - 1)
    kept = np.logical_or.reduceat(needed, firsts)
    return tuple(zip(begin[firsts[kept]].tolist(), furthest[lasts[kept]].tolist(), strict=True))


def patches(rows: Rows, parts: Sequence[Part]) -> list[Patch]:
    """The parts of rows in groups that have nothing to do with each other: any may be cut before any other.

    Stretches belong together where they lie over one another and the strip of one meets the band of the other.
    """
    radius = rows.diameter / 2.0
    near = radius + RUN_IN + max(band(rows), radius - SURE)
    owner: list[list[int]] = []
    groups: list[list[tuple[int, int]]] = []
    begin = 0
    for k, part in enumerate(parts):
        while rows.at[part.row] - rows.at[parts[begin].row] >= near:
            begin += 1
        owner.append([])
        for s, (a, b) in enumerate(part.fresh):
            touched = {
                owner[j][t] for j in range(begin, k) for t, (c, d) in enumerate(parts[j].fresh) if a < d and c < b
            }
            if not touched:
                owner[k].append(len(groups))
                groups.append([(k, s)])
                continue
            into = min(touched)
            owner[k].append(into)
            groups[into].append((k, s))
            for other in touched - {into}:
                for j, t in groups[other]:
                    owner[j][t] = into
                groups[into] += groups[other]
                groups[other] = []
    return [_patch(parts, sorted(group)) for group in groups if group]


def _patch(parts: Sequence[Part], group: Sequence[tuple[int, int]]) -> Patch:
    """Of every row only what lies in the stretches (row's place in `parts`, stretch) of a group."""
    wanted: dict[int, list[Stretch]] = {}
    for k, s in group:
        wanted.setdefault(k, []).append(parts[k].fresh[s])

    def kept(all_of_row: Sequence[Stretch], stretches: Sequence[Stretch]) -> tuple[Stretch, ...]:
        return tuple(one for one in all_of_row if any(a - 1e-9 <= one[0] and one[1] <= b + 1e-9 for a, b in stretches))

    return [
        Part(parts[k].row, tuple(stretches), kept(parts[k].up, stretches), kept(parts[k].down, stretches))
        for k, stretches in wanted.items()
    ]
