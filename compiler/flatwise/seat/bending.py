"""How a panel gives between its supports.  Estimates: strips along and across the grain, never more than the gap.

The rigid pose is a model; these say where it stops being a good one.  Forces in N, lengths in mm, moduli in MPa.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import combinations

from flatwise.core.finding import Finding, Findings
from flatwise.core.surface import Surface
from flatwise.findings import fw206_bends, fw207_own_weight
from flatwise.model.stages import Holder, Panel, Seating, Work
from flatwise.model.words import PLACES
from flatwise.seat.rest import GRAVITY, LEAF, PUSH, patch

#: Constants (k_b, k_s) of a simply supported beam, Wood Handbook FPL-GTR-190 (2010), table 9-1.
UNIFORM = (5.0 / 384.0, 1.0 / 8.0)
CENTRE = (1.0 / 48.0, 1.0 / 4.0)
#: What two strips miss of a plate on its corners.
PLATE = 1.1


@dataclass(frozen=True)
class Bay:
    """A rectangle of the panel with no support inside: x0…x1, y0…y1 (mm); `held` says which of its sides left,
    right, front and back have a support near their middle."""

    x0: float
    x1: float
    y0: float
    y1: float
    held: tuple[bool, bool, bool, bool]

    @property
    def middle(self) -> tuple[float, float]:
        return (self.x0 + self.x1) / 2.0, (self.y0 + self.y1) / 2.0

    @property
    def area(self) -> float:
        return (self.x1 - self.x0) * (self.y1 - self.y0)


def beam(
    load: float,
    span: float,
    width: float,
    thickness: float,
    modulus: float,
    shear: float,
    constants: tuple[float, float],
) -> float:
    """Deflection of a beam (mm): k_b·W·L³/(E·I) + k_s·W·L/(G·A′), I = b·h³/12, A′ = 5/6·b·h.

    Wood Handbook FPL-GTR-190 (2010), equation 9-2; load N, moduli MPa.
    """
    inertia = width * thickness**3 / 12.0
    area = 5.0 / 6.0 * width * thickness
    bending, shearing = constants
    return bending * load * span**3 / (modulus * inertia) + shearing * load * span / (shear * area)


def sag(work: Work, bay: Bay, load: float, constants: tuple[float, float], thickness: float) -> float:
    """How far the middle of a bay goes down under a load (mm): strip along plus strip across the grain, × 1.1.

    On its four corners both strips carry the whole load.  A strip whose ends both lie on supports carries it alone,
    with half the width; with one such end half of the other strip's sag is added.  The stiffer way counts.
    """
    along, across, shear = float(work.wood.modulus), work.wood.across, work.wood.shear
    if work.job.stock.grain == "y":
        along, across = across, along
    dx, dy = bay.x1 - bay.x0, bay.y1 - bay.y0
    left, right, front, back = bay.held
    x_strip = beam(load, dx, dy, thickness, along, shear, constants)
    y_strip = beam(load, dy, dx, thickness, across, shear, constants)
    x_way = x_strip * (2.0 if left and right else 1.0) + y_strip * (2 - left - right) / 2.0
    y_way = y_strip * (2.0 if front and back else 1.0) + x_strip * (2 - front - back) / 2.0
    if all(bay.held):
        # two strips that cross, each on its own supports, share the load like two springs
        return PLATE * x_way * y_way / (x_way + y_way)
    return PLATE * min(x_way, y_way)


def bays(points: Iterable[tuple[float, float]], length: float, width: float) -> list[Bay]:
    """The largest rectangles of the outline that have no support inside them, but for a leaf's side from the edge.

    Their sides lie on the lines of the supports and the outline.  Over each range of x and from each line at the front
    one reaches back to the first support in its way; it is a largest one where no side can go on to the next line.
    """
    spots = list(points)
    xs = sorted({0.0, length, *(x for x, _ in spots)})
    ys = sorted({0.0, width, *(y for _, y in spots)})
    short = [y - LEAF for y in ys]
    backs: dict[tuple[int, int], list[int]] = {}
    for i0, i1 in combinations(range(len(xs)), 2):
        inside = sorted(y for x, y in spots if xs[i0] + LEAF < x < xs[i1] - LEAF)
        ahead = [bisect_right(inside, y + LEAF) for y in ys]
        backs[i0, i1] = [bisect_right(short, inside[k]) - 1 if k < len(inside) else len(ys) - 1 for k in ahead]
    found = []
    for (i0, i1), back in backs.items():
        wider = [backs[each] for each in ((i0 - 1, i1), (i0, i1 + 1)) if each in backs]
        for j0, j1 in enumerate(back[:-1]):
            if not (j0 and back[j0 - 1] >= j1) and not any(each[j0] >= j1 for each in wider):
                found.append((xs[i0], xs[i1], ys[j0], ys[j1]))
    return [Bay(*one, _held(one, spots)) for one in found]


def _held(bay: tuple[float, float, float, float], spots: list[tuple[float, float]]) -> tuple[bool, bool, bool, bool]:
    x0, x1, y0, y1 = bay
    mid_x, mid_y = (x0 + x1) / 2.0, (y0 + y1) / 2.0

    def on_x(side: float) -> bool:
        return any(abs(x - side) <= LEAF and abs(y - mid_y) <= (y1 - y0) / 8.0 for x, y in spots)

    def on_y(side: float) -> bool:
        return any(abs(y - side) <= LEAF and abs(x - mid_x) <= (x1 - x0) / 8.0 for x, y in spots)

    return on_x(x0), on_x(x1), on_y(y0), on_y(y1)


def clamp_bow(force: float, below: float, span: float, depth: float, thickness: float, modulus: float) -> float:
    """Bow of a panel by edge clamps that push `below` mm under mid-thickness: F·e·W²/(8·E·I), I = depth·h³/12 (mm).

    A beam of span W with the moment F·e at both ends.  `depth` is the side that the clamps stand on.
    """
    return force * abs(below) * span**2 / (8.0 * modulus * depth * thickness**3 / 12.0)


def own_weight(work: Work, thickness: float) -> dict[str, float]:
    """How much twist, cup and bow a panel's weight alone presses flat on a level bed (mm).

    Twist (W/4)·3·L·B/(G·h³): a quarter of the weight at a corner of a plate that twists.  Cup and bow: a simply
    supported strip under the whole weight, Wood Handbook equation 9-2.
    """
    weight = work.mass * GRAVITY
    along, across = work.length, work.width
    if work.job.stock.grain == "y":
        along, across = across, along
    shear = work.wood.shear
    return {
        "twist": weight / 4.0 * 3.0 * along * across / (shear * thickness**3),
        "cup": beam(weight, across, along, thickness, work.wood.across, shear, UNIFORM),
        "bow": beam(weight, along, across, thickness, float(work.wood.modulus), shear, UNIFORM),
    }


def bends(work: Work, panel: Panel, seating: Seating) -> Findings:
    """FW206 and FW207 for the panel as it lies for the first face (and for its clamps in both setups)."""
    thickness = max(panel.upper.mean - panel.lower.mean, 1.0)
    found = [*_sags(work, panel, seating, thickness), *_bows(work, seating, thickness)]
    survey = work.job.survey
    if survey is not None and panel.posed:
        flattened = own_weight(work, thickness)
        said = {"twist": survey.twist, "cup": survey.cup, "bow": survey.bow}
        hidden = {name: most for name, most in flattened.items() if most > work.rules.rock and said[name] is None}
        if hidden:
            found.append(fw207_own_weight.hidden(work, survey, hidden))
    return tuple(found)


def _supports(work: Work, seating: Seating) -> list[tuple[float, float]]:
    """Where the panel bears, or will as soon as it gives by what `rock` allows."""
    laid = [(shim.x, shim.y) for shim in seating.shims if shim.height > 0 and shim.gap_left <= work.rules.rock]
    near = _near(work, seating.lower)
    return list(dict.fromkeys([*_snapped(work, seating, laid), *near, *laid]))


def _near(work: Work, lower: Surface) -> list[tuple[float, float]]:
    """The named places that lie on the bed, but for what `rock` allows."""
    spots = [(across * work.length, up * work.width) for across, up in PLACES.values()]
    heights = lower.at(*zip(*spots, strict=True)).tolist()
    return [spot for spot, height in zip(spots, heights, strict=True) if height <= work.rules.rock]


def _snapped(work: Work, seating: Seating, laid: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """The places where it touches; a touch on a leaf counts as the leaf's own place."""
    spots = []
    for x, y in seating.touches:
        over = [spot for spot in laid if _over(work, spot, x, y)]
        spots.append(over[0] if over else (x, y))
    return spots


