"""One walk over all panels of a batch: panel by panel, at a lift height over everything that stands on the bed."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import count

from flatwise.model.bed import BatchWork
from flatwise.model.measuring import BedWalk, Walk
from flatwise.model.shop import Gauge
from flatwise.model.stages import Holder, Plan, Work
from flatwise.plan.batch_plan import least_order
from flatwise.plan.neighbours import bed_place, moved, standing
from flatwise.plan.timing import in_the_air
from flatwise.plan.walk import may_stand_free, walk_over, walked_from


def plan_bed_walk(batch: BatchWork, plans: Sequence[Plan], *, under: bool) -> BedWalk | None:
    """The walk over the panels where `plans` have placed them; None where no survey has a `walk`.

    The panels lie free, or turned over (`under`).  A neighbour is in the gauge's way as a holder is, as high as its
    top may stand.
    """
    gauge = next((each.work.gauge for each in plans if _walks(each.work)), None)
    if gauge is None:
        return None
    stands = [standing(each.work, may_stand_free(each.work, each.panel, under=under)) for each in plans]
    walks = [(each.work, _among(number, plans, stands, gauge, under)) for number, each in enumerate(plans)]
    lift = max(walk.lift for _, walk in walks)
    first, at_zero = walks[0]
    zero, (u, v) = at_zero.zero_at, bed_place(first)
    shared = []
    for work, walk in walks:
        x, y = bed_place(work)
        dx, dy = u - x, v - y
        walk = walk._replace(
            lift=lift,
            zero_at=(round(zero[0] + dx, 6), round(zero[1] + dy, 6)),
            origin=(at_zero.origin[0] + dx, at_zero.origin[1] + dy),
            origin_machine=at_zero.origin_machine,
        )
        shared.append((work, walk))
    return BedWalk(batch, first, tuple(_numbered(shared)))


def _walks(work: Work) -> bool:
    return work.gauge is not None and work.job.survey is not None and work.job.survey.walk is not None


def _among(number: int, plans: Sequence[Plan], stands: Sequence[Sequence[Holder]], gauge: Gauge, under: bool) -> Walk:
    """The walk over one panel, what stands on the bed of the others being in its way."""
    own = plans[number]
    x, y = bed_place(own.work)
    around = []
    for k, other in enumerate(plans):
        u, v = bed_place(other.work)
        around += [moved(thing, u - x, v - y) for thing in stands[k] if k != number]
    among = own.work._replace(holders=(*own.work.holders, *around))
    survey = own.work.job.survey
    return walk_over(among, own.panel, gauge, survey.walk if survey is not None else None, under=under)


def _numbered(walks: Sequence[tuple[Work, Walk]]) -> list[tuple[Work, Walk]]:
    """The panels in the order of least way with their stops numbered through; those without stops at the end."""
    visited = [each for each in walks if each[1].stops]
    x, y = bed_place(walks[0][0])
    at = walks[0][1].zero_at[0] + x, walks[0][1].zero_at[1] + y
    machine = walks[0][0].machine
    seconds = [[in_the_air(machine, _place(one, -1), _place(other, 0)) for other in visited] for one in visited]
    to_first = [in_the_air(machine, at, _place(each, 0)) for each in visited]
    numbers, made = count(1), []
    for k in least_order(seconds, to_first):
        work, walk = visited[k]
        u, v = bed_place(work)
        walk = walked_from(work, walk, (at[0] - u, at[1] - v))
        walk = walk._replace(stops=tuple(stop._replace(number=next(numbers)) for stop in walk.stops))
        made.append((work, walk))
        at = _place(made[-1], -1)
    return [*made, *(each for each in walks if not each[1].stops)]


def _place(panel: tuple[Work, Walk], stop: int) -> tuple[float, float]:
    """Machine X and Y of a stop, mm."""
    work, walk = panel
    x, y = bed_place(work)
    return walk.stops[stop].x + x, walk.stops[stop].y + y
