"""FW601 · not enough thickness: the face cannot come clean

The requested plane lies above the lowest place of the face, or so little below it that reading errors, the bed and
the lean of the spindle may use up the difference. The message gives the most that can be left.

## Why it hurts
Hollows of the old face stay in the new one, and the panel has to be cut again, thinner than intended.

## Fails
```flat
job demo from plain_top {
    faces { first until clean; second to 31.8mm +/- 0.5mm; flip over long_edge }
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
from flatwise.core.fixes import at_least, at_most, value_fix
from flatwise.core.units import Quantity, show, show_apart
from flatwise.model.job import FirstTo, SecondTo, Take
from flatwise.model.stages import Plan, Setup
from flatwise.plan.planes import clean_plane
from flatwise_grammar.nodes import Span


def check(plan: Plan) -> Iterator[Finding]:
    """Compare the plane of every face with the highest plane that is sure to come clean."""
    for setup in plan.setups:
        if setup.again or plan.work.job.stock.is_bed:
            continue
        clean = clean_plane(plan.work, setup.top, setup.bound)
        if setup.plane <= clean + plan.work.machine.controller.digit / 2.0 + 1e-9:
            continue
        yield _finding(plan, setup, clean)


def _finding(plan: Plan, setup: Setup, clean: float) -> Finding:
    faces = plan.work.job.faces
    asked = faces.first if setup.face == "first" else faces.second
    written: Quantity | None = None
    span: Span = faces.span(setup.face)
    said = f"cut at {show_apart(setup.plane, clean, plan.work.job.stock.size.thickness)[0]}"
    if isinstance(asked, FirstTo):
        written, said = asked.height, f"cut to {asked.height}"
    elif isinstance(asked, SecondTo):
        written, said = asked.thickness, f"cut to {asked.thickness}"
    elif isinstance(asked, Take):
        written, said = asked.depth, f"cut {asked.depth} deep"
    unit = written if written is not None else plan.work.job.stock.size.thickness
    if written is not None:
        span = written.span
    message = (
        f"The {setup.face} face can't come clean when {said}: its lowest place is {show(setup.lowest, unit)} above "
        f"{'the bed' if setup.face == 'first' else 'the first face'}, with an uncertainty of "
        f"{show(setup.lowest - clean, unit)}"
    )
    if isinstance(asked, Take):
        text = at_least(setup.highest - clean + plan.work.machine.controller.digit, unit)
        return Finding(
            "FW601",
            f"{message}.",
            span,
            help=f"Take at least {text}.",
            fix=value_fix(written, text),
            value=setup.plane,
            limit=clean,
        )
    text = at_most(clean, unit)
    return Finding(
        "FW601",
        f"{message}; the most that can be left is {text}.",
        span,
        help=f"Ask for {text} or less, or support the panel so that it loses less.",
        fix=value_fix(written, text) if isinstance(asked, FirstTo | SecondTo) else None,
        value=setup.plane,
        limit=clean,
    )
