"""FW602 · less left than allowed

The panel would end up thinner than the shop's standard allows.

## Why it hurts
A thin panel warps again, vibrates under the cutter, and no longer has the thickness it was glued up for. A waiver
with a reason allows it.

## Fails
```flat
job demo from plain_top {
    faces { first until clean; second to 14mm +/- 0.5mm; flip over long_edge }
}
```

## Mended
```flat
job demo from plain_top {
    faces { first until clean; second to 29mm +/- 0.5mm; flip over long_edge }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_least
from flatwise.core.units import show
from flatwise.model.job import SecondTo
from flatwise.model.stages import Plan


def check(plan: Plan) -> Iterator[Finding]:
    """Compare the thickness that is left with the standard's minimum."""
    leave = plan.work.rules.leave
    if leave is None or plan.forecast >= leave - plan.work.machine.controller.digit / 2.0 - 1e-9:
        return
    faces = plan.work.job.faces
    last = faces.second if faces.second is not None else faces.first
    written = last.thickness if isinstance(last, SecondTo) else None
    unit = written if written is not None else plan.work.job.stock.size.thickness
    yield Finding(
        "FW602",
        f"Only {show(plan.forecast, unit)} would be left, less than the {at_least(leave, unit)} that the standard "
        f"{plan.work.rules.of('leave')} requires.",
        written.span if written is not None else faces.span("second" if faces.second is not None else "first"),
        help=f"Leave {at_least(leave, unit)} or more.",
        rule="leave",
        value=plan.forecast,
        limit=leave,
    )
