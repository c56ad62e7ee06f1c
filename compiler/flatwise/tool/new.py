"""`flatwise new`: a first job to fill in, from what the files of `shared/` declare, and a shop if there is none."""

from __future__ import annotations

import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping
from contextlib import suppress
from functools import partial
from pathlib import Path
from string import Template

from flatwise.model.words import PLACES
from flatwise.sources.project import read_project
from flatwise_grammar import format_text, parse
from flatwise_grammar.nodes import Block

_NAME = re.compile(r"[a-z][a-z0-9_]{0,99}")
#: a number as the language has it, and its unit if it has one
_LENGTH = re.compile(r"([0-9]+(?: [0-9]+)?/[0-9]+|[0-9]+(?:\.[0-9]+)?)\s*([a-z]*)")
_SIZE = "900mm x 500mm x 32mm"
#: the kinds that a job names, with the names in the example shop, which are also the first choice elsewhere
_EXAMPLES = {
    "machine": "bench_router",
    "standard": "solid_tops",
    "cutter": "fly_64",
    "dog": "low_dog",
    "clamp": "side_cam",
    "shims": "leaf_set",
    "gauge": "dial_10",
}
#: the options, with what `--ask` asks for each
QUESTIONS = {
    "size": "Length x width x nominal thickness",
    "left": "Thickness of the finished panel",
    "wood": "Wood",
    "machine": "Machine",
    "cutter": "Cutter",
    "standard": "The shop's standard",
}
#: (word, places) of the readings, row by row from the back edge; no feeler reaches the centre
_ROWS = [
    (word, [place for place, at in PLACES.items() if at[1] == y and (word, place) != ("gap", "centre")])
    for word in ("thickness", "gap")
    for y in (1.0, 0.5, 0.0)
]
_READINGS = [(word, place) for word, row in _ROWS for place in row]
#: figures of the job, by the unit of its size
_FIGURES = {
    "mm": {"paper": "0.05mm", "overrun": "6mm", "tolerance": "0.5mm", "finish": "0.2mm"},
    "in": {"paper": "0.003in", "overrun": "1/4in", "tolerance": "0.020in", "finish": "0.008in"},
}
#: what both faces lose together unless it is given
_LOST = {"mm": 3.0, "in": 0.125}
#: places of the corner, tried in turn until the cut stays within the travel
_CORNERS = {"mm": ("120mm", "80mm", "50mm", "10mm"), "in": ("5in", "3in", "2in", "1/2in")}
_WALK = """walk ${gauge} at 5 x 3  # the points that `flatwise measure` visits with this gauge
# probe      "top.csv"  # the heights of these points, saved from its form beside this file"""

#: kind → name → block of what the files of `shared/` declare
Declared = Mapping[str, Mapping[str, Block]]
#: what the job is for, by the words of QUESTIONS; "" takes the default
Options = Mapping[str, str]
#: (word, place) → the reading as the language writes it
Readings = Mapping[tuple[str, str], str]
#: asks a question with its default; returns the answer, "" for the default; raises EOFError where the input ends
Ask = Callable[[str, str], str]


class NotWritten(Exception):
    """The job file was not written; the text says why, for a person."""


def answer(question: str, default: str) -> str:
    """The answer that a person types at the terminal."""
    if sys.stdin is None:
        raise EOFError
    try:
        return input(f"{question} [{default}]: ")
    except EOFError:
        print()
        raise


def write_new(name: str, root: Path, options: Options, ask: Ask | None = None) -> str:
    """Write `jobs/NAME.flat` below `root`, never over an existing file; returns what to print.

    The job uses what the files in `shared/` declare; if there are none, an example shop is written too.  With `ask`,
    each open question is asked, then each reading; where the input ends, the job has what was given until then.

    Raises NotWritten for a name that the language can't take, an existing file, and an option that nothing in
    `shared/` meets; OSError where the disk refuses.
    """
    path, shop = _free_path(name, root), root / "shared" / "shop.flat"
    declared = _declared(_shared_texts(root))
    no_shop = not declared
    declared = declared or _declared([(shop, _data("new_shop.flat"))])
    required = read_project(root.resolve(), root.resolve())[0].standard
    if not options["standard"] and required in declared.get("standard", {}):
        options = {**options, "standard": required}
    readings: Readings = {}
    settled = _settled(options, declared)  # what nothing meets is reported before the first question
    if ask is not None:
        options, readings = _ask_for_the_rest(options, declared, ask)
        settled = _settled(options, declared)
    if no_shop:
        _create(shop, _data("new_shop.flat"))
    errors, text = _with_fewest_errors(path, settled, declared)
    if errors and errors[0].startswith(("FW501", "FW502")):  # a thin panel: the lowest dog and clamp may hold it
        from flatwise.language.items import height_of

        lowest = {
            kind: min(declared[kind], key=lambda name: height_of(declared[kind][name])) for kind in ("dog", "clamp")
        }
        lower, other = _with_fewest_errors(path, {**settled, **lowest}, declared)
        errors, text = (lower, other) if len(lower) < len(errors) else (errors, text)
    text = _with_survey(text, settled, readings)
    if not _create(path, text):
        raise _exists(name)
    lines = [f"Wrote jobs/{name}.flat."]
    if no_shop:
        lines.append("Wrote shared/shop.flat, an invented shop: put in the figures of your own machine and cutters.")
    if readings:
        errors = _errors(path, text)
    else:
        walk = ", and a program that takes a dial gauge over the panel" * ("gauge" in settled)
        lines += [
            "Its survey is empty: check reports FW205 until the panel is measured and the readings are in the job.",
            f"Next: flatwise measure jobs/{name}.flat writes a form for the readings{walk}.",
            "Or fill in what calipers and feelers say. Isolate the spindle while your hands are on the bed.",
        ]
    if errors and errors[0].startswith("FW202"):
        lines.append(f"The readings can't all be right; they are in the job as given: {errors[0]}")
    elif errors:
        lines.append(f"It does not compile yet: {errors[0]}")
    return "\n".join(lines)


