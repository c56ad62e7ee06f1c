"""FW405 · more power than the spindle has

The cut needs more power than the spindle gives at this speed, which is its rated power × speed ÷ top speed. The power
needed is engaged width × depth × feed × cutting energy of the wood. The cutting energy is an estimate, and so is the
power.

## Why it hurts
The spindle slows down, the chips grow thicker, the push on the panel grows with them, and the spindle stalls in the
wood.

## Fails
```flat
machine light_router like bench_router { spindle 0.28kW, 8000rpm to 24000rpm }

job demo from plain_top {
    machine light_router
    cut { feed 8m/min }
}
```

## Mended
```flat
machine light_router like bench_router { spindle 0.28kW, 8000rpm to 24000rpm }

job demo from plain_top {
    machine light_router
    cut { feed 5m/min }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_most, value_fix
from flatwise.core.units import Quantity, feed_unit, fixed, show_apart
from flatwise.model.stages import Plan
from flatwise.plan.cutting import spindle_power


def check(plan: Plan) -> Iterator[Finding]:
    """Compare the power of the most demanding setup with all that the spindle gives at its speed."""
    if not plan.setups:
        return
    setup = max(plan.setups, key=lambda setup: setup.power / spindle_power(plan.work.machine, setup.speed))
    has = spindle_power(plan.work.machine, setup.speed)
    if setup.power <= has + 1e-6:
        return
    cut = plan.work.job.cut
    written = cut.feed if isinstance(cut.feed, Quantity) else None
    share = min(1.0, plan.work.rules.power) * has / setup.power
    unit = written if written is not None else feed_unit(plan.work.job.stock.size.thickness)
    text = at_most(setup.feed * share, unit)
    needs, gives = show_apart(setup.power, has, plan.work.machine.spindle.power, 3)
    yield Finding(
        "FW405",
        f"The cut needs about {needs}, but at {fixed(setup.speed)}rpm the spindle gives only {gives}.",
        written.span if written is not None else cut.head,
        help=f"Feed {text} or less, or write a smaller depth or stepover.",
        value=setup.power,
        limit=has,
        fix=value_fix(written, text) if written is not None and _chip_stays(plan, setup.feed * share) else None,
    )


def _chip_stays(plan: Plan, feed: float) -> bool:
    """Whether a slower feed still gives each wing a thick enough chip."""
    cutter = plan.work.cutter
    return feed >= plan.setups[0].speed * int(cutter.wings) * float(cutter.chip_load.least)
