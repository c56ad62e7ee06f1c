"""FW504 · the panel is not held against the cut

Dogs resist in their own direction, clamps with their force, and friction with a tenth of the weight and of the clamp
forces. In some direction that is less than the cut may push: four times the computed force, or the push of a spindle
that stalls. Or the push, high above the bed, may tip the panel over a lower edge. A clamp with no dog opposite is
reported too, since it would push the panel away by itself. These are estimates; check the holding by hand. Side clamps
give no certain hold against lifting, and nothing here says that they do.

## Why it hurts
A panel that slides, turns or tips under the cutter is spoiled at best and thrown at worst.

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
from flatwise.core.units import fixed, show_apart
from flatwise.model.stages import Plan, Setup
from flatwise.plan.holding import Weakness, friction, tips, unopposed, weakness
from flatwise_grammar.nodes import Span

_FROM = {"left": "right", "right": "left", "front": "back", "back": "front"}


def check(plan: Plan) -> Iterator[Finding]:
    """Check for holders at all, for clamps without a dog opposite, and the weakest direction against the load."""
    work = plan.work
    if work.job.stock.is_bed or not plan.setups:
        return
    where = work.job.hold.head if work.job.hold is not None else work.span
    load = max(setup.holding_load for setup in plan.setups)
    if not work.holders:
        resists = friction((), work.mass)
        pushes, resisted = show_apart(load, resists, "N", 1)
        yield Finding(
            "FW504",
            f"Nothing holds the panel: the cut may push with {pushes}, but friction resists only {resisted}.",
            where,
            help="Put dogs on two edges and clamps opposite them.",
            value=load,
            limit=resists,
        )
        return
    loose = unopposed(work.holders)
    for holder in {(holder.name, holder.edge): holder for holder in loose}.values():
        yield Finding(
            "FW504",
            f"The clamp {holder.name} on the {holder.edge} edge pushes the panel away with {fixed(holder.force)}N: "
            f"there is no dog on the {_FROM[holder.edge]} edge.",
            holder.span,
            help=f"Put a dog on the {_FROM[holder.edge]} edge, opposite the clamp.",
        )
    if loose:
        return
    panel = (work.holders, work.length, work.width, work.mass)
    weak = weakness(*panel, load)
    for setup in plan.setups if weak is None else ():
        if setup.passes and (weak := tips(*panel, setup.holding_load, setup.passes[0].plane)):
            yield _tips(where, setup, weak)
            return
    if weak is None:
        return
    if weak.does == "turn":
        moment, resisted = show_apart(weak.needs / 1000, weak.has / 1000, "N·m", 3)
        message = (
            f"The panel may turn: a push of {fixed(load)}N {weak.direction} at a corner has a moment of "
            f"{moment}, but the holders resist only {resisted}."
        )
        limit = load * weak.has / max(weak.needs, 1e-9)
    else:
        pushes, resisted = show_apart(load, weak.has, "N", 1)
        message = (
            f"The panel may slide {weak.direction}: the cut may push with {pushes}, but clamps and friction resist "
            f"only {resisted}."
        )
        limit = weak.has
    yield Finding(
        "FW504",
        message,
        where,
        help="Put a dog or a stronger clamp on the edge that it would move toward; against turning, set holders further"
        " apart.",
        value=load,
        limit=limit,
    )


def _tips(where: Span, setup: Setup, weak: Weakness) -> Finding:
    moment, resisted = show_apart(weak.needs / 1000, weak.has / 1000, "N·m", 3)
    return Finding(
        "FW504",
        f"The panel may tip over its lower {weak.direction} edge on the {setup.face} face: a push of "
        f"{fixed(setup.holding_load)}N has a moment of {moment}, but weight and clamps resist only {resisted}.",
        where,
        help=f"Put a higher dog on the {weak.direction} edge, or use stronger clamps.",
        value=setup.holding_load,
        limit=setup.holding_load * weak.has / max(weak.needs, 1e-9),
    )
