"""The height map of a face before the cut: bands of height, the highest and the lowest place marked."""

from __future__ import annotations

from collections.abc import Mapping
from itertools import groupby
from math import ceil

import numpy as np

from flatwise.core.surface import Array
from flatwise.core.units import fixed
from flatwise.model.stages import Setup
from flatwise.model.words import PLACES
from flatwise.report.display import DisplayUnit
from flatwise.report.svg import BOLD, LETTERING, PLAIN, Anchor, Lettering, Pen, num

#: bands of height, from the palest (lowest) to the darkest (highest)
BANDS = 6
#: cells along the longer side
CELLS = 56


def extreme(setup: Setup, *, high: bool) -> tuple[float, float, float]:
    """(x, y, height) of the highest or lowest place of the face, mm; of several, the one nearest to the middle."""
    nodes = setup.top.nodes()
    best = nodes[:, 2].max() if high else nodes[:, 2].min()
    found = nodes[np.abs(nodes[:, 2] - best) < 1e-9]
    aside = (found[:, 0] - setup.top.length / 2) ** 2 + (found[:, 1] - setup.top.width / 2) ** 2
    x, y, z = found[int(np.round(aside, 6).argmin())]
    return float(x), float(y), float(z)


def height_map(setup: Setup, unit: DisplayUnit, edges: Mapping[str, str] | None = None, radius: float = 0.0) -> str:
    """One `<svg>`: the face in equal bands of height, with the heights at the nine places, the highest and the lowest.

    `edges` are the panel's own edges by those of the bed; with the cutter's `radius` (mm) a ring shows where to touch
    off on the top.  Each cell has the colour of the height at its middle.  Data attributes carry the heights of a grid
    for the page's script, which shows the height under the pointer.
    """
    length, width = setup.top.length, setup.top.width
    low, high = setup.lowest, setup.highest
    cell = max(length, width) / CELLS
    xs = np.linspace(0.0, length, ceil(length / cell - 1e-9) + 1)
    ys = np.linspace(0.0, width, ceil(width / cell - 1e-9) + 1)
    bands = BANDS if high - low > 1e-6 else 1
    middles = setup.top.at(((xs[:-1] + xs[1:]) / 2)[None, :], ((ys[:-1] + ys[1:]) / 2)[:, None])
    step = (high - low) / bands or 1.0
    which = np.clip(((middles - low) / step).astype(int), 0, bands - 1)
    pen = _frame(setup, radius)
    letters = Lettering(pen)
    parts = [_band(pen, which == band, xs, ys, f"band b{_shade(band, bands)}") for band in range(bands)]
    parts.append(pen.box(0.0, 0.0, length, width, "outline"))
    parts += _touch(setup, radius, letters)
    parts += _edges(setup, edges or {}, letters)
    parts += _heights(setup, letters, unit) if bands > 1 else []
    parts += _key(pen, low, step, bands, unit)
    label = (
        f"Height map of the {setup.face} face before the cut, from {unit.coarse(low)} to {unit.coarse(high)} above the "
        "bed; darker is higher"
    )
    return pen.picture("relief", label, parts, _grid(setup, xs[:: max(1, len(xs) // 28)], ys, unit))


def _frame(setup: Setup, radius: float) -> Pen:
    """A frame around the face and the ring, with room for a line of words at each side and the key below.

    For the words and the key, the picture of a narrow panel is wider than the panel.
    """
    length, width, touch = setup.top.length, setup.top.width, setup.touch
    x0, y0, x1, y1 = 0.0, 0.0, length, width
    if touch.on == "top" and radius:
        x0, x1 = min(x0, touch.x - radius), max(x1, touch.x + radius)
        y0, y1 = min(y0, touch.y - radius), max(y1, touch.y + radius)
    size = max(LETTERING * (x1 - x0) / (1 - 3.2 * LETTERING), LETTERING * (y1 - y0) / (1 - 6.3 * LETTERING))
    aside = max(1.6 * size, (17.0 * size - (x1 - x0)) / 2)
    return Pen(x0 - aside, x1 + aside, y0 - 4.6 * size, y1 + 1.7 * size)


def _touch(setup: Setup, radius: float, letters: Lettering) -> list[str]:
    touch, pen = setup.touch, letters.pen
    if touch.on != "top" or not radius:
        return []
    letters.keep(touch.x - radius, touch.y - radius, touch.x + radius, touch.y + radius)
    up = radius + 0.8 * pen.size
    anchors = [
        Anchor(touch.x + aside, touch.y + by, anchor)
        for by in (up, -up) for aside, anchor in ((0.0, "middle"), (-radius, "start"), (radius, "end"))
    ]  # fmt: skip
    return [pen.circle(touch.x, touch.y, radius, "touch"), letters.put("touch off", anchors, "touched", bold=True)]


def _edges(setup: Setup, edges: Mapping[str, str], letters: Lettering) -> list[str]:
    """The panel's own names of its edges, along the outside of each."""
    length, width, aside = setup.top.length, setup.top.width, 0.85 * letters.pen.size
    along = (0.5, 0.3, 0.7)
    anchors = {
        "front": [Anchor(share * length, -aside) for share in along],
        "back": [Anchor(share * length, width + aside) for share in along],
        "left": [Anchor(-aside, share * width, turned=True) for share in along],
        "right": [Anchor(length + aside, share * width, turned=True) for share in along],
    }
    return [
        letters.put(f"{own} edge", anchors[bed], "edge moved" if own != bed else "edge", bold=own != bed)
        for bed, own in edges.items()
    ]


def _heights(setup: Setup, letters: Lettering, unit: DisplayUnit) -> list[str]:
    """The highest and the lowest place, and the heights at those of the nine places that have room."""
    length, width, pen, size = setup.top.length, setup.top.width, letters.pen, letters.pen.size
    marks, drawn = [], []
    for high, word in ((True, "▲ high"), (False, "▼ low")):
        x, y, z = extreme(setup, high=high)
        letters.keep(x - 0.4 * size, y - 0.4 * size, x + 0.4 * size, y + 0.4 * size)
        drawn.append(pen.circle(x, y, 0.4 * size, "mark"))
        marks.append((x, y, f"{word} {unit.coarse(z)}"))
    for x, y, words in marks:
        half = len(words) * BOLD * size / 2
        at = min(max(x, half + 0.2 * size), length - half - 0.2 * size) if length > 2 * half else length / 2
        # beside the mark toward the middle, or on the other side, or a line further in
        inward = -1.0 if y > width / 2 else 1.0
        anchors = [
            Anchor(x_, y + by * inward * size)
            for x_ in (at, at - 2 * half, at + 2 * half)
            for by in (1.1, -1.1, 2.4, 3.7, -2.4)
        ]
        said = letters.put(words, anchors, "marked", bold=True, must=False)
        # the mark and the height alone if there is no room for more
        drawn.append(said or letters.put(f"{words[0]} {words.split(' ', 2)[2]}", anchors, "marked", bold=True))
    inset = 0.85 * size
    for across, along in PLACES.values():
        x, y = across * length, along * width
        words = unit.coarse(float(setup.top.at(x, y)))
        half = len(words) * PLAIN * size / 2 + 0.2 * size
        if length >= 2 * half:
            spot = Anchor(min(max(x, half), length - half), min(max(y, inset), width - inset))
            drawn.append(letters.put(words, [spot], "height", must=False))
    return drawn


def _shade(band: int, bands: int) -> int:
    return band if bands > 1 else BANDS // 2


def _band(pen: Pen, cells: Array, xs: Array, ys: Array, kind: str) -> str:
    """All cells of one band as one path, adjacent cells of a row joined."""
    runs = []
    for j, row in enumerate(cells):
        start = 0
        for inside, group in groupby(row):
            end = start + len(list(group))
            if inside:
                x0, x1, top, bottom = xs[start], xs[end], pen.y(ys[j + 1]), pen.y(ys[j])
                runs.append(f"M{num(x0)} {num(top)}H{num(x1)}V{num(bottom)}H{num(x0)}Z")
            start = end
    return f'<path class="{kind}" d="{"".join(runs)}"/>' if runs else ""


def _key(pen: Pen, low: float, step: float, bands: int, unit: DisplayUnit) -> list[str]:
    """The bands with their limits, below the map."""
    size, middle = pen.size, (pen.left + pen.right) / 2
    if bands == 1:
        return [pen.text(middle, pen.bottom + 1.2 * size, f"level: {unit(low)}", kind="soft")]
    long = min(pen.right - pen.left - 6.0 * size, 24.0 * size)
    start, wide, at = middle - long / 2, long / bands, pen.bottom + 0.8 * size
    drawn = [
        pen.box(start + band * wide, at + 0.8 * size, start + (band + 1) * wide, at + 1.9 * size, f"band key b{band}")
        for band in range(bands)
    ]
    # four limits if there is room, otherwise the two ends
    words = [(band, unit.coarse(low + band * step)) for band in (0, 2, 4, 6)]
    if 2 * wide < (max(len(word) for _, word in words) + 1) * PLAIN * size:
        words = [words[0], words[-1]]
    return [*drawn, *(pen.text(start + band * wide, at, word) for band, word in words)]


def _grid(setup: Setup, xs: Array, ys: Array, unit: DisplayUnit) -> str:
    """Data attributes with the heights of an even grid, row by row from the front, in the sheet's unit."""
    nx, ny = len(xs), min(len(ys), 19)
    gx, gy = np.linspace(0.0, setup.top.length, nx), np.linspace(0.0, setup.top.width, ny)
    heights = setup.top.at(gx[None, :], gy[:, None]) / unit.millimetres
    places = 4 if unit.symbol == "in" else 3
    rows = " ".join(fixed(value, places) for value in heights.ravel().tolist())
    return (
        f'data-nx="{nx}" data-ny="{ny}" data-length="{num(setup.top.length)}" data-width="{num(setup.top.width)}" '
        f'data-unit="{unit.symbol}" data-worth="{unit.millimetres:g}" data-heights="{rows}" '
    )
