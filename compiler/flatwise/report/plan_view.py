"""The plan of a setup: the bed from above, to scale, with the operator at the lower edge.

It is drawn in the setup frame, mm.  Holders have letters and leaves have numbers, the same as in the tables.
"""

from __future__ import annotations

from itertools import pairwise

from flatwise.model.stages import Holder, Setup, Work
from flatwise.report.display import DisplayUnit, display_unit
from flatwise.report.panel_drawing import edges, glue_lines, grain
from flatwise.report.svg import BOLD, LETTERING, Anchor, Lettering, Pen, Point, tip
from flatwise.report.toolpath import over_the_plan, reach
from flatwise.seat.rest import LEAF, footprint


def letter(index: int) -> str:
    """The mark of a holder: A, B, … Z, AA, AB, …"""
    whole, rest = divmod(index, 26)
    return (letter(whole - 1) if whole else "") + chr(ord("A") + rest)


def zero_here(setup: Setup) -> bool:
    """Whether X 0, Y 0 is at this panel: in a batch it may be at another."""
    return 0.0 <= setup.origin[0] <= setup.top.length and 0.0 <= setup.origin[1] <= setup.top.width


def plan_view(work: Work, setup: Setup, section_at: float | None = None, *, laying: bool = False) -> str:
    """One `<svg>`: panel, grain, edges, holders, leaves, keep-outs, zero, touch place, and the toolpath of each pass.

    `section_at` is the place of the section, mm along the grain.  For `laying`, nothing of the cutter is drawn.
    """
    length, width, radius = setup.top.length, setup.top.width, float(work.cutter.diameter) / 2
    unit, touch = display_unit(work), setup.touch
    out = [(0.0,) if laying else _grown(work, holder) for holder in setup.holders]
    boxes = [
        (h.x0 - by, h.y0 - by, h.x1 + by, h.y1 + by) for h, by in zip(setup.holders, map(max, out), strict=True)
    ]  # fmt: skip
    boxes.append((0.0, 0.0, length, width))
    ring = (touch.x - radius, touch.y - radius, touch.x + radius, touch.y + radius)
    reached = None if laying else reach(setup)
    at_zero = zero_here(setup)
    touching = at_zero and not laying
    if touching:
        boxes.append(ring)
    if reached is not None:
        boxes.append(reached)
        boxes += [
            (one.path[0].x - radius, one.path[0].y - radius, one.path[0].x + radius, one.path[0].y + radius)
            for one in setup.passes
        ]
    left, front = (min(box[side] for box in boxes) for side in (0, 1))
    right, back = (max(box[side] for box in boxes) for side in (2, 3))
    pen, dims = _frame(setup, (left, right, front, back))
    letters = Lettering(pen)
    for shape in (*(_body(holder) for holder in setup.holders), *(_leaf_box(setup, s.x, s.y) for s in setup.shims)):
        letters.keep(*shape)
    if touching:
        letters.keep(*ring)
    size = pen.size
    # the most important words come first; the others take the room that is left
    dimensions = [
        pen.across(0.0, length, dims[1], ""),
        letters.put(unit.place(length), [Anchor(length / 2, dims[1] + 0.85 * size)], "dimension"),
        pen.upright(0.0, width, dims[0], ""),
        letters.put(unit.place(width), [Anchor(dims[0] - 0.85 * size, width / 2, turned=True)], "dimension"),
        letters.put("▲ operator", [Anchor(length / 2, dims[1] - 0.95 * size)], "soft"),
    ]
    if section_at is not None:
        _keep_section(work, section_at, length, width, letters)
    marks = _marks(setup, [max(each) for each in out], letters, unit)
    zero = _zero(setup, letters) if at_zero else []
    touched = _touch(work, setup, letters, unit) if touching else ""
    leaves = _leaves(setup, letters, unit)
    parts = [
        pen.box(0.0, 0.0, length, width, "panel"),
        *glue_lines(work, setup.face, pen),
        *(_keep_out(number, each, work, pen, unit) for number, each in enumerate(setup.holders) if not laying),
        pen.box(*reached, "reach") if reached is not None else "",
        *edges(work, setup.face, letters),
        *(_section(work, section_at, length, width, letters) if section_at is not None else ()),
        *grain(work, letters),
        *(() if laying else over_the_plan(setup, radius, letters, unit)),
        *leaves,
        *(_holder(number, each, marks[number], pen, unit) for number, each in enumerate(setup.holders)),
        *zero,
        touched,
        *dimensions,
    ]
    what = "board" if work.job.stock.is_bed else "panel with its holders"
    shown = "for laying" if laying else f"of the {setup.face} face"
    label = f"Plan {shown}: {unit.place(length)} by {unit.place(width)} {what}, seen from above"
    return pen.picture("plan", label, parts)


