"""Two pictures across the grain: a section of the set-up, and the stack of all passes."""

from __future__ import annotations

from collections.abc import Sequence
from math import floor, log10
from typing import NamedTuple

import numpy as np

from flatwise.core.surface import Array, Surface
from flatwise.model.stages import Holder, Pass, Plan, Setup, Work
from flatwise.report.display import DisplayUnit, display_unit, spaced
from flatwise.report.height_map import extreme
from flatwise.report.plan_view import letter
from flatwise.report.svg import LETTERING, PLAIN, Anchor, Lettering, Pen, Point, tip
from flatwise.report.toolpath import describe_pass

#: places along a section where heights are taken, besides the steps
STATIONS = 60
#: approximate height of a section, as a share of the panel's side
RATIO = 0.34
#: the most passes that get a label in the stack; of more, some do
LABELS = 10


class Section(NamedTuple):
    """A section across the grain, through the lowest place of the top.

    `at` is its place, mm along the grain; it runs along the axis `across` for `side` mm.
    """

    at: float
    across: str
    side: float

    def along(self, surface: Surface) -> tuple[Array, Array]:
        """Stations along the section (mm) and the heights there; a step has two stations with both heights."""
        nodes = surface.ys if self.across == "y" else surface.xs
        even = np.linspace(0.0, self.side, STATIONS)
        steps = nodes[1:][np.diff(nodes) <= 0]
        stations = np.sort(np.concatenate((even, steps - 1e-6, steps + 1e-6)))
        stations = np.clip(stations, 0.0, self.side)
        x, y = (np.full_like(stations, self.at), stations) if self.across == "y" else (stations, stations * 0 + self.at)
        return stations, surface.at(x, y)

    def span(self, holder: Holder) -> tuple[float, float] | None:
        """The stretch that a holder covers along the section, mm; None for one beside it."""
        if self.across == "y":
            return (holder.y0, holder.y1) if holder.edge in ("front", "back") else None
        return (holder.x0, holder.x1) if holder.edge in ("left", "right") else None

    @property
    def ends(self) -> tuple[str, str]:
        """The edges of the bed at its two ends."""
        return ("front", "back") if self.across == "y" else ("left", "right")


def section_of(work: Work, setup: Setup) -> Section:
    """The section of a setup, at least half a cutter inside the ends of the panel."""
    x, y, _ = extreme(setup, high=False)
    along_x = work.job.stock.grain == "x"
    at, grain, side = (x, setup.top.length, setup.top.width) if along_x else (y, setup.top.width, setup.top.length)
    inside = min(float(work.cutter.diameter) / 2, grain / 2)
    return Section(min(max(at, inside), grain - inside), "y" if along_x else "x", side)


def section_view(plan: Plan, setup: Setup) -> str:
    """One `<svg>`: bed, panel, the planes of both faces, the thickness left, holders at the ends, and the cutter.

    Heights are enlarged; the label and the caption say how much, and a scale bar shows it.
    """
    work, unit = plan.work, display_unit(plan.work)
    cut = section_of(work, setup)
    cutter, radius = work.cutter, float(work.cutter.diameter) / 2
    nose, stick_out = float(work.machine.nose) / 2, float(cutter.stick_out)
    centre = _cutter_at(cut, setup)
    spans = [span for span in (cut.span(holder) for holder in setup.holders) if span is not None]
    wide = max(radius, nose)
    shoe = float(work.machine.shoe.across) / 2 if work.machine.shoe is not None else 0.0
    left = min(0.0, centre - max(wide, shoe), *(span[0] for span in spans))
    right = max(cut.side, centre + wide, *(span[1] for span in spans))
    bottom = min(0.0, setup.under.lowest)
    top = max(setup.plane + stick_out * 1.3, setup.highest)
    tall = section_scale(plan, setup)
    pen = _room(left, right, bottom, top, tall, (2.8, 1.6, 1.5, 0.4))
    letters = Lettering(pen)
    for low, high in spans:
        letters.keep(low, bottom, high, max(h.height for h in setup.holders))
    under, over = cut.along(setup.under), cut.along(setup.top)
    outline = [*zip(*over, strict=True), *reversed(list(zip(*under, strict=True)))]
    other = _other_plane(plan, setup)
    stands, beside = _cutter(work, setup, centre, letters, unit)
    whole = "board" if work.job.stock.is_bed else "panel"
    parts = [
        tip(
            f"The {whole} before this cut.", pen.path([(float(u), float(z)) for u, z in outline], "panel", closed=True)
        ),
        pen.path([(pen.left, bottom), (pen.right, bottom)], "bed"),
        *_holders(cut, setup, letters, bottom, unit),
        *stands,
        *_planes(setup, other, cut, right, letters, unit),
        letters.put("cutter", beside, must=False),
        *_ends(cut, bottom, letters),
        *height_bar(pen, left - 1.2 * pen.size, bottom, (top - bottom) / 2, unit),
    ]
    where = unit.place(cut.at)
    label = (
        f"Section of the {setup.face} face, {where} from the {'left end' if cut.across == 'y' else 'front edge'}; "
        f"heights enlarged {tall:g} times"
    )
    return pen.picture("section", label, parts)


