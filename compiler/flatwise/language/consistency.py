"""What the words of a declaration must mean together: after each line has been read by itself.

Each judge takes a model whose lines may be missing or unread (None) and says what it finds.  What needs a surface, a
plan or a machine's reach is judged later, by the checks.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator

from flatwise.core.finding import Finding
from flatwise.core.units import Quantity, show
from flatwise.core.wording import capitalised
from flatwise.findings import (
    fw101_unknown_word,
    fw103_declared_twice,
    fw104_wrong_kind,
    fw105_missing,
    fw107_out_of_bounds,
)
from flatwise.model.job import After, Balanced, Faces, HeldClamp, HeldDog, Job, Reading, SecondTo, Stock, Take, Waive
from flatwise.model.shop import Clamp, Cutter, Machine
from flatwise.model.words import ModelBlock, Place

Findings = Iterator[Finding]


def judge(model: ModelBlock) -> tuple[Finding, ...]:
    """What is wrong with a declaration as a whole."""
    judges: dict[type[ModelBlock], Callable[[str, ModelBlock], Findings]] = {
        Machine: _machine,
        Cutter: _cutter,
        Clamp: _clamp,
        Job: _job,
    }
    found = judges.get(type(model))
    return tuple(found(f"{model.kind} `{model.name}`", model)) if found else ()


# -- the shop ----------------------------------------------------------------------------------------------------


def _machine(owner: str, model: ModelBlock) -> Findings:
    assert isinstance(model, Machine)
    if model.tram is not None and model.tram.out >= model.tram.over:
        yield fw107_out_of_bounds.beyond(
            f"The spindle of {owner} would lean {model.tram.out} in {model.tram.over}, half over on its side.",
            model.span("tram"),
            "Write how far it leans over a length, such as `tram 0.02mm in 200mm`.",
            value=float(model.tram.out),
            limit=float(model.tram.over),
        )


def _cutter(owner: str, model: ModelBlock) -> Findings:
    assert isinstance(model, Cutter)
    if _both(model.depth, model.blade) and model.depth > model.blade:
        yield _more("depth", model.depth, "blade", model.blade, owner, model)
    if _both(model.blade, model.stick_out) and model.blade > model.stick_out:
        yield _more("blade", model.blade, "stick_out", model.stick_out, owner, model)


def _clamp(owner: str, model: ModelBlock) -> Findings:
    assert isinstance(model, Clamp)
    if model.pushes is not None and model.height is not None and model.pushes > model.height:
        yield _more("pushes", model.pushes, "height", model.height, owner, model)


def _both(one: Quantity | None, other: Quantity | None) -> bool:
    return one is not None and other is not None


def _more(word: str, value: Quantity, than: str, limit: Quantity, owner: str, model: ModelBlock) -> Finding:
    return fw107_out_of_bounds.beyond(
        f"`{word}` of {owner} is {value}, more than its `{than}` of {limit}.",
        value.span,
        f"Write at most {show(float(limit), value)}, or check the `{than}`.",
        limit.span,
        f"`{than}` is here",
        value=float(value),
        limit=float(limit),
    )


# -- the job -----------------------------------------------------------------------------------------------------


def _job(owner: str, model: ModelBlock) -> Findings:
    assert isinstance(model, Job)
    if _is(model.faces):
        yield from _faces(owner, model, model.faces)
    yield from _after(owner, model)
    yield from _waivers(model)
    if _is(model.stock):
        if model.stock.is_bed:
            yield from _bed(model, model.stock)
        yield from _glue_lines(owner, model.stock)
        if model.stock.size is not None:
            yield from _places(model)
            yield from _holders(owner, model)
    yield from _readings(model)


def _bed_job(job: Job) -> bool:
    return _is(job.stock) and job.stock.is_bed


def _is(block: ModelBlock | None) -> bool:
    """Whether a block that a whole job must have is there: the model's type says so, a half-read job may not."""
    return block is not None


