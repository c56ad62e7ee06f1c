"""The height map of a face as it lies before the cut: bands of height, the high and the low place marked."""

from __future__ import annotations

from itertools import groupby
from math import ceil

import numpy as np

from flatwise.model.words import PLACES
from flatwise.report.measures import Measures
from flatwise.report.pen import Pen, num
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
    room = 0.055 * max(length, width)
    pen = Pen(-room, length + room, -room - 2.6 * room, width + room)
    parts = [_band(pen, which == band, xs, ys, f"band b{_shade(band, bands)}") for band in range(bands)]
    parts.append(pen.box(0.0, 0.0, length, width, "outline"))
    marks = [(*extreme(setup, high=True), "high", "▲")]
    if bands > 1:
        marks.append((*extreme(setup, high=False), "low", "▼"))
    inset = 2.6 * pen.size
    for across, up in PLACES.values():
        x, y = across * length, up * width
        near = any(abs(x - mx) < 8 * pen.size and abs(y - my) < 3.2 * pen.size for mx, my, *_ in marks)
        if not near and bands > 1:
            at = (min(max(x, inset), length - inset), min(max(y, 0.9 * pen.size), width - 0.9 * pen.size))
            parts.append(pen.text(*at, unit.coarse(float(setup.top.at(x, y))), kind="height", share=0.85))
    for x, y, z, word, sign in marks:
        wide = 4.4 * pen.size
        at = (min(max(x, wide), length - wide), y + (-1.3 if y > width / 2 else 1.3) * pen.size)
        parts.append(pen.circle(x, y, 0.4 * pen.size, "mark"))
        parts.append(pen.text(*at, f"{sign} {word} {unit.coarse(z)}", kind="marked"))
    parts += _key(pen, length, low, step, bands, room, unit)
    label = (
        f"Height map of the {setup.face} face before the cut, from {unit.coarse(low)} to {unit.coarse(high)} above the "
        "bed; darker is higher"
    )
    return pen.picture("relief", label, parts, _grid(setup, xs[:: max(1, len(xs) // 28)], ys, unit))


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
        return [pen.text(length / 2, -1.6 * room, f"level, {unit(low)} above the bed", kind="soft")]
    wide = length / bands
    drawn = []
    for band in range(bands):
        x0 = band * wide
        drawn.append(pen.box(x0, -2.0 * room, x0 + wide, -1.2 * room, f"band key b{band}"))
    for band in (0, 2, 4, 6):
        drawn.append(pen.text(band * wide, -2.7 * room, unit.coarse(low + band * step), share=0.85))
    return drawn


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
