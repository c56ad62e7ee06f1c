"""FW501 · the cutter meets a clamp or dog

A dog or clamp is as high as the plane to be cut, or nearly so, and the cutter has to run past the edge there. Mind the
second face: it lies lower than the first by everything that has been cut off. A gap counts as contact if it is 0.5mm or
less after the uncertainty of the heights has been taken from it: the bed, the lean of the spindle, how well Z repeats,
touching off, and, where zero is set on the panel's top, the survey's bound there. Where zero is set on the bed, the
cutter is lowered to the bed beside the panel, so some place there has to be free of holders. The gauge of `flatwise
measure` is set to zero in the same way. In a batch, other panels are in the way like holders, as high as their tops may
stand; here the standard's clearance counts as well. On its walk it leaves out the points that a holder covers; one at
least has to be left.

## Why it hurts
A wing that hits steel breaks, and its pieces fly. No waiver and no standard lowers this limit, not even one that asks
for a clearance of 0mm.

## Fails
```flat
clamp tall_cam like side_cam { height 30mm }

job demo from plain_top {
    hold { clamp tall_cam right at 50%; clamp side_cam back at 20%, 80% }
}
```

## Mended
```flat
job demo from plain_top {
    hold { clamp side_cam right at 50%; clamp side_cam back at 20%, 80% }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_most
from flatwise.core.units import show, show_apart
from flatwise.model.bed import BatchPlan
from flatwise.model.measuring import Walk
from flatwise.model.stages import Plan, Work
from flatwise.plan.clearance import CONTACT, apart, by_line, places, unit_of
from flatwise.plan.neighbours import beside, meetings


def check(plan: Plan) -> Iterator[Finding]:
    """Find holders that reach the lowest plane that the cutter passes over them, or may reach it; never waived."""
    for line in by_line(plan):
        one = line[0]
        if not one.meets:
            continue
        holder, unit = one.holder, unit_of(plan)
        clearance = plan.work.rules.clearance
        # a hundredth more than the largest gap that counts as contact
        limit = one.plane - max(clearance, one.floor + 0.01)
        lower_one = f"Use a {holder.kind} no higher than {at_most(limit, unit)}"
        high, plane = show_apart(holder.height, one.plane, unit)
        way_out = f"{lower_one}; the cutter runs past every edge, so moving the {holder.kind} does not help."
        if one.gap <= 1e-9:
            meets, near = "meets", ""
        else:
            gap, floor = show_apart(one.gap, one.floor, unit)
            off = show(one.floor - CONTACT, unit)
            meets, near = "may meet", f", {gap} above it; the uncertainty is {off}, and a gap must exceed {floor}"
            if plan.work.job.zero.z.on == "top":
                way_out = f"{lower_one}, add readings to the survey, or set zero on the bed."
        yield Finding(
            "FW501",
            f"The cutter {meets} the {holder.kind} {holder.name} on the {holder.edge} edge at "
            f"{places(line)}: the {holder.kind} is {high} high, and the "
            f"{one.face} face is cut at {plane}{near}.",
            holder.span,
            help=way_out,
            value=one.gap,
            limit=one.floor,
        )
    yield from _touch(plan)


def _touch(plan: Plan) -> Iterator[Finding]:
    """Check the place for touching off on the bed: the planner takes one under a holder only if none is free."""
    for setup in plan.setups:
        if setup.touch.on == "top":
            continue
        at, radius = (setup.touch.x, setup.touch.y), float(plan.work.cutter.diameter) / 2.0
        near = min(setup.holders, key=lambda holder: apart(*at, holder), default=None)
        if near is None or apart(*at, near) > radius:
            continue
        zero = plan.work.job.zero
        yield Finding(
            "FW501",
            "The cutter can't be lowered to the bed anywhere beside the panel: even at the best place it would meet "
            f"the {near.kind} {near.name} on the {near.edge} edge at {near.at}.",
            zero.span("z"),
            help="Keep a place wider than the cutter free of clamps and dogs, or set zero on the panel's top.",
            value=apart(*at, near),
            limit=radius,
        )
        return


def check_batch(plan: BatchPlan) -> Iterator[Finding]:
    """Compare the cutter's ways over each panel of a batch, and its place to touch off, with all the others."""
    yield from meetings(plan, "FW501", ("cutter", "shank"))
    first, radius = plan.plans[0], float(plan.plans[0].work.cutter.diameter) / 2.0
    for setup in first.setups:
        for other in plan.plans[1:]:
            if any(apart(setup.touch.x, setup.touch.y, thing) <= radius for thing in beside(first, other, setup.face)):
                yield Finding(
                    "FW501",
                    "The cutter can't be lowered to the bed beside the first panel of the batch: even at the best "
                    f"place it would meet what belongs to {other.work.name}.",
                    plan.batch.span,
                    help="Keep a place beside the first panel free that is wider than the cutter.",
                )
                return


def check_walk(work: Work, walk: Walk) -> Iterator[Finding]:
    """Check the place where a gauge is set to zero, and that holders leave it some point to measure."""
    if work.job.survey is None:
        return
    named, across = work.job.survey.span("walk"), walk.gauge.across
    near = min(walk.in_the_way, key=lambda holder: apart(*walk.zero_at, holder), default=None)
    gap = apart(*walk.zero_at, near) if near is not None else 0.0
    if near is not None and gap <= float(across) / 2.0:
        yield Finding(
            "FW501",
            "The gauge can't be lowered to the bed anywhere beside the panel: even at the best place it would meet "
            + (
                f"the panel of {near.name}."
                if near.kind == "panel"
                else f"the {near.kind} {near.name} on the {near.edge} edge at {near.at}."
            ),
            named,
            help=f"Keep a place wider than the gauge's {across} free of clamps and dogs.",
            value=gap,
            limit=float(across) / 2.0,
        )
    if walk.nx and not walk.stops:
        yield Finding(
            "FW501",
            f"Holders cover all {walk.nx * walk.ny} points of the walk: the gauge, {across} wide, would meet them.",
            named,
            help="Take off the tall holders while the panel is measured, or write more points.",
        )
