"""The syntax tree: what the text says, before anyone asks what it means.

Every node has the span that it came from, as character offsets into its text, so that a message can underline it and
the formatter can keep every comment.  Nothing here knows a word of the trade.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, NamedTuple, TypeVar, cast


class Span(NamedTuple):
    """A stretch of one source: `path` as the loader names it, `start` and `end` in characters from 0."""

    path: str
    start: int
    end: int

    def to(self, other: Span) -> Span:
        """The stretch from the start of this span to the end of `other` (same source)."""
        return Span(self.path, self.start, max(self.end, other.end))


@dataclass(frozen=True)
class Number:
    """A bare number as written: `3`, `-0.5`, `3/4`, `1 1/8`.  The text is kept, so nothing has been rounded."""

    text: str
    span: Span


@dataclass(frozen=True)
class NumberWithUnit:
    """A number with its unit: `0.5mm`, `3/4in`, `1 1/8in`, `70%`, `400mm/s2`.

    A space may come before a unit that can't be a name (`2.2 kW`, `70 %`).  A unit that could be a name is one here:
    `12 mm` is a Number and a Name, and the compiler, which knows the units, joins them.
    """

    number: str
    unit: str
    span: Span


@dataclass(frozen=True)
class Name:
    """A word: `front_left`, `x`, `to`."""

    text: str
    span: Span


@dataclass(frozen=True)
class Code:
    """A code in capitals: `ER20`, `G59.3`, `M8`."""

    text: str
    span: Span


@dataclass(frozen=True)
class String:
    """A quoted text, with its escapes already read."""

    text: str
    span: Span


@dataclass(frozen=True)
class Point:
    """`(120mm, 45mm)`: the items of each coordinate, not yet interpreted."""

    x: tuple[Item, ...]
    y: tuple[Item, ...]
    span: Span


@dataclass(frozen=True)
class Mark:
    """Punctuation between items: `,` or `+/-`."""

    text: str
    span: Span


Item = Number | NumberWithUnit | Name | Code | String | Point | Mark


@dataclass(frozen=True)
class Field:
    """One line: a word and its phrase.

    Where the phrase could not be read, `broken` is true and `items` is empty: a Flaw says why, and the field is in the
    tree so that it is not reported as missing.
    """

    word: Name
    items: tuple[Item, ...]
    span: Span
    broken: bool = False


@dataclass(frozen=True)
class Block:
    """`kind name … { body }`.

    `head` has the items before the brace; `head[0]` is the Name of the kind.  `closed` is False where the closing brace
    is missing: the block is then kept with what it has.
    """

    head: tuple[Item, ...]
    body: tuple[Field | Block, ...]
    span: Span
    head_span: Span
    closed: bool = True

    @property
    def kind(self) -> str:
        first = self.head[0] if self.head else None
        return first.text if isinstance(first, Name) else ""

    @property
    def name(self) -> Name | None:
        """The item after the kind, where it is a name."""
        second = self.head[1] if len(self.head) > 1 else None
        return second if isinstance(second, Name) else None

    @property
    def fields(self) -> tuple[Field, ...]:
        return tuple(part for part in self.body if isinstance(part, Field))

    @property
    def blocks(self) -> tuple[Block, ...]:
        return tuple(part for part in self.body if isinstance(part, Block))


@dataclass(frozen=True)
class Use:
    """`use "path"`."""

    target: String
    span: Span


@dataclass(frozen=True)
class Comment:
    """`# …` to the end of its line, without the line break."""

    text: str
    span: Span


@dataclass(frozen=True)
class File:
    """A whole file, as far as its text can be read."""

    uses: tuple[Use, ...]
    blocks: tuple[Block, ...]
    comments: tuple[Comment, ...]
    span: Span


@dataclass(frozen=True)
class Flaw:
    """A place where the text is not the language.

    `code` is FW001 (not understood), FW002 (block not closed) or FW003 (number not understood).
    `opened` is the opening brace of a block that is not closed.
    `fix` is (span, replacement, title) where exactly one correction is certain; `also` are the places of the same line
    that it corrects as well, as (span, replacement).
    """

    code: str
    message: str
    span: Span
    help: str = ""
    opened: Span | None = None
    fix: tuple[Span, str, str] | None = None
    also: tuple[tuple[Span, str], ...] = ()


Node = TypeVar("Node", bound="Item | Field | Block | Use | Comment | Flaw")


def moved(node: Node, by: int) -> Node:
    """The same node `by` characters further on in its source."""
    return cast(Node, _moved(node, by))


#: the parts of a node that have spans of their own
_PARTS: dict[type, tuple[str, ...]] = {
    Block: ("head", "body", "head_span"),
    Field: ("word", "items"),
    Point: ("x", "y"),
    Use: ("target",),
    Flaw: ("opened", "fix"),
}


def _moved(node: Any, by: int) -> Any:
    """Copy without `__init__`, for speed: an edit near the top of a long file moves everything below it."""
    cls = node.__class__
    if cls is Span:
        return Span(node.path, node.start + by, node.end + by)
    if cls is tuple:
        return tuple([_moved(one, by) for one in node])
    if cls is str or node is None:
        return node
    new = object.__new__(cls)
    held = new.__dict__
    held.update(node.__dict__)
    path, start, end = held["span"]
    held["span"] = Span(path, start + by, end + by)
    for name in _PARTS.get(cls, ()):
        held[name] = _moved(held[name], by)
    return new


def in_open_block(tree: File, at: int) -> bool:
    """Whether the innermost block around an offset lacks its closing brace."""
    blocks, closed = tree.blocks, True
    while block := next((one for one in blocks if one.span.start <= at < one.span.end), None):
        blocks, closed = block.blocks, block.closed
    return not closed