def _over(work: Work, spot: tuple[float, float], x: float, y: float) -> bool:
    """Whether (x, y) lies over the leaves at a spot."""
    leaf = patch(*spot, work.length, work.width)
    return leaf.x0 - 1e-6 <= x <= leaf.x1 + 1e-6 and leaf.y0 - 1e-6 <= y <= leaf.y1 + 1e-6


def _gap(work: Work, seating: Seating, x: float, y: float) -> float:
    """The room under a place, down to the bed or to leaves that it does not touch (mm)."""
    leaves = [shim.height for shim in seating.shims if _over(work, (shim.x, shim.y), x, y)]
    return max(0.0, float(seating.lower.at(x, y)) - max(leaves, default=0.0))


def _sags(work: Work, panel: Panel, seating: Seating, thickness: float) -> list[Finding]:
    limit = float(work.rules.sag)
    pushed: tuple[float, Bay] | None = None
    heavy: tuple[float, Bay] | None = None
    per_area = work.mass * GRAVITY / (work.length * work.width)
    surveyed = _lying(work, panel)
    for bay in bays(_supports(work, seating), work.length, work.width):
        gap = _gap(work, seating, *bay.middle)
        under = min(gap, sag(work, bay, PUSH, CENTRE, thickness))
        if under > limit and (pushed is None or under > pushed[0]):
            pushed = (under, bay)
        # the survey already shows what the weight did to the panel as it lay then
        more = sag(work, bay, per_area * bay.area, UNIFORM, thickness) - surveyed
        more = min(gap, more)
        if more > limit and (heavy is None or more > heavy[0]):
            heavy = (more, bay)
    found = []
    if pushed is not None:
        leaves = float(seating.lower.at(*pushed[1].middle))
        found.append(fw206_bends.pushed(work, pushed[0], limit, pushed[1].middle, leaves))
    if heavy is not None:
        found.append(fw206_bends.heavy(work, heavy[0], limit, heavy[1].middle))
    return found


