"""True panels: both faces known exactly, surveyed as a person would, with reading errors.

Lengths in mm.  Nothing here comes from the compiler: the shapes are those that the language names (twist, cup, bow,
wedge, steps at glue lines), and for panels outside it waves and bumps between the readings.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

import numpy as np
from scipy.optimize import linprog

Array = np.ndarray
Kind = Literal["form", "waves", "bumps"]

PLACES = {
    "front_left": (0.0, 0.0),
    "front": (0.5, 0.0),
    "front_right": (1.0, 0.0),
    "left": (0.0, 0.5),
    "centre": (0.5, 0.5),
    "right": (1.0, 0.5),
    "back_left": (0.0, 1.0),
    "back": (0.5, 1.0),
    "back_right": (1.0, 1.0),
}
EDGES = [name for name in PLACES if name != "centre"]
CORNERS = [name for name in PLACES if "_" in name]
#: side of a leaf (mm), density of the panels (kg/mm3), the push of a hand (N)
LEAF = 25.0
DENSITY = 670e-9
PUSH = 50.0


@dataclass(frozen=True)
class Bed:
    """A bed of slow waves, whose highest and lowest points differ by `flat` mm on a stated part of it."""

    flat: float
    phases: tuple[float, ...]
    scale: float = 1.0

    @classmethod
    def drawn(cls, rng: np.random.Generator, flat: float, region: tuple[float, float, float, float]) -> Bed:
        """A bed that uses the whole of `flat` on the region x0, y0, x1, y1 (machine coordinates, mm)."""
        bed = cls(flat, (*rng.uniform(0.0, 2 * np.pi, 4), rng.uniform(0.0, 1.0)))
        x0, y0, x1, y1 = region
        heights = bed.at(np.linspace(x0, x1, 60)[None, :], np.linspace(y0, y1, 60)[:, None])
        return cls(flat, bed.phases, flat / float(np.ptp(heights)))

    def at(self, x: Array | float, y: Array | float) -> Array:
        """Height in machine coordinates (mm)."""
        x, y = np.asarray(x, dtype=float), np.asarray(y, dtype=float)
        one = np.sin(2 * np.pi * x / 1900.0 + self.phases[0]) * np.sin(2 * np.pi * y / 1700.0 + self.phases[1])
        other = np.sin(2 * np.pi * x / 830.0 + self.phases[2]) * np.sin(2 * np.pi * y / 910.0 + self.phases[3])
        share = self.phases[4]
        return np.asarray(self.scale * ((1 - share) * one + share * other))


@dataclass(frozen=True)
class TruePanel:
    """A rigid panel: `lower` and `thickness` as coefficients of the forms, steps, and what no reading shows.

    Forms are offset, u − ½, v − ½, (u − ½)(v − ½), cup and bow of height 1 in the middle, u = x/length, v = y/width.
    """

    length: float
    width: float
    nominal: float
    lower_terms: tuple[float, ...]
    thickness_terms: tuple[float, ...]
    #: (y of the glue line, rise of the boards beyond, face: "", "under" or "through")
    steps: tuple[tuple[float, float, str], ...] = ()
    #: (height, x, y, wave lengths or radius): of the top and of the lower face
    hidden: tuple[tuple[float, ...], ...] = ()
    kind: Kind = "form"

    def _form(self, terms: tuple[float, ...], x: Array, y: Array) -> Array:
        u, v = x / self.length - 0.5, y / self.width - 0.5
        shapes = (np.ones_like(u), u, v, u * v, 1 - 4 * v**2, 1 - 4 * u**2)
        return np.asarray(sum(term * shape for term, shape in zip(terms, shapes, strict=True)))

    def _steps(self, faces: tuple[str, ...], y: Array) -> Array:
        total = np.zeros_like(y)
        for line, rise, face in self.steps:
            if face in faces:
                total = total + rise * (y > line)
        return total

    def _hidden(self, side: int, x: Array, y: Array) -> Array:
        total = np.zeros_like(x)
        for on, height, px, py, reach in self.hidden:
            if int(on) != side:
                continue
            if self.kind == "waves":
                total = total + height * np.sin(2 * np.pi * x / reach + px) * np.sin(2 * np.pi * y / reach + py)
            else:
                total = total + height * np.exp(-((x - px) ** 2 + (y - py) ** 2) / (2 * reach**2))
        return total

    def lower(self, x: Array, y: Array) -> Array:
        """The lower face in the panel's own frame (mm)."""
        x, y = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
        return self._form(self.lower_terms, x, y) + self._steps(("under", "through"), y) + self._hidden(0, x, y)

    def top(self, x: Array, y: Array) -> Array:
        """The upper face in the panel's own frame (mm)."""
        x, y = np.broadcast_arrays(np.asarray(x, dtype=float), np.asarray(y, dtype=float))
        smooth = self._form(self.lower_terms, x, y) + self._form(self.thickness_terms, x, y)
        return smooth + self._steps(("", "through"), y) + self._hidden(1, x, y)

    @property
    def weight(self) -> float:
        """N."""
        return self.length * self.width * self.nominal * DENSITY * 9.81


