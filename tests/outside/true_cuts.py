"""A machine of the judge's own: it reads a program, moves a leaning cutter through a true panel, and looks.

Lengths in mm.  The reader knows just the words that programs of the compiler may have, and refuses others; it shares
nothing with the compiler's proof.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from itertools import pairwise

import numpy as np
from outside.true_panels import Array

#: side of a cell of the wood (mm); pieces into which a slanting move is cut
CELL = 3.0
PIECE = 2.0
KNOWN = {
    "G": {0, 1, 4, 17, 20, 21, 40, 49, 53, 61, 64, 80, 90, 94, *range(54, 60), 59.1, 59.2, 59.3},
    "M": {0, 2, 3, 5, 7, 8, 9, 30},
}


@dataclass(frozen=True)
class Step:
    """A straight move from one place to another; mm, `rapid` for G0, `rounds` under G64."""

    start: tuple[float, float, float]
    end: tuple[float, float, float]
    rapid: bool
    line: int
    rounds: bool = False


def steps(program: str) -> Iterator[Step]:
    """The moves of a program in its work offset; moves in machine coordinates (G53) only raise Z out of reach."""
    at: list[float] = [np.nan, np.nan, 1000.0]
    scale, rapid, rounds = 1.0, True, False
    for number, text in enumerate(program.splitlines(), 1):
        bare = re.sub(r"\([^)]*\)", "", text).replace(" ", "").lstrip("/")
        words = [(letter, float(value)) for letter, value in re.findall(r"([A-Z])(-?[\d.]+)", bare)]
        assert "".join(f"{a}{b}" for a, b in re.findall(r"([A-Z])(-?[\d.]+)", bare)) == bare, text
        codes = {value for letter, value in words if letter == "G"}
        for letter, value in words:
            assert letter not in KNOWN or value in KNOWN[letter], text
        scale = 25.4 if 20 in codes else 1.0 if 21 in codes else scale
        rapid = True if 0 in codes else False if 1 in codes else rapid
        rounds = True if 64 in codes else False if 61 in codes else rounds
        target = {letter: value * scale for letter, value in words if letter in "XYZ"}
        if 4 in codes or not target:
            continue
        if 53 in codes:
            at[2] = 1000.0 if "Z" in target else at[2]
            continue
        new = [target.get(axis, old) for axis, old in zip("XYZ", at, strict=True)]
        if not np.isnan(at[0]) and not np.isnan(new[0]):
            yield Step((at[0], at[1], at[2]), (new[0], new[1], new[2]), rapid, number, rounds)
        elif not np.isnan(new[0]) and not np.isnan(new[1]):
            # the first move over the bed: from high up
            yield Step((new[0], new[1], max(at[2], new[2])), (new[0], new[1], new[2]), rapid, number)
        at = new


def rounded(path: list[Step], by: float, rng: np.random.Generator) -> list[Step]:
    """The path of a machine that cuts each corner between two moves under G64 by none, half or all of `by` (mm).

    The corner moves toward the straight line between its neighbours, so that whole rows come to lie aslant.
    """
    moved = list(path)
    for k, (one, after) in enumerate(pairwise(path)):
        if not (one.rounds and after.rounds):
            continue
        a, b, c = np.array(one.start), np.array(one.end), np.array(after.end)
        chord = c - a
        t = np.clip(np.dot(b - a, chord) / max(float(np.dot(chord, chord)), 1e-12), 0.0, 1.0)
        inward = a + t * chord - b
        far = float(np.linalg.norm(inward))
        pull = by * float(rng.choice([0.0, 0.5, 1.0]))
        x, y, z = b + inward * min(1.0, pull / max(far, 1e-12))
        moved[k] = replace(moved[k], end=(x, y, z))
        moved[k + 1] = replace(moved[k + 1], start=(x, y, z))
    return moved


@dataclass(frozen=True)
class Cutter:
    """A turning disc: its radius, and the slopes by which it leans along x and y (mm per mm)."""

    radius: float
    lean: tuple[float, float]
    wings: int = 3

    def touched(self, top, x: float, y: float, paper: float, turn: float) -> float:  # type: ignore[no-untyped-def]
        """Height of the cutter's centre where the first wing of the still cutter meets the paper on a face `top`."""
        reach = np.linspace(0.4, 1.0, 7) * self.radius
        heights = []
        for wing in range(self.wings):
            angle = turn + 2 * np.pi * wing / self.wings
            dx, dy = reach * np.cos(angle), reach * np.sin(angle)
            heights.append(top(x + dx, y + dy) + paper - self.lean[0] * dx - self.lean[1] * dy)
        return float(np.max(heights))


@dataclass
class Seen:
    """What went wrong, in words, and the figures of one face."""

    deepest: float = 0.0
    plunges: list[str] = field(default_factory=list)
    rapids: list[str] = field(default_factory=list)
    met: list[str] = field(default_factory=list)
    #: straight or steeply down over the panel, closer to the wood than the hop
    low: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class Holder:
    """A dog or clamp in the frame of the program: a circle (x0 = x1, y0 = y1, radius) or a rectangle (radius 0)."""

    name: str
    x0: float
    y0: float
    x1: float
    y1: float
    radius: float
    height: float

    def distance(self, a: Array, b: Array) -> float:
        """From the straight way a → b in plan (mm), by points along it."""
        t = np.linspace(0, 1, max(2, int(np.hypot(*(b - a)) / 1.0)))[:, None]
        points = a + (b - a) * t
        dx = np.maximum(np.maximum(self.x0 - points[:, 0], points[:, 0] - self.x1), 0)
        dy = np.maximum(np.maximum(self.y0 - points[:, 1], points[:, 1] - self.y1), 0)
        return float(np.hypot(dx, dy).min()) - self.radius


