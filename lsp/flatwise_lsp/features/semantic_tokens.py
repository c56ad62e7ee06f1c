"""Semantic tokens: what each word of a text is, from the tree and from what names refer to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from flatwise.core.units import UNITS
from flatwise.model.kinds import KINDS, TAKES
from flatwise_grammar.nodes import Block, Code, Field, Item, Mark, Name, Number, NumberWithUnit, Point, String
from flatwise_lsp.features.declared_names import find_mentions
from flatwise_lsp.workspace.document_text import DocumentText, Encoding, code_units
from flatwise_lsp.workspace.tree_search import walk
from flatwise_lsp.workspace.view import View

#: names that the protocol defines, so that every editor has a colour for them
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
DECLARATION, READONLY = 1, 2


class Token(NamedTuple):
    """A stretch of text and what it is; `modifiers` are bits in the order of MODIFIERS."""

    start: int
    end: int
    type: str
    modifiers: int = 0


def find_tokens(view: View) -> list[Token]:
    """The tokens of a document in order; none overlaps another or contains a line break."""
    found = {token.start: token for token in (*_file_tokens(view), *_tree_tokens(view))}
    for mention in find_mentions(view.meaning, view.name):
        token_type = "parameter" if mention.declared.kind == "parameter" else "variable"
        modifiers = DECLARATION if mention.declares else READONLY if mention.declared.at is None else 0
        found[mention.span.start] = Token(mention.span.start, mention.span.end, token_type, modifiers)
    ordered: list[Token] = []
    for start in sorted(found):
        if not ordered or ordered[-1].end <= start:
            ordered.append(found[start])
    return ordered


def _file_tokens(view: View) -> Iterator[Token]:
    """Comments and `use` lines."""
    for comment in view.tree.comments:
        yield Token(comment.span.start, comment.span.end, "comment")
    for use in view.tree.uses:
        yield Token(use.span.start, use.span.start + len("use"), "keyword")
        yield Token(use.target.span.start, use.target.span.end, "string")


def _tree_tokens(view: View) -> Iterator[Token]:
    for path in walk(view.tree.blocks):
        if isinstance(path.node, Block):
            yield from _header_tokens(path.node, top_level=not path.blocks)
        else:
            yield from _line_tokens(path.node, known=path.shape is not None or path.node.word.text == TAKES)


def _header_tokens(block: Block, top_level: bool) -> Iterator[Token]:
    for index, item in enumerate(block.head):
        if not isinstance(item, Name):
            yield from _item_tokens(item)
        elif index == 0:
            known = not top_level or item.text in KINDS
            yield Token(item.span.start, item.span.end, "keyword" if known else "type")
        else:
            is_keyword = not top_level or index == 2
            yield Token(item.span.start, item.span.end, "keyword" if is_keyword else "variable")


def _line_tokens(line: Field, known: bool) -> Iterator[Token]:
    yield Token(line.word.span.start, line.word.span.end, "property" if known else "parameter")
    for item in line.items:
        yield from _item_tokens(item)


def _item_tokens(item: Item) -> Iterator[Token]:
    start, end = item.span.start, item.span.end
    match item:
        case Point():
            for part in (*item.x, *item.y):
                yield from _item_tokens(part)
        case NumberWithUnit() | Number():
            yield Token(start, end, "number")
        case Name():
            yield Token(start, end, "number" if item.text in UNITS else "enumMember")
        case String():
            yield Token(start, end, "string")
        case Code():
            yield Token(start, end, "enumMember", READONLY)
        case Mark() if item.text == "+/-":
            yield Token(start, end, "operator")


def encode(
    tokens: Sequence[Token], text: DocumentText, encoding: Encoding, first: int = 0, last: int | None = None
) -> list[int]:
    """The tokens between two offsets as in the protocol: five numbers each, positions relative to the token before."""
    data: list[int] = []
    line_before = column_before = 0
    for token in tokens:
        if token.end <= first or (last is not None and token.start >= last):
            continue
        line, column = text.position(token.start, encoding)
        data += (
            line - line_before,
            column - column_before if line == line_before else column,
            code_units(text.text[token.start : token.end], encoding),
            TYPES.index(token.type),
            token.modifiers,
        )
        line_before, column_before = line, column
    return data


class TokenEdit(NamedTuple):
    """`data` replaces `deleted` numbers from `start` on."""

    start: int
    deleted: int
    data: list[int]


def find_edit(old: list[int], new: list[int]) -> TokenEdit | None:
    """The one stretch in which two lists of numbers differ; None where they are equal."""
    if old == new:
        return None
    shorter = min(len(old), len(new))
    head = next((index for index in range(shorter) if old[index] != new[index]), shorter)
    tail = next((index for index in range(shorter - head) if old[-1 - index] != new[-1 - index]), shorter - head)
    return TokenEdit(head, len(old) - tail - head, new[head : len(new) - tail])
