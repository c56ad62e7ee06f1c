"""The tree of a text: blocks, spans, and the chunks that are kept between edits."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import NIGHTLY, examples

from flatwise_grammar import chunk_bounds, parse
from flatwise_grammar.blocks import Chunk, read_chunk
from flatwise_grammar.nodes import Block, Field, File, Name, Number, Point, Span
from flatwise_grammar.parser import MOST_FLAWS, _last_version

SAMPLES = ("shared/shop.flat", "shared/sample.flat", "jobs/reading_table.flat")


def sample(repository: Path, name: str) -> str:
    return (repository / name).read_text(encoding="utf-8")


def test_the_tree_of_a_small_file() -> None:
    text = 'use "shop.flat" # here\njob lamp from plain {\n  stock { size 1mm x 2mm }\n  zero { }\n}\n'
    file, flaws = parse(text, "a.flat")
    assert flaws == ()
    assert [use.target.text for use in file.uses] == ["shop.flat"]
    (job,) = file.blocks
    assert job.kind == "job" and job.closed
    assert [getattr(item, "text", None) for item in job.head] == ["job", "lamp", "from", "plain"]
    assert [block.kind for block in job.blocks] == ["stock", "zero"]
    assert job.blocks[0].fields[0].word.text == "size"
    assert file.span == Span("a.flat", 0, len(text))


def test_spans_cut_out_the_exact_text() -> None:
    text = '\n  use  "x"  # c\njob  a  {  # d\n  at (1mm, 2 mm) , "t"   # e\n  b { c 1 1/8in }\n}  # f\n'
    file, flaws = parse(text, "p")
    assert flaws == ()

    def cut(span: Span) -> str:
        assert span.path == "p"
        return text[span.start : span.end]

    (job,) = file.blocks
    at, inner = job.body
    assert isinstance(at, Field) and isinstance(inner, Block)
    assert cut(file.uses[0].span) == 'use  "x"' and cut(file.uses[0].target.span) == '"x"'
    assert cut(job.head_span) == "job  a" and cut(job.span) == text[text.index("job") : text.rindex("}") + 1]
    assert cut(at.span) == 'at (1mm, 2 mm) , "t"' and cut(at.word.span) == "at"
    assert [cut(item.span) for item in at.items] == ["(1mm, 2 mm)", ",", '"t"']
    assert isinstance(at.items[0], Point) and [cut(one.span) for one in at.items[0].y] == ["2", "mm"]
    assert cut(inner.span) == "b { c 1 1/8in }" and cut(inner.fields[0].items[0].span) == "1 1/8in"
    assert [cut(comment.span) for comment in file.comments] == ["# c", "# d", "# e", "# f"]


def test_nodes_of_two_kinds_are_never_equal_and_all_can_be_keys() -> None:
    here, there = Span("a", 0, 1), Span("a", 2, 3)
    assert Name("x", here) == Name("x", here) != Name("x", there)
    assert Name("3", here) != Number("3", here)
    assert len({Name("x", here), Name("x", here), Name("x", there)}) == 2


@pytest.mark.parametrize("name", SAMPLES)
def test_the_samples_have_no_flaws(repository: Path, name: str) -> None:
    assert parse(sample(repository, name))[1] == ()


def test_hostile_texts_give_a_tree() -> None:
    for text in (
        "job a { b " + "1" * 10_000 + " }",
        "{" * 5000,
        '"' * 5000,
        "(" * 5000,
        "a ,\n" * 3000,
        "a { b " + "-" * 9999,
    ):
        file, flaws = parse(text)
        assert isinstance(file, File) and 1 <= len(flaws) <= MOST_FLAWS
    assert len(parse("}\n" * 3 * MOST_FLAWS)[1]) == MOST_FLAWS


@pytest.mark.parametrize("name", SAMPLES)
def test_every_prefix_keeps_the_blocks_before_the_cut(repository: Path, name: str) -> None:
    text = sample(repository, name)
    whole = parse(text)[0].blocks
    for end in range(0, len(text), 1 if NIGHTLY else 17):
        file, flaws = parse(text[:end])
        before = tuple(block for block in whole if block.span.end <= end)
        assert file.blocks[: len(before)] == before
        assert len(flaws) <= 3, (text[:end][-40:], flaws)


@pytest.mark.parametrize("name", SAMPLES)
def test_a_missing_line_costs_one_flaw_at_most(repository: Path, name: str) -> None:
    lines = sample(repository, name).splitlines(keepends=True)
    for number in range(len(lines)):
        _, flaws = parse("".join(lines[:number] + lines[number + 1 :]))
        assert len(flaws) <= 1, lines[number]


def walk(node: Any) -> list[Span]:
    """Every span below a node."""
    if isinstance(node, Span):
        return [node]
    if type(node) is tuple:
        return [span for one in node for span in walk(one)]
    if hasattr(node, "__dataclass_fields__"):
        return [span for name in node.__dataclass_fields__ for span in walk(getattr(node, name))]
    return []


PIECES = st.sampled_from(
    [
        "{",
        "}",
        "\n",
        ";",
        ",",
        " ",
        "  ",
        "\t",
        "(",
        ")",
        '"',
        "\\",
        "#",
        "+/-",
        "a",
        "job x",
        "use",
        "Fly",
        "1",
        "1/8",
        "mm",
        ".",
        "-",
        "ER20",
        "\r",
        "\0",
        "é",
        "%",
    ]
)

TEXTS = st.lists(PIECES, max_size=40).map("".join) | st.text(max_size=40)


@given(TEXTS)
@examples(75, 6000)
def test_any_text_gives_a_tree_with_spans_inside_it(text: str) -> None:
    file, flaws = parse(text)
    for span in walk(file) + walk(flaws):
        assert 0 <= span.start <= span.end <= len(text)
    for flaw in flaws:
        assert flaw.code in ("FW001", "FW002", "FW003") and flaw.message and flaw.help
    for comment in file.comments:
        assert text[comment.span.start : comment.span.end] == comment.text
    assert list(flaws) == sorted(flaws, key=lambda flaw: flaw.span.start)


@given(st.lists(PIECES, max_size=30).map("".join))
@examples(50, 4000)
def test_chunks_are_the_whole_text_in_order(text: str) -> None:
    assert "".join(text[start:end] for start, end in chunk_bounds(text)) == text


@given(TEXTS, TEXTS)
@examples(50)
def test_after_an_edit_the_tree_is_that_of_a_fresh_reading(before: str, after: str) -> None:
    parse(before, "edited", keep=True)
    assert parse(after, "edited", keep=True) == parse(after, "edited")


def test_moved_chunks_equal_a_fresh_reading() -> None:
    text = 'use "y"\na { b (1mm, 2mm) "t" ER20 3 +/- 1in; d 1e3 } # c\ne { f 1-1/8in\n'
    parse(text, "m", keep=True)
    edited = 'use "x"\n' + text
    tree, flaws = parse(edited, "m", keep=True)
    assert (tree, flaws) == parse(edited, "m")
    assert len(tree.uses) == len(tree.blocks) == 2 and [flaw.code for flaw in flaws] == ["FW003", "FW003", "FW002"]


def test_an_edit_reads_only_its_own_block(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    from flatwise_grammar import parser

    text = sample(repository, "shared/shop.flat")
    parse(text, "edit", keep=True)
    read: list[str] = []

    def noted(piece: str, path: str, base: int) -> Chunk:
        read.append(piece)
        return read_chunk(piece, path, base)

    monkeypatch.setattr(parser, "read_chunk", noted)
    file, flaws = parse(text.replace("wings      3", "wings      4"), "edit", keep=True)
    assert flaws == () and len(file.blocks) == 8
    assert len(read) == 1 and read[0].startswith("cutter fly_64")


def test_no_word_of_the_trade_is_in_the_grammar(repository: Path) -> None:
    from flatwise_grammar.make_tables import grammar

    shop = sample(repository, "shared/shop.flat") + sample(repository, "jobs/reading_table.flat")
    for terminal in grammar().terminals:
        if terminal.pattern.type == "str":
            assert not any(one.isalnum() for one in terminal.pattern.value), terminal
    source = (repository / "grammar/flatwise_grammar/flatwise.lark").read_text(encoding="utf-8")
    quoted = [line for line in source.splitlines() if not line.startswith("//")]
    words = {field.word.text for block in parse(shop)[0].blocks for field in block.fields} | {
        "job",
        "use",
        "machine",
        "cutter",
    }
    assert len(words) > 30
    assert not [word for word in words for line in quoted if f'"{word}"' in line]


def test_only_the_last_version_of_a_file_is_kept() -> None:
    steady = "dog low { across 19mm; height 11mm }\n"
    for number in range(50):
        parse(f"{steady}job one {{ # {number}\n    depth {number}mm\n}}\n", "one.flat", keep=True)
    kept = _last_version("one.flat")
    assert len(kept) == 2 and steady in kept
    parse("job other { }\n", "other.flat")
    assert _last_version("other.flat") == {}
