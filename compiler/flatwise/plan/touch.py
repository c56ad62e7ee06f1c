"""Where zero is touched off, and how high the wood may stand there."""

from __future__ import annotations

from functools import lru_cache
from math import hypot, inf

import numpy as np

from flatwise.core.surface import Array, Surface
from flatwise.core.units import settled
from flatwise.model.stages import Bound, FaceName, Touch, Work
from flatwise.plan.planes import height_grid

#: x0, x1, y0, y1 in the setup frame, mm
Reach = tuple[float, float, float, float]

#: how far from its place the operator may touch off (mm)
ASIDE = 10.0


def shared_place(work: Work, upper: Surface, lower: Surface, bound: Surface) -> tuple[float, float] | None:
    """(x, y) of a place on the outline, as the panel lies for the first face, where both faces are touched off (mm).

    With `z top`, what the top is off at its place and the lower face at its own adds up in the thickness that is left.
    At one place for both that is the `bound` of the thickness there.  Of all places it has the least sum of what the
    faces vary and that bound.  None with `z bed`.
    """
    if work.job.zero.z.on == "bed":
        return None
    radius = float(work.cutter.diameter) / 2.0 + ASIDE
    # dogs, clamps and travel stay with the bed: the panel must clear them there before and after it turns
    held = [(holder.x0, holder.x1, holder.y0, holder.y1) for holder in work.holders]
    blocks = (*held, *(_turned_box(work, box) for box in held))
    within = (reach(work), _turned_box(work, reach(work)))
    return _on_outline((upper, lower), bound, radius, within, blocks, work.rules.clearance)


def _turned_box(work: Work, box: Reach) -> Reach:
    (x0, y0), (x1, y1) = work.turned(box[0], box[2]), work.turned(box[1], box[3])
    return min(x0, x1), max(x0, x1), min(y0, y1), max(y0, y1)


def touch(work: Work, face: FaceName, top: Surface, bound: Bound, place: tuple[float, float] | None = None) -> Touch:
    """Where to touch off in this setup, and the heights there, mm above the bed.

    `z top`: at `place` if it is given, else where the top varies least under the cutter and 10 mm around it; on the
    second face the cutter's centre lies on the outline, where calipers reach.  `z bed`: beside the panel.  Zero is on
    the controller's last digit.
    """
    paper = work.job.zero.z.paper
    sheet = float(paper) if paper is not None else 0.0
    if work.job.zero.z.on == "bed":
        x, y = _beside(work)
        return Touch("bed", x, y, 0.0, 0.0, 0.0, sheet)
    radius = float(work.cutter.diameter) / 2.0
    if place is not None:
        x, y = place
    elif face == "second":
        blocks = tuple((holder.x0, holder.x1, holder.y0, holder.y1) for holder in work.holders)
        x, y = _on_outline((top,), bound.over, radius + ASIDE, (reach(work),), blocks, work.rules.clearance)
    else:
        x, y = _inside(top, radius + ASIDE, reach(work))
    height = _disc(top, x, y, radius)[1]
    lowest = _disc(top.raised(bound.under, -1.0), x, y, radius + ASIDE)[0]
    height = round(height_grid(work).near(height + sheet) - sheet, 9)
    known = max(bound_near(work, side, (x, y)) for side in (bound.over, bound.under))
    return Touch("top", x, y, height, min(height, lowest), known, sheet)


# The last places are kept, since most edits of a job move neither wood nor holders.


@lru_cache(maxsize=8)
def _inside(top: Surface, radius: float, reach: Reach) -> tuple[float, float]:
    """(x, y) of the place on the face whose surroundings vary least; of equals the nearest to the middle."""
    columns, wide = _windows(top.length, radius)
    lines, deep = _windows(top.width, radius)
    low, high = top.cells(columns, lines)
    range_ = _slide(high, deep, wide, np.maximum) - _slide(low, deep, wide, np.minimum)
    xs = (columns[: len(columns) - wide] + columns[wide:]) / 2.0
    ys = (lines[: len(lines) - deep] + lines[deep:]) / 2.0
    aside = (xs[None, :] / top.length - 0.5) ** 2 + (ys[:, None] / top.width - 0.5) ** 2
    off = _off_travel(reach, *np.meshgrid(xs, ys))
    j, i = np.unravel_index(int(np.argmin(_rough(range_) + 1e-7 * aside + 1e6 * off)), range_.shape)
    return round(float(xs[i]), 3), round(float(ys[j]), 3)


def _rough(fault: Array) -> Array:
    """To a millionth, so that the nearer of equals wins; half of a millionth must not hang on the last digits."""
    return np.round(np.round(fault, 9), 6)


def _windows(side: float, radius: float) -> tuple[Array, int]:
    """(cells + 1,) edges of cells over a side (mm), and how many cells a window of 2 × radius takes."""
    count = int(min(120, max(4, np.ceil(side / min(10.0, radius / 2.0)))))
    window = int(min(count, np.ceil(2.0 * radius / (side / count) - 1e-9)))
    return np.linspace(0.0, side, count + 1), window


def _slide(values: Array, deep: int, wide: int, op: np.ufunc) -> Array:
    """op over every window of deep × wide values (ny, nx)."""
    for size, axis in ((deep, 0), (wide, 1)):
        values = op.reduce(np.lib.stride_tricks.sliding_window_view(values, size, axis), axis=-1)
    return values