def _faces(owner: str, job: Job, faces: Faces) -> Findings:
    first, second = faces.wrote("first"), faces.wrote("second")
    head = faces.head
    if not first and not second:
        yield fw105_missing.needed(
            f"The faces of {owner} name neither `first` nor `second`.",
            head,
            "Say what must come off: `first until clean`, and for both faces `second to 29mm` and "
            "`flip over long_edge`.",
        )
    if second and not faces.wrote("flip") and not _bed_job(job):
        yield fw105_missing.needed(
            f"The second face of {owner} is cut, but no `flip` says how the panel is turned over.",
            head,
            "Add a line such as `flip over long_edge`.",
            faces.span("second"),
            "the second face",
        )
    if second and not first and not (job.after_first is not None and job.after_first.wrote("thickness")):
        yield fw105_missing.needed(
            f"{capitalised(owner)} cuts the second face without the first, and no `after first` says "
            "what the panel measures now.",
            faces.span("second"),
            "Add `first until clean`, or the readings: `after first { thickness centre 30.40mm }`.",
        )
    if isinstance(faces.second, Balanced):
        yield fw104_wrong_kind.balanced(
            faces.span("second"),
            f"`balanced` of {owner} is for the first face; the second one decides what is left.",
            "Write `second to` and the thickness, such as `second to 29mm`.",
        )
    if isinstance(faces.first, Balanced) and not isinstance(faces.second, SecondTo):
        if not second:
            yield fw105_missing.needed(
                f"`first balanced` of {owner} needs the thickness that remains, and there is no `second`.",
                faces.span("first"),
                "Add a line such as `second to 29mm`.",
            )
        elif faces.second is not None and not isinstance(faces.second, Balanced):
            yield fw104_wrong_kind.balanced(
                faces.span("first"),
                f"`first balanced` of {owner} needs the thickness that remains, and `second` does not say one.",
                "Write `second to` and the thickness, such as `second to 29mm`.",
                faces.span("second"),
            )


def _after(owner: str, job: Job) -> Findings:
    for name, after in (("first", job.after_first), ("second", job.after_second)):
        if after is None:
            continue
        if not after.wrote("thickness") and not after.wrote("marks"):
            yield fw105_missing.needed(
                f"`after {name}` of {owner} holds no reading.",
                after.head,
                "Add a line such as `thickness centre 30.40mm`, or `marks left`.",
            )
        if not _is(job.faces):
            continue
        face = "second" if name == "second" or after.wrote("thickness") else "first"
        if not job.faces.wrote(face):
            yield fw105_missing.needed(
                f"`after {name}` of {owner} leads to a cut of the {face} face, which `faces` does not name.",
                after.head,
                f"Add a line such as `{face} {'to 29mm' if face == 'second' else 'until clean'}` to `faces`.",
            )


def _waivers(job: Job) -> Findings:
    from flatwise.findings import fw702_waiver

    first: dict[str, Waive] = {}
    for waive in job.waive:
        earlier = first.setdefault(waive.rule, waive)
        if earlier is not waive:
            yield fw103_declared_twice.word(f"waive {waive.rule}", f"job `{job.name}`", waive.span, earlier.span)
        if waive.reason is None or not waive.reason.strip():
            yield fw702_waiver.no_reason(waive.span, waive.rule)


def _bed(job: Job, stock: Stock) -> Findings:
    """`stock bed` takes only machine, standard, zero (corner, z top), cut, and faces with `first take`."""
    for word in ("survey", "supports", "hold", "waive", "after_first", "after_second"):
        if job.wrote(word):
            yield fw101_unknown_word.bed_only(word.replace("_", " "), job.span(word))
    if stock.wrote("glue_lines"):
        yield fw101_unknown_word.bed_only("glue_lines", stock.span("glue_lines"))
    if _is(job.zero) and job.zero.z is not None and job.zero.z.on == "bed":
        yield fw101_unknown_word.bed_only("z bed", job.zero.span("z"))
    if _is(job.faces):
        for word in ("second", "flip"):
            if job.faces.wrote(word):
                yield fw101_unknown_word.bed_only(word, job.faces.span(word))
        if job.faces.first is not None and not isinstance(job.faces.first, Take):
            written = {"UntilClean": "first until clean", "FirstTo": "first to", "Balanced": "first balanced"}
            yield fw101_unknown_word.bed_only(written[type(job.faces.first).__name__], job.faces.span("first"))


