"""What each row must run to cut the standing wood: its stretches, and the patches that they form.

A *stretch* of a row runs from where the whole cutter is clear of standing wood to where it is clear again.  Stretches
that belong together form a *patch*.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.surface import Array
from flatwise.plan.path import Stretch
from flatwise.plan.rows import SURE, Rows
from flatwise.plan.standing_wood import RUN_IN, StandingWood, WoodRuns, half_band


@dataclass(frozen=True)
class RowStretches:
    """The stretches of one row, depending on what is already cut.

    `fresh`: nothing, so that a stretch ends clear of all wood in the strip that the cutter sweeps.  `up`: the rows at
    lower v, so that less may stand in the way, or nothing need be cut any more.  `down`: the rows at higher v.
    """

    row: int
    fresh: tuple[Stretch, ...]
    up: tuple[Stretch, ...]
    down: tuple[Stretch, ...]


#: rows of a patch, ascending
Patch = Sequence[RowStretches]


class NearWood(NamedTuple):
    """The runs of wood in a row's strip, ascending by `begin`: arrays (runs,).

    Between `begin` and `end` the centre is not clear of the run; `low` and `high` are its ends; all mm along the row.
    `needed`: the row is responsible for it; other wood is only in the way where the cutter comes down.
    """

    begin: Array
    end: Array
    needed: NDArray[np.bool_]
    slice: NDArray[np.intp]
    low: Array
    high: Array


def needed_stretches(wood: StandingWood, plane: float, ringed: bool, run_in: float) -> list[RowStretches] | None:
    """The stretches of every row that is needed above `plane` (mm, from the forecast); None if that is all of all rows.

    `ringed`: the cutter has been round the edge before.  Before a stretch `run_in` mm of its row are clear of wood, or
    all of the row.
    """
    over = wood.over(plane)
    if ringed:
        over &= wood.inner
    elif over.all():
        return None
    runs = wood.runs(over)
    near = {
        row: _near(wood, row, runs) for row, (low, high) in enumerate(wood.bands) if runs.first[low] < runs.first[high]
    }
    # with the rows below run already, only wood from the row's own band on can be in the way
    up: dict[int, tuple[Stretch, ...]] = {}
    for row, found in near.items():
        ahead = found.slice >= wood.bands[row][0]
        if cut := up.get(row - 1):
            found, ahead = _left(found, ahead, found.slice < wood.sure[row - 1][1], cut)
        up[row] = _joined(found, ahead, run_in)
    down: dict[int, tuple[Stretch, ...]] = {}
    for row, found in reversed(near.items()):
        ahead = found.slice < wood.bands[row][1]
        if cut := down.get(row + 1):
            found, ahead = _left(found, ahead, found.slice >= wood.sure[row + 1][0], cut)
        down[row] = _joined(found, ahead, run_in)
    return [
        RowStretches(row, _joined(found, found.slice >= 0, run_in), up[row], down[row]) for row, found in near.items()
    ]


def _near(wood: StandingWood, row: int, runs: WoodRuns) -> NearWood:
    """The wood in a row's strip."""
    v, (first, last), (low, high) = wood.rows.at[row], wood.strips[row], wood.bands[row]
    of = slice(runs.first[min(first, low)], runs.first[max(last, high)])
    k = runs.slice[of]
    aside = np.maximum(0.0, np.maximum(runs.bottom[of] - v, v - runs.top[of]))
    # half the chord of the clear disc at that distance from the row
    half = np.sqrt(np.maximum(0.0, wood.clear * wood.clear - aside * aside))
    begin = np.maximum(wood.rows.start, runs.left[of] - half)
    end = np.minimum(wood.rows.end, runs.right[of] + half)
    order = np.argsort(begin, kind="stable")
    k = k[order]
    return NearWood(begin[order], end[order], (low <= k) & (k < high), k, runs.low[of][order], runs.high[of][order])


