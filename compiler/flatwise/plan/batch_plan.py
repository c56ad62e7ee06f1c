"""The plan of a batch: one speed, places on the bed, one zero and lift, and the order of the panels."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise, permutations
from math import ceil, hypot
from typing import NamedTuple

from flatwise.core.finding import Finding, Findings
from flatwise.core.fixes import at_least
from flatwise.core.units import Quantity
from flatwise.model.bed import BatchFace, BatchPlan, BatchWork
from flatwise.model.job import Corner
from flatwise.model.stages import FaceName, Panel, Plan, Seating, Setup, Work
from flatwise.plan.neighbours import bed_place, beside, spacing, ways
from flatwise.plan.sequence import plan
from flatwise.plan.timing import straight
from flatwise.plan.touch import corner_of, touch

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
    speed = max(written or [setup.speed for draft in drafts for setup in draft.plan.setups], default=0.0)
    # a faster cutter takes the wood by other moves, and those decide how near panels may lie
    first = [_planned(draft, _in_batch(draft.plan.work, speed), 0.0) for draft in drafts]
    placed, findings = _laid_out(batch, first) if batch.start is not None else ([each.work for each in first], ())
    if findings:
        return None, findings
    lift = max((setup.lift for each in first for setup in each.setups), default=0.0)
    plans = [_planned(draft, work, lift) for draft, work in zip(drafts, placed, strict=True)]
    zeroed = _with_one_zero(plans)
    names: tuple[FaceName, ...] = ("first", "second")
    faces = (_face(name, zeroed) for name in names)
    return BatchPlan(batch, zeroed, tuple(each for each in faces if each.panels)), ()


def _planned(draft: Draft, work: Work, lift: float) -> Plan:
    made, _ = plan(work, draft.panel, draft.seating, least_lift=lift)
    # as its draft has a plan, only another speed could ask for absurdly many passes
    return made if made is not None else replace(draft.plan, work=work)


def _in_batch(work: Work, speed: float) -> Work:
    """A job with the speed of the batch, rpm, where it writes none itself, and without block delete."""
    cut, machine = work.job.cut, work.machine
    controller = machine.controller.model_copy(update={"block_delete": "no"})
    machine = machine.model_copy(update={"controller": controller})
    if isinstance(cut.speed, str) and speed:
        cut = cut.model_copy(update={"speed": Quantity(speed, "rpm")})
    return replace(work, machine=machine, job=work.job.model_copy(update={"cut": cut}))


# -- places ------------------------------------------------------------------------------------------------------


def _laid_out(batch: BatchWork, plans: Sequence[Plan]) -> tuple[list[Work], Findings]:
    """The works in rows from the batch's start, in the order written, as near to each other as they may lie.

    Rows run along x, away from the start; the panels of a row lie with one edge on a line.  Places are whole
    millimetres (in inches: sixteenths) from the start.
    """
    start = batch.start
    assert start is not None
    ways_on = (-1.0 if start.corner.endswith("right") else 1.0, -1.0 if start.corner.startswith("back") else 1.0)
    done: list[Plan] = []
    row: list[Plan] = []
    for index, each in enumerate(plans):
        alongside = _placed(batch, index, each, done, row, ways_on)
        if row and _past(alongside, 0):
            done, row = done + row, []
            alongside = _placed(batch, index, each, done, row, ways_on)
        row = _on_a_line(batch, index, [*row, alongside], done, ways_on)
        for one in row:
            over = max((0, 1), key=lambda axis: _past(one, axis))
            if _past(one, over):
                return [], (_no_room(batch, index, plans, one, over),)
    return [each.work for each in (*done, *row)], ()


def _placed(
    batch: BatchWork, index: int, each: Plan, done: Sequence[Plan], row: Sequence[Plan], on: tuple[float, float]
) -> Plan:
    """A panel as the next of a row: beyond all that lie in it already."""
    start = batch.start
    assert start is not None
    base = _at(each, batch, index, (float(start.x), float(start.y)))
    if not row:
        return base
    least = max((_beyond(other, base, 0, on[0], batch.gap) for other in row), key=lambda x: on[0] * x)
    return _at(base, batch, index, (_stepped(batch, least, 0, on[0], base), float(start.y)))


def _on_a_line(
    batch: BatchWork, index: int, row: Sequence[Plan], done: Sequence[Plan], on: tuple[float, float]
) -> list[Plan]:
    """The panels of a row as far from the start as the rows before need it."""
    start = batch.start
    assert start is not None
    lines = [float(start.y)]
    for each in row:
        for other in done:
            if _clear_along_x(each, other, batch.gap):
                continue
            lines.append(_stepped(batch, _beyond(other, each, 1, on[1], batch.gap), 1, on[1], each))
    line = max(lines, key=lambda y: on[1] * y)
    first = index - len(row) + 1
    return [_at(each, batch, first + k, (float(each.work.job.zero.corner.x), line)) for k, each in enumerate(row)]


def _clear_along_x(one: Plan, other: Plan, gap: float) -> bool:
    """Whether two panels keep clear of each other wherever they lie along y."""
    apart = bed_place(other.work)[0] - bed_place(one.work)[0]
    return apart >= spacing(one, other, 0, gap) or -apart >= spacing(other, one, 0, gap)


def _beyond(other: Plan, each: Plan, axis: int, way: float, gap: float) -> float:
    """The nearest machine coordinate for the corner of a panel beyond another one, seen along `way`."""
    at = bed_place(other.work)[axis]
    at = at + spacing(other, each, axis, gap) if way > 0 else at - spacing(each, other, axis, gap)
    return at + corner_of(each.work)[axis]


def _stepped(batch: BatchWork, at: float, axis: int, way: float, each: Plan) -> float:
    """A coordinate moved on to the next whole step from the start."""
    start = batch.start
    assert start is not None
    zero = float((start.x, start.y)[axis])
    step = 25.4 / 16.0 if each.work.machine.controller.units == "in" else 1.0
    return zero + way * ceil(way * (at - zero) / step - 1e-6) * step


def _at(each: Plan, batch: BatchWork, index: int, at: tuple[float, float]) -> Plan:
    """A plan whose job lies with the batch's corner at machine X and Y; its setups keep their old place."""
    start, zero = batch.start, each.work.job.zero
    assert start is not None
    x, y = Quantity(at[0], start.x.unit), Quantity(at[1], start.y.unit)
    corner = Corner(corner=start.corner, x=x, y=y).placed(batch.names[index].span)
    job = each.work.job.model_copy(update={"zero": zero.model_copy(update={"corner": corner})})
    return replace(each, work=replace(each.work, job=job))


