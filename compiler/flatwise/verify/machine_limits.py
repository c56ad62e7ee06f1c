"""Limits of the machine that a program keeps: modes, travel, feed, speed and dust extraction."""

from __future__ import annotations

from flatwise.core.units import feed_unit, show_apart
from flatwise.verify.interpreter import Doubt, Frame, Move, Spin
from flatwise.verify.proof_run import ProgramRun, related

#: Feeds that differ by less than this share are the same: a feed in inches is rounded to a digit.
FEED_ROUNDING = 0.002
#: By this much a speed may exceed its limit, rpm: programs are rounded to a thousandth.
_SPEED_ROUNDING = 0.0005 + 1e-9


def judge_doubt(run: ProgramRun, doubt: Doubt) -> None:
    """Report a mode that the program leaves open or sets differently from what the machine needs."""
    controller = run.work.machine.controller
    line = doubt.line.number
    wanted = "inches (G20)" if controller.units == "in" else "millimetres (G21)"
    message, way_out = {
        "units": (f"Line {line} sets {doubt.text}, but the machine's programs are in {wanted}.", ""),
        "offset": (f"Line {line} sets the work offset {doubt.text}, but the job's zero is in {controller.offset}.", ""),
        "unset": (
            f"Line {line} moves before the program has set its {doubt.text}, so it depends on what ran before.",
            "Set every mode in the first lines.",
        ),
        "relative": (f"Line {line} moves by {doubt.text} from a position that the program has not set.", "Use G90."),
        "no_top": (
            f"Line {line} goes to {doubt.text} in machine coordinates, but the machine's file gives no `top`.",
            "Give `top` in the controller's block, or use no G53 with Z.",
        ),
    }[doubt.kind]
    place = {"units": "units", "offset": "offset"}.get(doubt.kind)
    verb = "are" if place == "units" else "is"
    set_here = related(controller.span(place), f"the machine's {place} {verb} set here") if place else ()
    # report each open mode once, and each coordinate once for its axis
    subject = doubt.text if doubt.kind in ("unset", "units", "offset") else doubt.text[:1]
    run.depart(f"{doubt.kind} {subject}", message, doubt.line, way_out, set_here)


def judge_corners(run: ProgramRun, moves: list[Move]) -> None:
    """The machine rounds corners only between level moves at feed, and only where the shop file says by how much.

    Moves under G61 are followed to both their ends, so that Z is exact and rapids stay where they are planned.
    """
    controller = run.work.machine.controller
    said = "exact" if controller.corners == "exact" else f"within {controller.corners.by}"
    for move in moves:
        wanted = controller.rounding > 0 and move.cuts_level
        if move.rounds == wanted:
            continue
        number, says = move.line.number, f"the shop file says `corners {said}`"
        if wanted:
            message, way_out = f"Line {number} cuts with exact corners (G61), but {says}.", "Write G64 before it."
        elif controller.rounding:
            message = f"Line {number} may round its corners (G64), but rapids and moves in Z must be exact."
            way_out = "Write G61 before it."
        else:
            message, way_out = f"Line {number} may round its corners (G64), but {says}.", "Write G61."
        set_here = related(controller.span("corners"), "the corners are set here")
        run.depart("corners", message, move.line, way_out, set_here)


def judge_travel(run: ProgramRun, moves: list[Move], frame: Frame) -> None:
    """The end of every move lies within the machine's travel; moves are straight, so the whole move does."""
    machine = run.work.machine
    highest = machine.collet_height - run.tool.stick_out
    lowest = highest - float(machine.travel.z)
    for move in moves:
        for axis, name in enumerate("XY"):
            at, shift = move.b[axis], frame.machine[axis]
            reach = float(machine.travel.x if axis == 0 else machine.travel.y)
            if at is None or shift is None:
                continue
            there = at - shift
            if not -run.same <= there <= reach + run.same:
                goes, most = run.apart(there, reach)
                message = f"Line {move.line.number} goes to machine {name} {goes}, outside the travel of 0 to {most}."
                set_here = related(machine.span("travel"), "the travel is set here")
                run.depart(f"travel {name}", message, move.line, "", set_here)
        z = move.b[2]
        if z is not None and not lowest - run.same <= z <= highest + run.same:
            message = (
                f"Line {move.line.number} moves the {run.tool.edge} to {run.mm(z)} above the bed, but it can only go "
                f"from {run.mm(lowest)} to {run.mm(highest)}."
            )
            run.depart("travel Z", message, move.line)


