"""Linear programs with three or four unknowns and a constraint for each node of a face that can matter.

Resting a rigid panel and finding the widest slab inside it both have this shape.  With so few unknowns the dual simplex
method takes only a handful of steps, each of them one look at all rows; a general solver would be slow to load.
"""

from __future__ import annotations

import numpy as np

from flatwise.core.surface import Array, Surface

#: A hundred times more steps than any panel has needed; a program that takes more has a fault.
MOST_STEPS = 5_000
#: The same for programs that are only estimates.
MOST_TOGETHER = 60
#: A constraint counts as broken by more than this share of the largest right-hand side.
TOLERANCE = 1e-13
#: A held row does not leave for one of which it has less than this share of the largest: the rows then held would be
#: all but dependent, as nodes on one line of a face are that has been turned by a hair.
LEAST_SHARE = 1e-7


def minimise(rows: Array, sides: Array, cost: Array, basis: tuple[int, ...]) -> tuple[Array, tuple[int, ...]]:
    """The x (d,) that minimises cost·x subject to rows·x ≥ sides, and the d rows that hold it there; x is free.

    rows: (n, d), sides: (n,), cost: (d,).  `basis` names d independent rows of which `cost` is a combination with
    weights ≥ 0, so that the optimum is bounded.  Dual simplex method: the worst broken row enters; the ratio of weights
    decides which one leaves, and the lexicographic rule of Dantzig, Orden and Wolfe (1955) decides ties.  Without that
    rule a panel that balances on its diagonal would send the method round in circles.

    Raises ArithmeticError if `basis` is not such a basis, which is a fault of the caller, never of a job.
    """
    held = list(basis)
    start = rows[held].T.copy()
    limit = TOLERANCE * max(1.0, float(np.abs(sides).max()))
    for step in range(MOST_STEPS):
        inverse = np.asarray(np.linalg.inv(rows[held]), dtype=float)
        x = inverse @ sides[held]
        broken = sides - rows @ x
        worst = int(broken.argmax())
        weights = inverse.T @ cost
        # later a weight of 0 may fall below it, by as much as rows of neighbouring nodes are alike
        if not step and weights.min() < -10.0 * LEAST_SHARE:
            raise ArithmeticError("the starting rows do not hold the panel")
        if broken[worst] <= limit or worst in held:
            return x, tuple(held)
        held[_leaving(weights, inverse.T @ rows[worst], inverse, start)] = worst
    raise ArithmeticError("the panel did not come to rest")


def minimise_all(rows: Array, sides: Array, costs: Array) -> tuple[Array, Array]:
    """The x (m, q, 3) that minimise every cost·x subject to rows·x ≥ sides, for m lists of sides; an estimate.

    With them the rows that hold each there (m, q, 3).

    rows: (n, 3) of `plane_rows`; sides: (m, n); costs: (q, 3), each a place over the outline and 1.  It is `minimise`,
    one step of all programs at a time.  Costs are moved by a hair, so that no two ratios are equal; a program that
    still does not settle keeps its last x.
    """
    m, q = len(sides), len(costs)
    corners = corner_rows(rows)
    aims = np.tile(costs + np.array([3.1e-8, 1.7e-8, 0.0]), (m, 1))
    held = np.where(aims[:, :1] + aims[:, 1:2] <= 0.0, corners[:3], corners[3:0:-1])
    of = np.repeat(np.arange(m), q)
    columns = np.ascontiguousarray(rows.T)
    limit = TOLERANCE * max(1.0, float(np.abs(sides).max()))
    found = np.empty((m * q, 3))
    left = np.arange(m * q)
    for _ in range(MOST_TOGETHER):
        bases = held[left]
        inverse = np.linalg.inv(rows[bases])
        x = (inverse @ sides[of[left][:, None], bases][:, :, None])[:, :, 0]
        found[left] = x
        # no product of matrices, which for such shapes wakes all processors for less work than that costs
        broken = sides[of[left]] - np.einsum("ij,jk->ik", x, columns)
        worst = broken.argmax(axis=1)
        open_ = broken[np.arange(len(left)), worst] > limit
        left, worst, inverse = left[open_], worst[open_], inverse[open_]
        if not len(left):
            break
        weights = np.maximum((aims[left][:, None, :] @ inverse)[:, 0], 0.0)
        shares = (rows[worst][:, None, :] @ inverse)[:, 0]
        firm = shares > LEAST_SHARE * np.abs(shares).max(axis=1, keepdims=True)
        ratios = np.where(firm, weights / np.where(firm, shares, 1.0), np.inf)
        held[left, ratios.argmin(axis=1)] = worst
    return found.reshape(m, q, 3), held.reshape(m, q, 3)


def _leaving(weights: Array, shares: Array, inverse: Array, start: Array) -> int:
    """Which held row leaves: the least ratio of weight to share; ties go by the columns of the starting basis."""
    share = shares.tolist()
    least_share = LEAST_SHARE * max(map(abs, share))
    ratios = {
        k: (weight if weight >= 1e-12 else 0.0) / share[k]
        for k, weight in enumerate(weights.tolist())
        if share[k] > least_share
    }
    smallest = min(ratios.values())
    tied = [k for k, ratio in ratios.items() if ratio == smallest]
    if len(tied) == 1:
        return tied[0]
    order = inverse.T @ start
    order[np.abs(order) < 1e-12] = 0.0
    return min((tuple((order[k] / share[k]).tolist()), k) for k in tied)[1]


def plane_rows(points: Array, length: float, width: float) -> Array:
    """(n, 3) rows for a plane's unknowns at points (n, 2+) in mm: x and y scaled to −1…1 over the outline, and 1."""
    return np.column_stack((2.0 * points[:, 0] / length - 1.0, 2.0 * points[:, 1] / width - 1.0, np.ones(len(points))))


def corner_rows(rows: Array) -> tuple[int, int, int, int]:
    """Which of the rows (n, 3) are those of the front left, front right, back left and back right corner."""
    u, v = rows[:, 0], rows[:, 1]
    return (int((-u - v).argmax()), int((u - v).argmax()), int((v - u).argmax()), int((u + v).argmax()))


def hull_candidates(face: Surface, *, low: bool) -> Array:
    """(n, 3): the nodes of a face that a plane from below (`low`) or from above can meet at some tilt.

    A node on or above the line between two others in its grid line can't be met from below, because it is no corner of
    the convex hull.  Leaving such nodes out changes no answer, and a million nodes become a few thousand.
    """
    z = face.z - face.z.mean()
    if not low:
        z = -z
    keep = np.ones(z.shape, dtype=bool)
    if z.size > 64:
        for heights, kept, at in ((z, keep, face.xs), (z.T, keep.T, face.ys)):
            step = 1
            while 2 * step < len(at):
                before, here, after = at[: -2 * step], at[step:-step], at[2 * step :]
                run = np.where(after > before, after - before, 1.0)
                share = (here - before) / run
                line = heights[:, : -2 * step] * (1 - share) + heights[:, 2 * step :] * share
                # nodes of a doubled coordinate are at one place: only the higher one is left out
                slack = np.where((share > 0) & (share < 1), -1e-13, 1e-13)
                kept[:, step:-step] &= heights[:, step:-step] < line + slack
                step *= 2
    j, i = np.nonzero(keep)
    return np.column_stack((face.xs[i], face.ys[j], face.z[j, i]))
