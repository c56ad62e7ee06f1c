"""Dogs, clamps and leaves in the way of the cutter, by exact distances in plan."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from flatwise.core.surface import Array
from flatwise.model.stages import Holder, Setup, Work
from flatwise.verify.cells import Bools
from flatwise.verify.interpreter import Move
from flatwise.verify.proof_run import ProgramRun, Tool, related
from flatwise_grammar.nodes import Span

#: A leaf's side, mm: it lies flush with the outline.
_LEAF = 25.0
#: A gap up to this is contact, even if every height is exact, mm.
_CONTACT = 0.5


class Obstacle(NamedTuple):
    """A circle (x0…x1 is its diameter) or a rectangle on the bed, `height` mm high."""

    kind: str
    name: str
    at: str
    round: bool
    x0: float
    y0: float
    x1: float
    y1: float
    height: float
    span: Span

    @property
    def title(self) -> str:
        if self.kind == "panel":
            return f"panel `{self.name}`"
        return f"leaves under {self.at}" if self.kind == "leaves" else f"{self.kind} `{self.name}` on the {self.at}"


def holding(holders: Sequence[Holder]) -> list[Obstacle]:
    """Dogs and clamps as obstacles."""
    return [
        Obstacle(h.kind, h.name, f"{h.edge} edge at {h.at}", h.kind == "dog", h.x0, h.y0, h.x1, h.y1, h.height, h.span)
        for h in holders
    ]


def obstacles(setup: Setup) -> tuple[Obstacle, ...]:
    """Everything on the bed that a cutter must not touch: dogs, clamps, and the leaves under the panel."""
    found = holding(setup.holders)
    for shim in setup.shims:
        x = min(max(shim.x - _LEAF / 2, 0.0), max(setup.top.length - _LEAF, 0.0))
        y = min(max(shim.y - _LEAF / 2, 0.0), max(setup.top.width - _LEAF, 0.0))
        found.append(
            Obstacle("leaves", "leaves", shim.place, False, x, y, x + _LEAF, y + _LEAF, shim.height, shim.span)
        )
    return tuple(found)


def judge_obstacles(run: ProgramRun, moves: list[Move], things: Sequence[Obstacle]) -> None:
    """The tool keeps its clearance from dogs and clamps, and shank, nose and shoe do not touch them.

    The cutter does not touch them either with every height as far off as it may be (`contact_gap`).
    """
    if not things:
        return
    for move in moves:
        if None in move.a[:2] or None in move.b[:2]:
            _judge_unknown_place(run, move, max(things, key=lambda thing: thing.height))
    known = [move for move in moves if None not in move.b and None not in move.a]
    if not known:
        return
    ends = np.array([[*move.a, *move.b] for move in known], dtype=float)
    lows = np.minimum(ends[:, 2], ends[:, 5])
    lines = ends[:, [0, 1, 3, 4]]
    rapid = np.array([move.rapid for move in known])
    off = np.array([rounding(run, move) for move in known])
    keeps = max(contact_gap(run), *(clearance_over(run, thing) for thing in things))
    low = lows < max(thing.height for thing in things) + keeps + run.same
    if not low.any():
        return
    left, front = np.minimum(lines[low, :2], lines[low, 2:]).min(axis=0)
    right, back = np.maximum(lines[low, :2], lines[low, 2:]).max(axis=0)
    reach = max(radius for _, radius, _ in run.tool.parts) + max(keeps, _CONTACT) + float(off.max()) + 1.0
    for thing in things:
        # of the things of a batch most are far from all moves over one panel
        if max(thing.x0 - right, left - thing.x1, thing.y0 - back, front - thing.y1) < reach:
            _judge_obstacle(run, known, lines, rapid, lows, off, thing)


def _judge_unknown_place(run: ProgramRun, move: Move, tallest: Obstacle) -> None:
    """A Z move at an unknown place, or the first move in X and Y, may be over anything."""
    lowest = min((z for z in (move.a[2], move.b[2]) if z is not None), default=None)
    if lowest is not None and lowest < tallest.height + clearance_over(run, tallest):
        moves, stands = run.apart(lowest, tallest.height)
        message = (
            f"Line {move.line.number} moves {moves} above the bed before the program has set X and Y, "
            f"and the {tallest.title} is {stands} high."
        )
        run.hit("unknown place", message, move.line, "Go up in Z first.")


def _judge_obstacle(
    run: ProgramRun, moves: list[Move], lines: Array, rapid: Bools, lows: Array, off: Array, thing: Obstacle
) -> None:
    """One obstacle against all moves, each with its line in plan (n, 4), its lowest height and its `rounding` (n,)."""
    clearance = clearance_over(run, thing)
    parts = run.tool.parts if thing.kind != "leaves" else run.tool.parts[:1]
    near = lows < thing.height + max(clearance, contact_gap(run)) + run.same
    if not near.any():
        return
    away = np.full(len(moves), np.inf)
    away[near] = distance(lines[near], rapid[near], thing) - off[near]
    for part, radius, above in parts:
        room = clearance if part == run.tool.parts[0][0] else 0.0
        gap = away - radius
        over = lows + above - thing.height
        slack = run.same if room > 0 else 0.0
        least, beside = _contact(run, part, thing)
        touching = (gap <= beside) & (over <= least - run.same * (least > 0))
        close = touching | ((gap < room - 2 * slack) & (over < room - slack))
        for i in np.flatnonzero(close):
            if not touching[i]:
                passes, needed = run.apart(max(gap[i], over[i]), clearance)
                what = f"passes the {thing.title} at {passes}"
                depth = f", less than the clearance of {needed}"
            elif gap[i] <= 0 and over[i] <= 0:
                what = f"brings the {part} into the {thing.title}"
                depth = f", {run.mm(round(-gap[i], 3))} deep" if gap[i] < 0 and away[i] > 0 else ""
            else:
                what = f"may bring the {part} into the {thing.title}"
                depth = _how_close(run, float(gap[i]), float(over[i]), least)
            _, _, x, y = lines[i]
            message = (
                f"Line {moves[i].line.number} {what}{depth}{counting(run, off[i])}, on its way to {run.at(x, y)} at "
                f"{run.mm(round(float(lows[i]), 3))} above the bed."
            )
            run.collisions.add(moves[i].line.number)
            placed = related(thing.span, f"the {thing.kind} is placed here")
            run.hit(f"{thing.title}", message, moves[i].line, "", placed)


def rounding(run: ProgramRun, move: Move) -> float:
    """How far the machine's path may be from a programmed move, mm: it rounds corners between level moves at feed."""
    return run.work.machine.controller.rounding if move.cuts_level else 0.0


