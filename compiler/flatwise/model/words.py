"""The words of the language as data: what a line may say, and the values that it gives.

A block of the language is a `ModelBlock` class with a field for each word, declared with `word`.  A line that gives
several values is a `Phrase` class.  Its pattern is the line as people write it, with holes for the values:

    "{}"                                  the one value of a word that needs no `Phrase`
    "{across} across, {above} above edge" values named as the fields of the class
    "up to {}"                            `up to` and `at most` mean the same
    "[…]"                                 an optional part

A tuple takes a list with commas, a `Literal` one of its words.  The alternatives of a union are tried in order.

The annotations carry what a value is held to: its dimension, its bounds, the form of a code.  Pydantic evaluates them
when a phrase or a block is made, whether it was read from a file or written in code.  The reader, the messages,
completion, hover and the reference page are all derived from these declarations.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Annotated, Any, ClassVar, NamedTuple, Self, get_args

from pydantic import AfterValidator, BaseModel, ConfigDict, Field, model_validator
from pydantic.fields import FieldInfo
from pydantic_core import PydanticCustomError, PydanticKnownError, core_schema

from flatwise.core.units import NOWHERE, Quantity
from flatwise_grammar.nodes import Span


class SpannedText(str):
    """A string with the place where it was written."""

    __slots__ = ("span",)
    span: Span

    def __new__(cls, text: str, span: Span = NOWHERE) -> Self:
        self = super().__new__(cls, text)
        self.span = span
        return self

    def __reduce__(self) -> tuple[Any, ...]:
        return (type(self), (str(self), self.span))


class DeclaredName(SpannedText):
    """The name of a declaration, where a line refers to it."""


class CodeWord(SpannedText):
    """A code in capitals: `ER20`, `G57`, `M8`."""


class QuotedText(SpannedText):
    """A string in quotes."""


class PointFileName(QuotedText):
    """The path of a file of points, relative to the file that names it."""


class Whole(int):
    """A whole number without a unit, with its place."""

    span: Span

    def __new__(cls, value: int, span: Span = NOWHERE) -> Self:
        self = super().__new__(cls, value)
        self.span = span
        return self

    def __reduce__(self) -> tuple[Any, ...]:
        return (Whole, (int(self), self.span))


# -- what a value is held to -------------------------------------------------------------------------------------


@dataclass(frozen=True)
class Dimension:
    """The quantity is of this dimension, or a bare number in its base unit (see `flatwise.core.units`)."""

    name: str

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.no_info_after_validator_function(self._check, handler(source))

    def _check(self, value: Quantity) -> Quantity:
        if value.dimension not in ("", self.name):
            raise PydanticCustomError("dimension", "the dimension must be {dimension}", {"dimension": self.name})
        return value


@dataclass(frozen=True)
class CodeForm:
    """The code matches a regular expression, which `spoken` says in words."""

    pattern: str
    spoken: str

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.no_info_after_validator_function(self._check, handler(source))

    def _check(self, code: CodeWord) -> CodeWord:
        import re

        if not re.fullmatch(self.pattern, code):
            raise PydanticCustomError("code_form", "the code must be {spoken}", {"spoken": self.spoken})
        return code


class Refers(NamedTuple):
    """The name is that of a declaration of this kind."""

    kind: str


Length = Annotated[Quantity, Dimension("length"), Field(ge=0.0, le=100_000.0)]
Size = Annotated[Quantity, Dimension("length"), Field(gt=0.0, le=100_000.0)]
Coordinate = Annotated[Quantity, Dimension("length"), Field(ge=-100_000.0, le=100_000.0)]
Depth = Annotated[Quantity, Dimension("length"), Field(gt=0.0, le=100.0)]
Feed = Annotated[Quantity, Dimension("feed"), Field(gt=0.0, le=200_000.0)]
Rotation = Annotated[Quantity, Dimension("rotation"), Field(gt=0.0, le=100_000.0)]
Acceleration = Annotated[Quantity, Dimension("acceleration"), Field(gt=0.0, le=100_000.0)]
Power = Annotated[Quantity, Dimension("power"), Field(gt=0.0, le=100_000.0)]
Force = Annotated[Quantity, Dimension("force"), Field(gt=0.0, le=100_000.0)]
Pressure = Annotated[Quantity, Dimension("pressure"), Field(gt=0.0, le=1_000_000.0)]
Density = Annotated[Quantity, Dimension("density"), Field(gt=0.0, le=3_000.0)]
Time = Annotated[Quantity, Dimension("time"), Field(ge=0.0, le=600.0)]
Share = Annotated[Quantity, Dimension("ratio"), Field(gt=0.0, le=1.0)]


# -- places ------------------------------------------------------------------------------------------------------

#: each named place on the panel, as fractions of its length and width
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
#: the word for all four corners at once
ALL_CORNERS = "corners"
OTHER_SPELLINGS = {"center": "centre"}


class Place(NamedTuple):
    """A place on the panel: a named one, or a point in mm from its front-left corner, whose `name` is ""."""

    name: str
    x: float
    y: float
    span: Span

    @classmethod
    def __get_pydantic_core_schema__(cls, source: Any, handler: Any) -> core_schema.CoreSchema:
        return core_schema.is_instance_schema(cls)

    def on(self, length: float, width: float) -> tuple[float, float]:
        """(x, y) in mm on a panel of this size."""
        if self.name:
            across, up = PLACES[self.name]
            return (across * length, up * width)
        return (self.x, self.y)


def at_each_corner(value: Any) -> tuple[Any, ...]:
    """A place `corners`, or a phrase about it, as one for each corner; any other value by itself."""
    place = value if isinstance(value, Place) else getattr(value, "place", None)
    if not isinstance(place, Place) or place.name != ALL_CORNERS:
        return (value,)
    corners = tuple(place._replace(name=name) for name in CORNERS)
    return corners if value is place else tuple(value.model_copy(update={"place": corner}) for corner in corners)


class EdgePosition(Quantity):
    """A position along an edge from its left or front end: a share of the edge, or a length."""

    def on(self, edge: float) -> float:
        """mm from the left or front end of an edge of this length (mm)."""
        return self * edge if self.unit == "%" else float(self)


def _on_an_edge(position: EdgePosition) -> EdgePosition:
    longest = 1.0 if position.unit == "%" else 100_000.0
    if position < 0.0:
        raise PydanticKnownError("greater_than_equal", {"ge": 0.0})
    if position > longest:
        raise PydanticKnownError("less_than_equal", {"le": longest})
    return position


AlongEdge = Annotated[EdgePosition, AfterValidator(_on_an_edge)]


# -- phrases and blocks ------------------------------------------------------------------------------------------


class Model(BaseModel):
    """Named values, validated when they are put together, then frozen."""

    #: validators are built when the first instance is made: a job uses half of the classes
    model_config = ConfigDict(
        frozen=True, arbitrary_types_allowed=True, extra="forbid", defer_build=True, protected_namespaces=()
    )


class Phrase(Model):
    """The values of one line, named."""

    pattern: ClassVar[str] = "{}"
    _span: ClassVar[Span] = NOWHERE

    @property
    def span(self) -> Span:
        """Where the phrase stands."""
        return self._span

    def placed(self, span: Span) -> Self:
        """The same phrase, which now knows where it stands; equality doesn't see the place."""
        self.__dict__["_span"] = span
        return self


