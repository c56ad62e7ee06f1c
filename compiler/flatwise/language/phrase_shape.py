"""The shape of each line of a block, derived once from the model's patterns and type annotations.

`block_shape` gives, for each word, the tree along which `phrase_reader` reads a line: fixed words, marks, holes with
their kind of value, and optional parts.
"""

from __future__ import annotations

import re
import types
from collections import deque
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal, NamedTuple, Union, get_args, get_origin

from pydantic.fields import FieldInfo

from flatwise.core.units import NAME_WITH_ARTICLE, Quantity, units_of
from flatwise.core.wording import quoted
from flatwise.model.kinds import KINDS, all_blocks
from flatwise.model.words import (
    CodeForm,
    CodeWord,
    DeclaredName,
    Dimension,
    EdgePosition,
    ModelBlock,
    Phrase,
    Place,
    PointFileName,
    QuotedText,
    Refers,
    Whole,
    word_info,
)
from flatwise_grammar.nodes import kind

#: a likely value of each dimension, for messages
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


@kind
class Fixed(NamedTuple):
    """Words that stand there as they are; alternatives mean the same, and the first is shown."""

    words: tuple[tuple[str, ...], ...]

    @property
    def spoken(self) -> str:
        return f"`{' '.join(self.words[0])}`"


@kind
class Sign(NamedTuple):
    """A comma or `+/-`."""

    text: str

    @property
    def spoken(self) -> str:
        return "a comma" if self.text == "," else f"`{self.text}`"


class Bounds(NamedTuple):
    """Bounds of a number in base units: greater than, at least, less than, at most; None where there is none."""

    gt: float | None = None
    ge: float | None = None
    lt: float | None = None
    le: float | None = None


NO_BOUNDS = Bounds()


@kind
class Measure(NamedTuple):
    """A number with a unit."""

    dimension: str
    bounds: Bounds = NO_BOUNDS

    @property
    def spoken(self) -> str:
        return f"{NAME_WITH_ARTICLE[self.dimension]}, such as {LIKELY[self.dimension]}"

    @property
    def units(self) -> tuple[str, ...]:
        return units_of(self.dimension)

    def likely_units(self, number: str) -> tuple[str, ...]:
        """The units that a bare number most likely means: one where the dimension has one, else the usual ones."""
        if self.dimension == "length":
            return ("in", "mm") if "/" in number else ("mm", "in")
        single = ("rotation", "ratio", "angle", "density", "time", "force")
        return self.units[:1] if self.dimension in single else self.units[:3]


@kind
class Count(NamedTuple):
    """A whole number without a unit."""

    bounds: Bounds

    @property
    def spoken(self) -> str:
        return "a whole number without a unit"


@kind
class Named(NamedTuple):
    """The name of a declaration of `kind`."""

    kind: str

    @property
    def spoken(self) -> str:
        return f"the name of a {'set of shims' if self.kind == 'shims' else self.kind}"


@kind
class Coded(NamedTuple):
    """A code in capitals, of one form."""

    form: CodeForm

    @property
    def spoken(self) -> str:
        return f"a code: {self.form.spoken}"


@kind
class Quoted(NamedTuple):
    """A text in quotes, which becomes a value of this class."""

    made: type[QuotedText]

    @property
    def spoken(self) -> str:
        return "a text in quotes"


@kind
class WordChoice(NamedTuple):
    """One of a few words; a choice may be two words (`by hand`), and the longest come first."""

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


@kind
class Maybe(NamedTuple):
    """An optional part."""

    parts: tuple[PhrasePart, ...]


@kind
class Hole(NamedTuple):
    """A place for the value `name`."""

    name: str
    kind: ValueKind


@kind
class Group(NamedTuple):
    """Parts in a row: the values of a `Phrase` class, or where `made` is None the value of the only hole."""

    made: type[Phrase] | None
    parts: tuple[PhrasePart, ...]


@kind
class Either(NamedTuple):
    """One of several kinds, tried in order."""

    kinds: tuple[ValueKind, ...]


@kind
class Several(NamedTuple):
    """A list with commas."""

    kind: ValueKind


PhrasePart = Fixed | Sign | Hole | Maybe
ValueKind = Measure | Count | Named | Coded | Quoted | WordChoice | PanelPlace | EdgePlace | Group | Either | Several


@kind
class WordShape(NamedTuple):
    """The line of one word of a block of this class."""

    made: type[ModelBlock]
    word: str
    group: Group
    example: str
    pattern: str
    repeats: bool


_TOKEN = re.compile(r"\[|\]|,|\+/-|\{\w*\}|[^\s\[\]{},]+")
#: pairs of words that mean the same; messages show the pair of the pattern
_SYNONYMS = {
    ("up", "to"): (("up", "to"), ("at", "most")),
    ("at", "most"): (("at", "most"), ("up", "to")),
}


def parts_of(pattern: str, kinds: Mapping[str, ValueKind]) -> tuple[PhrasePart, ...]:
    """The parts of a pattern; `kinds` has the kind of each hole by its name ("" for `{}`)."""
    return _parts(deque(_TOKEN.findall(pattern)), kinds)


