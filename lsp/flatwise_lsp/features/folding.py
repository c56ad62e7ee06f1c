"""Folding: blocks, comments on several lines, and the `use` lines."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Literal, NamedTuple

from flatwise_grammar.nodes import Block, Span
from flatwise_lsp.workspace.view import View


class Fold(NamedTuple):
    """Lines (from 0) that fold into the first of them."""

    first: int
    last: int
    kind: Literal["region", "comment", "imports"]


def find_folds(view: View) -> list[Fold]:
    """Everything that folds in a document."""
    line_of = view.text.line_of
    comments = [line_of(comment.span.start) for comment in view.tree.comments if _starts_its_line(view, comment.span)]
    uses = [line_of(use.span.start) for use in view.tree.uses]
    found = list(_block_folds(view, view.tree.blocks))
    found.extend(Fold(first, last, "comment") for first, last in _consecutive(comments))
    found.extend(Fold(first, last, "imports") for first, last in _consecutive(uses))
    return sorted(found)


def _block_folds(view: View, blocks: tuple[Block, ...]) -> Iterator[Fold]:
    for block in blocks:
        first, last = view.text.line_of(block.head_span.start), view.text.line_of(block.span.end)
        # the closing brace stays visible
        if last - 1 > first:
            yield Fold(first, last - 1 if block.closed else last, "region")
        yield from _block_folds(view, block.blocks)


def _starts_its_line(view: View, span: Span) -> bool:
    start = view.text.starts[view.text.line_of(span.start)]
    return not view.text.text[start : span.start].strip()


def _consecutive(lines: list[int]) -> Iterator[tuple[int, int]]:
    """The first and last of each two or more consecutive line numbers."""
    first = last = -2
    for line in [*lines, -2]:
        if line == last + 1:
            last = line
            continue
        if last > first:
            yield first, last
        first = last = line
