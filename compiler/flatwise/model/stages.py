"""The data that stages hand on: frozen, in mm unless a docstring says otherwise.

    load → parse → link → read → survey → seat → plan → check → write → verify → report

`read` gives a Work, `survey` a Panel, `seat` a Seating, `plan` a Plan, `write` programs as bytes, `verify` a Proof.

The *panel frame* has its origin at the panel's front-left corner as it lies for the first face, with Z 0 on the bed.
A *setup frame* has its origin at the front-left corner of the outline on the bed as the panel lies in that setup:
holders and the origin stay where they are when the panel is turned, the faces do not.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

from flatwise.core.surface import Array, Surface
from flatwise.model.job import Job, Waive
from flatwise.model.shop import Cutter, Gauge, Machine, Shims, Wood
from flatwise.model.shop_rules import Rules
from flatwise_grammar.nodes import Span

FaceName = Literal["first", "second"]


# -- read → survey ---------------------------------------------------------------------------------------------


class Holder(NamedTuple):
    """A dog, a clamp or another panel in its place, in the setup frame (the same in both setups).

    A dog is a circle: centre (x0 + x1)/2, (y0 + y1)/2, diameter x1 − x0.  All else is the rectangle x0…x1, y0…y1.
    `along` is the position on its edge (mm), `pushes` the direction of its push toward the panel (a unit vector),
    `force` in N (0 for a dog), `push_height` in mm above the bed.
    """

    kind: Literal["dog", "clamp", "panel"]
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


class Work(NamedTuple):
    """A job with everything that it names."""

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
    #: the points of each file that `probe` or `thickness` names, (n, 3), by the span of the file's name
    points: Mapping[Span, Array]
    waivers: Mapping[str, Waive]
    #: (path relative to the root, sha256) of every file that was used, the job's own first
    sources: tuple[tuple[str, str], ...]
    #: the gauge that `walk` in the survey names
    gauge: Gauge | None = None

    @property
    def length(self) -> float:
        return float(self.job.stock.size.length)

    @property
    def width(self) -> float:
        return float(self.job.stock.size.width)

    @property
    def thickness(self) -> float:
        """The nominal thickness, mm."""
        return float(self.job.stock.size.thickness)

    @property
    def mass(self) -> float:
        """The mass of the nominal panel, kg."""
        return self.length * self.width * self.thickness * 1e-9 * float(self.wood.density)

    @property
    def turn(self) -> Literal["x", "y"]:
        """The axis about which the panel is turned between the faces."""
        long_is_x = self.length >= self.width
        over_long = self.job.faces.flip is None or self.job.faces.flip.edge == "long_edge"
        return "x" if over_long == long_is_x else "y"

    @property
    def turned_edge(self) -> Literal["long", "short"]:
        """The edge over which the panel is turned."""
        return "long" if (self.turn == "x") == (self.length >= self.width) else "short"

    def touch_limit(self, touch: Touch) -> float:
        """Uncertainty of the height by two touches, one on the bed: bound, bed, and errors of both touches, mm."""
        return touch.bound + float(self.machine.bed) + 2.0 * (0.2 * touch.paper + float(self.machine.repeat))

    def turned(self, x: float, y: float) -> tuple[float, float]:
        """(x, y) of a place once the panel has been turned over, mm."""
        return (x, self.width - y) if self.turn == "x" else (self.length - x, y)


# -- survey → seat ---------------------------------------------------------------------------------------------


class Bound(NamedTuple):
    """How far the truth may lie over and under a forecast, on the nodes of the forecast, mm."""

    over: Surface
    under: Surface

    @staticmethod
    def even(both: Surface) -> Bound:
        """As far over as under."""
        return Bound(both, both)

    @property
    def highest(self) -> float:
        """The largest of both, mm."""
        return max(self.over.highest, self.under.highest)

    def turned(self, about: Literal["x", "y"]) -> Bound:
        """The bound once the panel has been turned over."""
        return Bound(self.over.turned(about), self.under.turned(about))

    def mirrored(self) -> Bound:
        """The bound of a plane minus the forecast."""
        return Bound(self.under, self.over)


class Panel(NamedTuple):
    """Both faces as the panel lay free when it was surveyed, in the panel frame.

    `lower` and `upper` are heights above the bed in that pose.  The bounds are the uncertainty
    of each face alone and of the thickness between them.
    """

    lower: Surface
    upper: Surface
    bound_lower: Bound
    bound_upper: Bound
    bound_thickness: Surface
    surveyed: bool
    #: whether gap or probe readings determine the pose in which it was surveyed
    posed: bool
    #: signed heights of twist, cup and bow, mm: those that readings decide, and those of the free shape, from words
    read_shapes: Mapping[str, float] = {}
    free_shapes: Mapping[str, float] = {}


# -- seat → plan -----------------------------------------------------------------------------------------------


class Pose(NamedTuple):
    """The plane a·x + b·y + c that is added to both faces as the panel settles (a, b in mm per mm, c in mm)."""

    a: float
    b: float
    c: float


class Stack(NamedTuple):
    """Leaves on top of each other, the thickest first; `height` is their sum (mm)."""

    height: float
    leaves: tuple[float, ...]


class Rock(NamedTuple):
    """A place that moves down by `move` mm when it is pressed; a feeler gauge finds `gap` mm there before."""

    place: str
    x: float
    y: float
    move: float
    gap: float


class Shim(NamedTuple):
    """A stack of leaves under one place, panel frame.  `gap_left` is the gap that remains above it (mm)."""

    place: str
    x: float
    y: float
    leaves: tuple[float, ...]
    height: float
    gap_left: float
    by_hand: bool
    span: Span


class SeatingChoice(NamedTuple):
    """The best choice of so many stacks: its leaves, most thickness, and how far a place gives under the push, mm."""

    stacks: int
    leaves: int
    most_thickness: float
    rocks: bool
    gives: float


class Seating(NamedTuple):
    """The panel as it rests for the first face: heights above the bed, panel frame."""

    lower: Surface
    upper: Surface
    pose: Pose
    shims: tuple[Shim, ...]
    #: (x, y) of the places where it touches the bed or leaves
    touches: tuple[tuple[float, float], ...]
    rocks: bool
    #: the thickest flat panel that can be cut in this pose, by the forecast without its bounds
    most_thickness: float
    #: the same for the best of all tilts
    best_thickness: float
    bound_lower: Bound
    bound_upper: Bound
    bound_thickness: Surface


# -- plan → check, write, verify, report ------------------------------------------------------------------------


class Leg(NamedTuple):
    """One straight move to (x, y, z), setup frame, z above the bed: a `rapid` (G0), or G1 at the setup's feed.

    A rapid moves in z alone, or in x and y alone at the height of the lift or of a hop.  Straight down, G1 goes at the
    machine's z feed.
    """

    rapid: bool
    x: float
    y: float
    z: float


class Pass(NamedTuple):
    """One sweep at one height.

    `depth` is the deepest bite that is planned and `limit` the deepest that is allowed.  `rows` lie across the axis
    `along`, or it goes `rounds`.  `path` starts and ends at the lift height; `cut_length` is at feed, mm; `time` in s.
    """

    plane: float
    depth: float
    limit: float
    finish: bool
    whole: bool
    along: str
    rows: tuple[float, ...]
    path: tuple[Leg, ...]
    cut_length: float
    time: float
    rounds: int = 0


class Touch(NamedTuple):
    """Where the height is set, setup frame.

    With `on == "top"`, (x, y) is the centre of the cutter, `height` the highest point under its wings there, from
    which program heights are computed, and `lowest` the lowest point that a touch within 10 mm could meet, less the
    bounds.  With `on == "bed"` the touch is beside the panel and all heights are 0.  `kept`: the zero is still set, and
    the face as it lies was cut with it.
    """

    on: Literal["top", "bed"]
    x: float
    y: float
    height: float
    lowest: float
    bound: float
    paper: float
    kept: bool = False

    @property
    def zero(self) -> float:
        """Height of program Z 0 above the bed."""
        return self.height + self.paper

    @property
    def sink(self) -> float:
        """How far below the plan the cutter may run where zero was set on the lowest top that is possible, mm."""
        return self.height - self.lowest


class Setup(NamedTuple):
    """One face: how the panel lies, what comes off, and every move; setup frame, heights above the bed."""

    face: FaceName
    #: the face that is cut, and the lower face in this setup
    top: Surface
    under: Surface
    #: the uncertainty of the top
    bound: Bound
    #: the plane that is left
    plane: float
    passes: tuple[Pass, ...]
    holders: tuple[Holder, ...]
    shims: tuple[Shim, ...]
    touch: Touch
    #: program X 0, Y 0 in the setup frame, and in machine coordinates
    origin: tuple[float, float]
    origin_machine: tuple[float, float]
    #: the height of moves in the air
    lift: float
    overrun: float
    stepover: float
    speed: float
    feed: float
    #: what limits the feed: machine, chip_load, power, holding, or job
    feed_limit: str
    #: chip load in mm per wing, rim speed in m/s, power in W, tangential force and the load for the holders in N
    chip_load: float
    rim_speed: float
    power: float
    force: float
    holding_load: float
    ridge: float
    removed_least: float
    removed_mean: float
    removed_most: float
    #: machine time of the whole program, s
    time: float
    #: whether the face is cut again since a measurement showed that it is still too thick
    again: bool = False

    @property
    def highest(self) -> float:
        return self.top.highest

    @property
    def lowest(self) -> float:
        return self.top.lowest

    @property
    def zero_on_face(self) -> bool:
        """Whether Z is set on the face that was cut before: the zero is kept, or on the bed it left too much."""
        return self.again and (self.touch.kept or self.touch.on == "bed")

    @property
    def face_z(self) -> float:
        """Program Z of a level top, mm."""
        return self.top.mean - self.touch.zero

    @property
    def may_stand(self) -> float:
        """The highest that the top may stand anywhere, bound included, mm above the bed."""
        return self.top.raised(self.bound.over).highest


class UncertaintyPart(NamedTuple):
    """One part of the ± of the thickness."""

    name: str
    value: float


class Plan(NamedTuple):
    """Everything that will happen to one panel."""

    work: Work
    panel: Panel
    seating: Seating
    setups: tuple[Setup, ...]
    #: the thickness that the job asks for (None where the last face is `until clean` or `take`)
    target: float | None
    #: the thickness that the plan leaves, its ±, and the parts of the ±
    forecast: float
    plus_minus: float
    parts: tuple[UncertaintyPart, ...]
    #: the maximum thickness with both faces clean, less the bounds
    most_left: float
    #: differences between measurements and forecast, as sentences for the sheet
    notes: tuple[str, ...] = ()
