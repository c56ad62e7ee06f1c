"""How far a panel bends between its supports: estimates from strips along and across the grain.

The rigid pose is a model, and these estimates say where it stops being a good one.  Nothing bends further than the gap
below it.  Forces in N, lengths in mm, moduli in MPa.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations
from operator import itemgetter
from typing import NamedTuple

from flatwise.core.finding import Finding, Findings
from flatwise.core.surface import Surface
from flatwise.core.units import settled
from flatwise.findings import fw202_contradiction, fw206_bends, fw207_own_weight
from flatwise.model.job import Survey
from flatwise.model.stages import Holder, Panel, Seating, Work
from flatwise.model.words import PLACES
from flatwise.seat.rest import GRAVITY, LEAF, PUSH, footprint

#: Constants (k_b, k_s) of a simply supported beam, Wood Handbook FPL-GTR-190 (2010), table 9-1.
UNIFORM = (5.0 / 384.0, 1.0 / 8.0)
CENTRE = (1.0 / 48.0, 1.0 / 4.0)
#: A plate on its corners sags this many times as far as its two strips together.
PLATE = 1.1


class Bay(NamedTuple):
    """A rectangle of the panel with no support inside: x0…x1, y0…y1 (mm).

    `held` says which of its sides (left, right, front, back) have a support near their middle.
    """

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
    """Deflection of a beam (mm): k_b·W·L³/(E·I) + k_s·W·L/(G·A′) with I = b·h³/12 and A′ = 5/6·b·h.

    Wood Handbook FPL-GTR-190 (2010), equation 9-2.  `load` W in N; `span` L, `width` b and `thickness` h in mm;
    `modulus` E and `shear` G in MPa; `constants` (k_b, k_s).
    """
    inertia = width * thickness**3 / 12.0
    area = 5.0 / 6.0 * width * thickness
    bending, shearing = constants
    return bending * load * span**3 / (modulus * inertia) + shearing * load * span / (shear * area)


def sag(work: Work, bay: Bay, load: float, constants: tuple[float, float], thickness: float) -> float:
    """How far a load (N) pushes the middle of a bay down (mm): the strips along and across the grain, × 1.1.

    A bay on its four corners sags by the sum of both strips, each under the whole load.  A strip with both ends on
    supports carries the load alone, but only half its width counts; with one end on a support, half the sag of the
    other strip is added.  Of the two ways the stiffer one counts.
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
        # crossed strips, each on its own supports, share the load like two springs side by side
        return PLATE * x_way * y_way / (x_way + y_way)
    return PLATE * min(x_way, y_way)


def bays(points: Iterable[tuple[float, float]], length: float, width: float) -> list[Bay]:
    """The largest rectangles of the outline with no support inside; within LEAF of a side a support counts as on it.

    The sides lie on lines through the supports and along the outline.  Between two lines in x, a rectangle starts from
    a line at its front and reaches back to the first support in its way.  It is a largest one if no side can move out
    to the next line.
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
    """Which sides of a bay have a support within an eighth of the side from their middle."""
    x0, x1, y0, y1 = bay
    mid_x, mid_y = (x0 + x1) / 2.0, (y0 + y1) / 2.0

    def on_x(side: float) -> bool:
        return any(abs(x - side) <= LEAF and abs(y - mid_y) <= (y1 - y0) / 8.0 for x, y in spots)

    def on_y(side: float) -> bool:
        return any(abs(y - side) <= LEAF and abs(x - mid_x) <= (x1 - x0) / 8.0 for x, y in spots)

    return on_x(x0), on_x(x1), on_y(y0), on_y(y1)


def clamp_bow(force: float, below: float, span: float, depth: float, thickness: float, modulus: float) -> float:
    """Bow of a panel whose edge clamps push `below` mm under mid-thickness (mm): F·e·W²/(8·E·I), I = depth·h³/12.

    Euler–Bernoulli beam of span W with the moment F·e at both ends.  `force` F in N, `span` W between the clamped edges
    and `depth` along them in mm, `modulus` E across the span in MPa.
    """
    return force * abs(below) * span**2 / (8.0 * modulus * depth * thickness**3 / 12.0)


def own_weight(work: Work, thickness: float) -> dict[str, float]:
    """The twist, cup and bow that a panel's weight alone can press flat on a level bed (mm).

    Twist: (W/4)·3·L·B/(G·h³), a plate in pure torsion under a quarter of the weight at a corner.  Cup and bow: a simply
    supported strip under the whole weight, Wood Handbook FPL-GTR-190 (2010), equation 9-2.
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
    """FW206 for sag as the panel lies for the first face and for bow by its clamps in both setups; FW207."""
    thickness = _thickness(panel)
    found = [*_sags(work, panel, seating, thickness), *_bows(work, seating, thickness)]
    survey = work.job.survey
    if survey is not None and panel.posed:
        found += _free_shape(work, survey, panel, own_weight(work, thickness))
    return tuple(found)


