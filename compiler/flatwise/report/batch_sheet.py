"""The sheet of a batch: the bed and the steps for all panels in the order of the work, then a page for each panel."""

from __future__ import annotations

from typing import Any

from flatwise.gcode.write import sources_hash
from flatwise.model.bed import BatchFace, BatchPlan
from flatwise.model.built import BuiltBatch
from flatwise.report.display import display_unit, duration, machine_time
from flatwise.report.sheet import fetch, sheet_page, values
from flatwise.report.svg import BOLD, Anchor, Lettering, Pen, tip


def batch_sheet(built: BuiltBatch, *, preview: bool = False) -> str:
    """The sheet as HTML.  Raises ValueError for a batch without a plan."""
    from markupsafe import Markup

    plan = built.plan
    if plan is None:
        raise ValueError("a batch without a plan has no sheet")
    panels = [values(panel, f"panel-{panel.plan.work.name}-") for panel in built.panels if panel.plan is not None]
    first = panels[0]
    lying = [own["setups"][0] for own in panels]
    shown = {
        "name": plan.batch.name,
        "panels": panels,
        "faces": [_face(face, panels) for face in plan.faces],
        "bed": Markup(bed_view(plan)),
        "places": [_place(each) for each in panels],
        "leaves": any(each["leaves"] for each in lying),
        "tape": any(each["tape"] for each in lying),
        "line": lying[0]["measure"]["line"],
        "laid": plan.batch.start is not None,
        "notes": [f"{each.work.name}: {note}" for each in plan.plans for note in each.notes],
    }
    own = {
        **first,
        "batch": shown,
        "title": plan.batch.name,
        "zero_of": f"panel {first['work'].name}",
        "hash": sources_hash(plan.batch),
        "programs": sorted(built.programs),
        "fetch": fetch(plan.plans),
        "waived": [(f"{each['work'].name}: {rule}", *rest) for each in panels for rule, *rest in each["waived"]],
        "warnings": [finding for finding in built.findings if finding.severity == "warning"],
        "notes": [finding for finding in built.findings if finding.severity == "note"],
        "total": duration(machine_time(plan)),
    }
    return sheet_page(own, preview=preview)


def _face(face: BatchFace, panels: list[dict[str, Any]]) -> dict[str, Any]:
    """One program as the template shows it: its panels in the order in which they are cut, and in that of the jobs."""
    numbered = [
        {**setup, "number": number}
        for number, own in enumerate(panels, 1)
        for setup in own["setups"]
        if setup["face"] == face.face
    ]
    known = {each["job"]: each for each in numbered}
    # zero and touch place are those of the first job, where it has this face
    zero = known.get(panels[0]["work"].name, numbered[0])
    return {
        "face": face.face,
        "panels": [known[plan.work.name] for plan, _ in face.panels],
        "in_order_of_jobs": numbered,
        "left_lying": [own["work"].name for own in panels if own["work"].name not in known],
        "zero": {**zero, "key": f"bed-{face.face}"},
        "passes": sum(len(setup.passes) for _, setup in face.panels),
        "time": duration(face.time),
    }


def _place(own: dict[str, Any]) -> tuple[str, str, str, str, str]:
    """A panel's name, size and wood, and where which corner lies, in machine X and Y."""
    size, setup = own["job"].stock.size, own["setups"][0]
    spaced = own["spaced"]
    said = f"{spaced(size.length)} × {spaced(size.width)} {own['job'].stock.wood.replace('_', ' ')}"
    return own["work"].name, said, setup["corner"], *setup["lies"]


def bed_view(plan: BatchPlan) -> str:
    """One `<svg>`: the travel, all panels and their holders, zero and the place to touch off, in machine X and Y."""
    first = plan.plans[0].work
    x1, y1 = float(first.machine.travel.x), float(first.machine.travel.y)
    radius, unit = float(first.cutter.diameter) / 2, display_unit(first)
    room = max(x1, y1) / 15.0
    pen = Pen(-1.4 * room, x1 + room / 2, -1.2 * room, y1 + room / 2)
    letters, parts = Lettering(pen), [pen.box(0.0, 0.0, x1, y1, "reach")]
    for number, each in enumerate(plan.plans, 1):
        setup, work = each.setups[0], each.work
        x, y = (machine - own for machine, own in zip(setup.origin_machine, setup.origin, strict=True))
        parts.append(pen.box(x, y, x + work.length, y + work.width, "panel"))
        for holder in work.holders:
            box = (holder.x0 + x, holder.y0 + y, holder.x1 + x, holder.y1 + y)
            middle = ((box[0] + box[2]) / 2, (box[1] + box[3]) / 2)
            dog = holder.kind == "dog"
            shape = pen.circle(*middle, (box[2] - box[0]) / 2, "dog") if dog else pen.box(*box, "clamp")
            words = f"{holder.kind.capitalize()} {holder.name} of {work.name}, {unit(holder.height)} high."
            parts.append(tip(words, shape))
        middle = (x + work.length / 2, y + work.width / 2)
        named = f"{number} {work.name}"
        mark = named if len(named) * BOLD * pen.size < work.length else f"{number}"
        parts.append(letters.put(mark, [Anchor(*middle)], "number", bold=True))
    setup = plan.plans[0].setups[0]
    zero = setup.origin_machine
    touch = (setup.touch.x - setup.origin[0] + zero[0], setup.touch.y - setup.origin[1] + zero[1])
    arm, where = 2.4 * pen.size, f"machine X {unit(touch[0])}, Y {unit(touch[1])}"
    parts += [
        pen.path([(zero[0] + arm, zero[1]), zero, (zero[0], zero[1] + arm)], "zero"),
        tip(f"Touch off here, on the bare bed: {where}.", pen.circle(*touch, radius, "touch")),
        pen.across(0.0, x1, -0.6 * room, unit.place(x1)),
        pen.upright(0.0, y1, -0.5 * room, unit.place(y1)),
    ]
    return pen.picture("plan", f"The bed with {len(plan.plans)} panels, seen from above", parts)