def counting(run: ProgramRun, off: float) -> str:
    """The end of a message whose distances count `rounding`, mm."""
    return f", counting the {run.mm(off)} by which the machine may round corners" if off > 0 else ""


def _contact(run: ProgramRun, part: str, thing: Obstacle) -> tuple[float, float]:
    """The largest gaps over and beside an obstacle that count as contact, mm.

    Leaves lie under the panel, and a shoe gives way.  Shank and nose may run lower by what zero may be too low.
    """
    if thing.kind == "leaves" or part == "dust shoe":
        return 0.0, 0.0
    return (contact_gap(run), _CONTACT) if part == run.tool.parts[0][0] else (run.sink, 0.0)


def _how_close(run: ProgramRun, gap: float, over: float, least: float) -> str:
    """The gap beside or over an obstacle, mm, and the largest that counts as contact."""
    if over <= 0:
        passes, contact = run.apart(gap, _CONTACT)
        return f", {passes} beside it, where {contact} or less counts as contact"
    passes, contact = run.apart(over, least)
    return f", {passes} over it, where {contact} or less counts as contact"


def contact_gap(run: ProgramRun) -> float:
    """The gap over a holder that counts as contact, mm: uncertainty of heights and 0.5 mm; nothing lowers it."""
    machine, paper = run.work.machine, run.work.job.zero.z.paper
    lean = run.tool.parts[0][1] * machine.tram.tangent
    touched = 0.2 * float(paper) if paper is not None else 0.0
    return run.sink + float(machine.bed) + lean + float(machine.repeat) + touched + _CONTACT


