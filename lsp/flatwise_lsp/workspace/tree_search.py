"""Finding things in a syntax tree: the node at an offset with the blocks around it, and the parts of headers."""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from typing import NamedTuple, TypeVar

from flatwise.language.phrase_shape import WordShape, block_shape
from flatwise.model.kinds import FROM, KINDS, LIKE
from flatwise.model.words import ModelBlock
from flatwise_grammar.nodes import Block, Field, File, Item, Name, Point, Span
from flatwise_lsp.workspace.cursor import model_by_headers

Part = TypeVar("Part", Block, Block | Field)


class NodePath(NamedTuple):
    """A node of the tree with the blocks around it, outermost first."""

    blocks: tuple[Block, ...]
    node: Block | Field

    @property
    def open_blocks(self) -> tuple[Block, ...]:
        """The blocks around the node, and the node itself where it is a block."""
        return (*self.blocks, self.node) if isinstance(self.node, Block) else self.blocks

    @property
    def model(self) -> type[ModelBlock] | None:
        """The model of the block around the node."""
        return model_of_blocks(self.blocks)

    @property
    def shape(self) -> WordShape | None:
        """The shape of the word of a line."""
        made = self.model
        if made is None or not isinstance(self.node, Field):
            return None
        return block_shape(made).words.get(self.node.word.text)


def block_words(block: Block) -> tuple[str, ...]:
    """The words of a block's header, "" for what is not a word."""
    return tuple(item.text if isinstance(item, Name) else "" for item in block.head)


def model_of_blocks(blocks: tuple[Block, ...]) -> type[ModelBlock] | None:
    """The model of the innermost of some blocks, outermost first."""
    return model_by_headers(tuple(block_words(block) for block in blocks))


def walk(blocks: tuple[Block, ...], above: tuple[Block, ...] = (), at: int | None = None) -> Iterator[NodePath]:
    """Every block and line from the top; with `at` only those that contain or end at an offset."""
    for block in _near(blocks, at):
        yield NodePath(above, block)
        around = (*above, block)
        for part in _near(block.body, at):
            if isinstance(part, Block):
                yield from walk((part,), around, at)
            else:
                yield NodePath(around, part)


def _near(parts: Sequence[Part], at: int | None) -> Sequence[Part]:
    """The parts that contain or end at an offset, all without one; they are in the order of the text."""
    if at is None:
        return parts
    after = bisect_right(parts, at, key=lambda part: part.span.start)
    return [part for part in parts[max(after - 2, 0) : after] if contains(part.span, at)]


def node_at(tree: File, offset: int) -> NodePath | None:
    """The innermost block or line that contains or ends at an offset."""
    innermost: NodePath | None = None
    for path in walk(tree.blocks, at=offset):
        innermost = path
    return innermost


def item_at(items: tuple[Item, ...], offset: int) -> Item | None:
    """The item at an offset; where two touch, the second."""
    found: Item | None = None
    for item in items:
        if isinstance(item, Point) and item.span.start < offset < item.span.end:
            return item_at((*item.x, *item.y), offset) or item
        if contains(item.span, offset):
            found = item
    return found


def owner_of(block: Block) -> Name | None:
    """The name that a top-level block declares."""
    return block.name if block.kind in KINDS else None


def base_of(block: Block) -> tuple[str, Name] | None:
    """The kind and name of what a declaration starts from: the name behind `like` or `from` in its header."""
    if len(block.head) == 4 and isinstance(block.head[2], Name) and isinstance(block.head[3], Name):
        joint = block.head[2].text
        if joint in (LIKE, FROM):
            return ("recipe" if joint == FROM else block.kind), block.head[3]
    return None


def contains(span: Span, offset: int) -> bool:
    """Whether an offset is in a span or at its end."""
    return span.start <= offset <= span.end
