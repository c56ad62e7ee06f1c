"""How long moves take: each straight run accelerates, cruises and brakes, and stops only at a corner.

A machine that rounds its corners is faster; no time is taken off for that.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, dist, radians, sqrt

from flatwise.model.shop import Machine
from flatwise.model.stages import Leg

#: A change of direction by less than this angle is run through without a stop.
SMOOTH = cos(radians(5.0))


def straight(length: float, speed: float, acceleration: float) -> float:
    """Seconds for a straight move from stop to stop, in mm, mm/min and mm/s².

    Trapezoid of speed: L/v + v/a; or a triangle where L is too short to reach v: 2·√(L/a).
    """
    top = speed / 60.0
    if length >= top * top / acceleration:
        return length / top + top / acceleration
    return 2.0 * sqrt(max(0.0, length) / acceleration)


def in_the_air(machine: Machine, start: tuple[float, float], end: tuple[float, float]) -> float:
    """Seconds at rapid from one place to another, mm."""
    return straight(dist(start, end), machine.rapid_feed, float(machine.acceleration))


def duration(
    start: tuple[float, float, float],
    legs: Sequence[Leg],
    feed: float,
    z_feed: float,
    rapid: float,
    acceleration: float,
) -> float:
    """Seconds for legs one after another from `start` (x, y, z in mm); feeds and rapid in mm/min, then mm/s²."""
    total, run, pace = 0.0, 0.0, feed
    hx = hy = hz = 0.0
    x, y, z = start
    for quick, tx, ty, tz in legs:
        dx, dy, dz = tx - x, ty - y, tz - z
        length = sqrt(dx * dx + dy * dy + dz * dz)
        x, y, z = tx, ty, tz
        if length < 1e-9:
            continue
        dx, dy, dz = dx / length, dy / length, dz / length
        fast = rapid if quick else z_feed if dz == -1.0 else feed
        if fast != pace or hx * dx + hy * dy + hz * dz < SMOOTH:
            total += straight(run, pace, acceleration)
            run = 0.0
        run += length
        hx, hy, hz, pace = dx, dy, dz, fast
    return total + straight(run, pace, acceleration)


def cut_length(start: tuple[float, float, float], legs: Sequence[Leg]) -> float:
    """Length of all feed moves from `start`, mm."""
    total = 0.0
    x, y, z = start
    for rapid, tx, ty, tz in legs:
        if not rapid:
            total += sqrt((tx - x) ** 2 + (ty - y) ** 2 + (tz - z) ** 2)
        x, y, z = tx, ty, tz
    return total
