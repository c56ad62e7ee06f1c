"""The walk of `flatwise measure`: the points of the grid that the gauge can reach, in the order of least time.

The gauge counts as a cutter of its widest part whose edge is the tip, pressed by half its travel.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import numpy as np

from flatwise.core.surface import Array, Surface, distinct
from flatwise.core.units import settled
from flatwise.model.job import WalkGrid, ZeroZ
from flatwise.model.measuring import Stop, Walk
from flatwise.model.shop import Gauge
from flatwise.model.stages import Bound, Holder, Panel, Work
from flatwise.plan.clearance import CONTACT, apart, contact_gap
from flatwise.plan.planes import bed_part
from flatwise.plan.timing import straight
from flatwise.plan.touch import corner_of, touch
from flatwise.seat.rest import Rest

__all__ = ["Stop", "Walk", "plan_walk"]

#: distance of the outermost points from the edges, mm
INSET = 15.0
#: rounds of improving the order of the points
_ROUNDS = 12
#: of more points than this, only one order is improved
_MANY = 300

#: seconds of moves in the air, by their lengths (n,) in mm
Seconds = Callable[[Array], Array]


def plan_walk(work: Work, panel: Panel, *, under: bool) -> Walk | None:
    """The walk over a panel as it lies free, or turned over (`under`); None where its survey has no `walk`."""
    grid = work.job.survey.walk if work.job.survey is not None else None
    if grid is None or work.gauge is None:
        return None
    return walk_over(work, panel, work.gauge, grid, under=under)


def walk_over(work: Work, panel: Panel, gauge: Gauge, grid: WalkGrid | None, *, under: bool) -> Walk:
    """The walk over the points of a grid, or one without stops where there is no grid."""
    machine = work.machine
    press, digit = float(gauge.travel) / 2.0, machine.controller.digit
    top, bound = _free_face(work, panel, under)
    may_stand = _may_stand(work, top, bound)
    stands = [may_stand, *(holder.height for holder in work.holders)]
    over = may_stand + 2.0 * press + float(machine.hop)
    lift = max(max(stands) + float(machine.lift) + press, over)
    as_cutter = _as_cutter(work, gauge)
    reached: list[Stop] = []
    left_out: list[tuple[float, float]] = []
    for x, y, low, high, off in _points(work, grid, top, bound) if grid is not None else ():
        expected = round(round(high / digit) * digit, 9)
        if _covered(as_cutter, gauge, x, y, expected):
            left_out.append((x, y))
        else:
            reached.append(Stop(0, x, y, expected, off + high - low))
    corner = corner_of(work)
    touched = touch(as_cutter, "first", top, Bound.even(bound))
    zero_at = touched.x, touched.y
    places = np.array([(stop.x, stop.y) for stop in reached])
    order = shortest_order(places, corner, _rapid(work)) if reached else []
    stops = tuple(reached[k]._replace(number=number) for number, k in enumerate(order, 1))
    feed = machine.z_feed
    return Walk(
        gauge_name=gauge.name,
        gauge=gauge,
        nx=int(grid.nx) if grid is not None else 0,
        ny=int(grid.ny) if grid is not None else 0,
        stops=stops,
        under=under,
        left_out=tuple(left_out),
        top=top,
        bound=bound,
        may_stand=may_stand,
        in_the_way=work.holders,
        zero_at=zero_at,
        origin=corner,
        origin_machine=(float(work.job.zero.corner.x), float(work.job.zero.corner.y)),
        lift=lift,
        over=over,
        feed=feed,
        time=_time(work, stops, zero_at, lift, over, feed),
    )


def may_stand_free(work: Work, panel: Panel, *, under: bool) -> float:
    """The highest that the top of a panel may stand as it lies free, mm above the bed."""
    return _may_stand(work, *_free_face(work, panel, under))


def _may_stand(work: Work, top: Surface, bound: Surface) -> float:
    return top.raised(bound).highest + bed_part(work)


def walked_from(work: Work, walk: Walk, start: tuple[float, float]) -> Walk:
    """The walk with its stops in an order of little time from `start` (mm, its frame), and the time from there."""
    orders = [walk.stops]
    if walk.stops:
        places = np.array([(stop.x, stop.y) for stop in walk.stops])
        orders.append(tuple(walk.stops[k] for k in shortest_order(places, start, _rapid(work))))
    timed = [(_time(work, stops, start, walk.lift, walk.over, walk.feed), stops) for stops in orders]
    time, stops = min(timed, key=lambda each: settled(each[0]))
    return walk._replace(stops=stops, time=time)


def _free_face(work: Work, panel: Panel, under: bool) -> tuple[Surface, Surface]:
    """The face that lies up and its uncertainty, the panel lying free.

    Turned over it rests on its old top, with no leaves.  The upper face is then as certain as the thickness,
    the gaps under the old top, and the pose: if the panel rocks, it may lie either way.
    """
    if not under:
        return panel.upper, panel.bound_upper.over
    about = work.turn
    up, bound = panel.lower.under(0.0).turned(about), panel.bound_upper.over.turned(about)
    down = panel.upper.under(0.0).turned(about)
    rest = Rest(down)
    pose = rest.natural(())
    if panel.surveyed:
        other_way = rest.rocks(pose, (), work.mass)[0].move
        bound = panel.bound_thickness.turned(about).raised(bound.level(panel.bound_upper.highest + other_way))
    return up.plus(pose.a, pose.b, pose.c), bound


def _points(work: Work, grid: WalkGrid, top: Surface, bound: Surface) -> Iterator[tuple[float, ...]]:
    """x, y, lowest and highest top (they differ on a step) and bound of the grid's points, row by row, mm.

    The points are evenly spread, the outermost at INSET.
    """
    xs, ys = _spread(work.length, int(grid.nx)), _spread(work.width, int(grid.ny))
    # every other cell has no extent: it is a point
    lows, highs = top.cells(xs.repeat(2), ys.repeat(2))
    offs = bound.cells(xs.repeat(2), ys.repeat(2))[1]
    for j, y in enumerate(ys):
        for i, x in enumerate(xs):
            at = 2 * j, 2 * i
            yield float(x), float(y), float(lows[at]), float(highs[at]), float(offs[at])


def _spread(side: float, count: int) -> Array:
    inset = min(INSET, side / 4.0)
    return np.round(np.linspace(inset, side - inset, count), 3)


def _covered(work: Work, gauge: Gauge, x: float, y: float, height: float) -> bool:
    """Whether a holder reaches into the gauge or the spindle's nose over a point where the tip stands at `height`."""
    clearance, contact = 0.0 if "clearance" in work.waivers else work.rules.clearance, contact_gap(work)
    body, nose = float(gauge.across) / 2.0, float(work.machine.nose) / 2.0
    above = height + float(gauge.reach) - float(gauge.travel) / 2.0

    def covers(holder: Holder) -> bool:
        gap = apart(x, y, holder)
        beside = gap < body + clearance and holder.height + clearance > height
        meets = gap <= body + CONTACT and holder.height >= height - contact
        return beside or meets or (gap <= nose and holder.height >= above)

    return any(covers(holder) for holder in work.holders)


