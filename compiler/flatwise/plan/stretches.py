"""The length that each row must run to cut the standing wood: its stretches, and the patches that they form.

A *stretch* of a row runs from where the whole cutter is clear of standing wood to where it is clear again, or as far
as the row leaves nothing standing.  Stretches that belong together form a *patch*.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.surface import Array
from flatwise.plan.path import Stretch
from flatwise.plan.rows import SURE, Rows
from flatwise.plan.standing_wood import RUN_IN, StandingWood, WoodRuns, half_band


class RowStretches(NamedTuple):
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
    `first` and `last`: how far the centre must go for the row to leave nothing of it.  `needed`: the row is responsible
    for it; other wood is only in the way where the cutter comes down.  `bottom` and `top`: its sides, mm across.
    """

    begin: Array
    end: Array
    first: Array
    last: Array
    needed: NDArray[np.bool_]
    slice: NDArray[np.intp]
    low: Array
    high: Array
    bottom: Array
    top: Array


def whole_rows(rows: Rows) -> list[RowStretches]:
    """All rows from end to end."""
    aside = np.array(max(half_band(rows), rows.at[0], rows.width - rows.at[-1]))
    turn = max(rows.start, float(rows.before(aside))) if rows.short else rows.start
    whole = (Stretch(rows.start, rows.end, min(turn, rows.length / 2.0), max(rows.length - turn, rows.length / 2.0)),)
    return [RowStretches(row, whole, whole, whole) for row in range(len(rows.at))]


def needed_stretches(wood: StandingWood, over: NDArray[np.bool_], run_in: float) -> list[RowStretches]:
    """The stretches of every row that is needed for the wood `over` a plane, (slices, cells).

    Before a stretch `run_in` mm of its row are clear of wood, or all of the row.
    """
    if over.all():
        return whole_rows(wood.rows)
    runs = wood.runs(over)
    near = {
        row: _near(wood, row, runs) for row, (low, high) in enumerate(wood.bands) if runs.first[low] < runs.first[high]
    }
    # with the rows below run already, only wood from the row's own band on can be in the way
    up: dict[int, tuple[Stretch, ...]] = {}
    for row, found in near.items():
        ahead = found.slice >= wood.bands[row][0]
        if cut := up.get(row - 1):
            found, ahead = _left(found, ahead, found.slice < wood.sure[row - 1][1], wood.rows, row - 1, cut)
        up[row] = _joined(found, ahead, run_in, wood.rows.short)
    down: dict[int, tuple[Stretch, ...]] = {}
    for row, found in reversed(near.items()):
        ahead = found.slice < wood.bands[row][1]
        if cut := down.get(row + 1):
            found, ahead = _left(found, ahead, found.slice >= wood.sure[row + 1][0], wood.rows, row + 1, cut)
        down[row] = _joined(found, ahead, run_in, wood.rows.short)
    return [
        RowStretches(row, _joined(found, found.slice >= 0, run_in, wood.rows.short), up[row], down[row])
        for row, found in near.items()
    ]


def _near(wood: StandingWood, row: int, runs: WoodRuns) -> NearWood:
    """The wood in a row's strip."""
    v, (first, last), (low, high) = wood.rows.at[row], wood.strips[row], wood.bands[row]
    of = slice(runs.first[min(first, low)], runs.first[max(last, high)])
    k = runs.slice[of]
    bottom, top, low_end, high_end = runs.bottom[of], runs.top[of], runs.low[of], runs.high[of]
    aside = np.maximum(0.0, np.maximum(bottom - v, v - top))
    # half the chord of the clear disc at that distance from the row
    half = np.sqrt(np.maximum(0.0, wood.clear * wood.clear - aside * aside))
    begin = np.maximum(wood.rows.start, runs.left[of] - half)
    end = np.minimum(wood.rows.end, runs.right[of] + half)
    turn = wood.rows.before(_farther(bottom, top, v)) if wood.rows.short else None
    order = np.argsort(begin, kind="stable")
    begins = begin if turn is None else np.maximum(begin, low_end + turn)
    ends = end if turn is None else np.minimum(end, high_end - turn)
    k = k[order]
    return NearWood(
        begin[order],
        end[order],
        begins[order],
        ends[order],
        (low <= k) & (k < high),
        k,
        low_end[order],
        high_end[order],
        bottom[order],
        top[order],
    )


