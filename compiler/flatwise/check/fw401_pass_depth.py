"""FW401 · a pass deeper than the cutter allows

The job's `depth` or `finish` is more than the cutter may take in one pass.

## Why it hurts
A surfacing cutter that bites too deep chatters, tears the grain, and can pull the panel out of its holders or break
off a wing.

## Fails
```flat
job demo from plain_top {
    cut { depth 1.5mm }
}
```

## Mended
```flat
job demo from plain_top {
    cut { depth 0.5mm }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_most, value_fix
from flatwise.model.stages import Plan


def check(plan: Plan) -> Iterator[Finding]:
    """Compare the job's depth and finish with the cutter's depth."""
    cutter, rule = plan.work.cutter, plan.work.rules.depth
    most = float(cutter.depth)
    for what, written in (("depth", plan.work.job.cut.depth), ("finish", plan.work.job.cut.finish)):
        if written is None or float(written) <= most + 1e-9:
            continue
        limit = min(most, rule) if rule is not None else most
        yield Finding(
            "FW401",
            f"The {what} of {written} is more than the {at_most(most, written)} that "
            f"{cutter.name or 'the cutter'} may take in one pass.",
            written.span,
            help=f"Write {at_most(limit, written)} or less; the compiler then plans as many passes as are needed.",
            fix=value_fix(written, at_most(limit, written)),
            value=float(written),
            limit=most,
        )
