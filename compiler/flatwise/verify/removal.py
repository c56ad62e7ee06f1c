"""One move at a time through the wood: bites, rapids, plunges, and whether the spindle turns as planned."""

from __future__ import annotations

from flatwise.core.units import show
from flatwise.findings.fw902_not_as_planned import departs
from flatwise.model.stages import Pass
from flatwise.verify.capsule import Capsule
from flatwise.verify.motion import Dwell, Halt, Move, Place, Spin
from flatwise.verify.surroundings import bench_parts, depart, hit, seen
from flatwise.verify.trial import Bench
from flatwise.verify.wood import GRAZE, Met

#: A way down no steeper than this is a cut along a slope and not a plunge (common practice, no source).
_SLOPE = 0.01
#: mm beside the rim that are clear of wood where the spindle starts or stops
_BESIDE = 1.0
#: Feeds this share apart are the same: a feed in inches is rounded to a digit.
_FEED_ROUNDING = 0.002
#: rpm that a speed may be over: programs write it to a thousandth.
_SPEED_ROUNDING = 0.0005 + 1e-9


def spin(bench: Bench, step: Spin) -> None:
    """The spindle starts in the clear, the right way round, and no faster than cutter and spindle may turn."""
    line, block = step.block.line, step.block
    cutter, machine = bench.plan.work.cutter, bench.plan.work.machine
    most = min(float(cutter.speed.most), float(machine.spindle.most))
    if step.speed > most + _SPEED_ROUNDING:
        message = f"Line {line} turns the spindle at {step.speed:g}rpm, and {most:g}rpm is the most."
        depart(bench, "speed over", message, block, "", seen(cutter.span("speed"), "the cutter's range is set here"))
    if not step.starts:
        return
    if step.spindle == 4:
        hit(bench, "backward", f"Line {line} turns the spindle backward (M4).", block, "Write M3.")
    if step.speed <= 0:
        hit(bench, "no speed", f"Line {line} starts the spindle and no speed S is set.", block, "Give S first.")
    controller = machine.controller
    if controller.extraction == "by hand" and not step.stopped:
        message = (
            f"Line {line} starts the spindle, and no M0 before it stops for the dust extraction to be switched on."
        )
        bench.add("dust", departs(message, bench.span(block), "Put M0 before M3.", "warning"))
    if step.at[2] is None:
        message = f"Line {line} starts the spindle before the program has gone to a height that it knows."
        hit(bench, "starts low", message, block, "Go up in Z before M3.")
    elif _touches(bench, step.at):
        message = f"Line {line} starts the spindle with the cutter in, on or close beside wood."
        hit(bench, "starts low", message, block, "Go up in Z before M3.")


def halt(bench: Bench, step: Halt) -> None:
    """The spindle stops in the clear, and no one is called to the machine while it turns."""
    line, block = step.block.line, step.block
    if step.waits:
        message = f"Line {line} stops the program for the operator while the cutter turns."
        hit(bench, "waits", message, block, "Put M5 before the stop, and M3 and a dwell after it.")
    elif _touches(bench, step.at):
        message = f"Line {line} stops the spindle with the cutter in, on or close beside wood."
        hit(bench, "stops low", message, block, "Go up in Z before the spindle stops.")


def dwell(bench: Bench, step: Dwell) -> None:
    """A turning cutter does not stand on the wood: it rubs and burns it there (common practice, no source)."""
    if _touches(bench, step.at, beside=0.0):
        message = (
            f"Line {step.block.line} lets the turning cutter stand in or on the wood for {show(step.seconds, 's')}, "
            "and it burns the wood there."
        )
        bench.add("burns", departs(message, bench.span(step.block), "Lift or leave the wood before G4.", "warning"))


def _touches(bench: Bench, at: Place, beside: float = _BESIDE) -> bool:
    """Whether a still cutter would touch wood there, `beside` it or with its face, as far as the place is known."""
    x, y, z = at
    if z is None:
        return True
    if x is None or y is None:
        return z - bench.same <= bench.wood.ceiling
    radius = float(bench.plan.work.cutter.diameter) / 2 + beside
    return bench.wood.meet(Capsule(x, y, x, y, radius), z - bench.same) is not None


