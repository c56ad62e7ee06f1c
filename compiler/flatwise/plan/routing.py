"""The route of each pass: in which order its patches are cut, by which way through each, and how long that takes."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import lru_cache, partial
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
from flatwise.plan.stretches import Patch, RowStretches, needed_stretches, patches, whole_rows
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


#: the least time that any of some ways takes (s), and what gives these ways
Choice = tuple[float, Callable[[], Iterable[Way]]]


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
        quickest, found = inf, None
        for least, ways in self.choices(path, over, where):
            for way in ways() if least < quickest else ():
                may_stop()
                time = settled(time_of(way.legs, self.kinematics, where))
                if time < quickest:
                    quickest, found = time, way
        assert found is not None
        return found

    def choices(self, path: Path, over: NDArray[np.bool_], where: XYZ | None) -> Iterator[Choice]:
        """All that may be quickest, likely ones first: rounds where rows go one way, else the rows."""
        rows = path.rows
        if rows.one_way:
            yield from self._inward(path, over)
        yield from self._by_rows(path.fresh(), over, where)
        for turned in self.turned if over.all() and not rows.edge_first else ():
            # for a part of the face a second direction doubles the time of planning and saved 0.1 % of machine time
            yield _all_short(Path(turned, path.plane, path.above, self.kinematics), where)
        if not rows.one_way:
            yield from self._inward(path, over)

    def _inward(self, path: Path, over: NDArray[np.bool_]) -> Iterator[Choice]:
        """Rounds from the edge inward, where the rows allow them."""
        rows, whole = path.rows, bool(over.all())

        def ways(count: int, all_legs: Callable[[], Iterator[list[Leg]]]) -> Iterator[Way]:
            return (Way(rows, legs, (), whole, count) for legs in all_legs())

        for least, count, all_legs in rounds(path, box_of(self.wood, over)) if rows.goes_round else ():
            yield least, partial(ways, count, all_legs)

    def _by_rows(self, path: Path, over: NDArray[np.bool_], where: XYZ | None) -> Iterator[Choice]:
        """Round the edge if the job says so, then patch by patch; all rows from end to end may be quicker."""
        rows, wood = path.rows, self.wood
        before: list[Leg] = []
        ringed, spent = rows.edge_first and bool((over & ~wood.inner).any()), 0.0
        if ringed:
            ring(path, _uv(rows, where))
            before, over = path.legs, over & wood.inner
            spent = time_of(before, path.kinematics, where)
            where = end(before)
        key = _digest(over)
        if key not in self._needed:
            self._needed[key] = needed_stretches(wood, over, path.kinematics.run_in)
        needed = self._needed[key]
        if not needed:
            yield spent, lambda: [Way(rows, before, (), False)]
            return
        groups = patches(rows, needed)

        def by_patches() -> Iterator[Way]:
            legs = before + through_patches(path, groups, where)
            places = [rows.point(leg.x, leg.y) for leg in legs[len(before) :]]
            run = {v for (u, v), (to, w) in pairwise(places) if u != to and v == w}
            yield Way(rows, legs, [row for row, v in enumerate(rows.at) if v in run], bool(over.all()))

        yield settled(spent + _running(path, groups)), by_patches
        if len(needed) == len(rows.at) and not ringed and not over.all():
            yield _all_short(path, where)


def _all_short(path: Path, where: XYZ | None) -> Choice:
    """All rows, as far as they leave nothing standing."""
    whole = whole_rows(path.rows)

    def ways() -> Iterator[Way]:
        yield Way(path.rows, through_patches(path, [whole], where), range(len(path.rows.at)), True)

    return _running(path, [whole]), ways


def _digest(over: NDArray[np.bool_]) -> bytes:
    """A short key for a mask, which itself may be large."""
    return blake2b(np.packbits(over).tobytes()).digest()


def _running(path: Path, groups: Sequence[Patch]) -> float:
    """The least time that running the rows of patches takes, s: without ways from patch to patch."""
    kinematics, step = path.kinematics, path.rows.step
    hop = path.least_lift + kinematics.at_rapid(step)
    over = hop if path.rows.one_way else min(hop, kinematics.at_feed(step))
    least = path.least_lift
    for patch in groups:
        # some rows of a patch are run upward and the others downward; stretches of one may follow without a stop
        lengths = [min(_length(one.up), _length(one.down)) for one in patch if one.up and one.down]
        least += over * max(0, len(lengths) - 1) + sum(map(kinematics.at_feed, lengths))
    return settled(least)


def _length(stretches: Sequence[Stretch]) -> float:
    return sum(one.last - one.first for one in stretches)


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
