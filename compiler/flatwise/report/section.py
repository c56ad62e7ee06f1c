"""The panel cut open across its grain, and the passes one above the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, log10

import numpy as np

from flatwise.core.surface import Array, Surface
from flatwise.model.stages import Holder, Pass, Plan, Setup, Work
from flatwise.report.drawing import letter
from flatwise.report.measures import Measures, measures
from flatwise.report.pen import LETTERING, PLAIN, Lettering, Pen, Point, Spot, tip
from flatwise.report.relief import extreme
from flatwise.report.toolpath import pass_words

#: Places along a section at which the faces are looked at, beside their own nodes.
STATIONS = 60
#: A section is drawn this high for the panel's side, about.
RATIO = 0.34
#: Passes that get a label of their own in the stack at most; of more, some do.
LABELS = 10


@dataclass(frozen=True)
class Section:
    """Where a setup is cut open: across the grain, through the lowest place of the top.

    `at` is mm along the grain; `across` the axis that the section runs along, `side` its length in mm.
    """

    at: float
    across: str
    side: float

    def along(self, surface: Surface) -> tuple[Array, Array]:
        """Stations along the section (mm) and the heights there; a step has both of its heights, one by one."""
        nodes = surface.ys if self.across == "y" else surface.xs
        even = np.linspace(0.0, self.side, STATIONS)
        steps = nodes[1:][np.diff(nodes) <= 0]
        stations = np.sort(np.concatenate((even, steps - 1e-6, steps + 1e-6)))
        stations = np.clip(stations, 0.0, self.side)
        x, y = (np.full_like(stations, self.at), stations) if self.across == "y" else (stations, stations * 0 + self.at)
        return stations, surface.at(x, y)

    def span(self, holder: Holder) -> tuple[float, float] | None:
        """What a holder covers along the section, mm; None for one that stands at its sides."""
        if self.across == "y":
            return (holder.y0, holder.y1) if holder.edge in ("front", "back") else None
        return (holder.x0, holder.x1) if holder.edge in ("left", "right") else None

    @property
    def ends(self) -> tuple[str, str]:
        """The edges of the bed at its two ends."""
        return ("front", "back") if self.across == "y" else ("left", "right")


def section_of(work: Work, setup: Setup) -> Section:
    """The section of a setup; it stays half a cutter inside the ends of the panel."""
    x, y, _ = extreme(setup, high=False)
    along_x = work.job.stock.grain == "x"
    at, grain, side = (x, setup.top.length, setup.top.width) if along_x else (y, setup.top.width, setup.top.length)
    inside = min(float(work.cutter.diameter) / 2, grain / 2)
    return Section(min(max(at, inside), grain - inside), "y" if along_x else "x", side)


def section_view(plan: Plan, setup: Setup) -> str:
    """One `<svg>`: bed, panel, this plane and the other one, what is left, holders at the ends, and the cutter.

    Heights are drawn some times as large as widths; the number stands in the label and the page's words, and a bar
    beside the picture is so many mm high.
    """
    work, unit = plan.work, measures(plan.work)
    cut = section_of(work, setup)
    cutter, radius = work.cutter, float(work.cutter.diameter) / 2
    nose, stick_out = float(work.machine.nose) / 2, float(cutter.stick_out)
    centre = _cutter_at(cut, setup)
    spans = [span for span in (cut.span(holder) for holder in setup.holders) if span is not None]
    wide = max(radius, nose)
    left = min(0.0, centre - wide, *(span[0] for span in spans))
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
        f"heights drawn {tall:g} times as large as widths"
    )
    return pen.picture("section", label, parts)


def section_scale(plan: Plan, setup: Setup) -> float:
    """How many times as large as widths the heights of a section are drawn."""
    work, cut = plan.work, section_of(plan.work, setup)
    low = min(0.0, setup.under.lowest)
    high = max(setup.plane + float(work.cutter.stick_out) * 1.3, setup.highest)
    return _scale(1.25 * cut.side * RATIO / (high - low))


def _room(
    left: float, right: float, bottom: float, top: float, tall: float, heights: tuple[float, float, float, float]
) -> Pen:
    """The frame round a drawing, with room at its left, right, lower and upper side in heights of lettering."""
    before, after, below, above = heights
    size = LETTERING * max(
        (right - left) / (1 - LETTERING * (before + after)),
        (top - bottom) * tall / (1 - LETTERING * (below + above)),
    )
    return Pen(
        left - before * size, right + after * size, bottom - below * size / tall, top + above * size / tall, tall
    )  # fmt: skip


def height_bar(pen: Pen, x: float, bottom: float, most: float, unit: Measures) -> list[str]:
    """A bar of a plain height, at most `most` mm, in two halves, standing at (x, bottom): the scale of heights."""
    high = _plain(most / unit.worth) * unit.worth
    half, wide = high / 2, 0.2 * pen.size
    words = unit(high)
    return [
        tip(
            f"This bar is {words} high in the scale of the heights.",
            pen.box(x - wide, bottom, x + wide, bottom + half, "scale full"),
            pen.box(x - wide, bottom + half, x + wide, bottom + high, "scale"),
        ),
        pen.text(x - 0.8 * pen.size, bottom + pen.up(0.3), words, turned=True, anchor="start"),
    ]


def _ends(cut: Section, bottom: float, letters: Lettering) -> list[str]:
    """The names of the bed's edges at both ends, and the bed's own between them."""
    pen = letters.pen
    inset, at = 0.4 * pen.size, bottom - pen.up(0.8)
    # where a letter of a holder stands under the end, the name moves in
    near = [by * pen.size for by in (0.0, 0.6, 1.2, 1.8, 2.4, 3.6)]
    return [
        letters.put(cut.ends[0], [Spot(inset + by, at, "start") for by in near], "soft"),
        letters.put(cut.ends[1], [Spot(cut.side - inset - by, at, "end") for by in near], "soft"),
    ]


def _plain(most: float) -> float:
    """The largest of 1, 2, 5, 10, … (and their tenths) that is not above `most`."""
    ten = 10.0 ** floor(log10(most))
    return max(plain * ten for plain in (1.0, 2.0, 5.0) if plain * ten <= most * (1 + 1e-9))


def _scale(wanted: float) -> float:
    """A plain number at or below `wanted`, at least 1."""
    if wanted < 1:
        return 1.0
    ten = 10.0 ** floor(log10(wanted))
    return max(plain * ten for plain in (1, 1.2, 1.5, 2, 2.5, 3, 4, 5, 6, 8) if plain * ten <= wanted * (1 + 1e-9))


def _cutter_at(cut: Section, setup: Setup) -> float:
    """Where the cutter is drawn: at the first end of the last pass, as far out over the edge as it goes."""
    if not setup.passes:
        return 0.0
    reached = [(leg.y if cut.across == "y" else leg.x) for leg in setup.passes[-1].path if not leg.rapid]
    return min(reached, default=0.0)


def _other_plane(plan: Plan, setup: Setup) -> tuple[float, str] | None:
    """Height of the plane on the other side of the finished panel as it lies in this setup, and its name."""
    if plan.work.job.stock.is_bed or plan.work.job.faces.second is None or plan.setups[-1].face != "second":
        return None
    if setup.face == "first":
        return setup.plane - plan.setups[-1].plane, "plane of the second face"
    return 0.0, "plane of the first face"


def _holders(cut: Section, setup: Setup, letters: Lettering, bottom: float, unit: Measures) -> list[str]:
    """Holders at the two ends, those of one shape once, with the letters of all."""
    shapes: dict[tuple[float, float, float, str], list[str]] = {}
    for index, holder in enumerate(setup.holders):
        span = cut.span(holder)
        if span is not None:
            shapes.setdefault((*span, holder.height, holder.kind), []).append(letter(index))
    pen, drawn = letters.pen, []
    for (u0, u1, height, kind), names in shapes.items():
        words = f"{kind.capitalize()} {' '.join(names)}: {unit(height)} high."
        at = bottom - pen.up(0.8)
        # under the holder, and from the end of the panel outward where that is wide
        anchor, edge = ("end", min(u1, 0.0)) if u0 < cut.side / 2 else ("start", max(u0, cut.side))
        spots = [Spot(edge, at, anchor)] if len(names) > 1 else [Spot((u0 + u1) / 2, at)]
        name = letters.put(" ".join(names), spots, "number", bold=True)
        drawn.append(tip(words, pen.box(u0, 0.0, u1, height, kind), name, kind="placed"))
    return drawn


def _cutter(
    work: Work, setup: Setup, centre: float, letters: Lettering, unit: Measures
) -> tuple[list[str], list[Spot]]:
    """Edge, shank, nose and shoe of the cutter as it stands on this face's plane, where it overhangs the edge; and
    where its name may stand."""
    cutter, plane, pen, shoe = work.cutter, setup.plane, letters.pen, work.machine.shoe
    radius, shank, nose = float(cutter.diameter) / 2, float(cutter.shank) / 2, float(work.machine.nose) / 2
    blade, stick_out = plane + float(cutter.blade), plane + float(cutter.stick_out)
    words = (
        f"Cutter {cutter.name} on the plane, {cutter.diameter} across, its centre {unit.place(abs(centre))} "
        f"{'outside' if centre < 0 else 'inside'} the edge; the nose rides {cutter.stick_out} above the plane."
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
        # the hood as a dashed outline: its height is not declared, its lower rim is
        half, rim = float(shoe.across) / 2, plane + float(shoe.above)
        wide = max(wide, half)
        drawn.append(
            tip(
                f"The dust shoe, {shoe.across} across, its rim {shoe.above} above the plane.",
                pen.path([(max(pen.left, centre - half), rim), (centre + half, rim)], "shoe"),
                pen.path([(centre + half, rim), (centre + half, stick_out)], "shoe"),
            )
        )
        letters.keep(centre + half - 0.1 * pen.size, rim, centre + half + 0.1 * pen.size, stick_out)
    # beside it, over the planes' own words, which stand by the plane and come first
    at = min(max((blade + stick_out) / 2, plane + pen.up(3.2)), ceiling - pen.up(0.6))
    return drawn, [Spot(centre + wide + 0.4 * pen.size, by, "start") for by in (at, ceiling - pen.up(0.6))]


def _planes(
    setup: Setup, other: tuple[float, str] | None, cut: Section, right: float, letters: Lettering, unit: Measures
) -> list[str]:
    """This face's plane, the other one, and what is left between them; the words stand over the panel."""
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
            f"plane {unit(setup.plane)}", [Spot(cut.side, over + pen.up(by), "end") for by in (0.8, 2.0)], bold=False
        ),
    ]
    if other is not None:
        words = f"{named.capitalize()}, {unit(base)} above the bed as the panel lies now."
        drawn.append(tip(words, pen.path([(0.0, base), (at, base)], "plane other")))
    # a dimension in the middle of the panel, clear of the cutter at its first edge; its words beside it, or over the
    # panel where that is thin
    x, middle = 0.42 * cut.side, (base + setup.plane) / 2
    drawn.append(pen.upright(base, setup.plane, x, ""))
    words = f"{unit(setup.plane - base)}{' left' if other or setup.face == 'second' else ''}"
    drawn.append(letters.put(words, [Spot(x + 0.6 * pen.size, middle, "start")]))
    tallest = max(setup.holders, key=lambda holder: holder.height, default=None)
    if tallest is not None and setup.plane > tallest.height:
        gap = setup.plane - tallest.height
        drawn.append(
            tip(
                f"The plane passes {unit(gap)} above the tallest holder.",
                pen.path([(right - 1.2 * pen.size, tallest.height), (at + 0.4 * pen.size, tallest.height)], "thin"),
                pen.path([(at, tallest.height), (at, setup.plane)], "dim"),
                letters.put(
                    f"{unit(gap)} over the holders",
                    [Spot(pen.right - 0.2 * pen.size, over + pen.up(by), "end") for by in (2.1, 3.4)],
                ),
                pen.path([(at, setup.plane), (at, over + pen.up(1.6))], "thin"),
            )
        )
    return drawn


