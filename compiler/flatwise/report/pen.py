"""What every picture of the sheet is drawn with: shapes, lettering and dimension lines as SVG.

A picture has a frame in millimetres of the workshop: x to the right, y (or a height) upward.  The drawing's own y
runs downward, so y stands in the page as (top − y) × tall; `top` and `tall` are written on the `<svg>` element,
and whoever reads the page gets back the millimetres of the plan.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from html import escape

#: left, lower, right, upper
Box = tuple[float, float, float, float]
Point = tuple[float, float]

#: Height of lettering as a share of the longer side of a picture: on a phone 340 px wide still more than 11 px.
LETTERING = 1.0 / 30.0

#: How wide a character of the widest of the sheet's typefaces is, in heights of lettering: plain and bold, on the
#: safe side for words and figures (measured in a browser, no source).
PLAIN, BOLD = 0.63, 0.72


class Pen:
    """Shapes in a frame left…right × bottom…top, mm; heights drawn `tall` times as large as widths.

    `size` is the height of lettering in mm of the picture's width: it keeps its size on paper whatever the panel's.
    """

    def __init__(self, left: float, right: float, bottom: float, top: float, tall: float = 1.0) -> None:
        self.left, self.right, self.bottom, self.top, self.tall = left, right, bottom, top, tall
        self.size = max(right - left, (top - bottom) * tall) * LETTERING

    def y(self, y: float) -> float:
        """Where a height stands in the drawing."""
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
        """A line through the points, each as it stands in the plan."""
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
        """Lettering with its middle line at y; `turned` runs it upward, `share` is of the usual size."""
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
        """So many heights of lettering, as a height of the frame."""
        return sizes * self.size / self.tall

    def across(self, x0: float, x1: float, y: float, words: str) -> str:
        """A dimension from x0 to x1 on a line at y, the ends ticked as a joiner's drawing has them."""
        tick, rise = 0.35 * self.size, self.up(0.35)
        ends = "".join(self.path([(x - tick, y - rise), (x + tick, y + rise)], "tick") for x in (x0, x1))
        line = self.path([(x0, y), (x1, y)], "dim")
        return line + ends + self.text((x0 + x1) / 2, y + self.up(0.85), words, kind="dimension")

    def upright(self, y0: float, y1: float, x: float, words: str) -> str:
        """A dimension from y0 to y1 on a line at x, its words running upward on the left of it."""
        tick, rise = 0.35 * self.size, self.up(0.35)
        ends = "".join(self.path([(x - tick, y - rise), (x + tick, y + rise)], "tick") for y in (y0, y1))
        line = self.path([(x, y0), (x, y1)], "dim")
        words_ = self.text(x - 0.85 * self.size, (y0 + y1) / 2, words, kind="dimension", turned=True)
        return line + ends + words_


@dataclass(frozen=True)
class Spot:
    """A place for words: the middle of their line, how they hang on it, and whether they run upward."""

    x: float
    y: float
    anchor: str = "middle"
    turned: bool = False


class Lettering:
    """The words of one picture, each put where it stands clear of the words and marks that are there already."""

    def __init__(self, pen: Pen) -> None:
        self.pen = pen
        self._taken: list[Box] = []

    def keep(self, x0: float, y0: float, x1: float, y1: float) -> None:
        """A mark that no words may cover, mm."""
        self._taken.append((x0, y0, x1, y1))

    def put(
        self, words: str, spots: Iterable[Spot], kind: str = "", *, share: float = 1.0, bold: bool = False,
        must: bool = True, stays: bool = True,
    ) -> str:  # fmt: skip
        """The words at the first spot that is free and inside the picture.

        Where none is: at the one that covers least, or with `must` off nowhere ("").  Words that are not there all the
        time (`stays` off) do not keep others away.
        """
        least, chosen = float("inf"), None
        for spot in spots:
            box = self._box(words, spot, share, bold)
            covered = self._covered(box)
            if covered < least:
                least, chosen = covered, (spot, box)
                if covered == 0.0:
                    break
        if chosen is None or (least > 0.0 and not must):
            return ""
        spot, box = chosen
        if stays:
            self._taken.append(box)
        return self.pen.text(spot.x, spot.y, words, anchor=spot.anchor, kind=kind, share=share, turned=spot.turned)

    def clear(self, wide: float, high: float, middles: Iterable[Point]) -> Point | None:
        """The first of the middles round which a box (mm) is free, which is then kept; None where none is."""
        for x, y in middles:
            box = (x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)
            if self._covered(box) == 0.0:
                self._taken.append(box)
                return x, y
        return None

    def _box(self, words: str, spot: Spot, share: float, bold: bool) -> Box:
        size = self.pen.size * share
        # a single capital is wider than the mean of a word, and words need a gap between them
        long, half = (len(words) * (BOLD if bold else PLAIN) + 0.25) * size, 0.52 * size
        before = long / 2 if spot.anchor == "middle" else 0.1 * size if spot.anchor == "start" else long - 0.1 * size
        up = half / self.pen.tall
        if spot.turned:
            low = spot.y - before / self.pen.tall
            return spot.x - half, low, spot.x + half, low + long / self.pen.tall
        return spot.x - before, spot.y - up, spot.x - before + long, spot.y + up

    def _covered(self, box: Box) -> float:
        """mm² (of the frame) of a box that lie on what is taken or outside the picture; outside counts the more."""
        x0, y0, x1, y1 = box
        pen = self.pen
        inside = max(0.0, min(x1, pen.right) - max(x0, pen.left)) * max(0.0, min(y1, pen.top) - max(y0, pen.bottom))
        found = 10.0 * max(0.0, (x1 - x0) * (y1 - y0) - inside - 1e-6)
        for a0, b0, a1, b1 in self._taken:
            found += max(0.0, min(x1, a1) - max(x0, a0)) * max(0.0, min(y1, b1) - max(y0, b0))
        return found


def tip(words: str, *shapes: str, kind: str = "", data: str = "") -> str:
    """Shapes that show `words` when a pointer rests on them or a finger taps them."""
    named = f"tip {kind}".strip()
    return f'<g class="{named}"{data}><title>{escape(words)}</title>{"".join(shapes)}</g>'


def num(value: float) -> str:
    """A coordinate of the drawing, to a hundredth of a millimetre."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
