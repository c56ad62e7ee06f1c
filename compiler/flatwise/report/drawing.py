"""The plan of a setup: what lies where on the bed, to scale, seen from above with the operator at the lower edge.

Everything is drawn in the setup frame, mm.  Holders carry letters and leaves numbers, the same as in the tables.
"""

from __future__ import annotations

from itertools import pairwise

from flatwise.report.lines import minutes
from flatwise.report.measures import Measures, measures
from flatwise.report.pen import LETTERING, Pen, Point, tip
from flatwise.stages import Holder, Pass, Setup, Work

#: Side of a leaf as it is laid, mm.
LEAF = 25.0

#: How an edge or place of the bed is called on the panel that has been turned about an axis.
_TURNED = {"x": {"front": "back", "back": "front"}, "y": {"left": "right", "right": "left"}}


def letter(index: int) -> str:
    """A, B, … Z, AA, AB, …: how the holder of that index is marked."""
    whole, rest = divmod(index, 26)
    return (letter(whole - 1) if whole else "") + chr(ord("A") + rest)


def edge_of_panel(work: Work, setup: Setup, edge: str) -> str:
    """Which of the panel's own edges lies along an edge of the bed in this setup."""
    return _TURNED[work.turn].get(edge, edge) if setup.face == "second" else edge


def plan_view(work: Work, setup: Setup, section_at: float | None = None) -> str:
    """One `<svg>`: panel, grain, edges, dogs, clamps, leaves, keep-out, zero, touch place, and each pass's rows.

    `section_at` is where the section is drawn, mm along the grain.
    """
    length, width, radius = setup.top.length, setup.top.width, float(work.cutter.diameter) / 2
    unit = measures(work)
    grown = radius + work.rules.clearance
    boxes = [(h.x0 - grown, h.y0 - grown, h.x1 + grown, h.y1 + grown) for h in setup.holders]
    boxes.append((0.0, 0.0, length, width))
    boxes.append((setup.touch.x - radius, setup.touch.y - radius, setup.touch.x + radius, setup.touch.y + radius))
    for one in setup.passes:
        boxes += [(leg.x, leg.y, leg.x, leg.y) for leg in one.path]
        start = one.path[0]
        boxes.append((start.x - radius, start.y - radius, start.x + radius, start.y + radius))
    left, front = (min(box[side] for box in boxes) for side in (0, 1))
    right, back = (max(box[side] for box in boxes) for side in (2, 3))
    pen, dims = _frame(work, setup, (left, right, front, back))
    parts = [
        pen.box(0.0, 0.0, length, width, "panel"),
        *_glue_lines(work, setup, pen),
        *_grain(work, setup, pen),
        *(_keep_out(number, each, work, pen, unit) for number, each in enumerate(setup.holders)),
        *(_rows(number, each, len(setup.passes), radius, pen, unit) for number, each in enumerate(setup.passes, 1)),
        *_edges(work, setup, pen),
        *(_section(work, section_at, length, width, pen) if section_at is not None else ()),
        *_leaves(setup, pen, unit),
        *(_holder(number, each, grown, pen, unit) for number, each in enumerate(setup.holders)),
        *_starts(setup, radius, pen),
        *_zero(setup, pen),
        _touch(work, setup, pen, unit),
        pen.across(0.0, length, dims[1], unit.place(length)),
        pen.upright(0.0, width, dims[0], unit.place(width)),
    ]
    what = "board" if work.job.stock.is_bed else "panel with its holders"
    label = f"Plan of the {setup.face} face: {unit.place(length)} by {unit.place(width)} {what}, seen from above"
    return pen.picture("plan", label, parts)


def _frame(work: Work, setup: Setup, drawn: tuple[float, float, float, float]) -> tuple[_Plan, Point]:
    """The picture's frame round what is `drawn` (left, right, front, back), and where the two dimensions stand.

    Room for words is counted in heights of lettering, and that height is a share of the frame: both are solved for
    at once.  A holder's mark is up to six and a half heights wide, the axes of the zero reach five beyond its corner.
    """
    left, right, front, back = drawn
    edges = {holder.edge for holder in setup.holders}
    beside = 6.5 if "left" in edges else 4.0
    room_left, room_front = beside + 2.0, 3.4
    room_right = 6.5 if "right" in edges else 5.0 if setup.origin[0] > 0 else 3.5
    room_back = 5.0 if setup.origin[1] > 0 else 2.4
    size = max(
        LETTERING * (right - left) / (1 - LETTERING * (room_left + room_right)),
        LETTERING * (back - front) / (1 - LETTERING * (room_front + room_back)),
    )
    pen = _Plan(left - room_left * size, right + room_right * size, front - room_front * size, back + room_back * size)
    return pen, (left - beside * size, front - 2.9 * size)


