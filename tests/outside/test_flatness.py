"""Minimum-zone flatness against the definition of ISO 1101, by exhaustive search over support planes."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from hypothesis_profile import NIGHTLY
from scipy.optimize import linprog

from flatwise.seat.flatness import minimum_zone

TWIST = [(0, 0, 0), (100, 0, 1), (100, 100, 0), (0, 100, 1)]
THREE_AND_ONE = [(0, 0, 0), (100, 0, 0), (0, 100, 0), (20, 20, 0.5)]
BOW = [(x, y, 1.0 if x == 100 else 0.0) for x in (0, 100, 200) for y in (0, 100, 200)]


def exhaustive(points: np.ndarray) -> float:
    """The least zone over all directions in which planes can support a set: by three points, or by two edges."""
    best = np.inf
    directions = []
    for i, j, k in combinations(range(len(points)), 3):
        directions.append(np.cross(points[j] - points[i], points[k] - points[i]))
    edges = [points[j] - points[i] for i, j in combinations(range(len(points)), 2)]
    directions += [np.cross(one, other) for one, other in combinations(edges, 2)]
    for normal in directions:
        size = np.linalg.norm(normal)
        if size > 1e-9:
            best = min(best, float(np.ptp(points @ (normal / size))))
    return best


def least_squares(points: np.ndarray) -> float:
    table = np.column_stack((points[:, :2], np.ones(len(points))))
    off = points[:, 2] - table @ np.linalg.lstsq(table, points[:, 2], rcond=None)[0]
    return float(np.ptp(off))


@pytest.mark.parametrize(
    ("points", "zone", "squares"),
    [(TWIST, 1.0, 1.0), (THREE_AND_ONE, 0.5, 0.555556), (BOW, 1.0, 1.0)],
    ids=["twist", "three and one", "bow"],
)
def test_published_sets(points: list[tuple[float, float, float]], zone: float, squares: float) -> None:
    """Zones found by exhaustive search.  They are measured square to their planes, so a little below those along z."""
    cloud = np.array(points, dtype=float)
    found = minimum_zone(cloud)
    assert found == pytest.approx(zone, rel=2e-4)
    assert found == pytest.approx(exhaustive(cloud), abs=1e-9)
    assert least_squares(cloud) == pytest.approx(squares, abs=1e-6)


def test_random_sets_against_exhaustive_search_and_least_squares() -> None:
    rng = np.random.default_rng(3)
    for _ in range(60 if NIGHTLY else 15):
        cloud = np.column_stack((rng.uniform(0, 100, (7, 2)), rng.normal(0, 0.5, 7)))
        zone = minimum_zone(cloud)
        assert zone == pytest.approx(exhaustive(cloud), rel=1e-6, abs=1e-9)
        assert zone <= least_squares(cloud) + 1e-12


def test_moved_as_a_rigid_body_and_scaled() -> None:
    rng = np.random.default_rng(4)
    for _ in range(30):
        cloud = np.column_stack((rng.uniform(0, 500, (30, 2)), rng.normal(0, 0.3, 30)))
        zone = minimum_zone(cloud)
        angle, lean = rng.uniform(0, 2 * np.pi), rng.normal(0, 0.05)
        turn = np.array([[np.cos(angle), -np.sin(angle), 0], [np.sin(angle), np.cos(angle), 0], [0, 0, 1]])
        tip = np.array([[1, 0, 0], [0, np.cos(lean), -np.sin(lean)], [0, np.sin(lean), np.cos(lean)]])
        moved = cloud @ (tip @ turn).T + rng.normal(size=3) * 50
        assert minimum_zone(moved) == pytest.approx(zone, rel=1e-9, abs=1e-9)
        # proportional to z as long as the zone is thin compared with the panel
        assert minimum_zone(cloud * [1, 1, 0.1]) == pytest.approx(0.1 * zone, rel=1e-3)


@pytest.mark.parametrize("seed", [37, *range(400 if NIGHTLY else 8)])
def test_a_probed_face_has_many_nodes_on_one_line(seed: int) -> None:
    """Turned by a hair, they lie all but on one line."""
    rng = np.random.default_rng(seed)
    xs, ys = (np.linspace(0, side, int(rng.integers(4, 18))) for side in (920, 320))
    rest = rng.normal(0, 0.05, (3, 5))
    rest = np.array([np.interp(xs, np.linspace(15, 905, 5), row) for row in rest])
    rest = np.array([np.interp(ys, np.linspace(15, 305, 3), column) for column in rest.T]).T
    x, y = np.meshgrid(xs, ys)
    z = 31 + 0.001 * rng.normal() * x + 0.001 * rng.normal() * y + rng.normal() * 1e-6 * x * y + rest
    points = np.column_stack((x.ravel(), y.ravel(), z.ravel()))
    assert minimum_zone(points) == pytest.approx(by_highs(points), abs=2e-6)


@pytest.mark.parametrize("seed", [294, 949, *range(400 if NIGHTLY else 4)])
def test_nodes_a_few_micrometres_apart_are_no_trouble(seed: int) -> None:
    """A step beside a reading doubles nodes.  The program was refused where two of them held the zone together."""
    rng = np.random.default_rng(seed)

    def axis(side: float, count: int) -> np.ndarray:
        even = np.linspace(0, side, count)
        return np.sort(np.concatenate((even, even[rng.integers(1, count - 1, 3)] + rng.choice([4e-3, 1e-3, 1e-5]))))

    n, m = rng.integers(6, 16), rng.integers(5, 28)
    x, y = np.meshgrid(axis(888.2, n), axis(405.2, m))
    u, v = 2 * x / 888.2 - 1, 2 * y / 405.2 - 1
    z = 40 + rng.choice([0, 0.038]) * u * u + rng.choice([0, 0.002, 0.0005]) * v * v
    z += rng.choice([0, 1e-4]) * u * v + rng.choice([0, 3e-4]) * u
    points = np.column_stack((x.ravel(), y.ravel(), z.ravel()))
    assert minimum_zone(points) == pytest.approx(by_highs(points), abs=2e-6)


def by_highs(points: np.ndarray) -> float:
    """The zone that is thinnest along z, by HiGHS (scipy.optimize.linprog), and its width square to its planes."""
    plane, none = np.column_stack((points[:, :2], np.ones(len(points)))), np.zeros((len(points), 1))
    rows = np.concatenate((np.hstack((-plane, none)), np.hstack((plane, none - 1))))
    sides = np.concatenate((points[:, 2], -points[:, 2]))
    found = linprog([0, 0, 0, 1], A_ub=rows, b_ub=sides, bounds=[(None, None)] * 4)
    a, b, _, along_z = found.x
    return float(along_z / np.sqrt(1 + a**2 + b**2))
