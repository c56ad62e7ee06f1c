"""`flatwise new NAME`: a first job to fill in, from what hangs on the wall, and a first shop where there is none."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from pathlib import Path
from typing import NamedTuple

from flatwise.sources.project import read_project
from flatwise.tool.first_job import CORNERS, DEPTH, FIGURES, JOB, NO_DEPTH, OFF

_NAME = re.compile(r"[a-z][a-z0-9_]{0,99}")
_SIZE = "900mm x 500mm x 32mm"
#: the kinds that a job names, and what each is called where nobody says otherwise
_NAMED = {
    "machine": "bench_router",
    "standard": "solid_tops",
    "cutter": "fly_64",
    "dog": "low_dog",
    "clamp": "side_cam",
    "shims": "leaf_set",
}
#: what is asked, with the default of each
QUESTIONS = {
    "size": "Length x width x nominal thickness",
    "left": "Thickness that must be left",
    "wood": "Wood",
    "machine": "Machine",
    "cutter": "Cutter",
    "standard": "The shop's standard",
}


class Wish(NamedTuple):
    """What the job should be for; "" takes what stands for it on the wall."""

    size: str = ""
    left: str = ""
    wood: str = ""
    machine: str = ""
    cutter: str = ""
    standard: str = ""


_SHOP = """\
# The shop: what is on the wall.  The figures are an invented example: put in those of your own machine's and
# cutter's manuals before anything is cut.
machine bench_router {
    travel   1320mm x 1320mm x 160mm
    feed     up to 8m/min
    spindle  2.2kW, 8000rpm to 24000rpm
    collet   ER20
    nose     63mm                               # widest turning part above the cutter
}

cutter fly_64 {
    diameter   64mm
    wings      3
    shank      12mm
    blade      9mm                              # height of the cutting edge
    stick_out  38mm                             # collet face to edge
    depth      up to 1.2mm
    speed      10000rpm to 16000rpm             # the range marked on the tool
    chip_load  0.10mm to 0.30mm
}

dog   low_dog  { across 19mm; height 11mm }
clamp side_cam { foot 70mm x 32mm; height 13mm; force 450N; pushes at 8mm }
shims leaf_set { leaves 0.05mm, 0.10mm, 0.15mm, 0.20mm, 0.30mm, 0.50mm, 1.00mm }

