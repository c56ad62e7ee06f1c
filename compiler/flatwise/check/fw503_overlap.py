"""FW503 · holders overlap each other or the panel

Two dogs or clamps would have to be in the same place, a clamp reaches beyond the end of the edge that it pushes on,
or a holder reaches into the panel. The panels of a batch, and their holders, may not overlap either.

## Why it hurts
The set-up at the machine is then not the one that was planned, and it has not been checked.

## Fails
```flat
job demo from plain_top {
    hold { clamp side_cam right at 50%; clamp side_cam back at 20%, 24% }
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
from itertools import combinations

from flatwise.core.finding import Finding, Related
from flatwise.core.fixes import at_least
from flatwise.model.bed import BatchPlan
from flatwise.model.stages import Holder, Plan
from flatwise.plan.clearance import overlap
from flatwise.plan.neighbours import apart_by, beside, placed_at, things


def check(plan: Plan) -> Iterator[Finding]:
    """Compare every pair of holders, every holder with the outline, and clamps with the ends of their edge."""
    work = plan.work
    unit = work.job.stock.size.length
    for one, other in combinations(work.holders, 2):
        deep = overlap(one, other)
        if deep > 1e-6:
            yield Finding(
                "FW503",
                f"{_called(one).capitalize()} and {_called(other)} overlap by {at_least(deep, unit)}.",
                other.span,
                related=(Related("the other one", one.span),),
                help="Move one of them along the edge.",
                value=deep,
                limit=0.0,
            )
    for holder in work.holders:
        side = work.width if holder.edge in ("left", "right") else work.length
        low, high = (holder.y0, holder.y1) if holder.edge in ("left", "right") else (holder.x0, holder.x1)
        out = max(-low, high - side)
        if holder.kind == "clamp" and out > 1e-6:
            yield Finding(
                "FW503",
                f"{_called(holder).capitalize()} reaches {at_least(out, unit)} beyond the end of the edge.",
                holder.span,
                help=f"Move it by at least {at_least(out, unit)} toward the middle of the edge.",
                value=out,
                limit=0.0,
            )
        inside = min(holder.x1, work.length) - max(holder.x0, 0.0), min(holder.y1, work.width) - max(holder.y0, 0.0)
        if min(inside) > 1e-6:
            yield Finding(
                "FW503",
                f"{_called(holder).capitalize()} overlaps the panel by {at_least(min(inside), unit)}.",
                holder.span,
                help="Move it out of the panel: a holder touches the edge from outside.",
            )


def check_batch(plan: BatchPlan) -> Iterator[Finding]:
    """Compare the panels of a batch, and the holders of each, with those of every other."""
    for (_, one), (index, other) in combinations(enumerate(plan.plans), 2):
        near = beside(one, other, "first")
        pairs = [(overlap(mine, its), mine, its) for mine in things(one, "first") for its in near]
        deep, mine, its = max(pairs, key=lambda pair: pair[0])
        if deep > 1e-6:
            unit, name = other.work.job.stock.size.length, plan.batch.names[index]
            yield Finding(
                "FW503",
                f"{_of(mine, one).capitalize()} and {_of(its, other)} overlap by {at_least(deep, unit)}.",
                placed_at(other, name),
                related=(Related("the other job of the batch", one.work.span),),
                help=apart_by(one, other),
                value=deep,
                limit=0.0,
            )


def _of(thing: Holder, plan: Plan) -> str:
    """A thing on the bed with the job that it belongs to."""
    return f"the panel of {plan.work.name}" if thing.kind == "panel" else f"{_called(thing)} of {plan.work.name}"


def _called(holder: Holder) -> str:
    return f"the {holder.kind} {holder.name} on the {holder.edge} edge at {holder.at}"
