"""The sheet for the person at the machine: one self-contained HTML file, in the order of the work."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any

from flatwise import __version__
from flatwise.core.units import fixed
from flatwise.core.wording import listed, shape_text
from flatwise.gcode.write import decimal, sources_hash
from flatwise.model.block_delete import block_delete
from flatwise.model.built import Built, Waived
from flatwise.model.stages import Holder, Plan, Setup, Shim, Work
from flatwise.model.words import EDGES, PLACES
from flatwise.plan.touch import free_beside
from flatwise.report.display import DisplayUnit, display_unit, duration, leaf_mark, leaf_stack, machine_time, spaced
from flatwise.report.first_line import first_line, from_edges
from flatwise.report.height_map import height_map
from flatwise.report.limit_bars import face_bars, panel_bars
from flatwise.report.other_choices import as_planned, choice_rows, seating_rows
from flatwise.report.page import page
from flatwise.report.panel_drawing import edge_of_panel
from flatwise.report.plan_view import letter, plan_view, zero_here
from flatwise.report.section import section_of, section_scale, section_view, stack_view
from flatwise.report.toolpath import side_by_side
from flatwise.seat.flatness import face_flatness

#: what limits the feed, in the sheet's words
_FEED_LIMITS = {
    "machine": "limited by the machine",
    "chip_load": "limited by the chip load",
    "power": "limited by the power",
    "holding": "limited by the holders",
    "job": "as written in the job",
}

#: what the bar of a preview says while its job has no errors
FOLLOWS = "It follows the text in the editor. Build the job for its programs and its sheet."

#: where to measure the thickness after a cut, not on one line, so that the readings show a tilt and a twist as well
_MEASURED = ("front_left", "front_right", "centre", "back_left", "back_right")


def sheet(built: Built, *, preview: bool = False) -> str:
    """The sheet as HTML.  Raises ValueError for a job without a plan."""
    return sheet_page({**values(built), "batch": None}, preview=preview)


def sheet_page(shown: dict[str, Any], *, preview: bool = False) -> str:
    """The page that shows the values of a job or batch; a preview is marked, and no program has its `hash`."""
    from flatwise.report import sheet_template

    if preview:
        marked = {**shown, "hash": "preview", "preview": FOLLOWS}
        return page(sheet_template, ("sheet.css", "preview.css"), ("preview.js", "sheet.js"), **marked)
    return page(sheet_template, ("sheet.css",), ("sheet.js",), **shown, preview=False)


def values(built: Built, key: str = "") -> dict[str, Any]:
    """The values of a job for the template; `key` begins the names of its steps.  Raises ValueError without a plan."""
    plan = built.plan
    if plan is None:
        raise ValueError("a job without a plan has no sheet")
    work, unit = plan.work, display_unit(plan.work)
    return {
        "plan": plan,
        "work": work,
        "job": work.job,
        "unit": unit,
        "version": __version__,
        "hash": sources_hash(work),
        "setups": [_setup(plan, setup, unit, key) for setup in plan.setups],
        "zero_of": "board" if work.job.stock.is_bed else "panel as it lies now",
        "programs": sorted(built.programs),
        "fetch": fetch([plan]),
        "title": work.name,
        "collet": _collet(work),
        "corner": _in_words(work.job.zero.corner.corner),
        "parts": _parts(plan),
        "wood": _wood(plan),
        "panel_bars": panel_bars(plan),
        "as_planned": as_planned(plan) if plan.setups else "",
        "others": choice_rows(built),
        "seatings": seating_rows(built, unit) if plan.setups else [],
        "proofs": list(built.proofs.items()),
        "waived": [_waived(each, unit) for each in built.waived],
        "warnings": [finding for finding in built.findings if finding.severity == "warning"],
        "notes": [finding for finding in built.findings if finding.severity == "note"],
        "duration": duration,
        "spaced": spaced,
        "total": duration(machine_time(plan)),
    }


def _waived(each: Waived, unit: DisplayUnit) -> tuple[str, str, str, str]:
    """Rule, figure, limit and reason: a share for power, nothing for the survey, otherwise a length."""
    if each.rule == "survey":
        return each.rule, "none", "required", each.because
    said = (lambda value: f"{fixed(100 * value)}%") if each.rule == "power" else unit
    return each.rule, said(each.value), said(each.limit), each.because


def fetch(plans: Sequence[Plan]) -> list[tuple[str, str]]:
    """The things to bring to the machine for one program: (thing, how many or which)."""
    work = plans[0].work
    found = [
        (
            f"Cutter {work.cutter.name}",
            spaced(
                f"{work.cutter.diameter} across, {work.cutter.wings} wings, shank {work.cutter.shank}, "
                f"marked {work.cutter.speed.least} to {work.cutter.speed.most}"
            ),
        ),
        ("Collet", f"{_collet(work)}, for a shank of {spaced(work.cutter.shank)}"),
    ]
    holders = Counter((each.kind, each.name, each.height) for plan in plans for each in plan.work.holders)
    unit = display_unit(work)
    found += [
        (f"{kind.capitalize()}{'s' * (count != 1)}", f"{count} × {name}, {unit(height)} high")
        for (kind, name, height), count in sorted(holders.items())
    ]
    shims = [shim for plan in plans if plan.seating is not None and plan.setups for shim in plan.setups[0].shims]
    if shims:
        counts = Counter(each for shim in shims for each in shim.leaves)
        if counts:
            leaves = ", ".join(f"{count} × {spaced(leaf_mark(work, value))}" for value, count in sorted(counts.items()))
            longer = "; longer where taped, so that an end sticks out"
            found.append(("Leaves, 25 mm square", leaves + longer * any(map(_slips, shims))))
    paper = work.job.zero.z.paper
    if paper:
        found.append(("Paper", f"a strip {spaced(paper)} thick; measure it"))
    if not work.job.stock.is_bed:
        found.append(("Measuring tools", "calipers, feeler gauge, straightedge, pencil"))
    return found


def _collet(work: Work) -> str:
    collet = work.machine.collet
    code = getattr(collet, "code", None)
    return f"{code}" if code else spaced(f"{getattr(collet, 'least', '')} to {getattr(collet, 'most', '')}")


def _setup(plan: Plan, setup: Setup, unit: DisplayUnit, key: str) -> dict[str, Any]:
    """One face as the template shows it; `key` begins the names of its steps."""
    from markupsafe import Markup

    work, controller, touch = plan.work, plan.work.machine.controller, setup.touch
    worth = 25.4 if controller.units == "in" else 1.0

    def coordinate(value: float) -> str:
        return decimal(value / worth, controller.places) + " " + controller.units

    cut, radius = section_of(work, setup), float(work.cutter.diameter) / 2
    skipped = block_delete(work, setup)
    edges = {edge: edge_of_panel(work, setup.face, edge) for edge in EDGES}
    leaves = [_leaves(work, number, shim, unit) for number, shim in enumerate(setup.shims, 1)]
    lays = setup.face == "first" and not setup.again and not work.job.stock.is_bed
    free = free_beside(work)
    corner = work.job.zero.corner
    return {
        "face": setup.face,
        "key": key + setup.face,
        "job": work.name,
        "source": work.sources[0][0],
        "is_bed": work.job.stock.is_bed,
        "unit": unit,
        "corner": _in_words(corner.corner),
        "lies": [coordinate(float(corner.x)), coordinate(float(corner.y))],
        "setup": setup,
        # the pen escapes what the pictures show of a job
        "plan": Markup(plan_view(work, setup, None if work.job.stock.is_bed else cut.at)),
        "lays": lays,
        "laid": Markup(plan_view(work, setup, laying=True)) if lays else "",
        "laid_words": "Letters: holders, with the distance of their middle from the left end or front edge. "
        f"{'Numbers: leaves. ' * bool(setup.shims)}{'Red corner: X Y zero.' * zero_here(setup)}",
        "lead": first_line(work, setup, unit),
        "map": Markup(height_map(setup, unit, edges, radius))
        if not work.job.stock.is_bed and setup.highest - setup.lowest > 1e-3
        else "",
        "map_words": _map_words(setup, unit),
        "section": Markup(section_view(plan, setup)),
        "stack": Markup(stack_view(plan, setup)) if setup.passes else "",
        "ways": [(words, Markup(svg)) for words, svg in side_by_side(setup, radius)],
        "plan_words": _plan_words(work, setup),
        "section_words": _section_words(plan, setup, unit),
        "stack_words": "The passes above one another, with heights much enlarged (see the scale bar). The wood is "
        "drawn at its greatest height along the grain; the thin line is the smallest. Dotted: the greatest height "
        f"within the uncertainty of the {'board' if work.job.stock.is_bed else 'survey'}.",
        "turned": setup.face == "second",
        "turn": work.turned_edge,
        "turn_axis": "front edge goes to the back" if work.turn == "x" else "left end goes to the right",
        "edges": list(edges.items()),
        "front": edges["front"],
        "free_shape": _free_shape(plan, unit) if setup.face == "first" else "",
        "leaves": leaves,
        "tape": any(each["tape"] for each in leaves),
        "holders": [_holder(number, each, unit) for number, each in enumerate(setup.holders)],
        "dogs": _letters(setup, "dog"),
        "clamps": _letters(setup, "clamp"),
        "origin": [coordinate(value) for value in setup.origin_machine],
        "touch_at": [coordinate(touch.x - setup.origin[0]), coordinate(touch.y - setup.origin[1])],
        "bed_at": [coordinate(free[axis] - setup.origin[axis]) for axis in (0, 1)] if free is not None else [],
        "touch_from_edge": from_edges(touch.x, touch.y, setup.top.length, setup.top.width, unit),
        "touch_limit": unit(work.touch_limit(touch)),
        "face_z": [coordinate(setup.face_z), coordinate(setup.face_z + touch.paper)],
        "lift": coordinate(setup.lift - touch.zero),
        "shows": [coordinate(each.plane - touch.zero) for each in setup.passes],
        "skipped": skipped,
        "highest_z": "" if skipped is None else coordinate(skipped.highest_z),
        "feed": unit.feed(setup.feed),
        "feed_limit": _FEED_LIMITS.get(setup.feed_limit, setup.feed_limit),
        "measure": _measure(plan, setup),
        "bars": face_bars(plan, setup),
    }


def _map_words(setup: Setup, unit: DisplayUnit) -> str:
    """Caption of the height map, with the flatness of the face: what the cutter must remove however it is tilted."""
    ring = ", dashed ring: where to touch off" if setup.touch.on == "top" else ""
    return (
        "Heights of the face above the bed before the cut; darker is higher. ▲ the highest place, ▼ the lowest"
        f"{ring}. Flatness {unit(face_flatness(setup.top))} (minimum zone, ISO 1101)."
    )


def _plan_words(work: Work, setup: Setup) -> str:
    """A legend of the marks in the plan that the plan for laying has not."""
    shoe = " (wider dots: for the dust shoe)" if work.machine.shoe is not None else ""
    return (
        f"Dotted: the centre of a lowered cutter must not enter{shoe}. " * bool(setup.holders)
        + "Dashed red ring: touch off here. " * zero_here(setup)
        + "Dashed blue frame: limits of the cutter's centre."
        + " S: section." * (not work.job.stock.is_bed)
    )


def _section_words(plan: Plan, setup: Setup, unit: DisplayUnit) -> str:
    """Caption of the section, with its scale."""
    cut, tall = section_of(plan.work, setup), section_scale(plan, setup)
    end = "left end" if cut.across == "y" else "front edge"
    line = "" if plan.work.job.stock.is_bed else " on the line S"
    scale = f"Heights are enlarged {tall:g} times (see the scale bar)." if tall != 1 else ""
    planes = "Solid red: the plane of this face"
    if plan.setups[-1].face == "second":
        planes += "; dashed: the plane of the other face of the finished panel"
    return f"Section{line}, {unit.place(cut.at)} from the {end}. {scale} {planes}."


def _letters(setup: Setup, kind: str) -> str:
    """The letters of all holders of a kind: `A, B, C`."""
    return ", ".join(letter(index) for index, each in enumerate(setup.holders) if each.kind == kind)


def _leaves(work: Work, number: int, shim: Shim, unit: DisplayUnit) -> dict[str, Any]:
    return {
        "number": number,
        "place": _in_words(shim.place) or f"({unit(shim.x)}, {unit(shim.y)})",
        "stack": spaced(leaf_stack(work, shim.leaves)),
        "height": unit(shim.height),
        "gap": unit(shim.gap_left),
        "tape": _slips(shim),
    }


def _slips(shim: Shim) -> bool:
    """Whether leaves would slip unless taped: thinner than 0.1 mm, or with a gap above (common practice, no source)."""
    return min(shim.leaves) < 0.1 - 1e-9 or shim.gap_left > 5e-4


def _free_shape(plan: Plan, unit: DisplayUnit) -> str:
    """The panel's free shape by words of the survey, and what the readings show of it as the panel lies."""
    read = {name: value for name, value in plan.panel.read_shapes.items() if name in plan.panel.free_shapes}
    free, lies = (
        listed([shape_text(name, unit(abs(value)), value) for name, value in shapes.items()] or [""], "and")
        for shapes in (plan.panel.free_shapes, read)
    )
    return (free and f"Free shape: {free}. ") + (lies and f"As the panel lies, the readings show {lies}.")


