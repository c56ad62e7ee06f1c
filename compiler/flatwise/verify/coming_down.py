"""How the cutter comes down, and how high it goes at rapid: above wood and holders, from cut to cut."""

from __future__ import annotations

from collections.abc import Sequence
from math import hypot, inf

import numpy as np

from flatwise.core.units import feed_unit, show_apart
from flatwise.verify.capsule import Capsule
from flatwise.verify.interpreter import Move
from flatwise.verify.machine_limits import FEED_ROUNDING
from flatwise.verify.obstacles import Obstacle, clearance_over, distance
from flatwise.verify.proof_run import ProofRun, related

#: mm down per mm along a ramp, at most (common practice, no source)
SLOPE = 1.0 / 20.0

#: heights where the cut before a move ends and where the one after it has come down to, mm; None where there is none
Floor = tuple[float | None, float | None]


def floors(moves: Sequence[Move]) -> list[Floor]:
    """The floor of every move; a cut is a series of moves at feed."""
    before: list[float | None] = []
    after: list[float | None] = []
    end, begin, falling = None, None, False
    for move in moves:
        before.append(end)
        end = end if move.rapid else move.b[2]
    for move in reversed(moves):
        falls = not move.rapid and move.a[2] is not None and move.b[2] is not None and move.b[2] < move.a[2]
        if not move.rapid and not (falls and falling):
            begin = move.b[2]
        falling = falls
        after.append(begin)
    return list(zip(before, reversed(after), strict=True))


def in_one_pass(run: ProofRun, floor: Floor) -> bool:
    """Whether the cuts before and after a move lie at one height."""
    before, after = floor
    return before is not None and after is not None and abs(before - after) <= run.same


def judge_descent(run: ProofRun, move: Move, floor: Floor, things: Sequence[Obstacle]) -> None:
    """Rapids keep the machine's hop; at feed the cutter comes down only where, as flat and as slowly as it may."""
    (ax, ay, az), (bx, by, bz) = move.a, move.b
    if ax is None or ay is None or bx is None or by is None or bz is None:
        return  # judged as a move from or to an unknown place
    capsule = Capsule(ax, ay, bx, by, float(run.work.cutter.diameter) / 2)
    along, drop = hypot(bx - ax, by - ay), inf if az is None else az - bz
    low = min(bz, bz + drop)
    if move.rapid and along and in_one_pass(run, floor):
        _judge_hop(run, move, low, "moves sideways at rapid", _stands(run, capsule, low, things))
    elif move.rapid and not along and drop > 0:
        stands, plane = _stands(run, capsule, low, things), floor[1]
        if plane is not None and stands[0] < plane < run.wood.ceiling and _beside(run, capsule):
            stands = plane, "the plane of the next cut lies"
        _judge_hop(run, move, low, "goes down at rapid to", stands)
    elif not move.rapid and 0 < drop < inf:
        _judge_z_feed(run, move, along, drop)
        if run.work.cutter.plunge == "no":
            _judge_way_down(run, move, capsule, along, drop, low)


def _judge_hop(run: ProofRun, move: Move, low: float, what: str, stands: tuple[float, str]) -> None:
    """A rapid keeps the machine's hop over what stands, mm above the bed and in words."""
    hop, (height, thing) = run.work.machine.hop, stands
    if low < height + float(hop) - run.same:
        goes, needed = run.apart(low, height + float(hop))
        message = (
            f"Line {move.line.number} {what} {goes} above the bed; {thing} {run.mm(round(height, 3))} high there, and "
            f"with the machine's hop of {hop} it must be at least {needed}."
        )
        run.depart(what, message, move.line, "Stay higher.", related(run.work.machine.span("hop"), "hop is set here"))


def _judge_z_feed(run: ProofRun, move: Move, along: float, drop: float) -> None:
    """Z goes down at feed no faster than the machine's z feed, but for the digit to which heights are rounded."""
    most = run.work.machine.z_feed
    rate, digit = (move.feed or 0.0) * drop / hypot(along, drop), run.work.machine.controller.digit
    if rate * (1.0 - digit / drop) > most * (1 + FEED_ROUNDING) + 0.5:
        feed, limit = show_apart(rate, most, feed_unit(run.work.job.stock.size.thickness), 5)
        message = f"Line {move.line.number} brings Z down at {feed}; the machine's maximum on the way down is {limit}."
        set_here = related(run.work.machine.span("feed"), "the feeds are set here")
        run.depart("z feed", message, move.line, "", set_here)


def _judge_way_down(run: ProofRun, move: Move, capsule: Capsule, along: float, drop: float, low: float) -> None:
    """A cutter that cannot plunge ends a straight descent beside the panel or a hop above it, and ramps on from there.

    Where it meets wood, `judge_move` says so.
    """
    near, steep = low - float(run.work.machine.hop) + run.same, not along or drop > SLOPE * along + 2 * run.same
    kind = "ramp" if along else "straight down"
    if not run.wood.meets(capsule, near) or not steep or run.wood.meets(capsule, low + run.same) or run.again(kind):
        return
    contact = run.wood.touch(capsule, near)
    assert contact is not None
    number, cutter = move.line.number, f"cutter `{run.plan.work.job.cut.cutter}` cannot plunge"
    stands = f"where wood may stand {run.mm(round(contact.top, 3))} high"
    if not along:
        message = (
            f"Line {number} comes straight down to {run.mm(round(low, 3))} above the bed at "
            f"{run.at(contact.x, contact.y)}, {stands}; {cutter} and must stop {run.work.machine.hop} above it."
        )
        run.depart(kind, message, move.line, "Come down beside the panel, or on a ramp of 1 in 20.")
    else:
        message = (
            f"Line {number} comes down {run.mm(round(drop, 3))} on a way of {run.mm(round(along, 2))}, {stands}; "
            f"{cutter}, so its ramp may be 1 in 20 at most."
        )
        run.depart(kind, message, move.line, "Make the ramp longer.")


def _beside(run: ProofRun, capsule: Capsule) -> bool:
    """Whether a disc is clear of the panel in plan."""
    x, y, top = capsule.ax, capsule.ay, run.setup.top
    return hypot(max(-x, x - top.length, 0.0), max(-y, y - top.width, 0.0)) >= capsule.radius - run.same


def _stands(run: ProofRun, capsule: Capsule, low: float, things: Sequence[Obstacle]) -> tuple[float, str]:
    """The highest under a rapid at `low`: mm above the bed and in words; −inf where nothing stands within a hop.

    Wood that the rapid meets is left to `judge_move`; a holder stands higher by its clearance.
    """
    ax, ay, bx, by, radius = capsule
    box = min(ax, bx), max(ax, bx), min(ay, by), max(ay, by)
    near = low - float(run.work.machine.hop) + run.same
    contact = run.wood.touch_in_box(*box, radius, near)
    found = (-inf, "")
    if contact is not None and contact.top <= low:
        found = contact.top, "wood may stand"
    for thing in things:
        high = thing.height + clearance_over(run, thing)
        if high <= max(near, found[0]):
            continue
        if max(thing.x0 - box[1], box[0] - thing.x1, thing.y0 - box[3], box[2] - thing.y1) >= radius:
            continue  # as most of a batch
        if distance(np.array([capsule[:4]]), np.array([True]), thing)[0] < radius:
            found = high, f"the {thing.title} with its clearance stands"
    return found
