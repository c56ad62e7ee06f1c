"""The syntax tree: what the text says, before anyone asks what it means.

Every node has the span that it came from, as character offsets into its text, so that a message can underline it and
the formatter can keep every comment.  Nothing here knows a word of the trade.
"""

from __future__ import annotations

from typing import Any, NamedTuple, TypeVar, cast

R = TypeVar("R", bound=type[tuple[Any, ...]])


def kind(record: R) -> R:
    """Make a record one of several kinds, equal only to its own: tuples of two kinds would be if their parts are."""

    def same(one: tuple[Any, ...], other: object) -> bool:
        return type(one) is type(other) and tuple.__eq__(one, other)

    for name, how in (("__eq__", same), ("__ne__", lambda one, other: not same(one, other))):
        setattr(record, name, how)
    return record


class Span(NamedTuple):
    """A stretch of one source: `path` as the loader names it, `start` and `end` in characters from 0."""

    path: str
    start: int
    end: int

    def to(self, other: Span) -> Span:
        """The stretch from the start of this span to the end of `other` (same source)."""
        return Span(self.path, self.start, max(self.end, other.end))


@kind
class Number(NamedTuple):
    """A bare number as written: `3`, `-0.5`, `3/4`, `1 1/8`.  The text is kept, so nothing has been rounded."""

    text: str
    span: Span


@kind
class NumberWithUnit(NamedTuple):
    """A number with its unit: `0.5mm`, `3/4in`, `1 1/8in`, `70%`, `400mm/s2`.

    A space may come before a unit that can't be a name (`2.2 kW`, `70 %`).  A unit that could be a name is one here:
    `12 mm` is a Number and a Name, and the compiler, which knows the units, joins them.
    """

    number: str
    unit: str
    span: Span


@kind
class Name(NamedTuple):
    """A word: `front_left`, `x`, `to`."""

    text: str
    span: Span


@kind
class Code(NamedTuple):
    """A code in capitals: `ER20`, `G59.3`, `M8`."""

    text: str
    span: Span


@kind
class String(NamedTuple):
    """A quoted text, with its escapes already read."""

    text: str
    span: Span


@kind
class Point(NamedTuple):
    """`(120mm, 45mm)`: the items of each coordinate, not yet interpreted."""

    x: tuple[Item, ...]
    y: tuple[Item, ...]
    span: Span


@kind
class Mark(NamedTuple):
    """Punctuation between items: `,` or `+/-`."""

    text: str
    span: Span


Item = Number | NumberWithUnit | Name | Code | String | Point | Mark


@kind
class Field(NamedTuple):
    """One line: a word and its phrase.

    Where the phrase could not be read, `broken` is true and `items` is empty: a Flaw says why, and the field is in the
    tree so that it is not reported as missing.
    """

    word: Name
    items: tuple[Item, ...]
    span: Span
    broken: bool = False


@kind
class Block(NamedTuple):
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


@kind
class Use(NamedTuple):
    """`use "path"`."""

    target: String
    span: Span


@kind
class Comment(NamedTuple):
    """`# …` to the end of its line, without the line break."""

    text: str
    span: Span


@kind
class File(NamedTuple):
    """A whole file, as far as its text can be read."""

    uses: tuple[Use, ...]
    blocks: tuple[Block, ...]
    comments: tuple[Comment, ...]
    span: Span


@kind
class Flaw(NamedTuple):
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


def _moved(node: Any, by: int) -> Any:
    """The same for any part of a node."""
    if type(node) is Span:
        return Span(node.path, node.start + by, node.end + by)
    if isinstance(node, tuple):
        # without the record's own `__new__`, for speed: an edit near the top of a long file moves everything below it
        return tuple.__new__(type(node), [_moved(one, by) for one in node])
    return node


def in_open_block(tree: File, at: int) -> bool:
    """Whether the innermost block around an offset lacks its closing brace."""
    blocks, closed = tree.blocks, True
    while block := next((one for one in blocks if one.span.start <= at < one.span.end), None):
        blocks, closed = block.blocks, block.closed
    return not closed
