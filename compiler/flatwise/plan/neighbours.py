"""Panels beside each other on one bed: how near the tool comes to a neighbour, and how near it may come."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import NamedTuple

import numpy as np

from flatwise.core.finding import Finding, Related
from flatwise.core.fixes import at_least
from flatwise.core.surface import Array
from flatwise.model.bed import BatchPlan
from flatwise.model.stages import FaceName, Holder, Plan, Setup, Work
from flatwise.model.words import DeclaredName
from flatwise.plan.clearance import CONTACT, contact_gap, overlap
from flatwise.plan.touch import corner_of
from flatwise_grammar.nodes import Span


class Part(NamedTuple):
    """A part of the tool: its radius, the height of its lower end above the edge, and what it keeps clear, mm.

    It keeps `over` above a thing, or else `beside` from it in plan.
    """

    name: str
    radius: float
    above: float
    over: float
    beside: float


def parts(work: Work) -> tuple[Part, ...]:
    """The cutter and all that is above its edge.

    The cutter keeps the standard's clearance, unless it is waived, and more than what counts as contact.
    """
    cutter, machine = work.cutter, work.machine
    rule = 0.0 if "clearance" in work.waivers else work.rules.clearance
    rounding = machine.controller.rounding
    found = [
        Part(
            "cutter",
            float(cutter.diameter) / 2.0 + rounding,
            0.0,
            max(rule, contact_gap(work) + 0.01),
            max(rule, CONTACT + 0.01),
        ),
        Part("shank", float(cutter.shank) / 2.0 + rounding, float(cutter.blade), 0.01, 0.01),
        Part("nose", float(machine.nose) / 2.0 + rounding, float(cutter.stick_out), 0.01, 0.01),
    ]
    if machine.shoe is not None:
        found.append(Part("shoe", float(machine.shoe.across) / 2.0 + rounding, float(machine.shoe.above), 0.01, 0.01))
    return tuple(found)


def things(plan: Plan, face: FaceName) -> tuple[Holder, ...]:
    """The panel and the holders of one job, in its setup frame, while a face is cut.

    The panel is as high as its top may stand before the cut; where it is not cut in this program, before its last cut.
    """
    setup = next((each for each in plan.setups if each.face == face), plan.setups[-1])
    return standing(plan.work, setup.may_stand)


def standing(work: Work, height: float) -> tuple[Holder, ...]:
    """A panel that may stand `height` mm above the bed, and its holders, in its setup frame."""
    outline, still = (0.0, 0.0, work.length, work.width), (0.0, 0.0)
    panel = Holder("panel", work.name, "front", 0.0, "", *outline, height, still, 0.0, 0.0, work.span)
    return (panel, *work.holders)


def bed_place(work: Work) -> tuple[float, float]:
    """Machine X and Y of the front left corner of a panel's outline on the bed, mm."""
    (x, y), corner = corner_of(work), work.job.zero.corner
    return float(corner.x) - x, float(corner.y) - y


def beside(plan: Plan, other: Plan, face: FaceName) -> tuple[Holder, ...]:
    """The panel and the holders of another job while a face is cut, in the setup frame of this one."""
    (x, y), (u, v) = bed_place(plan.work), bed_place(other.work)
    return tuple(moved(each, u - x, v - y) for each in things(other, face))


def moved(thing: Holder, dx: float, dy: float) -> Holder:
    """A thing by so much further along x and y, mm."""
    return thing._replace(x0=thing.x0 + dx, x1=thing.x1 + dx, y0=thing.y0 + dy, y1=thing.y1 + dy)


def ways(setup: Setup) -> Array:
    """The box round each move of a setup and its lowest height: (n, 5) x0 x1 y0 y1 z, setup frame, mm.

    The axes of a rapid may arrive apart, so that it may go anywhere in its box; at feed the cutter goes along x or y
    nearly everywhere.
    """
    legs = np.array([leg[1:] for one in setup.passes for leg in one.path], dtype=float).reshape(-1, 3)
    before, after = legs[:-1], legs[1:]
    low, high = np.minimum(before, after), np.maximum(before, after)
    return np.column_stack([low[:, 0], high[:, 0], low[:, 1], high[:, 1], low[:, 2]])


def meets(found: Array, thing: Holder, part: Part) -> float:
    """By how much a part comes nearer in plan to a thing than it may on some ways, mm; 0 or less if it keeps clear."""
    low = found[found[:, 4] + part.above < thing.height + part.over]
    if not len(low):
        return 0.0
    x0, x1, y0, y1 = thing.x0, thing.x1, thing.y0, thing.y1
    if thing.kind == "dog":
        x0 = x1 = (thing.x0 + thing.x1) / 2.0
        y0 = y1 = (thing.y0 + thing.y1) / 2.0
    across = np.maximum(np.maximum(x0 - low[:, 1], low[:, 0] - x1), 0.0)
    along = np.maximum(np.maximum(y0 - low[:, 3], low[:, 2] - y1), 0.0)
    away = np.hypot(across, along) - ((thing.x1 - thing.x0) / 2.0 if thing.kind == "dog" else 0.0)
    return part.radius + part.beside - float(away.min())


class Meeting(NamedTuple):
    """A part of the tool that comes `short` mm nearer to a thing of another panel than it may, while a face is cut."""

    short: float
    part: Part
    thing: Holder
    face: FaceName