def stack_view(plan: Plan, setup: Setup) -> str:
    """One `<svg>`: the planes of all passes over one another, in the wood that they take away.

    The wood is drawn as its highest and lowest along the grain, so that what a pass meets anywhere can be seen.
    """
    work, unit = plan.work, measures(plan.work)
    cut = section_of(work, setup)
    stations = np.linspace(0.0, cut.side, STATIONS)
    nodes = setup.top.ys if cut.across == "y" else setup.top.xs
    steps = nodes[1:][np.diff(nodes) <= 0]
    edges = np.sort(np.concatenate((stations, steps - 0.01, steps + 0.01)))
    whole = np.array([0.0, setup.top.length if cut.across == "y" else setup.top.width])
    low, high = setup.top.cells(whole, edges) if cut.across == "y" else setup.top.cells(edges, whole)
    low, high = low.ravel(), high.ravel()
    middles = (edges[:-1] + edges[1:]) / 2
    upmost = max([setup.highest + setup.bound, *(one.plane for one in setup.passes)])
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
        pen.path([(0.0, setup.highest + setup.bound), (cut.side, setup.highest + setup.bound)], "may"),
        # over the line and the uppermost plane, which lies close to it
        letters.put("may stand up to here", [Spot(0.0, upmost + pen.up(0.8), "start")], "soft"),
        *_layers(setup, cut, pen, unit),
        *_ends(cut, bottom, letters),
        *height_bar(pen, -1.2 * pen.size, bottom, 0.6 * (top - bottom), unit),
    ]
    label = f"The {len(setup.passes)} passes of the {setup.face} face, heights drawn {tall:g} times as large as widths"
    return pen.picture("stack", label, parts)


