"""Where the top-level pieces of a text begin and end, found from its braces alone."""

from __future__ import annotations

import re
from itertools import pairwise

_JOINTS = re.compile(r'"[^"\\\r\n]*(?:\\.[^"\\\r\n]*)*"?|#[^\r\n]*|[{}]|(?:\r\n?|\n)(?=[A-Za-z_])')
_HEADER = re.compile(r"[A-Za-z_][^{}#\r\n;]*\{")
_TO_NEXT_LINE = re.compile(r"[^\r\n]*(?:\r\n?|\n)(?:[ \t]*(?:#[^\r\n]*)?(?:\r\n?|\n))*")


def chunk_bounds(text: str) -> list[tuple[int, int]]:
    """Start and end of each top-level piece of a text, in order; together they are the whole text.

    A piece begins at a word in the first column outside all braces.  Only where braces do not match does a header in
    the first column also begin one, provided that the lines inside blocks are indented.
    """
    cuts, open_braces = _cut(text, guess=False)
    if open_braces:
        cuts, _ = _cut(text, guess=True)
    edges = [0, *cuts, len(text)]
    return [(a, b) for a, b in pairwise(edges) if b > a]


def _cut(text: str, guess: bool) -> tuple[list[int], int]:
    """Where pieces begin after the first, and how many braces are open at the end."""
    cuts: list[int] = []
    depth = 0
    opened = 0
    indents = _Indents(text)
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
            elif guess and _HEADER.match(text, at) and indents.rule_out(at, opened):
                cuts.append(at)
                depth = 0
    return cuts, depth


class _Indents:
    """Judges by indentation whether a header in the first column can be inside the open block.

    Remembers where the body of the last open block begins, since many headers may ask about the same block.
    """

    def __init__(self, text: str) -> None:
        self.text = text
        self.opened = -1
        self.body = 0

    def rule_out(self, header_at: int, opened: int) -> bool:
        """Whether the header at `header_at` can't be inside the block whose brace ends at `opened`.

        It can't where that block's body is indented.  Where the block has no body yet, as when it is being typed
        above a whole one, the body under the header decides.
        """
        text = self.text
        if opened != self.opened:
            body = _TO_NEXT_LINE.match(text, opened)
            self.opened, self.body = opened, body.end() if body else len(text)
        if self.body < header_at:
            return text[self.body] in " \t"
        header = _HEADER.match(text, header_at)
        inner = _TO_NEXT_LINE.match(text, header_at)
        if header is None or inner is None:
            return True
        return "}" in text[header.end() : inner.end()] or text[inner.end() : inner.end() + 1] in (" ", "\t")
