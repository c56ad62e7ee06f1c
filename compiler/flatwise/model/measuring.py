"""The results of `flatwise measure`: where a dial gauge in the collet goes, and what it should find there.

Program Z counts from the bed: it is 0 where the gauge stands on the bed, pressed by half its travel.  So a height is
program Z + (dial − dial on the bed), and the tip at rest hangs half its travel below program Z.
"""

from __future__ import annotations

from typing import NamedTuple

from flatwise.core.finding import Findings
from flatwise.core.surface import Surface
from flatwise.model.bed import BatchWork
from flatwise.model.shop import Gauge
from flatwise.model.stages import Holder, Panel, Plan, Work


class Stop(NamedTuple):
    """A point where the dial is read, in the frame of the panel as it lies, mm.

    `expected` is the height of the top above the bed, on the controller's last digit: the program Z of this stop.
    `bound` is its uncertainty.
    """

    number: int
    x: float
    y: float
    expected: float
    bound: float


class Walk(NamedTuple):
    """A walk over the panel as it lies free on the bed, for the face that lies up; mm, heights above the bed.

    `under`: the panel is turned over, and the other face lies up.  The grid has `nx` by `ny` points; those that a
    holder covers are not among the stops but in `left_out`, as (x, y).  Stops come in the order of the walk.
    """

    gauge_name: str
    gauge: Gauge
    nx: int
    ny: int
    stops: tuple[Stop, ...]
    under: bool
    left_out: tuple[tuple[float, float], ...]
    #: the face that lies up, and its uncertainty on the same nodes
    top: Surface
    bound: Surface
    #: the highest that the top may stand, with its bound and the flatness of the bed
    may_stand: float
    #: what stands in the way of the gauge beside the panel: holders, and in a batch all that belongs to its neighbours
    in_the_way: tuple[Holder, ...]
    #: where the gauge is set to zero on the bed, beside the panel
    zero_at: tuple[float, float]
    #: program X 0, Y 0 in the panel's frame, and in machine coordinates
    origin: tuple[float, float]
    origin_machine: tuple[float, float]
    #: program Z of moves in the air, and of the end of the rapid down to a stop
    lift: float
    over: float
    #: feed of the way down onto the panel, mm/min
    feed: float
    #: machine time without the reading of the dial, s
    time: float

    @property
    def press(self) -> float:
        """How far the gauge is pressed at a stop where the top stands as expected: half its travel, mm."""
        return float(self.gauge.travel) / 2.0

    @property
    def stick_out(self) -> float:
        """From the collet's face to the tip pressed by half its travel, mm."""
        return float(self.gauge.reach) - self.press

    @property
    def face(self) -> str:
        """The face that lies up: `top` or `under`."""
        return "under" if self.under else "top"


class BedWalk(NamedTuple):
    """One walk over all panels of a batch, each where its work's corner lies; `first` has the zero.

    `panels` come in the order of the walk, and their stops are numbered through.  They share zero and lift height.  A
    panel whose survey has no `walk` has no stops, but stands on the bed.
    """

    batch: BatchWork
    first: Work
    panels: tuple[tuple[Work, Walk], ...]

    @property
    def stops(self) -> tuple[Stop, ...]:
        """The stops of all panels."""
        return tuple(stop for _, walk in self.panels for stop in walk.stops)

    @property
    def time(self) -> float:
        """Machine time without the reading of the dial, s."""
        return sum(walk.time for _, walk in self.panels)


class Gain(NamedTuple):
    """The effect of readings: the plan with them and the plan without, none of a face counting as cut already.

    `files` names the files of points where these are what is left out of the second plan; if there are none, all
    readings are.
    """

    files: tuple[str, ...]
    known: Plan
    without: Plan


class Measured(NamedTuple):
    """The result of `flatwise measure` for one face: the walk and its program, where the job has a gauge.

    There is no panel where the readings contradict each other, and no program (b"") where a finding is an error.
    """

    panel: Panel | None
    walk: Walk | None
    program: bytes
    findings: Findings
    gain: Gain | None = None


class MeasuredBatch(NamedTuple):
    """The same for a batch: one walk and program for all its panels, and each job with what its form needs.

    The works are those of the batch in their places, in the order of the jobs; there are none where the panels find no
    places.
    """

    panels: tuple[tuple[Work, Measured], ...]
    walk: BedWalk | None
    program: bytes
    findings: Findings