class AscendingRange(Phrase):
    """A phrase whose least value may not be above its most."""

    least: Quantity
    most: Quantity

    @model_validator(mode="after")
    def _ascends(self) -> Self:
        if self.least > self.most:
            raise PydanticCustomError("backwards", "the range must ascend")
        return self


class ModelBlock(Model):
    """A declaration or a part of one: `kind name { … }`."""

    kind: ClassVar[str] = ""
    #: names that the header of a block inside another may carry: `stock bed`
    names: ClassVar[tuple[str, ...]] = ()

    _name: ClassVar[str] = ""
    _head: ClassVar[Span] = NOWHERE
    _spans: ClassVar[Mapping[str, Span]] = {}

    @classmethod
    def required(cls) -> tuple[str, ...]:
        """The words that must be written (FW105)."""
        return tuple(word for word, info in cls.model_fields.items() if info.is_required())

    @classmethod
    def blocks(cls) -> "dict[str, type[ModelBlock]]":
        """The classes of the blocks inside this one, by field."""
        return {
            word: part
            for word, info in cls.model_fields.items()
            for part in (info.annotation, *get_args(info.annotation))
            if isinstance(part, type) and issubclass(part, ModelBlock)
        }

    @classmethod
    def implied(cls, name: str, head: Span, values: Mapping[str, Any]) -> dict[str, Any]:
        """Values of required words that follow from the block's name or from its other values."""
        return {}

    @property
    def name(self) -> str:
        """The declared name ("" where the block has none)."""
        return self._name

    @property
    def head(self) -> Span:
        """The header's span: where to point when the whole block is meant."""
        return self._head

    def span(self, word: str) -> Span:
        """Where a word of this block was written, or the header where it was not."""
        return self._spans.get(word, self._head)

    def wrote(self, word: str) -> bool:
        """Whether the word was written here or in a block that this one starts from."""
        return word in self._spans

    def placed(self, name: str = "", head: Span = NOWHERE, spans: Mapping[str, Span] | None = None) -> Self:
        """The same block with its name, the span of its header, and those of the words written."""
        self.__dict__.update(_name=name, _head=head, _spans=dict(spans or {}))
        return self


class WordInfo(NamedTuple):
    """The parts of a field's declaration beside type, default and explanation."""

    pattern: str = "{}"
    example: str = ""
    repeats: bool = False
    listed: bool = False
    shown: str = ""


def word(
    explanation: str,
    default: Any = ...,
    *,
    pattern: str = "{}",
    example: str = "",
    repeats: bool = False,
    listed: bool = False,
    shown: str = "",
) -> Any:
    """Declare a word of a block.

    `explanation` is one or two plain sentences, `default` the value where the word is not written (`...`: it must be,
    unless it repeats), `pattern` the phrase around a value that is no `Phrase`, `example` a phrase that compiles,
    `shown` the default in words where it is computed.  A word that `repeats` may stand on several lines, each with one
    phrase; where it is `listed`, each with a list.
    """
    if default is ... and (repeats or listed):
        default = ()
    info = WordInfo(pattern, example, repeats or listed, listed, shown)
    return Field(default=default, description=explanation, json_schema_extra={"word": info._asdict()})


def word_info(info: FieldInfo) -> WordInfo:
    """The declaration that `word` made for a field."""
    extra: Any = info.json_schema_extra
    return WordInfo(**extra["word"]) if isinstance(extra, dict) else WordInfo()


def mm(value: float) -> Quantity:
    """A default length in millimetres."""
    return Quantity(value, "mm")