def _lying(work: Work, panel: Panel) -> float:
    """The sag that the survey already holds: of the bays between the places that touched then (mm)."""
    if not panel.posed:
        return 0.0
    spots = _near(work, panel.lower)
    thickness = max(panel.upper.mean - panel.lower.mean, 1.0)
    per_area = work.mass * GRAVITY / (work.length * work.width)
    sags = [
        min(
            max(0.0, float(panel.lower.at(*bay.middle))),
            sag(work, bay, per_area * bay.area, UNIFORM, thickness),
        )
        for bay in bays(spots, work.length, work.width)
    ]
    return max(sags, default=0.0)


def _bows(work: Work, seating: Seating, thickness: float) -> list[Finding]:
    """The clamps of each direction together, on the panel as it lies and on what is left for the second face."""
    limit = float(work.rules.sag)
    second = work.job.faces.second
    left = getattr(second, "thickness", None)
    # thickness, mean height above the bed, room under the middle: the second face is cut on the flat first one
    setups = [(thickness, seating.lower.mean, _gap(work, seating, work.length / 2, work.width / 2))]
    if left is not None:
        setups.append((float(left), 0.0, 0.0))
    worst: tuple[float, Holder, float] | None = None
    for thick, lift, gap in setups:
        for axis in (0, 1):
            clamps = [one for one in work.holders if one.kind == "clamp" and abs(one.pushes[axis]) > 0.5]
            moment = sum(one.force * (lift + thick / 2.0 - one.push_height) for one in clamps)
            if not clamps:
                continue
            span, side = (work.length, work.width) if axis == 0 else (work.width, work.length)
            along = (axis == 0) == (work.job.stock.grain == "x")
            modulus = float(work.wood.modulus) if along else work.wood.across
            bow = clamp_bow(moment, 1.0, span, side, thick, modulus)
            if moment < 0:
                # pushed above mid-thickness the middle goes down, and no further than the gap
                bow = -min(abs(bow), gap)
            if abs(bow) > limit and (worst is None or abs(bow) > abs(worst[0])):
                worst = (abs(bow), clamps[0], lift + thick / 2.0)
    if worst is None:
        return []
    return [fw206_bends.bowed(work, worst[0], limit, worst[1], worst[2])]
