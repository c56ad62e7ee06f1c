"""`tables.py` is what Lark makes of the grammar, and reads every line as Lark itself does."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples
from lark import UnexpectedToken

from flatwise_grammar.lines import Lexeme, NotALine, lexemes, read_line
from flatwise_grammar.make_tables import grammar, tables
from flatwise_grammar.nodes import Point

LARK = grammar()
PIECES = ("NAME", "NUMBER", "QUANTITY", "CODE", "STRING", "PLUS_MINUS", "COMMA", "LPAR", "RPAR", "LBRACE")
SPELT = dict(zip(PIECES, ("edge", "3", "1 1/8in", "ER20", '"a b"', "+/-", ",", "(", ")", "{"), strict=True))


def test_the_table_is_made_from_the_present_grammar(repository: Path) -> None:
    written = (repository / "grammar/flatwise_grammar/tables.py").read_text(encoding="utf-8")
    assert written == tables(), "the grammar has changed: run python -m flatwise_grammar.make_tables"


def by_lark(line: list[Lexeme]) -> Any:
    """The line as Lark's own parser reads it: (whether it is a header, its parts), or the index of the first misfit."""
    reader: Any = LARK.parse_interactive(start="line")
    for place, lexeme in enumerate(line):
        try:
            reader.feed_token(lexeme)
        except UnexpectedToken:
            return place
    try:
        tree = reader.feed_eof()
    except UnexpectedToken:
        return len(line)
    (said,) = tree.children
    return said.data == "header", [plain(one) for one in said.children]


def plain(part: Any) -> Any:
    """A part of a line without its span: what it says, or the two lists of a point."""
    if isinstance(part, Lexeme):
        return part.node
    if isinstance(part, Point):
        return (list(part.x), list(part.y))
    if hasattr(part, "data"):  # Lark's tree of a point
        x, y = (one for one in part.children if hasattr(one, "data"))
        return ([one.node for one in x.children], [one.node for one in y.children])
    return part


def own(line: list[Lexeme]) -> Any:
    """The same by the table."""
    try:
        read = read_line(line)
    except NotALine as wrong:
        return len(line) if wrong.at is None else next(n for n, one in enumerate(line) if one is wrong.at)
    return read.opens, [plain(one) for one in read.items]


@pytest.mark.parametrize("name", ["shared/shop.flat", "shared/recipes.flat", "jobs/reading_table.flat"])
def test_lark_reads_every_line_of_the_samples_the_same(repository: Path, name: str) -> None:
    read = 0
    for text in (repository / name).read_text(encoding="utf-8").splitlines():
        line = [one for one in lexemes(text, "", 0) if one.type not in ("COMMENT", "RBRACE", "SEMICOLON")]
        if line:
            assert own(line) == by_lark(line)
            read += 1
    assert read > 10


points = st.tuples(st.sampled_from(PIECES[:3]), st.sampled_from(PIECES[:3])).map(
    lambda two: ["LPAR", two[0], "COMMA", two[1], "RPAR"]
)
parts = st.one_of(st.sampled_from(PIECES).map(lambda one: [one]), points)


@given(st.booleans(), st.lists(parts, max_size=7))
@examples(75)
def test_lark_reads_random_lines_the_same(named: bool, pieces: list[list[str]]) -> None:
    kinds = [*(["NAME"] if named else []), *(one for piece in pieces for one in piece)]
    text = " ".join(SPELT[kind] for kind in kinds)
    line = lexemes(text, "", 0)
    assert own(line) == by_lark(line)
