"""The moves of one pass, leg by leg: along rows, round the edge, down on a slope.

Between two stretches of rows the cutter goes at feed in the plane, or by a lift, whichever is quicker.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, hypot

from flatwise.plan.rows import SLOPE, SLOPE_LEAST, Rows
from flatwise.plan.standing_wood import Stretch
from flatwise.plan.timing import Move, straight

#: mm above the plane where a rapid down turns into feed
LAST_BIT = 2.0


@dataclass(frozen=True)
class Pace:
    """How the cutter goes in one setup: lift height (mm above the bed), feed and rapid mm/min, acceleration mm/s2."""

    lift: float
    feed: float
    rapid: float
    acceleration: float


@dataclass(frozen=True)
class Run:
    """A row in its turn: its stretches (from, to), ascending, and whether it is cut away from the rows before it.

    `apart`: the row before it in the order lies elsewhere, so that only a lift leads here.
    """

    row: int
    stretches: Sequence[Stretch]
    upward: bool
    apart: bool = False


class Path:
    """Moves of one pass, put together leg by leg; it knows how to go from one place to the next."""

    def __init__(self, rows: Rows, plane: float, pace: Pace) -> None:
        self.rows, self.plane, self.pace = rows, plane, pace
        self.lift, self.feed, self.rapid, self.acceleration = pace.lift, pace.feed, pace.rapid, pace.acceleration
        self.moves: list[Move] = []
        self.where: tuple[float, float] | None = None
        rise = self.lift - plane
        #: s for the way up to the lift height and down from it
        self.by_lift = (
            straight(rise, self.rapid, self.acceleration)
            + straight(rise - LAST_BIT, self.rapid, self.acceleration)
            + straight(min(rise, LAST_BIT), self.feed, self.acceleration)
        )

    def down_at(self, u: float, v: float) -> None:
        """Up if need be, over to a place clear of wood, and down to the plane: the last bit at feed."""
        self.up()
        x, y = self.rows.point(u, v)
        self.moves.append((True, x, y, self.lift))
        near = self.plane + LAST_BIT
        if near < self.lift:
            self.moves.append((True, x, y, near))
        self.moves.append((False, x, y, self.plane))
        self.where = (u, v)

    def to(self, u: float, v: float) -> None:
        """Straight at feed in the plane."""
        if self.where is not None and abs(u - self.where[0]) < 1e-9 and abs(v - self.where[1]) < 1e-9:
            return
        x, y = self.rows.point(u, v)
        self.moves.append((False, x, y, self.plane))
        self.where = (u, v)

    def up(self) -> None:
        """Straight up to the lift height."""
        if self.where is not None:
            x, y = self.rows.point(*self.where)
            self.moves.append((True, x, y, self.lift))
            self.where = None

    def link(self, corners: Sequence[tuple[float, float]]) -> None:
        """To the last of `corners` by way of the others, all clear of wood: at feed or by a lift, the quicker one."""
        assert self.where is not None
        u, v = self.where
        by_feed = 0.0
        for a, b in corners:
            if a != u or b != v:
                by_feed += straight(abs(a - u) + abs(b - v), self.feed, self.acceleration)
            u, v = a, b
        # a way shorter than both lifts alone is not looked at twice
        across = hypot(self.where[0] - u, self.where[1] - v)
        if by_feed <= self.by_lift + straight(across, self.rapid, self.acceleration):
            for a, b in corners:
                self.to(a, b)
        else:
            self.down_at(u, v)


def ring(path: Path, near: tuple[float, float] | None) -> None:
    """Once round the edge; the uncut wood on the right for climb, else left.

    It begins beside the panel, at the corner nearest to `near` (u, v), and runs off the panel there again.
    """
    rows, inset = path.rows, path.rows.inset
    u0, u1, v0, v1 = inset, rows.length - inset, inset, rows.width - inset
    corners = [(u0, v0), (u1, v0), (u1, v1), (u0, v1)]
    ways = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)]
    # in u, v seen with u to the right this goes anticlockwise; for rows along y the frame is mirrored
    if rows.climb == (rows.along == "x"):
        corners = [corners[0], *corners[:0:-1]]
        ways = [(0.0, 1.0), (1.0, 0.0), (0.0, -1.0), (-1.0, 0.0)]
    beyond = inset - rows.start
    # every corner is come to from outside by the way that leaves it
    starts = [(u - du * beyond, v - dv * beyond) for (u, v), (du, dv) in zip(corners, ways, strict=True)]
    k = min(range(4), key=lambda k: hypot(starts[k][0] - near[0], starts[k][1] - near[1])) if near else 0
    path.down_at(*starts[k])
    for u, v in (*corners[k + 1 :], *corners[:k]):
        path.to(u, v)
    (u, v), (du, dv) = corners[k], ways[k - 1]
    path.to(u + du * beyond, v + dv * beyond)
    path.up()


def sweep(path: Path, runs: Sequence[Run], forward: bool) -> None:
    """Rows in their order, zigzag or one way; `forward` is the way of the first row of a zigzag."""
    rows = path.rows
    for run in runs:
        v = rows.at[run.row]
        if rows.one_way:
            # the spindle turns clockwise seen from above: wood on the right of the way is climb.  Going up in v
            # the uncut side is +v: on the left of a run along +x, on the right of a run along +y.
            forward = (rows.climb == (rows.along == "y")) == run.upward
        elif run.apart and path.where is not None:
            forward = abs(path.where[0] - run.stretches[0][0]) <= abs(path.where[0] - run.stretches[-1][1])
        stretches = run.stretches if forward else [(b, a) for a, b in reversed(run.stretches)]
        for k, (a, b) in enumerate(stretches):
            beside = path.where is not None and path.where[0] == a and a in (rows.start, rows.end)
            if path.where is None or (not k and (run.apart or rows.one_way) and not beside):
                path.down_at(a, v)
            elif k or beside:
                path.link([(a, v)])
            else:
                # beyond both ends nothing stands in either strip: out, across, and in again
                out = (max if not forward else min)(path.where[0], a)
                path.link([(out, path.where[1]), (out, v), (a, v)])
            path.to(b, v)
        forward = not forward
    path.up()


def ramp(path: Path, above: float) -> None:
    """Zigzag over the whole sweep of a spoilboard that has no free side: down on a slope along the first row.

    `above` is the height that the wood may still have there, mm; the slope begins a little over it and ends where
    the row begins, so that the row is then cut from end to end.  It goes to and fro where the row is short.
    """
    rows = path.rows
    v = rows.at[0]
    high = min(path.lift, above + LAST_BIT)
    # the whole slope is cut again by the row
    slope = max(0.0, high - path.plane) / SLOPE
    runs = max(1, ceil(slope / max(rows.end - rows.start, SLOPE_LEAST) - 1e-9))
    each = min(rows.end - rows.start, slope / runs)
    ends = (rows.start, rows.start + each)
    x, y = rows.point(ends[runs % 2], v)
    path.moves.append((True, x, y, path.lift))
    if high < path.lift:
        path.moves.append((True, x, y, high))
    for k in range(1, runs + 1):
        x, y = rows.point(ends[(runs - k) % 2], v)
        path.moves.append((False, x, y, high - (high - path.plane) * k / runs))
    path.where = (rows.start, v)
    turns = (rows.start, rows.end)
    for k, v in enumerate(rows.at):
        path.to(turns[k % 2], v)
        path.to(turns[(k + 1) % 2], v)
    # rows that end over the board leave arcs between them there, half of which the turns have taken
    reach_of_disc = max(0.0, (rows.diameter / 2.0) ** 2 - (rows.step / 2.0 + 1.0) ** 2) ** 0.5
    if rows.start > reach_of_disc or rows.length - rows.end > reach_of_disc:
        here, other = turns[len(rows.at) % 2], turns[(len(rows.at) + 1) % 2]
        for u, v in ((here, rows.at[0]), (other, rows.at[0]), (other, rows.at[-1])):
            path.to(u, v)
    path.up()
