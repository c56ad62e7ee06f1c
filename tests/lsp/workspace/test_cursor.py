"""What is around a cursor: the fast way, which reads its own line only, against a simple one, which reads all."""

from __future__ import annotations

import random
from collections.abc import Iterator
from pathlib import Path

import pytest
from lsp.marked import marked

from flatwise_grammar import parse
from flatwise_grammar.chunks import chunk_bounds
from flatwise_grammar.lines import Lexeme, lexemes
from flatwise_lsp.workspace.cursor import Cursor, cursor_at, model_by_headers
from flatwise_lsp.workspace.tree_search import contains, node_at, walk

SCRAPS = ('"', ",", "{", "}", "#", ";", "\n", "\r\n", ", # x\n", "\\", "é", "1mm", "", " ", "(", "use ", "job x {")


def simple_cursor_at(text: str, offset: int) -> Cursor:
    """The cursor at an offset, from all lexemes of its top-level piece."""
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


def spoiled(repository: Path, dice: random.Random) -> Iterator[str]:
    """The samples, each changed in up to four places."""
    for path in sorted((repository / "jobs").glob("*.flat")) + sorted((repository / "shared").glob("*.flat")):
        text = path.read_text(encoding="utf-8")
        for _ in range(dice.randrange(5)):
            at = dice.randrange(len(text) + 1)
            text = text[:at] + dice.choice(SCRAPS) + text[at + dice.randrange(3) :]
        yield text


@pytest.mark.parametrize("seed", range(4))
def test_a_cursor_has_the_surroundings_that_reading_the_whole_text_gives(seed: int, repository: Path) -> None:
    dice = random.Random(seed)
    kinds = set()
    for text in spoiled(repository, dice):
        for _ in range(40):
            offset = dice.randrange(len(text) + 1)
            found = cursor_at(text, offset)
            assert found == simple_cursor_at(text, offset), text[max(0, offset - 80) : offset]
            kinds.add((found.in_comment, found.current is None, len(found.headers), bool(found.line)))
    assert len(kinds) > 8


@pytest.mark.parametrize("seed", range(4))
def test_the_nodes_at_an_offset_are_those_that_a_walk_through_the_whole_tree_finds(seed: int, repository: Path) -> None:
    dice, most = random.Random(seed), 0
    for text in spoiled(repository, dice):
        tree, _ = parse(text, "")
        everything = list(walk(tree.blocks))
        for _ in range(40):
            offset = dice.randrange(len(text) + 1)
            there = [path for path in everything if contains(path.node.span, offset)]
            assert list(walk(tree.blocks, at=offset)) == there, text[max(0, offset - 80) : offset]
            assert node_at(tree, offset) == (there[-1] if there else None)
            most = max(most, len(there))
    assert most >= 3


def test_the_model_of_a_block_is_found_by_its_headers() -> None:
    assert model_by_headers((("job", "a"), ("after", "first"))) is not None
    assert model_by_headers((("job", "a"), ("stock", "bed"))) is model_by_headers((("job", "a"), ("stock",)))
    assert model_by_headers((("nonsense", "a"),)) is None


def test_a_cursor_in_an_unfinished_text() -> None:
    plain, offset = marked("job a {\n  hold {\n    dog low_dog le‸")
    cursor = cursor_at(plain, offset)
    assert cursor.current is not None and cursor.current.text == "le"
    assert [piece.text for piece in cursor.line] == ["dog", "low_dog"]
    assert cursor.model is not None and cursor.model.kind == "hold"
