"""The legs of one pass: along rows, round the edge, down on a slope.

Between two stretches of rows the cutter goes at feed in the plane or by a lift, whichever is quicker.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, hypot

from flatwise.model.stages import Leg
from flatwise.plan.rows import SLOPE, SLOPE_LEAST, Rows
from flatwise.plan.timing import straight

#: mm above the plane where a rapid down changes to feed
LAST_BIT = 2.0

#: from and to along a row, mm
Stretch = tuple[float, float]


@dataclass(frozen=True)
class Kinematics:
    """How the cutter moves in one setup: lift in mm above the bed, feed and rapid in mm/min, acceleration in mm/s²."""

    lift: float
    feed: float
    rapid: float
    acceleration: float

    def at_feed(self, length: float) -> float:
        """Seconds for a straight move of `length` mm at feed, from stop to stop."""
        return straight(length, self.feed, self.acceleration)

    def at_rapid(self, length: float) -> float:
        """The same at rapid."""
        return straight(length, self.rapid, self.acceleration)


@dataclass(frozen=True)
class RowRun:
    """A row to run: its stretches, ascending, and whether the rows at lower v are already cut (`upward`).

    `apart`: the run before it lies elsewhere, so that the cutter comes here by a lift.
    """

    row: int
    stretches: Sequence[Stretch]
    upward: bool
    apart: bool = False


class Path:
    """The path of one pass, put together leg by leg."""

    def __init__(self, rows: Rows, plane: float, kinematics: Kinematics) -> None:
        self.rows, self.plane, self.kinematics = rows, plane, kinematics
        self.legs: list[Leg] = []
        #: (u, v) of the cutter in the plane; None while it is lifted
        self.where: tuple[float, float] | None = None
        rise = kinematics.lift - plane
        #: s to go up to the lift height and down again
        self.lift_time = (
            kinematics.at_rapid(rise) + kinematics.at_rapid(rise - LAST_BIT) + kinematics.at_feed(min(rise, LAST_BIT))
        )

    def add(self, rapid: bool, u: float, v: float, z: float) -> None:
        """Append a leg to (u, v), z mm above the bed."""
        self.legs.append(Leg(rapid, *self.rows.point(u, v), z))

    def down_at(self, u: float, v: float) -> None:
        """Lift if need be, go to a place clear of wood, and come down to the plane, the last bit at feed."""
        self.up()
        self.add(True, u, v, self.kinematics.lift)
        if self.plane + LAST_BIT < self.kinematics.lift:
            self.add(True, u, v, self.plane + LAST_BIT)
        self.add(False, u, v, self.plane)
        self.where = (u, v)

    def to(self, u: float, v: float) -> None:
        """Go straight at feed in the plane."""
        if self.where is not None and abs(u - self.where[0]) < 1e-9 and abs(v - self.where[1]) < 1e-9:
            return
        self.add(False, u, v, self.plane)
        self.where = (u, v)

    def up(self) -> None:
        """Go straight up to the lift height."""
        if self.where is not None:
            self.add(True, *self.where, self.kinematics.lift)
            self.where = None

    def link(self, corners: Sequence[tuple[float, float]]) -> None:
        """Go to the last of `corners`, through the others at feed or by a lift, whichever is quicker.

        The corners and the ways between them are clear of wood.
        """
        assert self.where is not None
        u, v = self.where
        by_feed = 0.0
        for a, b in corners:
            if a != u or b != v:
                by_feed += self.kinematics.at_feed(abs(a - u) + abs(b - v))
            u, v = a, b
        across = hypot(self.where[0] - u, self.where[1] - v)
        if by_feed <= self.lift_time + self.kinematics.at_rapid(across):
            for a, b in corners:
                self.to(a, b)
        else:
            self.down_at(u, v)


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
    k = min(range(4), key=lambda k: hypot(starts[k][0] - near[0], starts[k][1] - near[1])) if near else 0
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
            forward = abs(path.where[0] - run.stretches[0][0]) <= abs(path.where[0] - run.stretches[-1][1])
        _run_row(path, run, forward)
        forward = not forward
    path.up()


def _run_row(path: Path, run: RowRun, forward: bool) -> None:
    """Run the stretches of a row one after another."""
    rows, v = path.rows, path.rows.at[run.row]
    stretches = run.stretches if forward else [(b, a) for a, b in reversed(run.stretches)]
    for k, (a, b) in enumerate(stretches):
        beside = path.where is not None and path.where[0] == a and a in (rows.start, rows.end)
        if path.where is None or (not k and (run.apart or rows.one_way) and not beside):
            path.down_at(a, v)
        elif k or beside:
            path.link([(a, v)])
        else:
            # nothing stands beyond both ends in the strips of either row: out, across, and in again
            out = (min if forward else max)(path.where[0], a)
            path.link([(out, path.where[1]), (out, v), (a, v)])
        path.to(b, v)


def ramp(path: Path, above: float) -> None:
    """Sweep a spoilboard that the cutter can't pass beside: down on a slope along the first row, then all rows.

    `above` is the height up to which wood may still stand (mm).  The slope begins a little over it and ends where the
    row begins, so that the row is then cut from end to end; in a short row it goes to and fro.
    """
    rows, lift = path.rows, path.kinematics.lift
    high = min(lift, above + LAST_BIT)
    slope = max(0.0, high - path.plane) / SLOPE
    runs = max(1, ceil(slope / max(rows.end - rows.start, SLOPE_LEAST) - 1e-9))
    ends = (rows.start, rows.start + min(rows.end - rows.start, slope / runs))
    path.add(True, ends[runs % 2], rows.at[0], lift)
    if high < lift:
        path.add(True, ends[runs % 2], rows.at[0], high)
    for k in range(1, runs + 1):
        path.add(False, ends[(runs - k) % 2], rows.at[0], high - (high - path.plane) * k / runs)
    path.where = (rows.start, rows.at[0])
    turns = (rows.start, rows.end)
    for k, v in enumerate(rows.at):
        path.to(turns[k % 2], v)
        path.to(turns[(k + 1) % 2], v)
    # rows that end over the board leave arcs between them there; the turns have taken every second one
    chord = max(0.0, (rows.diameter / 2.0) ** 2 - (rows.step / 2.0 + 1.0) ** 2) ** 0.5
    if rows.start > chord or rows.length - rows.end > chord:
        here, other = turns[len(rows.at) % 2], turns[(len(rows.at) + 1) % 2]
        for u, v in ((here, rows.at[0]), (other, rows.at[0]), (other, rows.at[-1])):
            path.to(u, v)
    path.up()
