"""The face that a program leaves: nothing above the plane, nothing below it, a clean face of the forecast thickness."""

from __future__ import annotations

import numpy as np

from flatwise.core.surface import distinct
from flatwise.findings.fw902_not_as_planned import departs
from flatwise.findings.fw904_wood_left import left
from flatwise.model.stages import Work
from flatwise.verify.cells import Bools
from flatwise.verify.interpreter import Move
from flatwise.verify.proof_run import ProofRun
from flatwise_grammar.nodes import Span


def judge_below(run: ProofRun, moves: list[Move]) -> None:
    """No move goes below the planned plane, over the panel or beside it."""
    plane = run.setup.plane
    for move in moves:
        x, y, z = move.b
        if z is None or z >= plane - run.same:
            continue
        place = ""
        if x is not None and y is not None:
            place = f" at {run.at(x, y)}, nearest to {run.nearest_row(x, y, z)}"
        deep = run.mm(round(plane - z, 4))
        message = f"Line {move.line.number} goes {deep} below the planned plane{place}."
        run.depart("below", message, move.line)


def judge_left(run: ProofRun, span: Span | None) -> float:
    """Nothing is left above the plane: how far the highest wood stands above it, mm."""
    plane = run.setup.plane
    needed = _within_travel(run) if run.plan.work.job.stock.is_bed else None
    contact = run.wood.left_above(plane + run.same, needed)
    if contact is None:
        return 0.0
    along, across = run.wood.extent_above(contact.x, contact.y, plane + run.same)
    message = (
        f"When the program ends, wood stands {run.mm(round(contact.top - plane, 4))} above the plane at "
        f"{run.at(contact.x, contact.y)}, over {run.mm(round(along, 1))} along x and {run.mm(round(across, 1))} "
        f"along y; {run.nearest_row(contact.x, contact.y, plane)} should have removed it."
    )
    run.add("left", left(message, span))
    return round(contact.top - plane, 6)


def judge_clean(run: ProofRun, span: Span | None) -> None:
    """No place of the old face may lie below the plane, by its bound; on a spoilboard it may."""
    setup = run.setup
    least = setup.top.raised(setup.bound.under, -1.0)
    lowest = least.lowest
    if lowest < setup.plane - 2 * run.same and not run.plan.work.job.stock.is_bed and not setup.again:
        row, column = divmod(int(least.z.argmin()), len(least.xs))
        place = run.at(float(setup.top.xs[column]), float(setup.top.ys[row]))
        message = (
            f"The top may lie {run.mm(round(setup.plane - lowest, 4))} below the plane at {place}, "
            f"which would leave some of the old face there."
        )
        run.add("clean", left(message, span, "Cut this face lower."))


def judge_thickness(run: ProofRun, span: Span | None) -> None:
    """The second face leaves the forecast thickness."""
    if run.setup.face != "second":
        return
    thickness = run.setup.plane - run.setup.under.mean
    if abs(thickness - run.plan.forecast) > 2 * run.same:
        leaves, forecast = run.apart(thickness, run.plan.forecast)
        message = f"The plane leaves the panel {leaves} thick instead of the forecast {forecast}."
        run.add("thickness", departs(message, span))


def _within_travel(run: ProofRun) -> Bools:
    """The cells of a spoilboard that a cutter covers whole while its centre stays within the travel."""
    work, wood = run.plan.work, run.wood
    corner, at = work.job.zero.corner, corner_of_zero(work)
    x0, y0 = at[0] - float(corner.x), at[1] - float(corner.y)
    x1, y1 = x0 + float(work.machine.travel.x), y0 + float(work.machine.travel.y)
    past_x = np.maximum(np.maximum(x0 - wood.xs[:-1], wood.xs[1:] - x1), 0.0)
    past_y = np.maximum(np.maximum(y0 - wood.ys[:-1], wood.ys[1:] - y1), 0.0)
    reach = float(work.cutter.diameter) / 2 - work.machine.controller.rounding - 2 * run.same
    return np.asarray(np.hypot(past_x[None, :], past_y[:, None]) <= reach)


def corner_of_zero(work: Work) -> tuple[float, float]:
    """The corner at X 0 Y 0, setup frame, mm: taken from the job's own words, not from the plan."""
    corner = work.job.zero.corner.corner
    return work.length * corner.endswith("right"), work.width * corner.startswith("back")


def flatness(run: ProofRun, moves: list[Move]) -> float:
    """Peak to valley that the spindle's lean leaves on the cut face, mm: s·tan θ, s the widest spacing of rows.

    That is for a lean across the rows.  The hollow that a lean along them leaves, R·sin θ·[1 − √(1 − (s/2R)²)] with R
    the cutter's radius, is less than half as deep (geometry of the circle).
    """
    plane, top = run.setup.plane, run.setup.top
    cuts = [(*move.a, *move.b) for move in moves if not move.rapid and None not in move.a and None not in move.b]
    ends = np.array(cuts, dtype=float).reshape(-1, 6)
    lines = ends[(np.abs(ends[:, [2, 5]] - plane) <= run.same).all(axis=1)][:, [0, 1, 3, 4]]
    if not len(lines):
        return 0.0
    way = lines[:, 2:] - lines[:, :2]
    length = np.hypot(way[:, 0], way[:, 1])
    ux, uy = way[int(length.argmax())] / max(float(length.max()), 1e-9)
    parallel = np.abs(way[:, 0] * uy - way[:, 1] * ux) <= 0.02 * length
    rows = lines[parallel & (length > 0.5 * float(length.max()))]
    offsets = distinct(np.round(rows[:, 1] * ux - rows[:, 0] * uy, 3))
    extent = abs(ux) * top.width + abs(uy) * top.length
    spacing = float(np.diff(offsets).max()) if len(offsets) > 1 else extent
    work = run.plan.work
    return float(round(min(spacing, float(work.cutter.diameter)) * work.machine.tram.tangent, 6))