def _free_shape(work: Work, survey: Survey, panel: Panel, pressed: Mapping[str, float]) -> Iterator[Finding]:
    """What words say of the free shape against what the readings show of the panel as it lies, `pressed` being what its
    weight can press out of each shape (mm).

    FW202 where a word is not between the reading and the reading moved away from 0 by as much, with 2 × within more at
    either end; FW207 for shapes of which the weight could hide more than `rock` + 2 × within, without a word for them.
    """
    within = float(survey.within)
    for name, word in panel.free_shapes.items():
        read = panel.read_shapes.get(name)
        if read is None:
            continue
        hidden = pressed[name] if read >= 0 else -pressed[name]
        least, most = sorted((read, read + hidden))
        if not least - 2 * within - 1e-9 <= word <= most + 2 * within + 1e-9:
            yield fw202_contradiction.unlike_word(work, survey, name, word, read, hidden)
    hidden_shapes = {
        name: most
        for name, most in pressed.items()
        if settled(most) > settled(work.rules.rock + 2 * within) and name not in panel.free_shapes
    }
    if hidden_shapes:
        yield from fw207_own_weight.hidden(work, survey, hidden_shapes)


def _supports(work: Work, seating: Seating) -> list[tuple[float, float]]:
    """Where the panel bears, or would after giving by what the rule `rock` allows (mm)."""
    laid = [(shim.x, shim.y) for shim in seating.shims if shim.height > 0 and settled(shim.gap_left) <= work.rules.rock]
    near = _near(work, seating.lower)
    return list(dict.fromkeys([*_snapped(work, seating, laid), *near, *laid]))


def _near(work: Work, lower: Surface) -> list[tuple[float, float]]:
    """The named places that lie on the bed or at most `rock` above it (mm)."""
    places = [(across * work.length, up * work.width) for across, up in PLACES.values()]
    heights = lower.at(*zip(*places, strict=True)).tolist()
    return [place for place, height in zip(places, heights, strict=True) if settled(height) <= work.rules.rock]


def _snapped(work: Work, seating: Seating, laid: list[tuple[float, float]]) -> list[tuple[float, float]]:
    """The places where the panel touches; a touch on leaves counts at the place of the leaves (mm)."""
    return [next((place for place in laid if _over(work, place, x, y)), (x, y)) for x, y in seating.touches]


def _over(work: Work, place: tuple[float, float], x: float, y: float) -> bool:
    """Whether (x, y) lies over the leaves at a place."""
    leaf = footprint(*place, work.length, work.width)
    return leaf.x0 - 1e-6 <= x <= leaf.x1 + 1e-6 and leaf.y0 - 1e-6 <= y <= leaf.y1 + 1e-6


def _gap(work: Work, seating: Seating, x: float, y: float) -> float:
    """The gap under (x, y), down to the bed or to the leaves there (mm)."""
    leaves = [shim.height for shim in seating.shims if _over(work, (shim.x, shim.y), x, y)]
    return max(0.0, float(seating.lower.at(x, y)) - max(leaves, default=0.0))