class _Plan(Pen):
    """The pen, and where things lie in the plan."""

    def leaf(self, x: float, y: float, length: float, width: float) -> tuple[float, float]:
        """Left front corner of a leaf: it lies flush with the outline."""
        return (
            min(max(x - LEAF / 2, 0.0), max(0.0, length - LEAF)),
            min(max(y - LEAF / 2, 0.0), max(0.0, width - LEAF)),
        )


def _glue_lines(work: Work, setup: Setup, pen: _Plan) -> list[str]:
    lines = work.job.stock.glue_lines
    if lines is None:
        return []
    length, width = setup.top.length, setup.top.width
    side = length if lines.axis == "x" else width
    mirrored = setup.face == "second" and work.turn != lines.axis
    drawn = []
    for line in lines.at:
        at = side - float(line) if mirrored else float(line)
        ends: list[Point] = [(at, 0.0), (at, width)] if lines.axis == "x" else [(0.0, at), (length, at)]
        drawn.append(pen.path(ends, "glue"))
    return drawn


def _grain(work: Work, setup: Setup, pen: _Plan) -> list[str]:
    """A few strokes along the grain and the word."""
    length, width = setup.top.length, setup.top.width
    along_x = work.job.stock.grain == "x"
    drawn = []
    for aside, start, end in ((0.0, 0.66, 0.9), (0.8, 0.69, 0.86), (-0.8, 0.71, 0.92)):
        if along_x:
            y = 0.72 * width + aside * pen.size
            drawn.append(pen.path([(start * length, y), (end * length, y)], "grain"))
        else:
            x = 0.72 * length + aside * pen.size
            drawn.append(pen.path([(x, start * width), (x, end * width)], "grain"))
    if along_x:
        return [*drawn, pen.text(0.78 * length, 0.72 * width + 1.9 * pen.size, "grain", kind="soft")]
    return [*drawn, pen.text(0.72 * length + 1.9 * pen.size, 0.78 * width, "grain", kind="soft", turned=True)]


def _edges(work: Work, setup: Setup, pen: _Plan) -> list[str]:
    """The panel's own names of its edges, written inside along them."""
    if work.job.stock.is_bed:
        return []
    length, width, inset = setup.top.length, setup.top.width, 1.1 * pen.size
    places = {
        "front": (0.74 * length, inset, False),
        "back": (0.3 * length, width - inset, False),
        "left": (inset, 0.36 * width, True),
        "right": (length - inset, 0.36 * width, True),
    }
    drawn = []
    for edge, (x, y, turned) in places.items():
        own = edge_of_panel(work, setup, edge)
        drawn.append(
            pen.text(x, y, f"{own} edge", kind="edge moved" if own != edge else "edge", share=0.85, turned=turned)
        )
    return drawn


def _section(work: Work, at: float, length: float, width: float, pen: _Plan) -> list[str]:
    """The line of the section, with S at both ends."""
    inset = 0.9 * pen.size
    if work.job.stock.grain == "x":
        ends: list[Point] = [(at, 0.0), (at, width)]
        marks = [(at + inset, inset), (at + inset, width - inset)]
    else:
        ends = [(0.0, at), (length, at)]
        marks = [(inset, at + inset), (length - inset, at + inset)]
    return [pen.path(ends, "cutline"), *(pen.text(x, y, "S", kind="cutmark", share=0.85) for x, y in marks)]


