"""FW604 · nothing to cut

The requested plane lies above the highest place of the face.

## Why it hurts
The cutter would run over the whole panel in the air and make nothing flat.

## Fails
```flat
job demo from plain_top {
    faces { first to 33mm; second to 29mm +/- 0.5mm; flip over long_edge }
}
```

## Mended
```flat
job demo from plain_top {
    faces { first to 31mm; second to 29mm +/- 0.5mm; flip over long_edge }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.units import show_apart
from flatwise.model.stages import Plan


def check(plan: Plan) -> Iterator[Finding]:
    """Compare the plane of every face with the highest place of the forecast."""
    faces = plan.work.job.faces
    for setup in plan.setups:
        if setup.plane < setup.highest - 1e-9:
            continue
        asked = faces.first if setup.face == "first" else faces.second
        written = getattr(asked, "height", None) or getattr(asked, "thickness", None)
        unit = written if written is not None else plan.work.job.stock.size.thickness
        highest, plane = show_apart(setup.highest, setup.plane, unit)
        over = "the bed" if setup.face == "first" else "the first face"
        yield Finding(
            "FW604",
            f"There is nothing to cut on the {setup.face} face: its highest place is {highest} above "
            f"{over}, and {plane} is asked for.",
            written.span if written is not None else faces.span(setup.face),
            help="Ask for less, or write `until clean`.",
            value=setup.plane,
            limit=setup.highest,
        )