def move(bench: Bench, step: Move) -> None:
    """Judge one move against the wood as it stands, then take away what it cuts."""
    wood = bench.wood
    (ax, ay, az), (bx, by, bz) = step.a, step.b
    sideways = (ax, ay) != (bx, by)
    if not step.rapid and not step.feed:
        # G1 with no feed is an error (NISTIR 6556, 3.5.2): the controller would stop there
        message = f"Line {step.block.line} moves at G1 and no feed F is set."
        hit(bench, "no feed", message, step.block, "Give F with the first G1.")
    most_feed = bench.plan.work.machine.feed
    if not step.rapid and step.feed is not None and step.feed > most_feed * (1 + _FEED_ROUNDING):
        message = (
            f"Line {step.block.line} feeds at {show(step.feed, most_feed)}, and the machine's most is {most_feed}."
        )
        depart(bench, "feed over", message, step.block)
    if bz is None:
        message = f"Line {step.block.line} moves sideways before the program has gone to a height that it knows."
        hit(bench, "unknown height", message, step.block, "Go up in Z first.")
        return
    least = bz if az is None else min(az, bz)
    if ax is None or ay is None or bx is None or by is None:
        # the start is not known: over the whole bed, nothing may stand as high
        if least <= wood.ceiling:
            message = (
                f"Line {step.block.line} moves {bench.mm(least)} above the bed before the program has said where, "
                f"and wood may stand at {bench.mm(wood.ceiling)}."
            )
            hit(bench, "unknown place over wood", message, step.block, "Go up in Z first.")
        return
    if not sideways and az is not None and bz >= az:
        return  # straight up: the cutter leaves by the way that it came
    radius = float(bench.plan.work.cutter.diameter) / 2
    capsule = Capsule(ax, ay, bx, by, radius)
    _others(bench, step, capsule, least)
    if step.rapid:
        _rapid(bench, step, capsule, least, sideways)
    most = bz if az is None or not sideways else max(az, bz)
    near = bench.nearest(least)
    # straight down, what is no wood is seen only by looking closely at every cell
    limit = _limit(bench, near[1]) if near is not None and sideways else 0.0
    if az is not None and bz < az and sideways:
        # a slope ends in a disc at its lowest height
        end = Capsule(bx, by, bx, by, radius)
        met = _worse(wood.sweep(capsule, least, most, limit), wood.sweep(end, bz, bz, limit))
    else:
        met = wood.sweep(capsule, least, most, limit)
    if met is None or met.top <= least + 1e-6:
        return
    if not step.rapid:
        drop = 0.0 if az is None else az - bz
        steep = drop > _SLOPE * ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
        if drop > 0 and steep and bench.plan.work.cutter.plunge == "no":
            message = (
                f"Line {step.block.line} comes down {bench.mm(round(met.top - bz, 3))} into wood at "
                f"{bench.at(met.x, met.y)}, and cutter `{bench.plan.work.job.cut.cutter}` cannot plunge."
            )
            hit(bench, "plunge", message, step.block, "Come down beside the panel and feed in from there.")
        _bite(bench, step, met, least)
    _turning(bench, step)


def _worse(one: Met | None, other: Met | None) -> Met | None:
    if one is None or other is None:
        return one or other
    return one if one.top >= other.top else other


def _rapid(bench: Bench, step: Move, capsule: Capsule, least: float, sideways: bool) -> None:
    """A rapid meets no wood: sideways not even the face at its own height, and wherever its axes may take it."""
    ax, ay, bx, by, radius = capsule
    above = least - bench.same if sideways else least + 1e-6
    if sideways:
        met = bench.wood.box(min(ax, bx), max(ax, bx), min(ay, by), max(ay, by), radius, above)
    else:
        met = bench.wood.meet(capsule, above)
    if met is None:
        return
    deep = met.top - least
    into = f"{bench.mm(round(deep, 3))} deep into wood" if deep > GRAZE else "along the face of the wood"
    message = (
        f"Line {step.block.line} moves at rapid {into} at {bench.at(met.x, met.y)}, "
        f"nearest to {bench.where(met.x, met.y, least)}."
    )
    bench.collisions.add(step.block.line)
    hit(bench, "rapid", message, step.block, "Lift before a G0, or feed with G1.")


