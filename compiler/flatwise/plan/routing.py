"""The route of each pass: in which order its patches are cut, by which way through each, and how long that takes."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import hypot
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.surface import Surface
from flatwise.model.stages import Leg
from flatwise.plan.path import Kinematics, Path, RowRun, Stretch, ramp, ring, sweep
from flatwise.plan.rounds import box_of, rounds
from flatwise.plan.row_orders import ways_through
from flatwise.plan.rows import RowChoices, Rows
from flatwise.plan.standing_wood import StandingWood, standing_wood
from flatwise.plan.stretches import Patch, needed_stretches, patches, whole_rows
from flatwise.plan.timing import cut_length

#: up to this many patches, every order of them is looked at
FEW = 3

#: x, y, z in mm
XYZ = tuple[float, float, float]


class Through(NamedTuple):
    """A way through one patch, and how long it takes (s)."""

    time: float
    legs: list[Leg]


@dataclass(frozen=True)
class Route:
    """The route of one pass: its legs, the axis of the rows that it runs and where those lie (mm across).

    `whole`: it covers the whole face.  Rounds run no rows.  `time` (s) and `cut_length` (mm at feed) count from where
    the pass before ended.
    """

    legs: tuple[Leg, ...]
    along: str
    rows: tuple[float, ...]
    whole: bool
    time: float
    cut_length: float


class Way(NamedTuple):
    """A way to cut all that stands above a plane: the rows that it is laid by, its legs, and which rows it runs."""

    laid: Rows
    legs: list[Leg]
    run: Sequence[int]
    whole: bool


@lru_cache(maxsize=8)
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
    do.  The last results are kept, since most edits of a job change no move.
    """
    last = laid.last
    woods = [standing_wood(each, top) for each in laid.rough] if len(planes) > 1 and not last.reach_short else []
    found: list[Route | None] = []
    where: XYZ | None = None
    above = top.highest + margin
    for number, plane in enumerate(planes, 1):
        if woods and number < len(planes):
            way = _quickest(woods, plane, margin if skip_air else None, above, kinematics, where)
        else:
            path = Path(last, plane, above, kinematics)
            if last.reach_short:
                ramp(path, (planes[number - 2] if number > 1 else above) - plane)
            else:
                if last.edge_first:
                    ring(path, _uv(last, where))
                _all_rows(path, _end(path.legs) if path.legs else where)
            way = Way(last, path.legs, range(len(last.at)), True)
        if not last.leaves_border:
            # else wood that the travel does not reach stays beside the rows
            above = plane
        if way is None:
            found.append(None)
            continue
        # a pass begins and ends at the lift height
        legs = way.legs
        legs[0], legs[-1] = (legs[k]._replace(z=kinematics.lift) for k in (0, -1))
        start = where if where is not None else _begin(legs)
        across = tuple(way.laid.at[row] for row in way.run)
        time, length = kinematics.seconds(start, legs), cut_length(start, legs)
        found.append(Route(tuple(legs), way.laid.along, across, way.whole, time, length))
        where = _end(legs)
    return tuple(found)


def _time(legs: Sequence[Leg], kinematics: Kinematics, start: XYZ | None) -> float:
    """Seconds for legs from `start`, or else from the place in the air where they begin."""
    return kinematics.seconds(start if start is not None else _begin(legs), legs)


def _begin(legs: Sequence[Leg]) -> XYZ:
    return legs[0].x, legs[0].y, legs[0].z


def _end(legs: Sequence[Leg]) -> XYZ:
    return legs[-1].x, legs[-1].y, legs[-1].z


def _uv(rows: Rows, where: XYZ | None) -> tuple[float, float] | None:
    """(u, v) of a position, along and across the rows."""
    return rows.point(where[0], where[1]) if where is not None else None


def _quickest(
    woods: Sequence[StandingWood],
    plane: float,
    margin: float | None,
    above: float,
    kinematics: Kinematics,
    where: XYZ | None,
) -> Way | None:
    """The quickest way to cut all that may stand above `plane`, `margin` mm higher than forecast; None if none does.

    Without a margin the whole face is cut.
    """
    ways: list[Way] = []
    for number, wood in enumerate(woods):
        over = wood.over(plane - margin) if margin is not None else np.ones_like(wood.inner)
        if not over.any():
            return None
        path = Path(wood.rows, plane, above, kinematics)
        ways += _by_rows(path, wood, over, where)
        if not number and wood.rows.rough:
            whole = bool(over.all())
            ways += (Way(wood.rows, legs, (), whole) for legs in rounds(path, box_of(wood, over)))
    return min(ways, key=lambda way: _time(way.legs, kinematics, where))


