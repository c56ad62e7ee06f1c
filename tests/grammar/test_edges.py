"""Where a rule of the reader or of the layout turns: the last text on one side of it and the first on the other."""

from __future__ import annotations

import pytest

from flatwise_grammar import chunk_bounds, format_text, parse
from flatwise_grammar.blocks import AHEAD, MOST_GUESSES
from flatwise_grammar.layout import WIDTH
from flatwise_grammar.lines import LONGEST_NUMBER, lexemes


def types(text: str, base: int = 0) -> list[tuple[str, int]]:
    return [(one.type, one.start) for one in lexemes(text, "", base)]


def messages(text: str) -> list[str]:
    return [flaw.message for flaw in parse(text)[1]]


# -- lexemes


def test_a_byte_order_mark_counts_only_at_the_beginning_of_a_file() -> None:
    assert types("\ufeffa 1") == [("NAME", 1), ("NUMBER", 3)]
    assert types("\ufeffa 1", 5)[0] == ("STRAY", 5)


def test_a_number_ends_at_its_length_and_is_not_over_nothing() -> None:
    assert [types("1" * length)[0][0] for length in (LONGEST_NUMBER, LONGEST_NUMBER + 1)] == ["NUMBER", "BAD_NUMBER"]
    assert [kind for kind, _ in types("1/0 1/04 1/00mm 3/4in 1/10")] == [
        "BAD_NUMBER", "NUMBER", "BAD_NUMBER", "QUANTITY", "NUMBER",
    ]  # fmt: skip


# -- blocks


@pytest.mark.parametrize("between", ["\n", "\n\n", "\n# why\n", "\n\n\n# why\n\n"])
def test_a_brace_below_its_header_is_told_once_however_far_below(between: str) -> None:
    text = f"a{between}{{\n  b 1\n}}\n"
    file, flaws = parse(text)
    assert [flaw.message for flaw in flaws] == ["The opening brace of a block is not on the line of its header."]
    assert flaws[0].span.start == text.index("{") and [block.kind for block in file.blocks] == ["a"]


def test_two_braces_below_their_headers_are_two_flaws() -> None:
    assert len(messages("a\n\n{\n  b\n\n  {\n    c 1\n  }\n}\n")) == 2


def test_up_to_three_blocks_left_open_are_named() -> None:
    assert messages("a {\n b {\n  c {\n  e 1\n") == ["The 3 blocks a, b, c are not closed."]
    assert messages("a {\n b {\n  c {\n   d {\n    e 1\n") == ["The 4 blocks a, b, c… are not closed."]
    assert messages("a {\n b 1\n") == ["The block a is not closed."]
    assert messages("{\n b 1\n")[-1] == "The block without a name is not closed."


def test_a_line_goes_on_over_as_many_comments_as_are_looked_past() -> None:
    def text(lines: int) -> str:
        return "a {\n  b 1mm,\n" + "\n" * lines + "  2mm\n}\n"

    for lines in (0, 1, AHEAD - 2, AHEAD + 3):
        file, flaws = parse(text(lines))
        assert flaws == () and [len(one.items) for one in file.blocks[0].fields] == [3], lines
    # a comma before the closing brace is idle, and the block ends all the same
    file, _ = parse("a {\n  b 1mm,\n}\nc { d 1 }\n")
    assert [(block.kind, block.closed) for block in file.blocks] == [("a", True), ("c", True)]


def test_only_so_many_braces_are_guessed() -> None:
    def named(count: int) -> int:
        text = "w {\n" + "".join(f"  b{k}\n    c 1\n  }}\n" for k in range(count)) + "}\n"
        return sum("has no opening brace" in one for one in messages(text))

    assert named(3) == 3 and named(MOST_GUESSES + 5) <= MOST_GUESSES


def test_a_use_line_without_quotes_is_used_as_mended_and_only_outside_blocks() -> None:
    text = "a { b 1 }\nuse shop.flat\n"
    file, (flaw,) = parse(text)
    assert [use.target.text for use in file.uses] == ["shop.flat"] and flaw.mend is not None
    assert text[: flaw.mend[0].start] + flaw.mend[1] + text[flaw.mend[0].end :] == 'a { b 1 }\nuse "shop.flat"\n'
    inside, flaws = parse('a {\n  use "x"\n}\n')
    assert inside.uses == () and inside.blocks[0].body == () and len(flaws) == 1


# -- chunks


@pytest.mark.parametrize(
    "pieces",
    [
        ["a {\n b 1\n}\n", "c {\n d 1\n}\n"],
        ["\n\n", "a { }\n"],
        ["a { b 1\n", "c {\n d 1\n}\n"],
        ["a {\n", "b {\n c 1\n}\n", "d {\n e 1\n}\n"],
        ["a {\n b 1\n", "c { d 1 }\n", "e {\nf 1\n}\n"],
        ["a {\r\n b 1\r\n}\r\n", "c { }"],
        ['a { "{\n', "c { }\n"],
        ["a { # {\n}\n", "c { }"],
        ["a { b {\n}}}\n", "c { }"],
        # where braces match, and where lines inside blocks are not indented, a header in the first column is inside
        ["a {\n b 1\nc {\nd 1\n}\n}\n"],
        ["a {\nb 1\nc {\nd 1\n}\n"],
    ],
)
def test_pieces_begin_at_words_in_the_first_column(pieces: list[str]) -> None:
    text = "".join(pieces)
    assert [text[begin:end] for begin, end in chunk_bounds(text)] == pieces


# -- layout


@pytest.mark.parametrize(("before", "after", "indent"), [("", "", 0), ("q {\n", "\n}", 4)])
def test_a_block_stays_on_one_line_up_to_the_width(before: str, after: str, indent: int) -> None:
    def lines(width: int) -> int:
        frame = len('a { b "" }') + indent
        return format_text(f'{before}a {{ b "{"x" * (width - frame)}" }}{after}').count("\n")

    own = 2 if before else 0
    assert lines(WIDTH) == 1 + own and lines(WIDTH + 1) == 3 + own


@pytest.mark.parametrize(
    ("text", "better"),
    [
        # a column that stands straight stays where it is, up to four blanks behind the longest word
        ("bb     1\ncccc   2", "bb     1\ncccc   2"),
        ("bb      1\ncccc    2", "bb      1\ncccc    2"),
        ("bb       1\ncccc     2", "bb    1\ncccc  2"),
        # words of one length with a blank behind them stand straight by chance, others on purpose
        ("bb 1\ncc 2", "bb  1\ncc  2"),
        ("b   1\nccc 2", "b   1\nccc 2"),
        ("bb   1\ncc   2", "bb   1\ncc   2"),
        # comments: a column stays if the code leaves two blanks, what is reached shares one with its neighbours
        ("bb  1  # x\ncc  2  # y", "bb  1  # x\ncc  2  # y"),
        ("b 1 # x\nccc 2\ndd 3 # y", "b    1  # x\nccc  2\ndd   3  # y"),
        ("b  1  # x\nc  2   # y\nddddddddd  2 # w", "b          1  # x\nc          2  # y\nddddddddd  2  # w"),
        ("b 1     # x\nccc 2 # y\n\nd 3 # z", "b    1  # x\nccc  2  # y\n\nd  3  # z"),
    ],
)
def test_columns_stand_where_they_stood_or_are_set(text: str, better: str) -> None:
    def block(lines: str) -> str:
        return "a {\n" + "".join(f"    {line}".rstrip() + "\n" for line in lines.split("\n")) + "}\n"

    assert format_text(block(text)) == block(better)