def _keep_out(index: int, holder: Holder, work: Work, pen: _Plan, unit: Measures) -> str:
    """Where the cutter's centre may not be while its edge is lower than the holder's top and the clearance.

    The shape is exact: the holder grown by radius and clearance (a rectangle gets round corners).
    """
    grown = float(work.cutter.diameter) / 2 + work.rules.clearance
    height = holder.height + work.rules.clearance
    words = (
        f"Keep-out of {letter(index)}: with the edge of the cutter lower than {unit(height)} above the bed, "
        "its centre stays outside this line."
    )
    if holder.kind == "dog":
        centre = (holder.x0 + holder.x1) / 2, (holder.y0 + holder.y1) / 2
        return tip(words, pen.circle(*centre, (holder.x1 - holder.x0) / 2 + grown, "keepout"))
    box = (holder.x0 - grown, holder.y0 - grown, holder.x1 + grown, holder.y1 + grown)
    return tip(words, pen.box(*box, "keepout", round_=grown))


def pass_words(number: int, one: Pass, total: int, unit: Measures) -> str:
    """What one pass does, in a sentence."""
    rows = f"{len(one.rows)} row{'s' * (len(one.rows) != 1)}"
    where = "over the whole face" if one.whole else "only where wood stands"
    return (
        f"Pass {number} of {total}{', finish' if one.finish else ''}: down to {unit(one.plane)} above the bed, "
        f"bite {unit(one.depth)}, {rows} {where}, {minutes(one.time)}."
    )


def _rows(number: int, one: Pass, total: int, radius: float, pen: _Plan, unit: Measures) -> str:
    """The way of the cutter's centre in one pass: solid at feed, dashed in the air; it starts in the ring."""
    runs: list[tuple[bool, list[Point]]] = []
    for before, leg in pairwise(one.path):
        if (leg.x, leg.y) == (before.x, before.y):
            continue
        if not runs or runs[-1][0] != leg.rapid:
            runs.append((leg.rapid, [(before.x, before.y)]))
        runs[-1][1].append((leg.x, leg.y))
    drawn = [pen.path(points, "air" if rapid else "row") for rapid, points in runs]
    cutting = next((points for rapid, points in runs if not rapid), None)
    if cutting is not None:
        drawn.append(_arrow(cutting[0], cutting[1], pen))
    start = one.path[0]
    ring = pen.circle(start.x, start.y, radius, "cutter") + pen.text(start.x, start.y, str(number), kind="number")
    drawn.append(f'<g class="own">{ring}</g>')
    return tip(pass_words(number, one, total, unit), *drawn, kind="pass", data=f' data-pass="{number}"')


def _starts(setup: Setup, radius: float, pen: _Plan) -> list[str]:
    """A ring at each place where passes start, with their numbers: what all passes together show."""
    places: dict[Point, list[int]] = {}
    for number, one in enumerate(setup.passes, 1):
        places.setdefault((one.path[0].x, one.path[0].y), []).append(number)
    drawn = []
    for (x, y), numbers in places.items():
        said = " ".join(map(str, numbers)) if len(numbers) <= 2 else f"{numbers[0]} …"
        drawn.append(pen.circle(x, y, radius, "cutter") + pen.text(x, y, said, kind="number", share=0.9))
    return [f'<g class="starts">{"".join(drawn)}</g>']


def _arrow(start: Point, end: Point, pen: _Plan) -> str:
    """A head a third of the way along the first run."""
    reach = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
    dx, dy = (end[0] - start[0]) / reach, (end[1] - start[1]) / reach
    x, y, size = start[0] + 0.33 * reach * dx, start[1] + 0.33 * reach * dy, 0.55 * pen.size
    corners = [(x + size * dx, y + size * dy)]
    corners += [(x - size * dx - side * size * dy, y - size * dy + side * size * dx) for side in (0.7, -0.7)]
    return pen.path(corners, "arrow", closed=True)


def _leaves(setup: Setup, pen: _Plan, unit: Measures) -> list[str]:
    drawn = []
    for number, shim in enumerate(setup.shims, 1):
        x0, y0 = pen.leaf(shim.x, shim.y, setup.top.length, setup.top.width)
        words = f"Leaves {number}, {shim.place.replace('_', ' ') or 'a point'}: {unit(shim.height)} high"
        words += "." if shim.leaves else ": none to lay."
        # the number stands beside the leaf, toward the middle, so that rows and outline leave it readable
        aside = 0.5 * LEAF + 0.75 * pen.size
        inward = x0 + LEAF / 2 + (aside if x0 + LEAF / 2 <= setup.top.length / 2 else -aside)
        shape = pen.box(x0, y0, x0 + LEAF, y0 + LEAF, "leaf" if shim.leaves else "leaf none")
        drawn.append(tip(words, shape, pen.text(inward, y0 + LEAF / 2, str(number), kind="number"), kind="placed"))
    return drawn


