"""FW603 · the tolerance is tighter than the errors add up to

The errors of touching off, the survey, the bed, the lean of the spindle and the repeatability of Z add up to more
than the tolerance that the job asks for. If the forecast thickness is not the target itself, the difference counts too.

## Why it hurts
The panel may come out right, but nobody can promise it. A broken promise shows when the parts are put together.

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
from flatwise.core.fixes import at_least, value_fix
from flatwise.core.units import show
from flatwise.model.job import SecondTo
from flatwise.model.stages import Plan, UncertaintyPart


def check(plan: Plan) -> Iterator[Finding]:
    """Compare the tolerance that the job asks for with the plain sum of the errors and the forecast's distance."""
    asked = plan.work.job.faces.second
    if not isinstance(asked, SecondTo) or asked.within is None or not plan.setups:
        return
    within = asked.within
    # a first face that is cut alone leaves the target to a later program
    off = abs(plan.forecast - float(asked.thickness)) if plan.setups[-1].face == "second" else 0.0
    needed = plan.plus_minus + off
    if needed <= float(within) + 1e-9:
        return
    worst = max((*plan.parts, UncertaintyPart("the forecast's distance from the target", off)), key=_value)
    apart = f"the forecast is {show(off, within)} from the target and " if off > 1e-6 else ""
    yield Finding(
        "FW603",
        f"The job asks for a tolerance of {within}, but {apart}the errors add up to "
        f"{at_least(plan.plus_minus, within)}.",
        within.span,
        help=f"The largest part is {worst.name}, {show(worst.value, within, 3)}: reduce that, or ask for "
        f"{at_least(needed, within)}.",
        fix=value_fix(within, at_least(needed, within)),
        value=float(within),
        limit=needed,
    )


def _value(part: UncertaintyPart) -> float:
    return part.value
