"""Whether discs swept along straight lines cover a rectangle together, with nothing left between them."""

from __future__ import annotations

from collections.abc import Sequence

#: A convex polygon, its corners in order, mm.
Polygon = list[tuple[float, float]]
#: Strips narrower than this, mm, are the rounding of coordinates and not wood.
NOTHING = 5e-3


def covered(
    box: tuple[float, float, float, float], capsules: Sequence[tuple[float, float, float, float, float]]
) -> bool:
    """Whether the union of capsules (ax, ay, bx, by, radius) covers the box (x0, x1, y0, y1), mm.

    The box is cut along the sides and square ends of each capsule's straight part; a piece is gone when one
    capsule holds all its corners, for a capsule is convex.  Round ends are used whole and never cut along, so
    the answer may be a cautious no, never a wrong yes (but for NOTHING).
    """
    x0, x1, y0, y1 = box
    whole = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    if not all(any(_holds(capsule, [corner]) for capsule in capsules) for corner in whole):
        return False  # told at once: most of what stands is seen at a corner
    pieces: list[Polygon] = [whole]
    for capsule in capsules:
        rest: list[Polygon] = []
        for piece in pieces:
            if not _holds(capsule, piece):
                rest.extend(part for part in _outside(capsule, piece) if not _holds(capsule, part))
        pieces = rest
        if not pieces:
            return True
    return all(any(_holds(capsule, piece) for capsule in capsules) for piece in pieces)


def _holds(capsule: tuple[float, float, float, float, float], piece: Polygon) -> bool:
    ax, ay, bx, by, radius = capsule
    ux, uy = bx - ax, by - ay
    far = ux * ux + uy * uy
    reach = (radius + NOTHING) ** 2
    for x, y in piece:
        t = min(max(((x - ax) * ux + (y - ay) * uy) / far, 0.0), 1.0) if far else 0.0
        if (x - ax - t * ux) ** 2 + (y - ay - t * uy) ** 2 > reach:
            return False
    return True


def _outside(capsule: tuple[float, float, float, float, float], piece: Polygon) -> list[Polygon]:
    """What of a piece lies outside the straight part of a capsule, as convex pieces."""
    ax, ay, bx, by, radius = capsule
    far = ((bx - ax) ** 2 + (by - ay) ** 2) ** 0.5
    if far == 0:
        return [piece]
    ux, uy = (bx - ax) / far, (by - ay) / far
    sides = (
        (-uy, ux, -uy * ax + ux * ay + radius),
        (uy, -ux, uy * ax - ux * ay + radius),
        (-ux, -uy, -ux * ax - uy * ay),
        (ux, uy, ux * bx + uy * by),
    )
    for nx, ny, limit in sides:
        if all(nx * x + ny * y >= limit for x, y in piece):
            return [piece]  # beside it: cut along the other sides it would only be more pieces
    outside: list[Polygon] = []
    # each side in turn: what lies beyond it is a piece, what lies within goes on to the next side
    for nx, ny, limit in sides:
        beyond = _clip(piece, -nx, -ny, -limit)
        if beyond:
            outside.append(beyond)
        piece = _clip(piece, nx, ny, limit)
        if not piece:
            break
    return outside


def _clip(piece: Polygon, nx: float, ny: float, limit: float) -> Polygon:
    """The part of a convex polygon where nx·x + ny·y ≤ limit; empty where no more than an edge is left."""
    kept: Polygon = []
    inside = False
    heights = [nx * x + ny * y - limit for x, y in piece]
    for i, (x, y) in enumerate(piece):
        here, before = heights[i], heights[i - 1]
        if (here < 0) != (before < 0):
            px, py = piece[i - 1]
            t = before / (before - here)
            kept.append((px + t * (x - px), py + t * (y - py)))
        if here < 0:
            kept.append((x, y))
            inside = True
    return kept if inside else []
