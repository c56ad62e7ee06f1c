"""A line whose lexemes are not all of the language, read as corrected where the correction is certain."""

from __future__ import annotations

from collections.abc import Sequence

from flatwise_grammar import flaws
from flatwise_grammar.lines import Lexeme, lexemes
from flatwise_grammar.nodes import Flaw, Span


def corrected(line: Sequence[Lexeme], path: str) -> tuple[Flaw | None, list[Lexeme], bool]:
    """The first flaw of the line's lexemes, the lexemes as corrected, and whether one of them can't be."""
    inches = flaws.of_inch_marks(line, path)
    if inches is not None:
        return inches, [], True
    found: list[Flaw] = []
    kept: list[Lexeme] = []
    lost = False
    end = 0  # of the last correction
    for at, lexeme in enumerate(line):
        if lexeme.start < end:
            continue
        if lexeme.node is not None or lexeme.type in ("LBRACE", "LPAR", "RPAR"):
            kept.append(lexeme)
            continue
        flaw = flaws.of_lexeme(line, at, path)
        found.append(flaw)
        if flaw.fix is None:
            lost = True
        else:
            end = flaw.fix[0].end
            while kept and kept[-1].start >= flaw.fix[0].start:
                kept.pop()
            kept.extend(_lexemes_of(*flaw.fix[:2]))
    if found:
        return _joined(found), kept, lost
    comma = flaws.of_commas(line, path)
    return comma, _without_idle_commas(line) if comma is not None else kept, False


def _joined(found: Sequence[Flaw]) -> Flaw:
    """The first flaw of a line; its fix corrects those of the same sort as well."""
    fixes = [one.fix for one in found if one.fix is not None and found[0].fix is not None]
    return found[0]._replace(also=tuple((span, text) for span, text, title in fixes[1:] if title == fixes[0][2]))


def _lexemes_of(place: Span, better: str) -> list[Lexeme]:
    """The lexemes of the corrected text, in the place of what it replaces."""
    return [
        Lexeme(one.type, one.node and one.node._replace(span=place), place.start, place.end, one.text)
        for one in lexemes(better, place.path, 0)
    ]


def _without_idle_commas(line: Sequence[Lexeme]) -> list[Lexeme]:
    kept: list[Lexeme] = []
    for number, lexeme in enumerate(line):
        next_type = line[number + 1].type if number + 1 < len(line) else ""
        idle = lexeme.type == "COMMA" and (len(kept) == 1 or next_type in ("COMMA", "LBRACE", ""))
        if not idle:
            kept.append(lexeme)
    return kept
