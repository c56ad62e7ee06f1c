"""The cutter in the wood, step by step: bites, rapids, plunges, and a spindle that starts, stops or dwells there."""

from __future__ import annotations

from math import hypot, inf

from flatwise.core.units import feed_unit, show, show_apart
from flatwise.model.stages import Pass
from flatwise.verify.capsule import Capsule
from flatwise.verify.cells import GRAZE
from flatwise.verify.coming_down import SLOPE
from flatwise.verify.height_field import Contact
from flatwise.verify.interpreter import Dwell, Halt, Location, Move, Spin
from flatwise.verify.machine_limits import FEED_ROUNDING
from flatwise.verify.obstacles import counting, rounding
from flatwise.verify.proof_run import ProofRun, related

#: Room that is clear of wood round the rim where the spindle starts or stops, mm.
_BESIDE = 1.0


def judge_start(run: ProofRun, spin: Spin) -> None:
    """The spindle starts clear of the wood."""
    number = spin.line.number
    if not spin.starts:
        return
    if spin.at[2] is None:
        message = f"Line {number} starts the spindle before the program has set a height."
        run.hit("starts low", message, spin.line, "Go up in Z before M3.")
    elif _touches(run, spin.at):
        message = f"Line {number} starts the spindle while the cutter is in, on or close to wood."
        run.hit("starts low", message, spin.line, "Go up in Z before M3.")


def judge_halt(run: ProofRun, halt: Halt) -> None:
    """The spindle stops clear of the wood, and nobody is called to the machine while it turns."""
    if halt.waits:
        message = f"Line {halt.line.number} stops the program for the operator while the cutter turns."
        run.hit("waits", message, halt.line, "Put M5 before the stop, and M3 and a dwell after it.")
    elif _touches(run, halt.at):
        message = f"Line {halt.line.number} stops the spindle while the cutter is in, on or close to wood."
        run.hit("stops low", message, halt.line, "Go up in Z before the spindle stops.")


def judge_dwell(run: ProofRun, dwell: Dwell) -> None:
    """A turning cutter does not stand on the wood: it rubs and burns it there (common practice, no source)."""
    if _touches(run, dwell.at, beside=0.0):
        message = (
            f"Line {dwell.line.number} leaves the turning cutter in or on the wood for {show(dwell.seconds, 's')}, "
            "which burns the wood."
        )
        run.depart("burns", message, dwell.line, "Lift the cutter or leave the wood before G4.")


def _touches(run: ProofRun, at: Location, beside: float = _BESIDE) -> bool:
    """Whether a cutter at a place touches wood with its rim, `beside` it or with its face, as far as is known."""
    x, y, z = at
    if z is None:
        return True
    if x is None or y is None:
        return z - run.same <= run.wood.ceiling
    radius = float(run.plan.work.cutter.diameter) / 2 + beside
    return run.wood.touch(Capsule(x, y, x, y, radius), z - run.same) is not None


def judge_move(run: ProofRun, move: Move) -> None:
    """Judge a move against the wood as it stands, then take away what it cuts."""
    (ax, ay, az), (bx, by, bz) = move.a, move.b
    if bz is None:
        message = f"Line {move.line.number} moves sideways before the program has set a height."
        run.hit("unknown height", message, move.line, "Go up in Z first.")
        return
    lowest = bz if az is None else min(az, bz)
    if ax is None or ay is None or bx is None or by is None:
        _judge_unknown_place(run, move, lowest)
        return
    sideways = (ax, ay) != (bx, by)
    if not sideways and az is not None and bz >= az:
        return  # straight up: the cutter leaves by the way that it came
    off, radius = rounding(run, move), float(run.plan.work.cutter.diameter) / 2
    # beside the border that the travel can't reach on a spoilboard, a ramp meets a strip that the rows may have missed,
    # no wider than the machine rounds: no bite
    missed = run.work.machine.controller.rounding if run.work.job.stock.is_bed and not move.rapid else off
    capsule = Capsule(ax, ay, bx, by, radius - missed)  # sure to cut, wherever the machine rounds its corners
    _judge_tool(run, move, capsule, lowest, off)
    if move.rapid:
        _judge_rapid(run, move, capsule, lowest, sideways)
    # what the cutter may meet besides; on a spoilboard only that border
    rounds = off > 0 and not run.work.job.stock.is_bed
    wide = run.wood.touch(capsule._replace(radius=radius + off), lowest + 1e-6) if rounds else None
    nearest = run.nearest_pass(lowest)
    most = None if nearest is None else _limit(run, nearest[1])
    contact = _cut(run, move, capsule, bz if az is None or not sideways else az, bz, most or 0.0)
    contact = max((met for met in (contact, wide) if met is not None), key=lambda met: met.top, default=None)
    if contact is None or contact.top <= lowest + 1e-6:
        return
    if not move.rapid:
        _judge_plunge(run, move, contact, 0.0 if az is None else az - bz, bz)
        _judge_bite(run, move, contact, lowest, most)
    _judge_turning(run, move)


