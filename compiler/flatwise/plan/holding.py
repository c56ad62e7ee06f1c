"""The load that the holders bear: dogs, clamps and friction against loads in the plane of the bed, and tipping.

The panel is a rigid body on the bed.  A dog only pushes, square to its edge, and without limit.  A clamp pushes with
the force marked on it.  Friction takes the rest: 0.10 × (weight + clamp forces).  The load is an estimate, and the
operator checks holding by hand too.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, sqrt
from typing import Literal, NamedTuple

from flatwise.model.stages import Holder

#: coefficient of friction of wood on a bed of wood or steel: the low end for wood on steel, 0.10 to 0.25, McMillin et
#: al.; 0.08 for pine on pine has been published (second-hand), so it is not the lowest
FRICTION = 0.10
#: m/s²
GRAVITY = 9.80665

#: directions of a load: name, x, y
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


class Weakness(NamedTuple):
    """A direction in which the panel is not held, and what it would do there.

    `needs` is the load and `has` all that stands against it: N, or N·mm for a turn and for tipping over the lower edge
    `direction`.
    """

    direction: str
    does: Literal["slide", "turn", "tip"]
    needs: float
    has: float


class _Axis(NamedTuple):
    """The holders that push along one axis: on its low edge (left or front) and on its high edge (right or back).

    Positions are across the axis from the panel's centre, mm; a clamp is (position, force in N).
    """

    low_dogs: tuple[float, ...]
    high_dogs: tuple[float, ...]
    low_clamps: tuple[tuple[float, float], ...]
    high_clamps: tuple[tuple[float, float], ...]

    def take(self, load: float) -> tuple[float, float, float, float]:
        """Resistance of the holders to a load along the axis (N, signed).

        Returns the load left to friction and the clamp force against it (N; inf with dogs there), and the least and the
        greatest sum of force × position that the holders can give (N·mm, forces positive along the axis).
        """
        low_push = sum(force for _, force in self.low_clamps)
        high_push = sum(force for _, force in self.high_clamps)
        least = most = sum(at * force for at, force in self.low_clamps) - sum(
            at * force for at, force in self.high_clamps
        )
        rest, stands = 0.0, inf
        # clamps and load together push the panel onto the dogs of one edge, which must give as much
        net = load + low_push - high_push
        dogs, push = (self.low_dogs, low_push) if net < 0 else (self.high_dogs, high_push)
        if net and dogs:
            ends = [-net * at for at in (min(dogs), max(dogs))]
            least, most = least + min(ends), most + max(ends)
        elif net:
            rest, stands = net, push
        if self.low_dogs and self.high_dogs:
            # dogs on opposite edges lock a turn without limit if they stand on the right sides of each other
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
    """Friction in N: 0.10 × (weight + clamp forces), for a mass in kg."""
    return FRICTION * (mass * GRAVITY + sum(holder.force for holder in holders))


def weakness(holders: Sequence[Holder], length: float, width: float, mass: float, load: float) -> Weakness | None:
    """The worst direction in which a load (N) anywhere on the panel would move it; None if it is held in all.

    Length and width in mm, mass in kg.  The load acts in each of eight directions at each corner of the outline, where
    its moment about the panel's centre is greatest.  The panel slides if the load left to friction exceeds it; it turns
    if the moment exceeds what the holders and the friction to spare can give.
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
            found = (slides - grip) / max(load, 1e-9), Weakness(name, "slide", load, against)
        else:
            # the arm of friction about the centre: a quarter of the shorter side is on the low side
            spare = sqrt(max(0.0, grip * grip - slides * slides)) * min(length, width) / 4.0
            # moment = x·Fy − y·Fx: holders along x give −force·y, holders along y give +force·x
            low, high = least_y - most_x - spare, most_y - least_x + spare
            turning = [
                x * load * uy - y * load * ux for x in (-length / 2, length / 2) for y in (-width / 2, width / 2)
            ]
            over = max(0.0, max(-moment - high for moment in turning), max(low + moment for moment in turning))
            if over <= 1e-6:
                continue
            needs = max(abs(moment) for moment in turning)
            found = over / max(load * (length + width), 1e-9), Weakness(name, "turn", needs, max(0.0, needs - over))
        if worst is None or found[0] > worst[0] + 1e-9:
            worst = found
    return worst[1] if worst else None


def tips(
    holders: Sequence[Holder], length: float, width: float, mass: float, load: float, plane: float
) -> Weakness | None:
    """The lower edge over which a load (N) at a plane (mm above the bed) would tip the panel; None if it stays down.

    F·(plane − h) ≤ weight·d + 0.10·ΣF_clamp·w: h is the height of the dogs that take the load, else 0; d reaches from
    the edge to the centre of gravity, in the middle, and w is the width across, mm.
    """
    weight, clamped = mass * GRAVITY, sum(holder.force for holder in holders)
    worst: Weakness | None = None
    for edge, across in (("left", length), ("right", length), ("front", width), ("back", width)):
        stop = max((holder.height for holder in holders if holder.kind == "dog" and holder.edge == edge), default=0.0)
        needs = load * (plane - stop)
        has = weight * across / 2.0 + FRICTION * clamped * across
        if needs > has + 1e-6 and (worst is None or needs - has > worst.needs - worst.has):
            worst = Weakness(edge, "tip", needs, has)
    return worst


def unopposed(holders: Sequence[Holder]) -> tuple[Holder, ...]:
    """Clamps that push toward an edge without a dog."""
    opposite = {"left": "right", "right": "left", "front": "back", "back": "front"}
    dogs = {holder.edge for holder in holders if holder.kind == "dog"}
    return tuple(holder for holder in holders if holder.kind == "clamp" and opposite[holder.edge] not in dogs)
