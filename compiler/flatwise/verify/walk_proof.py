"""Read a measuring program back, and follow the gauge over the panel and the holders.

A gauge does not cut: only its tip may touch the wood, straight from above and at feed, and the spindle never turns.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import NamedTuple

from flatwise.core.finding import Findings
from flatwise.core.units import feed_unit, show_apart
from flatwise.model.bed import BatchWork
from flatwise.model.measuring import BedWalk, Walk
from flatwise.model.stages import Work
from flatwise.verify.bed_proof import XY, further, holders_of, owners_of, place_of, shifted
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
from flatwise.verify.obstacles import Obstacle, holding, judge_obstacles
from flatwise.verify.proof_run import ProgramRun, Tool, related
from flatwise.verify.prove import COARSE, judge_after_end, refused_lines
from flatwise.verify.rs274 import ProgramLine, Refusal, decode, read_program

_NUMBERED = re.compile(r"\(stop (\d+) of (\d+)\b", re.IGNORECASE)
#: The codes of a program that turns the spindle or switches the extraction on.
_IDLE = frozenset({3.0, 4.0, 7.0, 8.0})


@dataclass
class WalkRun(ProgramRun):
    """One measuring program over one panel.

    `highest` is the highest that its top may stand above the bed, `tallest` that of all panels on the bed, mm.
    """

    walk: Walk = field(kw_only=True)
    wood: HeightField = field(kw_only=True)
    highest: float = field(kw_only=True)
    tallest: float = field(kw_only=True)

    @property
    def press(self) -> float:
        """The tip at rest hangs this far below program Z, mm."""
        return float(self.walk.gauge.travel) / 2.0


class Visited(NamedTuple):
    """A panel on the bed, and where its front left corner lies in the frame of the panel that has the zero, mm."""

    work: Work
    walk: Walk
    place: XY

    @property
    def highest(self) -> float:
        """The highest that its top may stand above the bed, mm."""
        return self.walk.top.raised(self.walk.bound).highest + float(self.work.machine.bed)

    def things(self) -> list[Obstacle]:
        """The panel, as high as its top may stand, and its holders, in its own frame."""
        outline = (0.0, 0.0, self.work.length, self.work.width)
        panel = Obstacle("panel", self.work.name, "", False, *outline, self.highest, self.work.span)
        return [panel, *holders_of(self.work)]


def prove_walk(program: bytes, work: Work, walk: Walk, name: str, header: dict[str, str]) -> Findings:
    """Follow a measuring program in memory: FW901 to FW903 for everything that is wrong with it."""
    return _prove(program, [Visited(work, walk, (0.0, 0.0))], 0, None, name, header)


def prove_bed_walk(program: bytes, bed: BedWalk, name: str, header: dict[str, str]) -> Findings:
    """The same for a program over all panels of a batch, each an obstacle while the gauge is at another one."""
    u, v = place_of(bed.first)
    panels = []
    for work, walk in bed.panels:
        x, y = place_of(work)
        panels.append(Visited(work, walk, (x - u, y - v)))
    zero = next(number for number, each in enumerate(panels) if each.work.name == bed.first.name)
    return _prove(program, panels, zero, bed.batch, name, header)


def _prove(
    program: bytes, panels: Sequence[Visited], zero: int, batch: BatchWork | None, name: str, header: dict[str, str]
) -> Findings:
    """Follow a program over panels in the order of the walk; that of number `zero` has the zero."""
    work, walk, _ = panels[zero]
    machine, controller, gauge = work.machine, work.machine.controller, walk.gauge
    text, refusals = decode(program)
    lines, more = read_program(text, int(controller.line))
    stick_out = float(gauge.reach) - float(gauge.travel) / 2.0
    steps, wrong, _ = interpret(lines, _frame(work, stick_out), controller.units, str(controller.offset))
    refusals = sorted({each.line: each for each in [*_turning(lines), *wrong, *more, *refusals]}.values())
    if refusals:
        return refused_lines(refusals, name)
    parts = (("gauge", float(gauge.across) / 2, 0.0), ("spindle's nose", float(machine.nose) / 2, stick_out))
    tool, tallest = Tool("gauge's tip", stick_out, parts), max(each.highest for each in panels)
    runs = [_run(each, name, tool, tallest) for each in panels]
    run = _run(panels[zero], name, tool, tallest)
    judge_walk_header(run, walk, text, header, batch)
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
    stands = max(tallest, *(holder.height for each in panels for holder in each.work.holders), 0.0) + run.press
    judge_lift(run, moves, stands)
    for move in moves:
        judge_feed(run, move)
    if lines:
        _judge_stops(run, panels, [step for step in steps if isinstance(step, Move | Wait)], lines[-1])
        _judge_numbers(run, sum(len(each.walk.stops) for each in panels), text, lines[-1])
    clear = stands + float(machine.lift) - run.same
    owners = owners_of(moves, [(each.work, each.place) for each in panels], float(gauge.across) / 2.0, clear)
    findings = [*run.findings()]
    for number, own in enumerate(runs):
        at_it = [move for move, owner in zip(moves, owners, strict=True) if owner in (None, number)]
        _judge_at(own, panels, number, at_it)
        of = "" if batch is None else f"At {own.work.name}, "
        findings += [
            each._replace(message=of + (each.message[:1].lower() if of else each.message[:1]) + each.message[1:])
            for each in own.findings()
        ]
    return tuple(sorted(findings, key=lambda finding: finding.code))


def _run(panel: Visited, name: str, tool: Tool, tallest: float) -> WalkRun:
    work, walk, _ = panel
    machine = work.machine
    wood = HeightField(walk.top, walk.bound, float(machine.bed), COARSE)
    same = machine.controller.digit / 2 + 1e-6
    return WalkRun(work, name, same, tool, walk=walk, wood=wood, highest=panel.highest, tallest=tallest)


def _judge_at(run: WalkRun, panels: Sequence[Visited], number: int, moves: Sequence[Move]) -> None:
    """The moves at one panel, in whose way its holders are, and all that belongs to the others."""
    x, y = panels[number].place
    things = [*holding(run.work.holders)]
    for each in (other for other in panels if other is not panels[number]):
        things += [further(thing, each.place[0] - x, each.place[1] - y) for thing in each.things()]
    own = [_in_frame(move, (x, y)) for move in moves]
    judge_obstacles(run, own, things)
    for move in own:
        _judge_move(run, move)


def _in_frame(move: Move, place: XY) -> Move:
    found = shifted(move, place)
    assert isinstance(found, Move)
    return found


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
    highest = run.tallest if sideways else run.highest
    hop = run.work.machine.hop
    down = move.rapid and not sideways
    if tip >= highest + down * float(hop) - run.same:
        return
    at, stands = run.apart(tip, highest)
    if down and tip >= highest:
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


def _judge_stops(run: WalkRun, panels: Sequence[Visited], steps: list[Move | Wait], end: ProgramLine) -> None:
    """The program waits before it moves, then at each stop of the walk in its order and nowhere else."""
    if not steps or not isinstance(steps[0], Wait):
        line = steps[0].line if steps else end
        message = f"Line {line.number} moves before the program has stopped with M0 for the operator's checks."
        run.depart("start", message, line, "Begin the program with M0.")
        waits = [step for step in steps if isinstance(step, Wait)]
    else:
        waits = [step for step in steps[1:] if isinstance(step, Wait)]
    bed = float(run.work.machine.bed)
    visits = [(each.walk, each.place, stop) for each in panels for stop in each.walk.stops]
    for wait, (walk, (x, y), stop) in zip(waits, visits, strict=False):
        lowest, upmost = walk.top.raised(walk.bound, -1.0), walk.top.raised(walk.bound)
        place = stop.x + x, stop.y + y, stop.expected
        if not _is_there(run, wait.at, place):
            goes = ", ".join("unknown" if each is None else run.mm(round(each, 4)) for each in wait.at)
            planned = ", ".join(run.mm(each) for each in place)
            message = f"Line {wait.line.number} stops at ({goes}), but stop {stop.number} is at ({planned})."
            run.depart("place", message, wait.line)
        low, high = lowest.both_at(stop.x, stop.y)[0] - bed, upmost.both_at(stop.x, stop.y)[1] + bed
        if low < stop.expected - run.press - run.same or high > stop.expected + run.press + run.same:
            message = (
                f"At stop {stop.number} the top may stand anywhere from {run.mm(round(low, 3))} to "
                f"{run.mm(round(high, 3))}, more than the {run.mm(run.press)} that the gauge reads either way."
            )
            run.depart("reads", message, wait.line, "Use a gauge with more travel.")
    if len(waits) != len(visits):
        message = f"The program stops {len(waits)} times for a reading, but the walk has {len(visits)} points."
        run.depart("count", message, end)


def _is_there(run: WalkRun, at: Location, wanted: tuple[float, float, float]) -> bool:
    return all(each is not None and abs(each - ours) <= run.same for each, ours in zip(at, wanted, strict=True))


def _judge_numbers(run: WalkRun, count: int, text: str, end: ProgramLine) -> None:
    """The comments number the stops as the form does."""
    said = [(int(number), int(of)) for number, of in _NUMBERED.findall(text)]
    if said != [(number, count) for number in range(1, count + 1)]:
        message = f"The comments do not number the stops from 1 to {count}, so readings would go to the wrong points."
        run.depart("numbers", message, end)
