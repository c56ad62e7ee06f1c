"""The latest cuts, for a second look at cells that a cut left standing because it did not cover them whole."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.surface import Array
from flatwise.verify.capsule import Capsule, direction, stays_near
from flatwise.verify.cells import GRAZE, Area

#: Earlier cuts that are kept for second looks.
_EARLIER_CUTS = 4096
#: Earlier cuts that a second look compares at once.
_LOOKS = 64

Cells = tuple[NDArray[np.intp], ...]


class Along(NamedTuple):
    """Earlier cuts along a capsule's line, the lowest first: from where to where on it, and what they left, mm.

    `whole` is the lowest that one left along all of it, inf where none did; those that left more are not listed.
    """

    first: Array
    last: Array
    heights: Array
    whole: float

    def up_to(self, height: float) -> Along:
        """Those that left no more than a height."""
        count = int(np.searchsorted(self.heights, height, "right"))
        return Along(self.first[:count], self.last[:count], self.heights[:count], self.whole)


class EarlierCuts:
    """The lowest cut along each of the latest capsules, in cells of `dx` by `dy` mm."""

    def __init__(self, dx: float, dy: float) -> None:
        self._dx, self._dy = dx, dy
        #: each a capsule and the highest that it left, and the rows in which they stand
        self._cuts = np.empty((_EARLIER_CUTS, 6))
        self._places: dict[Capsule, int] = {}
        #: the capsule that they were last looked through for, and what was found
        self._latest: tuple[Capsule, Along] | None = None

    def __len__(self) -> int:
        return len(self._places)

    def keep(self, c: Capsule, height: float) -> None:
        """Keep the lowest cut along each line for second looks, in the place of the oldest where there are too many."""
        place = self._places.pop(c, None)
        if place is None:
            full = len(self._places) >= _EARLIER_CUTS
            place = self._places.pop(next(iter(self._places))) if full else len(self._places)
            self._cuts[place] = *c, height
        self._places[c] = place
        self._latest = None
        self._cuts[place, 5] = min(self._cuts[place, 5], height)

    def along(self, c: Capsule) -> Along:
        """Earlier cuts that may have followed this capsule's line for as long as it reaches one cell."""
        if self._latest is not None and self._latest[0] == c:
            return self._latest[1]
        ends, (radii, heights) = self._cuts[:, :4], self._cuts[:, 4:].T
        far, _, _ = direction(c)
        first, last = stays_near(c, ends[: len(self._places)], GRAZE)
        # from anywhere but its two ends it reaches a cell over a much longer way than a crossing line stays near
        least = (c.radius * float(np.hypot(self._dx, self._dy))) ** 0.5
        useful = (last - first >= least) | ((first <= 0.0) & (last >= 0.0)) | ((first <= far) & (last >= far))
        useful &= (first <= last) & (radii[: len(first)] >= c.radius)
        chosen = np.flatnonzero(useful)
        chosen = chosen[np.argsort(heights[chosen], kind="stable")]
        first, last, heights = first[chosen], last[chosen], heights[chosen]
        whole = np.flatnonzero((first <= 0.0) & (last >= far))
        count = int(whole[0]) if len(whole) else len(chosen)
        lowest = float(heights[count]) if len(whole) else np.inf
        self._latest = c, Along(first[:count], last[:count], heights[:count], lowest)
        return self._latest[1]

    def left(self, c: Capsule, area: Area, cells: Cells, along: Along) -> Array:
        """The lowest that an earlier cut along the same line left in cells of an area, inf where there was none."""
        (j, i), (rows, columns) = cells, area
        left = np.full(len(j), along.whole)
        if not len(j) or not len(along.heights) or along.heights[0] >= along.whole:
            return left
        x, y = (i + columns.start + 0.5) * self._dx, (j + rows.start + 0.5) * self._dy
        far, ux, uy = direction(c)
        # the part of the line from which the disc reaches the cell
        u, v = (x - c.ax) * ux + (y - c.ay) * uy, (y - c.ay) * ux - (x - c.ax) * uy
        half = np.sqrt(np.maximum((c.radius + np.hypot(self._dx, self._dy)) ** 2 - v * v, 0.0))
        begin, end = np.clip(u - half, 0.0, far), np.clip(u + half, 0.0, far)
        for part in range(0, len(along.heights), _LOOKS):
            if along.heights[part] >= left.max():
                break
            first, last, heights = (each[part : part + _LOOKS, None] for each in along[:3])
            same = (first <= begin) & (last >= end)
            left = np.minimum(left, np.where(same, heights, np.inf).min(axis=0))
        return left
