"""FW301 · the cut, or a measuring walk, leaves the travel in X or Y

The cutter has to run past every edge of the panel until all of it is clear of the wood. To do that, its centre would
have to leave the machine's travel. The same is said of a park position, of a place for touching off, or of a point that
`flatwise measure` visits, that lies out of reach.

## Why it hurts
A machine that runs into its end stop loses its position, and every later cut is in the wrong place. A sweep that
stops short leaves an uncut strip at the edge.

## Fails
```flat
job demo from plain_top {
    zero { corner front_left at 20mm, 120mm; z top by paper 0.05mm }
}
```

## Mended
```flat
job demo from plain_top {
    zero { corner front_left at 120mm, 120mm; z top by paper 0.05mm }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_least
from flatwise.core.units import show_apart
from flatwise.model.measuring import Walk
from flatwise.model.stages import Plan, Setup, Work

_SIDES = (("left", "X", 0, -1), ("right", "X", 0, 1), ("front", "Y", 1, -1), ("back", "Y", 1, 1))


def check(plan: Plan) -> Iterator[Finding]:
    """Compare every place that the spindle's centre goes to, in machine coordinates, with 0…travel."""
    work = plan.work
    corner, travel = work.job.zero.corner, work.machine.travel
    for side, axis, index, way in _SIDES:
        limit = float(travel.x if index == 0 else travel.y)
        over = max((_past(setup, index, way, limit) for setup in plan.setups), default=0.0)
        other = max((_past(setup, index, -way, limit) for setup in plan.setups), default=0.0)
        if over > 1e-6:
            way_out = (
                f"Move the panel by that much away from the {side} end, turn it on the bed, or use a smaller cutter."
            )
            if over + other > 1e-6:
                needed, there = show_apart(limit + over + other, limit, corner.x)
                way_out = (
                    f"With its run-outs, the cut needs {needed} of the {there} of {axis} travel: turn the panel on the "
                    "bed, or use a smaller cutter."
                )
            yield Finding(
                "FW301",
                f"The cutter's centre would go {at_least(over, corner.x)} past the {side} end of the {axis} travel.",
                corner.span,
                help=way_out,
                value=over,
                limit=0.0,
            )
        if not work.job.stock.is_bed and over <= 1e-6:
            yield from _touch(plan, side, index, way, limit)
    yield from _park(work)


def check_walk(work: Work, walk: Walk) -> Iterator[Finding]:
    """The same for the points of a measuring walk, and for the place where its gauge is set to zero."""
    corner, travel = work.job.zero.corner, work.machine.travel
    for side, axis, index, way in _SIDES:
        shift = walk.origin_machine[index] - walk.origin[index]
        places = [place[index] + shift for place in (walk.zero_at, *((stop.x, stop.y) for stop in walk.stops))]
        over = max(places) - float(travel.x if index == 0 else travel.y) if way > 0 else -min(places)
        if over > 1e-6:
            yield Finding(
                "FW301",
                f"The gauge would go {at_least(over, corner.x)} past the {side} end of the {axis} travel.",
                corner.span,
                help=f"Move the panel by that much away from the {side} end, or turn it on the bed.",
                value=over,
                limit=0.0,
            )
    yield from _park(work)


def _park(work: Work) -> Iterator[Finding]:
    travel, park = work.machine.travel, work.machine.controller.park
    if park is not None:
        for axis, at, most in (("X", park.x, float(travel.x)), ("Y", park.y, float(travel.y))):
            if not -1e-9 <= float(at) <= most + 1e-9:
                end = show_apart(at, most, at)[1]
                yield Finding(
                    "FW301",
                    f"The machine would park at {axis} {at}, but its {axis} travel is 0 to {end}.",
                    work.job.span("machine"),
                    help="In the machine's controller block, write a park position within the travel.",
                )


def _past(setup: Setup, index: int, way: int, limit: float) -> float:
    """How far the moves go beyond one end of an axis, mm (negative: within)."""
    shift = setup.origin_machine[index] - setup.origin[index]
    places = [(leg.x, leg.y)[index] + shift for one in setup.passes for leg in one.path]
    return max(places) - limit if way > 0 else -min(places)


def _touch(plan: Plan, side: str, index: int, way: int, limit: float) -> Iterator[Finding]:
    for setup in plan.setups:
        at = (setup.touch.x, setup.touch.y)[index] + setup.origin_machine[index] - setup.origin[index]
        over = at - limit if way > 0 else -at
        if over > 1e-6:
            zero = plan.work.job.zero
            yield Finding(
                "FW301",
                f"The place for touching off lies {at_least(over, zero.corner.x)} past the {side} end of the travel.",
                zero.span("z"),
                help="Move the panel on the bed so that the cutter reaches a free place beside it.",
            )
            return
