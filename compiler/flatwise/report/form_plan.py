"""The plan on the form: the panel from above, its numbered points, and the nine places around it."""

from __future__ import annotations

from collections.abc import Sequence
from html import escape
from itertools import pairwise
from math import hypot
from typing import Any

from flatwise.model.stages import FaceName, Work
from flatwise.report.display import display_unit
from flatwise.report.panel_drawing import edge_of_panel, edges, glue_lines, grain
from flatwise.report.svg import LETTERING, Lettering, Pen


def form_plan(work: Work, face: FaceName, fields: Sequence[dict[str, Any]], key: str = "") -> str:
    """One `<svg>`: the panel, a group for the height map, and a mark for each field, which the script lights.

    `key` begins the identifier of that group.
    """
    length, width, unit = work.length, work.width, display_unit(work)
    size = max(LETTERING * length / (1 - 4.4 * LETTERING), LETTERING * width / (1 - 6.4 * LETTERING))
    pen = Pen(-3.0 * size, length + 1.4 * size, -5.0 * size, width + 1.4 * size)
    letters = Lettering(pen)
    at = {each["id"]: _at(each, unit.millimetres) for each in fields if each["x"]}
    dials = [at[each["id"]] for each in fields if each["kind"] == "dial"]
    # the points are a grid
    sides = (sorted({round(each[axis], 3) for each in dials}) for axis in (0, 1))
    apart = min((b - a for side in sides for a, b in pairwise(side)), default=length)
    radius = min(0.85 * size, 0.45 * apart)
    for x, y in dials:
        letters.keep(x - radius, y - radius, x + radius, y + radius)
    for x in (0.0, length / 2, length):
        for y in (0.0, width / 2, width):
            letters.keep(x - size, y - 1.2 * size, x + size, y + 1.2 * size)
    centre_taken = any(hypot(x - length / 2, y - width / 2) < 2 * radius for x, y in dials)
    marks = [_mark(each, at[each["id"]], radius, work, pen, hidden=centre_taken) for each in fields if each["x"]]
    parts = [
        pen.box(0.0, 0.0, length, width, "panel"),
        f'<g class="heights" id="{key}map"></g>',
        *glue_lines(work, face, pen),
        pen.box(0.0, 0.0, length, width, "outline"),
        *edges(work, face, letters),
        *grain(work, letters),
        pen.across(0.0, length, -3.0 * size, unit.place(length)),
        pen.upright(0.0, width, -1.5 * size, unit.place(width)),
        pen.text(length / 2, -4.2 * size, "▲ operator", kind="soft"),
        *marks,
    ]
    front = edge_of_panel(work, face, "front")
    label = f"Plan of the panel from above, its {front} edge toward the operator, with {len(dials)} numbered points"
    return pen.picture("plan", label, parts)


def _at(field: dict[str, Any], worth: float) -> tuple[float, float]:
    return float(field["x"]) * worth, float(field["y"]) * worth


def _mark(field: dict[str, Any], at: tuple[float, float], radius: float, work: Work, pen: Pen, *, hidden: bool) -> str:
    """A circle with the number of a point; a short line outside the outline for a place, a ring for the centre.

    The ring is `hidden` where a point is at the centre, until its field is shown.
    """
    x, y = at
    if field["kind"] == "dial":
        share = min(0.9, 1.1 * radius / pen.size)
        drawn = pen.circle(x, y, radius, "spot") + pen.text(x, y, field["mark"], kind="number", share=share)
    else:
        across, up = _outward(x, work.length), _outward(y, work.width)
        near, far = 0.25 * pen.size, (1.2 if not (across and up) else 0.9) * pen.size
        ends = [(x + across * by, y + up * by) for by in (near, far)]
        ring = "place middle" if hidden else "place"
        drawn = pen.path(ends, "place") if across or up else pen.circle(x, y, 1.2 * radius, ring)
    title = f"<title>{escape(field['title'])}</title>"
    return f'<g class="field {field["kind"]}" data-field="{field["id"]}">{title}{drawn}</g>'


def _outward(at: float, side: float) -> int:
    return -1 if at < 0.01 * side else 1 if at > 0.99 * side else 0