def _holder(index: int, holder: Holder, grown: float, pen: _Plan, unit: Measures) -> str:
    x, y = (holder.x0 + holder.x1) / 2, (holder.y0 + holder.y1) / 2
    # letter and distance go outward, away from the panel, beyond its keep-out and the ends of the rows
    deep = (holder.x1 - holder.x0) / 2 * abs(holder.pushes[0]) + (holder.y1 - holder.y0) / 2 * abs(holder.pushes[1])
    out = deep + grown + 0.8 * pen.size
    at_x, at_y = x - out * holder.pushes[0], y - out * holder.pushes[1]
    anchor = {1.0: "end", -1.0: "start"}.get(holder.pushes[0], "middle")
    mark = f"{letter(index)}  {unit.place(holder.along).removesuffix(' ' + unit.symbol)}"
    end = "left" if holder.edge in ("front", "back") else "front"
    words = (
        f"{letter(index)}, {holder.kind} {holder.name} at the {holder.edge} edge: {unit.place(holder.along)} from the "
        f"{end} end, {unit.place(holder.height)} high."
    )
    if holder.kind == "dog":
        shape = pen.circle(x, y, (holder.x1 - holder.x0) / 2, "dog")
    else:
        px, py = holder.pushes
        reach = 0.8 * deep
        tip_at = (x + reach * px, y + reach * py)
        head = 0.45 * deep
        wings = [(tip_at[0] - head * px - s * head * py, tip_at[1] - head * py + s * head * px) for s in (0.6, -0.6)]
        shape = pen.box(holder.x0, holder.y0, holder.x1, holder.y1, "clamp")
        shape += pen.path([(x - reach * px, y - reach * py), tip_at], "push") + pen.path(
            [wings[0], tip_at, wings[1]], "push"
        )
    return tip(words, shape, pen.text(at_x, at_y, mark, anchor=anchor, kind="number"), kind="placed")


def _zero(setup: Setup, pen: _Plan) -> list[str]:
    """The corner of X 0, Y 0, its axes pointing the way that the coordinates grow."""
    x, y = setup.origin
    arm = 3.2 * pen.size
    # the words stand outside the corner, or inside where the touch place is close by
    inside = abs(setup.touch.x - x) < 8 * pen.size and abs(setup.touch.y - y) < 5 * pen.size
    right, up = (x <= 0) == inside, (y <= 0) == inside
    return [
        pen.path([(x + arm, y), (x, y), (x, y + arm)], "zero"),
        pen.circle(x, y, 0.45 * pen.size, "zero"),
        pen.text(x + arm + 0.7 * pen.size, y, "X", kind="axis"),
        pen.text(x, y + arm + 0.8 * pen.size, "Y", kind="axis"),
        pen.text(
            x + (0.6 if right else -0.6) * pen.size, y + (1.3 if up else -1.3) * pen.size, "X0 Y0",
            anchor="start" if right else "end", kind="axis", share=0.9,
        ),
    ]  # fmt: skip


def _touch(work: Work, setup: Setup, pen: _Plan, unit: Measures) -> str:
    touch, radius = setup.touch, float(work.cutter.diameter) / 2
    arm = 0.8 * pen.size
    where = f"the top, {unit(touch.height)} above the bed" if touch.on == "top" else "the bare bed"
    words = (
        f"Touch here: centre of the cutter {unit.place(touch.x)} from the left end and {unit.place(touch.y)} from "
        f"the front edge, on {where}."
    )
    # of a place in front of the panel the words stand below, clear of the corner
    beside = (radius + 0.8 * pen.size) * (-1.0 if touch.y < 0 else 1.0)
    return tip(
        words,
        pen.circle(touch.x, touch.y, radius, "touch"),
        pen.path([(touch.x - arm, touch.y), (touch.x + arm, touch.y)], "touch"),
        pen.path([(touch.x, touch.y - arm), (touch.x, touch.y + arm)], "touch"),
        pen.text(touch.x, touch.y + beside, "touch here", kind="touched"),
        kind="placed",
    )
