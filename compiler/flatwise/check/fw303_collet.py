"""FW303 · the shank does not fit the collet

The cutter's shank is thicker or thinner than the machine's collet can grip.

## Why it hurts
A collet that is closed further than it is made for grips at one end only: the cutter runs out of true, creeps, or
comes loose while it turns.

## Fails
```flat
cutter thick_fly like fly_64 { shank 16mm }

job demo from plain_top {
    cut { cutter thick_fly }
}
```

## Mended
```flat
cutter thick_fly like fly_64 { shank 10mm }

job demo from plain_top {
    cut { cutter thick_fly }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.units import show_apart
from flatwise.model.stages import Plan
from flatwise.plan.cutting import shank_fits


def check(plan: Plan) -> Iterator[Finding]:
    """Compare the cutter's shank with the collet's range."""
    cutter, machine = plan.work.cutter, plan.work.machine
    if shank_fits(cutter, machine):
        return
    least, most = machine.collet.range
    shank = float(cutter.shank)
    limit = most if shank > most else least
    ends = [show_apart(shank, end, cutter.shank)[1] for end in (least, most)]
    yield Finding(
        "FW303",
        f"The shank of {cutter.name or 'the cutter'} is {cutter.shank}, but the collet grips {' to '.join(ends)}.",
        plan.work.job.cut.cutter.span,
        help="Fit a collet of the right size and write it in the machine, or use a cutter whose shank fits.",
        value=shank,
        limit=limit,
    )
