"""What a program may not leave or meet, whatever the wood: modes, travel, the plane, dogs, clamps and leaves."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from flatwise.core.finding import Related
from flatwise.core.surface import Array
from flatwise.findings.fw902_not_as_planned import departs
from flatwise.findings.fw903_program_hits import hits
from flatwise.verify.holders import Obstacle, distance, obstacles
from flatwise.verify.motion import Doubt, Frame, Move
from flatwise.verify.rs274 import Block
from flatwise.verify.trial import Bench
from flatwise.verify.wood import Bools
from flatwise_grammar.nodes import Span


def hit(bench: Bench, kind: str, message: str, block: Block, help: str = "", related: tuple[Related, ...] = ()) -> None:
    """Add an FW903 at a line."""
    bench.add(kind, replace(hits(message, bench.span(block), help), related=related))


def depart(
    bench: Bench, kind: str, message: str, block: Block, help: str = "", related: tuple[Related, ...] = ()
) -> None:
    """Add an FW902 at a line."""
    bench.add(kind, replace(departs(message, bench.span(block), help), related=related))


def seen(span: Span, what: str) -> tuple[Related, ...]:
    """A second place and what stands there, where the sources have one."""
    return (Related(what, span),) if span.path else ()


def doubt(bench: Bench, step: Doubt) -> None:
    """Modes that the program leaves open, or sets otherwise than the machine needs."""
    controller = bench.plan.work.machine.controller
    line = step.block.line
    wanted = "G20, inches" if controller.units == "in" else "G21, millimetres"
    message, way_out = {
        "units": (f"Line {line} sets {step.text}, and the machine's programs are in {wanted}.", ""),
        "offset": (f"Line {line} sets the work offset {step.text}, and the job's zero is in {controller.offset}.", ""),
        "unset": (
            f"Line {line} moves before the program has set its {step.text}, so it depends on what ran before.",
            "Set every mode in the first lines.",
        ),
        "relative": (f"Line {line} moves by {step.text} from a place that the program has not set.", "Use G90."),
        "no_top": (
            f"Line {line} goes to {step.text} in machine coordinates, and the machine's file gives no `top`.",
            "Give `top` in the controller's block, or leave out G53 in Z.",
        ),
    }[step.kind]
    place = {"units": "units", "offset": "offset"}.get(step.kind)
    verb = "are" if place == "units" else "is"
    related = seen(controller.span(place), f"the machine's {place} {verb} set here") if place else ()
    # a mode that is left open is told once each, a coordinate once for its axis
    told = step.text if step.kind in ("unset", "units", "offset") else step.text[:1]
    depart(bench, f"{step.kind} {told}", message, step.block, way_out, related)


def travel(bench: Bench, moves: list[Move], frame: Frame) -> None:
    """Every end of a move lies within the machine's travel (moves are straight, so all of the move does)."""
    machine = bench.plan.work.machine
    highest = machine.collet_height - float(bench.plan.work.cutter.stick_out)
    for move in moves:
        for axis, name in enumerate("XY"):
            at = move.b[axis]
            shift = frame.machine[axis]
            reach = float(machine.travel.x if axis == 0 else machine.travel.y)
            if at is None or shift is None:
                continue
            there = at - shift
            if not -bench.same <= there <= reach + bench.same:
                message = (
                    f"Line {move.block.line} goes to {name} {bench.mm(there)} of the machine, "
                    f"outside its travel of 0 to {bench.mm(reach)}."
                )
                reach_is = seen(machine.span("travel"), "the travel is set here")
                depart(bench, f"travel {name}", message, move.block, "", reach_is)
        z = move.b[2]
        if z is not None and not highest - float(machine.travel.z) - bench.same <= z <= highest + bench.same:
            message = (
                f"Line {move.block.line} takes the edge to {bench.mm(z)} above the bed, and it reaches from "
                f"{bench.mm(highest - float(machine.travel.z))} to {bench.mm(highest)}."
            )
            depart(bench, "travel Z", message, move.block)


def below(bench: Bench, moves: list[Move]) -> None:
    """No move goes lower than the plane that is to be left, over the panel or beside it."""
    plane = bench.setup.plane
    for move in moves:
        z = move.b[2]
        if z is None or z >= plane - bench.same:
            continue
        x, y = move.b[0], move.b[1]
        place = "" if x is None or y is None else f" at {bench.at(x, y)}"
        near = "" if x is None or y is None else f", nearest to {bench.where(x, y, z)}"
        deep = bench.mm(round(plane - z, 4))
        message = f"Line {move.block.line} goes {deep} below the plane that is to be left{place}{near}."
        depart(bench, "below", message, move.block)


