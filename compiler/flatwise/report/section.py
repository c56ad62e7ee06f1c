"""The panel cut open across its grain, and the passes one above the other."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, log10

import numpy as np

from flatwise.report.drawing import letter, pass_words
from flatwise.report.measures import Measures, measures
from flatwise.report.pen import Pen, Point, tip
from flatwise.report.relief import extreme
from flatwise.stages import Holder, Plan, Setup, Work
from flatwise.surface import Array, Surface

#: Places along a section at which the faces are looked at, beside their own nodes.
STATIONS = 60
#: A section is drawn this high for its width, about.
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

    Heights are drawn some times as large as widths; the number stands in the label and the page's words.
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
    tall = _scale((right - left) * RATIO / (top - bottom))
    margin = 0.04 * (right - left)
    pen = Pen(left - margin, right + 8.5 * margin, bottom, top, tall)
    pen = Pen(pen.left, pen.right, bottom - pen.up(1.6), top + pen.up(0.4), tall)
    under, over = cut.along(setup.under), cut.along(setup.top)
    outline = [*zip(*over, strict=True), *reversed(list(zip(*under, strict=True)))]
    other = _other_plane(plan, setup)
    parts = [
        tip("The panel before this cut.", pen.path([(float(u), float(z)) for u, z in outline], "panel", closed=True)),
        pen.path([(pen.left, bottom), (pen.right, bottom)], "bed"),
        *_holders(cut, setup, pen, unit),
        *_cutter(work, setup, centre, pen, unit),
        *_planes(setup, other, cut, right, pen, unit),
        *_ends(cut, bottom, pen),
        pen.text(
            cut.side / 2, bottom - pen.up(0.8), "bed" if not work.job.stock.is_bed else "", kind="soft", share=0.85
        ),
    ]
    where = unit.place(cut.at)
    label = (
        f"Section S of the {setup.face} face, {where} from the {'left end' if cut.across == 'y' else 'front edge'}; "
        f"heights drawn {tall:g} times as large as widths"
    )
    return pen.picture("section", label, parts)


def _ends(cut: Section, bottom: float, pen: Pen) -> list[str]:
    """The names of the bed's edges at both ends, inside, since holders have their letters outside."""
    inset, at = 0.7 * pen.size, bottom - pen.up(0.8)
    return [
        pen.text(inset, at, cut.ends[0], anchor="start", kind="soft", share=0.85),
        pen.text(cut.side - inset, at, cut.ends[1], anchor="end", kind="soft", share=0.85),
    ]


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


def _holders(cut: Section, setup: Setup, pen: Pen, unit: Measures) -> list[str]:
    """Holders at the two ends, those of one shape once, with the letters of all."""
    shapes: dict[tuple[float, float, float, str], list[str]] = {}
    for index, holder in enumerate(setup.holders):
        span = cut.span(holder)
        if span is not None:
            shapes.setdefault((*span, holder.height, holder.kind), []).append(letter(index))
    drawn = []
    for (u0, u1, height, kind), letters in shapes.items():
        words = f"{kind.capitalize()} {' '.join(letters)}: {unit.place(height)} high."
        name = pen.text((u0 + u1) / 2, -pen.up(0.8), " ".join(letters), kind="number", share=0.9)
        drawn.append(tip(words, pen.box(u0, 0.0, u1, height, kind), name, kind="placed"))
    return drawn


def _cutter(work: Work, setup: Setup, centre: float, pen: Pen, unit: Measures) -> list[str]:
    """Edge, shank and nose of the cutter as it stands on this face's plane, where it overhangs the edge."""
    cutter, plane = work.cutter, setup.plane
    radius, shank, nose = float(cutter.diameter) / 2, float(cutter.shank) / 2, float(work.machine.nose) / 2
    blade, stick_out = plane + float(cutter.blade), plane + float(cutter.stick_out)
    words = (
        f"Cutter {cutter.name} on the plane, {cutter.diameter} across, its centre {unit.place(abs(centre))} "
        f"{'outside' if centre < 0 else 'inside'} the edge; the nose rides {cutter.stick_out} above the plane."
    )
    return [
        tip(
            words,
            pen.box(centre - shank, blade, centre + shank, stick_out, "shank"),
            pen.box(centre - radius, plane, centre + radius, blade, "blade"),
            pen.box(centre - nose, stick_out, centre + nose, pen.top - pen.up(0.4), "nose"),
            pen.text(centre + radius + 0.5 * pen.size, (blade + stick_out) / 2, "cutter", anchor="start", share=0.9),
        )
    ]


def _planes(
    setup: Setup, other: tuple[float, str] | None, cut: Section, right: float, pen: Pen, unit: Measures
) -> list[str]:
    """This face's plane, the other one, and what is left between them."""
    at = right + 0.6 * pen.size
    base, named = other if other is not None else (min(0.0, setup.under.lowest), "")
    drawn = [
        tip(
            f"This face's plane: {unit(setup.plane)} above the bed.",
            pen.path([(min(0.0, pen.left + pen.size), setup.plane), (at, setup.plane)], "plane"),
        ),
        pen.text(at + 0.4 * pen.size, setup.plane + pen.up(0.7), f"plane {unit.coarse(setup.plane)}", anchor="start"),
    ]
    if other is not None:
        words = f"{named.capitalize()}, {unit(base)} above the bed as the panel lies now."
        drawn.append(tip(words, pen.path([(0.0, base), (at, base)], "plane other")))
    # a dimension in the middle of the panel, clear of the cutter at its first edge
    x = 0.6 * cut.side
    drawn.append(pen.upright(base, setup.plane, x, ""))
    words = (
        f"{unit.coarse(setup.plane - base)} left"
        if other or setup.face == "second"
        else unit.coarse(setup.plane - base)
    )
    drawn.append(pen.text(x + 0.7 * pen.size, (base + setup.plane) / 2, words, anchor="start"))
    tallest = max(setup.holders, key=lambda holder: holder.height, default=None)
    if tallest is not None and setup.plane > tallest.height:
        gap = setup.plane - tallest.height
        u = right - 0.2 * pen.size
        drawn.append(
            tip(
                f"The plane passes {unit(gap)} above the tallest holder.",
                pen.path([(u - pen.size, tallest.height), (at + pen.size, tallest.height)], "thin"),
                pen.path([(at, tallest.height), (at, setup.plane)], "dim"),
                pen.text(
                    at + 0.4 * pen.size,
                    (tallest.height + setup.plane) / 2,
                    f"{unit.coarse(gap)} clear",
                    anchor="start",
                    share=0.9,
                ),
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
    tall = _scale(cut.side * RATIO / max(1e-6, top - bottom))
    pen = Pen(-0.22 * cut.side, 1.5 * cut.side, bottom, top, tall)
    pen = Pen(pen.left, pen.right, bottom - pen.up(1.6), top + pen.up(1.0), tall)
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
        pen.text(-0.5 * pen.size, setup.highest + setup.bound, "may stand", anchor="end", share=0.85),
        *_layers(setup, cut, pen, unit),
        *_ends(cut, bottom, pen),
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
            words = f"{number}{' finish' if one.finish else ''}: {unit.coarse(one.plane)}"
            shapes.append(pen.text(cut.side + 1.2 * pen.size, at, words, anchor="start", share=0.9))
        drawn.append(tip(pass_words(number, one, total, unit), *shapes, kind="pass", data=f' data-pass="{number}"'))
        above = one.plane
    return drawn


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