def _holder(index: int, holder: Holder, unit: DisplayUnit) -> dict[str, str]:
    corner = f"front {holder.edge}" if holder.edge in ("left", "right") else f"{holder.edge} left"
    return {
        "letter": letter(index),
        "what": f"{holder.kind} {holder.name}",
        "edge": holder.edge,
        "at": unit.place_on_rule(holder.along),
        "corner": corner,
        "height": unit(holder.height),
    }


def _measure(plan: Plan, setup: Setup) -> dict[str, Any]:
    """Where to measure after this face, the expected thickness, and the line to write into the job."""
    work = plan.work
    if work.job.stock.is_bed:
        return {}
    last = setup is plan.setups[-1]
    expected: dict[str, float] = {}
    if setup.face == "first" and not last:
        # the heights of the second face are the thickness left by the first; back in the panel's own frame
        after = plan.setups[-1].top.turned(work.turn)
        for place in _MEASURED:
            x, y = (share * side for share, side in zip(PLACES[place], (work.length, work.width), strict=True))
            expected[place] = float(after.at(x, y))
    elif setup.face == "second":
        expected = dict.fromkeys(_MEASURED, setup.plane)
    unit = work.job.stock.size.thickness.unit or "mm"
    names = ", ".join(f"{place} ____{unit}" for place in _MEASURED)
    return {
        "places": [(place, _lies_at(work, setup, place)) for place in _MEASURED],
        "expected": expected,
        "line": f"after {setup.face} {{ thickness {names} }}",
    }