def holders(bench: Bench, moves: list[Move]) -> None:
    """The cutter keeps its clearance from dogs and clamps, and shank, nose and shoe do not touch them.

    However low zero may have been set, the cutter does not touch them either.
    """
    things = obstacles(bench.setup)
    known = [move for move in moves if None not in move.b and None not in move.a]
    # a Z move whose place is not known yet, or a first move in X and Y, may be over anything
    for move in moves:
        heights = [z for z in (move.a[2], move.b[2]) if z is not None]
        lowest = min(heights, default=None)
        if None not in move.a[:2] and None not in move.b[:2]:
            continue
        tallest = max(things, key=lambda thing: thing.height, default=None)
        if lowest is not None and tallest is not None and lowest < tallest.height + _clearance(bench, tallest):
            message = (
                f"Line {move.block.line} moves {bench.mm(lowest)} above the bed before the program has said where, "
                f"and the {_name(tallest)} is {bench.mm(tallest.height)} tall."
            )
            hit(bench, "unknown place", message, move.block, "Go up first.")
    if not known or not things:
        return
    ends = np.array([[*move.a, *move.b] for move in known], dtype=float)
    lows = np.minimum(ends[:, 2], ends[:, 5])
    plan_moves = ends[:, [0, 1, 3, 4]]
    boxed = np.array([move.rapid for move in known])
    for thing in things:
        _one(bench, known, plan_moves, boxed, lows, thing)


def _one(bench: Bench, moves: list[Move], ends: Array, boxed: Bools, lows: Array, thing: Obstacle) -> None:
    clearance = _clearance(bench, thing)
    parts = bench_parts(bench)
    # how far the cutter may run below what the program says: contact counts from there, the clearance does not
    sink = bench.sink if thing.kind != "leaves" else 0.0
    near = lows < thing.height + max(clearance, sink) + bench.same
    if not near.any():
        return
    away = np.full(len(moves), np.inf)
    away[near] = distance(ends[near], boxed[near], thing)
    for part, radius, above in parts if thing.kind != "leaves" else parts[:1]:
        room = clearance if part == "cutter" else 0.0
        gap = away - radius
        over = lows + above - thing.height
        slack = bench.same if room > 0 else 0.0
        touching = (gap <= 0) & (over <= (0.0 if part == "dust shoe" else sink))
        close = touching | ((gap < room - 2 * slack) & (over < room - slack))
        for index in np.flatnonzero(close):
            move = moves[index]
            bench.collisions.add(move.block.line)
            x, y = move.b[0], move.b[1]
            assert x is not None and y is not None
            if touching[index]:
                may = "may bring" if over[index] > 0 else "brings"
                what = f"{may} the {part} into the {_name(thing)}"
                depth = f", {bench.mm(round(-gap[index], 3))} deep" if gap[index] < 0 and away[index] > 0 else ""
            else:
                what = f"passes the {_name(thing)} at {bench.mm(round(max(gap[index], over[index]), 3))}"
                depth = f", and {bench.mm(clearance)} is the least"
            message = (
                f"Line {move.block.line} {what}{depth}, on the way to {bench.at(x, y)} at "
                f"{bench.mm(round(float(lows[index]), 3))} above the bed."
            )
            placed = seen(thing.span, f"the {thing.kind} is placed here")
            hit(bench, f"{thing.kind} {thing.at}", message, move.block, "", placed)


def bench_parts(bench: Bench) -> tuple[tuple[str, float, float], ...]:
    """(name, radius, height above the cutter's edge at which it begins) of all that turns or rides, mm."""
    cutter, machine = bench.plan.work.cutter, bench.plan.work.machine
    parts = [
        ("cutter", float(cutter.diameter) / 2, 0.0),
        ("shank", float(cutter.shank) / 2, float(cutter.blade)),
        ("spindle's nose", float(machine.nose) / 2, float(cutter.stick_out)),
    ]
    if machine.shoe is not None:
        parts.append(("dust shoe", float(machine.shoe.across) / 2, float(machine.shoe.above)))
    return tuple(parts)


def _clearance(bench: Bench, thing: Obstacle) -> float:
    if thing.kind == "leaves" or "clearance" in bench.plan.work.waivers:
        return 0.0
    return bench.plan.work.rules.clearance


def _name(thing: Obstacle) -> str:
    if thing.kind == "leaves":
        return f"leaves under {thing.at}"
    return f"{thing.kind} `{thing.name}` on the {thing.at}"