def _farther(bottom: Array, top: Array, v: float) -> Array:
    """(runs,) how far the farther side of wood lies beside v, mm."""
    return np.maximum(np.abs(bottom - v), np.abs(top - v))


def _left(
    near: NearWood,
    ahead: NDArray[np.bool_],
    passed: NDArray[np.bool_],
    rows: Rows,
    before: int,
    cut: Sequence[Stretch],
) -> tuple[NearWood, NDArray[np.bool_]]:
    """The wood `ahead` that remains once the row `before` has run the stretches `cut`, over the slices `passed`.

    Wood beside a run that is gone, but out of the reach of that row, needs this row even outside its band: otherwise
    the next row would take a strip wider than the stepover.  Masks are (runs,).
    """
    # how far the cutter certainly takes wood beyond the centre
    aside = _farther(near.bottom, near.top, rows.at[before])
    beyond = np.sqrt(np.maximum(0.0, (rows.sure_radius - SURE) ** 2 - aside**2))
    _, _, starts, ends = np.array(cut).T
    over = np.searchsorted(starts, near.low + beyond, "right") - 1
    gone = ahead & passed & (over >= 0) & (near.high <= ends[over] + beyond)
    low, high = near.low[gone], near.high[gone]
    if not len(low):
        return near, ahead
    order = np.argsort(low)
    # the furthest end of all gone runs that begin before a given place
    furthest = np.append(-np.inf, np.maximum.accumulate(high[order]))
    beside = near.low < furthest[np.searchsorted(low[order], near.high)]
    return near._replace(needed=near.needed | (beside & ~passed)), ahead & ~gone


def _joined(near: NearWood, ahead: NDArray[np.bool_], run_in: float, short: bool) -> tuple[Stretch, ...]:
    """The stretches over the wood `ahead` (runs,) that hold needed wood, joined where there is no `run_in` between."""
    needed = near.needed[ahead]
    if not needed.any():
        return ()
    begin, furthest = near.begin[ahead], np.maximum.accumulate(near.end[ahead])
    first, last = near.first[ahead], near.last[ahead]
    if short:
        # only the wood counts that the row is responsible for
        first, last = np.where(needed, first, np.inf), np.where(needed, last, -np.inf)
    parted = (begin[1:] - run_in >= furthest[:-1]).nonzero()[0]
    if not len(parted):
        return (_stretch(float(begin[0]), float(furthest[-1]), float(first.min()), float(last.max())),)
    firsts, lasts = np.append(0, parted + 1), np.append(parted, len(furthest) - 1)
    kept = np.logical_or.reduceat(needed, firsts)
    first, last = np.minimum.reduceat(first, firsts), np.maximum.reduceat(last, firsts)
    found = begin[firsts], furthest[lasts], first, last
    return tuple(_stretch(*each) for each in zip(*(each[kept].tolist() for each in found), strict=True))


def _stretch(low: float, high: float, first: float, last: float) -> Stretch:
    """A stretch; one place in the middle does for wood shorter than the cutter takes there."""
    middle = (first + last) / 2.0
    return Stretch(low, high, min(first, middle), max(last, middle))


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
        for s, (a, b, *_) in enumerate(one.fresh):
            group_of[k, s] = {(k, s)}
            for j in range(begin, k):
                for t, (c, d, *_) in enumerate(needed[j].fresh):
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
        return tuple(
            one
            for one in of_row
            if any(each.low - 1e-9 <= one.low and one.high <= each.high + 1e-9 for each in stretches)
        )

    return [
        RowStretches(needed[k].row, tuple(fresh), kept(needed[k].up, fresh), kept(needed[k].down, fresh))
        for k, fresh in wanted.items()
    ]
