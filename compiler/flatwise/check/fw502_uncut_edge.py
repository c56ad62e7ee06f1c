"""FW502 · a clamp or dog keeps an edge from being cut

The cutter runs past every edge so that the whole face comes clean. It may pass over a dog or clamp with at least the
standard's clearance. Where there is less, it has to avoid the holder, and a stretch of the edge stays uncut. A waiver
of the clearance lets it pass closer, but never so close that it counts as contact (FW501).

## Why it hurts
A panel with a ridge along part of its edge has to be finished with a saw or a plane after all; and a cutter that
passes too close over a clamp hits it when the bed, the leaves or the zero are slightly off.

## Fails
```flat
clamp tall_cam like side_cam { height 28mm }

job demo from plain_top {
    hold { clamp tall_cam right at 50%; clamp side_cam back at 20%, 80% }
}
```

## Mended
```flat
job demo from plain_top {
    hold { clamp side_cam right at 50%; clamp side_cam back at 20%, 80% }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_least, at_most
from flatwise.core.units import show
from flatwise.model.stages import Plan
from flatwise.plan.clearance import by_line, places, unit_of


def check(plan: Plan) -> Iterator[Finding]:
    """Find holders with less than the clearance above them, but no contact; the rule can be waived."""
    clearance = plan.work.rules.clearance
    for line in by_line(plan):
        one = line[0]
        if one.meets:
            continue  # FW501 says it
        holder, unit = one.holder, unit_of(plan)
        stretch = one.stretch + 2.0 * clearance
        limit = one.plane - clearance
        yield Finding(
            "FW502",
            f"The {holder.kind} {holder.name} on the {holder.edge} edge at {places(line)} is "
            f"{at_least(holder.height - limit, unit)} too high to pass over with {show(clearance, unit)} of clearance "
            f"when the {one.face} face is cut at {show(one.plane, unit)}; avoiding it leaves "
            f"{show(stretch, unit)} of that edge uncut.",
            holder.span,
            help=f"Use a {holder.kind} no higher than {at_most(limit, unit)}, or leave the panel thicker.",
            rule="clearance",
            value=one.gap,
            limit=clearance,
        )
