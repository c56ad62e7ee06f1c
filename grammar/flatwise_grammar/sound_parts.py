"""`format_text`: a whole text in the one style, or where it has flaws, the blocks of it that have none."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import groupby

from flatwise_grammar.chunks import chunk_bounds
from flatwise_grammar.layout import bare, styled
from flatwise_grammar.nodes import Block, Flaw
from flatwise_grammar.parser import parse


def format_text(text: str) -> str:
    """The text in the language's one style: the same tree and the same comments, `\\n` at the end of each line.

    Of a text with flaws the top-level blocks without any are formatted, and in the others the inner blocks without
    any, where no brace is missing or too many.  What the style would change in meaning is returned as it was.
    """
    file, flaws = parse(text)
    if not flaws:
        return styled(text, file)
    if "\r" in text:
        return text  # the style ends lines with `\n`, and a file has one sort of line ends
    pieces = [(text[a:b], not parse(text[a:b])[1]) for a, b in chunk_bounds(text)]
    better = "".join(
        _styled_between_blank_lines("".join(piece for piece, _ in run)) if sound else "".join(_inner_blocks(run))
        for sound, run in ((sound, list(run)) for sound, run in groupby(pieces, key=lambda piece: piece[1]))
    )
    after, still = parse(better)
    same = bare(after) == bare(file) and _said(still) == _said(flaws)
    return better if same else text


def _said(flaws: tuple[Flaw, ...]) -> list[tuple[str, str]]:
    return [(flaw.code, flaw.message) for flaw in flaws]


def _styled_between_blank_lines(text: str) -> str:
    """Sound text in the style, between as many blank lines as it had."""
    body = text.strip("\r\n")
    if not body.strip():
        return text
    start = text.index(body)
    end = text[start + len(body) :]
    formatted = styled(body, parse(body)[0])
    return text[:start] + (formatted.removesuffix("\n") + end if end else formatted)


def _inner_blocks(run: list[tuple[str, bool]]) -> Iterator[str]:
    """Top-level blocks with flaws, their own sound blocks of several lines in the style."""
    for piece, _ in run:
        file, flaws = parse(piece)
        end = 0
        if all(_within_a_line(piece, flaw) for flaw in flaws):
            for block in (inner for outer in file.blocks for inner in outer.body if isinstance(inner, Block)):
                start, stop = block.span.start, block.span.end
                indent = piece[piece.rfind("\n", 0, start) + 1 : start]
                source = re.sub(rf"(?<=\n)[ \t]{{0,{len(indent)}}}", "", piece[start:stop])
                if indent.strip() or "\n" not in source or any(start <= one.span.start <= stop for one in flaws):
                    continue
                lines = styled(source, parse(source)[0]).splitlines()
                yield piece[end:start]
                yield "\n".join([lines[0], *(indent + line if line else "" for line in lines[1:])])
                end = stop
        yield piece[end:]


def _within_a_line(piece: str, flaw: Flaw) -> bool:
    """Whether a flaw leaves it certain where blocks begin and end."""
    touched = piece[flaw.span.start : flaw.span.end] + (flaw.fix[1] if flaw.fix else "")
    return flaw.code != "FW002" and not set("{}") & set(touched)