def _others(bench: Bench, step: Move, capsule: Capsule, least: float) -> None:
    """Shank, nose and shoe stay out of the wood that stands beside the cut."""
    ax, ay, bx, by, _ = capsule
    for part, radius, above in bench_parts(bench)[1:]:
        if step.rapid:
            # its axes need not arrive together
            box = min(ax, bx), max(ax, bx), min(ay, by), max(ay, by)
            met = bench.wood.box(*box, radius, least + above)
        else:
            met = bench.wood.meet(capsule._replace(radius=radius), least + above)
        if met is not None:
            message = (
                f"Line {step.block.line} brings the {part} {bench.mm(round(met.top - least - above, 3))} into "
                f"standing wood at {bench.at(met.x, met.y)}."
            )
            bench.collisions.add(step.block.line)
            hit(bench, f"{part} wood", message, step.block)


def _bite(bench: Bench, step: Move, met: Met, least: float) -> None:
    """No bite is deeper than its pass may take, also where zero was touched at the lowest top."""
    bench.deepest = max(bench.deepest, met.forecast - least)
    near = bench.nearest(least)
    if near is None:
        return
    one = near[1]
    deep, limit = met.top - least, _limit(bench, one)
    if deep > limit + bench.same:
        # only wood that nothing has cut yet stands higher than the forecast
        off = met.top - met.forecast
        told = f", counting {bench.mm(round(off, 4))} that forecast and touch may be off" if off > bench.same else ""
        message = (
            f"Line {step.block.line} bites {bench.mm(round(deep, 4))} deep at {bench.at(met.x, met.y)}{told}; nearest "
            f"is {bench.where(met.x, met.y, least)}, which may take {bench.mm(round(limit, 4))}."
        )
        depth = bench.plan.work.job.cut.span("depth")
        depart(bench, "bite", message, step.block, "", seen(depth, "the deepest bite of a pass is set here"))


def _limit(bench: Bench, one: Pass) -> float:
    """The deepest bite of a pass, mm: as planned, and never more than the cutter may."""
    return min(one.limit, float(bench.plan.work.cutter.depth))


def _turning(bench: Bench, step: Move) -> None:
    """In wood the spindle turns at the planned speed and has reached it, and the feed is the planned one."""
    line, block, setup = step.block.line, step.block, bench.setup
    controller = bench.plan.work.machine.controller
    if step.spindle == 0:
        hit(bench, "still", f"Line {line} is in wood and the spindle does not turn.", block, "Start it with S and M3.")
    elif step.dwelt < float(controller.spin_up) - 1e-6:
        message = (
            f"Line {line} is in wood after a dwell of {show(step.dwelt, 's')}, and the spindle needs "
            f"{show(float(controller.spin_up), 's')} to reach its speed."
        )
        hit(bench, "spin up", message, block, "Dwell with G4 after M3.")
    if step.spindle and abs(step.speed - setup.speed) > 0.5:
        message = f"Line {line} cuts at {step.speed:g}rpm, and {setup.speed:g}rpm is planned."
        depart(bench, "speed", message, block)
    if not step.rapid and step.feed and abs(step.feed - setup.feed) > _FEED_ROUNDING * setup.feed + 0.5:
        unit = bench.plan.work.machine.feed
        message = (
            f"Line {line} cuts at a feed of {show(step.feed, unit, 5)}, and {show(setup.feed, unit, 5)} is planned."
        )
        depart(bench, "feed", message, block)
    wired = str(controller.extraction)
    if wired in ("M7", "M8") and int(wired[1]) not in step.coolant:
        message = f"Line {line} cuts with the dust extraction off; it is wired to {wired}."
        bench.add("dust", departs(message, bench.span(block), f"Put {wired} before the first cut.", "warning"))
