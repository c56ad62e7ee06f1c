"""The text of one version of a document, and how positions in it are counted.

The protocol counts lines by `\\n`, `\\r\\n` and `\\r` alone (not by form feed or U+2028, as Python's splitlines
does) and columns in code units of the encoding that was agreed on: utf-8, utf-16 or utf-32.  Inside the server
every place is a character offset from 0.
Source: Language Server Protocol specification 3.17, "Text Documents" and "Position".
"""

from __future__ import annotations

import re
from bisect import bisect_right
from functools import cached_property
from itertools import accumulate
from typing import Literal, NamedTuple

Encoding = Literal["utf-8", "utf-16", "utf-32"]

_BREAK = re.compile(r"\r\n|\r|\n")


class Position(NamedTuple):
    """A place as the protocol says it: line from 0, column from 0 in code units."""

    line: int
    character: int


class Range(NamedTuple):
    """A stretch as the protocol says it; the end is not part of it."""

    start: Position
    end: Position


class Change(NamedTuple):
    """What an editor put in the place of a range; without a range it is the whole text."""

    range: Range | None
    text: str


def units(text: str, encoding: Encoding) -> int:
    """How many code units a text takes.  A lone surrogate counts as it would in WTF-8: three bytes, one unit."""
    if encoding == "utf-32" or text.isascii():
        return len(text)
    if encoding == "utf-16":
        return len(text) + sum(1 for letter in text if letter > "\uffff")
    return len(text.encode("utf-8", "surrogatepass"))


class Text:
    """One version of a text with its line index.  Never changes; `edited` gives the next version."""

    def __init__(self, text: str) -> None:
        self.text = text
        self._ascii = text.isascii()

    @cached_property
    def starts(self) -> list[int]:
        """The offset at which each line begins."""
        if "\r" not in self.text:
            # the usual text, the quick way
            return list(accumulate((len(line) + 1 for line in self.text.split("\n")[:-1]), initial=0))
        return [0, *(match.end() for match in _BREAK.finditer(self.text))]

    def line_end(self, line: int) -> int:
        """The offset behind the last character of a line, its break not counted."""
        if line + 1 >= len(self.starts):
            return len(self.text)
        end = self.starts[line + 1]
        return end - 2 if self.text[end - 2 : end] == "\r\n" else end - 1

    def line_of(self, offset: int) -> int:
        """The line that an offset stands in."""
        return bisect_right(self.starts, max(0, offset)) - 1

    def line(self, number: int) -> str:
        """A line without its break."""
        return self.text[self.starts[number] : self.line_end(number)]

    def offset(self, position: Position, encoding: Encoding) -> int:
        """The offset of a position; beyond the end of a line or of the text it is that end.

        A position inside a character (the second unit of a pair) is the place before that character.
        """
        line, column = position
        if line < 0 or column < 0:
            return 0 if line <= 0 else self.starts[min(line, len(self.starts) - 1)]
        if line >= len(self.starts):
            return len(self.text)
        start, end = self.starts[line], self.line_end(line)
        if self._ascii or encoding == "utf-32":
            return min(start + column, end)
        piece = self.text[start:end]
        if piece.isascii():
            return min(start + column, end)
        taken = 0
        for index, letter in enumerate(piece):
            taken += units(letter, encoding)
            if taken > column:
                return start + index
        return end

    def position(self, offset: int, encoding: Encoding) -> Position:
        """The position of an offset."""
        offset = min(max(0, offset), len(self.text))
        line = self.line_of(offset)
        start = self.starts[line]
        if self._ascii or encoding == "utf-32":
            return Position(line, offset - start)
        return Position(line, units(self.text[start:offset], encoding))

    def range(self, start: int, end: int, encoding: Encoding) -> Range:
        """The range between two offsets."""
        return Range(self.position(start, encoding), self.position(end, encoding))

    def edited(self, change: Change, encoding: Encoding) -> Text:
        """The text after one change; a range that runs backward is read the other way round."""
        if change.range is None:
            return Text(change.text)
        start, end = (self.offset(position, encoding) for position in change.range)
        start, end = min(start, end), max(start, end)
        return Text(self.text[:start] + change.text + self.text[end:])
