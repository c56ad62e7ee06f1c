"""The cut itself: speed, feed, chip, power and force.

The formulas are the usual ones of milling (any handbook of machining): feed v_f = n·z·f_z, rim speed v_c = π·D·n,
removal rate Q = a_e·a_p·v_f, power P = Q × cutting energy; the chip of an engagement narrower than half the cutter is
thinner than f_z.  The cutting energy of wood is an estimate, so power, force and holding are estimates too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import acos, ceil, floor, hypot, pi, sqrt

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


def speed_of(work: Work) -> float:
    """Spindle speed in rpm: as written, or for `auto` the highest that cutter and spindle both allow."""
    written = work.job.cut.speed
    if not isinstance(written, str):
        return float(written)
    return min(float(work.cutter.speed.most), float(work.machine.spindle.most))


def lean_part(work: Work) -> float:
    """½·D·tan(lean): how far the rim of a leaning cutter stands above or below its middle, mm."""
    return 0.5 * float(work.cutter.diameter) * work.machine.tram.tangent


def deepest_allowed(work: Work, width: float) -> float:
    """The deepest bite of a pass, mm: as the job writes it, else the least that cutter, standard and power allow.

    The power allows the depth at which the widest bite (`width`, mm) needs all the power that the standard grants, at
    the feed that the job writes or the slowest one that the chip load allows.
    """
    cut, cutter = work.job.cut, work.cutter
    if cut.depth is not None:
        return float(cut.depth)
    speed = speed_of(work)
    slowest = (
        speed * int(cutter.wings) * float(cutter.chip_load.least) if isinstance(cut.feed, str) else float(cut.feed)
    )
    allowed = work.rules.power * spindle_power(work.machine, speed)
    by_power = allowed / cutting_power(width, 1.0, slowest, float(work.wood.cutting_energy))
    standard = work.rules.depth if work.rules.depth is not None else float(cutter.depth)
    return min(float(cutter.depth), standard, by_power)


@dataclass(frozen=True)
class CutFigures:
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

    `held(load)` says whether the holders stand a load in N.  An auto feed is the least that machine, chip load, power
    and holding allow, rounded down to 10 mm/min; a written feed is taken as written.
    """
    machine, cutter, cut = work.machine, work.cutter, work.job.cut
    speed, wings, diameter = speed_of(work), int(cutter.wings), float(cutter.diameter)
    energy = float(work.wood.cutting_energy)
    teeth = wings_in_cut(width, diameter, wings)
    stall = stall_push(work, speed)

    def load(feed: float) -> float:
        return max(SAFETY * peak_force(depth, feed / (speed * wings), energy, teeth), stall)

    if isinstance(cut.feed, str):
        granted = work.rules.power * spindle_power(machine, speed)
        limits = [
            (float(machine.feed), "machine"),
            (speed * wings * float(cutter.chip_load.most), "chip_load"),
            (granted / max(1e-12, cutting_power(width, depth, 1.0, energy)), "power"),
        ]
        feed, limit = min(limits)
        # if the holders don't even stand a stall, no feed helps, and the check says so
        if not held(load(feed)) and held(stall):
            feed, limit = _most(lambda feed: held(load(feed)), feed), "holding"
        feed = max(FEED_STEP, floor(feed / FEED_STEP + 1e-9) * FEED_STEP)
    else:
        feed, limit = float(cut.feed), "job"
    power = cutting_power(width, depth, feed, energy)
    rim = rim_speed(diameter, speed)
    return CutFigures(speed, feed, limit, feed / (speed * wings), rim, power, power / rim, load(feed))


def _most(good: Callable[[float], bool], high: float) -> float:
    """The greatest value up to `high` that is still good, by bisection."""
    low = 0.0
    for _ in range(24):
        middle = (low + high) / 2.0
        low, high = (middle, high) if good(middle) else (low, middle)
    return low


def typical_chip(work: Work, stepover: float, feed: float, width: float) -> tuple[float, float]:
    """Chip thickness in mm of a row that takes only the stepover, and of the widest bite; mm, mm/min, mm."""
    diameter, cutter = float(work.cutter.diameter), work.cutter
    per_wing = feed / (speed_of(work) * int(cutter.wings))
    narrow = min(width, stepover) if stepover > 0 else width
    return per_wing * thinning(narrow, diameter), per_wing * thinning(width, diameter)


def shank_fits(cutter: Cutter, machine: Machine) -> bool:
    """Whether the collet takes the cutter's shank."""
    least, most = machine.collet.range
    return least - 1e-9 <= float(cutter.shank) <= most + 1e-9
