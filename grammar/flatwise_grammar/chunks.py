"""Where the top-level pieces of a text begin and end, told from its braces alone, without reading it."""

from __future__ import annotations

import re
from itertools import pairwise

_JOINTS = re.compile(r'"[^"\\\r\n]*(?:\\.[^"\\\r\n]*)*"?|#[^\r\n]*|[{}]|(?:\r\n?|\n)(?=[A-Za-z_])')
_HEADER = re.compile(r"[A-Za-z_][^{}#\r\n;]*\{")
_NEXT_LINE = re.compile(r"[^\r\n]*(?:\r\n?|\n)(?:[ \t]*(?:#[^\r\n]*)?(?:\r\n?|\n))*")


def chunks(text: str) -> list[tuple[int, int]]:
    """Where the top-level pieces of a text begin and end: together the whole text, in its order.

    A piece begins at a word in the first column outside all braces.  Only where braces do not match does a
    header in the first column also begin one, if the lines inside blocks are indented.
    """
    cuts, open_braces = _cut(text, guess=False)
    if open_braces:
        cuts, _ = _cut(text, guess=True)
    edges = [0, *cuts, len(text)]
    return [(a, b) for a, b in pairwise(edges) if b > a]


def _cut(text: str, guess: bool) -> tuple[list[int], int]:
    cuts: list[int] = []
    depth = 0
    opened = 0
    body = _Body(text)
    for joint in _JOINTS.finditer(text):
        mark = text[joint.start()]
        if mark == "{":
            if depth == 0:
                opened = joint.end()
            depth += 1
        elif mark == "}":
            depth = max(0, depth - 1)
        elif mark in "\r\n":
            at = joint.end()
            if depth == 0:
                cuts.append(at)
            elif guess and _HEADER.match(text, at) and body.indented(opened, at):
                cuts.append(at)
                depth = 0
    return cuts, depth


class _Body:
    """Whether blocks have an indented body; where the last one's begins is kept, as many headers may ask for it."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.opened = -1
        self.first = 0

    def indented(self, opened: int, at: int) -> bool:
        """Whether the block open since `opened` has an indented body, so that the header at `at` cannot be in it.

        Where it has no body yet, the body of the block at `at` decides: half-typed blocks stand before whole ones.
        """
        text = self.text
        if opened != self.opened:
            body = _NEXT_LINE.match(text, opened)
            self.opened, self.first = opened, body.end() if body else len(text)
        if self.first < at:
            return text[self.first] in " \t"
        header = _HEADER.match(text, at)
        inner = _NEXT_LINE.match(text, at)
        if header is None or inner is None:
            return True
        return "}" in text[header.end() : inner.end()] or text[inner.end() : inner.end() + 1] in (" ", "\t")