def _layers(setup: Setup, cut: Section, pen: Pen, unit: Measures) -> list[str]:
    """A line for every plane, labelled on the right with its number and height."""
    total = len(setup.passes)
    planes = [one.plane for one in setup.passes]
    places = _label_places(planes, pen)
    drawn = []
    above = setup.highest + setup.bound
    for number, one in enumerate(setup.passes, 1):
        shapes = [
            pen.box(0.0, one.plane, cut.side, max(above, one.plane), "layer"),
            pen.path([(0.0, one.plane), (cut.side, one.plane)], "level"),
        ]
        if number - 1 in places:
            at = places[number - 1]
            shapes.append(pen.path([(cut.side, one.plane), (cut.side + pen.size, at)], "thin"))
            shapes.append(pen.text(cut.side + 1.2 * pen.size, at, _said(number, one, unit), anchor="start"))
        drawn.append(tip(pass_words(number, one, total, unit), *shapes, kind="pass", data=f' data-pass="{number}"'))
        above = one.plane
    return drawn


def _said(number: int, one: Pass, unit: Measures) -> str:
    return f"{number}{' finish' if one.finish else ''}: {unit(one.plane)}"


def _label_places(planes: Sequence[float], pen: Pen) -> dict[int, float]:
    """Heights of the labels by the index of their plane: a line apart, inside the picture, the last plane among them.

    A light last pass lies close under the one before, so labels are moved down where they would touch, and all up
    again where the last would leave the picture.
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
