"""A linear program of three or four unknowns under as many constraints as a face has nodes.

Resting a rigid panel and finding the widest slab inside it both have this shape.  A general solver would
be slow to load and slow on a million rows; with so few unknowns the dual simplex method needs only a
handful of steps, each one look over all rows.
"""

from __future__ import annotations

import numpy as np

from flatwise.surface import Array
from flatwise_grammar.records import dataclass

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
        inverse = np.linalg.inv(rows[held])
        x = inverse @ sides[held]
        broken = sides - rows @ x
        worst = int(broken.argmax())
        weights = inverse.T @ cost
        if weights.min() < -1e-9:
            raise ArithmeticError("the starting rows do not hold the panel")
        if broken[worst] <= limit or worst in held:
            return Optimum(x, tuple(held), weights)
        share = inverse.T @ rows[worst]
        least_share = 1e-11 * float(np.abs(share).max())
        order = np.column_stack((weights, inverse.T @ start))
        order[np.abs(order) < 1e-12] = 0.0
        leaving = min((tuple((order[k] / share[k]).tolist()), k) for k in range(len(held)) if share[k] > least_share)
        held[leaving[1]] = worst
    raise ArithmeticError("the panel did not come to rest")
