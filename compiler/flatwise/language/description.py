"""The words of the model as people read them: phrases, bounds, defaults; for the reference page and for editors."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from flatwise.core.units import Quantity, dimension_name, show
from flatwise.language.phrase_shape import (
    Coded,
    Count,
    EdgePlace,
    Either,
    Group,
    Hole,
    Maybe,
    Measure,
    Named,
    PanelPlace,
    PhrasePart,
    Quoted,
    Several,
    ValueKind,
    WordChoice,
    WordShape,
)
from flatwise.model.words import ModelBlock, Phrase, word_info

#: more alternative words than this become one value in a phrase
MOST_WORDS = 4
#: the explanation of a recipe, which has no model of its own
RECIPE = "A job's body with parameters, for panels that are made again and again."


def shown(shape: WordShape) -> str:
    """A word's phrases with their values named: `up to ‹feed›`, `‹x› x ‹y› x ‹z›`."""
    return " or ".join(f"`{phrase}`" for phrase in phrases(shape))


def phrases(shape: WordShape) -> tuple[str, ...]:
    """The same, one by one and without backticks."""
    if shape.pattern != "{}":
        return ("".join(text for text, _ in pieces(shape)),)
    hole = next(part for part in shape.group.parts if isinstance(part, Hole))
    kinds = hole.kind.kinds if isinstance(hole.kind, Either) else (hole.kind,)
    return tuple(f"{shape.word} {_kind(kind)}" for kind in kinds)


def pieces(shape: WordShape) -> Iterator[tuple[str, bool]]:
    """The pieces of a phrase whose values have names, and whether each piece is a value."""
    named = dict(_holes(shape.group.parts))
    yield f"{shape.word} ", False
    for piece in re.split(r"({\w*})", shape.pattern):
        name = piece[1:-1]
        yield (_hole(name, named[name]), True) if piece.startswith("{") else (piece, False)


def _holes(parts: tuple[PhrasePart, ...]) -> Iterator[tuple[str, ValueKind]]:
    for part in parts:
        if isinstance(part, Hole):
            yield part.name, part.kind
        elif isinstance(part, Maybe):
            yield from _holes(part.parts)


def _hole(name: str, kind: ValueKind) -> str:
    """A value in a phrase: a few words as they are, a number by its name in the phrase, else its kind."""
    figure = isinstance(kind, Measure | Count | Quoted) or (
        isinstance(kind, WordChoice) and len(kind.choices) > MOST_WORDS
    )
    return f"‹{name}›" if name and figure else _kind(kind)


def _kind(kind: ValueKind) -> str:
    match kind:
        case Measure():
            return f"‹{dimension_name(kind.dimension)}›"
        case Several():
            return f"{_kind(kind.kind)}, …"
        case Group():
            return "".join(_part(part) for part in kind.parts).strip()
        case Either():
            return " | ".join(_kind(one) for one in kind.kinds)
        case WordChoice():
            return "|".join(" ".join(choice) for choice in kind.choices)
        case Named():
            return f"‹{kind.kind}›"
        case Coded():
            return "‹code›"
        case Count():
            return "‹whole number›"
        case Quoted():
            return '"…"'
        case PanelPlace():
            return "‹place›"
        case EdgePlace():
            return "‹position›"


def _part(part: PhrasePart) -> str:
    if isinstance(part, Maybe):
        return " [" + "".join(_part(inner) for inner in part.parts).strip() + "]"
    if isinstance(part, Hole):
        return " " + _hole(part.name, part.kind)
    return "," if part.spoken == "a comma" else " " + part.spoken.strip("`")


def limits(kind: Measure | Count) -> str:
    """Bounds in words, in the likeliest unit: `above 0mm, at most 100m`; "" for none."""
    length = isinstance(kind, Measure) and kind.dimension == "length"
    unit = kind.units[0] if isinstance(kind, Measure) else ""
    far = 10_000.0 if length else float("inf")
    return ", ".join(
        f"{relation} {show(value, 'm' if abs(value) >= far else unit, 7)}"
        for relation, value in zip(("above", "at least", "below", "at most"), kind.bounds, strict=True)
        if value is not None
    )


def holes(part: PhrasePart | ValueKind, name: str = "") -> Iterator[tuple[str, ValueKind]]:
    """Every value of a phrase with its name."""
    match part:
        case Hole():
            yield from holes(part.kind, part.name)
        case Several():
            yield from holes(part.kind, name)
        case Either():
            for one in part.kinds:
                yield from holes(one, name)
        case Group() | Maybe():
            for inner in part.parts:
                yield from holes(inner)
        case Measure() | Count() | Named() | Coded() | Quoted() | WordChoice() | PanelPlace() | EdgePlace():
            yield name, part


def about(made: type[ModelBlock]) -> str:
    """The explanation of a block, a capitalised or two."""
    return " ".join((made.__doc__ or "").split("\n\n")[0].split())


def default(made: type[ModelBlock], word: str) -> str:
    """The default of a word, in words."""
    info = made.model_fields[word]
    if info.is_required():
        return "must be given"
    return word_info(info).shown or value(info.default)


def value(given: Any) -> str:
    """A value of the model as a person writes it."""
    if given is None or given == ():
        return "none"
    if isinstance(given, Quantity):
        return given.text or show(float(given), given.unit)
    if isinstance(given, Phrase):
        return phrase(given)
    if isinstance(given, tuple):
        return ", ".join(value(one) for one in given)
    return str(given)


def phrase(given: Phrase) -> str:
    """A phrase as a person writes it, without the optional parts that it does not have."""

    def kept(part: re.Match[str]) -> str:
        names = re.findall(r"\{(\w+)\}", part[1])
        return part[1] if all(getattr(given, name) is not None for name in names) else ""

    pattern, before = type(given).pattern, ""
    while pattern != before:
        pattern, before = re.sub(r"\[([^\[\]]*)\]", kept, pattern), pattern
    filled = re.sub(r"\{(\w+)\}", lambda hole: value(getattr(given, hole[1])), pattern)
    return " ".join(filled.split()).replace(" ,", ",")