def section_scale(plan: Plan, setup: Setup) -> float:
    """How many times the heights of a section are enlarged."""
    work, cut = plan.work, section_of(plan.work, setup)
    low = min(0.0, setup.under.lowest)
    high = max(setup.plane + float(work.cutter.stick_out) * 1.3, setup.highest)
    return _scale(1.25 * cut.side * RATIO / (high - low))


def _room(
    left: float, right: float, bottom: float, top: float, tall: float, heights: tuple[float, float, float, float]
) -> Pen:
    """The frame around a drawing, with room on its left, right, lower and upper side in heights of lettering."""
    before, after, below, above = heights
    size = LETTERING * max(
        (right - left) / (1 - LETTERING * (before + after)),
        (top - bottom) * tall / (1 - LETTERING * (below + above)),
    )
    return Pen(
        left - before * size, right + after * size, bottom - below * size / tall, top + above * size / tall, tall
    )  # fmt: skip


def height_bar(pen: Pen, x: float, bottom: float, most: float, unit: DisplayUnit) -> list[str]:
    """The scale bar of heights: a round height of at most `most` mm in two halves, with its foot at (x, bottom)."""
    high = _plain(most / unit.millimetres) * unit.millimetres
    half, wide = high / 2, 0.2 * pen.size
    words = unit(high)
    return [
        tip(
            f"Scale bar of heights: {words}.",
            pen.box(x - wide, bottom, x + wide, bottom + half, "scale full"),
            pen.box(x - wide, bottom + half, x + wide, bottom + high, "scale"),
        ),
        pen.text(x - 0.8 * pen.size, bottom + pen.up(0.3), words, turned=True, anchor="start"),
    ]


def _ends(cut: Section, bottom: float, letters: Lettering) -> list[str]:
    """The names of the bed's edges at both ends."""
    pen = letters.pen
    inset, at = 0.4 * pen.size, bottom - pen.up(0.8)
    # the name moves inward where a letter of a holder is under the end
    near = [by * pen.size for by in (0.0, 0.6, 1.2, 1.8, 2.4, 3.6)]
    return [
        letters.put(cut.ends[0], [Anchor(inset + by, at, "start") for by in near], "soft"),
        letters.put(cut.ends[1], [Anchor(cut.side - inset - by, at, "end") for by in near], "soft"),
    ]


def _plain(most: float, figures: tuple[float, ...] = (1.0, 2.0, 5.0)) -> float:
    """The largest of 1, 2, 5, 10, … (and their tenths) up to `most`, or of other figures."""
    ten = 10.0 ** floor(log10(most))
    return max(plain * ten for plain in figures if plain * ten <= most * (1 + 1e-9))


def _scale(wanted: float) -> float:
    """A round number of at most `wanted`, but at least 1."""
    return _plain(max(wanted, 1.0), (1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8))


def _cutter_at(cut: Section, setup: Setup) -> float:
    """Where the cutter is drawn: as far out over the first edge as the last pass goes."""
    if not setup.passes:
        return 0.0
    reached = [(leg.y if cut.across == "y" else leg.x) for leg in setup.passes[-1].path if not leg.rapid]
    return min(reached, default=0.0)


def _other_plane(plan: Plan, setup: Setup) -> tuple[float, str] | None:
    """The height of the other face's plane in this setup, and its name; None if there is none."""
    if plan.work.job.stock.is_bed or plan.work.job.faces.second is None or plan.setups[-1].face != "second":
        return None
    if setup.face == "first":
        return setup.plane - plan.setups[-1].plane, "plane of the second face"
    return 0.0, "plane of the first face"


def _holders(cut: Section, setup: Setup, letters: Lettering, bottom: float, unit: DisplayUnit) -> list[str]:
    """Holders at the two ends; equal shapes are drawn once, with the letters of all."""
    shapes: dict[tuple[float, float, float, str], list[str]] = {}
    for index, holder in enumerate(setup.holders):
        span = cut.span(holder)
        if span is not None:
            shapes.setdefault((*span, holder.height, holder.kind), []).append(letter(index))
    pen, drawn = letters.pen, []
    for (u0, u1, height, kind), names in shapes.items():
        words = f"{kind.capitalize()} {' '.join(names)}: {unit(height)} high."
        at = bottom - pen.up(0.8)
        # under the holder; several letters run outward from the end of the panel
        anchor, edge = ("end", min(u1, 0.0)) if u0 < cut.side / 2 else ("start", max(u0, cut.side))
        anchors = [Anchor(edge, at, anchor)] if len(names) > 1 else [Anchor((u0 + u1) / 2, at)]
        name = letters.put(" ".join(names), anchors, "number", bold=True)
        drawn.append(tip(words, pen.box(u0, 0.0, u1, height, kind), name, kind="placed"))
    return drawn


