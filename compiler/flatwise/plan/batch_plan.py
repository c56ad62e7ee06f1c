"""The plan of a batch: one speed, places on the bed, one zero and lift, and the order of the panels."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, permutations
from typing import Any, NamedTuple

from flatwise.core.finding import Findings
from flatwise.core.units import Quantity, settled
from flatwise.model.bed import BatchFace, BatchPlan, BatchWork
from flatwise.model.stages import FaceName, Panel, Plan, Seating, Setup, Work
from flatwise.plan.bed_rows import BedRows
from flatwise.plan.neighbours import bed_place, beside
from flatwise.plan.sequence import plan
from flatwise.plan.timing import in_the_air
from flatwise.plan.touch import touch

#: up to so many panels, every order of them is looked at; with more, the next is the nearest
FEW_PANELS = 7


class Draft(NamedTuple):
    """One job of a batch, planned by itself."""

    panel: Panel
    seating: Seating
    plan: Plan


def plan_batch(batch: BatchWork, drafts: Sequence[Draft]) -> tuple[BatchPlan | None, Findings]:
    """The plan of all panels on one bed; `drafts` in the order of the jobs.

    FW301 if a panel finds no room where the batch lays the panels out.  There is a plan where panels are in each
    other's way, because the checks report that.
    """
    written = [float(work.job.cut.speed) for work in batch.works if not isinstance(work.job.cut.speed, str)]
    setups = [setup for draft in drafts for setup in draft.plan.setups]
    speed = max(written or [setup.speed for setup in setups], default=0.0)
    lift = max((setup.lift for setup in setups), default=0.0)
    plans = tuple(_together(draft, speed, lift) for draft in drafts)
    if batch.start is not None:
        plans, findings = BedRows(batch.start, batch.gap, {}).laid(plans, batch.names)
        if findings:
            return None, findings
    zeroed = _with_one_zero(plans)
    names: tuple[FaceName, ...] = ("first", "second")
    faces = (_face(name, zeroed) for name in names)
    return BatchPlan(batch, zeroed, tuple(each for each in faces if each.panels)), ()


def _together(draft: Draft, speed: float, lift: float) -> Plan:
    """The plan of a job with the speed (rpm) and the lift (mm) of its batch."""
    work = _in_batch(draft.plan.work, speed)
    made, _ = plan(work, draft.panel, draft.seating, least_lift=lift)
    # as its draft has a plan, only another speed could ask for absurdly many passes
    return made if made is not None else draft.plan._replace(work=work)


def _in_batch(work: Work, speed: float) -> Work:
    """A job with the speed of the batch, rpm, where it writes none itself, and without block delete."""
    cut, machine = work.job.cut, work.machine
    controller = machine.controller.model_copy(update={"block_delete": "no"})
    machine = machine.model_copy(update={"controller": controller})
    if isinstance(cut.speed, str) and speed:
        cut = cut.model_copy(update={"speed": Quantity(speed, "rpm")})
    return work._replace(machine=machine, job=work.job.model_copy(update={"cut": cut}))


# -- zero, order and time ----------------------------------------------------------------------------------------


def _with_one_zero(plans: Sequence[Plan]) -> tuple[Plan, ...]:
    """The plans with X 0, Y 0 at the corner of the first, and one place to touch off, beside that and all others."""
    first, (u, v) = plans[0], bed_place(plans[0].work)
    corner = first.work.job.zero.corner
    zero = float(corner.x), float(corner.y)
    faces: tuple[FaceName, ...] = ("first", "second")
    around = (thing for face in faces for other in plans[1:] for thing in beside(first, other, face))
    among = first.work._replace(holders=(*first.work.holders, *around))
    # with `z bed` the place does not depend on the face
    at = touch(among, "first", first.setups[0].top, first.setups[0].bound)
    made = []
    for each in plans:
        x, y = bed_place(each.work)
        here = at._replace(x=round(at.x + u - x, 6), y=round(at.y + v - y, 6))
        shared: dict[str, Any] = {"touch": here, "origin": (zero[0] - x, zero[1] - y), "origin_machine": zero}
        made.append(each._replace(setups=tuple(setup._replace(**shared) for setup in each.setups)))
    return tuple(made)


def _face(name: FaceName, plans: Sequence[Plan]) -> BatchFace:
    """The panels of one program in the order that takes least time, and its machine time."""
    panels = [(each, setup) for each in plans for setup in each.setups if setup.face == name and setup.passes]
    if not panels:
        return BatchFace(name, (), 0.0)
    seconds = [[_between(one, other) for other in panels] for one in panels]
    best = least_order(seconds)
    between = _along(seconds, best)
    cuts = sum(one.time for _, setup in panels for one in setup.passes)
    # the spindle starts, stops and parks once
    once = panels[0][1].time - sum(one.time for one in panels[0][1].passes)
    return BatchFace(name, tuple(panels[k] for k in best), cuts + between + once)


def _between(one: tuple[Plan, Setup], other: tuple[Plan, Setup]) -> float:
    """Seconds from the end of one panel to the start of another, at the lift height."""
    (x, y), (u, v) = bed_place(one[0].work), bed_place(other[0].work)
    end, begin = one[1].passes[-1].path[-1], other[1].passes[0].path[0]
    return in_the_air(one[0].work.machine, (end.x + x, end.y + y), (begin.x + u, begin.y + v))


def _along(seconds: Sequence[Sequence[float]], order: Sequence[int]) -> float:
    return sum(seconds[a][b] for a, b in pairwise(order))


def least_order(seconds: Sequence[Sequence[float]], to_first: Sequence[float] = ()) -> tuple[int, ...]:
    """The order of panels with the least time between them; the nearest next where there are many.

    `to_first`: the time to each panel where it is the first, if that counts.
    """
    count = len(seconds)
    before = to_first or [0.0] * count
    if count <= FEW_PANELS:
        orders = permutations(range(count))
        return min(orders, key=lambda order: settled(sum(before[k] for k in order[:1]) + _along(seconds, order)))
    first = min(range(count), key=lambda k: settled(before[k]))
    found, left = [first], set(range(count)) - {first}
    while left:
        nearest = min(sorted(left), key=lambda k: settled(seconds[found[-1]][k]))
        found.append(nearest)
        left.remove(nearest)
    return tuple(found)
