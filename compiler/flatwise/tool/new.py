"""`flatwise new`: a first job to fill in, from what the files of `shared/` declare, and a shop if there is none."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from string import Template
from typing import NamedTuple

from flatwise.sources.project import read_project

_NAME = re.compile(r"[a-z][a-z0-9_]{0,99}")
_SIZE = "900mm x 500mm x 32mm"
#: the kinds that a job names, with the names in the example shop, which are also the first choice elsewhere
_EXAMPLES = {
    "machine": "bench_router",
    "standard": "solid_tops",
    "cutter": "fly_64",
    "dog": "low_dog",
    "clamp": "side_cam",
    "shims": "leaf_set",
}
#: what `--ask` asks for
QUESTIONS = {
    "size": "Length x width x nominal thickness",
    "left": "Thickness of the finished panel",
    "wood": "Wood",
    "machine": "Machine",
    "cutter": "Cutter",
    "standard": "The shop's standard",
}
#: figures of the job, by the unit of its size
_FIGURES = {
    "mm": {
        "zero": "0mm",
        "g0": "0.05mm",
        "g1": "0.1mm",
        "paper": "0.05mm",
        "overrun": "6mm",
        "within": "0.5mm",
        "depth": "0.5mm",
        "finish": "0.2mm",
    },
    "in": {
        "zero": "0in",
        "g0": "0.002in",
        "g1": "0.004in",
        "paper": "0.003in",
        "overrun": "1/4in",
        "within": "0.020in",
        "depth": "0.020in",
        "finish": "0.008in",
    },
}
#: what both faces lose together unless it is given; how far the example's readings lie apart, and their decimals
_LOST = {"mm": (3.0, 0.1, 1), "in": (0.125, 0.004, 3)}
#: places of the corner, tried in turn until the cut stays within the travel
_CORNERS = {"mm": ("120mm", "80mm", "50mm", "10mm"), "in": ("5in", "3in", "2in", "1/2in")}
_DEPTH = "depth ${depth}  # at most, per pass\nfinish ${finish}  # a last light pass"
_NO_DEPTH = "# no depth: passes as deep as the cutter, the standard and the spindle allow"

#: kind → name → file of what the files of `shared/` declare
Declared = Mapping[str, Mapping[str, Path]]


class JobOptions(NamedTuple):
    """What the job is for; "" takes the default."""

    size: str = ""
    left: str = ""
    wood: str = ""
    machine: str = ""
    cutter: str = ""
    standard: str = ""


class NotWritten(Exception):
    """The job file was not written; the text says why, for a person."""


def answer(question: str, default: str) -> str:
    """What a person types at the terminal; "" for nothing, which means the default, or the end of the input."""
    try:
        return input(f"{question} [{default}]: ")
    except EOFError:
        print()
        return ""


def write_new(name: str, root: Path, options: JobOptions, ask: Callable[[str, str], str] | None = None) -> str:
    """Write `jobs/NAME.flat` below `root`, never over an existing file; returns what to print.

    The job uses what the files in `shared/` declare; if there are none, an example shop is written too.  `ask` gets
    each open question with its default and returns the answer ("" for the default).

    Raises NotWritten for a name that the language can't take, an existing file, and an option that nothing in
    `shared/` meets; OSError where the disk refuses.
    """
    path, shop = _free_path(name, root), root / "shared" / "shop.flat"
    declared = _declared(root)
    no_shop = not declared
    if no_shop:
        declared = {kind: {example: shop} for kind, example in _EXAMPLES.items()}
    else:
        required = read_project(root.resolve(), root.resolve())[0].standard
        if not options.standard and required in declared.get("standard", {}):
            options = options._replace(standard=required)
    if ask is not None:
        options = _ask_for_the_rest(options, declared, ask)
    size, chosen = _size(options.size), _chosen(options, declared)
    texts = _texts(name, options, size, chosen, declared)
    if no_shop:
        _create(shop, _data("new_shop.flat"))
    errors, text, first_error = _with_fewest_errors(path, texts)
    if first_error.startswith(("FW501", "FW502")):  # a thin panel: the lowest dog and clamp may hold it
        low = {**chosen, **{kind: _lowest(kind, chosen[kind], declared) for kind in ("dog", "clamp")}}
        lower = _with_fewest_errors(path, _texts(name, options, size, low, declared))
        _, text, first_error = lower if lower[0] < errors else (errors, text, first_error)
    if not _create(path, text):
        raise _exists(name)
    lines = [f"Wrote jobs/{name}.flat."]
    if no_shop:
        lines.append("Wrote shared/shop.flat, an invented shop: put in the figures of your own machine and cutters.")
    if first_error:
        lines.append(f"It does not compile yet: {first_error}")
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


def _declared(root: Path) -> Declared:
    from flatwise.sources.paths import SOURCE_LIMIT
    from flatwise.sources.plain_file import read_plain_file
    from flatwise_grammar import parse

    files = sorted((root / "shared").glob("*.flat"), key=lambda path: (path.name != "shop.flat", path.name))
    found: dict[str, dict[str, Path]] = {}
    for path in files:
        try:
            text = read_plain_file(path.resolve(), SOURCE_LIMIT).decode("utf-8")
        except (OSError, RuntimeError, UnicodeDecodeError):
            continue  # `check` says what is wrong with it
        for block in parse(text, str(path))[0].blocks:
            if block.name is not None:
                found.setdefault(block.kind, {}).setdefault(block.name.text, path)
    return found


def _ask_for_the_rest(options: JobOptions, declared: Declared, ask: Callable[[str, str], str]) -> JobOptions:
    for option, question in QUESTIONS.items():
        if getattr(options, option):
            continue
        if option in ("size", "wood"):
            default = {"size": _SIZE, "wood": "ash"}[option]
        elif option == "left":
            default = _usual_thickness(_size(options.size))
        else:
            default = _chosen(options, declared)[option]
        options = options._replace(**{option: ask(question, default).strip() or default})
    return options


# -- sizes -------------------------------------------------------------------------------------------------------------


def _size(given: str) -> tuple[str, str, str]:
    """Length, width and thickness, each with its unit; a length without one takes the last one's."""
    from flatwise.core.units import UNITS, quantity

    parts = re.split(r"\s*x\s*", given.strip() or _SIZE)
    read = [re.fullmatch(r"([0-9][0-9./ ]*?)\s*([a-z]*)", part) for part in parts]
    wrong = NotWritten(f"The size {given!r} is not three lengths such as {_SIZE}.")
    if len(read) != 3 or any(part is None for part in read):
        raise wrong
    pairs = [(part[1], part[2]) for part in read if part is not None]
    unit = pairs[-1][1]
    sides = [(number, own or unit) for number, own in pairs]
    try:
        if any(UNITS[own].dimension != "length" or quantity(number, own) <= 0 for number, own in sides):
            raise wrong
    except (KeyError, ValueError, ZeroDivisionError):
        raise wrong from None
    length, width, thickness = (f"{number}{own}" for number, own in sides)
    return length, width, thickness


