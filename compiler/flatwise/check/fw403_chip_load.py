"""FW403 · chip load outside its range

Each wing takes a chip of feed ÷ (speed × wings); where a row engages less than half of the cutter, the chip is
thinner than that. It lies outside the range of the cutter's chart.

## Why it hurts
If the chip is too thin, the edge rubs, heats up and dulls, and the wood burns. If it is too thick, it tears the grain
and overloads cutter and holders.

## Fails
```flat
job demo from plain_top {
    cut { feed 2m/min }
}
```

## Mended
```flat
job demo from plain_top {
    cut { feed auto }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_least, at_most, value_fix
from flatwise.core.units import Quantity, feed_unit, fixed, show, show_apart
from flatwise.model.stages import Plan, Setup
from flatwise.plan.cutting import typical_chip
from flatwise.plan.rows import widest_bite
from flatwise.plan.setup import overrun_of

#: why an auto feed is no faster
_STOPPED = {
    "machine": "; the machine feeds no faster",
    "power": "; a faster feed would need more power than is allowed",
    "holding": "; the holders can't resist a faster feed",
}


def check(plan: Plan) -> Iterator[Finding]:
    """Compare the thinnest and thickest chip of every setup with the cutter's chart; report the worst setup."""
    work = plan.work
    if not plan.setups:
        return
    cut, chart = work.job.cut, work.cutter.chip_load
    bite = widest_bite(work, overrun_of(work))
    written = cut.feed if isinstance(cut.feed, Quantity) else None
    span = written.span if written is not None else cut.span("feed")
    slow = min(plan.setups, key=lambda setup: setup.chip_load)
    fast = max(plan.setups, key=lambda setup: setup.chip_load)
    thin = typical_chip(work, slow.stepover, slow.chip_load, bite)[0]
    thick = typical_chip(work, fast.stepover, fast.chip_load, bite)[1]
    unit: str | Quantity = written if written is not None else feed_unit(work.job.stock.size.thickness)
    if thin < float(chart.least) - 1e-9:
        needed = slow.feed * float(chart.least) / thin
        text = at_least(needed, unit)
        chip = show_apart(thin, float(chart.least), chart.least, 3)[0]
        most = min(float(work.machine.feed.most), fast.feed * float(chart.most) / thick)
        yield Finding(
            "FW403",
            f"At {show(slow.feed, unit)} and {fixed(slow.speed)}rpm, each wing takes a chip of "
            f"{chip}, thinner than the {chart.least} of the cutter's "
            f"chart{_STOPPED.get(slow.feed_limit, '')}.",
            span,
            help=_way_out(slow, text if needed <= most else "", thin < slow.chip_load, cut.speed == "auto"),
            fix=value_fix(written, text) if needed <= most else None,
            value=thin,
            limit=float(chart.least),
        )
    if thick > float(chart.most) + 1e-9:
        text = at_most(fast.feed * float(chart.most) / thick, unit)
        chip = show_apart(thick, float(chart.most), chart.most, 3)[0]
        yield Finding(
            "FW403",
            f"At {show(fast.feed, unit)} and {fixed(fast.speed)}rpm, each wing takes a chip of "
            f"{chip}, thicker than the {chart.most} of the cutter's chart.",
            span,
            help=f"Feed {text} or less."
            if cut.speed == "auto"
            else f"Feed {text} or less, or raise the speed within the marked range.",
            fix=value_fix(written, text),
            value=thick,
            limit=float(chart.most),
        )


def _way_out(setup: Setup, feed: str, thinned: bool, auto: bool) -> str:
    """How the chips become thick enough: a faster `feed` where there is one; an `auto` speed is the lowest already."""
    if setup.feed_limit in ("power", "holding"):
        what = "the stepover or the depth" if auto else "the speed, the stepover or the depth"
        return f"Reduce {what}, so that each wing gets a thick enough chip."
    ways = [f"feed {feed} or more"] if feed and setup.feed_limit == "job" else []
    ways.append("use a cutter with fewer wings or a lower marked speed" if auto else "reduce the speed")
    ways += ["widen the stepover"] if thinned else []
    said = ", ".join(ways[:-1]) + (", or " if ways[1:] else "") + ways[-1]
    return f"{said[0].upper()}{said[1:]}: an edge that rubs burns the wood."
