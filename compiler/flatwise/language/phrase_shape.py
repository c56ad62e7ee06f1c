"""What a phrase looks like, worked out once from the model's patterns and type annotations.

`shape_of(cls, word)` gives the tree that `phrase.py` walks along a line: fixed words, marks, holes with their
kind of value, and parts that may be left out.
"""

from __future__ import annotations

import re
import types
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, Union, get_args, get_origin

from flatwise.core.units import NAME_WITH_ARTICLE, Quantity, units_of
from flatwise.core.wording import quoted
from flatwise.model.base import said
from flatwise.model.words import (
    CodeWord,
    DeclaredName,
    EdgePosition,
    ModelBlock,
    Of,
    Phrase,
    Place,
    QuotedText,
    Refers,
    Shaped,
    Whole,
)

#: A likely value of each dimension, for messages.
LIKELY = {
    "length": "12mm",
    "feed": "6m/min",
    "rotation": "14000rpm",
    "acceleration": "500mm/s2",
    "power": "2.2kW",
    "force": "450N",
    "angle": "0.5deg",
    "ratio": "65%",
    "pressure": "12000MPa",
    "density": "680kg/m3",
    "time": "4s",
}


@dataclass(frozen=True)
class Fixed:
    """A word that stands there as it is; words that mean the same are read alike."""

    words: tuple[tuple[str, ...], ...]

    @property
    def spoken(self) -> str:
        return f"`{' '.join(self.words[0])}`"


@dataclass(frozen=True)
class Sign:
    """A comma or `+/-`."""

    text: str

    @property
    def spoken(self) -> str:
        return "a comma" if self.text == "," else f"`{self.text}`"


@dataclass(frozen=True)
class Measure:
    """A number with a unit."""

    of: Of

    @property
    def spoken(self) -> str:
        return f"{NAME_WITH_ARTICLE[self.of.dimension]}, such as {LIKELY[self.of.dimension]}"

    @property
    def units(self) -> tuple[str, ...]:
        return units_of(self.of.dimension)


@dataclass(frozen=True)
class Count:
    """A whole number without a unit."""

    of: Of
    spoken = "a whole number without a unit"


@dataclass(frozen=True)
class Named:
    """The name of a declaration of `kind`."""

    kind: str

    @property
    def spoken(self) -> str:
        return f"the name of a {self.kind}"


@dataclass(frozen=True)
class Coded:
    """A code in capitals, of one form."""

    shaped: Shaped

    @property
    def spoken(self) -> str:
        return f"a code: {self.shaped.spoken}"


@dataclass(frozen=True)
class Quoted:
    """A text in quotes."""

    spoken = "a text in quotes"


@dataclass(frozen=True)
class WordChoice:
    """One of a few words (a choice may be two words: `by hand`), the longest first."""

    choices: tuple[tuple[str, ...], ...]

    @property
    def spoken(self) -> str:
        return quoted([" ".join(choice) for choice in self.choices])


@dataclass(frozen=True)
class PanelPlace:
    """A place on the panel."""

    spoken = "a place, such as `front_left` or `(120mm, 45mm)`"


@dataclass(frozen=True)
class EdgePlace:
    """A position along an edge."""

    spoken = "a position along the edge, such as `25%` or `300mm`"


@dataclass(frozen=True)
class Maybe:
    """A part that may be left out."""

    parts: tuple[PhrasePart, ...]


@dataclass(frozen=True)
class Hole:
    """A place for a value, kept under `name`."""

    name: str
    kind: ValueKind


@dataclass(frozen=True)
class Group:
    """A phrase: parts in a row, made into a `Phrase` class (or the one hole's own value)."""

    made: type[Phrase] | None
    parts: tuple[PhrasePart, ...]


@dataclass(frozen=True)
class Either:
    """One kind or another, tried in order."""

    kinds: tuple[ValueKind, ...]


@dataclass(frozen=True)
class Several:
    """A list with commas between."""

    kind: ValueKind


PhrasePart = Fixed | Sign | Hole | Maybe
ValueKind = Measure | Count | Named | Coded | Quoted | WordChoice | PanelPlace | EdgePlace | Group | Either | Several


@dataclass(frozen=True)
class WordShape:
    """All that reading needs to know of one word of a block."""

    word: str
    group: Group
    example: str
    pattern: str
    repeats: bool


_TOKEN = re.compile(r"\[|\]|,|\+/-|\{\w*\}|[^\s\[\]{},]+")
_ALIKE: dict[tuple[str, ...], tuple[tuple[str, ...], ...]] = {
    ("up", "to"): (("up", "to"), ("at", "most")),
    ("at", "most"): (("at", "most"), ("up", "to")),
}


