"""Semantic tokens: what each word of a text is, from its lexemes and from what they mean."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from flatwise.core.units import UNITS
from flatwise.model.kinds import KINDS
from flatwise_grammar.nodes import Block, Code, Field, Item, Mark, Name, Number, NumberWithUnit, Point, String
from flatwise_lsp.features.names import mentions
from flatwise_lsp.workspace.text import Encoding, Text, units
from flatwise_lsp.workspace.view import View, walk

#: the names are the protocol's own, so that every editor has a colour for them
TYPES = (
    "keyword",
    "property",
    "enumMember",
    "variable",
    "parameter",
    "number",
    "string",
    "comment",
    "operator",
    "type",
)
MODIFIERS = ("declaration", "readonly")


class Token(NamedTuple):
    """A stretch and what it is; `modifiers` are bits in the order of MODIFIERS."""

    start: int
    end: int
    type: str
    modifiers: int = 0


def tokens(view: View) -> list[Token]:
    """The tokens of a document, in order; none crosses a line break or another."""
    found: dict[int, Token] = {}
    for token in _plain(view):
        found[token.start] = token
    for token in _of_tree(view):
        found[token.start] = token
    for mention in mentions(view.meaning, view.name):
        type_ = "parameter" if mention.meant.kind == "parameter" else "variable"
        bits = 1 if mention.declares else 2 if mention.meant.at is None else 0
        found[mention.span.start] = Token(mention.span.start, mention.span.end, type_, bits)
    ordered: list[Token] = []
    for start in sorted(found):
        if not ordered or ordered[-1].end <= start:
            ordered.append(found[start])
    return ordered


def _plain(view: View) -> Iterator[Token]:
    """Comments and `use` lines."""
    for comment in view.tree.comments:
        yield Token(comment.span.start, comment.span.end, "comment")
    for use in view.tree.uses:
        yield Token(use.span.start, use.span.start + 3, "keyword")
        yield Token(use.target.span.start, use.target.span.end, "string")


def _of_tree(view: View) -> Iterator[Token]:
    for spot in walk(view.tree.blocks):
        node = spot.node
        if isinstance(node, Block):
            yield from _header(node, top=not spot.blocks)
        else:
            yield from _line(node, spot.shape is not None or node.word.text == "takes")


def _header(block: Block, top: bool) -> Iterator[Token]:
    for index, item in enumerate(block.head):
        if not isinstance(item, Name):
            yield from _item(item)
        elif index == 0:
            known = not top or item.text in KINDS
            yield Token(item.span.start, item.span.end, "keyword" if known else "type")
        elif not top or index == 2:
            yield Token(item.span.start, item.span.end, "keyword")
        else:
            yield Token(item.span.start, item.span.end, "variable")


def _line(field: Field, known: bool) -> Iterator[Token]:
    yield Token(field.word.span.start, field.word.span.end, "property" if known else "parameter")
    for item in field.items:
        yield from _item(item)


def _item(item: Item) -> Iterator[Token]:
    start, end = item.span.start, item.span.end
    match item:
        case Point():
            for part in (*item.x, *item.y):
                yield from _item(part)
        case NumberWithUnit() | Number():
            yield Token(start, end, "number")
        case Name():
            yield Token(start, end, "number" if item.text in UNITS else "enumMember")
        case String():
            yield Token(start, end, "string")
        case Code():
            yield Token(start, end, "enumMember", 2)
        case Mark() if item.text == "+/-":
            yield Token(start, end, "operator")


def encoded(
    found: Sequence[Token], text: Text, encoding: Encoding, first: int = 0, last: int | None = None
) -> list[int]:
    """Tokens as the protocol's numbers: five each, lines and columns counted from the token before.

    Only those that stand between the offsets `first` and `last`.
    """
    data: list[int] = []
    line_before = column_before = 0
    for token in found:
        if token.end <= first or (last is not None and token.start >= last):
            continue
        line, column = text.position(token.start, encoding)
        length = units(text.text[token.start : token.end], encoding)
        data += (
            line - line_before,
            column - column_before if line == line_before else column,
            length,
            TYPES.index(token.type),
            token.modifiers,
        )
        line_before, column_before = line, column
    return data


class Delta(NamedTuple):
    """Numbers from `start` on, `gone` of them, give way to `data`."""

    start: int
    gone: int
    data: list[int]


def delta(old: list[int], new: list[int]) -> Delta | None:
    """The one stretch in which two lists of numbers differ; None where they are equal."""
    if old == new:
        return None
    most = min(len(old), len(new))
    head = next((index for index in range(most) if old[index] != new[index]), most)
    tail = next((index for index in range(most - head) if old[-1 - index] != new[-1 - index]), most - head)
    return Delta(head, len(old) - tail - head, new[head : len(new) - tail])
