"""How a rigid panel comes to rest on the bed and on leaves, whether it rocks, and the widest slab inside it.

Heights in mm, panel frame.  A pose is the plane a·x + b·y + c that is added to both faces.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.surface import Array, Surface, distinct
from flatwise.model.stages import Pose, Rock
from flatwise.model.words import PLACES
from flatwise.seat.lp import least

#: A leaf is a square of this side, laid flush with the outline (mm).
LEAF = 25.0
#: How far the centre of gravity may lie from the outline's centre, as a share of length and width.
OFF_CENTRE = 0.005
#: The push of a hand or of the cutter (N), and gravity (m/s²).
PUSH = 50.0
GRAVITY = 9.80665
#: Heights closer than this are the same (mm).
SAME = 1e-6
#: A centre of gravity lies among the rows that hold the panel if each bears so much of it; nearer to a line between
#: two of them it is looked at by itself.
INSIDE = 1e-9
#: From so many places on, a part of them is tried first.
MANY = 20_000
#: Where a panel is pressed to see whether it rocks: corners and edge midpoints.
PRESSED = tuple(name for name in PLACES if name != "centre")


class Patch(NamedTuple):
    """What one stack of leaves covers: x0…x1, y0…y1 in mm."""

    x0: float
    x1: float
    y0: float
    y1: float


def patch(x: float, y: float, length: float, width: float) -> Patch:
    """The leaf laid at (x, y): centred there, but flush with the outline where it would stick out."""
    x0 = min(max(x - LEAF / 2, 0.0), max(length - LEAF, 0.0))
    y0 = min(max(y - LEAF / 2, 0.0), max(width - LEAF, 0.0))
    return Patch(x0, min(x0 + LEAF, length), y0, min(y0 + LEAF, width))


class Rest:
    """A panel's lower face over the bed and the patches where leaves may lie."""

    def __init__(self, lower: Surface, patches: Sequence[Patch] = ()) -> None:
        self.length, self.width = lower.length, lower.width
        points = [extremes(lower, low=True)]
        self._spans: list[slice] = []
        count = len(points[0])
        for spot in patches:
            under = over_patch(lower, spot)
            self._spans.append(slice(count, count + len(under)))
            count += len(under)
            points.append(under)
        #: (n, 3) places of the lower face that can come to bear
        self.points = np.concatenate(points)
        self._middle = float(self.points[:, 2].mean())
        self._rows = _rows(self.points, self.length, self.width)
        self._bare = self._middle - self.points[:, 2]
        self._corners = _corners(self._rows)
        self._held: tuple[int, ...] | None = None
        self._active = np.arange(0, count, max(1, count // 1000))

    def _sides(self, heights: Sequence[float]) -> Array:
        sides = self._bare.copy()
        for span, height in zip(self._spans, heights, strict=True):
            sides[span] += height
        return sides

    def _solve(self, sides: Array, u: float, v: float) -> tuple[Array, tuple[int, ...]]:
        cost = np.array([u, v, 1.0])
        start = self._held
        if start is None or np.linalg.solve(self._rows[list(start)].T, cost).min() < 0.0:
            # either half of the outline: the triangle of corners that the centre of gravity lies in
            start = self._corners[:3] if u + v <= 0.0 else (self._corners[3], self._corners[2], self._corners[1])
        if len(sides) <= MANY:
            found = least(self._rows, sides, cost, start)
            self._held = found.basis
            return found.x, found.basis
        # of very many places only those that have come near to bearing are looked at in every step
        while True:
            active = np.concatenate((np.array(start), self._active))
            part = least(self._rows[active], sides[active], cost, (0, 1, 2))
            start = self._held = tuple(int(active[k]) for k in part.basis)
            broken = sides - self._rows @ part.x
            if broken.max() <= 1e-12 * max(1.0, float(np.abs(sides).max())):
                return part.x, start
            blocks = np.array_split(broken, 64)
            worst = np.cumsum([0, *(len(block) for block in blocks[:-1])]) + [int(block.argmax()) for block in blocks]
            self._active = np.concatenate((self._active, worst[broken[worst] > 0.0]))

    def _pose(self, x: Array) -> Pose:
        a, b = 2.0 * float(x[0]) / self.length, 2.0 * float(x[1]) / self.width
        return Pose(a, b, float(x[2]) - float(x[0]) - float(x[1]) - self._middle)

    def at(self, heights: Sequence[float], x: float, y: float) -> Pose:
        """The pose in which a centre of gravity at (x, y) lies lowest, with stacks of these heights (mm).

        minimise a·x + b·y + c subject to B + a·x + b·y + c ≥ s at every place: a linear program.
        """
        found, _ = self._solve(self._sides(heights), 2.0 * x / self.length - 1.0, 2.0 * y / self.width - 1.0)
        return self._pose(found)

    def natural(self, heights: Sequence[float]) -> Pose:
        """The pose that the panel takes by itself, with stacks of these heights (mm).

        Where centres of gravity within 0.5 % of length and width give different poses, the one nearest to that
        in which it was surveyed (no tilt added) is taken, then the least tilt along x, then along y.
        """
        sides = self._sides(heights)
        found, basis = self._solve(sides, 0.0, 0.0)
        reach = 2.0 * OFF_CENTRE
        near = (0.0, -reach, reach)
        centres = np.array([(u, v, 1.0) for u in near for v in near]).T
        poses = [self._pose(found)]
        asked = np.ones(centres.shape[1], dtype=bool)
        asked[0] = False
        while True:
            # rows that hold the panel on these stacks hold it for every centre that lies among them
            asked &= np.linalg.solve(self._rows[list(basis)].T, centres).min(axis=0) < INSIDE
            if not asked.any():
                return min(poses, key=lambda pose: (round(float(np.hypot(pose.a, pose.b)), 9), pose.a, pose.b))
            first = int(asked.argmax())
            asked[first] = False
            found, basis = self._solve(sides, float(centres[0, first]), float(centres[1, first]))
            poses.append(self._pose(found))

    def gaps(self, pose: Pose, heights: Sequence[float]) -> list[float]:
        """What a feeler finds over each stack: the least height of the lower face over it, less the stack (mm)."""
        clear = self._clear(pose)
        return [float(clear[span].min()) - height for span, height in zip(self._spans, heights, strict=True)]

    def touches(self, pose: Pose, heights: Sequence[float]) -> tuple[tuple[float, float], ...]:
        """Where the panel bears; of many places the outermost in eight directions."""
        clear = self._clear(pose)
        for span, height in zip(self._spans, heights, strict=True):
            clear[span] -= height
        bearing = np.round(self.points[clear <= SAME][:, :2], 6) + 0.0
        spots = np.array(sorted(set(map(tuple, bearing.tolist()))))
        if len(spots) > 12:
            turn = np.arange(8) * np.pi / 4.0
            outer = (spots @ np.array([np.cos(turn), np.sin(turn)])).argmax(axis=0)
            spots = spots[sorted(set(outer.tolist()))]
        return tuple((float(x), float(y)) for x, y in spots)

    def _clear(self, pose: Pose) -> Array:
        return np.asarray(self.points @ np.array([pose.a, pose.b, 1.0]) + pose.c)

    def rocks(self, pose: Pose, heights: Sequence[float], mass: float, lower: Surface) -> tuple[Rock, ...]:
        """What pressing each corner and edge midpoint with 50 N does, the worst first.

        Rest is solved again with the load at (W·g + F·p)/(W + F), W = mass·9.80665 N.  A pose that is as low
        for that load as any stays (a panel pressed on the line that it balances on need not move).
        """
        weight = mass * GRAVITY
        share = PUSH / (weight + PUSH)
        places = np.array([PLACES[name] for name in PRESSED]) * (self.length, self.width)
        found = []
        for name, (x, y), height in zip(PRESSED, places.tolist(), lower.at(*places.T).tolist(), strict=True):
            gx, gy = self.length / 2 * (1 - share) + x * share, self.width / 2 * (1 - share) + y * share
            after = self.at(heights, gx, gy)
            lift = [gx * p.a + gy * p.b + p.c for p in (pose, after)]
            move = 0.0
            if lift[0] - lift[1] > 1e-9:
                move = (pose.a - after.a) * x + (pose.b - after.b) * y + pose.c - after.c
            gap = height + pose.a * x + pose.b * y + pose.c
            found.append(Rock(name, x, y, abs(move), gap))
        return tuple(sorted(found, key=lambda rock: -rock.move))


class Slab:
    """The widest slab between two parallel planes inside a panel, over its tilt."""

    def __init__(self, lower: Surface, upper: Surface) -> None:
        self.length, self.width = lower.length, lower.width
        self.upper = extremes(upper, low=True)
        self.lower = extremes(lower, low=False)

    def left(self, a: float, b: float) -> float:
        """What is left of the panel, tilted by (a, b), when both faces are cut level (mm)."""
        tilt = np.array([a, b, 1.0])
        return float((self.upper @ tilt).min() - (self.lower @ tilt).max())

    @cached_property
    def best(self) -> tuple[float, float, float]:
        """(a, b, thickness): maximise min(T + a·x + b·y) − max(B + a·x + b·y), a linear program (mm per mm, mm)."""
        over, under = _rows(self.upper, self.length, self.width), _rows(self.lower, self.length, self.width)
        middle = float(self.lower[:, 2].mean())
        thick = float(self.upper[:, 2].mean()) - middle
        # unknowns: tilt of the slab (two), height of its lower face, its thickness
        rows = np.concatenate(
            (np.column_stack((under, np.zeros(len(under)))), -np.column_stack((over, np.ones(len(over)))))
        )
        sides = np.concatenate((self.lower[:, 2] - middle, middle + thick - self.upper[:, 2]))
        inner = int((under[:, 0] ** 2 + under[:, 1] ** 2).argmin())
        corners = _corners(over)
        triple = corners[:3] if under[inner, 0] + under[inner, 1] <= 0.0 else corners[3:0:-1]
        start = (inner, *(k + len(under) for k in triple))
        x = least(rows, sides, np.array([0.0, 0.0, 0.0, -1.0]), start).x
        return -2.0 * float(x[0]) / self.length, -2.0 * float(x[1]) / self.width, float(x[3]) + thick

    def nearest_best(self, a: float, b: float) -> tuple[float, float]:
        """Of all tilts that leave the most, the one nearest to (a, b), measured at the panel's edges.

        The tilts that leave within 1e-6 mm of the most are a convex patch.  Its edges are found one by one: each
        is a pair of a low place of the top and a high place of the lower face.
        """
        aim = self.best[2] - SAME
        scale = np.array([self.length, self.width]) / 2.0
        start = np.array([a, b]) * scale
        at = start
        cuts: list[Array] = []
        offsets: list[float] = []
        for _ in range(200):
            tilt = np.array([*(at / scale), 1.0])
            top = self.upper[int((self.upper @ tilt).argmin())]
            low = self.lower[int((self.lower @ tilt).argmax())]
            if float((top - low) @ tilt) >= aim - 1e-9:
                return float(at[0] / scale[0]), float(at[1] / scale[1])
            cuts.append((top - low)[:2] / scale)
            offsets.append(aim - float(top[2] - low[2]))
            nearest = _nearest(start, np.array(cuts), np.array(offsets))
            if nearest is None:
                break
            at = nearest
        return self.best[0], self.best[1]


def extremes(face: Surface, *, low: bool) -> Array:
    """(n, 3): the nodes of a face that a level plane from below (low) or above can meet, at some tilt.

    A node on or above the line between two others in its row or column can't be met from below: it is no
    corner of the convex hull.  Leaving such nodes out changes no answer, and a million nodes become few.
    """
    z = face.z - face.z.mean()
    if not low:
        z = -z
    keep = np.ones(z.shape, dtype=bool)
    if z.size > 64:
        for axis, at in ((1, face.xs), (0, face.ys)):
            heights = z if axis == 1 else z.T
            kept = keep if axis == 1 else keep.T
            step = 1
            while 2 * step < len(at):
                before, here, after = at[: -2 * step], at[step:-step], at[2 * step :]
                run = np.where(after > before, after - before, 1.0)
                share = (here - before) / run
                line = heights[:, : -2 * step] * (1 - share) + heights[:, 2 * step :] * share
                # at a doubled coordinate the two are one place: only the higher one is left out
                slack = np.where((share > 0) & (share < 1), -1e-13, 1e-13)
                kept[:, step:-step] &= heights[:, step:-step] < line + slack
                step *= 2
    j, i = np.nonzero(keep)
    return np.column_stack((face.xs[i], face.ys[j], face.z[j, i]))


def over_patch(face: Surface, spot: Patch) -> Array:
    """(n, 3): the nodes of a face cut out over a patch, both heights on a step."""
    sides = []
    for at, start, stop in ((face.xs, spot.x0, spot.x1), (face.ys, spot.y0, spot.y1)):
        sides.append(distinct(np.concatenate(([start, stop], at[(at > start) & (at < stop)]))))
    x, y = (part.ravel() for part in np.meshgrid(*sides))
    points = [np.column_stack((x, y, face.at(x, y)))]
    stepped = _doubled(face.xs, x) | _doubled(face.ys, y)
    for px, py in zip(x[stepped].tolist(), y[stepped].tolist(), strict=True):
        points.extend(np.array([[px, py, height]]) for height in face.both_at(px, py))
    return np.concatenate(points)


def _doubled(nodes: Array, at: Array) -> NDArray[np.bool_]:
    """Which of some coordinates stand twice among the nodes: steps."""
    return np.asarray(np.searchsorted(nodes, at, "right") - np.searchsorted(nodes, at) > 1)


def _rows(points: Array, length: float, width: float) -> Array:
    """(n, 3): x and y scaled to −1…1, and 1."""
    return np.column_stack((2.0 * points[:, 0] / length - 1.0, 2.0 * points[:, 1] / width - 1.0, np.ones(len(points))))


def _corners(rows: Array) -> tuple[int, int, int, int]:
    """Rows of the front-left, front-right, back-left and back-right corner."""
    u, v = rows[:, 0], rows[:, 1]
    return (int((-u - v).argmax()), int((u - v).argmax()), int((v - u).argmax()), int((u + v).argmax()))


def _nearest(start: Array, cuts: Array, offsets: Array) -> Array | None:
    """The point nearest to `start` with cuts·p ≥ offsets, by trying every side and every corner of the patch."""
    squares = np.einsum("ij,ij->i", cuts, cuts)
    squares = np.where(squares > 0, squares, 1.0)
    tries = [start, *(start + cuts * ((offsets - cuts @ start) / squares)[:, None])]
    for i in range(len(cuts)):
        for j in range(i):
            det = cuts[i, 0] * cuts[j, 1] - cuts[i, 1] * cuts[j, 0]
            if abs(det) > 1e-12:
                x = (offsets[i] * cuts[j, 1] - offsets[j] * cuts[i, 1]) / det
                y = (offsets[j] * cuts[i, 0] - offsets[i] * cuts[j, 0]) / det
                tries.append(np.array([x, y]))
    points = np.array(tries)
    good = points[(points @ cuts.T >= offsets - 1e-10).all(axis=1)]
    if not len(good):
        return None
    return np.asarray(good[int(((good - start) ** 2).sum(axis=1).argmin())])
