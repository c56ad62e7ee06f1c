"""The route of each pass: in which order its patches are cut, by which way through each, and how long that takes."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import pairwise
from math import hypot
from typing import NamedTuple

from flatwise.core.surface import Surface
from flatwise.model.stages import Leg
from flatwise.plan.path import Kinematics, Path, RowRun, ramp, ring, sweep
from flatwise.plan.row_orders import ways_through
from flatwise.plan.rows import Rows
from flatwise.plan.standing_wood import StandingWood, standing_wood
from flatwise.plan.stretches import Patch, needed_stretches, patches
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
    """The route of one pass: its legs, the rows that it runs (mm across), and whether those are all rows end to end.

    `time` (s) and `cut_length` (mm at feed) count from where the pass before ended.
    """

    legs: tuple[Leg, ...]
    rows: tuple[float, ...]
    whole: bool
    time: float
    cut_length: float


@lru_cache(maxsize=8)
def routes(
    laid: tuple[Rows, Rows],
    top: Surface,
    planes: tuple[float, ...],
    margin: float,
    kinematics: Kinematics,
    skip_air: bool,
) -> tuple[Route | None, ...]:
    """The route of every pass at `planes` (mm above the bed, highest first); None where no wood stands above it.

    `laid` are the rows of the passes before the last, and of the last.  The top may stand `margin` mm higher than
    forecast.  The last pass covers the whole face, and without `skip_air` all do.  The last results are kept, since
    most edits of a job change no move.
    """
    rough, last = laid
    wood = standing_wood(rough, top) if skip_air and len(planes) > 1 and not rough.reach_short else None
    found: list[Route | None] = []
    where: XYZ | None = None
    above = top.highest + margin
    for number, plane in enumerate(planes, 1):
        rows = last if number == len(planes) else rough
        path = Path(rows, plane, above, kinematics)
        run: Sequence[int] = range(len(rows.at))
        whole = True
        if rows.reach_short:
            ramp(path, (planes[number - 2] if number > 1 else above) - plane)
        elif wood is None or number == len(planes):
            if rows.edge_first:
                ring(path, _uv(rows, where))
            _all_rows(path, _end(path.legs) if path.legs else where)
        else:
            run, whole = _quickest(path, wood, plane - margin, where)
        if not rows.leaves_border:
            # else wood that the travel does not reach stays beside the rows
            above = plane
        if not path.legs:
            found.append(None)
            continue
        # a pass begins and ends at the lift height
        path.legs[0], path.legs[-1] = (path.legs[k]._replace(z=kinematics.lift) for k in (0, -1))
        start = where if where is not None else _begin(path.legs)
        across = tuple(rows.at[row] for row in run)
        time, length = kinematics.seconds(start, path.legs), cut_length(start, path.legs)
        found.append(Route(tuple(path.legs), across, whole, time, length))
        where = _end(path.legs)
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


def _quickest(path: Path, wood: StandingWood, plane: float, where: XYZ | None) -> tuple[Sequence[int], bool]:
    """Put the quickest route that cuts all wood above `plane` (mm, as forecast) into `path`; nothing if none stands.

    Returns the rows that it runs, and whether it runs all of them from end to end.
    """
    rows, everything = path.rows, range(len(path.rows.at))
    ringed = rows.edge_first and bool((wood.over(plane) & ~wood.inner).any())
    if ringed:
        ring(path, _uv(rows, where))
        where = _end(path.legs)
    needed = needed_stretches(wood, plane, ringed, path.kinematics.run_in)
    if needed is None:
        _all_rows(path, where)
        return everything, True
    if not needed:
        return (), False
    legs = through_patches(path, patches(rows, needed), where)
    if len(needed) == len(rows.at) and not ringed:
        # all rows from end to end may be quicker after all
        whole = path.fresh()
        _all_rows(whole, where)
        if _time(whole.legs, path.kinematics, where) <= _time(legs, path.kinematics, where):
            path.legs += whole.legs
            return everything, True
    path.legs += legs
    places = [rows.point(leg.x, leg.y) for leg in legs]
    run = {v for (u, v), (to, w) in pairwise(places) if u != to and v == w}
    return [row for row in everything if rows.at[row] in run], False


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
    sweep(path, [RowRun(row, ((rows.start, rows.end),), order[0] <= order[-1]) for row in order], forward)


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
