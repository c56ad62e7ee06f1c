"""The plan of a setup as SVG: what lies where on the bed, to scale, seen from above with the operator below.

Everything is drawn in the setup frame in mm, y upward; the drawing's own y runs downward.
"""

from __future__ import annotations

from html import escape
from itertools import pairwise

from flatwise.stages import Holder, Setup, Work

#: Side of a leaf as it is laid, mm.
LEAF = 25.0


def plan_view(work: Work, setup: Setup) -> str:
    """One `<svg>` element, self-contained: panel, dogs, clamps, leaves, zero, touch place and the last pass's rows."""
    length, width = setup.top.length, setup.top.width
    room = 0.06 * max(length, width)
    boxes = [(h.x0, h.y0, h.x1, h.y1) for h in setup.holders] + [(0.0, 0.0, length, width)]
    radius = float(work.cutter.diameter) / 2
    boxes.append((setup.touch.x - radius, setup.touch.y - radius, setup.touch.x + radius, setup.touch.y + radius))
    if setup.passes:
        path = setup.passes[-1].path
        boxes += [(leg.x, leg.y, leg.x, leg.y) for leg in path]
        boxes.append((path[0].x - radius, path[0].y - radius, path[0].x + radius, path[0].y + radius))
    left, front = (min(box[side] for box in boxes) - room for side in (0, 1))
    right, back = (max(box[side] for box in boxes) + room for side in (2, 3))
    # lettering keeps its size on paper, whatever the panel's
    size = max(right - left, back - front) / 48.0
    pen = _Pen(back, size)
    parts = [
        pen.box(0.0, 0.0, length, width, "panel"),
        *_grain(work, setup, pen),
        *_rows(work, setup, pen),
        *(pen.leaf(number, shim.x, shim.y, length, width) for number, shim in enumerate(setup.shims, 1)),
        *(_holder(each, pen) for each in setup.holders),
        *_zero(setup, pen),
        *_touch(work, setup, pen),
    ]
    label = f"Plan of the {setup.face} face: {length:g} by {width:g} mm panel with its holders, seen from above"
    return (
        f'<svg class="plan" role="img" aria-label="{escape(label)}" xmlns="http://www.w3.org/2000/svg" '
        f'viewBox="{_n(left)} 0 {_n(right - left)} {_n(back - front)}">' + "".join(parts) + "</svg>"
    )


class _Pen:
    """Shapes in the drawing's coordinates; `size` is the height of lettering in mm of the panel."""

    def __init__(self, back: float, size: float) -> None:
        self._back = back
        self.size = size

    def y(self, y: float) -> float:
        return self._back - y

    def box(self, x0: float, y0: float, x1: float, y1: float, kind: str) -> str:
        return f'<rect class="{kind}" x="{_n(x0)}" y="{_n(self.y(y1))}" width="{_n(x1 - x0)}" height="{_n(y1 - y0)}"/>'

    def circle(self, x: float, y: float, radius: float, kind: str) -> str:
        return f'<circle class="{kind}" cx="{_n(x)}" cy="{_n(self.y(y))}" r="{_n(radius)}"/>'

    def path(self, points: list[tuple[float, float]], kind: str) -> str:
        joined = "L".join(f"{_n(x)} {_n(self.y(y))}" for x, y in points)
        return f'<path class="{kind}" d="M{joined}"/>'

    def text(self, x: float, y: float, words: str, *, anchor: str = "middle") -> str:
        return (
            f'<text x="{_n(x)}" y="{_n(self.y(y))}" font-size="{_n(self.size)}" text-anchor="{anchor}" '
            f'dominant-baseline="middle">{escape(words)}</text>'
        )

    def leaf(self, number: int, x: float, y: float, length: float, width: float) -> str:
        """A leaf lies flush with the outline and carries its number in the table."""
        x0 = min(max(x - LEAF / 2, 0.0), max(0.0, length - LEAF))
        y0 = min(max(y - LEAF / 2, 0.0), max(0.0, width - LEAF))
        inward = (x0 + LEAF / 2, y0 + LEAF / 2)
        return self.box(x0, y0, x0 + LEAF, y0 + LEAF, "leaf") + self.text(*inward, str(number))


