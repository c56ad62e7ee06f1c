"""How a rigid panel comes to rest on the bed and on leaves, and whether it rocks there.

Heights in mm, panel frame.  A pose is the plane a·x + b·y + c that is added to both faces.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise
from math import ceil
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.stopping import may_stop
from flatwise.core.surface import Array, Surface, distinct
from flatwise.core.units import settled
from flatwise.model.stages import Pose, Rock
from flatwise.model.words import PLACES
from flatwise.seat.lp import corner_rows, hull_candidates, minimise, minimise_all, plane_rows

#: A leaf is a square with sides of this length, laid flush with the outline (mm).
LEAF = 25.0
#: How far the centre of gravity may lie from the centre of the outline, as a share of length and width.
OFF_CENTRE = 0.005
#: The push of a hand or of the cutter (N), and standard gravity (m/s²).
PUSH = 50.0
GRAVITY = 9.80665
#: Heights closer to each other than this are equal (mm).
SAME = 1e-6
#: A centre of gravity lies among three places of support if each bears at least this share of the weight.
INSIDE = 1e-9
#: A centre of gravity on the line between two places, or on a place, is moved by so much (−1…1 over the outline): which
#: three bear is then not up to the last digits.
HAIR = 3.1e-6, 1.7e-6
#: Centres of gravity a side for which the places that bear on the bare bed are looked for.
CENTRES = 15
#: Where those places are looked for, the edges of the face are taken to lie lower than its middle by this (mm): of many
#: places on one line the ends bear, and three of four on one plane.
OUTER = 1e-7
#: Heights that are looked at together: some choices of stacks at a time, or they would take gigabytes.
MOST_HEIGHTS = 2_000_000
#: Where the panel is pressed to see whether it rocks: corners and edge midpoints.
PRESSED = tuple(name for name in PLACES if name != "centre")


class Footprint(NamedTuple):
    """The rectangle that a stack of leaves covers: x0…x1, y0…y1 in mm."""

    x0: float
    x1: float
    y0: float
    y1: float


def footprint(x: float, y: float, length: float, width: float) -> Footprint:
    """The footprint of leaves at (x, y) mm: centred there, but flush with the outline where they would stick out."""
    x0 = min(max(x - LEAF / 2, 0.0), max(length - LEAF, 0.0))
    y0 = min(max(y - LEAF / 2, 0.0), max(width - LEAF, 0.0))
    return Footprint(x0, min(x0 + LEAF, length), y0, min(y0 + LEAF, width))


class Rest:
    """A panel's lower face over the bed and over places where leaves may lie.

    Every method takes the heights of the stacks (mm), one for each footprint, 0 for a place without leaves.
    """

    def __init__(self, lower: Surface, footprints: Sequence[Footprint] = ()) -> None:
        self.lower, self.length, self.width = lower, lower.length, lower.width
        parts = [hull_candidates(lower, low=True), *(_over(lower, each) for each in footprints)]
        #: (n, 3) places of the lower face that can bear on the bed or on leaves
        self.points = np.concatenate(parts)
        ends = np.cumsum([len(part) for part in parts]).tolist()
        self._stacks = [slice(start, end) for start, end in pairwise(ends)]
        self._beyond = len(parts[0])
        self._middle = float(self.points[:, 2].mean())
        self._rows = plane_rows(self.points, self.length, self.width)
        self._corners = corner_rows(self._rows)
        self._bearing: tuple[int, ...] = ()
        #: `_bearing_stacks` by its argument, for which the search asks again and again
        self._lowest: dict[int, NDArray[np.intp]] = {}

    def _sides(self, heights: Sequence[float]) -> Array:
        """(n,) how far each place must rise to lie on the bed or on its stack (mm, less a constant)."""
        sides = self._middle - self.points[:, 2]
        for stack, height in zip(self._stacks, heights, strict=True):
            sides[stack] += height
        return sides

    def _solve(self, sides: Array, u: float, v: float) -> tuple[Pose, tuple[int, ...]]:
        """The pose with the centre of gravity at (u, v), −1…1 over the outline, and the three places that bear."""
        centre = np.array([u, v, 1.0])
        # begins from the places that bore last, or from the corners, if the centre of gravity lies among them
        start = self._bearing
        if not start or np.linalg.solve(self._rows[list(start)].T, centre).min() < 0.0:
            start = self._corners[:3] if u + v <= 0.0 else self._corners[3:0:-1]
        x, bearing = minimise(self._rows, sides, centre, start)
        self._bearing = bearing
        a, b = 2.0 * float(x[0]) / self.length, 2.0 * float(x[1]) / self.width
        return Pose(a, b, float(x[2]) - float(x[0]) - float(x[1]) - self._middle), bearing

    def at(self, heights: Sequence[float], x: float, y: float) -> Pose:
        """The pose in which a centre of gravity at (x, y) mm lies lowest.

        A linear program: minimise a·x + b·y + c subject to B + a·x + b·y + c ≥ s at every place of the lower face B,
        with s the height of the stack there, or 0 on the bed.
        """
        return self._solve(self._sides(heights), 2.0 * x / self.length - 1.0, 2.0 * y / self.width - 1.0)[0]

    def natural(self, heights: Sequence[float]) -> Pose:
        """The pose that the panel takes by itself.

        If centres of gravity within 0.5 % of length and width give different poses, it takes the one nearest to the
        surveyed pose (no tilt added), then the one with the least tilt along x, then along y.
        """
        sides = self._sides(heights)
        reach = 2.0 * OFF_CENTRE
        near = (0.0, -reach, reach)
        centres = np.array([(u + HAIR[0], v + HAIR[1], 1.0) for u in near for v in near]).T
        open_ = np.ones(centres.shape[1], dtype=bool)
        poses: list[Pose] = []
        while open_.any():
            first = int(open_.argmax())
            open_[first] = False
            pose, bearing = self._solve(sides, float(centres[0, first]), float(centres[1, first]))
            poses.append(pose)
            # the same three places bear for every other centre of gravity that lies among them
            open_ &= np.linalg.solve(self._rows[list(bearing)].T, centres).min(axis=0) < INSIDE
        return min(poses, key=lambda pose: tuple(map(settled, (float(np.hypot(pose.a, pose.b)), pose.a, pose.b))))

    def tried(self, heights: Array, mass: float) -> tuple[Array, Array]:
        """Results of many choices: the poses (m, 3) as a, b, c, and how far pressed places move (m, 2, 8), mm.

        heights: (m, stacks) in mm, mass in kg.  The pushes are 50 N and 100 N.  The centre of gravity is that of the
        outline, off by a hair: the pose of a panel that balances on a line is either of two.
        """
        shares = [push / (mass * GRAVITY + push) for push in (PUSH, 2.0 * PUSH)]
        pressed = _corners_and_edges()
        centres = np.concatenate(([[0.0, 0.0]], *(share * pressed for share in shares)))
        x = self._solve_all(heights, centres, self._bearing_bed, self._bearing_stacks(ceil(heights.max(initial=0.0))))
        lying, after = x[:, :1], x[:, 1:].reshape(len(heights), 2, len(PRESSED), 3)
        moves = ((lying[:, :, None] - after) * np.column_stack((pressed, np.ones(len(pressed))))).sum(axis=-1)
        a, b = 2.0 * lying[:, 0, 0] / self.length, 2.0 * lying[:, 0, 1] / self.width
        poses = np.column_stack((a, b, lying[:, 0, 2] - lying[:, 0, 0] - lying[:, 0, 1] - self._middle))
        return poses, np.abs(moves)

    def _solve_all(
        self,
        heights: Array,
        centres: Array,
        bed: NDArray[np.intp] | None = None,
        over: NDArray[np.intp] | None = None,
    ) -> Array:
        """(m, q, 3) planes, scaled as `_rows`, for m choices of stacks and q centres of gravity, −1…1 (q, 2).

        `bed` and `over`: the places that may bear on the bed and on stacks; all, if none are named.
        """
        bed = np.arange(self._beyond) if bed is None else bed
        over = np.arange(self._beyond, len(self.points)) if over is None else over
        used = np.concatenate((bed, over))
        sides = np.tile(self._middle - self.points[used, 2], (len(heights), 1))
        if self._stacks:
            sizes = [stack.stop - stack.start for stack in self._stacks]
            sides[:, len(bed) :] += heights[:, np.repeat(np.arange(len(sizes)), sizes)[over - self._beyond]]
        rows, costs = self._rows[used], np.column_stack((centres, np.ones(len(centres))))
        some = max(1, MOST_HEIGHTS // (len(rows) * len(costs)))
        found = []
        for start in range(0, len(sides), some):
            may_stop()
            found.append(minimise_all(rows, sides[start : start + some], costs)[0])
        return np.concatenate(found)

    @cached_property
    def _bearing_bed(self) -> NDArray[np.intp]:
        """The places of the lower face that bear on the bare bed for some centre of gravity of a fine grid."""
        rows, sides = self._rows[: self._beyond], self._middle - self.points[: self._beyond, 2]
        u, v = np.meshgrid(*(np.linspace(-1.0, 1.0, CENTRES),) * 2)
        costs = np.column_stack((u.ravel(), v.ravel(), np.ones(u.size)))
        # the last digits of the heights shall not name three of many on a line or of four on a plane
        across, along = rows[:, 0], rows[:, 1]
        outer = OUTER * (across * across + along * along + 0.3 * across * along)
        return distinct(minimise_all(rows, (sides + outer)[None], costs)[1]).astype(np.intp)

    def _bearing_stacks(self, highest: int) -> NDArray[np.intp]:
        """The places over stacks, of many the lowest of their stack at some tilt of a fine grid.

        No panel tilts by more than its lower face rises and the highest stack (mm).
        """
        if highest in self._lowest:
            return self._lowest[highest]
        most = (float(np.ptp(self.points[:, 2])) + highest) / 2.0
        u, v = np.meshgrid(*(np.linspace(-most, most, CENTRES),) * 2)
        found = [np.empty(0, dtype=np.intp)]
        for stack in self._stacks:
            places = np.arange(stack.start, stack.stop)
            if len(places) > CENTRES:
                heights = self._rows[stack, :2] @ np.stack((u.ravel(), v.ravel())) + self.points[stack, 2:]
                places = places[sorted(set(np.round(heights, 9).argmin(axis=0).tolist()))]
            found.append(places)
        self._lowest[highest] = np.concatenate(found)
        return self._lowest[highest]

    def gaps(self, pose: Pose, heights: Sequence[float]) -> list[float]:
        """The gap a feeler finds over each stack: the least height of the lower face there, less the stack (mm)."""
        clear = self._clear(pose)
        return [float(clear[stack].min()) - height for stack, height in zip(self._stacks, heights, strict=True)]

    def touches(self, pose: Pose, heights: Sequence[float]) -> tuple[tuple[float, float], ...]:
        """(x, y) in mm of the places that bear; if there are many, the outermost in eight directions."""
        clear = self._clear(pose)
        for stack, height in zip(self._stacks, heights, strict=True):
            clear[stack] -= height
        bearing = np.round(self.points[clear <= SAME][:, :2], 6) + 0.0
        spots = np.array(sorted(set(map(tuple, bearing.tolist()))))
        if len(spots) > 12:
            turn = np.arange(8) * np.pi / 4.0
            outer = np.round(spots @ np.array([np.cos(turn), np.sin(turn)]), 6).argmax(axis=0)
            spots = spots[sorted(set(outer.tolist()))]
        return tuple((float(x), float(y)) for x, y in spots)

    def _clear(self, pose: Pose) -> Array:
        """(n,) heights of all places above the bed in a pose (mm)."""
        return np.asarray(self.points @ np.array([pose.a, pose.b, 1.0]) + pose.c)

    def rocks(self, pose: Pose, heights: Sequence[float], mass: float) -> tuple[Rock, ...]:
        """The effect of pressing each corner and edge midpoint with 50 N, the worst first; mass in kg."""
        ((rocks,),) = self.all_rocks([pose], [heights], mass, (PUSH,))
        return rocks

    def all_rocks(
        self, poses: Sequence[Pose], heights: Sequence[Sequence[float]], mass: float, pushes: tuple[float, ...]
    ) -> list[list[tuple[Rock, ...]]]:
        """The same for several choices of stacks, each in its pose, and for each push F (N).

        Rest is solved again with the load at (W·g + F·p)/(W + F), W = mass × 9.80665 N.  The panel stays in its pose if
        no other is lower for that load: pressed on the line that it balances on, it need not move.
        """
        pressed = _corners_and_edges()
        # (pushes, 8, 2)
        centres = np.array([push / (mass * GRAVITY + push) for push in pushes])[:, None, None] * pressed
        after = self._solve_all(np.array(heights), centres.reshape(-1, 2)).reshape(-1, *centres.shape[:2], 3)
        moved = np.array([self._scaled(pose) for pose in poses])[:, None, None] - after
        # pressed on the line that it balances on, it need not move
        lower = (moved[..., :2] * centres).sum(axis=-1) + moved[..., 2] > SAME
        moves = np.where(lower, np.abs((moved[..., :2] * pressed).sum(axis=-1) + moved[..., 2]), 0.0)
        places = (pressed + 1.0) / 2.0 * (self.length, self.width)
        on_face = self.lower.at(*places.T)

        def worst_first(pose: Pose, moves: list[float]) -> tuple[Rock, ...]:
            gaps = on_face + places @ np.array([pose.a, pose.b]) + pose.c
            found = zip(PRESSED, places.tolist(), moves, gaps.tolist(), strict=True)
            rocks = (Rock(name, x, y, settled(move), gap) for name, (x, y), move, gap in found)
            return tuple(sorted(rocks, key=lambda rock: -rock.move))

        each = zip(poses, moves.tolist(), strict=True)
        return [[worst_first(pose, by_push) for by_push in of_choice] for pose, of_choice in each]

    def _scaled(self, pose: Pose) -> Array:
        """(3,) a pose as a plane scaled as `_rows`."""
        a, b = pose.a * self.length / 2.0, pose.b * self.width / 2.0
        return np.array([a, b, pose.c + a + b + self._middle])


def _corners_and_edges() -> Array:
    """(8, 2) places that are pressed, −1…1 over the outline."""
    return 2.0 * np.array([PLACES[name] for name in PRESSED]) - 1.0


def _over(face: Surface, area: Footprint) -> Array:
    """(n, 3): the nodes of a face cut out over a footprint, with both heights on a step (mm)."""
    sides = []
    for at, start, stop in ((face.xs, area.x0, area.x1), (face.ys, area.y0, area.y1)):
        sides.append(distinct(np.concatenate(([start, stop], at[(at > start) & (at < stop)]))))
    x, y = (part.ravel() for part in np.meshgrid(*sides))
    points = [np.column_stack((x, y, face.at(x, y)))]
    stepped = _doubled(face.xs, x) | _doubled(face.ys, y)
    for px, py in zip(x[stepped].tolist(), y[stepped].tolist(), strict=True):
        points.extend(np.array([[px, py, height]]) for height in face.both_at(px, py))
    return np.concatenate(points)


def _doubled(nodes: Array, at: Array) -> NDArray[np.bool_]:
    """Which of some coordinates stand twice among the nodes, because a step is there."""
    return np.asarray(np.searchsorted(nodes, at, "right") - np.searchsorted(nodes, at) > 1)
