"""Where zero is touched off, and how high the wood may stand there."""

from __future__ import annotations

from functools import lru_cache
from math import hypot

import numpy as np

from flatwise.core.surface import Array, Surface
from flatwise.model.stages import FaceName, Touch, Work
from flatwise.plan.planes import height_grid

#: x0, x1, y0, y1 in the setup frame, mm
Reach = tuple[float, float, float, float]

#: how far from its place the operator may touch off (mm)
ASIDE = 10.0


def touch(work: Work, face: FaceName, top: Surface, bound: float) -> Touch:
    """Where to touch off in this setup, and the heights there, mm above the bed.

    `z top`: where the top varies least under the cutter and 10 mm around it; on the second face the cutter's centre
    lies on the outline, where calipers reach.  `z bed`: beside the panel.  Zero is on the controller's last digit.
    """
    paper = work.job.zero.z.paper
    sheet = float(paper) if paper is not None else 0.0
    if work.job.zero.z.on == "bed":
        x, y = _beside(work)
        return Touch("bed", x, y, 0.0, 0.0, 0.0, sheet)
    radius = float(work.cutter.diameter) / 2.0
    if face == "second":
        blocks = tuple((holder.x0, holder.x1, holder.y0, holder.y1) for holder in work.holders)
        x, y = _on_outline(top, radius + ASIDE, reach(work), blocks, work.rules.clearance)
    else:
        x, y = _inside(top, radius + ASIDE, reach(work))
    height = _disc(top, x, y, radius)[1]
    lowest = _disc(top, x, y, radius + ASIDE)[0]
    height = round(height_grid(work).near(height + sheet) - sheet, 9)
    return Touch("top", x, y, height, min(height, lowest - bound), bound, sheet)


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
    j, i = np.unravel_index(int(np.argmin(np.round(range_, 6) + 1e-7 * aside + 1e6 * off)), range_.shape)
    return round(float(xs[i]), 3), round(float(ys[j]), 3)


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
    top: Surface, radius: float, reach: Reach, holders: tuple[tuple[float, float, float, float], ...], clearance: float
) -> tuple[float, float]:
    """(x, y) of the place on the outline whose surroundings vary least, clear of holders if any place is."""
    length, width = top.length, top.width
    clear = radius + clearance
    blocks = np.array(holders).reshape(-1, 4).T[..., None]
    found: list[tuple[float, float, float]] = []
    for across, side, other in ((True, length, width), (False, width, length)):
        cells, window = _windows(side, radius)
        along = (cells[: len(cells) - window] + cells[window:]) / 2.0
        for edge in (0.0, other):
            strip = np.array([edge - radius, edge + radius])
            low, high = top.cells(cells, strip) if across else (part.T for part in top.cells(strip, cells))
            range_ = (_slide(high, 1, window, np.maximum) - _slide(low, 1, window, np.minimum))[0]
            x, y = (along, np.full_like(along, edge)) if across else (np.full_like(along, edge), along)
            x0, x1, y0, y1 = blocks
            near_holder = (np.hypot(_out(x, x0, x1), _out(y, y0, y1)) < clear).any(axis=0)
            fault = np.round(range_, 6) + 10.0 * near_holder + 1e6 * _off_travel(reach, x, y)
            best = int(np.argmin(fault))
            found.append((float(fault[best]), float(x[best]), float(y[best])))
    _, at_x, at_y = min(found)
    return round(at_x, 3), round(at_y, 3)


def _beside(work: Work) -> tuple[float, float]:
    """(x, y) of a place beside the panel where the whole cutter is clear of panel and holders, within the travel.

    If there is none, the least bad place; FW301 and FW501 then report it.
    """
    length, width = work.length, work.width
    clear = float(work.cutter.diameter) / 2.0 + max(ASIDE, work.rules.clearance)
    travel = reach(work)
    places = [(-clear, -clear), (length + clear, -clear), (-clear, width + clear), (length + clear, width + clear)]
    # the handiest places first, then all between them
    for share in (0.5, 0.35, 0.65, 0.2, 0.8, 0.05, 0.95, *(k / 40.0 for k in range(41))):
        places += [(share * length, -clear), (-clear, share * width)]
        places += [(share * length, width + clear), (length + clear, share * width)]

    def fault(place: tuple[float, float]) -> float:
        x, y = place
        away = (hypot(max(h.x0 - x, x - h.x1, 0.0), max(h.y0 - y, y - h.y1, 0.0)) for h in work.holders)
        return max(0.0, clear - min(away, default=clear)) + 1e6 * float(_off_travel(travel, x, y))

    x, y = next((place for place in places if not fault(place)), None) or min(places, key=fault)
    return round(x, 3), round(y, 3)


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
