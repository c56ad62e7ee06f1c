"""The cut itself: speed, feed, chip, power and force.

The formulas are the usual ones of milling (any handbook of machining): feed v_f = n·z·f_z, rim speed v_c = π·D·n,
removal rate Q = a_e·a_p·v_f, power P = Q × cutting energy; the chip of an engagement narrower than half the cutter is
thinner than f_z.  The cutting energy of wood is an estimate, so power, force and holding are estimates too.
"""

from __future__ import annotations

from collections.abc import Callable
from math import acos, ceil, floor, hypot, inf, pi, sqrt
from typing import NamedTuple

from flatwise.model.shop import Cutter, Machine
from flatwise.model.stages import Work

#: an auto feed is rounded down to a multiple of this (mm/min)
FEED_STEP = 10.0
#: holders must stand this many times the computed force
SAFETY = 4.0


def rim_speed(diameter: float, speed: float) -> float:
    """v_c = π·D·n in m/s, for a diameter in mm and a speed in rpm."""
    return pi * diameter * speed / 60_000.0


def thinning(width: float, diameter: float) -> float:
    """Thickest chip ÷ chip load, for an engaged width and a diameter in mm.

    2·√[(a_e/D)(1 − a_e/D)] for a width below half the diameter, else 1.
    """
    share = width / diameter
    return 1.0 if share >= 0.5 else 2.0 * sqrt(max(0.0, share * (1.0 - share)))


def cutting_power(width: float, depth: float, feed: float, energy: float) -> float:
    """P = a_e·a_p·v_f × cutting energy in W, for mm, mm, mm/min and N/mm² (= J/cm³)."""
    return width * depth * feed * energy / 60_000.0


def wings_in_cut(width: float, diameter: float, wings: int) -> int:
    """How many wings can be in the cut at once: the arc acos(1 − 2·a_e/D) ÷ the pitch 2π/z, rounded up, at least 1."""
    arc = acos(1.0 - 2.0 * min(1.0, max(0.0, width / diameter)))
    return max(1, ceil(wings * arc / (2.0 * pi) - 1e-9))


def peak_force(depth: float, chip: float, energy: float, wings: int) -> float:
    """√2 × depth × chip × cutting energy × wings in N: the tangential force with as much feed thrust square to it.

    `depth` and `chip` load in mm, `energy` in N/mm².
    """
    tangential = depth * chip * energy * wings
    return hypot(tangential, tangential)


def spindle_power(machine: Machine, speed: float) -> float:
    """Power of the spindle at a speed (rpm) in W: rated power × n ÷ top speed, at most the rated power."""
    return float(machine.spindle.power) * min(1.0, speed / float(machine.spindle.most))


def speed_range(work: Work) -> tuple[float, float]:
    """The lowest and the highest speed, rpm: both as written, or for `auto` the range that cutter and spindle share.

    Where they share none, both are the lower of the top speeds.
    """
    written, cutter, spindle = work.job.cut.speed, work.cutter.speed, work.machine.spindle
    if not isinstance(written, str):
        return float(written), float(written)
    most = min(float(cutter.most), float(spindle.most))
    return min(max(float(cutter.least), float(spindle.least)), most), most


def lean_part(work: Work) -> float:
    """½·D·tan(lean): how far the rim of a leaning cutter stands above or below its middle, mm."""
    return 0.5 * float(work.cutter.diameter) * work.machine.tram.tangent


def deepest_allowed(work: Work, width: float) -> float:
    """The deepest bite of a pass, mm: as the job writes it, else the least that cutter, standard and power allow.

    The power allows the depth at which the widest bite (`width`, mm) needs all the power that the standard grants, at
    the feed that the job writes or the slowest one that the chip load allows.  Power and that feed fall alike with the
    speed.
    """
    cut, cutter = work.job.cut, work.cutter
    if cut.depth is not None:
        return float(cut.depth)
    speed = speed_range(work)[1]
    thinnest = speed * int(cutter.wings) * float(cutter.chip_load.least)
    slowest = ceil(thinnest / FEED_STEP - 1e-9) * FEED_STEP if isinstance(cut.feed, str) else float(cut.feed)
    allowed = work.rules.power * spindle_power(work.machine, speed)
    by_power = allowed / cutting_power(width, 1.0, slowest, float(work.wood.cutting_energy))
    standard = work.rules.depth if work.rules.depth is not None else float(cutter.depth)
    return min(float(cutter.depth), standard, by_power)


