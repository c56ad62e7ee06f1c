"""FW407 · the cutter would plunge into wood

The cutter can't go straight down into wood, so it comes down beside the panel, at the end of a row, clear of
wood and holders. Holders that stand higher than the plane block every end of every row.

## Why it hurts
A surfacing cutter has no cutting edge at its middle. Pushed straight down it rubs, burns and lifts the panel,
or throws it.

## Fails
```flat
use "../shared/shop.flat"
use "../shared/sample.flat"

clamp tall_rail { foot 490mm x 32mm; height 40mm; force 450N }
dog   tall_rail_stop like low_dog { height 11mm }

job demo from plain_top {
    hold {
        dog    tall_rail_stop  front  at 15%, 85%
        clamp  tall_rail       left   at 50%
        clamp  tall_rail       right  at 50%
        clamp  edge_cam        back   at 20%, 80%
    }
}
```

## Mended
```flat
use "../shared/shop.flat"
use "../shared/sample.flat"

job demo from plain_top {
    hold {
        dog    low_dog   front  at 15%, 85%
        dog    low_dog   left   at 25%, 75%
        clamp  edge_cam  right  at 50%
        clamp  edge_cam  back   at 20%, 80%
    }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.diagnostics import Diagnostic
from flatwise.plan.clearance import apart, too_tall
from flatwise.plan.rows import rows
from flatwise.plan.setup import is_bed, overrun_of
from flatwise.stages import Plan


def check(plan: Plan) -> Iterator[Diagnostic]:
    """Whether both ends of every row are blocked by holders that stand above a plane."""
    work = plan.work
    if work.cutter.plunge == "yes" or is_bed(work):
        return
    tall = too_tall(plan)
    if not tall:
        return
    laid = rows(work, overrun_of(work))
    clear = laid.diameter / 2.0 + work.rules.clearance
    ends = [laid.point(u, v) for v in laid.at for u in (laid.start, laid.end)]
    if all(any(apart(x, y, one.holder) < clear for one in tall) for x, y in ends):
        blocking = [one.holder for one in tall if any(apart(x, y, one.holder) < clear for x, y in ends)]
        yield Diagnostic(
            "FW407",
            f"The cutter has no place to come down: holders that stand above the plane block both ends of all "
            f"{len(laid.at)} rows, and it can't plunge into wood.",
            blocking[0].span,
            help="Hold the panel lower, or leave the end of a row free.",
        )