def _sags(work: Work, panel: Panel, seating: Seating, thickness: float) -> list[Finding]:
    """FW206 for the bays that bend furthest under the cutter's push and under the panel's own weight."""
    limit, per_area = float(work.rules.sag), work.mass * GRAVITY / (work.length * work.width)
    surveyed = _surveyed_sag(work, panel, thickness)
    open_bays = bays(_supports(work, seating), work.length, work.width)
    # the survey already shows what the weight did to the panel as it lay then
    heavy = [
        (_depth(work, seating, bay, sag(work, bay, per_area * bay.area, UNIFORM, thickness) - surveyed), bay)
        for bay in open_bays
    ]
    found = []
    most, bay = _pushed(work, seating, thickness, open_bays)
    if most > limit:
        found.append(fw206_bends.pushed(work, most, limit, bay.middle, float(seating.lower.at(*bay.middle))))
    most, bay = max(heavy, key=itemgetter(0))
    if most > limit:
        found.append(fw206_bends.heavy(work, most, limit, bay.middle))
    return found


def pushed_sag(work: Work, panel: Panel, seating: Seating) -> float:
    """How far the cutter's push bends the panel down between its supports (mm)."""
    open_bays = bays(_supports(work, seating), work.length, work.width)
    return _pushed(work, seating, _thickness(panel), open_bays)[0]


def _pushed(work: Work, seating: Seating, thickness: float, open_bays: Iterable[Bay]) -> tuple[float, Bay]:
    """The bay that the push bends furthest, and how far (mm)."""
    sags = ((_depth(work, seating, bay, sag(work, bay, PUSH, CENTRE, thickness)), bay) for bay in open_bays)
    return max(sags, key=itemgetter(0))


def _depth(work: Work, seating: Seating, bay: Bay, bent: float) -> float:
    """How far the middle of a bay comes down that would bend by `bent`: at most to the bottom of its gap (mm)."""
    return settled(min(_gap(work, seating, *bay.middle), bent))


def _thickness(panel: Panel) -> float:
    return max(panel.upper.mean - panel.lower.mean, 1.0)


def _surveyed_sag(work: Work, panel: Panel, thickness: float) -> float:
    """The sag that the survey already holds: the most of any bay between the places that touched then (mm)."""
    if not panel.posed:
        return 0.0
    per_area = work.mass * GRAVITY / (work.length * work.width)
    sags = [
        min(max(0.0, float(panel.lower.at(*bay.middle))), sag(work, bay, per_area * bay.area, UNIFORM, thickness))
        for bay in bays(_near(work, panel.lower), work.length, work.width)
    ]
    return max(sags, default=0.0)


def _bows(work: Work, seating: Seating, thickness: float) -> list[Finding]:
    """FW206 for the clamps of the direction that bows the panel most, in either setup."""
    limit = float(work.rules.sag)
    # thickness, mean height above the bed, gap under the middle; the second face is cut on the flat first one
    setups = [(thickness, seating.lower.mean, _gap(work, seating, work.length / 2, work.width / 2))]
    left = getattr(work.job.faces.second, "thickness", None)
    if left is not None:
        setups.append((float(left), 0.0, 0.0))
    worst: tuple[float, Holder, float] | None = None
    for thick, lift, gap in setups:
        for axis in (0, 1):
            clamps = [one for one in work.holders if one.kind == "clamp" and abs(one.pushes[axis]) > 0.5]
            if not clamps:
                continue
            moment = sum(one.force * (lift + thick / 2.0 - one.push_height) for one in clamps)
            span, side = (work.length, work.width) if axis == 0 else (work.width, work.length)
            along = (axis == 0) == (work.job.stock.grain == "x")
            modulus = float(work.wood.modulus) if along else work.wood.across
            bow = clamp_bow(moment, 1.0, span, side, thick, modulus)
            if moment < 0:
                # clamps that push above mid-thickness press the middle down, at most to the bottom of the gap
                bow = min(abs(bow), gap)
            bow = settled(abs(bow))
            if bow > limit and (worst is None or bow > worst[0]):
                worst = (bow, clamps[0], lift + thick / 2.0)
    if worst is None:
        return []
    return [fw206_bends.bowed(work, worst[0], limit, worst[1], worst[2])]