def _grown(work: Work, holder: Holder) -> tuple[float, ...]:
    """How far the keep-outs reach beyond a holder, mm: the cutter's, and the dust shoe's if it can meet the holder."""
    shoe = work.machine.shoe
    cutter = float(work.cutter.diameter) / 2 + work.rules.clearance
    return (cutter, float(shoe.across) / 2) if shoe is not None and holder.height > float(shoe.above) else (cutter,)


def _frame(setup: Setup, drawn: tuple[float, float, float, float]) -> tuple[Pen, Point]:
    """The picture's frame around what is `drawn` (left, right, front, back), and the places of the two dimensions.

    Room for words is counted in heights of lettering, which are a share of the frame: both are solved together.  A
    holder's mark takes one and a half heights beyond its keep-out.
    """
    left, right, front, back = drawn
    edges = {holder.edge for holder in setup.holders}
    marked = {edge: 1.5 if edge in edges else 0.4 for edge in ("left", "right", "front", "back")}
    # the words beside the zero, and the axes that reach beyond a corner at the right or the back
    marked["front"] = max(marked["front"], 1.5)
    room_left, room_front = marked["left"] + 2.0, marked["front"] + 3.2
    room_right = max(marked["right"], 4.2 if setup.origin[0] > 0 else 0.0)
    room_back = max(marked["back"], 4.2 if setup.origin[1] > 0 else 0.0)
    size = max(
        LETTERING * (right - left) / (1 - LETTERING * (room_left + room_right)),
        LETTERING * (back - front) / (1 - LETTERING * (room_front + room_back)),
    )
    pen = Pen(left - room_left * size, right + room_right * size, front - room_front * size, back + room_back * size)
    return pen, (left - (marked["left"] + 0.4) * size, front - (marked["front"] + 1.6) * size)


def _body(holder: Holder) -> tuple[float, float, float, float]:
    return holder.x0, holder.y0, holder.x1, holder.y1


def _leaf_box(setup: Setup, x: float, y: float) -> tuple[float, float, float, float]:
    """The area of a leaf under the panel, flush with the outline."""
    leaf = footprint(x, y, setup.top.length, setup.top.width)
    return leaf.x0, leaf.y0, leaf.x1, leaf.y1


def _section(work: Work, at: float, length: float, width: float, letters: Lettering) -> list[str]:
    """The line of the section, with an S at both ends."""
    inset = 0.8 * letters.pen.size
    asides = [(by * inset, deep * inset) for by in (0.8, -0.8, 2.0) for deep in (1.0, 2.6, 4.2, 6.0)]
    if work.job.stock.grain == "x":
        ends: list[Point] = [(at, 0.0), (at, width)]
        marks = [[Anchor(at + by, deep) for by, deep in asides], [Anchor(at + by, width - deep) for by, deep in asides]]
    else:
        ends = [(0.0, at), (length, at)]
        marks = [
            [Anchor(deep, at + by) for by, deep in asides],
            [Anchor(length - deep, at + by) for by, deep in asides],
        ]
    line = letters.pen.path(ends, "cutline")
    return [line, *(letters.put("S", anchors, "cutmark", bold=True) for anchors in marks)]


def _keep_section(work: Work, at: float, length: float, width: float, letters: Lettering) -> None:
    """Keep words off the line of the section."""
    half = 0.1 * letters.pen.size
    if work.job.stock.grain == "x":
        letters.keep(at - half, 0.0, at + half, width)
    else:
        letters.keep(0.0, at - half, length, at + half)


