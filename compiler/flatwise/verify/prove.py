"""Read a program back, cut it in memory, and report what is wrong with it."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from math import hypot, inf, sqrt

from flatwise.core.finding import Findings
from flatwise.findings import fw901_program_words
from flatwise.findings.fw902_not_as_planned import departs
from flatwise.model.built import Proof
from flatwise.model.stages import Plan, Setup
from flatwise.verify.coming_down import Floor, floors, in_one_pass, judge_descent
from flatwise.verify.finished_face import (
    corner_of_zero,
    flatness,
    judge_below,
    judge_clean,
    judge_left,
    judge_thickness,
)
from flatwise.verify.header_lines import judge_header
from flatwise.verify.height_field import HeightField
from flatwise.verify.interpreter import Doubt, Dwell, Frame, Halt, Move, Spin, Step, interpret
from flatwise.verify.machine_limits import (
    judge_corners,
    judge_doubt,
    judge_feed,
    judge_lift,
    judge_parking,
    judge_spindle,
    judge_travel,
)
from flatwise.verify.marked_lines import highest_measured, judge_marked, judge_unmarked
from flatwise.verify.obstacles import Obstacle, cutting_tool, judge_obstacles, obstacles
from flatwise.verify.proof_run import ProgramRun, ProofRun, Suspicion
from flatwise.verify.rs274 import Refusal, decode, read_program
from flatwise.verify.wood_contact import judge_dwell, judge_halt, judge_move, judge_start
from flatwise_grammar.nodes import Span

_COMMENT = re.compile(r"\([^()]*\)")
#: Sides of a cell, mm.  A coarse cell never hides what a fine one shows, but it may raise a false alarm.
COARSE, FINE = 2.0, 1.0
#: What a program may sweep in cells of such sides, mm2 for a cell of 1 mm: beyond that the cells are larger, so that
#: the proof ends within seconds.  Moves that slant in plan are swept in boxes of some rows: the most, mm for 1 mm.
_MOST_SWEPT, _MOST_SLANTING = 1e9, 1.5e5


def prove(program: bytes, plan: Plan, setup: Setup, name: str, header: dict[str, str]) -> tuple[Proof, Findings]:
    """Cut a program in memory: what that shows, and findings FW901 to FW904.

    A program with a line that cannot be read is not cut: a controller would stop there, in whatever state.
    """
    controller = plan.work.machine.controller
    text, refusals = decode(program)
    lines, more = read_program(text, int(controller.line))
    frame = _frame(plan, setup)
    offset = str(controller.offset)
    steps, wrong, turning = interpret(lines, frame, controller.units, offset)
    unmarked = [line for line in lines if not line.marked]
    marks = len(unmarked) < len(lines)
    kept, skipping, _ = interpret(unmarked, frame, controller.units, offset) if marks else (steps, [], turning)
    skipping = [each._replace(reason=f"{each.reason} while block delete skips the marked lines") for each in skipping]
    refusals = sorted({refusal.line: refusal for refusal in [*skipping, *wrong, *more, *refusals]}.values())
    if refusals:
        return Proof(0, 0.0, 0, max(setup.top.highest - setup.plane, 0.0), 0.0), refused_lines(refusals, name)
    touch = setup.touch
    sink = max(touch.height - touch.lowest, 0.0) if touch.on == "top" else 0.0
    least = side(FINE, setup, float(plan.work.cutter.diameter) / 2, steps)

    def start(cell: float, stop_at_finding: bool, measured: float = inf) -> ProofRun:
        # a zero that is kept lies as deep below the face that was cut with it, however it was set
        wood = HeightField(setup.top, setup.bound.over, 0.0 if touch.kept else sink, max(cell, least), measured)
        same, tool = controller.digit / 2 + 1e-6, cutting_tool(plan.work)
        return ProofRun(plan.work, name, same, tool, sink, stop_at_finding, plan=plan, setup=setup, wood=wood)

    def run(cell: float, stop_at_finding: bool) -> tuple[Proof, Findings]:
        state = start(cell, stop_at_finding)
        end = state.span(lines[-1]) if lines else None
        judge_header(state, text, header)
        judge_after_end(state, text, lines[-1].end if lines else 0)
        if turning:
            message = "The program ends with the spindle turning."
            state.hit("turning", message, lines[-1], "End it with M5 and M2 or M30.")
        measured = None
        if marks and controller.block_delete == "yes":
            judge_marked(state, lines, steps, kept, _highest(setup) + float(plan.work.machine.lift))
            measured = highest_measured(state, text, lines)
        elif marks:
            judge_unmarked(state, lines, "the shop file says `block_delete no`")
        proof = _judge(state, steps, frame, end)
        if measured is None:
            return proof, state.findings()
        skips = start(cell, stop_at_finding, measured)
        _judge(skips, kept, frame, end)
        return proof, (*state.findings(), *_with_block_delete(skips.findings(but=state.found)))

    try:
        return run(COARSE, stop_at_finding=True)
    except Suspicion:
        pass  # and let go of the coarse field
    return run(FINE, stop_at_finding=False)


def side(least: float, setup: Setup, radius: float, steps: Iterable[Step]) -> float:
    """The side of the cells for a program, mm: `least`, or more where it sweeps very much wood."""
    swept, slanting, whole = 0.0, 0.0, setup.top.length * setup.top.width
    for step in steps:
        if not isinstance(step, Move):
            continue
        (ax, ay, az), (bx, by, bz) = step.a, step.b
        lowest = min((z for z in (az, bz) if z is not None), default=-inf)
        if ax is None or ay is None or bx is None or by is None or lowest >= setup.may_stand:
            continue
        far = hypot(bx - ax, by - ay)
        swept += min(2 * radius * (far + 2 * radius), whole)
        if not step.rapid and far > 0 and az != bz:
            swept += whole / 3  # each is a level of its own, which looks once at every cell
        if not step.rapid and min(abs(bx - ax), abs(by - ay)) > radius:
            slanting += abs(by - ay)
    return max(least, sqrt(swept / _MOST_SWEPT), slanting / _MOST_SLANTING)


def _judge(run: ProofRun, steps: list[Step], frame: Frame, end: Span | None) -> Proof:
    """Everything that a program does: first what needs no look at the wood, then step by step through the wood."""
    moves = [step for step in steps if isinstance(step, Move)]
    heights = floors(moves)
    judge_machine(run, steps, moves, heights, frame, _highest(run.setup))
    return judge_panel(run, steps, heights, obstacles(run.setup), end)


def judge_machine(
    run: ProofRun, steps: list[Step], moves: list[Move], heights: list[Floor], frame: Frame, highest: float
) -> None:
    """Checks of the machine alone; the highest that may stand on the bed is `highest` mm."""
    for step in steps:
        if isinstance(step, Doubt):
            judge_doubt(run, step)
    judge_corners(run, moves)
    judge_travel(run, moves, frame)
    judge_parking(run, moves)
    lifted = [move for move, floor in zip(moves, heights, strict=True) if not in_one_pass(run, floor)]
    judge_lift(run, lifted, highest)
    for step in steps:
        if isinstance(step, Spin):
            judge_spindle(run, step)
        elif isinstance(step, Move):
            judge_feed(run, step)


def judge_panel(
    run: ProofRun, steps: list[Step], heights: list[Floor], things: Sequence[Obstacle], end: Span | None
) -> Proof:
    """Cut one panel among things on the bed, and judge the cuts and the result; `heights` are the floors of moves."""
    moves = [step for step in steps if isinstance(step, Move)]
    judge_below(run, moves)
    judge_obstacles(run, moves, things)
    floor = iter(heights)
    for step in steps:
        if isinstance(step, Move):
            judge_descent(run, step, next(floor), things)
            judge_move(run, step)
        elif isinstance(step, Spin):
            judge_start(run, step)
        elif isinstance(step, Halt):
            judge_halt(run, step)
        elif isinstance(step, Dwell):
            judge_dwell(run, step)
    run.wood.finish_level()
    left = judge_left(run, end)
    judge_clean(run, end)
    judge_thickness(run, end)
    return Proof(
        program_moves=len(moves),
        deepest_bite=round(run.deepest_bite, 6),
        collisions=len(run.collisions),
        left_above_plane=left,
        flatness=flatness(run, moves),
    )


def _highest(setup: Setup) -> float:
    """The highest that may stand on the bed, mm."""
    return max(setup.may_stand, *(holder.height for holder in setup.holders), 0.0)


def _with_block_delete(findings: Findings) -> Findings:
    """Findings of the program as it runs while the marked lines are skipped."""
    return tuple(
        each._replace(message=f"With block delete on, {each.message[:1].lower()}{each.message[1:]}")
        for each in findings
    )


def _frame(plan: Plan, setup: Setup) -> Frame:
    machine = plan.work.machine
    top = machine.controller.top
    x, y = corner_of_zero(plan.work)
    mx, my = float(plan.work.job.zero.corner.x), float(plan.work.job.zero.corner.y)
    highest = machine.collet_height - float(plan.work.cutter.stick_out)
    seconds = 0.001 if machine.controller.dwell == "milliseconds" else 1.0
    return Frame((x, y, setup.touch.zero), (x - mx, y - my, None if top is None else highest - float(top)), seconds)


def refused_lines(refusals: list[Refusal], name: str) -> Findings:
    """FW901 for the first lines that are not understood or not allowed."""
    return tuple(
        fw901_program_words.refused(r.line, r.column, r.reason, Span(name, r.start, r.end), r.help)
        for r in refusals[:10]
    )


def judge_after_end(run: ProgramRun, text: str, end: int) -> None:
    """Nothing but comments follows the ending: the standard ignores it (3.6.1), a controller may not."""
    for line in text[end:].split("\n"):
        bare = _COMMENT.sub("", line).strip(" \t\r%")
        if bare:
            message = f"The program goes on after its end, with `{bare[:40]}`; some controllers run that."
            run.add("after the end", departs(message, Span(run.name, end, end + len(line)), "Remove it."))
            return
        end += len(line) + 1
