"""FW406 · stepover leaves strips

The rows are further apart than the cutter is wide.

## Why it hurts
Strips of the old face are left standing between the rows.

## Fails
```flat
job demo from plain_top {
    cut { stepover 110% }
}
```

## Mended
```flat
job demo from plain_top {
    cut { stepover 65% }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_least, value_fix
from flatwise.model.stages import Plan


def check(plan: Plan) -> Iterator[Finding]:
    """Compare the written stepover with the cutter's diameter."""
    stepover, diameter = plan.work.job.cut.stepover, plan.work.cutter.diameter
    if not isinstance(stepover, str) and float(stepover) > 1.0 + 1e-9:
        strip = (float(stepover) - 1.0) * float(diameter)
        yield Finding(
            "FW406",
            f"A stepover of {stepover} of the {diameter} cutter leaves strips of up to {at_least(strip, diameter)} "
            "between the rows.",
            stepover.span,
            help="Write 100% or less; 60% to 70% is usual.",
            fix=value_fix(stepover, "100%") if plan.work.job.cut.wrote("stepover") else None,
            value=float(stepover),
            limit=1.0,
        )
