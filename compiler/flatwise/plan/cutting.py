"""The cut itself: speed, feed, chip, power and force.

Formulas are the usual ones of milling: feed = n·z·f_z, rim speed = π·D·n, removal = a_e·a_p·v_f, power =
removal × cutting energy, and the chip of an engagement narrower than half the cutter is thinner than f_z.
The cutting energy of wood is an estimate, so power, force and holding are estimates too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import acos, ceil, floor, hypot, pi, sqrt

from flatwise.model.shop import Cutter, Machine
from flatwise.model.stages import Work

#: auto feeds are rounded down to this, mm/min
FEED_STEP = 10.0
#: times the computed force that holders must stand
SAFETY = 4.0


def rim_speed(diameter: float, speed: float) -> float:
    """π·D·n in m/s, for a diameter in mm and a speed in rpm."""
    return pi * diameter * speed / 60_000.0


def thinning(width: float, diameter: float) -> float:
    """Thickest chip ÷ chip load for an engaged width, both in mm.

    2·√[(a_e/D)(1 − a_e/D)] where the width is under half the diameter, else 1.
    """
    share = width / diameter
    return 1.0 if share >= 0.5 else 2.0 * sqrt(max(0.0, share * (1.0 - share)))


def cutting_power(width: float, depth: float, feed: float, energy: float) -> float:
    """a_e·a_p·v_f × cutting energy in W, for mm, mm, mm/min and N/mm2."""
    return width * depth * feed * energy / 60_000.0


def wings_in_cut(width: float, diameter: float, wings: int) -> int:
    """How many wings can be in the cut at once: the arc acos(1 − 2·a_e/D) over the pitch 2π/z, rounded up."""
    arc = acos(1.0 - 2.0 * min(1.0, max(0.0, width / diameter)))
    return max(1, ceil(wings * arc / (2.0 * pi) - 1e-9))


def peak_force(depth: float, chip: float, energy: float, wings: int) -> float:
    """Tangential force depth × chip × cutting energy × wings, with as much feed thrust square to it: √2 of it, in N."""
    tangential = depth * chip * energy * wings
    return hypot(tangential, tangential)


def spindle_power(machine: Machine, speed: float) -> float:
    """Power of the spindle at a speed in W: rated × n / its top speed, never over the rated."""
    return float(machine.spindle.power) * min(1.0, speed / float(machine.spindle.most))


def speed_of(work: Work) -> float:
    """Spindle speed, rpm: as written, or for `auto` the highest that cutter and spindle both allow."""
    written = work.job.cut.speed
    if not isinstance(written, str):
        return float(written)
    return min(float(work.cutter.speed.most), float(work.machine.spindle.most))


def lean_part(work: Work) -> float:
    """½·D·tan(lean): how far the rim of a leaning cutter is from its middle, mm."""
    return 0.5 * float(work.cutter.diameter) * work.machine.tram.tangent


def deepest_allowed(work: Work, width: float) -> float:
    """The bite that a pass may take, mm: the job's own as written, else the least of cutter's, standard's and power's.

    Power's is the depth at which the slowest feed that the chip allows (or the feed that the job writes)
    needs all the power that the standard grants, for the widest bite `width` in mm.
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
class Cutting:
    """Figures of one setup's cut: rpm, mm/min, mm, m/s, W, N.

    `chip_load` is per wing before thinning, `force` the mean tangential force (power ÷ rim speed), `load`
    what the holders must stand.
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
    """The push of a stall: rated spindle power ÷ rim speed, N."""
    return float(work.machine.spindle.power) / rim_speed(float(work.cutter.diameter), speed)


def cutting(work: Work, width: float, depth: float, held: Callable[[float], bool]) -> Cutting:
    """Figures for the widest bite `width` and the deepest bite `depth` (mm).

    `held(load)` says whether the holders stand a load in N.  An auto feed is the least of the machine's, the
    chip's, the power's and the holding's, rounded down to 10 mm/min; a written one is taken as written.
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
        # a stall that the holders do not stand is judged by the check; no feed would mend it
        if not held(load(feed)) and held(stall):
            feed, limit = _most(lambda feed: held(load(feed)), feed), "holding"
        feed = max(FEED_STEP, floor(feed / FEED_STEP + 1e-9) * FEED_STEP)
    else:
        feed, limit = float(cut.feed), "job"
    power = cutting_power(width, depth, feed, energy)
    rim = rim_speed(diameter, speed)
    return Cutting(speed, feed, limit, feed / (speed * wings), rim, power, power / rim, load(feed))


def _most(good: Callable[[float], bool], high: float) -> float:
    """The most below `high` that is still good, by halving."""
    low = 0.0
    for _ in range(24):
        middle = (low + high) / 2.0
        low, high = (middle, high) if good(middle) else (low, middle)
    return low


def typical_chip(work: Work, stepover: float, feed: float, width: float) -> tuple[float, float]:
    """Thinnest and thickest chip in mm: of a row that takes just the stepover, and of the widest bite."""
    diameter, cutter = float(work.cutter.diameter), work.cutter
    per_wing = feed / (speed_of(work) * int(cutter.wings))
    narrow = min(width, stepover) if stepover > 0 else width
    return per_wing * thinning(narrow, diameter), per_wing * thinning(width, diameter)


def shank_fits(cutter: Cutter, machine: Machine) -> bool:
    """Whether the collet grips the shank."""
    least, most = machine.collet.range
    return least - 1e-9 <= float(cutter.shank) <= most + 1e-9
