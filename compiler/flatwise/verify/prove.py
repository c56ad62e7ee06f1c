"""Run a program through the panel in memory, and say what is wrong with it."""

from __future__ import annotations

import numpy as np

from flatwise.core.finding import Findings
from flatwise.findings import fw901_program_words, fw902_not_as_planned, fw904_wood_left
from flatwise.model.built import Proof
from flatwise.model.stages import Plan, Setup
from flatwise.verify import removal as cutting
from flatwise.verify import surroundings as limits
from flatwise.verify.motion import Doubt, Dwell, Frame, Halt, Move, Spin, run
from flatwise.verify.rs274 import Block, Refusal, decode, read
from flatwise.verify.trial import Bench
from flatwise.verify.wood import Bools, Wood
from flatwise_grammar.nodes import Span


def prove(program: bytes, plan: Plan, setup: Setup, name: str, head: dict[str, str]) -> tuple[Proof, Findings]:
    """Cut a program in memory: what that showed, and findings FW901 to FW904.

    A program with a line that cannot be read is not cut: a controller would stop there, in whatever state.
    """
    controller = plan.work.machine.controller
    text, refusals = decode(program)
    blocks, more = read(text, int(controller.line))
    frame = _frame(plan, setup)
    steps, wrong, turning = run(blocks, frame, controller.units, str(controller.offset))
    refusals = sorted({refusal.line: refusal for refusal in [*wrong, *more, *refusals]}.values())
    if refusals:
        return _nothing(setup), _refused(refusals, name)
    sink = _sink(setup)
    wood = Wood(setup.top, setup.bound, sink)
    unit = plan.work.job.stock.size.thickness.unit or "mm"
    bench = Bench(plan, setup, name, wood, unit, controller.digit / 2 + 1e-6, sink)
    _header(bench, text, head)
    moves = [step for step in steps if isinstance(step, Move)]

    for step in steps:
        if isinstance(step, Doubt):
            limits.doubt(bench, step)
    limits.travel(bench, moves, frame)
    limits.below(bench, moves)
    limits.holders(bench, moves)
    for step in steps:
        if isinstance(step, Move):
            cutting.move(bench, step)
        elif isinstance(step, Spin):
            cutting.spin(bench, step)
        elif isinstance(step, Halt):
            cutting.halt(bench, step)
        elif isinstance(step, Dwell):
            cutting.dwell(bench, step)
    wood.settle()
    if turning:
        message = "The program ends with the spindle turning."
        limits.hit(bench, "turning", message, blocks[-1], "End it with M5 and M2 or M30.")
    above = _left(bench, blocks[-1] if blocks else None)
    proof = Proof(
        program_moves=len(moves),
        deepest_bite=round(bench.deepest, 6),
        collisions=len(bench.collisions),
        left_above_plane=above,
        flatness=_flatness(plan, setup, moves, bench.same),
        removed_volume=round(wood.removed(), 3),
    )
    return proof, bench.findings()


def _frame(plan: Plan, setup: Setup) -> Frame:
    machine = plan.work.machine
    top = machine.controller.top
    x, y = _corner(plan)
    mx, my = float(plan.work.job.zero.corner.x), float(plan.work.job.zero.corner.y)
    highest = machine.collet_height - float(plan.work.cutter.stick_out)
    seconds = 0.001 if machine.controller.dwell == "milliseconds" else 1.0
    return Frame((x, y, setup.touch.zero), (x - mx, y - my, None if top is None else highest - float(top)), seconds)


def _corner(plan: Plan) -> tuple[float, float]:
    """The corner that X 0 Y 0 sits on, setup frame, mm: from the job's own words and not from what was planned."""
    corner = plan.work.job.zero.corner.corner
    return plan.work.length * corner.endswith("right"), plan.work.width * corner.startswith("back")


def _sink(setup: Setup) -> float:
    """How much lower than worked out the cutter may run because zero was touched at the lowest top there, mm."""
    touch = setup.touch
    return max(touch.height - touch.lowest, 0.0) if touch.on == "top" else 0.0


def _nothing(setup: Setup) -> Proof:
    return Proof(0, 0.0, 0, max(setup.top.highest - setup.plane, 0.0), 0.0, 0.0)


def _refused(refusals: list[Refusal], name: str) -> Findings:
    shown = [
        fw901_program_words.refused(r.line, r.column, r.reason, Span(name, r.start, r.end), r.help)
        for r in refusals[:10]
    ]
    return tuple(shown)


