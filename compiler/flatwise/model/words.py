"""How the model says what a word takes: phrases, kinds of value, places.

A block is a `Block` class; each of its fields is declared with `word(pattern, explanation, …)`.  The pattern
is the phrase as a person writes it, with holes: `"{} to {}"` is never used, holes have names when there is
more than one.

    "{}"                                 one hole, of the field's own type
    "{across} across, {above} above edge" holes named for the fields of the `Phrase` class that the field holds
    "up to {}"                           `up to` and `at most` are read alike
    "[…]"                                may be left out
    ","                                  splits groups

A hole whose type is a tuple takes a list split by commas, so later groups repeat only that last part.
A field declared `repeats=True` may stand on several lines; its type is a tuple and the lines are joined.
A type that is a union is tried in order.  A `Literal` takes just its words.  Reading, messages, completion,
hover, signature help, the formatter and the reference page all come from these declarations.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, NamedTuple, Self, TypeVar

from pydantic import Field

from flatwise.core.units import NOWHERE, Quantity
from flatwise.model.base import Model
from flatwise_grammar.nodes import Span


class _Spanned(str):
    """A string that remembers its place."""

    __slots__ = ("span",)
    span: Span

    def __new__(cls, text: str, span: Span = NOWHERE) -> Any:
        self = super().__new__(cls, text)
        self.span = span
        return self

    def __reduce__(self) -> tuple[Any, ...]:
        return (type(self), (str(self), self.span))


class DeclaredName(_Spanned):
    """The name of a declaration, as written at this place."""


class CodeWord(_Spanned):
    """A code in capitals: `ER20`, `G57`, `M8`."""


class QuotedText(_Spanned):
    """A quoted string."""


class Whole(int):
    """A whole number without a unit, with its place."""

    span: Span

    def __new__(cls, value: int, span: Span = NOWHERE) -> Self:
        self = super().__new__(cls, value)
        self.span = span
        return self

    def __reduce__(self) -> tuple[Any, ...]:
        return (Whole, (int(self), self.span))


@dataclass(frozen=True)
class Of:
    """What a hole takes.  Bounds are in base units (see `flatwise.core.units`); None means no bound.

    `above` and `below` are exclusive, `least` and `most` inclusive.
    """

    dimension: str = ""
    above: float | None = None
    below: float | None = None
    least: float | None = None
    most: float | None = None

    def holds(self, value: float) -> bool:
        """Whether a value in base units lies within the bounds."""
        return not (
            (self.above is not None and value <= self.above)
            or (self.below is not None and value >= self.below)
            or (self.least is not None and value < self.least)
            or (self.most is not None and value > self.most)
        )

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> Any:
        """Values given in code are held to the dimension and the bounds too."""
        from pydantic_core import core_schema

        return core_schema.no_info_after_validator_function(self._judged, handler(source))

    def _judged(self, value: Any) -> Any:
        if not self.holds(value):
            raise ValueError(f"{value} is out of bounds")
        if self.dimension and value.dimension not in ("", self.dimension):
            raise ValueError(f"{value} is no {self.dimension}")
        return value


@dataclass(frozen=True)
class Refers:
    """The hole takes the name of a declaration of this kind."""

    kind: str


@dataclass(frozen=True)
class Shaped:
    """The hole takes a code of this form (a regular expression that is matched whole)."""

    form: str
    spoken: str


# -- kinds of value that many words share --------------------------------------------------------------------

Length = Annotated[Quantity, Of("length", least=0.0, most=100_000.0)]
Size = Annotated[Quantity, Of("length", above=0.0, most=100_000.0)]
Coordinate = Annotated[Quantity, Of("length", least=-100_000.0, most=100_000.0)]
Feed = Annotated[Quantity, Of("feed", above=0.0, most=200_000.0)]
Rotation = Annotated[Quantity, Of("rotation", above=0.0, most=100_000.0)]
Acceleration = Annotated[Quantity, Of("acceleration", above=0.0, most=100_000.0)]
Power = Annotated[Quantity, Of("power", above=0.0, most=100_000.0)]
Force = Annotated[Quantity, Of("force", above=0.0, most=100_000.0)]
Pressure = Annotated[Quantity, Of("pressure", above=0.0, most=1_000_000.0)]
Density = Annotated[Quantity, Of("density", above=0.0, most=3_000.0)]
Time = Annotated[Quantity, Of("time", least=0.0, most=600.0)]
Share = Annotated[Quantity, Of("ratio", above=0.0, most=1.0)]
Depth = Annotated[Quantity, Of("length", above=0.0, most=100.0)]


# -- places ----------------------------------------------------------------------------------------------------

#: Where each named place is, as fractions of length and width.
PLACES: dict[str, tuple[float, float]] = {
    "front_left": (0.0, 0.0),
    "front": (0.5, 0.0),
    "front_right": (1.0, 0.0),
    "left": (0.0, 0.5),
    "centre": (0.5, 0.5),
    "right": (1.0, 0.5),
    "back_left": (0.0, 1.0),
    "back": (0.5, 1.0),
    "back_right": (1.0, 1.0),
}
CORNERS = ("front_left", "front_right", "back_left", "back_right")
EDGES = ("left", "right", "front", "back")


class Place(NamedTuple):
    """A place on the panel: a named one, or a point in mm from its front-left corner.

    `name` is "" for a point; `corners` has been spread into four places and `center` into `centre` by reading.
    """

    name: str
    x: float
    y: float
    span: Span

    def on(self, length: float, width: float) -> tuple[float, float]:
        """(x, y) in mm on a panel of this size."""
        if self.name:
            across, up = PLACES[self.name]
            return (across * length, up * width)
        return (self.x, self.y)


class EdgePosition(NamedTuple):
    """A position along an edge, from its left or front end: a share of it (0…1) or a length in mm."""

    share: float | None
    length: float | None
    text: str
    span: Span

    def on(self, edge: float) -> float:
        """mm from the left or front end of an edge of this length (mm)."""
        return self.share * edge if self.share is not None else float(self.length or 0.0)


# -- phrases and blocks ------------------------------------------------------------------------------------------


class Phrase(Model):
    """The values of one line, named."""

    pattern: ClassVar[str] = "{}"
    _span: ClassVar[Span] = NOWHERE

    @property
    def span(self) -> Span:
        """Where the phrase stands."""
        return self._span


P = TypeVar("P", bound=Phrase)


def placed_phrase(cls: type[P], values: Mapping[str, Any], span: Span) -> P:
    """A phrase with its place; what `values` leaves out takes its default."""
    phrase = cls.model_construct(**values)
    phrase.__dict__["_span"] = span
    return phrase


class ModelBlock(Model):
    """A declaration or a part of one: `kind name { … }`."""

    kind: ClassVar[str] = ""
    #: words that must be there (FW105)
    required: ClassVar[tuple[str, ...]] = ()

    _name: ClassVar[str] = ""
    _head: ClassVar[Span] = NOWHERE
    _spans: ClassVar[Mapping[str, Span]] = {}

    @property
    def name(self) -> str:
        """The declared name ("" where the block has none)."""
        return self._name

    @property
    def head(self) -> Span:
        """The header's span: where to point when the whole block is meant."""
        return self._head

    def span(self, word: str) -> Span:
        """Where a word of this block was written; the header where it was not."""
        return self._spans.get(word, self._head)

    def wrote(self, word: str) -> bool:
        """Whether the word was written (or inherited from a block that wrote it), not left to its default."""
        return word in self._spans


def word(
    pattern: str, explanation: str, default: Any = ..., *, example: str = "", repeats: bool = False, shown: str = ""
) -> Any:
    """Declare a word of a block.

    `pattern` is the phrase (see the module's text), `explanation` one or two plain sentences, `default` the
    value when the word is not written (`...` where there is none and it is required by `Block.required`),
    `shown` the default in words where it is worked out, `example` a phrase that compiles.
    """
    if default is ...:
        default = () if repeats else None
    extra: Any = {"pattern": pattern, "example": example, "repeats": repeats, "shown": shown}
    return Field(default=default, description=explanation, json_schema_extra=extra)


def mm(value: float) -> Quantity:
    """A default length in millimetres."""
    return Quantity(value, "mm")


B = TypeVar("B", bound=ModelBlock)


def placed_block(cls: type[B], values: Mapping[str, Any], name: str, head: Span, spans: Mapping[str, Span]) -> B:
    """A block with its name and place; `spans` are those of the words written."""
    block = cls.model_construct(**values)
    block.__dict__.update(_name=name, _head=head, _spans=dict(spans))
    return block
