"""The route of each pass: in which order its patches are cut, by which way through each, and how long that takes."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from hashlib import blake2b
from itertools import pairwise
from math import inf
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.stopping import may_stop
from flatwise.core.surface import Surface
from flatwise.core.units import settled
from flatwise.model.stages import Leg
from flatwise.plan.path import Kinematics, Path, RowRun, Stretch, ramp, ring, sweep
from flatwise.plan.rounds import box_of, rounds
from flatwise.plan.row_orders import XYZ, begin, end, through_patches, time_of
from flatwise.plan.rows import RowChoices, Rows
from flatwise.plan.standing_wood import standing_wood
from flatwise.plan.stretches import RowStretches, needed_stretches, patches, whole_rows
from flatwise.plan.timing import cut_length


class Route(NamedTuple):
    """The route of one pass: its legs, the axis of the rows that it runs and where those lie (mm across).

    `whole`: it covers the whole face.  `rounds`: how many it goes from the edge inward, in place of rows.  `time` (s)
    and `cut_length` (mm at feed) count from where the pass before ended.
    """

    legs: tuple[Leg, ...]
    along: str
    rows: tuple[float, ...]
    whole: bool
    rounds: int
    time: float
    cut_length: float


class Way(NamedTuple):
    """A way to cut all that stands above a plane: its legs, and which of the rows laid, or how many rounds, it runs."""

    laid: Rows
    legs: list[Leg]
    run: Sequence[int]
    whole: bool
    rounds: int = 0


@lru_cache(maxsize=32)
def routes(
    laid: RowChoices,
    top: Surface,
    planes: tuple[float, ...],
    margin: float,
    kinematics: Kinematics,
    skip_air: bool,
) -> tuple[Route | None, ...]:
    """The route of every pass at `planes` (mm above the bed, highest first); None where no wood stands above it.

    The top may stand `margin` mm higher than forecast.  The last pass covers the whole face, and without `skip_air` all
    do.  The last results are kept, those of a batch too, since most edits of a job change no move.
    """
    last = laid.last
    finder = WayFinder(laid, top, kinematics) if len(planes) > 1 and not last.reach_short else None
    found: list[Route | None] = []
    where: XYZ | None = None
    above = top.highest + margin
    for number, plane in enumerate(planes, 1):
        if finder is not None and number < len(planes):
            way = finder.way(plane, margin if skip_air else None, above, where)
        else:
            path = Path(last, plane, above, kinematics)
            if last.reach_short:
                ramp(path, (planes[number - 2] if number > 1 else above) - plane)
            else:
                if last.edge_first:
                    ring(path, _uv(last, where))
                _all_rows(path, end(path.legs) if path.legs else where)
            way = Way(last, path.legs, range(len(last.at)), True)
        if not last.leaves_border:
            # else wood that the travel does not reach stays beside the rows
            above = plane
        if way is None:
            found.append(None)
            continue
        # a pass begins and ends at the lift height
        begins, *through, ends = way.legs
        legs = [begins._replace(z=kinematics.lift), *through, ends._replace(z=kinematics.lift)]
        start = where if where is not None else begin(legs)
        across = tuple(way.laid.at[row] for row in way.run)
        time, length = kinematics.seconds(start, legs), cut_length(start, legs)
        found.append(Route(tuple(legs), way.laid.along, across, way.whole, way.rounds, time, length))
        where = end(legs)
    return tuple(found)


def _uv(rows: Rows, where: XYZ | None) -> tuple[float, float] | None:
    """(u, v) of a position, along and across the rows."""
    return rows.point(where[0], where[1]) if where is not None else None


class WayFinder:
    """Finds the quickest way of each pass before the last.

    Passes that cut the same wood from the same place at the same step go the same way, so those found are kept.
    """

    def __init__(self, laid: RowChoices, top: Surface, kinematics: Kinematics) -> None:
        self.wood, self.turned = standing_wood(laid.rough[0], top), laid.rough[1:]
        self.kinematics = kinematics
        self._known: dict[object, tuple[Path, Way | None]] = {}
        self._needed: dict[object, list[RowStretches]] = {}

    def way(self, plane: float, margin: float | None, above: float, where: XYZ | None) -> Way | None:
        """The quickest way to cut all that may stand above `plane`; None if none does.

        The forecast may be `margin` mm too low; without a margin the whole face is cut.  Wood may stand up to `above`.
        """
        over = self.wood.over(plane - margin) if margin is not None else np.ones_like(self.wood.inner)
        path = Path(self.wood.rows, plane, above, self.kinematics)
        steps = round(path.air - plane, 9), round(path.low - plane, 9)
        key = where and where[:2], steps, _digest(over)
        if key not in self._known:
            self._known[key] = path, self._quickest(path, over, where) if over.any() else None
        before, way = self._known[key]
        if way is None or before is path:
            return way
        heights = {before.air: path.air, before.low: path.low, before.plane: path.plane}
        ramps = path.plane - before.plane
        legs = [leg._replace(z=heights[leg.z] if leg.z in heights else leg.z + ramps) for leg in way.legs]
        return way._replace(legs=legs)

    def _quickest(self, path: Path, over: NDArray[np.bool_], where: XYZ | None) -> Way:
        found: list[tuple[float, Way]] = []

        def look_at(ways: Iterable[Way]) -> float:
            for way in ways:
                may_stop()
                found.append((settled(time_of(way.legs, self.kinematics, where)), way))
            return min((time for time, _ in found), default=inf)

        whole, most = bool(over.all()), inf
        if path.rows.goes_round:
            box = box_of(self.wood, over)
            most = look_at(Way(path.rows, legs, (), whole, count) for legs, count in rounds(path, box))
        most = look_at(self._by_rows(path.fresh(), over, where, most))
        for rows in self.turned if whole and not path.rows.edge_first else ():
            # for a part of the face a second direction doubles the time of planning and saved 0.1 % of machine time
            most = look_at(_all_short(Path(rows, path.plane, path.above, self.kinematics), where, most))
        return min(found, key=lambda one: one[0])[1]

    def _by_rows(self, path: Path, over: NDArray[np.bool_], where: XYZ | None, most: float) -> Iterator[Way]:
        """Round the edge if the job says so, then patch by patch; all rows from end to end may be quicker.

        None that certainly takes `most` seconds or longer.
        """
        rows, wood = path.rows, self.wood
        before: list[Leg] = []
        ringed = rows.edge_first and bool((over & ~wood.inner).any())
        if ringed:
            ring(path, _uv(rows, where))
            before, over = path.legs, over & wood.inner
            most -= time_of(before, path.kinematics, where)
            where = end(before)
        key = _digest(over)
        if key not in self._needed:
            self._needed[key] = needed_stretches(wood, over, path.kinematics.run_in)
        needed = self._needed[key]
        if not needed:
            yield Way(rows, before, (), False)
            return
        if min(_running(path, [one.up for one in needed]), _running(path, [one.down for one in needed])) < settled(
            most
        ):
            legs = before + through_patches(path, patches(rows, needed), where)
            places = [rows.point(leg.x, leg.y) for leg in legs[len(before) :]]
            run = {v for (u, v), (to, w) in pairwise(places) if u != to and v == w}
            yield Way(rows, legs, [row for row, v in enumerate(rows.at) if v in run], bool(over.all()))
        if len(needed) == len(rows.at) and not ringed and not over.all():
            yield from _all_short(path, where, most)


def _all_short(path: Path, where: XYZ | None, most: float) -> Iterator[Way]:
    """All rows, as far as they leave nothing standing; none if they certainly take `most` seconds or longer."""
    whole = whole_rows(path.rows)
    if _running(path, [one.up for one in whole]) < settled(most):
        yield Way(path.rows, through_patches(path, [whole], where), range(len(path.rows.at)), True)


def _digest(over: NDArray[np.bool_]) -> bytes:
    """A short key for a mask, which itself may be large."""
    return blake2b(np.packbits(over).tobytes()).digest()


def _running(path: Path, stretches: Sequence[Sequence[Stretch]]) -> float:
    """The least time that running stretches takes, s: without ways between them, but for the lifts of rows one way."""
    lifts = path.lift_time * (len(stretches) - 1) if path.rows.one_way else 0.0
    return settled(lifts + sum(path.kinematics.at_feed(one.last - one.first) for row in stretches for one in row))


def _all_rows(path: Path, where: XYZ | None) -> None:
    """Run all rows from end to end, beginning at the corner nearest to `where`."""
    rows = path.rows
    order, forward = list(range(len(rows.at))), True
    near = _uv(rows, where)
    if near is not None:
        u, v = near
        if settled(abs(v - rows.at[-1]) - abs(v - rows.at[0])) < 0.0:
            order.reverse()
        forward = settled(abs(u - rows.start) - abs(u - rows.end)) <= 0.0
    whole = (Stretch(rows.start, rows.end, rows.start, rows.end),)
    sweep(path, [RowRun(row, whole, order[0] <= order[-1]) for row in order], forward)
