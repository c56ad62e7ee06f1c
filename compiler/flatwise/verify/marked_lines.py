"""Lines marked with `/`, which a machine skips while its block delete switch is on."""

from __future__ import annotations

from itertools import groupby

from flatwise.verify.header_lines import block_delete_z
from flatwise.verify.interpreter import Move, Step
from flatwise.verify.proof_run import ProgramRun, ProofRun, related
from flatwise.verify.rs274 import ProgramLine

#: the words that a marked line may hold
_MOVING = frozenset("GFXYZ")


def judge_unmarked(run: ProgramRun, lines: list[ProgramLine], why: str) -> None:
    """No line is marked in a program for which the shop file, or its kind, allows none."""
    controller = run.work.machine.controller
    set_here = related(controller.span("block_delete"), "block_delete is set here")
    for line in lines:
        if line.marked:
            message = f"Line {line.number} is marked with `/`, but {why}."
            run.depart("marked", message, line, "Remove the `/` or the line.", set_here)


def judge_marked(run: ProofRun, lines: list[ProgramLine], steps: list[Step], kept: list[Step], lift: float) -> None:
    """Marked lines move above the forecast's wood, from `lift` (mm above the bed) or higher to there again.

    `steps` come of all lines and `kept` of those that are not marked, which do the same in both.
    """
    for line in lines:
        word = next((word for word in line.words if line.marked and word.letter not in _MOVING), None)
        if word is not None:
            message = f"Line {line.number} is marked with `/` and holds {word.text}; only moves may be marked."
            run.depart("marked word", message, line, "Remove the `/`.")
    moves = [step for step in steps if isinstance(step, Move)]
    for marked, group in groupby(moves, key=lambda move: move.line.marked):
        if marked:
            _judge_section(run, list(group), lift)
    unmarked = [move for move in moves if not move.line.marked]
    for move, alone in zip(unmarked, (step for step in kept if isinstance(step, Move)), strict=True):
        _judge_alike(run, move, alone)


def highest_measured(run: ProofRun, text: str, lines: list[ProgramLine]) -> float | None:
    """The highest that wood may stand while marked lines are skipped, mm above the bed as the program counts it.

    That is where the cutter touches the highest place at the Z in the header, plus the uncertainty of two touches, one
    for zero and one of that place: each 0.2 × paper, repeat and ½·D·tan(lean).  None without marked lines or that Z.
    """
    first = next((line for line in lines if line.marked), None)
    if first is None:
        return None
    z = block_delete_z(text)
    if z is None:
        message = f"Line {first.number} is marked with `/`, but the header does not say when block delete may be on."
        run.depart("marked header", message, first)
        return None
    machine, touch = run.work.machine, run.setup.touch
    each = 0.2 * touch.paper + float(machine.repeat) + run.tool.parts[0][1] * machine.tram.tangent
    return z * machine.controller.unit + touch.height + 2.0 * each


def _judge_section(run: ProofRun, section: list[Move], lift: float) -> None:
    """One run of marked moves."""
    for where, z, line in (("begin", section[0].a[2], section[0].line), ("end", section[-1].b[2], section[-1].line)):
        if z is None or z < lift - run.same:
            height = "at an unknown height" if z is None else f"{run.mm(round(z, 3))} above the bed"
            message = (
                f"The lines marked with `/` {where} {height}, at line {line.number}; the lift height is "
                f"{run.mm(round(lift, 3))}."
            )
            run.depart(f"marked {where}", message, line, "Mark whole passes, from lift height to lift height.")
    highest = run.setup.highest
    for move in section:
        z = move.b[2]
        if z is not None and z < highest - run.same:
            goes, stands = run.apart(z, highest)
            message = (
                f"Line {move.line.number} is marked with `/` and goes {goes} above the bed, but by the forecast the "
                f"top stands up to {stands}."
            )
            run.depart("marked cut", message, move.line, "Remove the `/`: this pass has to be cut.")


def _judge_alike(run: ProofRun, move: Move, alone: Move) -> None:
    """An unmarked move is the same while the marked lines before it are skipped."""
    differs = {
        "G0 or G1": move.rapid != alone.rapid,
        "X, Y or Z": (move.a[2], *move.b) != (alone.a[2], *alone.b),
        "G61 or G64": move.rounds != alone.rounds,
        "F": not move.rapid and move.feed != alone.feed,
    }
    takes = next((what for what, other in differs.items() if other), None)
    if takes is not None:
        message = f"Line {move.line.number} takes {takes} from lines marked with `/`, which block delete may skip."
        run.depart("marked mode", message, move.line, "Write it again after the marked lines.")
