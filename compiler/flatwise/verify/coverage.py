"""Whether discs swept along straight lines together cover a rectangle without a gap."""

from __future__ import annotations

from collections.abc import Sequence

from flatwise.verify.capsule import Capsule

#: A convex polygon: its corners in order, mm.
Polygon = list[tuple[float, float]]
#: Strips narrower than this, mm, come from the rounding of coordinates and are not wood.
NOTHING = 5e-3


def covered(rectangle: tuple[float, float, float, float], capsules: Sequence[Capsule]) -> bool:
    """Whether the union of capsules covers the rectangle (x0, x1, y0, y1), mm.

    Each capsule in turn cuts the pieces that are left along the sides and square ends of its straight part.  A capsule
    is convex, so it covers a piece when it covers the piece's corners.  Nothing is cut along the round ends, so the
    answer can be a cautious no, but never a wrong yes (up to NOTHING).
    """
    x0, x1, y0, y1 = rectangle
    whole = [(x0, y0), (x1, y0), (x1, y1), (x0, y1)]
    if not all(any(_covers(capsule, [corner]) for capsule in capsules) for corner in whole):
        return False  # quick, and finds most of what is left
    pieces: list[Polygon] = [whole]
    for capsule in capsules:
        rest: list[Polygon] = []
        for piece in pieces:
            if not _covers(capsule, piece):
                rest.extend(part for part in _outside(capsule, piece) if not _covers(capsule, part))
        pieces = rest
        if not pieces:
            return True
    return all(any(_covers(capsule, piece) for capsule in capsules) for piece in pieces)


def _covers(capsule: Capsule, piece: Polygon) -> bool:
    ax, ay, bx, by, radius = capsule
    ux, uy = bx - ax, by - ay
    square = ux * ux + uy * uy
    reach = (radius + NOTHING) ** 2
    for x, y in piece:
        t = min(max(((x - ax) * ux + (y - ay) * uy) / square, 0.0), 1.0) if square else 0.0
        if (x - ax - t * ux) ** 2 + (y - ay - t * uy) ** 2 > reach:
            return False
    return True


def _outside(capsule: Capsule, piece: Polygon) -> list[Polygon]:
    """The parts of a piece outside the straight part of a capsule, as convex pieces."""
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
            return [piece]  # beside the capsule: cutting along the other sides would only make more pieces
    outside: list[Polygon] = []
    # what lies beyond a side is a piece; what lies within it goes on to the next side
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
