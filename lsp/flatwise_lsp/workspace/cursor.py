"""What stands at a place of the text: which blocks it is in, which line, which item.

Half-typed lines are not in the tree, so the place is read from the lexemes before it, which are always there.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import lru_cache

from flatwise.language.phrase_shape import block_shape
from flatwise.model.kinds import KINDS
from flatwise.model.words import ModelBlock
from flatwise_grammar import chunk_bounds
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
        return model_by_words(tuple(head_words(header) for header in self.headers))


def head_words(header: tuple[Lexeme, ...]) -> tuple[str, ...]:
    """The words of a header."""
    return tuple(piece.node.text if isinstance(piece.node, Name) else "" for piece in header)


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


#: what parts the lines of a text from each other, and what could be mistaken for that
_PARTS = re.compile(r'"[^"\\\r\n]*(?:\\.[^"\\\r\n]*)*"?|,(?:[ \t]+|#[^\r\n]*|\r\n?|\n)*|#[^\r\n]*|[{};\r\n]')


def place_at(text: str, offset: int) -> Place:
    """The place at an offset."""
    offset = min(max(0, offset), len(text))
    start, opened = _line_start(text, _chunk_start(text, offset), offset)
    headers = tuple(tuple(piece for piece in _pieces(text, a, b) if piece.type != "COMMENT") for a, b in opened)
    end = text.find("\n", offset)
    line: list[Lexeme] = []
    for piece in _pieces(text, start, end if end >= 0 else len(text)):
        if piece.start >= offset:
            break
        if piece.type == "COMMENT":
            if offset <= piece.end:
                return Place(offset, headers, tuple(line), None, comment=True)
        elif piece.end >= offset and piece.type not in ("COMMA", "LPAR", "RPAR", "PLUS_MINUS"):
            return Place(offset, headers, tuple(line), piece)
        else:
            line.append(piece)
    return Place(offset, headers, tuple(line), None)


def _pieces(text: str, start: int, end: int) -> list[Lexeme]:
    return [piece for piece in lexemes(text[start:end], "", start) if piece.type != "NEWLINE"]


def _line_start(text: str, begin: int, offset: int) -> tuple[int, list[tuple[int, int]]]:
    """Where the line of an offset begins, and from where to where the headers of the blocks that it is in reach.

    A line goes on behind a comma at its end.
    """
    start, opened = begin, list[tuple[int, int]]()
    for part in _PARTS.finditer(text, begin):
        if part.start() >= offset:
            break
        mark = text[part.start()]
        if mark in '"#,':
            continue
        if mark == "{":
            opened.append((start, part.start()))
        elif mark == "}" and opened:
            opened.pop()
        start = part.end()
    return start, opened


def _chunk_start(text: str, offset: int) -> int:
    """Where the top-level piece of the text that holds an offset begins."""
    start = 0
    for begin, _ in chunk_bounds(text):
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