def _free_path(name: str, root: Path) -> Path:
    if not _NAME.fullmatch(name):
        similar = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")
        proposal = f" Try {similar}." if _NAME.fullmatch(similar) else ""
        raise NotWritten(
            f"A job's name starts with a lowercase letter and has only lowercase letters, digits and _.{proposal}"
        )
    path = root / "jobs" / f"{name}.flat"
    if path.exists():
        raise _exists(name)
    return path


def _exists(name: str) -> NotWritten:
    return NotWritten(f"jobs/{name}.flat exists already and was not changed. Choose another name.")


def _data(name: str) -> str:
    return (Path(__file__).parent / name).read_text(encoding="utf-8")


def _shared_texts(root: Path) -> Iterator[tuple[Path, str]]:
    from flatwise.sources.paths import SOURCE_LIMIT
    from flatwise.sources.plain_file import read_plain_file

    for path in sorted((root / "shared").glob("*.flat"), key=lambda path: (path.name != "shop.flat", path.name)):
        with suppress(OSError, RuntimeError, UnicodeDecodeError):  # `check` says what is wrong with it
            yield path, read_plain_file(path.resolve(), SOURCE_LIMIT).decode("utf-8")


def _declared(texts: Iterable[tuple[Path, str]]) -> Declared:
    found: dict[str, dict[str, Block]] = {}
    for path, text in texts:
        for block in parse(text, str(path))[0].blocks:
            if block.name is not None:
                found.setdefault(block.kind, {}).setdefault(block.name.text, block)
    return found


def _ask_for_the_rest(options: Options, declared: Declared, ask: Ask) -> tuple[Options, Readings]:
    """The options with the answers, and the readings, as far as the input goes."""
    from flatwise.core.wording import place_name

    readings: dict[tuple[str, str], str] = {}
    with suppress(EOFError):
        for option, question in QUESTIONS.items():
            if not options[option]:
                default = _settled(options, declared)[option]
                given = _asked(ask, question, default, partial(_settled_option, options, declared, option))
                options = {**options, option: given}
        unit = _unit(_size(options["size"]))
        first = "Readings, with the panel free on the bed and the spindle isolated; Enter where you took none.\n"
        for word, place in _READINGS:
            question = f"{first}{word.capitalize()} at {place_name(place)}, {unit}"
            first = ""
            if given := _asked(ask, question, "not measured", partial(_length, unit=unit, example=f"0.25{unit}")):
                readings[word, place] = given
    return options, readings


def _asked(ask: Ask, question: str, default: str, read: Callable[[str], str]) -> str:
    """What `read` makes of the answer; asked again, with what is wrong, while `read` refuses it."""
    asked = question
    while True:
        try:
            return read(ask(asked, default).strip())
        except NotWritten as why:
            asked = f"{why}\n{question}"


def _settled_option(options: Options, declared: Declared, option: str, given: str) -> str:
    return _settled({**options, option: given}, declared)[option]


# -- sizes -------------------------------------------------------------------------------------------------------------


def _length(given: str, unit: str, example: str) -> str:
    """A length as the language writes it; without a unit of its own it takes this one.  "" stays ""."""
    read = _LENGTH.fullmatch(given)
    length = read[1] + (read[2] or unit) if read else given
    with suppress(ValueError, ZeroDivisionError):
        if not length or _millimetres(length) >= 0:
            return length
    raise NotWritten(f"{given!r} is not a length such as {example}.")


def _millimetres(length: str) -> float:
    """A length as `_length` gives it.  Raises ValueError for anything else, ZeroDivisionError for `1/0mm`."""
    from flatwise.core.units import quantity, units_of

    read = _LENGTH.fullmatch(length)
    if read is None or read[2] not in units_of("length"):
        raise ValueError(length)
    return float(quantity(read[1], read[2]))