def _left(
    near: NearWood, ahead: NDArray[np.bool_], passed: NDArray[np.bool_], cut: Sequence[Stretch]
) -> tuple[NearWood, NDArray[np.bool_]]:
    """What is left of the wood `ahead` after the row before it has run the stretches `cut`, over the slices `passed`.

    Wood beside a run that is gone, but out of the reach of that row, needs this row even outside its band: otherwise
    the next row would take a strip wider than the stepover.  Masks are (runs,).
    """
    starts, ends = np.array(cut).T
    over = np.searchsorted(starts, near.low, "right") - 1
    gone = ahead & passed & (over >= 0) & (near.high <= ends[over])
    low, high = near.low[gone], near.high[gone]
    if not len(low):
        return near, ahead
    order = np.argsort(low)
    # the furthest end of all gone runs that begin before a given place
    furthest = np.append(-np.inf, np.maximum.accumulate(high[order]))
    beside = near.low < furthest[np.searchsorted(low[order], near.high)]
    return near._replace(needed=near.needed | (beside & ~passed)), ahead & ~gone


def _joined(near: NearWood, ahead: NDArray[np.bool_], run_in: float) -> tuple[Stretch, ...]:
    """The stretches over the wood `ahead` (runs,) that hold needed wood, joined where there is no `run_in` between."""
    needed = near.needed[ahead]
    if not needed.any():
        return ()
    begin, furthest = near.begin[ahead], np.maximum.accumulate(near.end[ahead])
    parted = (begin[1:] - run_in >= furthest[:-1]).nonzero()[0]
    if not len(parted):
        return ((float(begin[0]), float(furthest[-1])),)
    firsts, lasts = np.append(0, parted + 1), np.append(parted, len(furthest) - 1)
    kept = np.logical_or.reduceat(needed, firsts)
    return tuple(zip(begin[firsts[kept]].tolist(), furthest[lasts[kept]].tolist(), strict=True))


def patches(rows: Rows, needed: Sequence[RowStretches]) -> list[Patch]:
    """The stretches in groups that have nothing to do with each other, so that they may be cut in any order.

    Stretches belong together if they overlap along the rows and the strip of one meets the band of the other.
    """
    radius = rows.diameter / 2.0
    near = radius + rows.rounding + RUN_IN + max(half_band(rows), radius - SURE)
    #: the group of each stretch (index in `needed`, index in `fresh`), one set shared by all its members
    group_of: dict[tuple[int, int], set[tuple[int, int]]] = {}
    begin = 0
    for k, one in enumerate(needed):
        while rows.at[one.row] - rows.at[needed[begin].row] >= near:
            begin += 1
        for s, (a, b) in enumerate(one.fresh):
            group_of[k, s] = {(k, s)}
            for j in range(begin, k):
                for t, (c, d) in enumerate(needed[j].fresh):
                    if a < d and c < b and group_of[j, t] is not group_of[k, s]:
                        small, large = sorted((group_of[j, t], group_of[k, s]), key=len)
                        large |= small
                        group_of.update(dict.fromkeys(small, large))
    groups = {id(group): sorted(group) for group in group_of.values()}
    return [_patch(needed, group) for group in sorted(groups.values())]


def _patch(needed: Sequence[RowStretches], group: Sequence[tuple[int, int]]) -> Patch:
    """The rows of a group, each with only the stretches that lie within those of the group."""
    wanted: dict[int, list[Stretch]] = {}
    for k, s in group:
        wanted.setdefault(k, []).append(needed[k].fresh[s])

    def kept(of_row: Sequence[Stretch], stretches: Sequence[Stretch]) -> tuple[Stretch, ...]:
        return tuple(one for one in of_row if any(a - 1e-9 <= one[0] and one[1] <= b + 1e-9 for a, b in stretches))

    return [
        RowStretches(needed[k].row, tuple(fresh), kept(needed[k].up, fresh), kept(needed[k].down, fresh))
        for k, fresh in wanted.items()
    ]
