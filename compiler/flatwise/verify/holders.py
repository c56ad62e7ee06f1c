"""Exact distances in plan from straight moves to dogs, clamps and leaves; mm, vectorised over moves."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flatwise.core.surface import Array
from flatwise.model.stages import Setup
from flatwise.verify.wood import Bools
from flatwise_grammar.nodes import Span

#: A leaf's side, mm: it lies flush with the outline.
_LEAF = 25.0


@dataclass(frozen=True, slots=True)
class Obstacle:
    """A circle (x0…x1 its diameter) or a rectangle on the bed, `height` mm high."""

    kind: str
    name: str
    at: str
    round: bool
    x0: float
    y0: float
    x1: float
    y1: float
    height: float
    span: Span


def obstacles(setup: Setup) -> tuple[Obstacle, ...]:
    """Everything on the bed that a cutter must not meet: dogs, clamps, and the leaves under the panel."""
    found = [
        Obstacle(h.kind, h.name, f"{h.edge} edge at {h.at}", h.kind == "dog", h.x0, h.y0, h.x1, h.y1, h.height, h.span)
        for h in setup.holders
    ]
    for shim in setup.shims:
        x = min(max(shim.x - _LEAF / 2, 0.0), max(setup.top.length - _LEAF, 0.0))
        y = min(max(shim.y - _LEAF / 2, 0.0), max(setup.top.width - _LEAF, 0.0))
        found.append(
            Obstacle("leaves", "leaves", shim.place, False, x, y, x + _LEAF, y + _LEAF, shim.height, shim.span)
        )
    return tuple(found)


def distance(moves: Array, boxed: Bools, thing: Obstacle) -> Array:
    """Least distance in plan from the cutter's centre to an obstacle, per move, mm (0 inside it).

    moves: (n, 4) ax ay bx by.  Where `boxed` (n,) the centre may be anywhere in the box of the two ends, for
    the axes of a rapid need not arrive together; else it keeps to the straight line.
    """
    ax, ay, bx, by = moves.T
    if thing.round:
        cx, cy, r = (thing.x0 + thing.x1) / 2, (thing.y0 + thing.y1) / 2, (thing.x1 - thing.x0) / 2
        line = _point_to_line(cx, cy, moves)
        box = _gap(cx, cx, np.minimum(ax, bx), np.maximum(ax, bx), cy, cy, np.minimum(ay, by), np.maximum(ay, by))
        return np.maximum(np.where(boxed, box, line) - r, 0.0)
    box = _gap(
        thing.x0, thing.x1, np.minimum(ax, bx), np.maximum(ax, bx),
        thing.y0, thing.y1, np.minimum(ay, by), np.maximum(ay, by),
    )  # fmt: skip
    corners = ((thing.x0, thing.y0), (thing.x1, thing.y0), (thing.x0, thing.y1), (thing.x1, thing.y1))
    line = np.min([_point_to_line(x, y, moves) for x, y in corners], axis=0)
    for x, y in ((ax, ay), (bx, by)):
        line = np.minimum(line, _gap(thing.x0, thing.x1, x, x, thing.y0, thing.y1, y, y))
    line = np.where(_crosses(moves, thing), 0.0, line)
    return np.asarray(np.where(boxed, box, line))


def _gap(x0: float, x1: float, u0: Array, u1: Array, y0: float, y1: float, v0: Array, v1: Array) -> Array:
    """Distance between boxes that stand square to the axes."""
    across = np.maximum(np.maximum(u0 - x1, x0 - u1), 0.0)
    along = np.maximum(np.maximum(v0 - y1, y0 - v1), 0.0)
    return np.asarray(np.hypot(across, along))


def _point_to_line(x: float, y: float, moves: Array) -> Array:
    ax, ay, bx, by = moves.T
    ux, uy = bx - ax, by - ay
    far = ux * ux + uy * uy
    t = np.clip(((x - ax) * ux + (y - ay) * uy) / np.where(far > 0, far, 1.0), 0.0, 1.0)
    return np.asarray(np.hypot(x - ax - t * ux, y - ay - t * uy))


def _crosses(moves: Array, thing: Obstacle) -> Bools:
    """Whether a segment passes through a rectangle (the stretches of t inside each pair of sides overlap)."""
    ax, ay, bx, by = moves.T
    enter, leave = np.zeros(len(ax)), np.ones(len(ax))
    for a, b, low, high in ((ax, bx, thing.x0, thing.x1), (ay, by, thing.y0, thing.y1)):
        d = b - a
        still = d == 0
        inside = (a >= low) & (a <= high)
        one, other = (low - a) / np.where(still, 1.0, d), (high - a) / np.where(still, 1.0, d)
        enter = np.maximum(enter, np.where(still, np.where(inside, 0.0, np.inf), np.minimum(one, other)))
        leave = np.minimum(leave, np.where(still, np.where(inside, 1.0, -np.inf), np.maximum(one, other)))
    return np.asarray(enter <= leave)