def nearest(plan: Plan, other: Plan, names: tuple[str, ...]) -> Meeting | None:
    """The worst meeting of these parts of the tool with what belongs to another job, while `plan` is cut."""
    found: list[Meeting] = []
    for setup in plan.setups:
        gone = ways(setup)
        for thing in beside(plan, other, setup.face):
            for part in parts(plan.work):
                if part.name in names and (short := meets(gone, thing, part)) > 1e-6:
                    found.append(Meeting(short, part, thing, setup.face))
    return max(found, key=lambda one: one.short, default=None)


def apart_by(one: Plan, other: Plan) -> str:
    """The way out for two panels in each other's way: how much further apart along x or y all keep clear."""
    (x, y), (u, v) = bed_place(one.work), bed_place(other.work)
    apart = ((u - x, 0, one, other), (x - u, 0, other, one), (v - y, 1, one, other), (y - v, 1, other, one))
    more = min(spacing(near, far, axis, 0.0) - there for there, axis, near, far in apart)
    unit = other.work.job.stock.size.length
    return f"Move the panels {at_least(more, unit)} further apart, or let the batch lay them out with `from`."


def spacing(one: Plan, other: Plan, axis: int, gap: float) -> float:
    """How far the place of `other` must lie beyond that of `one` along x (0) or y (1), mm, wherever across.

    Between all that belongs to them is `gap` at least, and the tool of each keeps clear of the other.
    """
    needed = [
        _high(each, axis) + gap - _low(thing, axis) for each in things(one, "first") for thing in things(other, "first")
    ]
    for setup in one.setups:
        for _, high, part, thing in _reached(setup, one, other, axis):
            needed.append(high + part.radius + part.beside - _low(thing, axis))
    for setup in other.setups:
        for low, _, part, thing in _reached(setup, other, one, axis):
            needed.append(_high(thing, axis) + part.radius + part.beside - low)
    return max(needed)


def _reached(setup: Setup, own: Plan, other: Plan, axis: int) -> Iterator[tuple[float, float, Part, Holder]]:
    """For each part and thing of another job: from where to where the tool goes so low that it could meet it."""
    found = ways(setup)
    for part in parts(own.work):
        for thing in things(other, setup.face):
            low = found[found[:, 4] + part.above < thing.height + part.over]
            if len(low):
                yield float(low[:, 2 * axis].min()), float(low[:, 2 * axis + 1].max()), part, thing


def _low(thing: Holder, axis: int) -> float:
    return thing.y0 if axis else thing.x0


def _high(thing: Holder, axis: int) -> float:
    return thing.y1 if axis else thing.x1


# -- findings about panels in each other's way -------------------------------------------------------------------


def meetings(plan: BatchPlan, code: str, names: tuple[str, ...]) -> Iterator[Finding]:
    """A finding for each two panels of a batch of which one is in the way of these parts of the tool over the other."""
    room = [_room(each) for each in plan.plans]
    for (k, one), (n, other) in combinations(enumerate(plan.plans), 2):
        if _apart(room[k], room[n]) > 0.0:
            continue  # most pairs of many panels are far from each other
        if _overlap(one, other):
            continue  # FW503 says it
        both = (nearest(one, other, names), one, other), (nearest(other, one, names), other, one)
        found = [(met, cut, by) for met, cut, by in both if met is not None]
        if not found:
            continue
        met, cut, by = max(found, key=lambda each: each[0].short)
        unit, thing = other.work.job.stock.size.length, met.thing
        what = f"the panel of {by.work.name}"
        if thing.kind != "panel":
            what = f"the {thing.kind} {thing.name} on the {thing.edge} edge of {by.work.name}"
        yield Finding(
            code,
            f"The {met.part.name} may meet {what} while the {met.face} face of {cut.work.name} is cut: it comes "
            f"{at_least(met.short, unit)} too near.",
            placed_at(other, plan.batch.names[n]),
            related=(Related("the other job of the batch", plan.batch.names[k].span),),
            help=apart_by(one, other),
            value=met.short,
            limit=0.0,
        )


def _room(plan: Plan) -> tuple[float, ...]:
    """The box on the bed round a panel, its holders and the tool over it, and all that these keep clear of, mm."""
    x, y = bed_place(plan.work)
    found = things(plan, "first")
    gone = [ways(setup) for setup in plan.setups]
    clear = max(part.radius + part.beside for part in parts(plan.work))
    return (
        min(*(each.x0 for each in found), *(float(each[:, 0].min()) - clear for each in gone if len(each))) + x,
        max(*(each.x1 for each in found), *(float(each[:, 1].max()) + clear for each in gone if len(each))) + x,
        min(*(each.y0 for each in found), *(float(each[:, 2].min()) - clear for each in gone if len(each))) + y,
        max(*(each.y1 for each in found), *(float(each[:, 3].max()) + clear for each in gone if len(each))) + y,
    )


def _apart(one: tuple[float, ...], other: tuple[float, ...]) -> float:
    """The larger gap between two boxes along x or y, mm; negative where they overlap."""
    return max(one[0] - other[1], other[0] - one[1], one[2] - other[3], other[2] - one[3])


def placed_at(plan: Plan, name: DeclaredName) -> Span:
    """Where a job of a batch says its place; in the batch's list where it says none, or its recipe says one for all."""
    corner, own = plan.work.job.zero.corner, plan.work.span
    return corner.span if corner.span.path == own.path else name.span


def _overlap(one: Plan, other: Plan) -> bool:
    near = beside(one, other, "first")
    return any(overlap(mine, its) > 1e-6 for mine in things(one, "first") for its in near)
