"""Rest and slab against general judges: HiGHS (scipy.optimize.linprog) and Qhull (scipy.spatial.ConvexHull)."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis_profile import NIGHTLY
from scipy.optimize import linprog
from scipy.sparse import block_diag
from scipy.spatial import ConvexHull

from flatwise.core.surface import Array, Surface
from flatwise.seat.rest import Rest, footprint
from flatwise.seat.slab import Slab


def random_panel(rng: np.random.Generator, nodes: int = 4) -> tuple[Surface, Surface]:
    """Rough, smooth, twisted, flat and stepped faces; every few panels are exactly degenerate."""
    length, width = rng.uniform(200, 2000), rng.uniform(100, 900)
    xs = np.linspace(0.0, length, int(rng.integers(2, nodes + 1)))
    ys = np.linspace(0.0, width, int(rng.integers(2, nodes + 1)))
    u, v = xs / length, ys / width
    kind = rng.integers(4)
    scale = rng.choice([0.05, 0.5, 3.0])
    lower = scale * rng.normal(size=(len(ys), len(xs))) if kind else np.zeros((len(ys), len(xs)))
    if kind == 2:
        lower = scale * np.outer(v - 0.5, u - 0.5)
    if kind == 3:
        lower = np.round(lower, 1)  # many ties
    upper = lower + rng.uniform(15, 40) + (rng.choice([0.0, 0.3]) * rng.normal(size=lower.shape))
    return Surface(xs, ys, lower), Surface(xs, ys, upper)


def highs(programs: list[tuple[Array, Array, Array]]) -> Array:
    """The optimum of each program (cost, rows, sides) with rows·x ≤ sides: HiGHS solves them all as one of many blocks.

    Its feasibility is tightened to 1e-10.
    """
    tight = {"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10, "presolve": False}
    costs, rows, sides = zip(*programs, strict=True)
    whole = linprog(
        np.concatenate(costs),
        A_ub=block_diag(rows, format="csr"),
        b_ub=np.concatenate(sides),
        bounds=(None, None),
        method="highs",
        options=tight,
    )
    assert whole.status == 0
    return (whole.x * np.concatenate(costs)).reshape(len(programs), -1).sum(axis=1)


def test_rest_and_slab_agree_with_a_general_solver() -> None:
    """Optima within 1e-9 (relative above 1 mm) of HiGHS."""
    rng = np.random.default_rng(7)
    for _ in range(40 if NIGHTLY else 6):
        rests, slabs, ours = [], [], []
        for _ in range(50):
            lower, upper = random_panel(rng)
            b, t = lower.nodes(), upper.nodes()
            gx, gy = lower.length * rng.uniform(0.3, 0.7), lower.width * rng.uniform(0.3, 0.7)
            scaled = np.column_stack((b[:, 0] / lower.length, b[:, 1] / lower.width, np.ones(len(b))))
            rests.append((np.array([gx / lower.length, gy / lower.width, 1.0]), -scaled, b[:, 2]))
            pose = Rest(lower).at([], gx, gy)
            assert (b[:, 2] + pose.a * b[:, 0] + pose.b * b[:, 1] + pose.c).min() > -1e-9
            zero = np.zeros(len(b))
            rows = np.vstack((np.column_stack((-scaled, zero)), np.column_stack((scaled, zero + 1.0))))
            slabs.append((np.array([0.0, 0.0, 0.0, -1.0]), rows, np.concatenate((-b[:, 2], t[:, 2]))))
            slab = Slab(lower, upper)
            # the tilt that is named really leaves what is claimed
            assert slab.left(slab.best[0], slab.best[1]) == pytest.approx(slab.best[2], abs=1e-9)
            ours.append((pose.a * gx + pose.b * gy + pose.c, -slab.best[2]))
        judged = np.column_stack((highs(rests), highs(slabs)))
        assert (np.abs(ours - judged) < 1e-9 * np.maximum(1.0, np.abs(judged))).all()


def test_a_pressed_place_moves_as_a_general_solver_says() -> None:
    """Each corner and edge midpoint pressed with 50 N, on the bed and two stacks: W = m·g, g by CGPM 1901."""
    rng = np.random.default_rng(10)
    tried = 0
    while tried < 8:
        lower, _ = random_panel(rng)
        if np.unique(lower.z).size < lower.z.size:
            continue  # which of two poses it takes may be a matter of the last digit
        tried += 1
        length, width, mass = lower.length, lower.width, rng.uniform(3.0, 30.0)
        areas = [(0.0, 25.0, 0.0, 25.0), (length / 2 - 12.5, length / 2 + 12.5, width - 25.0, width)]
        heights = [float(height) for height in rng.uniform(0.0, 0.5, 2)]
        places = [lower.nodes()]
        for x0, x1, y0, y1 in areas:
            xs, ys = ([a, *at[(at > a) & (at < b)], b] for a, b, at in ((x0, x1, lower.xs), (y0, y1, lower.ys)))
            x, y = (each.ravel() for each in np.meshgrid(xs, ys))
            places.append(np.column_stack((x, y, lower.at(x, y))))
        stands = np.repeat([0.0, *heights], [len(each) for each in places])
        points = np.concatenate(places)
        rest = Rest(lower, [footprint(0.0, 0.0, length, width), footprint(length / 2, width, length, width)])
        pose = rest.natural(heights)
        edges = {"front": lower.z[0], "back": lower.z[-1], "left": lower.z[:, 0], "right": lower.z[:, -1]}
        for rock in rest.rocks(pose, heights, mass):
            share = 50.0 / (mass * 9.80665 + 50.0)
            load = length / 2 + share * (rock.x - length / 2), width / 2 + share * (rock.y - width / 2), 1.0
            rows = np.column_stack((points[:, :2], np.ones(len(points)))) / [length, width, 1.0]
            found = linprog(
                np.array(load) / [length, width, 1.0], A_ub=-rows, b_ub=points[:, 2] - stands, bounds=(None, None)
            )
            after = found.x / [length, width, 1.0]
            lies = pose.a * load[0] + pose.b * load[1] + pose.c
            moves = (
                float((after - [pose.a, pose.b, pose.c]) @ [rock.x, rock.y, 1.0]) if found.fun < lies - 1e-6 else 0.0
            )
            assert rock.move == pytest.approx(abs(moves), abs=1e-6)
            along = next(name for name in edges if name in rock.place)
            nodes, at = (lower.xs, rock.x) if along in ("front", "back") else (lower.ys, rock.y)
            face = float(np.interp(at, nodes, edges[along]))
            assert rock.gap == pytest.approx(face + pose.a * rock.x + pose.b * rock.y + pose.c, abs=1e-9)


def test_rest_is_the_facet_of_the_convex_hull_under_the_centre() -> None:
    """The panel stands on the facet of its lower convex hull that lies under the centre of gravity."""
    rng = np.random.default_rng(8)
    for _ in range(300):
        lower, _ = random_panel(rng, 6)
        points = lower.nodes()
        if np.ptp(points[:, 2]) < 1e-9:
            continue
        gx, gy = lower.length * rng.uniform(0.3, 0.7), lower.width * rng.uniform(0.3, 0.7)
        scaled = points * [1 / lower.length, 1 / lower.width, 1.0]
        down = ConvexHull(scaled, qhull_options="QJ1e-13 Pp" if np.ptp(scaled[:, 2]) < 1e-6 else "Qt").equations
        down = down[down[:, 2] < -1e-12]
        # the hull's lower side at the centre is the highest there of the planes of its lower facets
        height = (-(down[:, 0] * gx / lower.length + down[:, 1] * gy / lower.width + down[:, 3]) / down[:, 2]).max()
        pose = Rest(lower).at([], gx, gy)
        assert -(pose.a * gx + pose.b * gy + pose.c) == pytest.approx(height, abs=1e-9)


def test_no_node_left_out_is_a_corner_of_the_hull() -> None:
    """A node that `hull_candidates` leaves out is never a corner of Qhull's hull; rough, smooth and stepped faces."""
    from flatwise.seat.lp import hull_candidates

    rng = np.random.default_rng(9)
    for k in range(40):
        lower, _ = random_panel(rng, 14)
        z = lower.z + (1e-3 * rng.normal(size=lower.z.shape) if k % 2 else 0.02 * (lower.xs / 100) ** 2)
        face = Surface(lower.xs, lower.ys, z)
        points = face.nodes()
        if np.linalg.matrix_rank(points - points.mean(axis=0), tol=1e-6) < 3:
            continue
        hull = ConvexHull(points * [1 / face.length, 1 / face.width, 1.0])
        down = hull.simplices[hull.equations[:, 2] < -1e-12]
        corners = points[np.unique(down)]
        kept = {tuple(p) for p in hull_candidates(face, low=True)}
        assert all(tuple(p) in kept for p in corners)


