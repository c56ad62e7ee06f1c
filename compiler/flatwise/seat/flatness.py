"""Flatness of a face as ISO 1101 defines it: the least distance between two parallel planes that enclose it."""

from __future__ import annotations

import numpy as np

from flatwise.core.surface import Array, Surface
from flatwise.seat.lp import hull_candidates, minimise

#: The search ends when turning the planes narrows the zone by less than this share.
SETTLED = 1e-13


def face_flatness(face: Surface) -> float:
    """Minimum-zone flatness of a face as forecast (mm); only nodes that a plane can meet at some tilt count."""
    return minimum_zone(np.concatenate((hull_candidates(face, low=True), hull_candidates(face, low=False))))


def minimum_zone(points: Array) -> float:
    """Minimum-zone flatness (mm) of points (n, 3) in mm, n ≥ 1, that lie near some plane which is not vertical.

    Measured along z the zone is a linear program, solved exactly: minimise t with 0 ≤ z + a·x + b·y + c ≤ t at every
    point.  Its width square to the planes is t / √(1 + a² + b²).  The points are then turned so that the planes lie
    level, and the program is solved again until the direction settles.
    """
    cloud = np.asarray(points, dtype=float) - np.mean(points, axis=0)
    if len(cloud) < 4:
        return 0.0
    # a steep set is levelled first, so that it is treated like a flat one
    _, _, axes = np.linalg.svd(cloud, full_matrices=False)
    cloud = cloud @ axes.T
    best = float(np.ptp(cloud[:, 2]))
    for _ in range(50):
        found = _zone_along_z(cloud)
        if found is None:
            return 0.0
        a, b, t = found
        width = t / float(np.sqrt(1.0 + a * a + b * b))
        if width >= best * (1.0 - SETTLED):
            return min(best, width)
        best = width
        cloud = cloud @ _levelled(a, b).T
    return best


def _zone_along_z(cloud: Array) -> tuple[float, float, float] | None:
    """(a, b, t) of the zone that is thinnest along z; None if the points lie on one line seen from above."""
    scale = np.abs(cloud[:, :2]).max(axis=0)
    if scale.min() <= 0.0:
        return None
    plan = cloud[:, :2] / scale
    start = _start(plan)
    if start is None:
        return None
    ones = np.ones(len(cloud))
    rows = np.concatenate((np.column_stack((plan, ones, 0.0 * ones)), np.column_stack((-plan, -ones, ones))))
    sides = np.concatenate((-cloud[:, 2], cloud[:, 2]))
    x, _ = minimise(rows, sides, np.array([0.0, 0.0, 0.0, 1.0]), start)
    return float(x[0] / scale[0]), float(x[1] / scale[1]), float(x[3])


def _start(plan: Array) -> tuple[int, int, int, int] | None:
    """Rows that start the program: a lower point, and a triangle of upper points with its corner there from above."""
    n = len(plan)
    first = int(plan[:, 0].argmin())
    second = int(((plan - plan[first]) ** 2).sum(axis=1).argmax())
    along = plan[second] - plan[first]
    off = np.abs(along[0] * (plan[:, 1] - plan[first, 1]) - along[1] * (plan[:, 0] - plan[first, 0]))
    third = int(off.argmax())
    if off[third] <= 1e-12:
        return None
    return (first, n + first, n + second, n + third)


def _levelled(a: float, b: float) -> Array:
    """(3, 3): the rotation that brings the direction (a, b, 1) onto z."""
    normal = np.array([a, b, 1.0]) / np.sqrt(1.0 + a * a + b * b)
    x = np.array([1.0, 0.0, 0.0]) - normal[0] * normal
    x /= np.linalg.norm(x)
    return np.array([x, np.cross(normal, x), normal])
