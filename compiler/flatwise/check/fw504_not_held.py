"""FW504 · the panel is not held against the cut

Dogs push back in their direction, clamps with their force, and friction of weight and clamps takes a tenth of
both. In some direction that is less than what the cut may push: four times the computed force, or the push of a
spindle that stalls. Or a clamp has no dog opposite and would push the panel away by itself. These are
estimates; check the holding by hand.

## Why it hurts
A panel that slides or turns under the cutter is spoiled at best and thrown at worst.

## Fails
```flat
job demo from plain_top {
    hold { dog low_dog left at 25%, 75%; clamp side_cam right at 50%; clamp side_cam back at 20%, 80% }
}
```

## Mended
```flat
job demo from plain_top {
    hold {
        dog    low_dog   left   at 25%, 75%
        dog    low_dog   front  at 15%, 85%
        clamp  side_cam  right  at 50%
        clamp  side_cam  back   at 20%, 80%
    }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.model.stages import Plan
from flatwise.plan.holding import friction, unopposed, weakness
from flatwise.plan.setup import is_bed

_FROM = {"left": "right", "right": "left", "front": "back", "back": "front"}


def check(plan: Plan) -> Iterator[Finding]:
    """No holders, clamps without a dog opposite, and the worst direction against the design load."""
    work = plan.work
    if is_bed(work) or not plan.setups:
        return
    where = work.job.hold.head if work.job.hold is not None else work.span
    load = max(setup.holding_load for setup in plan.setups)
    if not work.holders:
        yield Finding(
            "FW504",
            f"Nothing holds the panel: the cut may push with {load:.0f}N and friction stands "
            f"{friction((), work.mass):.0f}N.",
            where,
            help="Put dogs on two edges and clamps opposite to them.",
            value=load,
            limit=friction((), work.mass),
        )
        return
    loose = unopposed(work.holders)
    for holder in {(holder.name, holder.edge): holder for holder in loose}.values():
        yield Finding(
            "FW504",
            f"The clamp {holder.name} on the {holder.edge} edge pushes the panel away with {holder.force:.0f}N: no dog "
            f"stands on the {_FROM[holder.edge]} edge.",
            holder.span,
            help=f"Put a dog on the {_FROM[holder.edge]} edge, opposite the clamp.",
        )
    if loose:
        return
    weak = weakness(work.holders, work.length, work.width, work.mass, load)
    if weak is None:
        return
    if weak.turning:
        message = (
            f"The panel may turn: pushed {weak.direction} with {load:.0f}N at a corner it takes "
            f"{weak.needs / 1000:.1f}N·m, and the holders stand {weak.has / 1000:.1f}N·m."
        )
        limit = load * weak.has / max(weak.needs, 1e-9)
    else:
        message = (
            f"The panel may slide {weak.direction}: the cut may push with {load:.0f}N, and clamps and friction stand "
            f"{weak.has:.0f}N there."
        )
        limit = weak.has
    yield Finding(
        "FW504",
        message,
        where,
        help="Put a dog or a stronger clamp on the edge that it would move toward, further apart if it may turn.",
        value=load,
        limit=limit,
    )
