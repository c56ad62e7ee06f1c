"""Read a measuring program back, and follow the gauge over the panel and the holders.

A gauge does not cut: only its tip may touch the wood, straight from above and at feed, and the spindle never turns.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from flatwise.core.finding import Findings
from flatwise.core.units import feed_unit, show_apart
from flatwise.model.measuring import Stop, Walk
from flatwise.model.stages import Work
from flatwise.verify.capsule import Capsule
from flatwise.verify.finished_face import corner_of_zero
from flatwise.verify.header_lines import judge_walk_header
from flatwise.verify.height_field import HeightField
from flatwise.verify.interpreter import Doubt, Frame, Location, Move, Wait, interpret
from flatwise.verify.machine_limits import (
    FEED_ROUNDING,
    judge_corners,
    judge_doubt,
    judge_feed,
    judge_lift,
    judge_parking,
    judge_travel,
)
from flatwise.verify.marked_lines import judge_unmarked
from flatwise.verify.obstacles import holding, judge_obstacles
from flatwise.verify.proof_run import ProgramRun, Tool, related
from flatwise.verify.prove import COARSE, judge_after_end, refused_lines
from flatwise.verify.rs274 import ProgramLine, Refusal, decode, read_program

_NUMBERED = re.compile(r"\(stop (\d+) of (\d+)\b", re.IGNORECASE)
#: The codes of a program that turns the spindle or switches the extraction on.
_IDLE = frozenset({3.0, 4.0, 7.0, 8.0})


@dataclass
class WalkRun(ProgramRun):
    """One measuring program; `highest` is the highest that the top may stand above the bed, mm."""

    walk: Walk = field(kw_only=True)
    wood: HeightField = field(kw_only=True)
    highest: float = field(kw_only=True)

    @property
    def press(self) -> float:
        """The tip at rest hangs this far below program Z, mm."""
        return float(self.walk.gauge.travel) / 2.0


def prove_walk(program: bytes, work: Work, walk: Walk, name: str, header: dict[str, str]) -> Findings:
    """Follow a measuring program in memory: FW901 to FW903 for everything that is wrong with it."""
    machine, controller, gauge = work.machine, work.machine.controller, walk.gauge
    text, refusals = decode(program)
    lines, more = read_program(text, int(controller.line))
    stick_out = float(gauge.reach) - float(gauge.travel) / 2.0
    steps, wrong, _ = interpret(lines, _frame(work, stick_out), controller.units, str(controller.offset))
    refusals = sorted({each.line: each for each in [*_turning(lines), *wrong, *more, *refusals]}.values())
    if refusals:
        return refused_lines(refusals, name)
    parts = (("gauge", float(gauge.across) / 2, 0.0), ("spindle's nose", float(machine.nose) / 2, stick_out))
    run = WalkRun(
        work,
        name,
        controller.digit / 2 + 1e-6,
        Tool("gauge's tip", stick_out, parts),
        walk=walk,
        wood=HeightField(walk.top, walk.bound, float(machine.bed), COARSE),
        highest=walk.top.raised(walk.bound).highest + float(machine.bed),
    )
    judge_walk_header(run, walk, text, header)
    judge_after_end(run, text, lines[-1].end if lines else 0)
    judge_unmarked(run, lines, "a measuring program has no lines to skip")
    moves = [step for step in steps if isinstance(step, Move)]
    for step in steps:
        if isinstance(step, Doubt):
            judge_doubt(run, step)
    judge_corners(run, moves)
    judge_travel(run, moves, _frame(work, stick_out))
    judge_parking(run, moves)
    # the tip at rest keeps the lift as well
    judge_lift(run, moves, max(run.highest, *(holder.height for holder in work.holders), 0.0) + run.press)
    judge_obstacles(run, moves, holding(work.holders))
    for move in moves:
        judge_feed(run, move)
        _judge_move(run, move)
    if lines:
        _judge_stops(run, [step for step in steps if isinstance(step, Move | Wait)], lines[-1])
        _judge_numbers(run, text, lines[-1])
    return run.findings()


def _frame(work: Work, stick_out: float) -> Frame:
    """Program Z 0 is the bed, with the gauge pressed by half its travel."""
    x, y = corner_of_zero(work)
    corner, top = work.job.zero.corner, work.machine.controller.top
    up = None if top is None else work.machine.collet_height - stick_out - float(top)
    return Frame((x, y, 0.0), (x - float(corner.x), y - float(corner.y), up), 1.0)


def _turning(lines: list[ProgramLine]) -> list[Refusal]:
    """Words that have no place in a measuring program: those for the spindle, its speed and the extraction."""
    return [
        Refusal(
            line.number,
            word.start - line.start + 1,
            word.start,
            word.end,
            f"{word.text} has no place in a measuring program, where spindle and extraction stay off",
            "Remove it, or build the program again from its job.",
        )
        for line in lines
        for word in line.words
        if word.letter == "S" or (word.letter == "M" and word.value in _IDLE)
    ]


def _judge_move(run: WalkRun, move: Move) -> None:
    """Only the tip touches the wood, straight from above at feed; everything else stays above the wood."""
    (ax, ay, az), (bx, by, bz) = move.a, move.b
    number = move.line.number
    if bz is None:
        message = f"Line {number} moves sideways before the program has set a height."
        run.hit("unknown height", message, move.line, "Go up in Z first.")
        return
    sideways = (ax, ay) != (bx, by)
    if not sideways and az is not None and bz >= az:
        return
    tip = (bz if az is None else min(az, bz)) - run.press
    hop = run.work.machine.hop
    down = move.rapid and not sideways
    if tip >= run.highest + down * float(hop) - run.same:
        return
    at, stands = run.apart(tip, run.highest)
    if down and tip >= run.highest:
        message = (
            f"Line {number} goes down at rapid until the gauge's tip is {at} above the bed; the top may stand {stands} "
            f"high, and with the machine's hop of {hop} the rapid must end that much above it."
        )
        run.depart("hop", message, move.line, "Stay higher.", related(run.work.machine.span("hop"), "hop is set here"))
    elif move.rapid:
        message = f"Line {number} moves at rapid with the gauge's tip {at} above the bed; the top may stand {stands}."
        run.hit("rapid", message, move.line, "Lift before a G0, or feed with G1.")
    elif sideways or bx is None or by is None:
        message = f"Line {number} drags the gauge's tip sideways {at} above the bed; the top may stand {stands}."
        run.hit("drags", message, move.line, "Go up before moving sideways.")
    else:
        _judge_touch(run, move, bx, by, bz)


def _judge_touch(run: WalkRun, move: Move, x: float, y: float, z: float) -> None:
    """Coming down at a place: not faster than the machine's z feed, and the gauge's body stays off the wood."""
    number, body = move.line.number, z + run.press + run.same
    most = run.work.machine.z_feed
    if move.feed and move.feed > most * (1 + FEED_ROUNDING) + 0.5:
        feed, limit = show_apart(move.feed, most, feed_unit(run.work.job.stock.size.thickness), 5)
        message = f"Line {number} brings the gauge down at {feed}; the machine's maximum on the way down is {limit}."
        run.depart("feed", message, move.line)
    contact = run.wood.touch(Capsule(x, y, x, y, float(run.walk.gauge.across) / 2), body)
    if contact is not None:
        deep = run.mm(round(contact.top - body, 3))
        message = (
            f"Line {number} may bring the gauge's body {deep} into the wood at {run.at(contact.x, contact.y)}: "
            f"its tip gives way by only {run.mm(2 * run.press)}."
        )
        run.collisions.add(number)
        run.hit("body", message, move.line)


def _judge_stops(run: WalkRun, steps: list[Move | Wait], end: ProgramLine) -> None:
    """The program waits before it moves, then at each stop of the walk in its order and nowhere else."""
    if not steps or not isinstance(steps[0], Wait):
        line = steps[0].line if steps else end
        message = f"Line {line.number} moves before the program has stopped with M0 for the operator's checks."
        run.depart("start", message, line, "Begin the program with M0.")
        waits = [step for step in steps if isinstance(step, Wait)]
    else:
        waits = [step for step in steps[1:] if isinstance(step, Wait)]
    bed, walk = float(run.work.machine.bed), run.walk
    lowest, upmost = walk.top.raised(walk.bound, -1.0), walk.top.raised(walk.bound)
    for wait, stop in zip(waits, run.walk.stops, strict=False):
        if not _is_there(run, wait.at, stop):
            goes = ", ".join("unknown" if each is None else run.mm(round(each, 4)) for each in wait.at)
            planned = ", ".join(run.mm(each) for each in (stop.x, stop.y, stop.expected))
            message = f"Line {wait.line.number} stops at ({goes}), but stop {stop.number} is at ({planned})."
            run.depart("place", message, wait.line)
        low, high = lowest.both_at(stop.x, stop.y)[0] - bed, upmost.both_at(stop.x, stop.y)[1] + bed
        if low < stop.expected - run.press - run.same or high > stop.expected + run.press + run.same:
            message = (
                f"At stop {stop.number} the top may stand anywhere from {run.mm(round(low, 3))} to "
                f"{run.mm(round(high, 3))}, more than the {run.mm(run.press)} that the gauge reads either way."
            )
            run.depart("reads", message, wait.line, "Use a gauge with more travel.")
    if len(waits) != len(run.walk.stops):
        message = f"The program stops {len(waits)} times for a reading, but the walk has {len(run.walk.stops)} points."
        run.depart("count", message, end)


def _is_there(run: WalkRun, at: Location, stop: Stop) -> bool:
    wanted = (stop.x, stop.y, stop.expected)
    return all(each is not None and abs(each - ours) <= run.same for each, ours in zip(at, wanted, strict=True))


def _judge_numbers(run: WalkRun, text: str, end: ProgramLine) -> None:
    """The comments number the stops as the form does."""
    count = len(run.walk.stops)
    said = [(int(number), int(of)) for number, of in _NUMBERED.findall(text)]
    if said != [(number, count) for number in range(1, count + 1)]:
        message = f"The comments do not number the stops from 1 to {count}, so readings would go to the wrong points."
        run.depart("numbers", message, end)
