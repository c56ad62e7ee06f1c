"""FW603 · the tolerance is tighter than the errors add up to

What may be off in touching off, in the survey, in the bed, in the lean of the spindle and in how well Z comes
back is added up. The sum is more than the tolerance that the job asks for.

## Why it hurts
The panel may come out right, but nobody can promise it: a promise that is not kept shows when the parts are put
together.

## Fails
```flat
job demo from plain_top {
    faces { first until clean; second to 29mm +/- 0.05mm; flip over long_edge }
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
    """The tolerance that the job writes against the plain sum of the parts."""
    asked = plan.work.job.faces.second
    if not isinstance(asked, SecondTo) or asked.within is None or not plan.setups:
        return
    within = asked.within
    if plan.plus_minus <= float(within) + 1e-9:
        return
    worst = max(plan.parts, key=lambda part: part.value)
    yield Finding(
        "FW603",
        f"A tolerance of {within} is asked for, but the errors add up to {at_least(plan.plus_minus, within)}.",
        within.span,
        help=f"The largest part is {worst.name} with {show(worst.value, within, 3)}: better that, or ask for "
        f"{at_least(plan.plus_minus, within)}.",
        value=float(within),
        limit=plan.plus_minus,
    )