def cutting_tool(work: Work) -> Tool:
    """The cutter, and everything that turns or rides with it."""
    cutter, machine = work.cutter, work.machine
    parts = [
        ("cutter", float(cutter.diameter) / 2, 0.0),
        ("shank", float(cutter.shank) / 2, float(cutter.blade)),
        ("spindle's nose", float(machine.nose) / 2, float(cutter.stick_out)),
    ]
    if machine.shoe is not None:
        parts.append(("dust shoe", float(machine.shoe.across) / 2, float(machine.shoe.above)))
    return Tool("cutter's edge", float(cutter.stick_out), tuple(parts))


def clearance_over(run: ProgramRun, thing: Obstacle) -> float:
    """The clearance that the cutter keeps from an obstacle, mm."""
    if thing.kind == "leaves" or "clearance" in run.work.waivers:
        return 0.0
    return run.work.rules.clearance


def distance(lines: Array, rapid: Bools, thing: Obstacle) -> Array:
    """The least distance in plan from the cutter's centre to an obstacle for each move, mm; 0 inside it.

    lines: (n, 4) ax ay bx by.  In a rapid (n,) the centre may be anywhere in the box round its two ends, because the
    axes need not arrive together; in other moves it stays on the straight line.
    """
    ax, ay, bx, by = lines.T
    left, right, front, back = np.minimum(ax, bx), np.maximum(ax, bx), np.minimum(ay, by), np.maximum(ay, by)
    if thing.round:
        cx, cy, r = (thing.x0 + thing.x1) / 2, (thing.y0 + thing.y1) / 2, (thing.x1 - thing.x0) / 2
        line = _point_to_line(cx, cy, lines)
        box = _box_to_box(cx, cx, left, right, cy, cy, front, back)
        return np.maximum(np.where(rapid, box, line) - r, 0.0)
    box = _box_to_box(thing.x0, thing.x1, left, right, thing.y0, thing.y1, front, back)
    corners = ((thing.x0, thing.y0), (thing.x1, thing.y0), (thing.x0, thing.y1), (thing.x1, thing.y1))
    line = np.min([_point_to_line(x, y, lines) for x, y in corners], axis=0)
    for x, y in ((ax, ay), (bx, by)):
        line = np.minimum(line, _box_to_box(thing.x0, thing.x1, x, x, thing.y0, thing.y1, y, y))
    line = np.where(_crosses(lines, thing), 0.0, line)
    return np.asarray(np.where(rapid, box, line))


def _box_to_box(x0: float, x1: float, u0: Array, u1: Array, y0: float, y1: float, v0: Array, v1: Array) -> Array:
    """Distance between the boxes x0…x1, y0…y1 and u0…u1, v0…v1."""
    across = np.maximum(np.maximum(u0 - x1, x0 - u1), 0.0)
    along = np.maximum(np.maximum(v0 - y1, y0 - v1), 0.0)
    return np.asarray(np.hypot(across, along))


def _point_to_line(x: float, y: float, lines: Array) -> Array:
    ax, ay, bx, by = lines.T
    ux, uy = bx - ax, by - ay
    square = ux * ux + uy * uy
    t = np.clip(((x - ax) * ux + (y - ay) * uy) / np.where(square > 0, square, 1.0), 0.0, 1.0)
    return np.asarray(np.hypot(x - ax - t * ux, y - ay - t * uy))


def _crosses(lines: Array, thing: Obstacle) -> Bools:
    """Whether a line passes through a rectangle: its intervals of t between both pairs of sides overlap."""
    ax, ay, bx, by = lines.T
    enter, leave = np.zeros(len(ax)), np.ones(len(ax))
    for a, b, low, high in ((ax, bx, thing.x0, thing.x1), (ay, by, thing.y0, thing.y1)):
        d = b - a
        still = d == 0
        inside = (a >= low) & (a <= high)
        one, other = (low - a) / np.where(still, 1.0, d), (high - a) / np.where(still, 1.0, d)
        enter = np.maximum(enter, np.where(still, np.where(inside, 0.0, np.inf), np.minimum(one, other)))
        leave = np.minimum(leave, np.where(still, np.where(inside, 1.0, -np.inf), np.maximum(one, other)))
    return np.asarray(enter <= leave)
