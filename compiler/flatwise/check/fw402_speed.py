"""FW402 · speed outside the cutter's or the spindle's range

The spindle would turn faster or slower than the range marked on the cutter, or than the spindle itself can turn; or
no speed is within both ranges.

## Why it hurts
A cutter that turns faster than its marked speed can burst. One that turns too slowly hammers instead of cutting. The
mark on the tool and the manuals of cutter and machine come before anything written here.

## Fails
```flat
job demo from plain_top {
    cut { speed 18000rpm }
}
```

## Mended
```flat
job demo from plain_top {
    cut { speed 14000rpm }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_least, at_most, value_fix
from flatwise.core.units import Quantity, show
from flatwise.model.stages import Plan


def check(plan: Plan) -> Iterator[Finding]:
    """Compare a written speed with both ranges; for auto, the ranges with each other."""
    work = plan.work
    cut, cutter, spindle = work.job.cut, work.cutter.speed, work.machine.spindle
    least = max(float(cutter.least), float(spindle.least))
    most = min(float(cutter.most), float(spindle.most))
    name = work.cutter.name or "the cutter"
    if least > most:
        yield Finding(
            "FW402",
            f"No speed suits both: {name} is marked for {cutter.least} to {cutter.most}, and the spindle turns "
            f"{spindle.least} to {spindle.most}.",
            cut.cutter.span,
            help="Use a cutter that is marked for a speed of this spindle.",
        )
        return
    if not isinstance(cut.speed, Quantity) or least - 1e-9 <= float(cut.speed) <= most + 1e-9:
        return
    speed = float(cut.speed)
    fast = speed > most
    limit = most if fast else least
    of_cutter = limit == float(cutter.most if fast else cutter.least)
    whose = f"{name} is marked for {cutter.least} to {cutter.most}"
    if not of_cutter:
        whose = f"the spindle turns {spindle.least} to {spindle.most}"
    text = at_most(limit, cut.speed) if fast else at_least(limit, cut.speed)
    yield Finding(
        "FW402",
        f"The speed of {show(speed, cut.speed, 6)} is too {'fast' if fast else 'slow'}: {whose}.",
        cut.speed.span,
        help=f"Write a speed from {at_least(least, cut.speed)} to {at_most(most, cut.speed)}, or auto.",
        fix=value_fix(cut.speed, text),
        value=speed,
        limit=limit,
    )
