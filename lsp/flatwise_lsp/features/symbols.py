"""The shape of a document: symbols, folding, what grows when a selection grows, and links to files."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from flatwise.sources.load import below_root
from flatwise_grammar.nodes import Block, Field, Item, Point, Span, String
from flatwise_lsp.features.word_pages import line_text
from flatwise_lsp.workspace.view import View, block_words, item_at, owner_of


class Symbol(NamedTuple):
    """A declaration, a block in it, or a line of a block."""

    name: str
    detail: str
    kind: str
    span: Span
    name_span: Span
    inner: tuple[Symbol, ...] = ()


def document_symbols(view: View) -> list[Symbol]:
    """The declarations of a document with their blocks and lines."""
    return [_symbol(block, top=True) for block in view.tree.blocks if block.head]


def _symbol(block: Block, top: bool = False) -> Symbol:
    own = owner_of(block) if top else None
    words = " ".join(word for word in block_words(block) if word)
    inner = tuple(_symbol(part) if isinstance(part, Block) else _line(part) for part in block.body)
    if own is not None:
        detail = " ".join((block.kind, *block_words(block)[2:]))
        return Symbol(own.text, detail, block.kind, block.span, own.span, inner)
    return Symbol(words or "?", "", "block", block.span, block.head_span, inner)


def _line(field: Field) -> Symbol:
    detail = line_text(field).removeprefix(field.word.text).strip()
    return Symbol(field.word.text, detail[:80], "line", field.span, field.word.span)


def workspace_symbols(view: View, query: str) -> list[tuple[Symbol, str]]:
    """The declarations of all files whose letters hold those of the query in their order, with their files."""
    found = []
    for name, source in view.everything.linked.loaded.sources.items():
        for block in source.tree.blocks:
            own = owner_of(block)
            if own is not None and _holds(own.text, query.lower()):
                found.append((Symbol(own.text, block.kind, block.kind, block.span, own.span), name))
    return sorted(found, key=lambda pair: (query.lower() not in pair[0].name, pair[0].name, pair[1]))


def _holds(name: str, query: str) -> bool:
    letters = iter(name)
    return all(letter in letters for letter in query)


# -- folding and selection -------------------------------------------------------------------------------------------


class Fold(NamedTuple):
    """Lines (from 0) that fold into the first of them; `kind` is region, comment or imports."""

    first: int
    last: int
    kind: str


def folds(view: View) -> list[Fold]:
    """Blocks, runs of whole-line comments, and the `use` lines."""
    text = view.text
    found = list(_block_folds(view, view.tree.blocks))
    lines = [text.line_of(comment.span.start) for comment in view.tree.comments if _alone(view, comment.span)]
    found.extend(Fold(first, last, "comment") for first, last in _runs(lines))
    uses = [text.line_of(use.span.start) for use in view.tree.uses]
    found.extend(Fold(first, last, "imports") for first, last in _runs(uses))
    return sorted(found)


def _block_folds(view: View, blocks: tuple[Block, ...]) -> Iterator[Fold]:
    for block in blocks:
        first, last = view.text.line_of(block.head_span.start), view.text.line_of(block.span.end)
        # the closing brace stays in sight
        if last - 1 > first:
            yield Fold(first, last - 1 if block.closed else last, "region")
        yield from _block_folds(view, block.blocks)


def _alone(view: View, span: Span) -> bool:
    start = view.text.starts[view.text.line_of(span.start)]
    return not view.text.text[start : span.start].strip()


def _runs(lines: list[int]) -> Iterator[tuple[int, int]]:
    first = last = -2
    for line in lines:
        if line == last + 1:
            last = line
            continue
        if last > first:
            yield first, last
        first = last = line
    if last > first:
        yield first, last


def selections(view: View, offset: int) -> list[Span]:
    """What a growing selection takes in, from the item at an offset outward."""
    name = view.name
    grown: list[Span] = [Span(name, 0, len(view.text.text))]
    parts: tuple[Block | Field, ...] = view.tree.blocks
    while True:
        part = next((one for one in parts if one.span.start <= offset <= one.span.end), None)
        if part is None:
            break
        grown.append(part.span)
        if isinstance(part, Field):
            grown.extend(_item_spans((part.word, *part.items), offset, part))
            break
        if offset <= part.head_span.end:
            grown.append(part.head_span)
            grown.extend(_item_spans(part.head, offset, None))
            break
        parts = part.body
    for use in view.tree.uses:
        if use.span.start <= offset <= use.span.end:
            grown.append(use.span)
            if use.target.span.start <= offset:
                grown.append(use.target.span)
    return list(dict.fromkeys(reversed(grown)))


def _item_spans(items: tuple[Item, ...], offset: int, field: Field | None) -> Iterator[Span]:
    if field is not None and field.items and field.items[0].span.start <= offset:
        yield field.items[0].span.to(field.items[-1].span)
    for item in items:
        if isinstance(item, Point) and item.span.start <= offset <= item.span.end:
            yield item.span
    innermost = item_at(items, offset)
    if innermost is not None:
        yield innermost.span


# -- links -----------------------------------------------------------------------------------------------------------


class Link(NamedTuple):
    """A text in quotes that names a file."""

    span: Span
    target: Path


def links(view: View) -> list[Link]:
    """The files that `use`, `probe` and `thickness` name, those that are there below the root."""
    texts = [use.target for use in view.tree.uses]
    texts.extend(_texts(view.tree.blocks))
    found = []
    for text in texts:
        if not text.text.strip():
            continue
        target = below_root(view.path.parent, text.text, view.root)
        if target is not None and os.path.isfile(target):
            found.append(Link(Span(text.span.path, text.span.start + 1, text.span.end - 1), target))
    return found


def _texts(blocks: tuple[Block, ...]) -> Iterator[String]:
    for block in blocks:
        for part in block.body:
            if isinstance(part, Block):
                yield from _texts((part,))
            else:  # a reason or a source in quotes is no file, and the next step leaves it out
                yield from (item for item in part.items if isinstance(item, String))
