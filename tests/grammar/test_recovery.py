"""What stays of a text with mistakes in it: which blocks and lines are read, and what the flaws say."""

from __future__ import annotations

import pytest

from flatwise_grammar import parse
from flatwise_grammar.blocks import AHEAD, DEEPEST, MOST_GUESSES
from flatwise_grammar.nodes import Block, Span


def messages(text: str) -> list[str]:
    return [flaw.message for flaw in parse(text)[1]]


#: a text, the codes of its flaws, and its blocks with the words of their fields
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
    # where all braces match, indentation does not matter
    ("a {\n  b 1\nc {\nd 1\n}\n}", [], [("a", ["b"])]),
]


@pytest.mark.parametrize(("text", "expected", "blocks"), RECOVERY)
def test_recovery(text: str, expected: list[str], blocks: list[tuple[str, list[str]]]) -> None:
    file, flaws = parse(text)
    assert [flaw.code for flaw in flaws] == expected
    assert [(block.kind, [one.word.text for one in block.fields if not one.broken]) for block in file.blocks] == blocks


def test_indentation_shows_where_a_closing_brace_is_missing() -> None:
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
        # a closing brace belongs to the header in the same column
        ("a {\n  b {\n    c 1\n}\n", "b", [("b", False)]),
        ("job x {\n  survey {\n    gap {\n      a 1\n  }\n  zero { }\n}\n", "gap", [("survey", True), ("zero", True)]),
        # and one after other words on its line to the innermost block
        ("x {\n a {\n   b {\n    c 1 }\n   d {\n    e 1\n }\n}\n", "d", [("a", True)]),
        ("x {\n  a { b {\n    c 1\n  }\n  d 2\n}\n", "a", [("a", False)]),
    ],
)
def test_the_flaw_names_the_block_without_its_brace(text: str, open_block: str, inside: list[tuple[str, bool]]) -> None:
    file, (flaw,) = parse(text)
    assert (flaw.code, flaw.message) == ("FW002", f"The block {open_block} is not closed.")
    (whole,) = file.blocks
    assert whole.closed and [(block.kind, block.closed) for block in whole.blocks] == inside


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("job x {", "The block job x is not closed."),
        ("a {\n b 1\n", "The block a is not closed."),
        ("a { b {", "The 2 blocks a, b are not closed."),
        ("a { b { c {", "The 3 blocks a, b, c are not closed."),
        ("a {\n b {\n  c {\n  e 1\n", "The 3 blocks a, b, c are not closed."),
        ("a {\n b {\n  c {\n   d {\n    e 1\n", "The 4 blocks a, b, c… are not closed."),
        ("{\n  b 1\n", "The block without a name is not closed."),
    ],
)
def test_one_sentence_names_the_first_three_blocks_left_open(text: str, message: str) -> None:
    assert [flaw.message for flaw in parse(text)[1] if flaw.code == "FW002"] == [message]


def test_a_word_is_a_header_only_above_deeper_lines() -> None:
    _, (flaw,) = parse("job j {\n    stock\n    a 1\n    }\n}\n")
    assert flaw.message == "A closing brace has no open block."


def test_a_file_name_without_quotation_marks_is_still_used() -> None:
    file, (flaw,) = parse("use ../shared/shop.flat\na { b 1 }\n", "p")
    assert flaw.code == "FW001" and flaw.fix is not None and flaw.fix[1] == '"../shared/shop.flat"'
    (use,) = file.uses
    assert (use.target.text, use.target.span, use.span) == ("../shared/shop.flat", Span("p", 4, 23), Span("p", 0, 23))
    for text in ("a {\n  use shop.flat\n}\n", "use shop.flat {\n}\n", "a { }\ngap shop.flat\n"):
        file, flaws = parse(text)
        assert file.uses == () and [flaw.fix for flaw in flaws] == [None]


@pytest.mark.parametrize("phrase", ["1,, 2", "1, 2,", ", 1, 2", ",,1,, 2,,"])
def test_a_line_with_an_extra_comma_is_still_read(phrase: str) -> None:
    file, (flaw,) = parse(f"a {{ b {phrase} }}")
    assert flaw.code == "FW001" and "comma" in flaw.message
    (field,) = file.blocks[0].fields
    assert not field.broken and [getattr(item, "text", "") for item in field.items] == ["1", ",", "2"]


@pytest.mark.parametrize("header", ["job shelf", "stock", "after first", "cut"])
def test_indentation_shows_where_an_opening_brace_is_missing(header: str) -> None:
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
    fix = found[0].fix
    assert fix is not None and broken[: fix[0].start] + fix[1] + broken[fix[0].end :] == text


def test_the_flaw_of_an_open_block_points_at_the_end_and_at_its_brace() -> None:
    text = "job x {\n    feed 1\n"
    file, (flaw,) = parse(text)
    assert not file.blocks[0].closed
    assert flaw.span.start == flaw.span.end == len(text.rstrip())
    assert flaw.opened == Span("", text.index("{"), text.index("{") + 1)