def _judge_unknown_place(run: ProofRun, move: Move, lowest: float) -> None:
    """While the position is unknown the move is above all wood."""
    if lowest <= run.wood.ceiling:
        moves, stands = run.apart(lowest, run.wood.ceiling)
        message = (
            f"Line {move.line.number} moves {moves} above the bed before the program has set X and Y, "
            f"and wood may be {stands} high."
        )
        run.hit("unknown place over wood", message, move.line, "Go up in Z first.")


def _cut(run: ProofRun, move: Move, capsule: Capsule, az: float, bz: float, most: float) -> Contact | None:
    """Take away what a move from height `az` to `bz` cuts, at most `most` deep: the wood that it touched."""
    lowest, highest, sideways = min(az, bz), max(az, bz), move.a[:2] != move.b[:2]
    # straight down, only a close look at every cell shows what is no wood
    limit, enough = most if sideways else 0.0, _enough(run, move, lowest, most)
    contact = run.wood.cut(capsule, lowest, highest, limit, enough)
    if bz < az and sideways:
        # a slope ends in a disc at its lowest height
        end = run.wood.cut(capsule._replace(ax=capsule.bx, ay=capsule.by), bz, bz, limit, enough)
        contact = max((met for met in (contact, end) if met is not None), key=lambda met: met.top, default=None)
    return contact


def _enough(run: ProofRun, move: Move, lowest: float, most: float) -> float:
    """The height above which it does not matter how high the wood is that a move touches; it may bite `most` deep."""
    if move.rapid:
        return lowest + 1e-6
    # what is found is only counted from now on, and no bite is the deepest
    found = "bite" in run.found and ("plunge" in run.found or run.work.cutter.plunge == "yes")
    return lowest + most + 2 * run.same if found and run.wood.ceiling - lowest <= run.deepest_bite else inf


def _judge_rapid(run: ProofRun, move: Move, capsule: Capsule, lowest: float, sideways: bool) -> None:
    """A rapid touches no wood: sideways not even the face at its own height, wherever its axes may take it."""
    over = lowest - run.same if sideways else lowest + 1e-6
    contact = _collision(run, move, capsule, over, sideways, "rapid")
    if contact is None:
        return
    deep = contact.top - lowest
    into = f"through wood, {run.mm(round(deep, 3))} deep" if deep > GRAZE else "along the face of the wood"
    message = (
        f"Line {move.line.number} moves at rapid {into} at {run.at(contact.x, contact.y)}, "
        f"nearest to {run.nearest_row(contact.x, contact.y, lowest)}."
    )
    run.hit("rapid", message, move.line, "Lift before a G0, or feed with G1.")


def _judge_tool(run: ProofRun, move: Move, capsule: Capsule, lowest: float, off: float) -> None:
    """Shank, nose and shoe do not touch the wood that stands beside the cut."""
    for part, radius, above in run.tool.parts[1:]:
        over, kind = lowest + above, f"{part} wood"
        if run.wood.ceiling <= over:
            continue
        # the axes of a rapid need not arrive together
        contact = _collision(run, move, capsule._replace(radius=radius + off), over, move.rapid, kind)
        if contact is not None:
            message = (
                f"Line {move.line.number} brings the {part} {run.mm(round(contact.top - lowest - above, 3))} into "
                f"standing wood at {run.at(contact.x, contact.y)}{counting(run, off)}."
            )
            run.hit(kind, message, move.line)


def _collision(run: ProofRun, move: Move, capsule: Capsule, over: float, anywhere: bool, kind: str) -> Contact | None:
    """The highest wood above `over` that a move collides with along a capsule, or `anywhere` in the box of its ends.

    None also where a finding of this kind is kept already: the collision is then only counted.
    """
    wood, box = run.wood, _box(capsule)
    if not (wood.meets_in_box(*box, over) if anywhere else wood.meets(capsule, over)):
        return None
    run.collisions.add(move.line.number)
    if run.again(kind):
        return None
    contact = wood.touch_in_box(*box, over) if anywhere else wood.touch(capsule, over)
    assert contact is not None
    return contact


