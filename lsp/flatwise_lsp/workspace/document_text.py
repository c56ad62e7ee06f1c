"""The text of one version of a document, and the protocol's positions in it.

The protocol ends lines at `\\n`, `\\r\\n` and `\\r` only (Python's splitlines also does at form feed and U+2028) and
counts columns in code units of the negotiated encoding: utf-8, utf-16 or utf-32.  Everywhere else in the server a
position is a character offset from 0.
Source: Language Server Protocol specification 3.17, "Text Documents" and "Position".
"""

from __future__ import annotations

import re
from bisect import bisect_right
from functools import cached_property
from itertools import accumulate
from typing import Literal, NamedTuple

Encoding = Literal["utf-8", "utf-16", "utf-32"]

_LINE_BREAK = re.compile(r"\r\n|\r|\n")


class Position(NamedTuple):
    """A position as in the protocol: line from 0, column from 0 in code units."""

    line: int
    character: int


class Range(NamedTuple):
    """A range as in the protocol; its end is exclusive."""

    start: Position
    end: Position


class TextChange(NamedTuple):
    """The text with which an editor replaces a range; without a range it is the whole text."""

    range: Range | None
    text: str


def code_units(text: str, encoding: Encoding) -> int:
    """The length of a text in code units.  A lone surrogate counts as in WTF-8: three bytes, one unit."""
    if encoding == "utf-32" or text.isascii():
        return len(text)
    if encoding == "utf-16":
        return len(text) + sum(1 for letter in text if letter > "\uffff")
    return len(text.encode("utf-8", "surrogatepass"))


class DocumentText:
    """One version of a text with its line index.  Immutable: `edited` returns the next version."""

    def __init__(self, text: str) -> None:
        self.text = text
        self._ascii = text.isascii()

    @cached_property
    def starts(self) -> list[int]:
        """The offset at which each line begins."""
        if "\r" not in self.text:  # the usual case, several times as fast
            return list(accumulate((len(line) + 1 for line in self.text.split("\n")[:-1]), initial=0))
        return [0, *(match.end() for match in _LINE_BREAK.finditer(self.text))]

    def line_end(self, line: int) -> int:
        """The offset behind the last character of a line, without its line break."""
        if line + 1 >= len(self.starts):
            return len(self.text)
        end = self.starts[line + 1]
        return end - 2 if self.text[end - 2 : end] == "\r\n" else end - 1

    def line_of(self, offset: int) -> int:
        """The number of the line at an offset."""
        return bisect_right(self.starts, max(0, offset)) - 1

    def line(self, number: int) -> str:
        """A line without its line break."""
        return self.text[self.starts[number] : self.line_end(number)]

    def offset(self, position: Position, encoding: Encoding) -> int:
        """The offset of a position, clipped to the end of its line and of the text.

        A position inside a character (at the second unit of a pair) is the offset of that character.
        """
        line, column = position
        if line < 0 or column < 0:
            return 0 if line <= 0 else self.starts[min(line, len(self.starts) - 1)]
        if line >= len(self.starts):
            return len(self.text)
        start, end = self.starts[line], self.line_end(line)
        piece = self.text[start:end]
        if self._ascii or encoding == "utf-32" or piece.isascii():
            return min(start + column, end)
        units = 0
        for index, letter in enumerate(piece):
            units += code_units(letter, encoding)
            if units > column:
                return start + index
        return end

    def position(self, offset: int, encoding: Encoding) -> Position:
        """The position of an offset."""
        offset = min(max(0, offset), len(self.text))
        line = self.line_of(offset)
        start = self.starts[line]
        if self._ascii:
            return Position(line, offset - start)
        return Position(line, code_units(self.text[start:offset], encoding))

    def range(self, start: int, end: int, encoding: Encoding) -> Range:
        """The range between two offsets."""
        return Range(self.position(start, encoding), self.position(end, encoding))

    def edited(self, change: TextChange, encoding: Encoding) -> DocumentText:
        """The text after one change.  The ends of a reversed range are swapped."""
        if change.range is None:
            return DocumentText(change.text)
        start, end = sorted(self.offset(position, encoding) for position in change.range)
        return DocumentText(self.text[:start] + change.text + self.text[end:])