def test_no_tilt_leaves_more_than_the_best() -> None:
    """No random tilt leaves more than the linear program finds."""
    rng = np.random.default_rng(10)
    for _ in range(50):
        lower, upper = random_panel(rng, 5)
        slab = Slab(lower, upper)
        tilts = rng.normal(size=(200, 2)) * [2.0 / lower.length, 2.0 / lower.width]
        assert max(slab.left(a, b) for a, b in tilts) <= slab.best[2] + 1e-9


def test_of_equal_tilts_the_one_nearest_to_the_natural_pose_is_taken() -> None:
    """A bowed panel leaves the same over a range of tilts; a fine net of tilts finds the nearest."""
    xs, ys = np.linspace(0, 1000, 3), np.linspace(0, 500, 2)
    bow = np.array([0.0, 1.0, 0.0])
    lower, upper = Surface(xs, ys, np.tile(bow, (2, 1))), Surface(xs, ys, np.tile(bow * 0.2 + 30, (2, 1)))
    slab = Slab(lower, upper)
    start = (3e-3, 1e-3)
    a, b = slab.nearest_best(*start)
    assert slab.left(a, b) >= slab.best[2] - 2e-6
    net = [(x, y) for x in np.linspace(-4e-3, 4e-3, 161) for y in np.linspace(-4e-3, 4e-3, 161)]
    good = [(x, y) for x, y in net if slab.left(x, y) >= slab.best[2] - 1e-6]
    nearest = min(np.hypot((x - start[0]) * 500, (y - start[1]) * 250) for x, y in good)
    assert np.hypot((a - start[0]) * 500, (b - start[1]) * 250) <= nearest + 1e-6


