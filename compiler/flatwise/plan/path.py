"""The legs of one pass: along rows, round the edge, down beside the panel or on a ramp.

Between two stretches of rows the cutter goes at feed in the plane or by a hop over wood and holders, whichever is
quicker.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, hypot, inf
from typing import NamedTuple

from flatwise.core.units import settled
from flatwise.model.stages import Leg
from flatwise.plan.rows import SLOPE, SLOPE_LEAST, Rows
from flatwise.plan.standing_wood import RUN_IN
from flatwise.plan.timing import duration, straight


class Stretch(NamedTuple):
    """A stretch of a row, mm along it.

    Clear of all wood the cutter's centre is at `low` and at `high`; the row leaves nothing standing if it runs from
    `first` to `last`.
    """

    low: float
    high: float
    first: float
    last: float


class Kinematics(NamedTuple):
    """How the cutter moves in one setup: feeds and rapid in mm/min, acceleration in mm/s².

    `lift` and `holders` (the highest holder with its clearance) count in mm above the bed.  A rapid down ends `hop` mm
    above the plane.
    """

    lift: float
    feed: float
    z_feed: float
    rapid: float
    acceleration: float
    hop: float
    holders: float = -inf
    plunges: bool = False

    @property
    def slope(self) -> float:
        """mm down per mm along a ramp."""
        return min(SLOPE, self.z_feed / self.feed)

    @property
    def run_in(self) -> float:
        """The length of row, clear of wood, that coming down over the face takes, mm."""
        return RUN_IN if self.plunges else max(RUN_IN, self.hop / self.slope)

    def at_feed(self, length: float) -> float:
        """Seconds for a straight move of `length` mm at feed, from stop to stop."""
        return straight(length, self.feed, self.acceleration)

    def at_rapid(self, length: float) -> float:
        """The same at rapid."""
        return straight(length, self.rapid, self.acceleration)

    def seconds(self, start: tuple[float, float, float], legs: Sequence[Leg]) -> float:
        """Seconds for legs from `start` (x, y, z in mm)."""
        return duration(start, legs, self.feed, self.z_feed, self.rapid, self.acceleration)


class RowRun(NamedTuple):
    """A row to run: its stretches, ascending, and whether the rows at lower v are already cut (`upward`).

    `apart`: the run before it lies elsewhere, so that the cutter comes here by a hop.
    """

    row: int
    stretches: Sequence[Stretch]
    upward: bool
    apart: bool = False


class Path:
    """The path of one pass, put together leg by leg; wood may stand up to `above` (mm above the bed)."""

    def __init__(self, rows: Rows, plane: float, above: float, kinematics: Kinematics) -> None:
        self.rows, self.plane, self.above, self.kinematics = rows, plane, above, kinematics
        self.legs: list[Leg] = []
        #: (u, v) of the cutter in the plane; None while it is lifted
        self.where: tuple[float, float] | None = None
        #: mm above the bed: where moves in the air go, and where a rapid down changes to feed
        self.air = min(kinematics.lift, max(above, kinematics.holders) + kinematics.hop)
        self.low = min(self.air, plane + kinematics.hop)
        up_and_down = [Leg(True, 0.0, 0.0, z) for z in (self.air, self.low)] + [Leg(False, 0.0, 0.0, plane)]
        #: s to go up and straight down again
        self.lift_time = kinematics.seconds((0.0, 0.0, plane), up_and_down)
        #: s that this takes at least, since a ramp may go on along its row without a stop
        self.least_lift = self.lift_time - kinematics.z_feed / 60.0 / kinematics.acceleration

    def fresh(self) -> Path:
        """The same pass, with no legs yet."""
        return Path(self.rows, self.plane, self.above, self.kinematics)

    def add(self, rapid: bool, u: float, v: float, z: float) -> None:
        """Append a leg to (u, v), z mm above the bed."""
        self.legs.append(Leg(rapid, *self.rows.point(u, v), z))

    def down_at(self, u: float, v: float, ahead: float = 1.0) -> None:
        """Lift if need be, and come down to (u, v) in the plane, from where a run goes `ahead` (+1 or −1 along u).

        The row is clear of wood there and for `run_in` behind it.
        """
        self.up()
        start = self.landing(u, v, ahead)
        self.add(True, start, v, self.air)
        self.add(True, start, v, self.low)
        if start == u or self.rows.beside(start, v):
            self.add(False, start, v, self.plane)
            self.where = (start, v)
        self.to(u, v)

    def landing(self, u: float, v: float, ahead: float) -> float:
        """Where along its row the cutter comes down for a run from (u, v): beside the panel, or where a ramp begins."""
        if self.kinematics.plunges or self.rows.beside(u, v):
            return u
        return min(max(u - ahead * self.kinematics.run_in, self.rows.start), self.rows.end)

    def to(self, u: float, v: float) -> None:
        """Go straight at feed in the plane."""
        if self.where is not None and abs(u - self.where[0]) < 1e-9 and abs(v - self.where[1]) < 1e-9:
            return
        self.add(False, u, v, self.plane)
        self.where = (u, v)

    def up(self) -> None:
        """Go straight up into the air."""
        if self.where is not None:
            self.add(True, *self.where, self.air)
            self.where = None

    def link(self, corners: Sequence[tuple[float, float]], clear: float, ahead: float) -> None:
        """Go to the last of `corners` at feed through the others, or by a hop to `clear` on its row if that is quicker.

        The corners, and the ways between them, are clear of wood or no wider a bite than a row.  From the last the run
        goes `ahead`.
        """
        assert self.where is not None
        u, v = self.where
        by_feed = 0.0
        for a, b in corners:
            if a != u or b != v:
                by_feed += self.kinematics.at_feed(abs(a - u) + abs(b - v))
            u, v = a, b
        further, u = abs(u - clear) / self.kinematics.feed * 60.0, clear
        start = self.landing(u, v, ahead)
        across, along = hypot(self.where[0] - start, self.where[1] - v), abs(u - start)
        hop = self.lift_time + self.kinematics.at_rapid(across) + along / self.kinematics.feed * 60.0 + further
        if settled(by_feed - hop) <= 0.0:
            for a, b in corners:
                self.to(a, b)
        else:
            self.down_at(u, v, ahead)


def ring(path: Path, near: tuple[float, float] | None) -> None:
    """Go once round the edge, with the uncut wood on the right for climb, else on the left.

    It begins beside the panel at the corner nearest to `near` (u, v), and runs off the panel there again.
    """
    rows, inset = path.rows, path.rows.inset
    u0, u1, v0, v1 = inset, rows.length - inset, inset, rows.width - inset
    corners = [(u0, v0), (u1, v0), (u1, v1), (u0, v1)]
    ways = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
    # seen with u to the right and v away this is anticlockwise; for rows along y that view is mirrored
    if rows.climb == (rows.along == "x"):
        corners = [corners[0], *corners[:0:-1]]
        ways = [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)]
    beyond = inset - rows.start
    # the way in to a corner continues along the edge that leaves it
    starts = [(u - du * beyond, v - dv * beyond) for (u, v), (du, dv) in zip(corners, ways, strict=True)]
    k = min(range(4), key=lambda k: settled(hypot(starts[k][0] - near[0], starts[k][1] - near[1]))) if near else 0
    path.down_at(*starts[k])
    for u, v in (*corners[k + 1 :], *corners[:k]):
        path.to(u, v)
    (u, v), (du, dv) = corners[k], ways[k - 1]
    path.to(u + du * beyond, v + dv * beyond)
    path.up()


def sweep(path: Path, runs: Sequence[RowRun], forward: bool) -> None:
    """Run rows in their order, to and fro or one way; `forward` is the direction of the first when to and fro."""
    rows = path.rows
    for run in runs:
        if rows.one_way:
            # The spindle turns clockwise seen from above, so wood on the right of the way is climb.  With lower v cut
            # already, the wood lies at +v: on the left of a run along +x, on the right of a run along +y.
            forward = (rows.climb == (rows.along == "y")) == run.upward
        elif run.apart and path.where is not None:
            here, (first, last) = path.where[0], (run.stretches[0], run.stretches[-1])
            forward = settled(abs(here - first.low) - abs(here - last.high)) <= 0.0
        _run_row(path, run, forward)
        forward = not forward
    path.up()


def _run_row(path: Path, run: RowRun, forward: bool) -> None:
    """Run the stretches of a row one after another."""
    rows, v = path.rows, path.rows.at[run.row]
    ahead = 1.0 if forward else -1.0
    for k, one in enumerate(run.stretches if forward else reversed(run.stretches)):
        clear, begin, end = (one.low, one.first, one.last) if forward else (one.high, one.last, one.first)
        beside = path.where is not None and path.where[0] == clear and clear in (rows.start, rows.end)
        if path.where is None or (not k and (run.apart or rows.one_way) and not beside):
            path.down_at(clear, v, ahead)
        elif k:
            path.link([(begin, v)], clear, ahead)
        else:
            # what stands beyond both ends is no wider than the cutter takes where it steps over
            out = (min if forward else max)(path.where[0], begin)
            path.link([(out, path.where[1]), (out, v), (begin, v)], clear, ahead)
        path.to(end, v)


def ramp(path: Path, bite: float) -> None:
    """Sweep a spoilboard that the cutter can't pass beside: down on a ramp along the first row, then all rows.

    The ramp begins a hop above the wood, takes at least the cutter's diameter through each `bite` (mm) of it, and ends
    where the row begins, so that the row is then cut from end to end; in a short row it goes to and fro.
    """
    rows, slope = path.rows, path.kinematics.slope
    room = max(rows.end - rows.start, SLOPE_LEAST)
    deep = path.above - path.plane
    in_wood = max(deep / slope, rows.diameter * deep / max(bite, 1e-6))
    whole = in_wood + max(0.0, path.air - path.above) / slope
    # lengths of ramp still to go where it begins, turns, and meets wood
    for left in sorted({whole, in_wood, *(room * k for k in range(1, ceil(whole / room)))}, reverse=True):
        turns, rest = divmod(left, room)
        u = min(rows.start + (rest if turns % 2 == 0 else room - rest), rows.end)
        z = path.plane + deep * min(1.0, left / in_wood) + max(0.0, left - in_wood) * slope
        if left == whole:
            path.add(True, u, rows.at[0], path.air)
        path.add(left == whole, u, rows.at[0], z)
    path.add(False, rows.start, rows.at[0], path.plane)
    path.where = (rows.start, rows.at[0])
    ends = (rows.start, rows.end)
    for k, v in enumerate(rows.at):
        path.to(ends[k % 2], v)
        path.to(ends[(k + 1) % 2], v)
    # rows that end over the board leave arcs between them there; the turns have taken every second one
    chord = max(0.0, rows.sure_radius**2 - (rows.step / 2.0 + 1.0) ** 2) ** 0.5
    if rows.start > chord or rows.length - rows.end > chord:
        here, other = ends[len(rows.at) % 2], ends[(len(rows.at) + 1) % 2]
        for u, v in ((here, rows.at[0]), (other, rows.at[0]), (other, rows.at[-1])):
            path.to(u, v)
    path.up()