def parts_of(pattern: str, kinds: dict[str, ValueKind]) -> tuple[PhrasePart, ...]:
    """The parts of a pattern, its holes filled with kinds by name ("" for `{}`)."""
    tokens = _TOKEN.findall(pattern)

    def run(at: int) -> tuple[tuple[PhrasePart, ...], int]:
        parts: list[PhrasePart] = []
        while at < len(tokens):
            token = tokens[at]
            if token == "]":
                return tuple(parts), at + 1
            if token == "[":
                inner, at = run(at + 1)
                parts.append(Maybe(inner))
                continue
            if token in (",", "+/-"):
                parts.append(Sign(token))
            elif token.startswith("{"):
                parts.append(Hole(token[1:-1], kinds[token[1:-1]]))
            else:
                pair = (token, tokens[at + 1]) if at + 1 < len(tokens) else ()
                if pair in _ALIKE:
                    parts.append(Fixed(_ALIKE[pair]))
                    at += 1
                else:
                    parts.append(Fixed(((token,),)))
            at += 1
        return tuple(parts), at

    return run(0)[0]


def kind_of(annotation: Any, metadata: tuple[Any, ...] = ()) -> ValueKind:
    """The kind of value that a type annotation of the model stands for."""
    origin = get_origin(annotation)
    if hasattr(annotation, "__metadata__"):
        return kind_of(annotation.__origin__, tuple(annotation.__metadata__) + metadata)
    if origin in (Union, types.UnionType):
        options = [option for option in get_args(annotation) if option is not type(None)]
        kinds = tuple(kind_of(option, metadata) for option in options)
        return kinds[0] if len(kinds) == 1 else Either(kinds)
    if origin is tuple:
        return Several(kind_of(get_args(annotation)[0], metadata))
    if origin is Literal:
        choices = tuple(tuple(str(choice).split()) for choice in get_args(annotation))
        return WordChoice(tuple(sorted(choices, key=len, reverse=True)))
    if annotation is Quantity:
        return Measure(next(mark for mark in metadata if isinstance(mark, Of)))
    if annotation is Whole:
        return Count(next((mark for mark in metadata if isinstance(mark, Of)), Of()))
    if annotation is DeclaredName:
        return Named(next(mark.kind for mark in metadata if isinstance(mark, Refers)))
    if annotation is CodeWord:
        return Coded(next(mark for mark in metadata if isinstance(mark, Shaped)))
    if annotation is QuotedText:
        return Quoted()
    if annotation is Place:
        return PanelPlace()
    if annotation is EdgePosition:
        return EdgePlace()
    if isinstance(annotation, type) and issubclass(annotation, Phrase):
        return phrase_group(annotation)
    raise TypeError(f"the model uses a type that phrases cannot read: {annotation!r}")


@cache
def phrase_group(made: type[Phrase]) -> Group:
    """The parts of a `Phrase` class by its own pattern."""
    return Group(made, parts_of(made.pattern, _hole_kinds(made)))


def _hole_kinds(made: type[Phrase]) -> dict[str, ValueKind]:
    return {name: kind_of(info.annotation, tuple(info.metadata)) for name, info in made.model_fields.items()}


def nested(annotation: Any) -> type[ModelBlock] | None:
    """The Block class that a field of a block holds, or None where it holds a phrase."""
    for option in (annotation, *get_args(annotation)):
        if isinstance(option, type) and issubclass(option, ModelBlock):
            return option
    return None


@dataclass(frozen=True)
class BlockShape:
    """The words and the blocks that a block takes.

    `blocks` is keyed by what the header says: ("stock",), ("after", "first").
    """

    made: type[ModelBlock]
    words: dict[str, WordShape]
    blocks: dict[tuple[str, ...], tuple[str, type[ModelBlock]]]
    defaults: dict[str, Any]


@cache
def block_shape(made: type[ModelBlock]) -> BlockShape:
    """The words of a block class, in the order in which the model declares them."""
    words: dict[str, WordShape] = {}
    blocks: dict[tuple[str, ...], tuple[str, type[ModelBlock]]] = {}
    defaults: dict[str, Any] = {}
    for name, info in made.model_fields.items():
        defaults[name] = info.default
        inner = nested(info.annotation)
        if inner is not None:
            key = (inner.kind,) if name == inner.kind else (inner.kind, name.removeprefix(inner.kind + "_"))
            blocks[key] = (name, inner)
            continue
        told = said(info)
        words[name] = WordShape(
            name,
            _word_group(info.annotation, tuple(info.metadata), told.pattern, told.repeats),
            told.example,
            told.pattern,
            told.repeats,
        )
    return BlockShape(made, words, blocks, defaults)


def owners_of(word: str) -> set[str]:
    """The kinds of block that take a word."""
    from flatwise.model.kinds import KINDS

    found: set[str] = set()
    waiting = list(KINDS.values())
    while waiting:
        shape = block_shape(waiting.pop())
        if word in shape.words:
            found.add(shape.made.kind)
        waiting.extend(inner for _, inner in shape.blocks.values())
    return found


def _word_group(annotation: Any, metadata: tuple[Any, ...], pattern: str, repeats: bool) -> Group:
    if "{}" in pattern:
        return Group(None, parts_of(pattern, {"": kind_of(annotation, metadata)}))
    inner = get_args(annotation)[0] if repeats else annotation
    made = next(
        option for option in (inner, *get_args(inner)) if isinstance(option, type) and issubclass(option, Phrase)
    )
    return Group(made, parts_of(pattern, _hole_kinds(made)))