def _past(each: Plan, axis: int) -> float:
    """How far the cutter's centre would go past the travel along an axis, mm; 0 if it stays within it."""
    travel, at = each.work.machine.travel, bed_place(each.work)[axis]
    found = [ways(setup) for setup in each.setups]
    low = min((float(one[:, 2 * axis].min()) for one in found if len(one)), default=0.0) + at
    high = max((float(one[:, 2 * axis + 1].max()) for one in found if len(one)), default=0.0) + at
    past = max(-low, high - float((travel.x, travel.y)[axis]))
    return past if past > 1e-6 else 0.0


def _no_room(batch: BatchWork, index: int, plans: Sequence[Plan], one: Plan, axis: int) -> Finding:
    """FW301 for the job that finds no room, where the panels before it do."""
    start, name = batch.start, batch.names[index]
    assert start is not None
    over = at_least(_past(one, axis), start.x)
    which = f"`{name}`" if one.work.name == name else f"`{one.work.name}`, moved on by `{name}` in its row,"
    return Finding(
        "FW301",
        f"The panel of {which} finds no room on the bed: the cutter's centre would go {over} past the "
        f"{'Y' if axis else 'X'} travel.",
        name.span,
        help="Take jobs out of the batch, write a smaller gap, or start nearer to the end of the travel.",
        value=_past(one, axis),
        limit=0.0,
    )


# -- zero, order and time ----------------------------------------------------------------------------------------


def _with_one_zero(plans: Sequence[Plan]) -> tuple[Plan, ...]:
    """The plans with X 0, Y 0 at the corner of the first, and its place beside all panels to touch off."""
    first = plans[0]
    corner = first.work.job.zero.corner
    zero = float(corner.x), float(corner.y)
    faces = {setup.face for each in plans for setup in each.setups}
    around = tuple(thing for face in sorted(faces) for other in plans[1:] for thing in beside(first, other, face))
    held = replace(first.work, holders=(*first.work.holders, *around))
    made = []
    for each in plans:
        x, y = bed_place(each.work)
        setups = []
        for setup in each.setups:
            at = touch(held, setup.face, setup.top, setup.bound)
            u, v = bed_place(first.work)
            here = replace(at, x=round(at.x + u - x, 6), y=round(at.y + v - y, 6))
            setups.append(replace(setup, touch=here, origin=(zero[0] - x, zero[1] - y), origin_machine=zero))
        made.append(replace(each, setups=tuple(setups)))
    return tuple(made)


def _face(name: FaceName, plans: Sequence[Plan]) -> BatchFace:
    """The panels of one program in the order that takes least time, and its machine time."""
    panels = [(each, setup) for each in plans for setup in each.setups if setup.face == name and setup.passes]
    if not panels:
        return BatchFace(name, (), 0.0)
    seconds = [[_between(one, other) for other in panels] for one in panels]
    best = _order(seconds)
    between = _along(seconds, best)
    cuts = sum(one.time for _, setup in panels for one in setup.passes)
    # the spindle starts, stops and parks once
    once = panels[0][1].time - sum(one.time for one in panels[0][1].passes)
    return BatchFace(name, tuple(panels[k] for k in best), cuts + between + once)


def _between(one: tuple[Plan, Setup], other: tuple[Plan, Setup]) -> float:
    """Seconds from the end of one panel to the start of another, at the lift height."""
    (end, (x, y)), (begin, (u, v)) = (
        (one[1].passes[-1].path[-1], bed_place(one[0].work)),
        (other[1].passes[0].path[0], bed_place(other[0].work)),
    )
    far = hypot(begin.x + u - end.x - x, begin.y + v - end.y - y)
    machine = one[0].work.machine
    return straight(far, machine.rapid_feed, float(machine.acceleration))


def _along(seconds: Sequence[Sequence[float]], order: Sequence[int]) -> float:
    return sum(seconds[a][b] for a, b in pairwise(order))


def _order(seconds: Sequence[Sequence[float]]) -> tuple[int, ...]:
    """The order of panels with the least time between them; the nearest next where there are many."""
    count = len(seconds)
    if count <= FEW_PANELS:
        return min(permutations(range(count)), key=lambda order: _along(seconds, order))
    found, left = [0], set(range(1, count))
    while left:
        nearest = min(sorted(left), key=lambda k: seconds[found[-1]][k])
        found.append(nearest)
        left.remove(nearest)
    return tuple(found)