def _glue_lines(owner: str, stock: Stock) -> Findings:
    if stock.glue_lines is None or stock.size is None:
        return
    axis = stock.glue_lines.axis
    side = stock.size.length if axis == "x" else stock.size.width
    for line in stock.glue_lines.at:
        if not 0.0 < line < side:
            yield fw107_out_of_bounds.beyond(
                f"The glue line at {axis} {line} of {owner} is not inside the panel, which runs from 0 to {side}.",
                line.span,
                f"Write a place between 0 and {show(float(side), line)}.",
                side.span,
                "the panel's side",
                value=float(line),
                limit=float(side),
            )


def _places(job: Job) -> Findings:
    """Points lie on the panel."""
    from flatwise.findings import fw201_point_off_panel

    length, width = float(job.stock.size.length), float(job.stock.size.width)
    for place in _named(job):
        if not place.name and not (0.0 <= place.x <= length and 0.0 <= place.y <= width):
            yield fw201_point_off_panel.off(place.span, place.x, place.y, length, width)


def _named(job: Job) -> Iterator[Place]:
    for block in (job.survey, job.after_first, job.after_second):
        for reading in (*block.thickness, *getattr(block, "gap", ())) if block is not None else ():
            if isinstance(reading, Reading):
                yield reading.place
    if job.supports is not None:
        for under in job.supports.shims:
            yield from under.places
        for shim in job.supports.shim:
            yield shim.place


def _holders(owner: str, job: Job) -> Findings:
    """A dog or clamp stands beside the panel, not beyond the end of its edge."""
    if job.hold is None:
        return
    holders: tuple[HeldDog | HeldClamp, ...] = (*job.hold.dog, *job.hold.clamp)
    for held in holders:
        side = job.stock.size.width if held.edge in ("left", "right") else job.stock.size.length
        for at in held.at:
            if at.length is not None and at.length > side:
                yield fw107_out_of_bounds.beyond(
                    f"`{held.kind}` of {owner} stands at {at.text} of the {held.edge} edge, which is {side} long.",
                    at.span,
                    f"Write at most {side}, or a share such as `75%`.",
                    side.span,
                    "the edge's length",
                    value=at.length,
                    limit=float(side),
                )


def _readings(job: Job) -> Findings:
    """Thicknesses are more than nothing; one place is not given twice in two lines, unless they contradict.

    Two readings that contradict each other are for the survey to judge (FW202): it says by how much.
    """
    survey = job.survey
    blocks: list[tuple[str, tuple[object, ...], float]] = []
    if survey is not None:
        blocks = [(what, getattr(survey, what), float(survey.within)) for what in ("thickness", "gap")]
    after: After | None
    for after in (job.after_first, job.after_second):
        if after is not None:
            blocks.append(("thickness", after.thickness, float(after.off(survey))))
    for what, readings, off in blocks:
        first: dict[object, Reading] = {}
        for reading in readings:
            if not isinstance(reading, Reading):
                continue
            if what == "thickness" and reading.value <= 0.0:
                yield fw107_out_of_bounds.beyond(
                    f"A thickness of {reading.value} is not more than nothing.",
                    reading.value.span,
                    "Write what the calipers said.",
                    value=float(reading.value),
                    limit=0.0,
                )
            key = reading.place.name or (reading.place.x, reading.place.y)
            earlier = first.setdefault(key, reading)
            if earlier is not reading and abs(earlier.value - reading.value) <= 2.0 * off + 1e-9:
                yield fw103_declared_twice.reading(what, _spoken(reading.place), reading.span, earlier.span)
    shims: dict[object, Place] = {}
    for shim in job.supports.shim if job.supports is not None else ():
        key = shim.place.name or (shim.place.x, shim.place.y)
        place = shims.setdefault(key, shim.place)
        if place is not shim.place:
            yield fw103_declared_twice.reading("shim", _spoken(place), shim.place.span, place.span)


def _spoken(place: Place) -> str:
    return f"`{place.name}`" if place.name else f"({show(place.x)}, {show(place.y)})"