def _as_cutter(work: Work, gauge: Gauge) -> Work:
    """The work with a cutter as wide as the gauge, set to zero on the bed."""
    cutter = work.cutter.model_copy(update={"diameter": gauge.across})
    zero = work.job.zero.model_copy(update={"z": ZeroZ(on="bed", paper=work.job.zero.z.paper)})
    return work._replace(cutter=cutter, job=work.job.model_copy(update={"zero": zero}))


# -- the order of the points -----------------------------------------------------------------------------------------


def _rapid(work: Work) -> Seconds:
    """The time of a rapid of each length, as `timing.straight` gives it."""
    speed, acceleration = work.machine.rapid_feed / 60.0, float(work.machine.acceleration)

    def seconds(lengths: Array) -> Array:
        cruising = lengths / speed + speed / acceleration
        return np.where(lengths >= speed * speed / acceleration, cruising, 2.0 * np.sqrt(lengths / acceleration))

    return seconds


def shortest_order(places: Array, start: tuple[float, float], seconds: Seconds) -> list[int]:
    """Indices of places (n, 2) in an order of little time, from the one nearest to `start` (mm).

    Three orders (always the nearest next, to and fro along the rows, or along the columns) are improved by turning
    parts round while that gains time (2-opt: Croes 1958, from memory); of many points, only the quickest of the three.
    """
    first = int(np.round(np.hypot(*(places - start).T), 6).argmin())
    columns, rows = (np.searchsorted(distinct(at), at).tolist() for at in places.T)
    tries = [_nearest_next(places, first)]
    for lines, along in ((rows, columns), (columns, rows)):
        tries.append(_to_and_fro(lines, along, first))
    tries.sort(key=lambda order: _airtime(places, order, seconds))
    improved = [_improved(places, order, seconds) for order in tries[: 1 if len(places) > _MANY else 3]]
    return min(improved, key=lambda order: _airtime(places, order, seconds))