@lru_cache(maxsize=16)
def _disc(top: Surface, x: float, y: float, radius: float) -> tuple[float, float]:
    """The lowest and the highest top under a disc, over all small cells that it meets inside the outline, mm."""
    edges = np.linspace(-radius, radius, 33)
    xe, ye = x + edges, y + edges
    low, high = top.cells(xe, ye)
    nearest = np.where(edges[:-1] > 0, edges[:-1], np.where(edges[1:] < 0, edges[1:], 0.0))
    met = nearest[None, :] ** 2 + nearest[:, None] ** 2 < radius * radius
    met &= ((xe[1:] >= 0) & (xe[:-1] <= top.length))[None, :]
    met &= ((ye[1:] >= 0) & (ye[:-1] <= top.width))[:, None]
    return float(low[met].min()), float(high[met].max())


@lru_cache(maxsize=8)
def _on_outline(
    tops: tuple[Surface, ...],
    bound: Surface,
    radius: float,
    within: tuple[Reach, ...],
    holders: tuple[Reach, ...],
    clearance: float,
) -> tuple[float, float]:
    """(x, y) of the place on the outline with the least sum of what all tops vary around it and the bound there.

    It lies within all reaches and clear of holders if any place does.
    """
    length, width = tops[0].length, tops[0].width
    clear = radius + clearance
    blocks = np.array(holders).reshape(-1, 4).T[..., None]
    found: list[tuple[float, float, float]] = []
    for across, side, other in ((True, length, width), (False, width, length)):
        cells, window = _windows(side, radius)
        along = (cells[: len(cells) - window] + cells[window:]) / 2.0
        for edge in (0.0, other):
            strip = np.array([edge - radius, edge + radius])
            fault = np.zeros(len(along))
            for top in (*tops, bound):
                low, high = top.cells(cells, strip) if across else (part.T for part in top.cells(strip, cells))
                fault += _slide(high, 1, window, np.maximum)[0]
                if top is not bound:
                    fault -= _slide(low, 1, window, np.minimum)[0]
            x, y = (along, np.full_like(along, edge)) if across else (np.full_like(along, edge), along)
            x0, x1, y0, y1 = blocks
            near_holder = (np.hypot(_out(x, x0, x1), _out(y, y0, y1)) < clear - 1e-9).any(axis=0)
            off = sum(_off_travel(reach, x, y) for reach in within)
            fault = _rough(fault) + 10.0 * near_holder + 1e6 * off
            best = int(np.argmin(fault))
            found.append((float(fault[best]), float(x[best]), float(y[best])))
    _, at_x, at_y = min(found)
    return round(at_x, 3), round(at_y, 3)


def free_beside(work: Work) -> tuple[float, float] | None:
    """(x, y) of a place beside the panel where the whole cutter is clear of panel and holders, within the travel.

    None if there is none.
    """
    place = _beside(work)
    return place if _fault(work, place) < 0.01 else None


def _beside(work: Work) -> tuple[float, float]:
    """The same, or the least bad place if there is none; FW301 and FW501 then report it."""
    length, width, clear = work.length, work.width, _clear(work)
    places = [(-clear, -clear), (length + clear, -clear), (-clear, width + clear), (length + clear, width + clear)]
    # the handiest places first, then all between them
    for share in (0.5, 0.35, 0.65, 0.2, 0.8, 0.05, 0.95, *(k / 40.0 for k in range(41))):
        places += [(share * length, -clear), (-clear, share * width)]
        places += [(share * length, width + clear), (length + clear, share * width)]
    free = next((place for place in places if not _fault(work, place)), None)
    x, y = free or min(places, key=lambda place: _fault(work, place))
    return round(x, 3), round(y, 3)


def _clear(work: Work) -> float:
    """How far the cutter's centre keeps from the panel beside it, and from holders there, mm."""
    return float(work.cutter.diameter) / 2.0 + max(ASIDE, work.rules.clearance)


def _fault(work: Work, place: tuple[float, float]) -> float:
    """How far a place is too near to holders, mm; far more outside the travel, and 0 if it is free."""
    x, y = place
    away = (hypot(max(h.x0 - x, x - h.x1, 0.0), max(h.y0 - y, y - h.y1, 0.0)) for h in work.holders)
    near = max(0.0, settled(_clear(work) - min(away, default=inf)))
    return near + 1e6 * float(_off_travel(reach(work), x, y))


def _out(at: Array, low: Array, high: Array) -> Array:
    """How far a coordinate lies outside an interval, mm."""
    return np.maximum(np.maximum(low - at, at - high), 0.0)


def corner_of(work: Work) -> tuple[float, float]:
    """(x, y) of the corner on which the origin lies, setup frame, mm."""
    corner = work.job.zero.corner.corner
    return (work.length if corner.endswith("right") else 0.0, work.width if corner.startswith("back") else 0.0)


def reach(work: Work) -> Reach:
    """How far the spindle's centre can go: x0, x1, y0, y1 in the setup frame, mm."""
    x, y = corner_of(work)
    left, front = x - float(work.job.zero.corner.x), y - float(work.job.zero.corner.y)
    return left, left + float(work.machine.travel.x), front, front + float(work.machine.travel.y)


def _off_travel(reach: Reach, x: Array | float, y: Array | float) -> Array:
    x0, x1, y0, y1 = reach
    x, y = np.asarray(x), np.asarray(y)
    return np.asarray((x < x0) | (x > x1) | (y < y0) | (y > y1), dtype=float)


def bound_near(work: Work, bound: Surface, place: tuple[float, float]) -> float:
    """The largest bound under the cutter at a place and 10 mm around it, mm."""
    return _disc(bound, *place, float(work.cutter.diameter) / 2.0 + ASIDE)[1]