def judge_lift(run: ProgramRun, moves: list[Move], highest: float) -> None:
    """Rapids sideways keep the machine's `lift` above the highest that may stand on the bed, mm."""
    machine = run.work.machine
    for move in moves:
        heights = [z for z in (move.a[2], move.b[2]) if z is not None]
        if not move.rapid or move.a[:2] == move.b[:2] or not heights:
            continue
        least = highest + float(machine.lift)
        if min(heights) < least - run.same:
            goes, needed = run.apart(min(heights), least)
            message = (
                f"Line {move.line.number} moves sideways at rapid {goes} above the bed; with the machine's lift of "
                f"{machine.lift} it must be at least {needed}."
            )
            run.depart("lift", message, move.line, "Go up first.", related(machine.span("lift"), "lift is set here"))


def judge_parking(run: ProgramRun, moves: list[Move]) -> None:
    """The way to the parking place, in machine coordinates, begins at the machine's `top` with the spindle at rest."""
    controller, highest = run.work.machine.controller, run.work.machine.collet_height - run.tool.stick_out
    spin_up = float(controller.spin_up)
    for move in moves:
        if not move.parks:
            continue
        number, z = move.line.number, move.a[2]
        if move.spindle:
            message = f"Line {number} parks with the spindle turning."
            run.depart("parks turning", message, move.line, "Put M5 and a dwell before it.")
        elif move.rested < spin_up - 1e-6:
            rested, needed = show_apart(move.rested, spin_up, "s")
            message = f"Line {number} parks after a dwell of {rested}, but the spindle needs {needed} to stop."
            way_out, set_here = "Dwell with G4 after M5.", related(controller.span("spin_up"), "spin_up is set here")
            run.depart("parks early", message, move.line, way_out, set_here)
        if controller.top is not None and (z is None or z < highest - run.same):
            at = "at an unknown height" if z is None else f"{run.mm(round(z, 3))} above the bed"
            message = (
                f"Line {number} parks {at}; at the top of the travel the {run.tool.edge} is "
                f"{run.mm(round(highest, 3))} above the bed."
            )
            set_here = related(controller.span("top"), "the top is set here")
            run.depart("parks low", message, move.line, "Go up with G53 G0 Z before it.", set_here)


def judge_feed(run: ProgramRun, move: Move) -> None:
    """A feed is set, and the machine can do it."""
    if move.rapid:
        return
    most = run.work.machine.feed.most
    if not move.feed:
        # G1 with no feed is an error (NISTIR 6556, 3.5.2): the controller would stop there
        message = f"Line {move.line.number} moves with G1 before a feed F is set."
        run.hit("no feed", message, move.line, "Give F with the first G1.")
    elif move.feed > most * (1 + FEED_ROUNDING):
        feed, limit = show_apart(move.feed, most, feed_unit(run.work.job.stock.size.thickness))
        message = f"Line {move.line.number} feeds at {feed}; the machine's maximum is {limit}."
        run.depart("feed over", message, move.line)


def judge_spindle(run: ProgramRun, spin: Spin) -> None:
    """The spindle turns forward, at a speed that cutter and spindle allow, after any stop for the dust extraction."""
    line, number = spin.line, spin.line.number
    cutter, machine = run.work.cutter, run.work.machine
    most = min(float(cutter.speed.most), float(machine.spindle.most))
    if spin.speed > most + _SPEED_ROUNDING:
        message = f"Line {number} turns the spindle at {spin.speed:g}rpm; the maximum is {most:g}rpm."
        set_here = related(cutter.span("speed"), "the cutter's range is set here")
        run.depart("speed over", message, line, "", set_here)
    if not spin.starts:
        return
    if spin.spindle == 4:
        run.hit("backward", f"Line {number} turns the spindle backward (M4).", line, "Write M3.")
    if spin.speed <= 0:
        run.hit("no speed", f"Line {number} starts the spindle before a speed S is set.", line, "Give S first.")
    if machine.controller.extraction == "by hand" and not spin.stopped:
        message = (
            f"Line {number} starts the spindle, but no M0 before it stops the program for switching on the extraction."
        )
        run.depart("dust", message, line, "Put M0 before M3.")