def _box(c: Capsule) -> tuple[float, float, float, float, float]:
    """The box round the ends of a capsule's line, and its radius: x0, x1, y0, y1, radius."""
    return min(c.ax, c.bx), max(c.ax, c.bx), min(c.ay, c.by), max(c.ay, c.by), c.radius


def _judge_plunge(run: ProofRun, move: Move, contact: Contact, drop: float, bz: float) -> None:
    """A cutter that cannot plunge is at its plane before it meets wood.

    Only on a spoilboard may it ramp down through wood, over at least its own diameter for the deepest bite of the pass.
    """
    if drop <= 0 or contact.top - bz <= run.same or run.work.cutter.plunge == "yes":
        return
    ax, ay, bx, by = move.a[0], move.a[1], move.b[0], move.b[1]
    assert ax is not None and ay is not None and bx is not None and by is not None
    nearest, slope = run.nearest_pass(bz), 0.0
    if run.work.job.stock.is_bed and nearest is not None:
        slope = min(SLOPE, _limit(run, nearest[1]) / float(run.work.cutter.diameter))
    if drop > slope * hypot(bx - ax, by - ay) + 2 * run.same * (slope > 0) and not run.again("plunge"):
        message = (
            f"Line {move.line.number} plunges {run.mm(round(contact.top - bz, 3))} into wood at "
            f"{run.at(contact.x, contact.y)}, but cutter `{run.plan.work.job.cut.cutter}` cannot plunge."
        )
        run.hit("plunge", message, move.line, "Come down beside the panel and feed in from there.")


def _judge_bite(run: ProofRun, move: Move, contact: Contact, lowest: float, limit: float | None) -> None:
    """No bite is deeper than its pass may take, even where zero was touched too low."""
    run.deepest_bite = max(run.deepest_bite, contact.forecast - lowest)
    if limit is None:
        return
    deep = contact.top - lowest
    if deep > limit + run.same and not run.again("bite"):
        # only wood that nothing has cut yet can be higher than the forecast
        off = contact.top - contact.forecast
        bound = f", including {run.mm(round(off, 4))} of uncertainty" if off > run.same else ""
        bites, most = run.apart(deep, limit)
        message = (
            f"Line {move.line.number} bites {bites} deep at {run.at(contact.x, contact.y)}{bound}, "
            f"nearest to {run.nearest_row(contact.x, contact.y, lowest)}; the limit there is {most}."
        )
        depth = run.plan.work.job.cut.span("depth")
        run.depart("bite", message, move.line, "", related(depth, "the deepest bite of a pass is set here"))


def _limit(run: ProofRun, one: Pass) -> float:
    """The deepest bite of a pass, mm: as planned, and never more than the job, the cutter and the standard allow."""
    work = run.plan.work
    standard = None if "depth" in work.waivers else work.rules.depth
    depths = (one.limit, work.cutter.depth, work.job.cut.depth, standard)
    return min(float(depth) for depth in depths if depth is not None)


def _judge_turning(run: ProofRun, move: Move) -> None:
    """In wood the spindle has reached the planned speed, the feed is the planned one, and dust extraction is on."""
    line, number, setup = move.line, move.line.number, run.setup
    controller = run.plan.work.machine.controller
    if move.spindle == 0:
        run.hit("still", f"Line {number} is in wood while the spindle stands still.", line, "Start it with S and M3.")
    elif move.dwelt < float(controller.spin_up) - 1e-6:
        dwelt, needed = show_apart(move.dwelt, float(controller.spin_up), "s")
        message = (
            f"Line {number} is in wood after a dwell of {dwelt}, but the spindle needs {needed} to reach its speed."
        )
        run.hit("spin up", message, line, "Dwell with G4 after M3.")
    if move.spindle and abs(move.speed - setup.speed) > 0.5:
        message = f"Line {number} cuts at {move.speed:g}rpm instead of the planned {setup.speed:g}rpm."
        run.depart("speed", message, line)
    straight_down = move.a[:2] == move.b[:2]
    if (
        not move.rapid
        and not straight_down
        and move.feed
        and abs(move.feed - setup.feed) > FEED_ROUNDING * setup.feed + 0.5
    ):
        feed, planned = show_apart(move.feed, setup.feed, feed_unit(run.plan.work.job.stock.size.thickness), 5)
        message = f"Line {number} feeds at {feed} instead of the planned {planned}."
        run.depart("feed", message, line)
    wired = str(controller.extraction)
    if wired in ("M7", "M8") and int(wired[1]) not in move.coolant:
        message = f"Line {number} cuts with the dust extraction off; it is wired to {wired}."
        run.depart("dust", message, line, f"Put {wired} before the first cut.")