def _size(given: str) -> str:
    """`length x width x thickness`, each with its unit; a length without one takes the last one's."""
    sides = re.split(r"\s*x\s*", given or _SIZE)
    unit = sides[-1].lstrip("0123456789./ ")
    with suppress(NotWritten, ValueError):
        sides = [_length(side, unit, "") for side in sides]
        if len(sides) == 3 and all(_millimetres(side) > 0 for side in sides):
            return " x ".join(sides)
    raise NotWritten(f"The size {given!r} is not three lengths such as {_SIZE}.")


def _unit(size: str) -> str:
    """The unit of the rest of the job: inches if its thickness is in inches."""
    return "in" if size.endswith("in") else "mm"


# -- what the job names ------------------------------------------------------------------------------------------------


def _settled(options: Options, declared: Declared) -> dict[str, str]:
    """The options with their defaults, and a name for every other kind: one of the machine's file, else the first."""
    from flatwise.core.units import UNITS, show
    from flatwise.model import woods

    size, wood = _size(options["size"]), options["wood"] or "ash"
    unit, nominal = _unit(size), _millimetres(size.split(" x ")[2])
    left = show(max(nominal - _LOST[unit] * UNITS[unit].worth, nominal / 2.0), unit)
    left = _length(options["left"] or left, unit, left)
    settled = {"size": size, "unit": unit, "left": left, "wood": wood}
    for kind, example in _EXAMPLES.items():
        names = declared.get(kind, {})
        given = options.get(kind, "")
        if given and given not in names:
            raise NotWritten(f"No {kind} called {given} is declared in shared/; there is {', '.join(names) or 'none'}.")
        if not names and kind == "gauge":
            continue  # the job can do without one
        if not names:
            raise NotWritten(
                f"No {kind} is declared in the files of shared/. Add one, such as that of `flatwise explain FW105`."
            )
        home = declared["machine"][settled["machine"]].span.path if kind != "machine" else None
        likely = [name for name, block in names.items() if block.span.path == home] or list(names)
        settled[kind] = given or (example if example in likely else likely[0])
    known = (*woods.NAMES, *declared.get("wood", {}))
    if wood not in known:
        raise NotWritten(f"No wood called {wood} is built in or declared in shared/; there is {', '.join(known)}.")
    return settled


# -- the text ----------------------------------------------------------------------------------------------------------


def _texts(name: str, settled: Mapping[str, str], declared: Declared) -> list[str]:
    """The job without its survey, for each place of its corner."""
    named = [declared.get(kind, {}).get(settled.get(kind, "")) for kind in (*_EXAMPLES, "wood")]
    files = dict.fromkeys(Path(block.span.path).name for block in named if block)
    uses = "\n".join(f'use "../shared/{file}"' for file in files)
    walk = Template(_WALK).substitute(settled) if "gauge" in settled else ""
    values = {**_FIGURES[settled["unit"]], **settled, "name": name, "uses": uses, "walk": walk}
    template = Template(_data("new_job.template"))
    return [template.safe_substitute(values, corner=f"{at}, {at}") for at in _CORNERS[settled["unit"]]]


def _with_survey(text: str, settled: Mapping[str, str], readings: Readings) -> str:
    """The job with the lines of its survey: readings, and a comment to fill in for each that is not given."""
    unit, lines = settled["unit"], list[str]()
    for word, row in _ROWS:
        given = [f"{place} {readings[word, place]}" for place in row if (word, place) in readings]
        empty = [f"{place} __{unit}" for place in row if (word, place) not in readings]
        lines += [f"{word} {', '.join(given)}"] * bool(given)
        lines += [f"# {word:9}  {', '.join(empty)}"] * bool(empty)
    return format_text(Template(text).substitute(survey="\n".join(lines)))


def _with_fewest_errors(path: Path, settled: Mapping[str, str], declared: Declared) -> tuple[list[str], str]:
    """The errors of the variant with the fewest, were the panel measured and flat, and its text without a survey."""
    thickness, gap = settled["size"].split(" x ")[2], f"0{settled['unit']}"
    flat = {(word, place): thickness if word == "thickness" else gap for word, place in _READINGS}
    tried: list[tuple[list[str], str]] = []
    for text in _texts(path.stem, settled, declared):
        tried.append((_errors(path, _with_survey(text, settled, flat)), text))
        if not tried[-1][0]:
            break
    return min(tried, key=lambda each: len(each[0]))


def _errors(path: Path, text: str) -> list[str]:
    """Code and message of each error of a job that is not written yet."""
    from flatwise.pipeline import read_works, work_out

    front = read_works([path], {path: text})
    findings = [*front.findings, *(each for work in front.works for each in work_out(work)[1])]
    return [f"{each.code}: {each.message}" for each in findings if each.severity == "error"]


def _create(path: Path, text: str) -> bool:
    """Write a new file; False if it exists."""
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        return False
    return True
