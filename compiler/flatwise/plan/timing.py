"""How long moves take: every straight run speeds up, cruises and brakes; it stops only at a corner."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sqrt

#: rapid?, and the end of a straight move x, y, z in mm: what a Leg says, cheaper to try out by the hundred
Move = tuple[bool, float, float, float]

#: a change of direction smaller than this is run through without a stop
SOFT = cos(radians(5.0))


def straight(length: float, speed: float, acceleration: float) -> float:
    """Seconds for a straight move from stop to stop: mm, mm/min, mm/s2 (a trapezoid, or a triangle when short)."""
    top = speed / 60.0
    if length >= top * top / acceleration:
        return length / top + top / acceleration
    return 2.0 * sqrt(max(0.0, length) / acceleration)


def duration(
    start: tuple[float, float, float], moves: Sequence[Move], feed: float, rapid: float, acceleration: float
) -> float:
    """Seconds for moves one after another from `start`; feed and rapid in mm/min."""
    total, run, fast = 0.0, 0.0, False
    hx = hy = hz = 0.0
    x, y, z = start
    for quick, tx, ty, tz in moves:
        dx, dy, dz = tx - x, ty - y, tz - z
        length = sqrt(dx * dx + dy * dy + dz * dz)
        x, y, z = tx, ty, tz
        if length < 1e-9:
            continue
        dx, dy, dz = dx / length, dy / length, dz / length
        if quick != fast or hx * dx + hy * dy + hz * dz < SOFT:
            total += straight(run, rapid if fast else feed, acceleration)
            run = 0.0
        run += length
        hx, hy, hz, fast = dx, dy, dz, quick
    return total + straight(run, rapid if fast else feed, acceleration)


def cut_length(start: tuple[float, float, float], moves: Sequence[Move]) -> float:
    """mm of feed moves."""
    total = 0.0
    x, y, z = start
    for rapid, tx, ty, tz in moves:
        if not rapid:
            total += sqrt((tx - x) ** 2 + (ty - y) ** 2 + (tz - z) ** 2)
        x, y, z = tx, ty, tz
    return total
