"""A linear program of three or four unknowns under as many constraints as a face has nodes.

Resting a rigid panel and finding the widest slab inside it both have this shape.  A general solver would
be slow to load and slow on a million rows; with so few unknowns the dual simplex method needs only a
handful of steps, each one look over all rows.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flatwise.core.surface import Array

#: More steps than any panel has needed by two orders; reaching it would be a fault in the method.
MOST_STEPS = 5_000
#: A constraint counts as broken beyond this share of the largest right-hand side.
TOLERANCE = 1e-13


@dataclass(frozen=True)
class Optimum:
    """x: (d,) the unknowns; basis: d rows that hold it; weights: (d,) their multipliers, all ≥ 0."""

    x: Array
    basis: tuple[int, ...]
    weights: Array


def least(rows: Array, sides: Array, cost: Array, basis: tuple[int, ...]) -> Optimum:
    """Minimise cost·x subject to rows·x ≥ sides, x free.

    rows: (n, d), sides: (n,), cost: (d,).  `basis` names d independent rows whose combination with weights ≥ 0
    gives `cost` (so the optimum is bounded).  Dual simplex: of the rows that are broken the worst enters; which
    one leaves is decided by the ratio of weights, ties by the lexicographic rule of Dantzig, Orden and Wolfe
    (1955), without which a panel on its diagonal makes the method run in circles.

    Raises ArithmeticError if `basis` is no such basis (a fault of the caller, never of a job).
    """
    held = list(basis)
    start = rows[held].T.copy()
    limit = TOLERANCE * max(1.0, float(np.abs(sides).max()))
    for _ in range(MOST_STEPS):
        inverse = _inverse(rows[held])
        x = inverse @ sides[held]
        broken = sides - rows @ x
        worst = int(broken.argmax())
        weights = inverse.T @ cost
        if weights.min() < -1e-9:
            raise ArithmeticError("the starting rows do not hold the panel")
        if broken[worst] <= limit or worst in held:
            return Optimum(x, tuple(held), weights)
        share = inverse.T @ rows[worst]
        held[_leaving(weights, share, inverse, start)] = worst
    raise ArithmeticError("the panel did not come to rest")


def _leaving(weights: Array, share: Array, inverse: Array, start: Array) -> int:
    """Which of the held rows leaves: the least ratio of weight to share, ties by the columns of the starting basis."""
    shares = share.tolist()
    least_share = 1e-11 * max(map(abs, shares))
    ratios = {
        k: (weight if abs(weight) >= 1e-12 else 0.0) / shares[k]
        for k, weight in enumerate(weights.tolist())
        if shares[k] > least_share
    }
    smallest = min(ratios.values())
    tied = [k for k, ratio in ratios.items() if ratio == smallest]
    if len(tied) == 1:
        return tied[0]
    order = inverse.T @ start
    order[np.abs(order) < 1e-12] = 0.0
    return min((tuple((order[k] / shares[k]).tolist()), k) for k in tied)[1]


def _inverse(square: Array) -> Array:
    """The inverse of a regular matrix; of three rows by its cofactors, since numpy's way in takes longer than that."""
    if len(square) != 3:
        return np.asarray(np.linalg.inv(square), dtype=float)
    (a, b, c), (d, e, f), (g, h, i) = square.tolist()
    one, two, three = e * i - f * h, f * g - d * i, d * h - e * g
    whole = a * one + b * two + c * three
    return np.array(
        [
            [one / whole, (c * h - b * i) / whole, (b * f - c * e) / whole],
            [two / whole, (a * i - c * g) / whole, (c * d - a * f) / whole],
            [three / whole, (b * g - a * h) / whole, (a * e - b * d) / whole],
        ]
    )
