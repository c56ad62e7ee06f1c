"""FW204 · no stack of leaves fits

The gap that remains between the leaves and the panel at this place is wider than the standard's `rock` allows. No
stack from the set, with each thickness used at most once, comes closer without lifting the panel elsewhere.

## Why it hurts
Over a gap the panel gives way under the cutter by that much, and springs back behind it.

## Fails
```flat
shims coarse { leaves 0.5mm, 1mm; stack up to 2 }

job demo from plain_top {
    survey   { gap front_left 0.8mm, front 0.4mm, left 0.4mm, back 0mm, right 0mm }
    supports { shims coarse under front_left; aim natural }
}
```

## Mended
```flat
job demo from plain_top {
    survey   { gap front_left 0.8mm, front 0.4mm, left 0.4mm, back 0mm, right 0mm }
    supports { shims leaf_set under front_left; aim natural }
}
```
"""

from __future__ import annotations

from flatwise.core.finding import Finding
from flatwise.core.units import show, show_apart
from flatwise.core.wording import place_name
from flatwise.model.stages import Shim, Work


def no_stack(work: Work, shim: Shim, limit: float) -> Finding:
    """The stack nearest to the gap at a place is more than `limit` mm lower or higher than it."""
    unit = work.job.stock.size.thickness
    where = place_name(shim.place, shim.x, shim.y, unit)
    place = shim.place or where
    laid = f"the nearest stack, {show(shim.height, unit)}," if shim.leaves else "no leaf of the set fits, which"
    off, allowed = show_apart(abs(shim.gap_left), limit, unit)
    what = f"leaves a gap of {off}" if shim.gap_left > 0 else f"is {off} too high"
    return Finding(
        "FW204",
        f"Under {where}, {laid} {what}, more than the {allowed} allowed.",
        shim.span,
        help=f"Set the height by hand with `shim {show(shim.height + shim.gap_left, unit, 3)} under {place}`, or add a"
        " leaf to the set that makes up the difference.",
        rule="rock",
        value=abs(shim.gap_left),
        limit=limit,
    )