def _cutter(
    work: Work, setup: Setup, centre: float, letters: Lettering, unit: DisplayUnit
) -> tuple[list[str], list[Anchor]]:
    """Edge, shank, nose and shoe of the cutter on this face's plane, where it overhangs the edge; and anchors for its
    name."""
    cutter, plane, pen, shoe = work.cutter, setup.plane, letters.pen, work.machine.shoe
    radius, shank, nose = float(cutter.diameter) / 2, float(cutter.shank) / 2, float(work.machine.nose) / 2
    blade, stick_out = plane + float(cutter.blade), plane + float(cutter.stick_out)
    words = (
        f"Cutter {cutter.name} on the plane, {spaced(cutter.diameter)} across, its centre {unit.place(abs(centre))} "
        f"{'outside' if centre < 0 else 'inside'} the edge; the nose is {spaced(cutter.stick_out)} above the plane."
    )
    ceiling = pen.top - pen.up(0.4)
    letters.keep(centre - max(radius, nose), plane, centre + max(radius, nose), ceiling)
    drawn = [
        tip(
            words,
            pen.box(centre - shank, blade, centre + shank, stick_out, "shank"),
            pen.box(centre - radius, plane, centre + radius, blade, "blade"),
            pen.box(centre - nose, stick_out, centre + nose, ceiling, "nose"),
        )
    ]
    wide = max(radius, nose)
    if shoe is not None:
        # a dashed outline: only the lower rim of the shoe is declared
        half, rim = float(shoe.across) / 2, plane + float(shoe.above)
        wide = max(wide, half)
        drawn.append(
            tip(
                f"The dust shoe, {spaced(shoe.across)} across, its rim {spaced(shoe.above)} above the plane.",
                pen.path([(centre - half, rim), (centre + half, rim)], "shoe"),
                pen.path([(centre + half, rim), (centre + half, stick_out)], "shoe"),
            )
        )
        letters.keep(centre + half - 0.1 * pen.size, rim, centre + half + 0.1 * pen.size, stick_out)
    # beside the cutter, above the words of the planes
    at = min(max((blade + stick_out) / 2, plane + pen.up(3.2)), ceiling - pen.up(0.6))
    return drawn, [Anchor(centre + wide + 0.4 * pen.size, by, "start") for by in (at, ceiling - pen.up(0.6))]


def _planes(
    setup: Setup, other: tuple[float, str] | None, cut: Section, right: float, letters: Lettering, unit: DisplayUnit
) -> list[str]:
    """The planes of both faces and the thickness between them; the words are above the panel."""
    pen = letters.pen
    at = right + 0.6 * pen.size
    base, named = other if other is not None else (min(0.0, setup.under.lowest), "")
    over = max(setup.highest, setup.plane)
    drawn = [
        tip(
            f"This face's plane: {unit(setup.plane)} above the bed.",
            pen.path([(min(0.0, pen.left + 2.4 * pen.size), setup.plane), (at, setup.plane)], "plane"),
        ),
        letters.put(
            f"plane {unit(setup.plane)}", [Anchor(cut.side, over + pen.up(by), "end") for by in (0.8, 2.0)], bold=False
        ),
    ]
    if other is not None:
        words = f"{named.capitalize()}, {unit(base)} above the bed as the panel lies now."
        drawn.append(tip(words, pen.path([(0.0, base), (at, base)], "plane other")))
    # a dimension near the middle of the panel, clear of the cutter at its first edge, with its words beside it
    x, middle = 0.42 * cut.side, (base + setup.plane) / 2
    drawn.append(pen.upright(base, setup.plane, x, ""))
    words = f"{unit(setup.plane - base)}{' left' if other or setup.face == 'second' else ''}"
    drawn.append(letters.put(words, [Anchor(x + 0.6 * pen.size, middle, "start")]))
    tallest = max(setup.holders, key=lambda holder: holder.height, default=None)
    if tallest is not None and setup.plane > tallest.height:
        gap = setup.plane - tallest.height
        drawn.append(
            tip(
                f"The plane passes {unit(gap)} above the tallest holder.",
                pen.path([(right - 1.2 * pen.size, tallest.height), (at + 0.4 * pen.size, tallest.height)], "thin"),
                pen.path([(at, tallest.height), (at, setup.plane)], "dim"),
                letters.put(
                    f"{unit(gap)} above the holders",
                    [Anchor(pen.right - 0.2 * pen.size, over + pen.up(by), "end") for by in (2.1, 3.4)],
                ),
                pen.path([(at, setup.plane), (at, over + pen.up(1.6))], "thin"),
            )
        )
    return drawn