class CutFigures(NamedTuple):
    """Figures of one setup's cut: rpm, mm/min, mm, m/s, W and N.

    `feed_limit` says what limits the feed.  `chip_load` is per wing before thinning.  `force` is the mean tangential
    force (power ÷ rim speed), and `load` what the holders must stand.
    """

    speed: float
    feed: float
    feed_limit: str
    chip_load: float
    rim_speed: float
    power: float
    force: float
    load: float


def stall_push(work: Work, speed: float) -> float:
    """The push when the cutter stalls, N: rated spindle power ÷ rim speed."""
    return float(work.machine.spindle.power) / rim_speed(float(work.cutter.diameter), speed)


def cut_figures(work: Work, width: float, depth: float, held: Callable[[float], bool]) -> CutFigures:
    """Figures for the widest bite `width` and the deepest bite `depth`, mm.

    `held(load)` says whether the holders stand a load in N.  A written speed or feed is taken as written.  An auto feed
    is the least that machine, chip load, power and holding allow, rounded down to 10 mm/min.  Chip load, power and
    holding each allow a feed in proportion to the speed, so the highest speed has the fastest feed.  An auto speed is
    the lowest whole rpm with that feed, or with the written one, that keeps every limit which the highest speed keeps.
    """
    machine, cutter, cut = work.machine, work.cutter, work.job.cut
    least, most = speed_range(work)
    wings, diameter = int(cutter.wings), float(cutter.diameter)
    energy, chip = float(work.wood.cutting_energy), float(cutter.chip_load.most)
    teeth = wings_in_cut(width, diameter, wings)

    def load(speed: float, per_turn: float) -> float:
        return max(SAFETY * peak_force(depth, per_turn / wings, energy, teeth), stall_push(work, speed))

    # the feed per turn, mm, that each limit allows
    whole = spindle_power(machine, most) / most / max(1e-12, cutting_power(width, depth, 1.0, energy))
    limits = {"chip_load": wings * chip, "power": work.rules.power * whole}
    heaviest = load(least, min(limits.values()) if isinstance(cut.feed, str) else float(cut.feed) / least)
    stands = max(_most(held, heaviest), 1e-12)
    by_holders = inf
    if stands < heaviest:
        by_holders = wings * stands / max(1e-12, SAFETY * peak_force(depth, 1.0, energy, teeth))
    # from this speed on the holders stand a stall; if it is too high, no feed helps either, and the check says so
    past_stall = most * stall_push(work, most) / stands
    if isinstance(cut.feed, str):
        allowed = {"machine": float(machine.feed.most), **{name: each * most for name, each in limits.items()}}
        if past_stall <= most:
            allowed["holding"] = by_holders * most
        limit = min(allowed, key=allowed.__getitem__)
        feed = max(FEED_STEP, floor(allowed[limit] / FEED_STEP + 1e-9) * FEED_STEP)
    else:
        feed, limit = float(cut.feed), "job"
        limits |= {"chip_load": wings * chip / thinning(width, diameter), "spindle": whole}
    lowest = [max(past_stall, feed / by_holders), *(feed / each for each in limits.values())]
    speed = min(most, ceil(max([least, *(each for each in lowest if each <= most + 1e-6)]) - 1e-6))
    power = cutting_power(width, depth, feed, energy)
    rim = rim_speed(diameter, speed)
    return CutFigures(speed, feed, limit, feed / (speed * wings), rim, power, power / rim, load(speed, feed / speed))


def _most(good: Callable[[float], bool], high: float) -> float:
    """The greatest value up to `high` that is good, by bisection."""
    if good(high):
        return high
    low = 0.0
    for _ in range(40):
        middle = (low + high) / 2.0
        low, high = (middle, high) if good(middle) else (low, middle)
    return low


def typical_chip(work: Work, stepover: float, per_wing: float, width: float) -> tuple[float, float]:
    """Chip thickness of a row that takes only the stepover, and of the widest bite, for a chip load `per_wing`; mm."""
    diameter = float(work.cutter.diameter)
    narrow = min(width, stepover) if stepover > 0 else width
    return per_wing * thinning(narrow, diameter), per_wing * thinning(width, diameter)


def shank_fits(cutter: Cutter, machine: Machine) -> bool:
    """Whether the collet takes the cutter's shank."""
    least, most = machine.collet.range
    return least - 1e-9 <= float(cutter.shank) <= most + 1e-9
