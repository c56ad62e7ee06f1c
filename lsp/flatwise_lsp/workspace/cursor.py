"""What surrounds a cursor in the text: the blocks that it is in, its line, the word at it.

A half-typed line is not in the tree, so this is read from the lexemes in front of the cursor, which always exist.
"""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from flatwise.language.phrase_shape import block_shape
from flatwise.model.kinds import KINDS
from flatwise.model.words import ModelBlock
from flatwise_grammar import chunk_bounds
from flatwise_grammar.lines import Lexeme, lexemes
from flatwise_grammar.nodes import Item, Name


class Cursor(NamedTuple):
    """A cursor in a text.

    `headers` are the headers of the blocks around it, outermost first, as lexemes without the brace; `line` the
    complete lexemes of its line in front of it; `current` the lexeme that it is inside or right behind (None after
    a blank), which a completion replaces.
    """

    offset: int
    headers: tuple[tuple[Lexeme, ...], ...]
    line: tuple[Lexeme, ...]
    current: Lexeme | None
    in_comment: bool = False

    @property
    def start(self) -> int:
        """The offset at which a completion begins to replace text."""
        return self.current.start if self.current is not None else self.offset

    @property
    def items(self) -> tuple[Item, ...]:
        """The items of the line in front of `current`, the line's word included."""
        return tuple(lexeme.node for lexeme in self.line if lexeme.node is not None)

    @property
    def model(self) -> type[ModelBlock] | None:
        """The model of the innermost block; None at the top level or in an unknown block."""
        return model_by_headers(tuple(header_words(header) for header in self.headers))


def header_words(header: tuple[Lexeme, ...]) -> tuple[str, ...]:
    """The words of a header, "" for what is not a word."""
    return tuple(lexeme.node.text if isinstance(lexeme.node, Name) else "" for lexeme in header)


@lru_cache(maxsize=256)
def model_by_headers(headers: tuple[tuple[str, ...], ...]) -> type[ModelBlock] | None:
    """The model of the innermost block below some headers, given as words: (("job", "shelf"), ("stock",))."""
    if not headers or not headers[0]:
        return None
    made = KINDS.get(headers[0][0])
    for words in headers[1:]:
        if made is None:
            return None
        blocks = block_shape(made).blocks
        found = blocks.get(words) or blocks.get(words[:1])
        made = found[1] if found else None
    return made


#: what ends a line of the language, and the strings, comments and continued lines in which the same marks do not
_DELIMITERS = re.compile(r'"[^"\\\r\n]*(?:\\.[^"\\\r\n]*)*"?|,(?:[ \t]+|#[^\r\n]*|\r\n?|\n)*|#[^\r\n]*|[{};\r\n]')


def cursor_at(text: str, offset: int) -> Cursor:
    """The cursor at an offset."""
    offset = min(max(0, offset), len(text))
    start, opened = _line_start(text, _chunk_start(text, offset), offset)
    headers = tuple(tuple(each for each in _lexemes(text, a, b) if each.type != "COMMENT") for a, b in opened)
    end = text.find("\n", offset)
    line: list[Lexeme] = []
    for lexeme in _lexemes(text, start, end if end >= 0 else len(text)):
        if lexeme.start >= offset:
            break
        if lexeme.type == "COMMENT":
            if offset <= lexeme.end:
                return Cursor(offset, headers, tuple(line), None, in_comment=True)
        elif lexeme.end >= offset and lexeme.type not in ("COMMA", "LPAR", "RPAR", "PLUS_MINUS"):
            return Cursor(offset, headers, tuple(line), lexeme)
        else:
            line.append(lexeme)
    return Cursor(offset, headers, tuple(line), None)


def _lexemes(text: str, start: int, end: int) -> list[Lexeme]:
    return [lexeme for lexeme in lexemes(text[start:end], "", start) if lexeme.type != "NEWLINE"]


def _line_start(text: str, begin: int, offset: int) -> tuple[int, list[tuple[int, int]]]:
    """The start of the line at an offset, and the start and end of each header of the blocks around it.

    A line that ends with a comma continues on the next.
    """
    start, opened = begin, list[tuple[int, int]]()
    for delimiter in _DELIMITERS.finditer(text, begin):
        if delimiter.start() >= offset:
            break
        mark = text[delimiter.start()]
        if mark in '"#,':
            continue
        if mark == "{":
            opened.append((start, delimiter.start()))
        elif mark == "}" and opened:
            opened.pop()
        start = delimiter.end()
    return start, opened


def _chunk_start(text: str, offset: int) -> int:
    """The start of the top-level piece of the text that contains an offset."""
    start = 0
    for begin, _ in chunk_bounds(text):
        if begin > offset or (begin == offset and offset > 0):
            break
        start = begin
    return start


def in_point(line: tuple[Lexeme, ...]) -> bool:
    """Whether a bracket of the line is still open."""
    depth = 0
    for lexeme in line:
        depth += (lexeme.type == "LPAR") - (lexeme.type == "RPAR")
    return depth > 0
