"""What a feature sees: one document at one moment, what its words mean, and what the last check found out.

Features are functions of a `View` and an offset.  They give plain data with spans; the protocol is put on later.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path

from flatwise.language.link import Declaration
from flatwise.language.phrase_shape import WordShape, block_shape
from flatwise.model.kinds import KINDS
from flatwise.model.words import ModelBlock
from flatwise.sources.load import SOURCE_LIMIT
from flatwise.sources.project import root_of
from flatwise_grammar import parse
from flatwise_grammar.nodes import Block, Field, File, Item, Name, Point, Span
from flatwise_lsp.workspace.analysis import Analysis, Meaning, Outcome
from flatwise_lsp.workspace.cursor import model_by_words
from flatwise_lsp.workspace.text import Text


@dataclass(frozen=True)
class View:
    """A document as it is now.

    `meaning` is of this document and what it uses, `everything` of all files of the workspace, both as they are
    now and worked out when first asked for; `analysis` is the last whole check, if it read this very text.
    `versions` are those of the open documents, for edits: these may change before an answer is sent.
    """

    path: Path
    text: Text
    mean: Callable[[], Meaning]
    mean_all: Callable[[], Meaning]
    analysis: Analysis | None
    versions: Mapping[Path, int] = field(default_factory=dict)

    @cached_property
    def meaning(self) -> Meaning:
        return self.mean()

    @cached_property
    def everything(self) -> Meaning:
        return self.mean_all()

    @cached_property
    def name(self) -> str:
        """What spans call this document."""
        return self.meaning.name(self.path)

    @cached_property
    def tree(self) -> File:
        source = self.meaning.linked.loaded.sources.get(self.name)
        if source is not None:
            return source.tree
        # a text over the limit is not read, and so has nothing to show
        return parse(self.text.text if len(self.text.text) <= SOURCE_LIMIT else "", self.name, keep=True)[0]

    @cached_property
    def root(self) -> Path:
        """The root of the project that the document is in."""
        return root_of(self.path.parent, self.meaning.working)

    @property
    def too_long(self) -> bool:
        """Whether the text is over the compiler's limit."""
        return len(self.text.text) > SOURCE_LIMIT

    def known(self, kind: str) -> dict[str, Declaration | None]:
        """The names of a kind that this document can see; None for what is built in."""
        linked = self.meaning.linked
        return {name: linked.find(kind, name, self.name) for name in linked.known(kind, self.name)}

    def outcome_at(self, offset: int) -> Outcome | None:
        """The job that an offset stands in, worked out."""
        if self.analysis is None:
            return None
        for block in self.tree.blocks:
            if block.kind == "job" and inside(block.span, offset):
                name = owner_of(block)
                return self.analysis.outcomes.get(name.text) if name is not None else None
        return None


@dataclass(frozen=True)
class Spot:
    """A node of the tree with the blocks that it is in, from the outside in."""

    blocks: tuple[Block, ...]
    node: Block | Field

    @property
    def inner(self) -> tuple[Block, ...]:
        """The blocks down to the one that is open here: the node itself, where it is one."""
        return (*self.blocks, self.node) if isinstance(self.node, Block) else self.blocks

    @property
    def model(self) -> type[ModelBlock] | None:
        """The model of the block that the node stands in."""
        return model_of_blocks(self.blocks)

    @property
    def shape(self) -> WordShape | None:
        """The shape of a line's word."""
        made = self.model
        if made is None or not isinstance(self.node, Field):
            return None
        return block_shape(made).words.get(self.node.word.text)


def block_words(block: Block) -> tuple[str, ...]:
    """The words of a block's header."""
    return tuple(item.text if isinstance(item, Name) else "" for item in block.head)


def model_of_blocks(blocks: tuple[Block, ...]) -> type[ModelBlock] | None:
    """The model of the last of these blocks, each in the one before."""
    return model_by_words(tuple(block_words(block) for block in blocks))


def walk(blocks: tuple[Block, ...], above: tuple[Block, ...] = (), at: int | None = None) -> Iterator[Spot]:
    """Every block and line, from the top; with `at` only those that an offset stands in or right behind."""
    for block in blocks:
        if at is not None and not block.span.start <= at <= block.span.end:
            continue
        yield Spot(above, block)
        inside = (*above, block)
        for part in block.body:
            if isinstance(part, Field):
                if at is None or part.span.start <= at <= part.span.end:
                    yield Spot(inside, part)
            else:
                yield from walk((part,), inside, at)


def spot_at(tree: File, offset: int) -> Spot | None:
    """The innermost block or line that an offset stands in."""
    best: Spot | None = None
    for spot in walk(tree.blocks, at=offset):
        best = spot
    return best


def item_at(items: tuple[Item, ...], offset: int) -> Item | None:
    """The item at an offset; where two meet, the one that begins there."""
    found: Item | None = None
    for item in items:
        if isinstance(item, Point) and item.span.start < offset < item.span.end:
            return item_at((*item.x, *item.y), offset) or item
        if item.span.start <= offset <= item.span.end:
            found = item
    return found


def owner_of(block: Block) -> Name | None:
    """The name that a top-level block declares."""
    return block.name if block.kind in KINDS else None


def base_of(block: Block) -> tuple[str, Name] | None:
    """The kind and name behind `like` or `from` of a header."""
    if len(block.head) == 4 and isinstance(block.head[2], Name) and isinstance(block.head[3], Name):
        joint = block.head[2].text
        if joint in ("like", "from"):
            return ("recipe" if joint == "from" else block.kind), block.head[3]
    return None


def inside(span: Span, offset: int) -> bool:
    """Whether an offset stands in a span or right behind it."""
    return span.start <= offset <= span.end
