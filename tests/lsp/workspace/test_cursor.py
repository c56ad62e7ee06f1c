"""What stands at a place: the short way (only its own line is read) against the plain one (the whole text is)."""

from __future__ import annotations

import random
from pathlib import Path

import pytest

from flatwise_grammar.chunks import chunk_bounds
from flatwise_grammar.lines import Lexeme, lexemes
from flatwise_lsp.workspace.cursor import Cursor, cursor_at

SCRAPS = ('"', ",", "{", "}", "#", ";", "\n", "\r\n", ", # x\n", "\\", "é", "1mm", "", " ", "(", "use ", "job x {")


def plainly(text: str, offset: int) -> Cursor:
    """The place at an offset, from all lexemes of its top-level piece."""
    begin = max(start for start, _ in chunk_bounds(text) if start < offset or start == 0) if text else 0
    end = text.find("\n", offset)
    stack: list[tuple[Lexeme, ...]] = []
    line: list[Lexeme] = []
    for piece in lexemes(text[begin : end if end >= 0 else len(text)], "", begin):
        if piece.start >= offset:
            break
        if piece.type == "COMMENT":
            if offset <= piece.end:
                return Cursor(offset, tuple(stack), tuple(line), None, in_comment=True)
        elif piece.type == "NEWLINE":
            line = line if line and line[-1].type == "COMMA" else []
        elif piece.type == "SEMICOLON":
            line = []
        elif piece.type == "LBRACE":
            stack.append(tuple(line))
            line = []
        elif piece.type == "RBRACE":
            line = []
            stack = stack[:-1]
        elif piece.end >= offset and piece.type not in ("COMMA", "LPAR", "RPAR", "PLUS_MINUS"):
            return Cursor(offset, tuple(stack), tuple(line), piece)
        else:
            line.append(piece)
    return Cursor(offset, tuple(stack), tuple(line), None)


@pytest.mark.parametrize("seed", range(4))
def test_a_place_is_what_reading_everything_before_it_says(seed: int, repository: Path) -> None:
    dice = random.Random(seed)
    kinds = set()
    for path in sorted((repository / "jobs").glob("*.flat")) + sorted((repository / "shared").glob("*.flat")):
        text = path.read_text(encoding="utf-8")
        for _ in range(dice.randrange(5)):
            at = dice.randrange(len(text) + 1)
            text = text[:at] + dice.choice(SCRAPS) + text[at + dice.randrange(3) :]
        for _ in range(40):
            offset = dice.randrange(len(text) + 1)
            found = cursor_at(text, offset)
            assert found == plainly(text, offset), (path.name, text[max(0, offset - 80) : offset])
            kinds.add((found.in_comment, found.current is None, len(found.headers), bool(found.line)))
    assert len(kinds) > 8