def _parts(tokens: deque[str], kinds: Mapping[str, ValueKind]) -> tuple[PhrasePart, ...]:
    """The parts up to the end of the tokens or to a closing bracket; takes their tokens away."""
    parts: list[PhrasePart] = []
    while tokens and (token := tokens.popleft()) != "]":
        if token == "[":
            parts.append(Maybe(_parts(tokens, kinds)))
        elif token in (",", "+/-"):
            parts.append(Sign(token))
        elif token.startswith("{"):
            parts.append(Hole(token[1:-1], kinds[token[1:-1]]))
        elif tokens and (token, tokens[0]) in _SYNONYMS:
            parts.append(Fixed(_SYNONYMS[token, tokens.popleft()]))
        else:
            parts.append(Fixed(((token,),)))
    return tuple(parts)


def kind_of(annotation: Any, marks: tuple[Any, ...] = ()) -> ValueKind:
    """The kind of value that a type annotation of the model stands for; `marks` are what `Annotated` adds to it."""
    origin = get_origin(annotation)
    if hasattr(annotation, "__metadata__"):
        return kind_of(annotation.__origin__, tuple(annotation.__metadata__) + marks)
    if origin in (Union, types.UnionType):
        options = [option for option in get_args(annotation) if option is not type(None)]
        kinds = tuple(kind_of(option, marks) for option in options)
        return kinds[0] if len(kinds) == 1 else Either(kinds)
    if origin is tuple:
        return Several(kind_of(get_args(annotation)[0], marks))
    if origin is Literal:
        choices = tuple(tuple(str(choice).split()) for choice in get_args(annotation))
        return WordChoice(tuple(sorted(choices, key=len, reverse=True)))
    if annotation is Quantity:
        return Measure(next(mark.name for mark in marks if isinstance(mark, Dimension)), _bounds(marks))
    if annotation is Whole:
        return Count(_bounds(marks))
    if annotation is DeclaredName:
        return Named(next(mark.kind for mark in marks if isinstance(mark, Refers)))
    if annotation is CodeWord:
        return Coded(next(mark for mark in marks if isinstance(mark, CodeForm)))
    if annotation in (QuotedText, PointFileName):
        return Quoted(annotation)
    if annotation is Place:
        return PanelPlace()
    if annotation is EdgePosition:
        return EdgePlace()
    if isinstance(annotation, type) and issubclass(annotation, Phrase):
        return phrase_group(annotation)
    raise TypeError(f"no phrase can be read into {annotation!r}, which the model uses")


def _bounds(marks: tuple[Any, ...]) -> Bounds:
    flat = [each for mark in marks for each in (mark.metadata if isinstance(mark, FieldInfo) else (mark,))]
    return Bounds(**{name: getattr(mark, name) for mark in flat for name in Bounds._fields if hasattr(mark, name)})


@cache
def phrase_group(made: type[Phrase]) -> Group:
    """The parts of a `Phrase` class by its pattern."""
    kinds = {name: kind_of(info.annotation, tuple(info.metadata)) for name, info in made.model_fields.items()}
    return Group(made, parts_of(made.pattern, kinds))


@kind
class BlockShape(NamedTuple):
    """The words and the blocks that a block takes.

    `blocks` is keyed by what the header says, ("stock",) or ("after", "first"), and has the field and its class.
    """

    made: type[ModelBlock]
    words: dict[str, WordShape]
    blocks: dict[tuple[str, ...], tuple[str, type[ModelBlock]]]

    def example(self, word: str) -> str:
        """A line or a block that would do for a word."""
        if word in self.words:
            return f"{word} {self.words[word].example}"
        inner = block_shape(self.made.blocks()[word])
        lines = inner.made.required() or tuple(inner.words)[:1]
        return f"{word} {{ {'; '.join(inner.example(line) for line in lines)} }}"


@cache
def block_shape(made: type[ModelBlock]) -> BlockShape:
    """The words of a block class, in the order in which the model declares them."""
    words: dict[str, WordShape] = {}
    blocks: dict[tuple[str, ...], tuple[str, type[ModelBlock]]] = {}
    inside = made.blocks()
    for name, info in made.model_fields.items():
        inner = inside.get(name)
        if inner is None:
            words[name] = _word_shape(made, name, info)
        else:
            key = (inner.kind,) if name == inner.kind else (inner.kind, name.removeprefix(inner.kind + "_"))
            blocks[key] = (name, inner)
    return BlockShape(made, words, blocks)


def _word_shape(made: type[ModelBlock], name: str, info: FieldInfo) -> WordShape:
    declared = word_info(info)
    one_a_line = declared.repeats and not declared.listed
    kind = kind_of(get_args(info.annotation)[0] if one_a_line else info.annotation, tuple(info.metadata))
    if isinstance(kind, Group) and kind.made is not None:
        group, pattern = kind, kind.made.pattern
    else:
        group, pattern = Group(None, parts_of(declared.pattern, {"": kind})), declared.pattern
    return WordShape(made, name, group, declared.example, pattern, declared.repeats)


def owners_of(word: str) -> set[str]:
    """The kinds of block that have a line of this word."""
    return {made.kind for made in all_blocks() if word in block_shape(made).words}


@cache
def relatives(kind: str) -> frozenset[str]:
    """The kinds of block in the declarations in which a kind of block may stand."""
    trees = ({each.kind for each in all_blocks((made,))} for made in KINDS.values())
    return frozenset().union(*(tree for tree in trees if kind in tree))
