"""A program of a batch, cut in memory over the whole bed.

The program is read once, in machine X and Y.  Between two ways at the lift height it works at one panel, the one that
it goes over most; there all others, and their holders, are obstacles as high as they may stand before their cut.  So
each panel keeps its own height field, and what cuts it is what was done at it.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from itertools import groupby
from typing import NamedTuple

from flatwise.core.finding import Findings
from flatwise.model.bed import BatchFace, BatchPlan
from flatwise.model.built import Proof
from flatwise.model.stages import FaceName, Plan, Setup, Work
from flatwise.verify.coming_down import Floor, floors
from flatwise.verify.finished_face import corner_of_zero
from flatwise.verify.header_lines import judge_header
from flatwise.verify.height_field import HeightField
from flatwise.verify.interpreter import Doubt, Frame, Location, Move, Step, interpret
from flatwise.verify.marked_lines import judge_unmarked
from flatwise.verify.obstacles import Obstacle, cutting_tool, holding, obstacles
from flatwise.verify.proof_run import ProofRun, Suspicion
from flatwise.verify.prove import COARSE, FINE, judge_after_end, judge_machine, judge_panel, refused_lines, side
from flatwise.verify.rs274 import decode, read_program
from flatwise_grammar.nodes import Span

#: x, y in mm
XY = tuple[float, float]


class BedPanel(NamedTuple):
    """One panel that the program cuts, and machine X and Y of its front left corner."""

    plan: Plan
    setup: Setup
    place: XY


def prove_batch(
    program: bytes, plan: BatchPlan, face: BatchFace, name: str, header: dict[str, str]
) -> tuple[Mapping[str, Proof], Findings]:
    """Cut a program in memory: what that shows of each panel, by its job, and findings FW901 to FW904."""
    controller = plan.plans[0].work.machine.controller
    text, refusals = decode(program)
    lines, more = read_program(text, int(controller.line))
    cuts = [BedPanel(each, setup, place_of(each.work)) for each, setup in face.panels]
    frame = _frame(plan, cuts[0].setup)
    steps, wrong, turning = interpret(lines, frame, controller.units, str(controller.offset))
    refused = sorted({refusal.line: refusal for refusal in [*wrong, *more, *refusals]}.values())
    if refused:
        return {}, refused_lines(refused, name)
    bed = _bed_run(plan, cuts[0], name)
    judge_header(bed, text, header)
    judge_after_end(bed, text, lines[-1].end if lines else 0)
    if turning:
        bed.hit("turning", "The program ends with the spindle turning.", lines[-1], "End it with M5 and M2 or M30.")
    judge_unmarked(bed, lines, "a program of a batch has no such lines")
    moves = [step for step in steps if isinstance(step, Move)]
    highest = max(thing.height for each in plan.plans for thing in _things(each, face.face))
    heights = floors(moves)
    judge_machine(bed, steps, moves, heights, frame, highest)
    radius = float(bed.work.cutter.diameter) / 2.0
    places = [(cut.plan.work, cut.place) for cut in cuts]
    owners = owners_of(moves, places, radius, highest + float(bed.work.machine.lift) - bed.same)
    proofs, findings = {}, [*bed.findings()]
    for number, cut in enumerate(cuts):
        kept = _of_panel(steps, heights, owners, number, cut.place)
        around = [thing for other in plan.plans if other is not cut.plan for thing in _around(cut, other, face.face)]
        end = bed.span(lines[-1]) if lines else None
        proof, found = _prove_panel(cut, kept, (*obstacles(cut.setup), *around), name, end)
        proofs[cut.plan.work.name] = proof._replace(program_moves=owners.count(number))
        of = f"At {cut.plan.work.name}, "
        findings += [each._replace(message=of + each.message[:1].lower() + each.message[1:]) for each in found]
    return proofs, tuple(sorted(findings, key=lambda finding: finding.code))


def place_of(work: Work) -> XY:
    """Machine X and Y of a panel's front left corner: from the job's own words, or where the batch laid it."""
    (x, y), corner = corner_of_zero(work), work.job.zero.corner
    return float(corner.x) - x, float(corner.y) - y


def _frame(plan: BatchPlan, setup: Setup) -> Frame:
    """Program coordinates to machine X and Y and heights above the bed; zero is the first job's corner."""
    work = plan.plans[0].work
    machine, corner, top = work.machine, work.job.zero.corner, work.machine.controller.top
    highest = machine.collet_height - float(work.cutter.stick_out)
    seconds = 0.001 if machine.controller.dwell == "milliseconds" else 1.0
    zero = (float(corner.x), float(corner.y), setup.touch.zero)
    return Frame(zero, (0.0, 0.0, None if top is None else highest - float(top)), seconds)


def _bed_run(plan: BatchPlan, cut: BedPanel, name: str) -> ProofRun:
    """The run for all that concerns no single panel: the first job's, which has the zero."""
    first, (x, y) = plan.plans[0], cut.place
    u, v = place_of(first.work)
    touch = cut.setup.touch._replace(x=cut.setup.touch.x + x - u, y=cut.setup.touch.y + y - v)
    run = _run(BedPanel(first, cut.setup._replace(touch=touch), (u, v)), name, COARSE, False)
    run.batch = plan.batch
    return run


