"""FW301 · the cut, or a measuring walk, leaves the travel in X or Y

The cutter has to run past every edge of the panel until all of it is clear of the wood. To do that, its centre would
have to leave the machine's travel. The same is said of a park position, of a place for touching off, or of a point that
`flatwise measure` visits, that lies out of reach, and of a panel that a batch finds no room for.

A panel may be too large for the travel wherever it lies. Along a row the cut is longer than the panel by the cutter's
diameter and twice the overrun; across the rows it is narrower by the diameter less twice the overrun. The help says
whether the panel fits when it is turned on the bed, whether rows in the other direction fit, and else how large a panel
may be with this cutter, overrun and travel.

## Why it hurts
A machine that runs into its end stop loses its position, and every later cut is in the wrong place. A sweep that
stops short leaves an uncut strip at the edge.

## Fails
```flat
job demo from plain_top {
    zero { corner front_left at 20mm, 120mm; z top by paper 0.05mm }
}
```

```flat
job demo from plain_top {
    stock { size 1250mm x 500mm x 32mm }
    zero  { corner front_left at 36mm, 120mm; z top by paper 0.05mm }
}
```

## Mended
```flat
job demo from plain_top {
    zero { corner front_left at 120mm, 120mm; z top by paper 0.05mm }
}
```

```flat
job demo from plain_top {
    stock { size 1244mm x 500mm x 32mm }
    zero  { corner front_left at 38mm, 120mm; z top by paper 0.05mm }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_least, at_most
from flatwise.core.units import show_apart
from flatwise.core.wording import listed
from flatwise.model.measuring import Walk
from flatwise.model.stages import Plan, Setup, Work
from flatwise.plan.touch import ASIDE

_SIDES = (("left", "X", 0, -1), ("right", "X", 0, 1), ("front", "Y", 1, -1), ("back", "Y", 1, 1))

#: lengths along X and along Y, mm
Lengths = tuple[float, float]


def check(plan: Plan) -> Iterator[Finding]:
    """Compare every place that the spindle's centre goes to, in machine coordinates, with 0…travel."""
    work = plan.work
    travel = float(work.machine.travel.x), float(work.machine.travel.y)
    large = tuple(check_size(plan))
    yield from large
    if not large:
        for side, axis, index, way in _SIDES:
            over = max((_past(setup, index, way, travel[index]) for setup in plan.setups), default=0.0)
            if over > 1e-6:
                corner = work.job.zero.corner
                far = at_least(over, corner.x)
                yield Finding(
                    "FW301",
                    f"The cutter's centre would go {far} past the {side} end of the {axis} travel.",
                    corner.span,
                    help=f"Move the panel by that much away from the {side} end.",
                    value=over,
                    limit=0.0,
                )
            elif not work.job.stock.is_bed:
                yield from _touch(plan, side, index, way, travel[index])
    yield from _park(work)


def check_size(plan: Plan) -> Iterator[Finding]:
    """Whether the panel is too large for the travel, wherever it lies."""
    travel = float(plan.work.machine.travel.x), float(plan.work.machine.travel.y)
    needed = _needed(plan)
    if not _fits(needed, travel):
        yield _too_large(plan.work, needed, travel)


def _past(setup: Setup, index: int, way: int, limit: float) -> float:
    """How far the moves go beyond one end of an axis, mm (negative: within)."""
    shift = setup.origin_machine[index] - setup.origin[index]
    places = [(leg.x, leg.y)[index] + shift for one in setup.passes for leg in one.path]
    return max(places) - limit if way > 0 else -min(places)


def _needed(plan: Plan) -> list[Lengths]:
    """The travel that the panel takes as it lies: that of the last pass and, with `z bed`, a place on one side, mm."""
    work = plan.work
    legs = [(leg.x, leg.y) for setup in plan.setups for leg in setup.passes[-1].path]
    x, y = (max(places) - min(places) for places in zip(*legs, strict=True)) if legs else (0.0, 0.0)
    if work.job.zero.z.on == "top":
        return [(x, y)]
    # the cut runs past both ends of a side alike
    beside = float(work.cutter.diameter) / 2.0 + max(ASIDE, work.rules.clearance)
    beside_x, beside_y = (max(0.0, beside - (one - side) / 2.0) for one, side in ((x, work.length), (y, work.width)))
    return [(x + beside_x, y), (x, y + beside_y)]


def _fits(needed: Sequence[Lengths], travel: Lengths) -> bool:
    return any(x <= travel[0] + 1e-6 and y <= travel[1] + 1e-6 for x, y in needed)


def _over(needed: Sequence[Lengths], travel: Lengths) -> Lengths:
    """How far the panel is over the travel in X and in Y, in the way that is over least (negative: room left), mm."""
    return min(
        ((x - travel[0], y - travel[1]) for x, y in needed), key=lambda over: sum(max(0.0, each) for each in over)
    )


def _too_large(work: Work, needed: Sequence[Lengths], travel: Lengths) -> Finding:
    """The finding for a panel that is too large as it lies; `needed` as in `_needed`."""
    size, rows = work.job.stock.size, work.job.cut.rows
    over, turned = _over(needed, travel), (travel[1], travel[0])
    turning = _fits(needed, turned)
    much = [
        f"{at_least(each + most, size.length)} of {axis} travel, {at_least(each, size.length)} more than there is"
        for axis, each, most in zip("XY", over, travel, strict=True)
        if each > 1e-6
    ]
    help_ = "Turn the panel on the bed."
    if not turning:
        help_ = _largest(work, needed, travel)
        # a row runs past both edges, while the outermost rows lie inside the edges
        if rows.edge is None and _fits(
            [(work.length + y - work.width, work.width + x - work.length) for x, y in needed], travel
        ):
            help_ += f" This one fits with `rows {'across' if rows.direction == 'along' else 'along'} grain`."
    return Finding(
        "FW301",
        f"The panel is too large for the travel {'as it lies' if turning else 'either way round'}: with its run-outs, "
        f"the cut needs {listed(much, 'and')}.",
        work.job.stock.span("size"),
        help=help_,
        value=max(over),
        limit=0.0,
    )


def _largest(work: Work, needed: Sequence[Lengths], travel: Lengths) -> str:
    """The largest panel that fits as it lies, and turned on the bed where that is another, as a sentence."""
    size, (x, y) = work.job.stock.size, travel
    found: dict[str, str] = {}
    for way, there in (("", (x, y)), (" turned on the bed", (y, x))):
        more_x, more_y = _over(needed, there)
        if work.length > more_x and work.width > more_y:
            length = at_most(work.length - more_x, size.length)
            found.setdefault(f"{length} x {at_most(work.width - more_y, size.width)}", way)
    if not found:
        return "No panel fits with this cutter and overrun."
    return f"With this cutter and overrun, the largest panel is {listed([*map(''.join, found.items())])}."


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