def _grain(work: Work, setup: Setup, pen: _Pen) -> list[str]:
    length, width = setup.top.length, setup.top.width
    half = 0.12 * (length if work.job.stock.grain == "x" else width)
    x, y = 0.75 * length, 0.7 * width
    along_x = work.job.stock.grain == "x"
    ends = [(x - half, y), (x + half, y)] if along_x else [(x, y - half), (x, y + half)]
    beside = (x, y + 1.2 * pen.size) if along_x else (x + 2.5 * pen.size, y)
    return [pen.path(ends, "grain"), pen.text(*beside, "grain")]


def _rows(work: Work, setup: Setup, pen: _Pen) -> list[str]:
    """The way of the cutter's centre in the last pass: solid in the cut, dashed in the air."""
    if not setup.passes:
        return []
    path = setup.passes[-1].path
    runs: list[tuple[bool, list[tuple[float, float]]]] = []
    for before, leg in pairwise(path):
        if (leg.x, leg.y) == (before.x, before.y):
            continue
        if not runs or runs[-1][0] != leg.rapid:
            runs.append((leg.rapid, [(before.x, before.y)]))
        runs[-1][1].append((leg.x, leg.y))
    drawn = [pen.path(points, "air" if rapid else "row") for rapid, points in runs]
    start = path[0]
    drawn.append(pen.circle(start.x, start.y, float(work.cutter.diameter) / 2, "cutter"))
    drawn.append(pen.text(start.x, start.y, "start"))
    return drawn


def _holder(holder: Holder, pen: _Pen) -> str:
    x, y = (holder.x0 + holder.x1) / 2, (holder.y0 + holder.y1) / 2
    # the word goes outward, away from the panel
    beside = (x - 2.2 * pen.size * holder.pushes[0], y - 2.2 * pen.size * holder.pushes[1])
    if holder.kind == "dog":
        shape = pen.circle(x, y, (holder.x1 - holder.x0) / 2, "dog")
    else:
        shape = pen.box(holder.x0, holder.y0, holder.x1, holder.y1, "clamp")
        push = 0.8 * pen.size
        beside = (x, y)
        shape += pen.path(
            [
                (x + push * holder.pushes[0], y + push * holder.pushes[1]),
                (x + 2.5 * push * holder.pushes[0], y + 2.5 * push * holder.pushes[1]),
            ],
            "push",
        )
    return shape + pen.text(*beside, holder.kind)


def _zero(setup: Setup, pen: _Pen) -> list[str]:
    x, y = setup.origin
    arm = 4.0 * pen.size
    return [
        pen.path([(x + arm, y), (x, y), (x, y + arm)], "zero"),
        pen.circle(x, y, 0.5 * pen.size, "zero"),
        pen.text(x + arm + pen.size, y + 0.2 * pen.size, "X"),
        pen.text(x, y + arm + pen.size, "Y"),
    ]


def _touch(work: Work, setup: Setup, pen: _Pen) -> list[str]:
    touch = setup.touch
    arm = 0.8 * pen.size
    return [
        pen.circle(touch.x, touch.y, float(work.cutter.diameter) / 2, "touch"),
        pen.path([(touch.x - arm, touch.y), (touch.x + arm, touch.y)], "touch"),
        pen.path([(touch.x, touch.y - arm), (touch.x, touch.y + arm)], "touch"),
        pen.text(touch.x, touch.y + float(work.cutter.diameter) / 2 + pen.size, "touch here"),
    ]


def _n(value: float) -> str:
    """A coordinate of the drawing, to a hundredth of a millimetre."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
