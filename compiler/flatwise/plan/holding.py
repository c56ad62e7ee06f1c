"""What the holders stand: dogs, clamps and friction against a load in any direction of the bed's plane.

The panel is a rigid body on the bed.  A dog pushes back without limit, square to its edge, and only pushes.
A clamp pushes with its own force.  Friction of weight and clamps (0.10 of them, the low end) takes the rest.
Clamp force is the push of the clamp as marked; the load is an estimate, and holding is checked by hand too.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import inf, sqrt

from flatwise.model.stages import Holder

#: Wood on a bed of wood or steel: the low end of what is published (see tests/outside/test_holding.py).
FRICTION = 0.10
GRAVITY = 9.81

#: direction of a load and what to call it
DIRECTIONS: tuple[tuple[str, float, float], ...] = (
    ("to the right", 1.0, 0.0),
    ("to the left", -1.0, 0.0),
    ("toward the back", 0.0, 1.0),
    ("toward the front", 0.0, -1.0),
    ("to the right and back", sqrt(0.5), sqrt(0.5)),
    ("to the left and back", -sqrt(0.5), sqrt(0.5)),
    ("to the right and front", sqrt(0.5), -sqrt(0.5)),
    ("to the left and front", -sqrt(0.5), -sqrt(0.5)),
)


@dataclass(frozen=True)
class Weakness:
    """A direction in which the panel is not held.

    `turning` says that it would turn rather than slide; `needs` and `has` are N (or N·mm when it turns), `has`
    being all that stands against the load there.
    """

    direction: str
    turning: bool
    needs: float
    has: float


@dataclass(frozen=True)
class _Axis:
    """Holders that push along one axis: `low` edge (left or front) and `high` edge (right or back).

    Each is (position across the axis from the panel's centre in mm, force in N; a dog's force is inf).
    """

    low_dogs: tuple[float, ...]
    high_dogs: tuple[float, ...]
    low_clamps: tuple[tuple[float, float], ...]
    high_clamps: tuple[tuple[float, float], ...]

    def take(self, load: float) -> tuple[float, float, float, float]:
        """What is left of a load along the axis (N, signed), what stands against it, and the range of the force
        times position that the holders can give with it (N·mm, the force counted along the axis)."""
        low_push = sum(force for _, force in self.low_clamps)
        high_push = sum(force for _, force in self.high_clamps)
        fixed = sum(at * force for at, force in self.low_clamps) - sum(at * force for at, force in self.high_clamps)
        # with the load, the clamps push the panel onto the dogs; what the dogs must give along the axis:
        net = load + low_push - high_push
        least = most = fixed
        rest = 0.0
        stands = inf
        if net < 0:
            if self.low_dogs:
                ends = [-net * at for at in (min(self.low_dogs), max(self.low_dogs))]
                least, most = least + min(ends), most + max(ends)
            else:
                rest, stands = net, low_push
        elif net > 0:
            if self.high_dogs:
                ends = [-net * at for at in (min(self.high_dogs), max(self.high_dogs))]
                least, most = least + min(ends), most + max(ends)
            else:
                rest, stands = net, high_push
        if self.low_dogs and self.high_dogs:
            # two dogs face to face can lock a turn without limit: +at on the low edge, -at on the high one
            if max(self.low_dogs) > min(self.high_dogs):
                most = inf
            if min(self.low_dogs) < max(self.high_dogs):
                least = -inf
        return rest, stands, least, most


def _axis(holders: Sequence[Holder], low: str, high: str, middle: float) -> _Axis:
    def at(holder: Holder) -> float:
        return holder.along - middle

    def dogs(edge: str) -> tuple[float, ...]:
        return tuple(at(holder) for holder in holders if holder.edge == edge and holder.kind == "dog")

    def clamps(edge: str) -> tuple[tuple[float, float], ...]:
        return tuple((at(holder), holder.force) for holder in holders if holder.edge == edge and holder.kind == "clamp")

    return _Axis(dogs(low), dogs(high), clamps(low), clamps(high))


def friction(holders: Sequence[Holder], mass: float) -> float:
    """0.10 × (weight + clamp forces), N; mass in kg."""
    return FRICTION * (mass * GRAVITY + sum(holder.force for holder in holders))


def weakness(holders: Sequence[Holder], length: float, width: float, mass: float, load: float) -> Weakness | None:
    """The worst direction in which a load (N) anywhere on the panel would move it, or None where it is held.

    The load acts in every direction and at every corner of the outline (mm), where its moment about the
    panel's centre is greatest.
    """
    along_x = _axis(holders, "left", "right", width / 2.0)
    along_y = _axis(holders, "front", "back", length / 2.0)
    grip = friction(holders, mass)
    worst: tuple[float, Weakness] | None = None
    for name, ux, uy in DIRECTIONS:
        rest_x, stands_x, least_x, most_x = along_x.take(load * ux)
        rest_y, stands_y, least_y, most_y = along_y.take(load * uy)
        slides = sqrt(rest_x * rest_x + rest_y * rest_y)
        if slides > grip + 1e-9:
            against = grip + min(stands_x, stands_y) if min(stands_x, stands_y) < inf else grip
            found = (slides - grip) / max(load, 1e-9), Weakness(name, False, load, against)
        else:
            # friction's moment about the centre: the low end takes a quarter of the shorter side as its arm
            spare = sqrt(max(0.0, grip * grip - slides * slides)) * min(length, width) / 4.0
            # moment = x·Fy − y·Fx; holders along x give −(force·y), those along y +(force·x)
            low, high = least_y - most_x - spare, most_y - least_x + spare
            turning = [
                x * load * uy - y * load * ux for x in (-length / 2, length / 2) for y in (-width / 2, width / 2)
            ]
            over = max(0.0, max(-moment - high for moment in turning), max(low + moment for moment in turning))
            if over <= 1e-6:
                continue
            needs = max(abs(moment) for moment in turning)
            found = over / max(load * (length + width), 1e-9), Weakness(name, True, needs, max(0.0, needs - over))
        if worst is None or found[0] > worst[0] + 1e-9:
            worst = found
    return worst[1] if worst else None


def unopposed(holders: Sequence[Holder]) -> tuple[Holder, ...]:
    """Clamps that push toward an edge on which no dog stands."""
    opposite = {"left": "right", "right": "left", "front": "back", "back": "front"}
    dogs = {holder.edge for holder in holders if holder.kind == "dog"}
    return tuple(holder for holder in holders if holder.kind == "clamp" and opposite[holder.edge] not in dogs)
