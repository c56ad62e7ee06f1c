"""Lines of a declaration that do not go together, though each is right by itself.

Each check takes a model in which lines may be missing (None).  What needs a surface, a plan or the machine's reach is
checked in later stages.
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_most
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
from flatwise.model.shop_rules import Rules
from flatwise.model.words import ModelBlock, Place

#: the most places among which the compiler chooses those for leaves
MOST_PLACES = 30
#: the most dogs and clamps of a panel: each is compared with each
MOST_HOLDERS = 100


def check_declaration(model: ModelBlock) -> Iterator[Finding]:
    """The findings about a declaration as a whole."""
    owner = f"{model.kind} `{model.name}`"
    match model:
        case Machine():
            yield from _machine(owner, model)
        case Cutter():
            yield from _not_above("depth", model.depth, "blade", model.blade, owner)
            yield from _not_above("blade", model.blade, "stick_out", model.stick_out, owner)
        case Clamp():
            yield from _not_above("pushes", model.pushes, "height", model.height, owner)
        case Job():
            yield from _job(owner, model)


# -- the shop ----------------------------------------------------------------------------------------------------


def _machine(owner: str, machine: Machine) -> Iterator[Finding]:
    if machine.tram is not None and machine.tram.out >= machine.tram.over:
        yield fw107_out_of_bounds.beyond(
            f"The spindle of {owner} would lean {machine.tram.out} in {machine.tram.over}, half over on its side.",
            machine.span("tram"),
            "Write how far it leans over a length, such as `tram 0.02mm in 200mm`.",
            value=float(machine.tram.out),
            limit=float(machine.tram.over),
        )


def _not_above(word: str, value: Quantity | None, than: str, limit: Quantity | None, owner: str) -> Iterator[Finding]:
    """One length of a declaration that may not be above another."""
    if value is None or limit is None or value <= limit:
        return
    yield fw107_out_of_bounds.beyond(
        f"`{word}` of {owner} is {value}, more than its `{than}` of {limit}.",
        value.span,
        f"Write at most {at_most(float(limit), value)}, or check the `{than}`.",
        limit.span,
        f"`{than}` is here",
        value=float(value),
        limit=float(limit),
    )


def check_digits(job: Job, machine: Machine, cutter: Cutter, rules: Rules) -> Iterator[Finding]:
    """The last digit of a coordinate is at most a tenth of each depth and of the tolerance: planes lie on it."""
    second = job.faces.second
    depths: list[tuple[str, Quantity | None]] = [
        ("the job's `depth`", job.cut.depth),
        ("the job's `finish`", job.cut.finish),
        ("the cutter's `depth`", cutter.depth),
        ("the tolerance", second.within if isinstance(second, SecondTo) else None),
    ]
    limits = [(float(value), what, value, value.span) for what, value in depths if value is not None]
    if job.cut.depth is None and rules.depth is not None:
        limits.append((rules.depth, "the standard's `depth`", cutter.depth, rules.spans["depth"]))
    value, what, unit, written = min(limits, key=lambda limit: limit[0])
    if machine.controller.digit > value / 10.0 + 1e-12:
        yield fw107_out_of_bounds.digits(machine, what, value, unit, written)


def check_corners(machine: Machine, cutter: Cutter) -> Iterator[Finding]:
    """A machine rounds its corners by at most a quarter of the cutter's diameter: rows still overlap."""
    corners, most = machine.controller.corners, float(cutter.diameter) / 4.0
    if corners != "exact" and machine.controller.rounding > most + 1e-9:
        yield fw107_out_of_bounds.beyond(
            f"Machine `{machine.name}` rounds corners by up to {corners.by}, more than a quarter of the diameter of "
            f"cutter `{cutter.name}`, {cutter.diameter}.",
            corners.by.span,
            f"Use a wider cutter, or set the machine to at most {at_most(most, corners.by)} and write that.",
            cutter.diameter.span,
            "the diameter is set here",
            value=machine.controller.rounding,
            limit=most,
        )


# -- the job -----------------------------------------------------------------------------------------------------


def _job(owner: str, job: Job) -> Iterator[Finding]:
    if _given(job.faces):
        yield from _faces(owner, job, job.faces)
    yield from _after(owner, job)
    yield from _waivers(job)
    yield from _leaf_places(owner, job)
    if _given(job.stock):
        if job.stock.is_bed:
            yield from _bed(job, job.stock)
        yield from _glue_lines(owner, job.stock)
        if job.stock.size is not None:
            yield from _places(job)
            yield from _holders(owner, job)
    yield from _readings(job)


