"""FW304 · nose, shank or shoe would meet wood or a clamp

Above the cutting edge are the shank, the turning nose of the spindle and, on some machines, a dust shoe that rides
with it. Wood that a pass leaves standing beside the cutter, or a holder beside its path, is higher than the gap below
one of them. On a spoilboard that extends beyond the travel, that wood is the border that can't be cut: it stands as
high as all passes together are deep. In a batch, it is also another panel or its holders.

## Why it hurts
A part that meets the wood there does not cut: it rubs, burns, lifts the panel or breaks the shoe.

## Fails
```flat
machine low_hood like bench_router { shoe 140mm across, 0.3mm above edge }

job demo from plain_top {
    machine low_hood
}
```

## Mended
```flat
machine low_hood like bench_router { shoe 140mm across, 3mm above edge }

job demo from plain_top {
    machine low_hood
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.units import show_apart
from flatwise.model.bed import BatchPlan
from flatwise.model.stages import Plan
from flatwise.plan.clearance import unit_of
from flatwise.plan.neighbours import meetings
from flatwise.plan.rows import rows
from flatwise.plan.setup import overrun_of
from flatwise.plan.touch import reach
from flatwise_grammar.nodes import Span


def check(plan: Plan) -> Iterator[Finding]:
    """Compare what may stand beside the cutter above its plane with the gaps under shank, nose and shoe."""
    unit, border = unit_of(plan), _border(plan)
    bite = max((one.limit for setup in plan.setups for one in setup.passes), default=0.0)
    for name, gap, span in _above(plan):
        if border > gap + 1e-9:
            rides, stands = show_apart(gap, border, unit)
            yield Finding(
                "FW304",
                f"The {name} rides {rides} above the cutting edge, but the border that the travel can't "
                f"reach may stand {stands} above the last plane.",
                span,
                help=f"Raise the {name}, or take less off the spoilboard.",
                value=border,
                limit=gap,
            )
        elif bite > gap + 1e-9:
            rides, stands = show_apart(gap, bite, unit)
            yield Finding(
                "FW304",
                f"The {name} rides {rides} above the cutting edge, but a pass may leave wood standing "
                f"{stands} high beside the cutter.",
                span,
                help=f"Raise the {name}, or write a smaller depth per pass.",
                value=bite,
                limit=gap,
            )
        if max(bite, border) > gap + 1e-9 or name == "shoe":
            continue  # a shoe gives way, and a holder as high as that also meets the cutter: FW501 or FW502
        for setup in plan.setups:
            tall = [h for h in setup.holders if setup.plane + gap <= h.height]
            for holder in tall[:1]:
                high, rides = show_apart(holder.height, setup.plane + gap, unit)
                yield Finding(
                    "FW304",
                    f"The {name} would meet the {holder.kind} {holder.name} on the {holder.edge} edge at {holder.at}: "
                    f"the {holder.kind} is {high} high, and the {name} rides "
                    f"{rides} above the bed when the {setup.face} face is cut.",
                    holder.span,
                    help=f"Use a lower {holder.kind}, or leave the panel thicker.",
                    value=holder.height,
                    limit=setup.plane + gap,
                )


def check_batch(plan: BatchPlan) -> Iterator[Finding]:
    """The same beside the panels of a batch, for the others and their holders."""
    return meetings(plan, "FW304", ("nose", "shoe"))


def _border(plan: Plan) -> float:
    """How high wood may stand above the last plane where the travel ends over a spoilboard, mm; 0 elsewhere."""
    work = plan.work
    if not work.job.stock.is_bed or not rows(work, overrun_of(work), reach(work)).leaves_border:
        return 0.0
    return max((one.may_stand + one.touch.sink - one.plane for one in plan.setups), default=0.0)


def _above(plan: Plan) -> Iterator[tuple[str, float, Span]]:
    """Each part wider than the cutter: its name, its height above the cutting edge (mm), and where it is written."""
    machine, cutter = plan.work.machine, plan.work.cutter
    diameter = float(cutter.diameter)
    if machine.shoe is not None and float(machine.shoe.across) > diameter:
        yield "shoe", float(machine.shoe.above), machine.span("shoe")
    if float(cutter.shank) > diameter:
        yield "shank", float(cutter.blade), cutter.span("shank")
    if float(machine.nose) > diameter:
        yield "nose", float(cutter.stick_out), cutter.span("stick_out")