def _nearest_next(places: Array, first: int) -> list[int]:
    order, open_ = [first], np.ones(len(places), dtype=bool)
    open_[first] = False
    while open_.any():
        away = np.round(np.hypot(*(places - places[order[-1]]).T), 6)
        order.append(int(np.where(open_, away, np.inf).argmin()))
        open_[order[-1]] = False
    return order


def _to_and_fro(lines: Sequence[int], along: Sequence[int], first: int) -> list[int]:
    """Line after line from that of `first`, which stays in front, each line the other way round."""
    upward = lines[first] <= max(lines) - lines[first]
    numbers = sorted(set(lines), reverse=not upward)
    rightward = along[first] <= max(along) - along[first]
    order: list[int] = []
    for line in numbers:
        order += sorted(
            (k for k, each in enumerate(lines) if each == line), key=along.__getitem__, reverse=not rightward
        )
        rightward = not rightward
    order.remove(first)
    return [first, *order]


def _improved(places: Array, order: list[int], seconds: Seconds) -> list[int]:
    """The order with parts turned round as long as that gains time; the first place stays."""
    path = np.array(order)
    for _ in range(_ROUNDS):
        gained = False
        for i in range(1, len(path) - 1):
            at = places[path]
            # turning round i…j replaces the ways before i and after j; after the last place there is none
            before, after = seconds(np.hypot(*(at[i:] - at[i - 1]).T)), seconds(np.hypot(*(at[i + 1 :] - at[i]).T))
            ways = np.append(seconds(np.hypot(*np.diff(at[i:], axis=0).T)), 0.0)
            change = before - before[0] + np.append(after, 0.0) - ways
            j = int(np.round(change, 9).argmin())
            if change[j] < -1e-9:
                path[i : i + j + 1] = path[i : i + j + 1][::-1].copy()
                gained = True
        if not gained:
            break
    return [int(k) for k in path]


def _airtime(places: Array, order: Sequence[int], seconds: Seconds) -> float:
    return settled(float(seconds(np.hypot(*np.diff(places[list(order)], axis=0).T)).sum()))


def _time(
    work: Work, stops: Sequence[Stop], start: tuple[float, float], lift: float, over: float, feed: float
) -> float:
    """Machine time from `start` at lift height over all stops, s."""
    machine = work.machine
    rapid, acceleration = machine.rapid_feed, float(machine.acceleration)
    total, (x, y) = 0.0, start
    for stop in stops:
        total += straight(float(np.hypot(stop.x - x, stop.y - y)), rapid, acceleration)
        total += straight(lift - over, rapid, acceleration) + straight(lift - stop.expected, rapid, acceleration)
        total += straight(over - stop.expected, feed, acceleration)
        x, y = stop.x, stop.y
    return total