def _given(block: ModelBlock | None) -> bool:
    """Whether a required block is there: the model's type says that it is, but the job may not have been read whole."""
    return block is not None


def _faces(owner: str, job: Job, faces: Faces) -> Iterator[Finding]:
    first, second = faces.wrote("first"), faces.wrote("second")
    if not first and not second:
        yield fw105_missing.needed(
            f"The faces of {owner} name neither `first` nor `second`.",
            faces.head,
            "Say what must come off: `first until clean`, and for both faces `second to 29mm` and "
            "`flip over long_edge`.",
        )
    if second and not faces.wrote("flip") and not (_given(job.stock) and job.stock.is_bed):
        yield fw105_missing.needed(
            f"The second face of {owner} is cut, but no `flip` says how the panel is turned over.",
            faces.head,
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
    yield from _balanced(owner, faces)


def _balanced(owner: str, faces: Faces) -> Iterator[Finding]:
    if isinstance(faces.second, Balanced):
        yield fw104_wrong_kind.balanced(
            faces.span("second"),
            f"`balanced` of {owner} is for the first face; the second one decides what is left.",
        )
    if not isinstance(faces.first, Balanced) or isinstance(faces.second, SecondTo | Balanced):
        return
    if not faces.wrote("second"):
        yield fw105_missing.needed(
            f"`first balanced` of {owner} needs the thickness that remains, and there is no `second`.",
            faces.span("first"),
            "Add a line such as `second to 29mm`.",
        )
    elif faces.second is not None:
        yield fw104_wrong_kind.balanced(
            faces.span("first"),
            f"`first balanced` of {owner} needs the thickness that remains, and `second` gives none.",
            faces.span("second"),
        )


def _after(owner: str, job: Job) -> Iterator[Finding]:
    for name, after in (("first", job.after_first), ("second", job.after_second)):
        if after is None:
            continue
        if not after.wrote("thickness") and not after.wrote("marks"):
            yield fw105_missing.needed(
                f"`after {name}` of {owner} holds no reading.",
                after.head,
                "Add a line such as `thickness centre 30.40mm`, or `marks left`.",
            )
        face = "second" if name == "second" or after.wrote("thickness") else "first"
        if _given(job.faces) and not job.faces.wrote(face):
            yield fw105_missing.needed(
                f"`after {name}` of {owner} leads to a cut of the {face} face, which `faces` does not name.",
                after.head,
                f"Add a line such as `{face} {'to 29mm' if face == 'second' else 'until clean'}` to `faces`.",
            )


def _waivers(job: Job) -> Iterator[Finding]:
    from flatwise.findings import fw702_waiver

    first: dict[str, Waive] = {}
    for waive in job.waive:
        earlier = first.setdefault(waive.rule, waive)
        if earlier is not waive:
            yield fw103_declared_twice.word(f"waive {waive.rule}", f"job `{job.name}`", waive.span, earlier.span)
        if waive.reason is None or not waive.reason.strip():
            yield fw702_waiver.no_reason(waive.span, waive.rule)


def _bed(job: Job, stock: Stock) -> Iterator[Finding]:
    """`stock bed` takes only machine, standard, zero (corner, z top), cut, and faces with `first take`."""
    for word in ("survey", "supports", "hold", "waive", "after_first", "after_second"):
        if job.wrote(word):
            yield fw101_unknown_word.bed_only(word.replace("_", " "), job.span(word))
    if stock.wrote("glue_lines"):
        yield fw101_unknown_word.bed_only("glue_lines", stock.span("glue_lines"))
    if _given(job.zero) and job.zero.z is not None and job.zero.z.on == "bed":
        yield fw101_unknown_word.bed_only("z bed", job.zero.span("z"))
    if not _given(job.faces):
        return
    for word in ("second", "flip"):
        if job.faces.wrote(word):
            yield fw101_unknown_word.bed_only(word, job.faces.span(word))
    if job.faces.first is not None and not isinstance(job.faces.first, Take):
        written = {"UntilClean": "first until clean", "FirstTo": "first to", "Balanced": "first balanced"}
        yield fw101_unknown_word.bed_only(written[type(job.faces.first).__name__], job.faces.span("first"))


def _glue_lines(owner: str, stock: Stock) -> Iterator[Finding]:
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


def _places(job: Job) -> Iterator[Finding]:
    """Points must lie on the panel."""
    from flatwise.findings import fw201_point_off_panel

    length, width = float(job.stock.size.length), float(job.stock.size.width)
    for place in _all_places(job):
        if not place.name and not (0.0 <= place.x <= length and 0.0 <= place.y <= width):
            yield fw201_point_off_panel.off(place.span, place.x, place.y, length, width)


def _leaf_places(owner: str, job: Job) -> Iterator[Finding]:
    """The search for leaves tries places together, so it takes only so many."""
    places = [place for shims in (job.supports.shims if job.supports is not None else ()) for place in shims.places]
    if len(places) > MOST_PLACES:
        yield fw107_out_of_bounds.beyond(
            f"{capitalised(owner)} names {len(places)} places for leaves; {MOST_PLACES} are the most that can be "
            "tried together.",
            places[MOST_PLACES].span,
            "Name fewer places: corners, middles of the edges and the centre are nearly always enough.",
            value=len(places),
            limit=MOST_PLACES,
        )


def _all_places(job: Job) -> Iterator[Place]:
    for block in (job.survey, job.after_first, job.after_second):
        for reading in (*block.thickness, *getattr(block, "gap", ())) if block is not None else ():
            if isinstance(reading, Reading):
                yield reading.place
    if job.supports is not None:
        for shims in job.supports.shims:
            yield from shims.places
        for shim in job.supports.shim:
            yield shim.place


def _holders(owner: str, job: Job) -> Iterator[Finding]:
    """A dog or clamp must stand beside the panel, not beyond the end of its edge."""
    if job.hold is None:
        return
    holders: tuple[HeldDog | HeldClamp, ...] = (*job.hold.dog, *job.hold.clamp)
    places = [at for held in holders for at in held.at]
    if len(places) > MOST_HOLDERS:
        yield fw107_out_of_bounds.beyond(
            f"{capitalised(owner)} has {len(places)} dogs and clamps; {MOST_HOLDERS} are the most for one panel.",
            places[MOST_HOLDERS].span,
            "Name those that are set up.",
            value=len(places),
            limit=MOST_HOLDERS,
        )
    for held in holders:
        side = job.stock.size.width if held.edge in ("left", "right") else job.stock.size.length
        for at in held.at:
            if at.dimension == "length" and at > side:
                yield fw107_out_of_bounds.beyond(
                    f"`{held.kind}` of {owner} stands at {at} of the {held.edge} edge, which is {side} long.",
                    at.span,
                    f"Write at most {side}, or a share such as `75%`.",
                    side.span,
                    "the edge's length",
                    value=float(at),
                    limit=float(side),
                )


def _readings(job: Job) -> Iterator[Finding]:
    if job.survey is not None:
        within = float(job.survey.within)
        yield from _above_zero(job.survey.thickness)
        yield from _twice("thickness", job.survey.thickness, within)
        yield from _twice("gap", job.survey.gap, within)
    after: After | None
    for after in (job.after_first, job.after_second):
        if after is not None:
            yield from _above_zero(after.thickness)
            yield from _twice("thickness", after.thickness, float(after.uncertainty(job.survey)))
    shims: dict[object, Place] = {}
    for shim in job.supports.shim if job.supports is not None else ():
        place = shims.setdefault(_where(shim.place), shim.place)
        if place is not shim.place:
            yield fw103_declared_twice.reading("shim", _spoken(place), shim.place.span, place.span)


def _above_zero(readings: tuple[object, ...]) -> Iterator[Finding]:
    for reading in readings:
        if isinstance(reading, Reading) and reading.value <= 0.0:
            yield fw107_out_of_bounds.beyond(
                f"A thickness of {reading.value} is not more than nothing.",
                reading.value.span,
                "Write what the calipers said.",
                value=float(reading.value),
                limit=0.0,
            )


def _twice(what: str, readings: tuple[object, ...], within: float) -> Iterator[Finding]:
    """Readings of one place that agree within their uncertainty (mm); the survey judges those that don't (FW202)."""
    first: dict[object, Reading] = {}
    for reading in readings:
        if not isinstance(reading, Reading):
            continue
        earlier = first.setdefault(_where(reading.place), reading)
        if earlier is not reading and abs(earlier.value - reading.value) <= 2.0 * within + 1e-9:
            yield fw103_declared_twice.reading(what, _spoken(reading.place), reading.span, earlier.span)


def _where(place: Place) -> object:
    return place.name or (place.x, place.y)


def _spoken(place: Place) -> str:
    return f"`{place.name}`" if place.name else f"({show(place.x)}, {show(place.y)})"
