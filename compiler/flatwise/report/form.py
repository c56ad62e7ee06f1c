"""The form for measuring: one self-contained HTML file that takes readings, checks them, and gives the survey."""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from hashlib import sha256
from typing import Any

import numpy as np

from flatwise import __version__
from flatwise.core.surface import Surface
from flatwise.core.units import UNITS, settled
from flatwise.core.wording import place_name
from flatwise.gcode.write import decimal, sources_hash
from flatwise.model.bed import BatchWork
from flatwise.model.job import WITHIN, Survey
from flatwise.model.measuring import Gain, Measured, MeasuredBatch, Walk
from flatwise.model.stages import Panel, Setup, Work
from flatwise.model.words import CORNERS, PLACES
from flatwise.report.display import DisplayUnit, display_unit, spaced
from flatwise.report.form_plan import form_plan
from flatwise.report.page import page
from flatwise.survey.next_readings import NextReading, Word, missing_places, next_readings

#: cells of the height map along the longer side
CELLS = 36


def form(work: Work, made: Measured, *, under: bool) -> bytes:
    """The form for the top, or with `under` for the lower face after turning, as HTML.

    The readings in `made` do not contradict each other, so it has a panel.
    """
    file = "under.csv" if under else "top.csv"
    return _form(work.name, sources_hash(work), [_values(work, made, file, under=under)], under=under)


def bed_form(batch: BatchWork, made: MeasuredBatch, *, under: bool) -> bytes:
    """The same for all panels of a batch: the cautions once, then a section for each panel, in the order of the walk.

    The file of points has the name of the job, since all jobs may lie in one folder.  The dial on the bed is read once.
    """
    sections: list[dict[str, Any]] = []
    known = {work.name: (work, own) for work, own in made.panels}
    order = [work.name for work, _ in made.walk.panels] if made.walk is not None else list(known)
    for work, own in (known[name] for name in order):
        file = f"{work.name}_{'under' if under else 'top'}.csv"
        unit = display_unit(work).symbol
        # readings are compared in one unit
        bed = next((k for k, each in enumerate(sections) if each["walk"] and each["unit"].symbol == unit), None)
        sections.append(_values(work, own, file, under=under, key=f"{work.name}-", bed=bed))
    return _form(batch.name, sources_hash(batch), sections, under=under, batch=True)


def _form(name: str, hash_: str, sections: list[dict[str, Any]], *, under: bool, batch: bool = False) -> bytes:
    from flatwise.report import form_template

    html = page(
        form_template,
        ("sheet.css", "form.css"),
        ("form.js",),
        name=name,
        hash=hash_,
        version=__version__,
        under=under,
        batch=batch,
        sections=sections,
        half=next((each["half"] for each in sections if each["walk"]), ""),
        spaced=spaced,
    )
    return html.encode("utf-8", "backslashreplace")


def _values(
    work: Work, made: Measured, file: str, *, under: bool, key: str = "", bed: int | None = None
) -> dict[str, Any]:
    """The values of one panel for the template; `key` begins its identifiers.

    `bed` is the number of an earlier panel whose form asks for the dial on the bed.
    """
    from markupsafe import Markup

    assert made.panel is not None
    panel, walk, unit = made.panel, made.walk, display_unit(work)
    probed = None if walk is None or under else np.array([(each.x, each.y, each.expected) for each in walk.stops])
    ranked = next_readings(work, probed)
    places = list(_place_fields(work, panel, ranked, unit, under=under))
    fields = [*_dial_fields(work, walk, unit, on_bed=bed is None), *places]
    data = {
        "unit": unit.symbol,
        "digits": 3 if unit.symbol == "mm" else 4,
        "file": file,
        "bed": bed,
        "word": "probe under" if under else "probe",
        "named": _named(work, file, under=under),
        "within": _within(work, unit),
        "bare": work.job.survey is None,
        "lines": f"{work.name}-survey.txt",
        "travel": walk and float(walk.gauge.travel) / unit.millimetres,
        "nominal": work.thickness / unit.millimetres,
        "fields": fields,
        "map": _map(work, panel, walk, unit, under=under),
    }
    points = json.dumps([[each[key] for key in ("id", "x", "y", "z")] for each in fields])
    data["key"] = f"flatwise/measure/{work.name}/{sha256(points.encode()).hexdigest()[:16]}"
    return {
        "key": key,
        "work": work,
        "walk": walk,
        "file": file,
        "unit": unit,
        "half": walk and unit.place(walk.press),
        "fields": fields,
        "plan": Markup(form_plan(work, "second" if under else "first", fields, key)),
        "others": _others(panel, ranked, unit, walk=walk is not None, under=under) if places else "",
        "edge": work.turned_edge,
        "given": _given(work),
        "gained": gained(made.gain, unit) if made.gain else (),
        "data": Markup(json.dumps(data, separators=(",", ":")).replace("<", "\\u003c")),
    }