def test_an_unreadable_line_is_in_the_tree_as_broken() -> None:
    text = "a {\n  size 3mm*  # c\n  feed 1e3\n  depth 1mm\n  * 3\n}\n"
    file, flaws = parse(text)
    assert len(flaws) == 3
    fields = file.blocks[0].fields
    assert [(field.word.text, field.broken) for field in fields] == [("size", True), ("feed", True), ("depth", False)]
    assert fields[0].items == () and text[fields[0].span.start : fields[0].span.end] == "size 3mm*"
    parse(text, "k", keep=True)
    moved, _ = parse('use "x"\n' + text, "k", keep=True)
    assert moved.blocks[0].fields[0].broken


def test_nesting_too_deep_is_reported_once() -> None:
    deep = "a {\n" * 2000 + "}\n" * 2000 + "b { c 1 }\n"
    file, flaws = parse(deep)
    assert [flaw.code for flaw in flaws] == ["FW001"]
    assert str(DEEPEST) in flaws[0].message
    assert [block.kind for block in file.blocks] == ["a", "b"]
    assert "FW002" in {flaw.code for flaw in parse("a { " * 2000)[1]}


@pytest.mark.parametrize("between", ["\n", "\n\n", "\n# why\n", "\n\n\n# why\n\n"])
def test_a_brace_below_its_header_is_reported_once(between: str) -> None:
    text = f"a{between}{{\n  b 1\n}}\n"
    file, flaws = parse(text)
    assert [flaw.message for flaw in flaws] == ["The opening brace of a block is not on the line of its header."]
    assert flaws[0].span.start == text.index("{") and [block.kind for block in file.blocks] == ["a"]


def test_two_braces_below_their_headers_are_two_flaws() -> None:
    assert len(messages("a\n\n{\n  b\n\n  {\n    c 1\n  }\n}\n")) == 2


def test_a_line_continues_over_empty_lines() -> None:
    def text(lines: int) -> str:
        return "a {\n  b 1mm,\n" + "\n" * lines + "  2mm\n}\n"

    for lines in (0, 1, AHEAD - 2, AHEAD + 3):
        file, flaws = parse(text(lines))
        assert flaws == () and [len(one.items) for one in file.blocks[0].fields] == [3], lines
    # a comma before the closing brace is ignored, and the block still ends
    file, _ = parse("a {\n  b 1mm,\n}\nc { d 1 }\n")
    assert [(block.kind, block.closed) for block in file.blocks] == [("a", True), ("c", True)]


def test_the_number_of_guessed_braces_is_limited() -> None:
    def named(count: int) -> int:
        text = "w {\n" + "".join(f"  b{k}\n    c 1\n  }}\n" for k in range(count)) + "}\n"
        return sum("has no opening brace" in one for one in messages(text))

    assert named(3) == 3 and named(MOST_GUESSES + 5) <= MOST_GUESSES


def test_a_use_line_is_read_as_corrected_only_outside_blocks() -> None:
    text = "a { b 1 }\nuse shop.flat\n"
    file, (flaw,) = parse(text)
    assert [use.target.text for use in file.uses] == ["shop.flat"] and flaw.fix is not None
    assert text[: flaw.fix[0].start] + flaw.fix[1] + text[flaw.fix[0].end :] == 'a { b 1 }\nuse "shop.flat"\n'
    inside, flaws = parse('a {\n  use "x"\n}\n')
    assert inside.uses == () and inside.blocks[0].body == () and len(flaws) == 1


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("j {\n    a {\n        b 1\n    }\n}\n    c { d 2 }\n}\n", 4),
        ("j {\n    a { b 1 }\n    }\n    c { d 2 }\n}\n", 2),
        ("j {\n    a { b 1 } }\n    c { d 2 }\n}\n", 1),
        ("j {\n    a {\n        b 1\n    }}\n    c { d 2 }\n}\n", 3),
        ("j {\n    a {\n    }\n        b 1\n    }\n    c { d 2 }\n}\n", 2),
        ("j {\n    a { b 1 }\n    c { d 2 }\n}\n}\n", 4),
        ("j {\n    a { b 1 }\n    c { d 2 }\n    }\n}\n\nk { e 3 }\n", 3),
    ],
)
def test_an_extra_brace_is_one_flaw_and_its_fix_removes_it(text: str, line: int) -> None:
    file, (flaw,) = parse(text)
    assert flaw.message == "A closing brace has no open block." and text.count("\n", 0, flaw.span.start) == line
    assert flaw.fix is not None and file.blocks[0].closed
    removed, better, _ = flaw.fix
    mended, flaws = parse(text[: removed.start] + better + text[removed.end :])
    assert not flaws and [len(one.body) for one in mended.blocks] == [len(one.body) for one in file.blocks]
