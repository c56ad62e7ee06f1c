"""What the model says of a word, as people read it: its phrase, its bounds, its default.

For the reference page and for editors.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from flatwise.core.units import Quantity, dimension_name, show, units_of
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
from flatwise.model.base import said
from flatwise.model.words import ModelBlock, Of, Phrase

#: words that a phrase still shows one by one
FEW = 4
#: what a recipe is, which has no model of its own
RECIPE = "A job's body with parameters, for panels that are made again and again."


def shown(shape: WordShape) -> str:
    """A word's phrase with its values named: `up to ‹feed›`, `‹x› x ‹y› x ‹z›`."""
    return " or ".join(f"`{phrase}`" for phrase in phrases(shape))


def phrases(shape: WordShape) -> tuple[str, ...]:
    """The same, one by one where a word is followed by one of several, and without the marks."""
    if shape.pattern != "{}":
        return ("".join(text for text, _ in pieces(shape)),)
    hole = next(part for part in shape.group.parts if isinstance(part, Hole))
    kinds = hole.kind.kinds if isinstance(hole.kind, Either) else (hole.kind,)
    return tuple(f"{shape.word} {_kind(kind)}" for kind in kinds)


def pieces(shape: WordShape) -> Iterator[tuple[str, bool]]:
    """A word's phrase in pieces, and which of them are values; for a phrase whose values have names."""
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
    """A value in a phrase: a few words as they are, a figure by what the phrase calls it, else what it is."""
    figure = isinstance(kind, Measure | Count | Quoted) or (isinstance(kind, WordChoice) and len(kind.choices) > FEW)
    return f"‹{name}›" if name and figure else _kind(kind)


def _kind(kind: ValueKind) -> str:
    match kind:
        case Measure():
            return f"‹{dimension_name(kind.of.dimension)}›"
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


def limits(of: Of) -> str:
    """Bounds in words, in the likeliest unit: `above 0mm, at most 100m`; "" for none."""
    unit = units_of(of.dimension)[0] if of.dimension else ""
    said = (("above", of.above), ("at least", of.least), ("below", of.below), ("at most", of.most))
    far = 10_000.0 if of.dimension == "length" else float("inf")
    return ", ".join(
        f"{how} {show(value, 'm' if abs(value) >= far else unit, 7)}" for how, value in said if value is not None
    )


def holes(part: PhrasePart | ValueKind, name: str = "") -> Iterator[tuple[str, ValueKind]]:
    """Every value of a phrase, with the name of its hole."""
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
        case _:
            return


def about(made: type[ModelBlock]) -> str:
    """What a block is, in a sentence or two."""
    return " ".join((made.__doc__ or "").split("\n\n")[0].split())


def default(made: type[ModelBlock], word: str) -> str:
    """What holds where a word is not written."""
    info = made.model_fields[word]
    if word in made.required:
        return "must be given"
    return said(info).shown or value(info.default)


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
    """A phrase as a person writes it, parts that are not given left out."""

    def kept(part: re.Match[str]) -> str:
        names = re.findall(r"\{(\w+)\}", part[1])
        return part[1] if all(getattr(given, name) is not None for name in names) else ""

    pattern, before = type(given).pattern, ""
    while pattern != before:
        pattern, before = re.sub(r"\[([^\[\]]*)\]", kept, pattern), pattern
    filled = re.sub(r"\{(\w+)\}", lambda hole: value(getattr(given, hole[1])), pattern)
    return " ".join(filled.split()).replace(" ,", ",")