def gained(gain: Gain, unit: DisplayUnit) -> tuple[str, ...]:
    """How much readings narrow what is known of the panel and of its thickness, and how many passes they save."""
    now, before = gain.known, gain.without

    def within(what: str, known: float, without: float) -> str:
        narrow, wide = unit.coarse(known), unit.coarse(without)
        return f"{what} within {narrow} instead of {wide}" if narrow != wide else f"{what} still within {wide}"

    def takes(face: Setup, was: Setup) -> str:
        count, instead = len(face.passes), len(was.passes)
        taken = f"takes {count} instead of {instead}" if count != instead else f"still takes {count}"
        return f"the {face.face} face {taken}"

    known, without = now.panel, before.panel
    saved = sum(len(face.passes) for face in before.setups) - sum(len(face.passes) for face in now.setups)
    count = f"{abs(saved)} pass{'es' if abs(saved) > 1 else ''}"
    say = f"They save {count}" if saved > 0 else f"They ask for {count} more" if saved else "They save no pass"
    return (
        f"With {' and '.join(gain.files) or 'the readings of the survey'}, "
        f"{within('the top is known', known.bound_upper.highest, without.bound_upper.highest)}, "
        f"{within('the thickness', known.bound_thickness.highest, without.bound_thickness.highest)}, "
        f"{within('the finished thickness', now.plus_minus, before.plus_minus)}.",
        f"{say}: {', '.join(takes(face, was) for face, was in zip(now.setups, before.setups, strict=True))}.",
    )


def _within(work: Work, unit: DisplayUnit) -> dict[str, Any]:
    """The uncertainty of a reading in the form's unit, and whether the job states it."""
    survey = work.job.survey
    if survey is not None and "within" in survey.model_fields_set:
        return {"job": True, "value": _number(float(survey.within), unit)}
    return {"job": False, "value": unit.coarse(float(WITHIN)).split()[0]}


def _named(work: Work, file: str, *, under: bool) -> bool:
    """Whether the job names the file that the form gives."""
    survey, face = work.job.survey, "under" if under else None
    return survey is not None and any(each.file == file and each.face == face for each in survey.probe)


def _number(value: float, unit: DisplayUnit) -> str:
    """A length in mm as the number of the form's unit, to the thousandth of a millimetre or the tenth of a thou."""
    return decimal(value / unit.millimetres, 3 if unit.symbol == "mm" else 4, point=False)


def _program_z(work: Work, height: float, unit: DisplayUnit) -> str:
    """The Z to which the program goes for a height (mm), in the form's unit: on the controller's last digit."""
    controller = work.machine.controller
    worth = UNITS[controller.units].worth
    rounded = round(settled(height / worth), controller.places) * worth
    return decimal(
        rounded / unit.millimetres, controller.places + (0 if unit.symbol == controller.units else 2), point=False
    )


def _dial_fields(work: Work, walk: Walk | None, unit: DisplayUnit, *, on_bed: bool) -> Iterator[dict[str, Any]]:
    """The dial at each stop, and before that on the bed if this form asks for it.

    Each has kind, title, hint, place, and the expected height with its bound in the form's unit.
    """
    if walk is None:
        return
    half = unit.place(walk.press)
    if on_bed:
        yield {
            "id": "bed", "kind": "bed", "mark": "bed", "title": "Dial on the bed", "x": "", "y": "", "z": "",
            "hint": f"The gauge on the bare bed beside the panel, pressed by half its travel ({half}), at program Z 0. "
            "All other dial readings are compared with this one.",
        }  # fmt: skip
    for stop in walk.stops:
        yield {
            "id": f"d{stop.number}", "kind": "dial", "mark": str(stop.number), "title": f"Dial at point {stop.number}",
            "hint": f"{unit.place(stop.x)} from the left end, {unit.place(stop.y)} from the edge toward you. Pressed "
            "in further counts up.",
            "x": _number(stop.x, unit), "y": _number(stop.y, unit), "z": _program_z(work, stop.expected, unit),
            "bound": stop.bound / unit.millimetres,
        }  # fmt: skip