def _keep_out(index: int, holder: Holder, work: Work, pen: Pen, unit: DisplayUnit) -> str:
    """Where the centre of a lowered cutter may not be, because of the cutter itself and of the dust shoe.

    The shapes are exact: the holder grown by radius and clearance, or by the shoe's radius (rectangles get rounded
    corners).
    """
    heights = [holder.height + work.rules.clearance]
    if (shoe := work.machine.shoe) is not None:
        heights.append(holder.height - float(shoe.above))
    drawn = []
    for grown, height, kind in zip(_grown(work, holder), heights, ("keepout", "keepout shoe"), strict=False):
        words = (
            f"Keep-out{' of the dust shoe' if kind != 'keepout' else ''} around {letter(index)}: below "
            f"{unit(height)} above the bed, the cutter's centre must stay outside this line."
        )
        if holder.kind == "dog":
            centre = (holder.x0 + holder.x1) / 2, (holder.y0 + holder.y1) / 2
            shape = pen.circle(*centre, (holder.x1 - holder.x0) / 2 + grown, kind)
        else:
            box = (holder.x0 - grown, holder.y0 - grown, holder.x1 + grown, holder.y1 + grown)
            shape = pen.box(*box, kind, round_=grown)
        drawn.append(tip(words, shape))
    return "".join(drawn)


def _leaves(setup: Setup, letters: Lettering, unit: DisplayUnit) -> list[str]:
    pen, drawn = letters.pen, []
    for number, shim in enumerate(setup.shims, 1):
        x0, y0, x1, y1 = _leaf_box(setup, shim.x, shim.y)
        words = f"Leaves {number}, {shim.place.replace('_', ' ') or 'a point'}: {unit(shim.height)} high."
        # the number is beside the leaf, toward the middle
        x, y, aside = (x0 + x1) / 2, (y0 + y1) / 2, 0.5 * LEAF + 0.6 * pen.size
        right = 1.0 if x <= setup.top.length / 2 else -1.0
        up = 1.0 if y <= setup.top.width / 2 else -1.0
        ways = ((right, up), (right, 0.0), (0.0, up), (-right, up), (-right, 0.0), (right, -up), (0.0, -up))
        anchors = [Anchor(x + u * aside, y + v * aside) for u, v in ways]
        shape = pen.box(x0, y0, x1, y1, "leaf")
        drawn.append(tip(words, shape, letters.put(str(number), anchors, "number", bold=True), kind="placed"))
    return drawn


def _marks(setup: Setup, out: list[float], letters: Lettering, unit: DisplayUnit) -> dict[int, str]:
    """The letter of each holder and its place on the edge, outside its keep-out; less on a crowded edge."""
    size = letters.pen.size
    found = {}
    for edge in ("left", "right", "front", "back"):
        here = [(index, each) for index, each in enumerate(setup.holders) if each.edge == edge]
        apart = min((abs(b - a) for a, b in pairwise(sorted(each.along for _, each in here))), default=1e9)
        for words in (unit.place, lambda value: unit.place(value).removesuffix(f" {unit.symbol}"), lambda _: ""):
            said = {index: f"{letter(index)} {words(each.along)}".strip() for index, each in here}
            if all(len(mark) * BOLD * size < apart for mark in said.values()):
                break
        for index, each in here:
            px, py = each.pushes
            deep = (each.x1 - each.x0) / 2 * abs(px) + (each.y1 - each.y0) / 2 * abs(py)
            away = deep + out[index] + 0.75 * size
            x, y = (each.x0 + each.x1) / 2 - away * px, (each.y0 + each.y1) / 2 - away * py
            turned = edge in ("left", "right") and len(said[index]) > 2
            found[index] = letters.put(said[index], [Anchor(x, y, turned=turned)], "number", bold=True)
    return found


