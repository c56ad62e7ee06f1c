"""Shapes, lettering and dimension lines as SVG, for the pictures of the sheet.

The frame of a picture is in millimetres of the workshop, x to the right and y (or a height) upward.  SVG's y runs
downward: a y is drawn at (top − y) × tall.  The `<svg>` element carries `top` and `tall`, so that the page's script
can convert back.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape
from typing import NamedTuple

from flatwise.core.units import fixed, settled

#: left, lower, right, upper
Box = tuple[float, float, float, float]
Point = tuple[float, float]

#: height of lettering as a share of the longer side of a picture: more than 11 px on a phone 340 px wide
LETTERING = 1.0 / 30.0

#: upper limits of the mean width of a character in heights of lettering, plain and bold, for the widest of the
#: sheet's typefaces (measured in a browser, no source)
PLAIN, BOLD = 0.63, 0.72


class Pen:
    """Shapes in a frame left…right × bottom…top, mm, with heights drawn `tall` times as large as widths.

    `size` is the height of lettering, mm of the picture's width: the same on paper for every panel.
    """

    def __init__(self, left: float, right: float, bottom: float, top: float, tall: float = 1.0) -> None:
        self.left, self.right, self.bottom, self.top, self.tall = left, right, bottom, top, tall
        self.size = max(right - left, (top - bottom) * tall) * LETTERING

    def y(self, y: float) -> float:
        """The SVG coordinate of a height."""
        return (self.top - y) * self.tall

    def picture(self, kind: str, label: str, parts: Iterable[str], data: str = "") -> str:
        """The whole `<svg>` element; `data` are further attributes, already escaped."""
        return (
            f'<svg class="{kind}" role="img" aria-label="{escape(label)}" xmlns="http://www.w3.org/2000/svg" '
            f'data-top="{num(self.top)}" data-tall="{num(self.tall)}" {data}'
            f'viewBox="{num(self.left)} 0 {num(self.right - self.left)} {num((self.top - self.bottom) * self.tall)}">'
            + "".join(parts)
            + "</svg>"
        )

    def box(self, x0: float, y0: float, x1: float, y1: float, kind: str, round_: float = 0.0) -> str:
        """A rectangle; `round_` is the radius of its corners."""
        corner = f' rx="{num(round_)}"' if round_ else ""
        return (
            f'<rect class="{kind}" x="{num(x0)}" y="{num(self.y(y1))}" width="{num(x1 - x0)}" '
            f'height="{num((y1 - y0) * self.tall)}"{corner}/>'
        )

    def circle(self, x: float, y: float, radius: float, kind: str) -> str:
        return f'<circle class="{kind}" cx="{num(x)}" cy="{num(self.y(y))}" r="{num(radius)}"/>'

    def path(self, points: Sequence[Point], kind: str, *, closed: bool = False) -> str:
        """A line through points of the frame."""
        joined = "L".join(f"{num(x)} {num(self.y(y))}" for x, y in points)
        return f'<path class="{kind}" d="M{joined}{"Z" if closed else ""}"/>'

    def text(
        self,
        x: float,
        y: float,
        words: str,
        *,
        anchor: str = "middle",
        kind: str = "",
        share: float = 1.0,
        turned: bool = False,
    ) -> str:
        """Lettering with its middle line at y, `share` times the usual size; `turned` runs upward."""
        if not words:
            return ""
        place = f"{num(x)} {num(self.y(y))}"
        turn = f' transform="rotate(-90 {place})"' if turned else ""
        named = f' class="{kind}"' if kind else ""
        return (
            f'<text{named} x="{num(x)}" y="{num(self.y(y))}" font-size="{num(self.size * share)}" '
            f'text-anchor="{anchor}" dominant-baseline="central"{turn}>{escape(words)}</text>'
        )

    def up(self, sizes: float) -> float:
        """A number of lettering heights, as a height in the frame."""
        return sizes * self.size / self.tall

    def across(self, x0: float, x1: float, y: float, words: str) -> str:
        """A horizontal dimension from x0 to x1 at y, with slanted ticks at its ends as in a joiner's drawing."""
        tick, rise = 0.35 * self.size, self.up(0.35)
        ends = "".join(self.path([(x - tick, y - rise), (x + tick, y + rise)], "tick") for x in (x0, x1))
        line = self.path([(x0, y), (x1, y)], "dim")
        return line + ends + self.text((x0 + x1) / 2, y + self.up(0.85), words, kind="dimension")

    def upright(self, y0: float, y1: float, x: float, words: str) -> str:
        """A vertical dimension from y0 to y1 at x, its words running upward on its left."""
        tick, rise = 0.35 * self.size, self.up(0.35)
        ends = "".join(self.path([(x - tick, y - rise), (x + tick, y + rise)], "tick") for y in (y0, y1))
        line = self.path([(x, y0), (x, y1)], "dim")
        words_ = self.text(x - 0.85 * self.size, (y0 + y1) / 2, words, kind="dimension", turned=True)
        return line + ends + words_


