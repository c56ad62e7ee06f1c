"""FW407 · the cutter would plunge into wood

A cutter that can't plunge comes down beside the panel, at the end of a row, clear of wood and holders. Over the panel
it comes down only on a ramp, where the wood lies below its plane already. The last pass covers the whole face, so it
needs the end of a row. Here, holders that are higher than the plane, or less than the clearance below it, block both
ends of every row. With a waiver of `clearance` the cutter may come down over and beside holders as near as contact
(FW501) allows. On a spoilboard that extends beyond the travel, the cutter comes down on a ramp along the first row;
there, the travel leaves too little of a row.

## Why it hurts
A surfacing cutter has no cutting edge at its centre. Pushed straight down, it rubs, burns and lifts the panel, or
throws it.

## Fails
```flat
clamp tall_rail { foot 490mm x 32mm; height 40mm; force 450N }

job demo from plain_top {
    hold {
        dog    low_dog    front  at 15%, 85%
        clamp  tall_rail  left   at 50%
        clamp  tall_rail  right  at 50%
        clamp  side_cam   back   at 20%, 80%
    }
}
```

## Mended
```flat
job demo from plain_top {
    hold {
        dog    low_dog   front  at 15%, 85%
        dog    low_dog   left   at 25%, 75%
        clamp  side_cam  right  at 50%
        clamp  side_cam  back   at 20%, 80%
    }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.units import show_apart
from flatwise.model.stages import Plan, Work
from flatwise.plan.clearance import CONTACT, apart, too_tall
from flatwise.plan.rows import SLOPE_LEAST, rows
from flatwise.plan.setup import overrun_of
from flatwise.plan.touch import reach


def check(plan: Plan) -> Iterator[Finding]:
    """Find out whether holders higher than a plane block both ends of every row."""
    work = plan.work
    if work.cutter.plunge == "yes":
        return
    if work.job.stock.is_bed:
        yield from _short(work)
        return
    waived = "clearance" in work.waivers
    tall = [one for one in too_tall(plan) if one.meets or not waived]
    if not tall:
        return
    laid = rows(work, overrun_of(work))
    beside = max(CONTACT, 0.0 if waived else work.rules.clearance)
    clear = laid.diameter / 2.0 + laid.rounding + beside
    ends = [laid.point(u, v) for v in laid.at for u in (laid.start, laid.end)]
    if all(any(apart(x, y, one.holder) < clear for one in tall) for x, y in ends):
        blocking = [one.holder for one in tall if any(apart(x, y, one.holder) < clear for x, y in ends)]
        yield Finding(
            "FW407",
            f"The cutter has no place to come down: holders too high for the plane block both ends of all "
            f"{len(laid.at)} rows, and it can't plunge into wood.",
            blocking[0].span,
            help="Use lower holders, or keep the end of a row free.",
        )


def _short(work: Work) -> Iterator[Finding]:
    """On the spoilboard the cutter comes down on a ramp, which takes some length of a row."""
    laid = rows(work, overrun_of(work), reach(work))
    run, size = laid.end - laid.start, work.job.stock.size
    if laid.reach_short and run < SLOPE_LEAST:
        covered, needed = show_apart(max(run, 0.0), SLOPE_LEAST, size.length)
        yield Finding(
            "FW407",
            f"The travel covers only {covered} of a row, but the cutter can't plunge and "
            f"comes down on a ramp that takes {needed}.",
            work.job.zero.span("corner"),
            help="Put the corner where the travel reaches over more of the board.",
        )
