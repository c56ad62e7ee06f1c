"""FW207 · the survey shows the panel as its own weight bends it

A panel that lies on the bed is pressed toward it by its own weight.  The gaps that a feeler finds are then smaller
than the panel's free shape, and this panel is heavy enough for its stiffness that the difference can matter.  How
much of twist, cup and bow its weight can press flat is estimated from its size and wood.

## Why it hurts
Nothing is cut wrong by it as long as the panel lies in the machine as it lay for the survey.  Turned over, or
once it has lost wood, it can show the shape that its weight had hidden.

## Fails
```flat
job demo from plain_top { }
```

## Mended
```flat
job demo from plain_top {
    # seen on edge, with winding sticks and a straightedge: no twist or bow to speak of, a slight cup
    survey { twist 0mm; bow 0mm hollow; cup 0.1mm hollow }
}
```
"""

from __future__ import annotations

from collections.abc import Mapping

from flatwise.core.finding import Finding
from flatwise.core.units import show
from flatwise.core.wording import listed
from flatwise.model.job import Survey
from flatwise.model.stages import Work


def hidden(work: Work, survey: Survey, shapes: Mapping[str, float]) -> Finding:
    """Shapes that the weight alone can press flat, by how much (mm); the survey says none of them in words."""
    unit = work.job.stock.size.thickness
    parts = [f"{show(most, unit, 2)} of {name}" for name, most in shapes.items()]
    return Finding(
        "FW207",
        f"Lying on the bed, the panel's own weight can press about {listed(parts, 'and')} flat, so the gaps may show"
        " less than its free shape.",
        survey.span("gap"),
        "warning",
        help="Stand the panel on edge, sight it with winding sticks and a straightedge, and give what you see in words:"
        f" {', '.join(shapes)} (0mm where there is none).",
    )