def _run(cut: BedPanel, name: str, cell: float, stop_at_finding: bool) -> ProofRun:
    setup, work = cut.setup, cut.plan.work
    same, tool = work.machine.controller.digit / 2 + 1e-6, cutting_tool(work)
    wood = HeightField(setup.top, setup.bound.over, 0.0, cell)
    return ProofRun(work, name, same, tool, 0.0, stop_at_finding, plan=cut.plan, setup=setup, wood=wood)


def _prove_panel(
    cut: BedPanel, kept: Sequence[tuple[Step, Floor]], things: Sequence[Obstacle], name: str, end: Span | None
) -> tuple[Proof, Findings]:
    """The proof at one panel; a coarse field first, since it never hides anything."""
    steps, heights = [step for step, _ in kept], [floor for step, floor in kept if isinstance(step, Move)]
    least = side(FINE, cut.setup, float(cut.plan.work.cutter.diameter) / 2, steps)
    try:
        run = _run(cut, name, max(COARSE, least), True)
        return judge_panel(run, steps, heights, things, end), run.findings()
    except Suspicion:
        pass  # and let go of the coarse field
    run = _run(cut, name, least, False)
    return judge_panel(run, steps, heights, things, end), run.findings()


# -- what stands on the bed --------------------------------------------------------------------------------------


def _things(plan: Plan, face: FaceName) -> list[Obstacle]:
    """A panel, as high as its top may stand before the cut, and its holders; in its own setup frame."""
    setup = next((each for each in plan.setups if each.face == face), plan.setups[-1])
    work = plan.work
    outline = (0.0, 0.0, work.length, work.width)
    panel = Obstacle("panel", work.name, "", False, *outline, setup.may_stand, work.span)
    return [panel, *holders_of(work)]


def holders_of(work: Work) -> list[Obstacle]:
    """The holders of a job, named as its own."""
    return [each._replace(at=f"{each.at} of {work.name}") for each in holding(work.holders)]


def _around(cut: BedPanel, other: Plan, face: FaceName) -> Iterable[Obstacle]:
    """Things of another job, in the setup frame of a panel."""
    (x, y), (u, v) = cut.place, place_of(other.work)
    for each in _things(other, face):
        yield further(each, u - x, v - y)


def further(thing: Obstacle, dx: float, dy: float) -> Obstacle:
    """A thing by so much further along x and y, mm."""
    return thing._replace(x0=thing.x0 + dx, x1=thing.x1 + dx, y0=thing.y0 + dy, y1=thing.y1 + dy)


# -- which moves are made at which panel -------------------------------------------------------------------------


def owners_of(
    moves: Sequence[Move], panels: Sequence[tuple[Work, XY]], radius: float, clear: float
) -> list[int | None]:
    """The panel, by its place, at which each move of a tool of this radius is made.

    None for moves at `clear` (mm above the bed) or higher, or at no place.
    """
    owners: list[int | None] = []
    for low, group in groupby(moves, key=lambda move: _is_low(move, clear)):
        section = list(group)
        owners += [_owner(section, panels, radius) if low else None] * len(section)
    return owners


def _is_low(move: Move, clear: float) -> bool:
    if None in move.a[:2] or None in move.b[:2]:
        return False
    return any(z is None or z < clear for z in (move.a[2], move.b[2]))


def _owner(section: Sequence[Move], panels: Sequence[tuple[Work, XY]], radius: float) -> int:
    """The panel that the box round the moves at feed covers most, or else is nearest to."""
    cutting = [move for move in section if not move.rapid] or section
    places = [(at[0], at[1]) for move in cutting for at in (move.a, move.b)]
    xs, ys = ([float(each[axis] or 0.0) for each in places] for axis in (0, 1))
    box = min(xs) - radius, max(xs) + radius, min(ys) - radius, max(ys) + radius

    def covered(panel: tuple[Work, XY]) -> float:
        work, (x, y) = panel
        across = min(box[1], x + work.length) - max(box[0], x)
        along = min(box[3], y + work.width) - max(box[2], y)
        return across * along if across > 0.0 and along > 0.0 else min(across, along, 0.0)

    return max(range(len(panels)), key=lambda number: covered(panels[number]))


def _of_panel(
    steps: Sequence[Step], heights: Sequence[Floor], owners: Sequence[int | None], number: int, place: XY
) -> list[tuple[Step, Floor]]:
    """All steps but the moves that are made at other panels, in the setup frame of one, with the floors of moves."""
    kept: list[tuple[Step, Floor]] = []
    whose = iter(zip(heights, owners, strict=True))
    for step in steps:
        floor, owner = next(whose) if isinstance(step, Move) else ((None, None), None)
        if owner in (None, number):
            kept.append((shifted(step, place), floor))
    return kept


def shifted(step: Step, place: XY) -> Step:
    if isinstance(step, Move):
        return replace(step, a=_from(step.a, place), b=_from(step.b, place))
    return step if isinstance(step, Doubt) else replace(step, at=_from(step.at, place))


def _from(at: Location, place: XY) -> Location:
    x, y, z = at
    return (None if x is None else x - place[0], None if y is None else y - place[1], z)
