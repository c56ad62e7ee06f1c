"""Selection ranges: what a growing selection takes in, from an item to the whole file."""

from __future__ import annotations

from collections.abc import Iterator

from flatwise_grammar.nodes import Block, Field, Item, Point, Span
from flatwise_lsp.workspace.tree_search import contains, item_at
from flatwise_lsp.workspace.view import View


def grow_selection(view: View, offset: int) -> list[Span]:
    """The spans around an offset, innermost first."""
    spans = [Span(view.name, 0, len(view.text.text)), *_spans_in(view.tree.blocks, offset)]
    for use in view.tree.uses:
        if contains(use.span, offset):
            spans.append(use.span)
            if use.target.span.start <= offset:
                spans.append(use.target.span)
    return list(dict.fromkeys(reversed(spans)))


def _spans_in(parts: tuple[Block | Field, ...], offset: int) -> Iterator[Span]:
    """The spans around an offset in some blocks or lines, outermost first."""
    part = next((one for one in parts if contains(one.span, offset)), None)
    if part is None:
        return
    yield part.span
    if isinstance(part, Field):
        if part.items and part.items[0].span.start <= offset:
            yield part.items[0].span.to(part.items[-1].span)
        yield from _item_spans((part.word, *part.items), offset)
    elif offset <= part.head_span.end:
        yield part.head_span
        yield from _item_spans(part.head, offset)
    else:
        yield from _spans_in(part.body, offset)


def _item_spans(items: tuple[Item, ...], offset: int) -> Iterator[Span]:
    for item in items:
        if isinstance(item, Point) and contains(item.span, offset):
            yield item.span
    innermost = item_at(items, offset)
    if innermost is not None:
        yield innermost.span