def _millimetres(length: str) -> float:
    """A length as `_size` gives it."""
    from flatwise.core.units import quantity

    number, unit = re.fullmatch(r"(.*?)([a-z]+)", length).groups()  # type: ignore[union-attr]
    return float(quantity(number, unit))


def _unit(size: tuple[str, str, str]) -> str:
    """What the rest of the job is written in: inches if its thickness is."""
    return "in" if size[2].endswith("in") else "mm"


def _usual_thickness(size: tuple[str, str, str]) -> str:
    """The nominal thickness less what both faces lose in an ordinary job."""
    from flatwise.core.units import UNITS, show

    unit, nominal = _unit(size), _millimetres(size[2])
    return show(max(nominal - _LOST[unit][0] * UNITS[unit].worth, nominal / 2.0), unit)


# -- what the job names ------------------------------------------------------------------------------------------------


def _chosen(options: JobOptions, declared: Declared) -> dict[str, str]:
    """The name of each kind: the option, or one from the machine's file, or the first that is declared."""
    from flatwise.model import woods

    chosen: dict[str, str] = {}
    for kind, example in _EXAMPLES.items():
        names = declared.get(kind, {})
        given = getattr(options, kind, "")
        if given and given not in names:
            raise NotWritten(f"No {kind} called {given} is declared in shared/; {_listed(names)}.")
        if not names:
            raise NotWritten(
                f"No {kind} is declared in the files of shared/. Add one, such as that of `flatwise explain FW105`."
            )
        home = declared["machine"][chosen["machine"]] if kind != "machine" else None
        likely = [name for name, path in names.items() if path == home] or list(names)
        chosen[kind] = given or (example if example in likely else likely[0])
    chosen["wood"] = options.wood or "ash"
    if chosen["wood"] not in (*woods.NAMES, *declared.get("wood", {})):
        raise NotWritten(f"No wood called {chosen['wood']} is built in or declared in shared/; {_listed(woods.NAMES)}.")
    return chosen