def test_a_low_corner_takes_the_leaf_of_its_gap() -> None:
    """A low corner with 0.012 in under it takes the 0.012 in leaf: common practice, no source."""
    from flatwise.seat.leaves import Stacks

    inch = 25.4
    leaves = tuple(thou * inch / 1000 for thou in (1, 1.5, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25))
    stack = Stacks(tuple((leaf, None) for leaf in leaves), 3).nearest(0.012 * inch)
    assert stack.leaves == (pytest.approx(0.3048),)


def test_pure_twist_saves_at_most_half_of_the_gap() -> None:
    """Derived: both faces lose the gap g in the pose at rest, and only g/2 in the level pose."""
    length, width, gap = 1100.0, 600.0, 0.8
    z = np.array([[gap, 0.0], [0.0, 0.0]])
    lower = Surface(np.array([0, length]), np.array([0, width]), z)
    upper = Surface(lower.xs, lower.ys, z + 30.0)
    slab = Slab(lower, upper)
    assert slab.left(0.0, 0.0) == pytest.approx(30.0 - gap)
    assert slab.best[2] == pytest.approx(30.0 - gap / 2)


def test_a_leaf_lies_flush_with_the_outline() -> None:
    corner, edge, inside = (footprint(*at, 900.0, 400.0) for at in ((900.0, 400.0), (450.0, 0.0), (100.0, 100.0)))
    assert corner == (875.0, 900.0, 375.0, 400.0)
    assert edge == (437.5, 462.5, 0.0, 25.0)
    assert inside == (87.5, 112.5, 87.5, 112.5)


@pytest.mark.parametrize(
    ("start", "nearest"),
    [
        ((0.1, -0.2), (0.1, -0.2)),  # inside: stays
        ((1.0, 0.75), (0.375, 0.125)),  # to the slanting side p + q = ½
        ((1.0, -0.3), (0.5, -0.3)),  # to the side p = ½
        ((-0.2, 1.0), (-0.2, 0.5)),  # to the side q = ½
        ((1.0, 0.25), (0.5, 0.0)),  # to the corner of p = ½ and p + q = ½
        ((-1.0, -0.75), (-0.375, -0.125)),
        ((-1.0, -0.25), (-0.5, 0.0)),
        ((1.0, -1.0), (0.5, -0.5)),  # to the corner of p = ½ and q = -½
    ],
)
def test_the_nearest_of_all_tilts_that_leave_the_most(start: tuple[float, float], nearest: tuple[float, float]) -> None:
    """Worked out by hand: at one corner of a flat panel, the lower face is 1 mm higher and the top 1 mm lower.

    As long as no other corner takes over, 28 mm are left: for |2p| ≤ 1, |2q| ≤ 1 and |2p + 2q| ≤ 1 with p = 500·a and
    q = 250·b, which is a hexagon.  Its nearest point is a projection or a corner.
    """
    xs, ys, one = np.array([0.0, 1000.0]), np.array([0.0, 500.0]), np.array([[1.0, 0.0], [0.0, 0.0]])
    slab = Slab(Surface(xs, ys, one), Surface(xs, ys, 30.0 - one))
    assert slab.best[2] == pytest.approx(28.0)
    a, b = slab.nearest_best(start[0] / 500, start[1] / 250)
    assert (a * 500, b * 250) == pytest.approx(nearest, abs=3e-6)
