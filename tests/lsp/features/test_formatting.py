"""Formatting as an editor gets it: the edits give every example the one style, whatever its layout was."""

from __future__ import annotations

import itertools
import random
import re
from pathlib import Path

import pytest
from lsp.examples import examples

from flatwise_grammar import format_text, parse
from flatwise_grammar.nodes import Block, Field, NumberWithUnit, Point, Use
from flatwise_lsp.features import formatting
from flatwise_lsp.workspace.document_text import DocumentText


def applied(text: str, edits: list[formatting.Replacement]) -> str:
    assert all(one.end <= other.start for one, other in itertools.pairwise(edits)), "edits overlap"
    for edit in reversed(edits):
        text = text[: edit.start] + edit.text + text[edit.end :]
    return text


def shape(node: object) -> object:
    """The words and values of a tree in their order, without places."""
    if type(node) is tuple:
        return [shape(one) for one in node]
    if isinstance(node, Block):
        return ["block", shape(node.head), shape(node.body)]
    if isinstance(node, Field):
        return ["line", node.word.text, shape(node.items)]
    if isinstance(node, Point):
        return ["point", shape(node.x), shape(node.y)]
    if isinstance(node, Use):
        return ["use", node.target.text]
    if isinstance(node, NumberWithUnit):
        return ["quantity", node.number, node.unit]
    return [type(node).__name__, getattr(node, "text", "")]


def loosened(text: str, dice: random.Random) -> str:
    """The same text with other indentation, blanks between words, and blank lines."""
    lines = []
    for line in text.splitlines():
        body, hash_, comment = line.partition("#") if '"' not in line else (line, "", "")
        body = re.sub(r"(?<=[\w%]) +(?=[a-z{])", lambda _: " " * dice.randrange(1, 6), body.strip())
        lines.append(" " * dice.randrange(9) + body + ("  " if hash_ and body else "") + hash_ + comment)
        if dice.random() < 0.1:
            lines.append("")
    return dice.choice(["\n", "\r\n"]).join(lines) + "\n"


def test_the_edits_format_every_example(repository: Path) -> None:
    dice = random.Random(5)
    changed = 0
    for name, text in examples(repository).items():
        loose = loosened(text, dice)
        edits = formatting.format_document(DocumentText(loose))
        tidy = applied(loose, edits)
        assert tidy == format_text(loose), name
        assert formatting.format_document(DocumentText(tidy)) == [], name
        file, flaws = parse(loose)
        if not flaws:
            again, _ = parse(tidy)
            assert (shape(again.blocks), shape(again.uses)) == (shape(file.blocks), shape(file.uses)), name
            assert [one.text.strip() for one in again.comments] == [one.text.strip() for one in file.comments], name
            changed += bool(edits)
    assert changed > 50


def test_formatting_a_range_changes_no_line_outside_it(repository: Path) -> None:
    dice = random.Random(6)
    text = loosened((repository / "shared" / "shop.flat").read_text(encoding="utf-8"), dice).replace("\r\n", "\n")
    count = text.count("\n")
    for _ in range(40):
        first = dice.randrange(count)
        last = min(count - 1, first + dice.randrange(12))
        edits = formatting.format_lines(DocumentText(text), first, last)
        before, after = text.split("\n"), applied(text, edits).split("\n")
        assert before[:first] == after[:first]
        rest = len(before) - last - 1
        assert before[len(before) - rest :] == after[len(after) - rest :]


def test_a_text_with_a_syntax_error_is_not_changed() -> None:
    assert formatting.format_document(DocumentText("job a {\n  depth ^^^\n}\n")) == []


@pytest.mark.parametrize(
    ("text", "line", "made"),
    [
        ("job a {\n  machine   b\n\n}\n", 2, "job a {\n    machine  b\n\n}\n"),
        ("dog a { across 1mm }\njob a {\nhold {\n dog a left at 5%\n }\n}\n", 4, None),
    ],
)
def test_typing_a_line_break_or_brace_formats_what_it_ends(text: str, line: int, made: str | None) -> None:
    out = applied(text, formatting.format_typed(DocumentText(text), line))
    if made is not None:
        assert out == made
    assert format_text(out) == format_text(text)
    assert out.split("\n")[: max(0, line - 2)] == text.split("\n")[: max(0, line - 2)] or made is None
