"""What stands at a place of the text: which blocks it is in, which line, which item.

Half-typed lines are not in the tree, so the place is read from the lexemes before it, which are always there.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

from flatwise.model.kinds import KINDS
from flatwise.model.words import Block as ModelBlock
from flatwise.read.pattern import block_shape
from flatwise_grammar import chunks
from flatwise_grammar.lines import Lexeme, lexemes
from flatwise_grammar.nodes import Item, Name


@dataclass(frozen=True)
class Place:
    """A place in a text.

    `headers` are the headers of the blocks that it is in, from the outside in, their lexemes without the brace;
    `line` the whole lexemes of the line before the place; `part` the lexeme that the place is inside or right
    behind (None after a blank), which is what a completion would replace; `comment` where it is in a comment.
    """

    offset: int
    headers: tuple[tuple[Lexeme, ...], ...]
    line: tuple[Lexeme, ...]
    part: Lexeme | None
    comment: bool = False

    @property
    def start(self) -> int:
        """Where a completion begins to replace."""
        return self.part.start if self.part is not None else self.offset

    @property
    def items(self) -> tuple[Item, ...]:
        """The items of the line before the part, its word with them."""
        return tuple(piece.node for piece in self.line if piece.node is not None)

    @property
    def model(self) -> type[ModelBlock] | None:
        """The model of the innermost block; None at the top or in a block that nobody knows."""
        return model_of(self.headers)


def head_words(header: tuple[Lexeme, ...]) -> tuple[str, ...]:
    """The words of a header."""
    return tuple(piece.node.text if isinstance(piece.node, Name) else "" for piece in header)


def model_of(headers: tuple[tuple[Lexeme, ...], ...]) -> type[ModelBlock] | None:
    """The model of the block that these headers lead to."""
    if not headers:
        return None
    return model_by_words(tuple(head_words(header) for header in headers))


@lru_cache(maxsize=256)
def model_by_words(path: tuple[tuple[str, ...], ...]) -> type[ModelBlock] | None:
    """The model of the block at the end of a path of headers, as words: (("job", "shelf"), ("stock",))."""
    if not path or not path[0]:
        return None
    made = KINDS.get(path[0][0])
    for words in path[1:]:
        if made is None:
            return None
        blocks = block_shape(made).blocks
        found = blocks.get(words) or blocks.get(words[:1])
        made = found[1] if found else None
    return made


def place_at(text: str, offset: int) -> Place:
    """The place at an offset."""
    offset = min(max(0, offset), len(text))
    begin = _chunk_start(text, offset)
    end = text.find("\n", offset)
    pieces = lexemes(text[begin : end if end >= 0 else len(text)], "", begin)
    stack: list[tuple[Lexeme, ...]] = []
    line: list[Lexeme] = []
    for piece in pieces:
        if piece.start >= offset:
            break
        kind = piece.type
        if kind == "COMMENT":
            if offset <= piece.end:
                return Place(offset, tuple(stack), tuple(line), None, comment=True)
            continue
        if kind == "NEWLINE":
            if line and line[-1].type != "COMMA":
                line = []
        elif kind == "SEMICOLON":
            line = []
        elif kind == "LBRACE":
            stack.append(tuple(line))
            line = []
        elif kind == "RBRACE":
            line = []
            if stack:
                stack.pop()
        elif piece.end >= offset and kind not in ("COMMA", "LPAR", "RPAR", "PLUS_MINUS"):
            return Place(offset, tuple(stack), tuple(line), piece)
        else:
            line.append(piece)
    return Place(offset, tuple(stack), tuple(line), None)


def _chunk_start(text: str, offset: int) -> int:
    """Where the top-level piece of the text that holds an offset begins."""
    start = 0
    for begin, _ in chunks(text):
        if begin > offset or (begin == offset and offset > 0):
            break
        start = begin
    return start


def open_point(line: tuple[Lexeme, ...]) -> bool:
    """Whether a bracket of the line is still open."""
    depth = 0
    for piece in line:
        depth += (piece.type == "LPAR") - (piece.type == "RPAR")
    return depth > 0