def drawn(rng: np.random.Generator, kind: Kind = "form") -> TruePanel:
    """A panel out of the clamps: warp up to about a millimetre a metre, a wedge, and now and then a step."""
    length, width = float(rng.integers(10, 25) * 40), float(rng.integers(7, 15) * 40)
    nominal = float(rng.choice([26.0, 31.5, 36.0]))
    span = length / 1000.0
    lower = (0.0, 0.0, 0.0, *rng.uniform(-0.9, 0.9, 1) * span, *rng.uniform(-0.4, 0.4, 2) * (width / 600.0, span))
    wedge = rng.uniform(-0.3, 0.3, 2)
    thickness = (nominal + float(rng.uniform(-0.2, 0.3)), *wedge, *rng.uniform(-0.15, 0.15, 1), 0.0, 0.0)
    steps = []
    if rng.random() < 0.5:
        line = round(width * float(rng.choice([0.25, 0.5, 0.75])), 1)
        steps.append((line, round(float(rng.choice([-1, 1]) * rng.uniform(0.1, 0.4)), 2), ""))
    hidden: list[tuple[float, ...]] = []
    if kind != "form":
        for side in (0, 1):
            for _ in range(1 if kind == "waves" else 3):
                place = rng.uniform(0, 2 * np.pi, 2) if kind == "waves" else rng.uniform(0, 1, 2) * (length, width)
                reach = rng.uniform(180.0, 420.0) if kind == "waves" else rng.uniform(30.0, 120.0)
                height = rng.uniform(0.03, 0.12) if kind == "waves" else rng.uniform(0.05, 0.25)
                hidden.append((side, float(height), float(place[0]), float(place[1]), float(reach)))
    terms = tuple(map(float, lower)), tuple(map(float, thickness))
    return TruePanel(length, width, nominal, *terms, tuple(steps), tuple(hidden), kind)


def wavy(rng: np.random.Generator) -> TruePanel:
    """A panel with waves or bumps between the readings, in turns."""
    return drawn(rng, "waves" if rng.random() < 0.5 else "bumps")


@dataclass(frozen=True)
class Laid:
    """A panel at rest: the height of its own frame over the machine's Z 0 is a·x + b·y + c (mm)."""

    a: float
    b: float
    c: float

    def at(self, x: Array | float, y: Array | float) -> Array:
        return np.asarray(self.a * np.asarray(x) + self.b * np.asarray(y) + self.c)


