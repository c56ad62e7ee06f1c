"""Where wood stands above a plane, and what of each row that makes needed.

u runs along the rows and v across them.  Each row answers for the band of the face that is nearer to it than to any
other row: only what stands there needs the row.  A *stretch* of a row runs from where the whole cutter is clear of
standing wood to where it is clear again; stretches of rows that belong together are a *patch*.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property, lru_cache
from math import ceil, sqrt
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.plan.rows import SEAM, SURE, Rows
from flatwise.surface import Array, Surface, distinct
from flatwise_grammar.records import dataclass

#: mm that a cutter comes down clear of standing wood inside the face
RUN_IN = 2.0
#: mm along a row in which wood is looked for
CELL = 5.0

#: from and to along a row, mm
Stretch = tuple[float, float]


class Near(NamedTuple):
    """Wood that stands in one slice of a row's strip, and where the cutter comes too near to it.

    `begin` and `end`: along the row the centre is not clear of it between them; `low` and `high`: the wood itself;
    all mm along the row.  `needed`: the row answers for it; else it only is in the way of coming down.
    """

    begin: float
    end: float
    needed: bool
    slice: int
    low: float
    high: float


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
        count = max(1, ceil(rows.length / CELL))
        border = (rows.border, rows.width - rows.border)
        edges: Array = np.linspace(0.0, rows.length, count + 1)
        if rows.perimeter:
            edges = distinct(np.append(edges, np.clip((border[0], rows.length - border[0]), 0.0, rows.length)))
        self.edges: list[float] = edges.tolist()
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
        self.cuts: list[float] = cuts.tolist()
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
        runs = _runs(over)
        bands = {row: band for row, band in enumerate(self.bands) if any(runs[band[0] : band[1]])}
        near = {row: self._near(row, runs, band) for row, band in bands.items()}
        # upward all rows below have been run, so only what lies from the row's own band on can be in the way
        up: dict[int, tuple[Stretch, ...]] = {}
        for row, found in near.items():
            low, gone = self.bands[row][0], self.sure[row - 1][1] if row else 0
            ahead = [one for one in found if one.slice >= low]
            up[row] = _joined(_left(ahead, range(low, gone), up.get(row - 1, ())))
        down: dict[int, tuple[Stretch, ...]] = {}
        for row, found in reversed(near.items()):
            high, cut = self.bands[row][1], down.get(row + 1, ())
            passed = range(self.sure[row + 1][0], high) if cut else range(0)
            ahead = [one for one in found if one.slice < high]
            down[row] = _joined(_left(ahead, passed, cut))
        return [Part(row, _joined(found), up[row], down[row]) for row, found in near.items()]

    def _near(self, row: int, runs: list[list[tuple[int, int]]], band: tuple[int, int]) -> list[Near]:
        """The wood that stands in the slices of a row's strip, ascending by where it begins to be in the way."""
        rows, edges, cuts = self.rows, self.edges, self.cuts
        v, start, end, beyond = rows.at[row], rows.start, rows.end, len(edges) - 1
        (first, last), (low, high) = self.strips[row], band
        found = []
        for k in range(min(first, low), max(last, high)):
            if not runs[k]:
                continue
            aside = max(0.0, cuts[k] - v, v - cuts[k + 1])
            # half the chord of the clear disc, that far aside
            half = sqrt(max(0.0, self.clear * self.clear - aside * aside))
            needed = low <= k < high
            for a, b in runs[k]:
                begin = start if a == 0 else max(start, edges[a] - half)
                finish = end if b == beyond else min(end, edges[b] + half)
                found.append(Near(begin, finish, needed, k, edges[a], edges[b]))
        found.sort()
        return found


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


def _runs(over: NDArray[np.bool_]) -> list[list[tuple[int, int]]]:
    """For every slice the runs of cells (from, beyond) where wood stands."""
    padded = np.zeros((over.shape[0], over.shape[1] + 2), dtype=np.bool_)
    padded[:, 1:-1] = over
    slices, flips = np.nonzero(padded[:, 1:] != padded[:, :-1])
    runs: list[list[tuple[int, int]]] = [[] for _ in over]
    at = flips.tolist()
    for k, begin, end in zip(slices[::2].tolist(), at[::2], at[1::2], strict=True):
        runs[k].append((begin, end))
    return runs


def _left(near: list[Near], passed: range, cut: Sequence[Stretch]) -> list[Near]:
    """The wood that is left once the row before has been run: over the slices `passed`, along the stretches `cut`.

    Where wood stands beside such a one that the row before did not reach, the row is needed all the same: else the
    next one would take a strip wider than the stepover.
    """
    gone = [one for one in near if one.slice in passed and any(a <= one.low and one.high <= b for a, b in cut)]
    if not gone:
        return near
    left = []
    for one in near:
        if one.slice not in passed:
            beside = any(one.low < other.high and other.low < one.high for other in gone)
            left.append(one._replace(needed=True) if beside and not one.needed else one)
        elif one not in gone:
            left.append(one)
    return left


def _joined(near: Sequence[Near]) -> tuple[Stretch, ...]:
    """The stretches that needed wood (ascending) lies in; two are one where the cutter could not come down between."""
    if near and near[0][:2] == near[-1][:2]:
        return (near[0][:2],) if any(one.needed for one in near) else ()
    merged: list[tuple[float, float, bool]] = []
    for begin, end, needed, *_ in near:
        if merged and begin - RUN_IN < merged[-1][1]:
            low, high, before = merged[-1]
            merged[-1] = (low, max(high, end), before or needed)
        else:
            merged.append((begin, end, needed))
    return tuple((low, high) for low, high, needed in merged if needed)


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