standard solid_tops {                           # the shop's rules: a job that breaks one does not compile
    depth   at most 0.6mm
    leave   at least 15mm
    survey  required
}
"""


def answer(question: str, default: str) -> str:
    """What a person says at the terminal; nothing, or the end of what they have to say, is "" for the default."""
    try:
        return input(f"{question} [{default}]: ")
    except EOFError:
        print()
        return ""


class NoJob(Exception):
    """The job file was not written; the text says why, for a person."""


def write_new(name: str, root: Path, wish: Wish | None = None, ask: Callable[[str, str], str] | None = None) -> str:
    """Write `jobs/NAME.flat` below `root`, never over a file that is there; gives what to say.

    The job uses what the files in `shared/` declare; where there is none, an example of a shop is written too.
    `ask` is given each question with its default and gives the answer ("" for the default).

    Raises NoJob for a name that the language can't take, a file that exists, and a wish that nothing on the wall
    meets; OSError where the disk refuses.
    """
    if not _NAME.fullmatch(name):
        meant = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")
        likely = f" Try {meant}." if _NAME.fullmatch(meant) else ""
        raise NoJob(f"A job's name is small letters, digits and underscores, and begins with a letter.{likely}")
    path, shop = root / "jobs" / f"{name}.flat", root / "shared" / "shop.flat"
    taken = NoJob(f"jobs/{name}.flat is there already and was left as it is. Choose another name.")
    if path.exists():
        raise taken
    wall = _wall(root) if shop.exists() or any((root / "shared").glob("*.flat")) else {}
    made_shop = not wall
    wish = wish or Wish()
    required = read_project(root.resolve(), root.resolve())[0].standard
    if not wish.standard and required in wall.get("standard", {}):
        wish = wish._replace(standard=required)
    if made_shop:
        wall = {kind: {given: shop} for kind, given in _NAMED.items()}
    if ask is not None:
        wish = _asked(wish, wall, ask)
    size, chosen = _size(wish.size), _chosen(wish, wall)
    texts = _texts(name, wish, size, chosen, wall)
    if made_shop:
        from flatwise_grammar import format_text

        _write_new(shop, format_text(_SHOP))
    count, text, trouble = _sound(path, texts)
    if trouble.startswith(("FW501", "FW502")):  # a thin panel: what stands lowest on the wall may hold it
        low = {**chosen, **{kind: _lowest(kind, chosen[kind], wall) for kind in ("dog", "clamp")}}
        lower = _sound(path, _texts(name, wish, size, low, wall))
        _, text, trouble = lower if lower[0] < count else (count, text, trouble)
    if not _write_new(path, text):
        raise taken
    said = f"Wrote jobs/{name}.flat."
    if made_shop:
        said += "\nWrote shared/shop.flat, an invented shop: put in the figures of your own machine and cutters."
    return said + (f"\nIt does not compile yet: {trouble}" if trouble else "")


def _wall(root: Path) -> dict[str, dict[str, Path]]:
    """Kind → name → file of all that the files in `shared/` declare, shop.flat first."""
    from flatwise.sources.load import SOURCE_LIMIT
    from flatwise.sources.plain_file import contents
    from flatwise_grammar import parse

    files = sorted((root / "shared").glob("*.flat"), key=lambda path: (path.name != "shop.flat", path.name))
    found: dict[str, dict[str, Path]] = {}
    for path in files:
        try:
            text = contents(path.resolve(), SOURCE_LIMIT).decode("utf-8")
        except (OSError, RuntimeError, UnicodeDecodeError):
            continue  # `check` says what is wrong with it
        for block in parse(text, str(path))[0].blocks:
            if block.name is not None:
                found.setdefault(block.kind, {}).setdefault(block.name.text, path)
    return found


def _asked(wish: Wish, wall: Mapping[str, Mapping[str, Path]], ask: Callable[[str, str], str]) -> Wish:
    """The wish with every question answered that it leaves open."""
    for word, question in QUESTIONS.items():
        if getattr(wish, word):
            continue
        if word in ("size", "wood"):
            default = {"size": _SIZE, "wood": "ash"}[word]
        elif word == "left":
            default = _left(_size(wish.size))
        else:
            default = _chosen(wish, wall)[word]
        wish = wish._replace(**{word: ask(question, default).strip() or default})
    return wish


def _size(given: str) -> tuple[str, str, str]:
    """Length, width and thickness, each with its unit; the last one's unit holds for those without."""
    from flatwise.core.units import UNITS, quantity

    parts = re.split(r"\s*x\s*", given.strip() or _SIZE)
    read = [re.fullmatch(r"([0-9][0-9./ ]*?)\s*([a-z]*)", part) for part in parts]
    wrong = NoJob(f"The size {given!r} is not three lengths such as {_SIZE}.")
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


def _worth(length: str) -> float:
    """mm of a length as `_size` gives it."""
    from flatwise.core.units import quantity

    number, unit = re.fullmatch(r"(.*?)([a-z]+)", length).groups()  # type: ignore[union-attr]
    return float(quantity(number, unit))


def _unit(size: tuple[str, str, str]) -> str:
    """What the rest of the job is written in: inches where its thickness is, else mm."""
    return "in" if size[2].endswith("in") else "mm"


def _left(size: tuple[str, str, str]) -> str:
    """The thickness less what both faces lose in an ordinary job."""
    from flatwise.core.units import UNITS, show

    unit = _unit(size)
    off = OFF[unit][0] * UNITS[unit].worth
    return show(max(_worth(size[2]) - off, _worth(size[2]) / 2.0), unit)