@dataclass
class Support:
    """What a panel lies on: the bed under its outline, and leaves; (n, 3) points x, y and the height to clear."""

    length: float
    width: float
    bed: Bed
    origin: tuple[float, float]
    leaves: list[tuple[float, float, float]] = field(default_factory=list)

    def points(self) -> tuple[Array, Array, Array]:
        xs, ys = np.linspace(0, self.length, 49), np.linspace(0, self.width, 37)
        x, y = (grid.ravel() for grid in np.meshgrid(xs, ys))
        height = self.bed.at(x + self.origin[0], y + self.origin[1])
        for lx, ly, thick in self.leaves:
            px, py = self.under(lx, ly)
            x, y = np.append(x, px), np.append(y, py)
            height = np.append(height, self.bed.at(px + self.origin[0], py + self.origin[1]) + thick)
        return x, y, height

    def under(self, x: float, y: float) -> tuple[Array, Array]:
        """The corners of a leaf laid at a place: (4,) x and y, mm."""
        x0 = min(max(x - LEAF / 2, 0.0), self.length - LEAF)
        y0 = min(max(y - LEAF / 2, 0.0), self.width - LEAF)
        return np.array([x0, x0, x0 + LEAF, x0 + LEAF]), np.array([y0, y0 + LEAF, y0, y0 + LEAF])


def rest(lower: Array, x: Array, y: Array, height: Array, centre: tuple[float, float]) -> Laid:
    """Where a rigid face with heights `lower` at (x, y) comes to rest on `height`: the lowest centre of gravity.

    Solved by HiGHS (scipy.optimize.linprog).
    """
    rows = -np.column_stack((x, y, np.ones_like(x)))
    found = linprog([centre[0], centre[1], 1.0], A_ub=rows, b_ub=lower - height, bounds=[(None, None)] * 3)
    assert found.status == 0, found.message
    return Laid(*map(float, found.x))


def pressed(lower: Array, support: Support, weight: float, places: list[str], laid: Laid) -> dict[str, float]:
    """How far each place goes down under the push of a hand (mm): rest with the load at the common centre."""
    x, y, height = support.points()
    moves = {}
    for name in places:
        px, py = PLACES[name][0] * support.length, PLACES[name][1] * support.width
        share = PUSH / (PUSH + weight)
        centre = (support.length / 2 * (1 - share) + px * share, support.width / 2 * (1 - share) + py * share)
        moves[name] = float(laid.at(px, py) - rest(lower, x, y, height, centre).at(px, py))
    return moves


@dataclass(frozen=True)
class Readings:
    """What a person read, by place (mm)."""

    thickness: dict[str, float]
    gaps: dict[str, float]
    within: float


def read(
    panel: TruePanel, support: Support, rng: np.random.Generator, within: float, places: list[str] | None = None
) -> Readings:
    """Calipers at places of the panel and feelers under its edges, each off by up to `within`, in hundredths."""
    x, y, height = support.points()
    laid = rest(panel.lower(x, y), x, y, height, (panel.length / 2, panel.width / 2))
    thickness, gaps = {}, {}
    for name in places or list(PLACES):
        px, py = np.asarray(PLACES[name][0] * panel.length), np.asarray(PLACES[name][1] * panel.width)
        # on a glue line calipers ride on the higher board of a face, and a feeler stops at the lower one
        sides = (py - 0.3, py + 0.3)
        true = max(float(panel.top(px, y)) for y in sides) - min(float(panel.lower(px, y)) for y in sides)
        thickness[name] = round(true + float(rng.uniform(-within, within)) * 0.9, 2)
    for name in EDGES:
        px, py = PLACES[name][0] * panel.length, PLACES[name][1] * panel.width
        true = min(float(panel.lower(np.asarray(px), np.asarray(y))) for y in (py - 0.3, py + 0.3))
        true += float(laid.at(px, py))
        true -= float(support.bed.at(px + support.origin[0], py + support.origin[1]))
        gaps[name] = max(0.0, round(true + float(rng.uniform(-within, within)) * 0.9, 2))
    return Readings(thickness, gaps, within)