def _lowest(kind: str, usual: str, declared: Declared) -> str:
    """The name of the dog or clamp with the lowest height in its text, or the usual one if none has a height."""
    from flatwise.core.units import quantity
    from flatwise.language.items import join_units
    from flatwise_grammar import parse
    from flatwise_grammar.nodes import NumberWithUnit

    heights: dict[str, float] = {}
    for path in dict.fromkeys(declared[kind].values()):
        for block in parse(path.read_text("utf-8"), str(path))[0].blocks:
            lines = [line for line in block.fields if line.word.text == "height"]
            written = join_units(lines[0].items)[:1] if lines else ()
            if block.kind == kind and block.name is not None and written and isinstance(written[0], NumberWithUnit):
                with suppress(KeyError, ValueError, ZeroDivisionError):  # `check` says what is wrong with it
                    heights[block.name.text] = quantity(written[0].number, written[0].unit)
    return min(heights, key=lambda name: heights[name], default=usual)


def _listed(names: Iterable[str]) -> str:
    found = list(names)
    return f"there is {', '.join(found)}" if found else "there is none"


# -- the text ----------------------------------------------------------------------------------------------------------


def _texts(
    name: str, options: JobOptions, size: tuple[str, str, str], chosen: Mapping[str, str], declared: Declared
) -> list[str]:
    """Variants of the job, the preferred ones first: places of its corner, then without a depth of its own."""
    from flatwise.core.units import UNITS, show
    from flatwise_grammar import format_text

    unit = _unit(size)
    figures, (_, apart, places) = _FIGURES[unit], _LOST[unit]
    nominal = _millimetres(size[2]) / UNITS[unit].worth
    left = options.left or _usual_thickness(size)
    if not re.fullmatch(r"[0-9][0-9./ ]*\s*(mm|in|thou|cm|m|ft)", left):
        raise NotWritten(f"The thickness {left!r} is not a length such as {show(_millimetres(size[2]))}.")
    kinds = [*_EXAMPLES, *["wood"] * (chosen["wood"] in declared.get("wood", {}))]
    files = dict.fromkeys(declared[kind][chosen[kind]].name for kind in kinds)
    values = {
        **figures,
        **{f"t{key}": f"{nominal + by * apart:.{places}f}{unit}" for key, by in ((0, 0), (1, 1), (9, -1))},
        **chosen,
        **dict(zip(("length", "width", "thickness"), size, strict=True)),
        "left": left,
        "name": name,
        "uses": "\n".join(f'use "../shared/{file}"' for file in files),
    }
    depths = [Template(_DEPTH).substitute(figures)] * (chosen["cutter"] == _EXAMPLES["cutter"]) + [_NO_DEPTH]
    template = Template(_data("new_job.template"))
    return [
        format_text(template.substitute(values, depth=depth, corner=f"{at}, {at}"))
        for depth in depths
        for at in _CORNERS[unit]
    ]


def _with_fewest_errors(path: Path, texts: list[str]) -> tuple[int, str, str]:
    """The number of errors, the text and its first error, of the first text with the fewest errors."""
    from flatwise.pipeline import read_works, work_out

    tried: list[tuple[int, str, str]] = []
    for text in texts:
        front = read_works([path], {path: text})
        findings = [*front.findings, *(each for work in front.works for each in work_out(work)[1])]
        errors = [f"{each.code}: {each.message}" for each in findings if each.severity == "error"]
        if not errors:
            return 0, text, ""
        tried.append((len(errors), text, errors[0]))
    return min(tried, key=lambda each: each[0])


def _create(path: Path, text: str) -> bool:
    """Write a new file; False if it exists."""
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        return False
    return True