def _place_fields(
    work: Work, panel: Panel, ranked: Sequence[NextReading], unit: DisplayUnit, *, under: bool
) -> Iterator[dict[str, Any]]:
    """Thickness and gap at the named places, as `_dial_fields`; `place` is the panel's own name."""
    for word, name, useful in _at_places(work, ranked, under=under):
        x, y = PLACES[name][0] * work.length, PLACES[name][1] * work.width
        low, high = float(panel.lower.at(x, y)), float(panel.upper.at(x, y))
        bound = panel.bound_lower.over if word == "gap" else panel.bound_thickness
        now = work.turned(x, y) if under else (x, y)
        yield {
            "id": f"{word}-{name}", "kind": word, "mark": name.replace("_", " "), "place": name,
            "title": f"{word.capitalize()} at {place_name(name)}",
            "hint": _how(word, name) + ("" if useful else " A check: it narrows nothing."),
            "x": _number(now[0], unit), "y": _number(now[1], unit),
            "z": _number(low if word == "gap" else high - low, unit), "bound": float(bound.at(x, y)) / unit.millimetres,
        }  # fmt: skip


def _how(word: str, name: str) -> str:
    if word == "gap":
        corner = " A corner without a reading counts as touching." if name in CORNERS else ""
        return f"Feeler gauge under the edge, the panel lying free on the bed. 0 where it touches.{corner}"
    return (
        "Calipers with deep jaws; leave it empty if yours do not reach."
        if name == "centre"
        else "Calipers over the edge."
    )


def _at_places(work: Work, ranked: Sequence[NextReading], *, under: bool) -> Iterator[tuple[Word, str, bool]]:
    """(word, place, whether it narrows the plan) of the readings that the job does not have, the most useful first."""
    best = [(each.word, each.place) for each in ranked]
    block = work.job.survey or Survey()
    words: tuple[Word, ...] = ("thickness",) if under else ("thickness", "gap")
    missing = [(word, name) for word in words for name in missing_places(work, block, word)]
    gaps = [index for index, (word, _) in enumerate(best) if word == "gap"]
    if gaps:
        # once any gap is given, a corner without one counts as touching: feel there first
        best[gaps[0] : gaps[0]] = [one for one in missing if one[0] == "gap" and one[1] in CORNERS]
    for word, name in (*(one for one in best if one in missing), *(one for one in missing if one not in best)):
        yield word, name, (word, name) in best


def _others(panel: Panel, ranked: Sequence[NextReading], unit: DisplayUnit, *, walk: bool, under: bool) -> str:
    """How much calipers and feelers narrow the forecast, or what they are for."""
    if under:
        return "Three readings of thickness, not on one line, tie the lower face to the top."
    if not ranked:
        return "Readings by calipers and feelers would only be checks: they narrow nothing."
    now, last = panel.bound_upper.highest, ranked[-1]
    return (
        f"{'After the dial, the' if walk else 'The'} most useful readings by calipers and feelers come first. With "
        f"{'the dial and ' if walk else ''}all of them the top is known within {unit.coarse(last.top)} instead of "
        f"{unit.coarse(now)}, the thickness within {unit.coarse(last.thickness)} instead of "
        f"{unit.coarse(panel.bound_thickness.highest)}."
    )


def _map(work: Work, panel: Panel, walk: Walk | None, unit: DisplayUnit, *, under: bool) -> dict[str, Any]:
    """The forecast of what each kind of field measures, at the middles of cells, row by row from the front.

    Below, lengths in mm are those of the drawing; heights are in the form's unit.
    """
    cell = max(work.length, work.width) / CELLS
    nx, ny = max(2, round(work.length / cell)), max(2, round(work.width / cell))
    xs, ys = (np.arange(nx) + 0.5) * work.length / nx, (np.arange(ny) + 0.5) * work.width / ny
    thickness = panel.upper.raised(panel.lower, -1.0)
    if under:
        thickness = thickness.turned(work.turn)
    dial = walk.top if walk is not None else panel.upper

    def heights(surface: Surface) -> list[float]:
        return [round(settled(float(value) / unit.millimetres), 4) for value in surface.grid(xs, ys).ravel()]

    base = {"dial": heights(dial), "thickness": heights(thickness), "gap": heights(panel.lower)}
    return {"nx": nx, "ny": ny, "length": work.length, "width": work.width, "worth": unit.millimetres, "base": base}


def _given(work: Work) -> str:
    """`9 of thickness, 3 of gap`: the readings that the job has."""
    survey = work.job.survey
    if survey is None:
        return ""
    counts = [(len(survey.thickness), "of thickness"), (len(survey.gap), "of gap"), (len(survey.probe), "from files")]
    return ", ".join(f"{count} {what}" for count, what in counts if count)
