"""The height map of a face as it lies before the cut: bands of height, the high and the low place marked."""

from __future__ import annotations

from itertools import groupby
from math import ceil

import numpy as np

from flatwise.model.words import PLACES
from flatwise.report.measures import Measures
from flatwise.report.pen import LETTERING, Pen, num
from flatwise.stages import Setup
from flatwise.surface import Array

#: Bands of height, from the palest (lowest) to the darkest (highest).
BANDS = 6
#: Cells along the longer side.
CELLS = 56


def extreme(setup: Setup, *, high: bool) -> tuple[float, float, float]:
    """(x, y, height) of the highest or the lowest place of the face, mm: of equal ones the nearest to the middle."""
    nodes = setup.top.nodes()
    best = nodes[:, 2].max() if high else nodes[:, 2].min()
    found = nodes[np.abs(nodes[:, 2] - best) < 1e-9]
    aside = (found[:, 0] - setup.top.length / 2) ** 2 + (found[:, 1] - setup.top.width / 2) ** 2
    x, y, z = found[int(np.argmin(aside))]
    return float(x), float(y), float(z)


def height_map(setup: Setup, unit: Measures) -> str:
    """One `<svg>`: the face in bands of equal steps, heights written at the nine places, high and low marked.

    Each cell has the colour of the height at its middle.  The page carries the heights at the nodes of the same
    grid too, so that a pointer can be told the height under it.
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
    room = 0.07 * max(length, width)
    # the words for high and low need a narrow panel's picture to be wider than the panel
    words = 10.5 * LETTERING * max(length + 2 * room, width + 4.6 * room)
    side = max(room, (words - length) / 2)
    pen = Pen(-side, length + side, -3.6 * room, width + room)
    parts = [_band(pen, which == band, xs, ys, f"band b{_shade(band, bands)}") for band in range(bands)]
    parts.append(pen.box(0.0, 0.0, length, width, "outline"))
    parts += _heights(setup, pen, unit) if bands > 1 else []
    parts += _key(pen, length, low, step, bands, room, unit)
    label = (
        f"Height map of the {setup.face} face before the cut, from {unit.coarse(low)} to {unit.coarse(high)} above the "
        "bed; darker is higher"
    )
    return pen.picture("relief", label, parts, _grid(setup, xs[:: max(1, len(xs) // 28)], ys, unit))


def _heights(setup: Setup, pen: Pen, unit: Measures) -> list[str]:
    """High and low with their marks, and the heights at the nine places where there is room for them."""
    length, width, size = setup.top.length, setup.top.width, pen.size
    taken: list[tuple[float, float, float]] = []

    def free(x: float, y: float, half: float) -> bool:
        return all(abs(x - at) >= half + wide or abs(y - up) >= 1.4 * size for at, up, wide in taken)

    drawn = []
    for high, word in ((True, "▲ high"), (False, "▼ low")):
        x, y, z = extreme(setup, high=high)
        half = 4.6 * size
        at = min(max(x, half), length - half) if length > 2 * half else length / 2
        # beside the mark on the middle's side, else on the other, else a line further in
        inward = -1.0 if y > width / 2 else 1.0
        up = next((y + by * inward * size for by in (1.3, -1.3, 2.8, 4.3) if free(at, y + by * inward * size, half)), y)
        taken.append((at, up, half))
        drawn.append(pen.circle(x, y, 0.4 * size, "mark") + pen.text(at, up, f"{word} {unit.coarse(z)}", kind="marked"))
    half, inset = 2.3 * size, 0.9 * size
    for across, along in PLACES.values():
        x, y = across * length, along * width
        if length < 2 * half:
            break
        at, up = min(max(x, half), length - half), min(max(y, inset), width - inset)
        if free(at, up, half):
            taken.append((at, up, half))
            drawn.append(pen.text(at, up, unit.coarse(float(setup.top.at(x, y))), kind="height", share=0.85))
    return drawn


def _shade(band: int, bands: int) -> int:
    return band if bands > 1 else BANDS // 2


def _band(pen: Pen, cells: Array, xs: Array, ys: Array, kind: str) -> str:
    """All cells of one band as one path, cells that touch along x together."""
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


def _key(pen: Pen, length: float, low: float, step: float, bands: int, room: float, unit: Measures) -> list[str]:
    """The bands with their limits, below the map."""
    if bands == 1:
        return [pen.text(length / 2, -1.6 * room, f"level: {unit(low)}", kind="soft")]
    wide = length / bands
    drawn = []
    for band in range(bands):
        x0 = band * wide
        drawn.append(pen.box(x0, -2.0 * room, x0 + wide, -1.2 * room, f"band key b{band}"))
    at, share = -2.7 * room, 0.85
    if 2 * wide > 4.9 * pen.size:
        return [
            *drawn,
            *(pen.text(band * wide, at, unit.coarse(low + band * step), share=share) for band in (0, 2, 4, 6)),
        ]
    # no room for four under a narrow panel: the two ends, back to back
    ends = ((-0.4, low, "end"), (0.4, low + bands * step, "start"))
    return [
        *drawn,
        *(
            pen.text(length / 2 + by * pen.size, at, unit.coarse(z), anchor=anchor, share=share)
            for by, z, anchor in ends
        ),
    ]


def _grid(setup: Setup, xs: Array, ys: Array, unit: Measures) -> str:
    """The heights for the pointer as attributes: at even nodes, row by row from the front, in the sheet's unit."""
    nx, ny = len(xs), min(len(ys), 19)
    gx, gy = np.linspace(0.0, setup.top.length, nx), np.linspace(0.0, setup.top.width, ny)
    heights = setup.top.at(gx[None, :], gy[:, None]) / unit.worth
    places = 4 if unit.symbol == "in" else 3
    rows = " ".join(f"{value:.{places}f}" for value in heights.ravel())
    return (
        f'data-nx="{nx}" data-ny="{ny}" data-length="{num(setup.top.length)}" data-width="{num(setup.top.width)}" '
        f'data-unit="{unit.symbol}" data-worth="{unit.worth:g}" data-heights="{rows}" '
    )