def _header(bench: Bench, text: str, head: dict[str, str]) -> None:
    """The header must name this job and face, where it names any."""
    job, face = bench.plan.work.name, str(bench.setup.face)
    for key, ours in (("job", job), ("face", face)):
        theirs = head.get(key)
        if theirs is None or theirs == ours:
            continue
        start = max(text.lower().find(f"({key} {theirs})"), 0)
        span = Span(bench.name, start, start + len(key) + len(theirs) + 3)
        said = f"job `{theirs}`" if key == "job" else f"the {theirs} face"
        wanted = f"job `{ours}`" if key == "job" else f"the {ours} face"
        message = f"The program's header says that it is for {said}, and it is verified for {wanted}."
        way_out = "Take the program that was built for it."
        bench.add(f"header {key}", fw902_not_as_planned.departs(message, span, way_out))


def _left(bench: Bench, last: Block | None) -> float:
    """Findings for wood above the plane, and how far the highest of it stands above, mm."""
    setup, wood = bench.setup, bench.wood
    plane = setup.plane
    span = bench.span(last) if last is not None else None
    needed = _reachable(bench) if bench.plan.work.job.stock.is_bed else None
    met = wood.left_above(plane + bench.same, needed)
    if met is not None:
        along, across = wood.extent(met, plane + bench.same)
        message = (
            f"When the program ends, wood stands {bench.mm(round(met.top - plane, 4))} above the plane at "
            f"{bench.at(met.x, met.y)}, over {bench.mm(round(along, 1))} along x and {bench.mm(round(across, 1))} "
            f"along y; {bench.where(met.x, met.y, plane)} should have taken it."
        )
        bench.add("left", fw904_wood_left.left(message, span))
    lowest, x, y = wood.cleanest
    if lowest < plane - 2 * bench.same and needed is None and not setup.again:
        message = (
            f"The top may lie {bench.mm(round(plane - lowest, 4))} below the plane at {bench.at(x, y)}, "
            f"so that some of the old face would be left there."
        )
        bench.add("clean", fw904_wood_left.left(message, span, "Cut this face lower."))
    _thickness(bench, span)
    return 0.0 if met is None else round(met.top - plane, 6)


def _thickness(bench: Bench, span: Span | None) -> None:
    """After the last face the thickness must be the forecast's."""
    plan, setup = bench.plan, bench.setup
    if setup.face != "second":
        return
    thickness = setup.plane - setup.under.mean
    if abs(thickness - plan.forecast) > 2 * bench.same:
        message = (
            f"The plane leaves the panel {bench.mm(round(thickness, 4))} thick, and "
            f"{bench.mm(round(plan.forecast, 4))} is forecast."
        )
        bench.add("thickness", fw902_not_as_planned.departs(message, span))


def _reachable(bench: Bench) -> Bools:
    """Cells of a spoilboard that the cutter reaches with its centre within the travel; at the rim less a cell."""
    plan, wood = bench.plan, bench.wood
    travel = plan.work.machine.travel
    corner, at = plan.work.job.zero.corner, _corner(plan)
    x0, y0 = at[0] - float(corner.x), at[1] - float(corner.y)
    x, y = (wood.xs[1:] + wood.xs[:-1]) / 2, (wood.ys[1:] + wood.ys[:-1]) / 2
    radius = float(plan.work.cutter.diameter) / 2
    past = radius - max(wood.dx, wood.dy)
    off_x = np.maximum(np.maximum(x0 - x, x - x0 - float(travel.x)), 0.0)
    off_y = np.maximum(np.maximum(y0 - y, y - y0 - float(travel.y)), 0.0)
    return np.asarray(np.hypot(off_x[None, :], off_y[:, None]) <= past)


def _flatness(plan: Plan, setup: Setup, moves: list[Move], same: float) -> float:
    """Peak to valley that the lean of the spindle leaves on the cut face, mm: s·tan θ, s the widest spacing of rows.

    That is for a lean across the rows.  The hollow of one along them, R·sin θ·[1 − √(1 − (s/2R)²)] with R the
    cutter's radius, is never half as deep (geometry of the circle).
    """
    rows = []
    for move in moves:
        (ax, ay, az), (bx, by, bz) = move.a, move.b
        if move.rapid or ax is None or ay is None or az is None or bx is None or by is None or bz is None:
            continue
        if max(abs(az - setup.plane), abs(bz - setup.plane)) <= same:
            rows.append((ax, ay, bx, by))
    if not rows:
        return 0.0
    lines = np.array(rows)
    way = lines[:, 2:] - lines[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    ux, uy = way[int(length.argmax())] / max(float(length.max()), 1e-9)
    parallel = np.abs(way[:, 0] * uy - way[:, 1] * ux) <= 0.02 * length
    long = parallel & (length > 0.5 * float(length.max()))
    offsets = np.unique(np.round(lines[long][:, 1] * ux - lines[long][:, 0] * uy, 3))
    extent = abs(ux) * setup.top.width + abs(uy) * setup.top.length
    step = float(np.diff(offsets).max()) if len(offsets) > 1 else extent
    return float(round(min(step, float(plan.work.cutter.diameter)) * plan.work.machine.tram.tangent, 6))
