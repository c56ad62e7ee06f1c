"""How long moves take: every straight run speeds up, cruises and brakes; it stops only at a corner."""

from __future__ import annotations

from collections.abc import Sequence
from math import cos, radians, sqrt

from flatwise.stages import Leg

#: a change of direction smaller than this is run through without a stop
SOFT = cos(radians(5.0))


def straight(length: float, speed: float, acceleration: float) -> float:
    """Seconds for a straight move from stop to stop: mm, mm/min, mm/s2 (a trapezoid, or a triangle when short)."""
    top = speed / 60.0
    if length >= top * top / acceleration:
        return length / top + top / acceleration
    return 2.0 * sqrt(max(0.0, length) / acceleration)


def duration(
    start: tuple[float, float, float], legs: Sequence[Leg], feed: float, rapid: float, acceleration: float
) -> float:
    """Seconds for moves one after another from `start`; feed and rapid in mm/min."""
    total, run, fast = 0.0, 0.0, False
    heading: tuple[float, float, float] | None = None
    x, y, z = start
    for leg in legs:
        dx, dy, dz = leg.x - x, leg.y - y, leg.z - z
        length = sqrt(dx * dx + dy * dy + dz * dz)
        x, y, z = leg.x, leg.y, leg.z
        if length < 1e-9:
            continue
        turned = (dx / length, dy / length, dz / length)
        goes_on = (
            heading is not None
            and leg.rapid == fast
            and heading[0] * turned[0] + heading[1] * turned[1] + heading[2] * turned[2] >= SOFT
        )
        if not goes_on:
            total += straight(run, rapid if fast else feed, acceleration)
            run = 0.0
        run += length
        heading, fast = turned, leg.rapid
    return total + straight(run, rapid if fast else feed, acceleration)


def cut_length(start: tuple[float, float, float], legs: Sequence[Leg]) -> float:
    """mm of feed moves."""
    total = 0.0
    x, y, z = start
    for leg in legs:
        if not leg.rapid:
            total += sqrt((leg.x - x) ** 2 + (leg.y - y) ** 2 + (leg.z - z) ** 2)
        x, y, z = leg.x, leg.y, leg.z
    return total