def _holder(index: int, holder: Holder, mark: str, pen: Pen, unit: DisplayUnit) -> str:
    x, y = (holder.x0 + holder.x1) / 2, (holder.y0 + holder.y1) / 2
    end = "left end" if holder.edge in ("front", "back") else "front edge"
    words = (
        f"{letter(index)}, {holder.kind} {holder.name} at the {holder.edge} edge: {unit.place(holder.along)} from the "
        f"{end}, {unit(holder.height)} high."
    )
    if holder.kind == "dog":
        shape = pen.circle(x, y, (holder.x1 - holder.x0) / 2, "dog")
    else:
        px, py = holder.pushes
        deep = (holder.x1 - holder.x0) / 2 * abs(px) + (holder.y1 - holder.y0) / 2 * abs(py)
        reach_, head = 0.8 * deep, 0.45 * deep
        tip_at = (x + reach_ * px, y + reach_ * py)
        wings = [(tip_at[0] - head * px - s * head * py, tip_at[1] - head * py + s * head * px) for s in (0.6, -0.6)]
        shape = pen.box(*_body(holder), "clamp")
        shape += pen.path([(x - reach_ * px, y - reach_ * py), tip_at], "push") + pen.path(
            [wings[0], tip_at, wings[1]], "push"
        )
    return tip(words, shape, mark, kind="placed")


def _zero(setup: Setup, letters: Lettering) -> list[str]:
    """The corner of X 0, Y 0 with its axes."""
    x, y = setup.origin
    pen, size = letters.pen, letters.pen.size
    arm = 2.4 * size
    # beyond an axis or beside its end
    ends = ((0.65, 0.0), (-0.2, 0.8), (-0.2, -0.8), (-0.9, 0.8), (-0.9, -0.8), (-1.7, 0.8), (-1.7, -0.8))
    corner = [
        Anchor(x + u * 0.5 * size, y + v * size, align="start" if u > 0 else "end")
        for v in (-1.1, -1.7, 1.35, -2.3, 2.6, 3.9) for u in (-1.0, 1.0)
    ]  # fmt: skip
    return [
        pen.path([(x + arm, y), (x, y), (x, y + arm)], "zero"),
        pen.circle(x, y, 0.4 * size, "zero"),
        letters.put("X0 Y0", corner, "axis", bold=True),
        letters.put("X", [Anchor(x + arm + u * size, y + v * size) for u, v in ends], "axis", bold=True),
        letters.put("Y", [Anchor(x + v * size, y + arm + u * size) for u, v in ends], "axis", bold=True),
    ]


def _touch(work: Work, setup: Setup, letters: Lettering, unit: DisplayUnit) -> str:
    touch, radius, pen = setup.touch, float(work.cutter.diameter) / 2, letters.pen
    arm, (near, far) = 0.7 * pen.size, _beside(setup, radius, pen.size)
    where = f"the top, {unit(touch.height)} above the bed" if touch.on == "top" else "the bare bed"
    words = (
        f"Touch off here: centre of the cutter {unit.place(touch.x)} from the left end and {unit.place(touch.y)} from "
        f"the front edge, on {where}."
    )
    return tip(
        words,
        pen.circle(touch.x, touch.y, radius, "touch"),
        pen.path([(touch.x - arm, touch.y), (touch.x + arm, touch.y)], "touch"),
        pen.path([(touch.x, touch.y - arm), (touch.x, touch.y + arm)], "touch"),
        letters.put("touch off", near, "touched", bold=True, must=False)
        or letters.put("touch", near, "touched", bold=True, must=False)
        or letters.put("touch", far, "touched", bold=True),
        kind="placed",
    )


def _beside(setup: Setup, radius: float, size: float) -> tuple[list[Anchor], list[Anchor]]:
    """Places for words near the ring of the touch place, and others further away.

    If the ring is off the panel the words are too; otherwise they would seem to name a place on it.
    """
    x, y = setup.touch.x, setup.touch.y
    off = not (0 <= x <= setup.top.length and 0 <= y <= setup.top.width)
    ups = (-1.0,) if off and y < 0 else (1.0,) if off and y > setup.top.width else (1.0, -1.0)

    def lines(away: float) -> list[Anchor]:
        heights = [y + up * (radius + away * size) for up in ups]
        hung = ((0.0, "middle"), (radius, "end"), (-radius, "start"))
        return [Anchor(x + by, at, anchor) for at in heights for by, anchor in hung]

    aside = radius + 0.3 * size
    return [*lines(0.75), Anchor(x - aside, y, "end"), Anchor(x + aside, y, "start")], [*lines(1.9), *lines(3.0)]