class Anchor(NamedTuple):
    """A place for words: the point on their middle line, which part of them it holds, and whether they run upward."""

    x: float
    y: float
    align: str = "middle"
    turned: bool = False


class Lettering:
    """The words of one picture, each put where it covers no other words or marks."""

    def __init__(self, pen: Pen) -> None:
        self.pen = pen
        self._taken: list[Box] = []

    def keep(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """Keep words off a mark, mm."""
        self._taken.append((x0, y0, x1, y1))

    def put(
        self,
        words: str,
        anchors: Iterable[Anchor],
        kind: str = "",
        *,
        bold: bool = False,
        must: bool = True,
        stays: bool = True,
    ) -> str:
        """The words at the first anchor where they are free and inside the picture.

        If there is none, at the one where they cover least, or with `must` off not at all ("").  Words that are not
        always shown (`stays` off) do not keep others away.
        """
        least, chosen = float("inf"), None
        for anchor in anchors:
            box = self._box(words, anchor, bold)
            covered = self._covered(box)
            if covered < least:
                least, chosen = covered, (anchor, box)
                if covered == 0.0:
                    break
        if chosen is None or (least > 0.0 and not must):
            return ""
        anchor, box = chosen
        if stays:
            self._taken.append(box)
        return self.pen.text(anchor.x, anchor.y, words, anchor=anchor.align, kind=kind, turned=anchor.turned)

    def clear(self, wide: float, high: float, middles: Iterable[Point]) -> Point | None:
        """The first of the middles with a free box (mm) around it, which is then kept free; None if there is none."""
        for x, y in middles:
            box = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
            if self._covered(box) == 0.0:
                self._taken.append(box)
                return x, y
        return None

    def _box(self, words: str, anchor: Anchor, bold: bool) -> Box:
        size = self.pen.size
        # single capitals are wider than the mean, and words need a gap between them
        long, half = (len(words) * (BOLD if bold else PLAIN) + 0.25) * size, 0.52 * size
        before = long / 2 if anchor.align == "middle" else 0.1 * size if anchor.align == "start" else long - 0.1 * size
        up = half / self.pen.tall
        if anchor.turned:
            low = anchor.y - before / self.pen.tall
            return anchor.x - half, low, anchor.x + half, low + long / self.pen.tall
        return anchor.x - before, anchor.y - up, anchor.x - before + long, anchor.y + up

    def _covered(self, box: Box) -> float:
        """The area of a box, mm² of the frame, that is taken; area outside the picture counts ten times."""
        x0, y0, x1, y1 = box
        pen = self.pen
        inside = max(0.0, min(x1, pen.right) - max(x0, pen.left)) * max(0.0, min(y1, pen.top) - max(y0, pen.bottom))
        found = 10.0 * max(0.0, (x1 - x0) * (y1 - y0) - inside - 1e-6)
        for a0, b0, a1, b1 in self._taken:
            found += max(0.0, min(x1, a1) - max(x0, a0)) * max(0.0, min(y1, b1) - max(y0, b0))
        return settled(found)


def tip(words: str, *shapes: str, kind: str = "", data: str = "") -> str:
    """Shapes that show `words` under a pointer or at a tap."""
    named = f"tip {kind}".strip()
    return f'<g class="{named}"{data}><title>{escape(words)}</title>{"".join(shapes)}</g>'


def num(value: float) -> str:
    """A coordinate of the drawing, to a hundredth of a millimetre."""
    text = fixed(value, 2).rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