def _by_rows(path: Path, wood: StandingWood, over: NDArray[np.bool_], where: XYZ | None) -> Iterator[Way]:
    """Round the edge if the job says so, then patch by patch; all rows from end to end may be quicker."""
    rows, everything = path.rows, range(len(path.rows.at))
    before: list[Leg] = []
    ringed = rows.edge_first and bool((over & ~wood.inner).any())
    if ringed:
        ring(path, _uv(rows, where))
        before, where, over = path.legs, _end(path.legs), over & wood.inner
    needed = needed_stretches(wood, over, path.kinematics.run_in)
    if not needed:
        yield Way(rows, before, (), False)
        return
    legs = before + through_patches(path, patches(rows, needed), where)
    places = [rows.point(leg.x, leg.y) for leg in legs[len(before) :]]
    run = {v for (u, v), (to, w) in pairwise(places) if u != to and v == w}
    yield Way(rows, legs, [row for row in everything if rows.at[row] in run], bool(over.all()))
    if len(needed) == len(rows.at) and not ringed and not over.all():
        yield Way(rows, through_patches(path, [whole_rows(rows)], where), everything, True)


def _all_rows(path: Path, where: XYZ | None) -> None:
    """Run all rows from end to end, beginning at the corner nearest to `where`."""
    rows = path.rows
    order, forward = list(range(len(rows.at))), True
    near = _uv(rows, where)
    if near is not None:
        u, v = near
        if abs(v - rows.at[-1]) < abs(v - rows.at[0]):
            order.reverse()
        forward = abs(u - rows.start) <= abs(u - rows.end)
    sweep(
        path,
        [RowRun(row, (Stretch(rows.start, rows.end, rows.start, rows.end),), order[0] <= order[-1]) for row in order],
        forward,
    )


def through_patches(path: Path, group: Sequence[Patch], where: XYZ | None) -> list[Leg]:
    """The legs through all patches, in the order and by the ways that take least from `where`."""
    tries = [[Through(_time(legs, path.kinematics, None), legs) for legs in ways_through(path, each)] for each in group]
    joined: list[Leg] = []
    for legs in (_of_all_orders if len(tries) <= FEW else _next_nearest)(path, tries, where):
        if joined and _between(path, _end(joined), legs)[1]:
            # the cutter stays down on its way beside the panel: no lift behind the one patch or before the next
            joined[-1] = Leg(False, legs[0].x, legs[0].y, path.plane)
            joined += legs[next(k for k, leg in enumerate(legs) if not leg.rapid) + 1 :]
        else:
            joined += legs
    return joined


def _of_all_orders(path: Path, tries: Sequence[Sequence[Through]], where: XYZ | None) -> list[list[Leg]]:
    """One way through every patch, in the order that takes least of all orders."""
    # the best so far (s, ways) by the set of patches done (bits), the last of them and the way through it: what follows
    # depends on these alone
    found: dict[tuple[int, int, int], tuple[float, list[list[Leg]]]] = {(0, -1, -1): (0.0, [])}
    for _ in tries:
        longer: dict[tuple[int, int, int], tuple[float, list[list[Leg]]]] = {}
        for (done, _, _), (spent, turns) in found.items():
            for n, through in enumerate(tries):
                if done >> n & 1:
                    continue
                for k, (time, legs) in enumerate(through):
                    total = spent + _approach(path, turns, legs, where) + time
                    key = (done | 1 << n, n, k)
                    if key not in longer or total < longer[key][0]:
                        longer[key] = (total, [*turns, legs])
        found = longer
    return min(found.values(), key=lambda one: one[0])[1]


def _next_nearest(path: Path, tries: Sequence[Sequence[Through]], where: XYZ | None) -> list[list[Leg]]:
    """One way through every patch, the next always the one with the least time to it and over its own quickest way."""
    turns: list[list[Leg]] = []
    left = list(range(len(tries)))
    least = [min(time for time, _ in through) for through in tries]
    while left:
        costs = [
            (_approach(path, turns, legs, where) + time - least[n], n, k)
            for n in left
            for k, (time, legs) in enumerate(tries[n])
        ]
        _, n, k = min(costs)
        turns.append(tries[n][k].legs)
        left.remove(n)
    return turns


def _approach(path: Path, turns: Sequence[Sequence[Leg]], legs: Sequence[Leg], where: XYZ | None) -> float:
    """Seconds from the end of the last way in `turns` to where legs begin; the first way begins from `where`."""
    if turns:
        return _between(path, _end(turns[-1]), legs)[0]
    return path.kinematics.at_rapid(hypot(legs[0].x - where[0], legs[0].y - where[1])) if where is not None else 0.0


def _between(path: Path, here: XYZ, legs: Sequence[Leg]) -> tuple[float, bool]:
    """Seconds from the end of one patch to where legs begin, and whether the cutter stays down on the way.

    If it does, both lifts are saved, so that the time may be negative.
    """
    far = hypot(legs[0].x - here[0], legs[0].y - here[1])
    lifted = path.kinematics.at_rapid(far)
    down = path.kinematics.at_feed(far) - path.lift_time
    stays = down < lifted and beside_panel(path.rows, here, legs[0])
    return (down if stays else lifted), stays


def beside_panel(rows: Rows, here: XYZ, leg: Leg) -> bool:
    """Whether the way from a position to where a leg ends lies beside the panel, at the ends of the rows."""
    (u, _), (to, _) = rows.point(here[0], here[1]), rows.point(leg.x, leg.y)
    return u == to and (u == rows.start or u == rows.end)
