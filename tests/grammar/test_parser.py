"""Blocks, places, and what stays whole when a text is not."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise_grammar import chunk_bounds, parse
from flatwise_grammar.blocks import DEEPEST, Chunk, read_chunk
from flatwise_grammar.nodes import Block, Field, File, Name, Number, Point, Span
from flatwise_grammar.parser import MOST_FLAWS, _last_version

SAMPLES = ("shared/shop.flat", "shared/sample.flat", "jobs/reading_table.flat")


def sample(repository: Path, name: str) -> str:
    return (repository / name).read_text(encoding="utf-8")


def codes(text: str) -> list[str]:
    return [flaw.code for flaw in parse(text)[1]]


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


def test_spans_are_the_very_text() -> None:
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
def test_the_samples_are_whole(repository: Path, name: str) -> None:
    assert parse(sample(repository, name))[1] == ()


#: text, the codes of its flaws, and the blocks that stand with the words of their fields
RECOVERY: list[tuple[str, list[str], list[tuple[str, list[str]]]]] = [
    ("", [], []),
    ("}", ["FW001"], []),
    ("}\na { b 1 }", ["FW001"], [("a", ["b"])]),
    ("a { b 1 }}\nc { d 2 }", ["FW001"], [("a", ["b"]), ("c", ["d"])]),
    ("feed 3\na { b 1 }", ["FW001"], [("a", ["b"])]),
    ("  b 1\n  c 2\n  }\na { b 1 }", ["FW001"], [("a", ["b"])]),
    ("use\na { b 1 }", ["FW001"], [("a", ["b"])]),
    ("use shop\na { b 1 }", ["FW001"], [("a", ["b"])]),
    ('use "x" "y"\na { b 1 }', ["FW001"], [("a", ["b"])]),
    ('a {\n use "x"\n b 1\n}', ["FW001"], [("a", ["b"])]),
    ("a\n{\n b 1\n}", ["FW001"], [("a", ["b"])]),
    ("{ b 1 }\na { b 1 }", ["FW001"], [("a", ["b"])]),
    ("a {\n 5mm\n b 1\n}", ["FW001"], [("a", ["b"])]),
    ("a {\n b *\n c ?\n d 1\n}", ["FW001", "FW001"], [("a", ["d"])]),
    ("a { b * ? ! 1e3; c 1 }", ["FW001"], [("a", ["c"])]),
    ("a {\n b 1,\n}\nc { d 1 }", ["FW001"], [("a", ["b"]), ("c", ["d"])]),
    ("a {", ["FW002"], [("a", [])]),
    ("a {\n  b 1\n", ["FW002"], [("a", ["b"])]),
    ("a {\n  b 1\nc x {\n  d 1\n}\n", ["FW002"], [("a", ["b"]), ("c", ["d"])]),
    ("a {\nc x {\n  d 1\n}\n", ["FW002"], [("a", []), ("c", ["d"])]),
    ("a {\nc x { d 1 }\n", ["FW002"], [("a", []), ("c", ["d"])]),
    (
        "w {\n  a 1\n}\na {\n  b 1\nc x { d 1 }\ne { f 1 }\n",
        ["FW002"],
        [("w", ["a"]), ("a", ["b"]), ("c", ["d"]), ("e", ["f"])],
    ),
    ('a {\n  b "open\n  c 1\n}', ["FW001"], [("a", ["c"])]),
    ('a {\n  b "{\n  c 1\n}', ["FW001"], [("a", ["c"])]),
    ("a {\n  b (1mm,\n}\nc { d 1 }", ["FW001"], [("a", []), ("c", ["d"])]),
    ("a 1e3 { b 1 }", ["FW003"], [("a", ["b"])]),
    ("cutter Fly_64 { b 1 }", ["FW001"], [("cutter", ["b"])]),
    ("a { # } {\n b 1 # }\n}", [], [("a", ["b"])]),
    # where all braces match, no indentation matters
    ("a {\n  b 1\nc {\nd 1\n}\n}", [], [("a", ["b"])]),
]


@pytest.mark.parametrize(("text", "expected", "blocks"), RECOVERY)
def test_recovery(text: str, expected: list[str], blocks: list[tuple[str, list[str]]]) -> None:
    file, flaws = parse(text)
    assert [flaw.code for flaw in flaws] == expected
    assert [(block.kind, [one.word.text for one in block.fields if not one.broken]) for block in file.blocks] == blocks


def test_a_missing_brace_inside_is_found_by_indentation() -> None:
    text = "job x {\n  survey {\n    gap 1\n    step 1e3\n  hold {\n    dog 2\n  }\n}\n"
    file, (_, flaw) = parse(text)
    assert flaw.code == "FW002" and "survey" in flaw.message
    assert flaw.span.start == text.index("1e3") + 3
    assert flaw.opened is not None and flaw.opened.start == text.index("{", text.index("survey"))
    (job,) = file.blocks
    assert [(block.kind, block.closed) for block in job.blocks] == [("survey", False), ("hold", True)]
    assert job.closed


@pytest.mark.parametrize(
    ("text", "open_block", "inside"),
    [
        # a closing brace belongs to the header that it stands under
        ("a {\n  b {\n    c 1\n}\n", "b", [("b", False)]),
        ("job x {\n  survey {\n    gap {\n      a 1\n  }\n  zero { }\n}\n", "gap", [("survey", True), ("zero", True)]),
        # and one behind other words of its line to the innermost, wherever it stands
        ("x {\n a {\n   b {\n    c 1 }\n   d {\n    e 1\n }\n}\n", "d", [("a", True)]),
        ("x {\n  a { b {\n    c 1\n  }\n  d 2\n}\n", "a", [("a", False)]),
    ],
)
def test_the_block_that_lacks_its_brace_is_the_one_that_is_named(
    text: str, open_block: str, inside: list[tuple[str, bool]]
) -> None:
    file, (flaw,) = parse(text)
    assert (flaw.code, flaw.message) == ("FW002", f"The block {open_block} is not closed.")
    (whole,) = file.blocks
    assert whole.closed and [(block.kind, block.closed) for block in whole.blocks] == inside


def test_blocks_left_open_at_the_end_are_told_in_one_sentence() -> None:
    def told(text: str) -> list[str]:
        return [flaw.message for flaw in parse(text)[1] if flaw.code == "FW002"]

    assert told("job x {") == ["The block job x is not closed."]
    assert told("a { b {") == ["The 2 blocks a, b are not closed."]
    assert told("a { b { c {") == ["The 3 blocks a, b, c are not closed."]
    assert told("a { b { c { d {") == ["The 4 blocks a, b, c… are not closed."]
    assert told("{\n  b 1\n") == ["The block without a name is not closed."]


def test_only_deeper_lines_make_a_header_of_a_word() -> None:
    _, (flaw,) = parse("job j {\n    stock\n    a 1\n    }\n}\n")
    assert flaw.message == "A closing brace has no open block."


def test_a_file_without_its_quotation_marks_is_used_all_the_same() -> None:
    file, (flaw,) = parse("use ../shared/shop.flat\na { b 1 }\n", "p")
    assert flaw.code == "FW001" and flaw.mend is not None and flaw.mend[1] == '"../shared/shop.flat"'
    (use,) = file.uses
    assert (use.target.text, use.target.span, use.span) == ("../shared/shop.flat", Span("p", 4, 23), Span("p", 0, 23))
    for text in ("a {\n  use shop.flat\n}\n", "use shop.flat {\n}\n", "a { }\ngap shop.flat\n"):
        file, flaws = parse(text)
        assert file.uses == () and [flaw.mend for flaw in flaws] == [None]


@pytest.mark.parametrize("phrase", ["1,, 2", "1, 2,", ", 1, 2", ",,1,, 2,,"])
def test_a_comma_too_many_leaves_its_line_whole(phrase: str) -> None:
    file, (flaw,) = parse(f"a {{ b {phrase} }}")
    assert flaw.code == "FW001" and "comma" in flaw.message
    (field,) = file.blocks[0].fields
    assert not field.broken and [getattr(item, "text", "") for item in field.items] == ["1", ",", "2"]


@pytest.mark.parametrize("header", ["job shelf", "stock", "after first", "cut"])
def test_a_missing_opening_brace_is_found_by_indentation(header: str) -> None:
    text = (
        "job shelf {\n    stock {   # oak\n        a 1\n    }\n    after first {\n\n        # read twice\n"
        "        b 1\n    }\n    cut {\n        c 1\n        d 1\n    }\n}\n"
    )
    whole, none = parse(text)
    broken = text.replace(f"{header} {{", header)
    file, found = parse(broken)
    assert none == () and [flaw.code for flaw in found] == ["FW001"]
    assert f"The block {header} has no opening brace." == found[0].message
    shapes = [[part.head[0].text for part in one.blocks[0].body if isinstance(part, Block)] for one in (whole, file)]
    assert shapes[0] == shapes[1] == ["stock", "after", "cut"]
    mend = found[0].mend
    assert mend is not None and broken[: mend[0].start] + mend[1] + broken[mend[0].end :] == text


def test_a_block_left_open_points_at_the_end_and_at_its_brace() -> None:
    text = "job x {\n    feed 1\n"
    file, (flaw,) = parse(text)
    assert not file.blocks[0].closed
    assert flaw.span.start == flaw.span.end == len(text.rstrip())
    assert flaw.opened == Span("", text.index("{"), text.index("{") + 1)


def test_a_line_that_cannot_be_read_is_there_as_broken() -> None:
    text = "a {\n  size 3mm*  # c\n  feed 1e3\n  depth 1mm\n  * 3\n}\n"
    file, flaws = parse(text)
    assert len(flaws) == 3
    fields = file.blocks[0].fields
    assert [(field.word.text, field.broken) for field in fields] == [("size", True), ("feed", True), ("depth", False)]
    assert fields[0].items == () and text[fields[0].span.start : fields[0].span.end] == "size 3mm*"
    moved, _ = parse('use "x"\n' + text)
    assert moved.blocks[0].fields[0].broken


def test_nesting_too_deep_is_told_once() -> None:
    deep = "a {\n" * 2000 + "}\n" * 2000 + "b { c 1 }\n"
    file, flaws = parse(deep)
    assert [flaw.code for flaw in flaws] == ["FW001"]
    assert str(DEEPEST) in flaws[0].message
    assert [block.kind for block in file.blocks] == ["a", "b"]
    assert "FW002" in codes("a { " * 2000)


def test_hostile_texts_are_read() -> None:
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
    for end in range(0, len(text), 3 if len(text) > 2500 else 1):
        file, flaws = parse(text[:end])
        before = tuple(block for block in whole if block.span.end <= end)
        assert file.blocks[: len(before)] == before
        assert len(flaws) <= 3, (text[:end][-40:], flaws)


@pytest.mark.parametrize("name", SAMPLES)
def test_one_line_taken_out_costs_few_flaws(repository: Path, name: str) -> None:
    lines = sample(repository, name).splitlines(keepends=True)
    for number in range(len(lines)):
        _, flaws = parse("".join(lines[:number] + lines[number + 1 :]))
        assert len(flaws) <= 1, lines[number]


def walk(node: Any) -> list[Span]:
    """Every span below a node."""
    if isinstance(node, Span):
        return [node]
    if isinstance(node, tuple):
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


@given(st.lists(PIECES, max_size=40).map("".join) | st.text(max_size=40))
@examples(300)
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
@examples(200)
def test_chunks_are_the_whole_text_in_order(text: str) -> None:
    assert "".join(text[start:end] for start, end in chunk_bounds(text)) == text


def test_a_moved_chunk_equals_a_fresh_reading() -> None:
    text = 'a { b (1mm, 2mm) "t" ER20 3 +/- 1e3 } # c\n'
    parse(text, "m", keep=True)
    moved, flaws = parse('use "x"\n' + text, "m", keep=True)
    fresh = read_chunk(text, "m", len('use "x"\n'))
    assert (moved.blocks, moved.comments, flaws) == (fresh.blocks, fresh.comments, fresh.flaws)


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
    assert flaws == () and len(file.blocks) == 7
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