def stack_view(plan: Plan, setup: Setup) -> str:
    """One `<svg>`: the planes of all passes above one another, in the wood that they remove.

    The wood is drawn with its greatest and smallest height along the grain, to show what a pass meets anywhere.
    """
    work, unit = plan.work, display_unit(plan.work)
    cut = section_of(work, setup)
    stations = np.linspace(0.0, cut.side, STATIONS)
    nodes = setup.top.ys if cut.across == "y" else setup.top.xs
    steps = nodes[1:][np.diff(nodes) <= 0]
    edges = np.sort(np.concatenate((stations, steps - 0.01, steps + 0.01)))
    whole = np.array([0.0, setup.top.length if cut.across == "y" else setup.top.width])
    low, high = setup.top.cells(whole, edges) if cut.across == "y" else setup.top.cells(edges, whole)
    low, high = low.ravel(), high.ravel()
    middles = (edges[:-1] + edges[1:]) / 2
    upmost = max([setup.may_stand, *(one.plane for one in setup.passes)])
    bottom, top = setup.plane - 0.25 * (upmost - setup.plane), upmost + 0.06 * (upmost - setup.plane)
    tall = _scale(1.5 * cut.side * RATIO / max(1e-6, top - bottom))
    said = max((len(_said(number, one, unit)) for number, one in enumerate(setup.passes, 1)), default=0)
    pen = _room(0.0, cut.side, bottom, top, tall, (2.6, 1.5 + said * PLAIN, 1.5, 1.9))
    letters = Lettering(pen)
    wood: list[Point] = [(0.0, bottom), *zip(middles.tolist(), high.tolist(), strict=True), (cut.side, bottom)]
    wood[1], wood[-2] = (0.0, wood[1][1]), (cut.side, wood[-2][1])
    least: list[Point] = [
        (0.0, float(low[0])),
        *zip(middles.tolist(), low.tolist(), strict=True),
        (cut.side, float(low[-1])),
    ]
    parts = [
        pen.path(wood, "panel", closed=True),
        pen.path(least, "least"),
        pen.path([(0.0, setup.may_stand), (cut.side, setup.may_stand)], "may"),
        # above the line and the uppermost plane, which is close to it
        letters.put("wood may reach here", [Anchor(0.0, upmost + pen.up(0.8), "start")], "soft"),
        *_layers(setup, cut, pen, unit),
        *_ends(cut, bottom, letters),
        *height_bar(pen, -1.2 * pen.size, bottom, 0.6 * (top - bottom), unit),
    ]
    label = f"The {len(setup.passes)} passes of the {setup.face} face, heights enlarged {tall:g} times"
    return pen.picture("stack", label, parts)


def _layers(setup: Setup, cut: Section, pen: Pen, unit: DisplayUnit) -> list[str]:
    """A line for each plane, labelled on the right with its number and height."""
    total = len(setup.passes)
    planes = [one.plane for one in setup.passes]
    places = _label_places(planes, pen)
    drawn = []
    above = setup.may_stand
    for number, one in enumerate(setup.passes, 1):
        shapes = [
            pen.box(0.0, one.plane, cut.side, max(above, one.plane), "layer"),
            pen.path([(0.0, one.plane), (cut.side, one.plane)], "level"),
        ]
        if number - 1 in places:
            at = places[number - 1]
            shapes.append(pen.path([(cut.side, one.plane), (cut.side + pen.size, at)], "thin"))
            shapes.append(pen.text(cut.side + 1.2 * pen.size, at, _said(number, one, unit), anchor="start"))
        drawn.append(tip(describe_pass(number, one, total, unit), *shapes, kind="pass", data=f' data-pass="{number}"'))
        above = one.plane
    return drawn


def _said(number: int, one: Pass, unit: DisplayUnit) -> str:
    return f"{number}{' finish' if one.finish else ''}: {unit(one.plane)}"


def _label_places(planes: Sequence[float], pen: Pen) -> dict[int, float]:
    """Heights of the labels by the index of their plane: a line apart, inside the picture, including the last plane.

    Labels that would touch are moved down, and all are moved up again if the last one would leave the picture.
    """
    line = pen.up(1.15)
    floor_, ceiling = pen.bottom + line / 2, pen.top - line / 2
    room = max(1, min(LABELS, int((ceiling - floor_) / line) + 1))
    every = -(-len(planes) // room)
    chosen = [index for index in range(len(planes)) if (len(planes) - 1 - index) % every == 0]
    places: dict[int, float] = {}
    below = ceiling
    for index in chosen:
        places[index] = min(planes[index], below)
        below = places[index] - line
    over = floor_
    for index in reversed(chosen):
        places[index] = max(places[index], over)
        over = places[index] + line
    return places
