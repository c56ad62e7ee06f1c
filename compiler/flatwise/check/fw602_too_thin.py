"""FW602 · less left than allowed

The panel would end up thinner than the shop's standard allows, or a reading after a face was cut lies below the
tolerance of `second to`.

## Why it hurts
A thin panel warps again, vibrates under the cutter, and no longer has the thickness it was glued up for. A waiver
with a reason lets the standard's rule through. Nothing lifts a reading below the tolerance: wood can't be put back.

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
from operator import itemgetter

from flatwise.core.finding import Finding, relate
from flatwise.core.fixes import at_least, at_most
from flatwise.core.units import show, show_apart
from flatwise.model.job import After, Reading, ReadingFile, SecondTo
from flatwise.model.stages import FaceName, Plan, Work
from flatwise.plan.sequence import accepted
from flatwise_grammar.nodes import Span


def check(plan: Plan) -> Iterator[Finding]:
    """Compare the thickness that is left with the standard's minimum, and readings after a face with the tolerance."""
    yield from _measured(plan, "first", plan.work.job.after_first)
    yield from _measured(plan, "second", plan.work.job.after_second)
    leave = plan.work.rules.leave
    if leave is None or plan.forecast >= leave - plan.work.machine.controller.digit / 2.0 - 1e-9:
        return
    faces = plan.work.job.faces
    last = faces.second if faces.second is not None else faces.first
    written = last.thickness if isinstance(last, SecondTo) else None
    unit = written if written is not None else plan.work.job.stock.size.thickness
    left, least = show_apart(plan.forecast, leave, unit)
    yield Finding(
        "FW602",
        f"Only {left} would be left, less than the {least} that the standard {plan.work.rules.of('leave')} requires.",
        written.span if written is not None else faces.span("second" if faces.second is not None else "first"),
        help=f"Leave {at_least(leave, unit)} or more.",
        rule="leave",
        value=plan.forecast,
        limit=leave,
    )


def _measured(plan: Plan, face: FaceName, after: After | None) -> Iterator[Finding]:
    """The thinnest reading after a face, where it lies below the tolerance of `second to`; no waiver lifts it."""
    asked = plan.work.job.faces.second
    if after is None or not after.thickness or not isinstance(asked, SecondTo):
        return
    least = accepted(plan.work, after, asked)[0]
    thinnest, place, span = min((_thinnest(plan.work, reading) for reading in after.thickness), key=itemgetter(0))
    if thinnest >= least:
        return
    unit = asked.thickness
    left = show_apart(thinnest, least, unit)[0]
    tolerance = asked.within if asked.within is not None else after.uncertainty(plan.work.job.survey)
    yield Finding(
        "FW602",
        f"After the {face} face only {left} is left at {place}, {at_least(least - thinnest, unit)} "
        f"less than {asked.thickness} +/- {tolerance} allows.",
        span,
        related=relate("the thickness is asked for here", asked.thickness.span),
        help=f"No cut makes the panel thicker: ask for {at_most(thinnest, unit)} or less if it can be used so.",
        value=thinnest,
        limit=least,
    )


def _thinnest(work: Work, reading: Reading | ReadingFile) -> tuple[float, str, Span]:
    """The thinnest value of one reading or file of readings (mm), its place in words, and where it is written."""
    if isinstance(reading, Reading):
        return (
            float(reading.value),
            _at(work, *reading.place.on(work.length, work.width), reading.place.name),
            reading.span,
        )
    points = work.points[reading.file.span]
    x, y, value = (float(each) for each in points[points[:, 2].argmin()])
    return value, _at(work, x, y), reading.file.span


def _at(work: Work, x: float, y: float, name: str = "") -> str:
    unit = work.job.stock.size.length
    return name.replace("_", " ") or f"({show(x, unit)}, {show(y, unit)})"
