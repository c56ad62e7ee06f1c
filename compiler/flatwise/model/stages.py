"""What flows from stage to stage: frozen data, mm unless said.

    load → parse → link → read → survey → seat → plan → check → write → verify → report

`read` gives a Work; `survey` a Panel; `seat` a Seating; `plan` a Plan; `write` programs as bytes; `verify` a
Proof.  Frames: the *panel frame* has its origin in the panel's front-left corner as it lies for the first face,
Z 0 on the bed.  A *setup frame* is the same corner of the outline on the bed as the panel lies in that setup:
holders and the origin do not move when the panel is turned, the faces do.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal, NamedTuple

from flatwise.core.surface import Array, Surface
from flatwise.model.job import Job, Waive
from flatwise.model.shop import Cutter, Machine, Shims, Wood
from flatwise.model.shop_rules import Rules
from flatwise_grammar.nodes import Span

FaceName = Literal["first", "second"]


# -- read → survey ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Holder:
    """A dog or a clamp in its place, in the setup frame (the same in both setups).

    A dog is a circle: centre (x0 + x1)/2, (y0 + y1)/2, diameter x1 − x0.  A clamp is the rectangle x0…x1, y0…y1.
    `along` is the position on its edge in mm; `pushes` the direction of its push (toward the panel), a unit
    vector; `force` N (0 for a dog); `push_height` mm above the bed.
    """

    kind: Literal["dog", "clamp"]
    name: str
    edge: Literal["left", "right", "front", "back"]
    along: float
    at: str
    x0: float
    y0: float
    x1: float
    y1: float
    height: float
    pushes: tuple[float, float]
    force: float
    push_height: float
    span: Span


@dataclass(frozen=True)
class Work:
    """A job with everything that it names, ready to be worked out."""

    name: str
    path: str
    span: Span
    job: Job
    machine: Machine
    cutter: Cutter
    wood: Wood
    rules: Rules
    holders: tuple[Holder, ...]
    #: the leaf sets that the job names
    sets: Mapping[str, Shims]
    #: (n, 3) arrays of the files that probe and thickness name, by the span of the file's name
    points: Mapping[Span, Array]
    waivers: Mapping[str, Waive]
    #: (path relative to the root, sha256) of every file that took part, the job's own first
    sources: tuple[tuple[str, str], ...]

    @property
    def length(self) -> float:
        return float(self.job.stock.size.length)

    @property
    def width(self) -> float:
        return float(self.job.stock.size.width)

    @property
    def thickness(self) -> float:
        """Nominal."""
        return float(self.job.stock.size.thickness)

    @property
    def mass(self) -> float:
        """kg, nominal."""
        return self.length * self.width * self.thickness * 1e-9 * float(self.wood.density)

    @property
    def turn(self) -> Literal["x", "y"]:
        """The axis that the panel is turned about between the faces."""
        long_is_x = self.length >= self.width
        over_long = self.job.faces.flip is None or self.job.faces.flip.edge == "long_edge"
        return "x" if over_long == long_is_x else "y"


# -- survey → seat ---------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Panel:
    """Both faces as the panel lay free when it was surveyed, in the panel frame.

    `lower` and `upper` are heights above the bed in that pose; each bound says how far the forecast may be off:
    of either face alone, and of the thickness between them.
    """

    lower: Surface
    upper: Surface
    bound_lower: float
    bound_upper: float
    bound_thickness: float
    surveyed: bool
    #: whether gap or probe readings fixed the pose in which it was surveyed
    posed: bool


# -- seat → plan -----------------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Pose:
    """The plane that is added to both faces as the panel settles: a·x + b·y + c (mm per mm, mm)."""

    a: float
    b: float
    c: float


@dataclass(frozen=True)
class Stack:
    """Leaves on each other, the thickest first: `height` is their sum (mm)."""

    height: float
    leaves: tuple[float, ...]


@dataclass(frozen=True)
class Rock:
    """What pressing at a place does: it moves down by `move` mm, where a feeler finds `gap` mm before."""

    place: str
    x: float
    y: float
    move: float
    gap: float


@dataclass(frozen=True)
class Shim:
    """A stack of leaves under one place, panel frame.  `gap_left` is what a feeler would still find there."""

    place: str
    x: float
    y: float
    leaves: tuple[float, ...]
    height: float
    gap_left: float
    by_hand: bool
    span: Span


@dataclass(frozen=True)
class OtherAim:
    """What the aim that was not chosen would have left."""

    aim: str
    most_thickness: float
    shims: tuple[Shim, ...]


@dataclass(frozen=True)
class Seating:
    """The panel as it rests for the first face: heights above the bed, panel frame."""

    lower: Surface
    upper: Surface
    pose: Pose
    shims: tuple[Shim, ...]
    #: where it touches bed or leaves
    touches: tuple[tuple[float, float], ...]
    rocks: bool
    #: the thickest flat panel inside the forecast, cut in this pose, no bound taken off
    most_thickness: float
    #: the thickest that any tilt could give
    best_thickness: float
    other: OtherAim | None
    bound_lower: float
    bound_upper: float
    bound_thickness: float
    #: the aim whose leaves are laid; it differs from the job's where natural leaves more ("": nothing to choose)
    aim: str = ""


# -- plan → check, write, verify, report ------------------------------------------------------------------------


class Leg(NamedTuple):
    """One straight move to (x, y, z), setup frame, z above the bed.  `rapid` is G0, else G1 at the setup's feed.

    A rapid changes z alone, or x and y alone at the lift height.
    """

    rapid: bool
    x: float
    y: float
    z: float


@dataclass(frozen=True)
class Pass:
    """One sweep at one height.

    `depth` is the deepest bite that it is planned to take, `limit` the deepest that it may; `path` starts at the
    lift height above its first place and ends there again.  `cut_length` is mm of feed moves, `time` in s.
    """

    plane: float
    depth: float
    limit: float
    finish: bool
    whole: bool
    rows: tuple[float, ...]
    path: tuple[Leg, ...]
    cut_length: float
    time: float


@dataclass(frozen=True)
class Touch:
    """Where the height is set, setup frame.

    With `on == "top"`: (x, y) is the centre of the cutter; `height` the highest top under its wings there, which
    program heights are worked from; `lowest` the lowest top that a touch within 10 mm could meet, bounds off.
    With `on == "bed"`: beside the panel, all heights 0.
    """

    on: Literal["top", "bed"]
    x: float
    y: float
    height: float
    lowest: float
    bound: float
    paper: float

    @property
    def zero(self) -> float:
        """Height of program Z 0 above the bed."""
        return self.height + self.paper

    @property
    def sink(self) -> float:
        """How far below what is worked out the cutter may run because zero was set as low as the top may lie, mm."""
        return self.height - self.lowest


@dataclass(frozen=True)
class Setup:
    """One face: how the panel lies, what comes off, and every move.  Setup frame, heights above the bed."""

    face: FaceName
    #: the face that is cut, and what lies under it (the bed or the first face: heights of the lower face)
    top: Surface
    under: Surface
    #: how far the top may be from the forecast
    bound: float
    #: the plane that is left
    plane: float
    passes: tuple[Pass, ...]
    holders: tuple[Holder, ...]
    shims: tuple[Shim, ...]
    touch: Touch
    #: program X 0, Y 0 in the setup frame, and in machine coordinates
    origin: tuple[float, float]
    origin_machine: tuple[float, float]
    #: height of moves in the air
    lift: float
    overrun: float
    stepover: float
    speed: float
    feed: float
    #: what stopped the feed: machine, chip_load, power, holding, or job
    feed_limit: str
    #: mm per wing; rim speed m/s; W; N (the tangential force, and the load that holders are judged by)
    chip_load: float
    rim_speed: float
    power: float
    force: float
    holding_load: float
    ridge: float
    removed_least: float
    removed_mean: float
    removed_most: float
    #: s, the whole program
    time: float
    #: the program is a repeat after a measurement that was still too thick
    again: bool = False

    @property
    def highest(self) -> float:
        return self.top.highest

    @property
    def lowest(self) -> float:
        return self.top.lowest


@dataclass(frozen=True)
class UncertaintyPart:
    """One part of the ± on thickness."""

    name: str
    value: float


@dataclass(frozen=True)
class Plan:
    """Everything that will happen to one panel."""

    work: Work
    panel: Panel
    seating: Seating
    setups: tuple[Setup, ...]
    #: what is asked for, mm (None where the last face is `until clean` or `take`)
    target: float | None
    #: thickness that the plan leaves, its ±, and the parts of the ±
    forecast: float
    plus_minus: float
    parts: tuple[UncertaintyPart, ...]
    #: the most that can be left with both faces clean, bounds off
    most_left: float
    #: where measurements differ from the forecast, in words for the sheet
    notes: tuple[str, ...] = ()