def _chosen(wish: Wish, wall: Mapping[str, Mapping[str, Path]]) -> dict[str, str]:
    """What the job names of each kind: as wished, else of the file that the machine is in, else the first there is."""
    from flatwise.model import woods

    chosen: dict[str, str] = {}
    for kind, usual in _NAMED.items():
        there = wall.get(kind, {})
        given = getattr(wish, kind, "")
        if given and given not in there:
            raise NoJob(f"No {kind} called {given} is declared in shared/; {_listed(there)}.")
        if not there:
            raise NoJob(
                f"No {kind} is declared in the files of shared/. Add one, such as that of `flatwise explain FW105`."
            )
        home = wall["machine"][chosen["machine"]] if kind != "machine" else None
        beside = [name for name, path in there.items() if path == home]
        chosen[kind] = given or next(
            (name for name in (usual, *beside) if name in (beside or there)), next(iter(there))
        )
    chosen["wood"] = wish.wood or "ash"
    if chosen["wood"] not in (*woods.NAMES, *wall.get("wood", {})):
        raise NoJob(f"No wood called {chosen['wood']} is built in or declared in shared/; {_listed(woods.NAMES)}.")
    return chosen


def _lowest(kind: str, usual: str, wall: Mapping[str, Mapping[str, Path]]) -> str:
    """The name of the dog or clamp whose height is written lowest, the usual one where none is written."""
    from flatwise.core.units import quantity
    from flatwise.language.items import joined
    from flatwise_grammar import parse
    from flatwise_grammar.nodes import NumberWithUnit

    heights: dict[str, float] = {}
    for path in dict.fromkeys(wall[kind].values()):
        for block in parse(path.read_text("utf-8"), str(path))[0].blocks:
            lines = [line for line in block.fields if line.word.text == "height"]
            written = joined(lines[0].items)[:1] if lines else ()
            if block.kind == kind and block.name is not None and written and isinstance(written[0], NumberWithUnit):
                with suppress(KeyError, ValueError, ZeroDivisionError):  # `check` says what is wrong with it
                    heights[block.name.text] = quantity(written[0].number, written[0].unit)
    return min(heights, key=lambda name: heights[name], default=usual)


def _listed(names: Iterable[str]) -> str:
    found = list(names)
    return f"there is {', '.join(found)}" if found else "there is none"


def _texts(
    name: str, wish: Wish, size: tuple[str, str, str], chosen: Mapping[str, str], wall: Mapping[str, Mapping[str, Path]]
) -> list[str]:
    """The job as it is worth a try: in some places of its corner, then with no depth but what all rules allow."""
    from flatwise.core.units import UNITS, show
    from flatwise_grammar import format_text

    unit = _unit(size)
    figures, (_, step, places) = FIGURES[unit], OFF[unit]
    nominal = _worth(size[2]) / UNITS[unit].worth
    files = dict.fromkeys(wall[kind][chosen[kind]].name for kind in _NAMED)
    files.update(dict.fromkeys([wall["wood"][chosen["wood"]].name] if chosen["wood"] in wall.get("wood", {}) else []))
    depths = [DEPTH.format(**figures)] * (chosen["cutter"] == _NAMED["cutter"]) + [NO_DEPTH]
    readings = {f"t{k}": f"{nominal + step * by:.{places}f}{unit}" for k, by in ((0, 0), (1, 1), (9, -1))}
    left = wish.left or _left(size)
    if not re.fullmatch(r"[0-9][0-9./ ]*\s*(mm|in|thou|cm|m|ft)", left):
        raise NoJob(f"The thickness {left!r} that must be left is not a length such as {show(_worth(size[2]))}.")
    values = {**figures, **readings, **chosen, "left": left, "name": name}
    values.update(zip(("length", "width", "thickness"), size, strict=True))
    values["uses"] = "\n".join(f'use "../shared/{file}"' for file in files)
    return [
        format_text(JOB.format(**{**values, "depth": depth, "corner": f"{at}, {at}"}))
        for depth in depths
        for at in CORNERS[unit]
    ]


def _sound(path: Path, texts: list[str]) -> tuple[int, str, str]:
    """How many errors the first text with the fewest has, that text, and its first error in a sentence."""
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


def _write_new(path: Path, text: str) -> bool:
    """Write a file that is not there yet; False where it is."""
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        return False
    return True