class Wood:
    """The face of a panel that is being cut: heights of cells (mm over the machine's Z 0)."""

    #: a ramp goes down this much per mm of its way, at most
    ramp = 1 / 20

    def __init__(self, length: float, width: float, top, hop: float = 0.0) -> None:  # type: ignore[no-untyped-def]
        """`hop`: how far above the wood the cutter ends when it comes straight down over the panel."""
        self.hop = hop
        self.xs = np.linspace(CELL / 2, length - CELL / 2, round(length / CELL))
        self.ys = np.linspace(CELL / 2, width - CELL / 2, round(width / CELL))
        self.raw = top(self.xs[None, :], self.ys[:, None])
        self.now = self.raw.copy()
        #: the lowest that the cutter came over a cell, in the wood or above it
        self.floor = np.full_like(self.raw, np.inf)

    def cut(
        self,
        program: str,
        cutter: Cutter,
        zero: float,
        repeat: float,
        holders: list[Holder],
        rng: np.random.Generator,
        rounding: float = 0.0,
    ) -> Seen:
        """Run a program whose Z 0 is the machine's height `zero`; each new depth comes back within ± repeat.

        The machine cuts corners by up to `rounding` mm where the program lets it.
        """
        seen, slip, depth = Seen(), 0.0, None
        path = list(steps(program))
        for step in rounded(path, rounding, rng) if rounding else path:
            a, b = np.array(step.start), np.array(step.end)
            # a way up begins where the cutter is
            was = slip
            if step.end[2] != depth:
                slip, depth = float(rng.uniform(-repeat, repeat)), step.end[2]
            a[2] += zero + (was if b[2] > a[2] else slip)
            b[2] += zero + slip
            low = min(a[2], b[2])
            for holder in holders:
                if low < holder.height and holder.distance(a[:2], b[:2]) < cutter.radius:
                    seen.met.append(f"line {step.line} meets {holder.name}")
            self._move(a, b, step, cutter, seen)
        return seen

    def _move(self, a: Array, b: Array, step: Step, cutter: Cutter, seen: Seen) -> None:
        flat = float(np.hypot(b[0] - a[0], b[1] - a[1]))
        if a[2] - b[2] > flat * self.ramp + 0.01 and self._stands(a, b, cutter.radius) > b[2] - self.hop:
            seen.low.append(f"line {step.line} down {a[2] - b[2]:.3f} mm on {flat:.1f} mm of way to {b[2]:.3f} mm")
        pieces = 1 if abs(a[2] - b[2]) < 1e-9 or flat < 1e-9 else max(1, int(flat / PIECE))
        for piece in range(pieces):
            start, end = a + (b - a) * piece / pieces, a + (b - a) * (piece + 1) / pieces
            bite = self._sweep(start, end, min(start[2], end[2]), cutter)
            if bite <= 1e-9:
                continue
            if step.rapid:
                seen.rapids.append(f"line {step.line} at rapid {bite:.3f} mm into wood")
            elif flat < 1e-9 and b[2] < a[2]:
                seen.plunges.append(f"line {step.line} straight down {bite:.3f} mm into wood")
            seen.deepest = max(seen.deepest, bite)

    def _stands(self, a: Array, b: Array, radius: float) -> float:
        """The highest wood in the box round the discs at both ends of a way; −inf beside the panel."""
        x = (self.xs > min(a[0], b[0]) - radius) & (self.xs < max(a[0], b[0]) + radius)
        y = (self.ys > min(a[1], b[1]) - radius) & (self.ys < max(a[1], b[1]) + radius)
        return float(self.now[np.ix_(y, x)].max(initial=-np.inf))

    def _sweep(self, a: Array, b: Array, height: float, cutter: Cutter) -> float:
        """Take away what the disc covers on a level way; the deepest bite (mm)."""
        r = cutter.radius
        i0, i1 = np.searchsorted(self.xs, (min(a[0], b[0]) - r, max(a[0], b[0]) + r))
        j0, j1 = np.searchsorted(self.ys, (min(a[1], b[1]) - r, max(a[1], b[1]) + r))
        if i0 >= i1 or j0 >= j1:
            return 0.0
        x, y = self.xs[None, i0:i1], self.ys[j0:j1, None]
        way = b[:2] - a[:2]
        span = float(np.hypot(*way))
        ex, ey = (way / span) if span > 1e-9 else (1.0, 0.0)
        along = (x - a[0]) * ex + (y - a[1]) * ey
        across = -(x - a[0]) * ey + (y - a[1]) * ex
        chord = np.sqrt(np.maximum(r**2 - across**2, 0.0))
        first, last = np.maximum(along - span, -chord), np.minimum(along, chord)
        inside = (np.abs(across) <= r) & (first <= last)
        if not inside.any():
            return 0.0
        lean_along = cutter.lean[0] * ex + cutter.lean[1] * ey
        lean_across = -cutter.lean[0] * ey + cutter.lean[1] * ex
        edge = np.minimum(lean_along * first, lean_along * last) + lean_across * across + height
        edge = np.where(inside, edge, np.inf)
        now, floor = self.now[j0:j1, i0:i1], self.floor[j0:j1, i0:i1]
        bite = float((now - edge).max())
        np.minimum(now, edge, out=now)
        np.minimum(floor, edge, out=floor)
        return max(bite, 0.0)

    def unclean(self) -> float:
        """How deep the deepest place lies under the cut that should have reached it (mm; 0: all clean)."""
        return float(np.maximum(self.floor - self.raw, 0.0).max())
