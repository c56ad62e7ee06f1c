"""FW302 · the cut leaves the travel in Z

With Z all the way up, the cutting edge hangs below the collet's face by the stick-out. From there it reaches down by
the Z travel. A plane to be cut, the place for touching off, or the lift height of moves in the air lies outside that
range.

## Why it hurts
The axis stops at its end while the program goes on: the cut is too shallow, or a move in the air runs through a
clamp.

## Fails
```flat
machine high_lift like bench_router { lift 120mm }

job demo from plain_top {
    machine high_lift
}
```

## Mended
```flat
machine high_lift like bench_router { lift 60mm }

job demo from plain_top {
    machine high_lift
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.units import show_apart
from flatwise.model.stages import Plan


def check(plan: Plan) -> Iterator[Finding]:
    """Compare lift height and lowest plane of every setup with what the edge can reach, mm above the bed."""
    machine, cutter = plan.work.machine, plan.work.cutter
    if not plan.setups:
        return
    top = machine.collet_height - float(cutter.stick_out)
    bottom = top - float(machine.travel.z)
    unit = cutter.stick_out
    highest = max(plan.setups, key=lambda setup: setup.lift)
    if highest.lift > top + 1e-6:
        needed, reached = show_apart(highest.lift, top, unit)
        yield Finding(
            "FW302",
            f"Moves in the air need the cutting edge {needed} above the bed, but it reaches only {reached}.",
            cutter.span("stick_out"),
            help="Let the cutter stick out less, use lower holders, or give the machine a smaller lift.",
            value=highest.lift,
            limit=top,
        )
    lowest = min(plan.setups, key=lambda setup: setup.plane)
    touched = min(setup.touch.zero for setup in plan.setups)
    low = min(lowest.plane, touched)
    if low < bottom - 1e-6:
        at, deepest = show_apart(low, bottom, unit)
        what = f"The {lowest.face} face is cut" if lowest.plane <= touched else "The cutter touches off"
        yield Finding(
            "FW302",
            f"{what} {at} above the bed, but with Z all the way down the cutting edge stays {deepest} above it.",
            cutter.span("stick_out"),
            help="Let the cutter stick out more, or put the panel on a flat base board.",
            value=low,
            limit=bottom,
        )
