"""FW501 · the cutter meets a clamp or dog

A dog or clamp stands as high as the plane that is to be left, or higher, and the cutter has to run past the
edge there. Mind the second face: it lies lower than the first, by all that has been cut.

## Why it hurts
A wing that meets steel breaks, and its pieces fly. No waiver lifts this.

## Fails
```flat
use "../shared/shop.flat"
use "../shared/sample.flat"

clamp tall_cam like edge_cam { height 30mm }

job demo from plain_top {
    hold { clamp tall_cam right at 50%; clamp edge_cam back at 20%, 80% }
}
```

## Mended
```flat
use "../shared/shop.flat"
use "../shared/sample.flat"

job demo from plain_top {
    hold { clamp edge_cam right at 50%; clamp edge_cam back at 20%, 80% }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.check.mend import at_most
from flatwise.diagnostics import Diagnostic
from flatwise.plan.clearance import by_line, places, unit_of
from flatwise.stages import Plan
from flatwise.units import show


def check(plan: Plan) -> Iterator[Diagnostic]:
    """Holders whose top is at or above the lowest plane that the cutter passes over them."""
    for line in by_line(plan):
        one = line[0]
        if one.gap > 1e-9:
            continue
        holder, unit = one.holder, unit_of(plan)
        limit = one.plane - plan.work.rules.clearance
        yield Diagnostic(
            "FW501",
            f"The cutter meets the {holder.kind} {holder.name} on the {holder.edge} edge at "
            f"{places(line)}: it is {show(holder.height, unit)} high, and the "
            f"{one.face} face is cut at {show(one.plane, unit)}.",
            holder.span,
            help=f"Use a {holder.kind} of at most {at_most(limit, unit)}; the cutter overruns every edge, so another "
            "place is no better.",
            value=one.gap,
            limit=0.0,
        )
