"""FW207 · the panel's own weight may hide part of its free shape

The panel's own weight presses it toward the bed, so a feeler gauge finds smaller gaps than the panel's free shape
would leave. This panel is so heavy for its stiffness that the difference can matter. How much twist, cup and bow
its weight can press flat is estimated from its size and wood. This is a note: it stops nothing.

## Why it hurts
The cut is right as long as the panel lies in the machine as it lay for the survey. Turned over, or once it has lost
wood, the panel can show the shape that its weight had hidden.

## Fails
```flat
job demo from plain_top { }
```

## Mended
```flat
job demo from plain_top {
    # its free shape, seen on edge with winding sticks and a straightedge
    survey { twist 0mm; bow 0.1mm crown; cup 0.1mm crown }
}
```
"""

from __future__ import annotations

from collections.abc import Mapping

from flatwise.core.finding import Finding, Findings
from flatwise.core.units import show
from flatwise.core.wording import listed
from flatwise.model.job import Survey
from flatwise.model.stages import Work


def hidden(work: Work, survey: Survey, shapes: Mapping[str, float]) -> Findings:
    """The note on shapes that the weight alone can press flat, by how much (mm), and for which the survey has no words.

    A shape that rounds to nothing, at a hundredth of a mm or a thou, is left out.
    """
    unit = work.job.stock.size.thickness
    shown = {name: show(most, unit, 2) for name, most in shapes.items()}
    shown = {name: amount for name, amount in shown.items() if amount != show(0.0, unit)}
    if not shown:
        return ()
    parts = [f"{amount} of {name}" for name, amount in shown.items()]
    note = Finding(
        "FW207",
        f"The panel's own weight can press about {listed(parts, 'and')} flat on the bed, so the gaps may show less than"
        " its free shape.",
        survey.span("gap"),
        "note",
        help="Stand the panel on edge, sight it with winding sticks and a straightedge, and add the free shape that you"
        f" see to the survey: {listed(list(shown), 'and')}.",
    )
    return (note,)
