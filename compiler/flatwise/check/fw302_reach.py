"""FW302 · the cut, or a measuring walk, leaves the travel in Z

With Z all the way up, the cutting edge hangs below the collet's face by the stick-out. From there it reaches down by
the Z travel. A plane to be cut, the place for touching off, or the lift height of moves in the air lies outside that
range.

For `flatwise measure` the gauge counts like a cutter: its tip, pressed by half its travel, has to reach the bed and the
lift height. And its travel has to take in what is not known yet: at every point the top may stand higher or lower than
forecast by half the travel at most, and no wood beside the point may reach the gauge's body.

## Why it hurts
The axis stops at its end while the program goes on: the cut is too shallow, or a move in the air runs through a
clamp.

## Fails
```flat
machine high_lift like bench_router { lift 120mm }

job demo from plain_top {
    machine high_lift
}
```

## Mended
```flat
machine high_lift like bench_router { lift 60mm }

job demo from plain_top {
    machine high_lift
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_least
from flatwise.core.units import show_apart
from flatwise.core.wording import place_name
from flatwise.model.measuring import Walk
from flatwise.model.stages import Plan, Work

#: room between the gauge's body and wood that it could meet, mm
GAUGE_ROOM = 3.0


def check(plan: Plan) -> Iterator[Finding]:
    """Compare lift height and lowest plane of every setup with what the edge can reach, mm above the bed."""
    machine, cutter = plan.work.machine, plan.work.cutter
    if not plan.setups:
        return
    top = machine.collet_height - float(cutter.stick_out)
    bottom = top - float(machine.travel.z)
    unit = cutter.stick_out
    highest = max(plan.setups, key=lambda setup: setup.lift)
    if highest.lift > top + 1e-6:
        needed, reached = show_apart(highest.lift, top, unit)
        yield Finding(
            "FW302",
            f"Moves in the air need the cutting edge {needed} above the bed, but it reaches only {reached}.",
            cutter.span("stick_out"),
            help="Let the cutter stick out less, use lower holders, or give the machine a smaller lift.",
            value=highest.lift,
            limit=top,
        )
    lowest = min(plan.setups, key=lambda setup: setup.plane)
    touched = min(setup.touch.zero for setup in plan.setups)
    low = min(lowest.plane, touched)
    if low < bottom - 1e-6:
        at, deepest = show_apart(low, bottom, unit)
        what = f"The {lowest.face} face is cut" if lowest.plane <= touched else "The cutter touches off"
        yield Finding(
            "FW302",
            f"{what} {at} above the bed, but with Z all the way down the cutting edge stays {deepest} above it.",
            cutter.span("stick_out"),
            help="Let the cutter stick out more, or put the panel on a flat base board.",
            value=low,
            limit=bottom,
        )


def check_walk(work: Work, walk: Walk) -> Iterator[Finding]:
    """Compare what a measuring walk needs with the reach and the travel of its gauge, mm above the bed."""
    if work.job.survey is None:
        return
    named, reach = work.job.survey.span("walk"), walk.gauge.reach
    top = work.machine.collet_height - walk.stick_out
    bottom = top - float(work.machine.travel.z)
    if walk.lift > top + 1e-6:
        needed, reached = show_apart(walk.lift - walk.press, top - walk.press, reach)
        yield Finding(
            "FW302",
            f"Moves in the air need the gauge's tip {needed} above the bed, but it reaches only {reached}.",
            named,
            help="Use a shorter gauge or lower holders, or give the machine a smaller lift.",
            value=walk.lift,
            limit=top,
        )
    if bottom > 1e-6:
        yield Finding(
            "FW302",
            f"The gauge does not reach the bed: with Z all the way down it still lacks {at_least(bottom, reach)}.",
            named,
            help="Use a longer gauge, or put it deeper into its holder and write its new reach.",
            value=bottom,
            limit=0.0,
        )
    yield from _unread(work, walk)


def _unread(work: Work, walk: Walk) -> Iterator[Finding]:
    """The stop that goes farthest beyond half the gauge's travel: where the top may stand, or the wood beside it."""
    assert work.job.survey is not None
    bed, most = float(work.machine.bed), walk.gauge.travel
    radius = float(walk.gauge.across) / 2.0 + GAUGE_ROOM
    upmost = walk.top.raised(walk.bound)
    found: list[tuple[float, str]] = []
    for stop in walk.stops:
        x, y = stop.x, stop.y
        beside = float(upmost.cells([x - radius, x + radius], [y - radius, y + radius])[1][0, 0]) - stop.expected
        at = f"stop {stop.number}, {place_name('', x, y, most)},"
        found.append((stop.bound + bed, f"At {at} the top may stand {{off}} higher or lower than forecast"))
        found.append((beside + bed, f"Beside {at} wood may stand {{off}} higher than the top there"))
    off, said = max(found, default=(0.0, ""), key=lambda each: round(each[0], 6))
    if off > walk.press + 1e-6:
        high, half = show_apart(off, walk.press, most)
        yield Finding(
            "FW302",
            f"{said.format(off=high)}, but the gauge gives way by only {half}, half its travel.",
            work.job.survey.span("walk"),
            help="Use a gauge with more travel, or add readings by calipers and feelers first.",
            value=off,
            limit=walk.press,
        )
