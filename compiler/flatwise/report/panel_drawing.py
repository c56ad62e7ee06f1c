"""The panel itself in a picture from above: its glue lines, its grain and its own edges."""

from __future__ import annotations

from flatwise.model.stages import FaceName, Work
from flatwise.report.svg import Anchor, Lettering, Pen, Point

#: the panel's edge along an edge of the bed after turning about an axis
_TURNED = {"x": {"front": "back", "back": "front"}, "y": {"left": "right", "right": "left"}}


def edge_of_panel(work: Work, face: FaceName, edge: str) -> str:
    """The panel's own edge along an edge of the bed as it lies for this face."""
    return _TURNED[work.turn].get(edge, edge) if face == "second" else edge


def glue_lines(work: Work, face: FaceName, pen: Pen) -> list[str]:
    lines = work.job.stock.glue_lines
    if lines is None:
        return []
    length, width = work.length, work.width
    side = length if lines.axis == "x" else width
    mirrored = face == "second" and work.turn != lines.axis
    drawn = []
    for line in lines.at:
        at = side - float(line) if mirrored else float(line)
        ends: list[Point] = [(at, 0.0), (at, width)] if lines.axis == "x" else [(0.0, at), (length, at)]
        drawn.append(pen.path(ends, "glue"))
    return drawn


def grain(work: Work, letters: Lettering) -> list[str]:
    """The word and two strokes along the grain, if there is room for them."""
    length, width, pen = work.length, work.width, letters.pen
    along_x, size = work.job.stock.grain == "x", letters.pen.size
    long, deep = 4.4 * size, 2.4 * size
    places = [(u * length, v * width) for v in (0.72, 0.28, 0.6, 0.4, 0.8, 0.2) for u in (0.78, 0.22, 0.62, 0.38, 0.5)]
    at = letters.clear(long if along_x else deep, deep if along_x else long, places)
    if at is None:
        return []
    x, y = at
    half, aside = long / 2, 0.95 * size
    if along_x:
        lines: list[list[Point]] = [[(x - half, y + by), (x + half, y + by)] for by in (-aside, aside)]
    else:
        lines = [[(x + by, y - half), (x + by, y + half)] for by in (-aside, aside)]
    return [*(pen.path(line, "grain") for line in lines), pen.text(x, y, "grain", kind="soft", turned=not along_x)]


def edges(work: Work, face: FaceName, letters: Lettering) -> list[str]:
    """The panel's own names of its edges, along the inside of each."""
    if work.job.stock.is_bed:
        return []
    length, width, size = work.length, work.width, letters.pen.size
    drawn = []
    for edge in ("front", "back", "left", "right"):
        own = edge_of_panel(work, face, edge)
        side = width if edge in ("front", "back") else length
        anchors: list[Anchor] = []
        for inset in (0.85 * size, 2.0 * size, 3.2 * size):
            for share in (0.35, 0.65, 0.5, 0.25, 0.75):
                if inset > 0.4 * side:
                    break
                if edge in ("front", "back"):
                    anchors.append(Anchor(share * length, inset if edge == "front" else width - inset))
                else:
                    anchors.append(Anchor(inset if edge == "left" else length - inset, share * width, turned=True))
        kind, moved = ("edge moved", True) if own != edge else ("edge", False)
        # a short edge has room for one word, a narrow panel for none inside
        aside = -0.85 * size
        beyond = [
            Anchor(share * length, aside if edge == "front" else width - aside)
            if edge in ("front", "back")
            else Anchor(aside if edge == "left" else length - aside, share * width, turned=True)
            for share in (0.5, 0.25, 0.75, 0.1, 0.9)
        ]
        whole = f"{own} edge"
        for words, within in (
            (whole, anchors[:5]),
            (own, anchors[:5]),
            (whole, anchors),
            (own, anchors),
            (own, beyond),
        ):
            if said := letters.put(words, within, kind, bold=moved, must=False):
                break
        drawn.append(said or letters.put(own, anchors + beyond, kind, bold=moved))
    return drawn