def _lies_at(work: Work, setup: Setup, place: str) -> str:
    """Where a place of the panel is on the bed in this setup, in words."""
    x, y = PLACES[place]
    if setup.face == "second":
        x, y = (x, 1.0 - y) if work.turn == "x" else (1.0 - x, y)
    return _in_words(next(name for name, at in PLACES.items() if at == (x, y)))


def _in_words(place: str) -> str:
    return place.replace("_", " ")


def _parts(plan: Plan) -> list[dict[str, Any]]:
    """The parts of the ±, each with its start and width on a bar for the whole sum (percent)."""
    # the machine's own board is not surveyed: the uncertainty is that of the board itself
    survey = "board" if plan.work.job.stock.is_bed else "survey"
    parts = [{"name": part.name.replace("survey", survey), "value": part.value} for part in plan.parts]
    return _on_a_bar(parts, plan.plus_minus)


def _wood(plan: Plan) -> list[dict[str, Any]]:
    """The shares of the mean thickness that are removed and left, as places on a bar (percent); [] for one face."""
    setups = plan.setups
    if len(setups) != 2 or plan.forecast <= 0:
        return []
    parts: list[dict[str, Any]] = [
        {"name": "The first face loses", "value": setups[0].removed_mean, "kind": "lost"},
        {"name": "the finished panel keeps", "value": plan.forecast, "kind": "kept"},
        {"name": "the second face loses", "value": setups[1].removed_mean, "kind": "lost"},
    ]
    return _on_a_bar(parts, sum(max(0.0, part["value"]) for part in parts))


def _on_a_bar(parts: list[dict[str, Any]], whole: float) -> list[dict[str, Any]]:
    """The parts with the start and width of each on a bar (percent)."""
    before = 0.0
    for part in parts:
        part |= {"start": before, "wide": 100 * max(0.0, part["value"]) / whole}
        before += part["wide"]
    return parts
