"""The style: what the formatter changes, what it keeps, and that it never changes what a file says."""

from __future__ import annotations

import random
import re
from itertools import combinations
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise_grammar import format_text, parse
from flatwise_grammar.layout import WIDTH, _Layout
from flatwise_grammar.layout import bare as _bare

SAMPLES = ("shared/shop.flat", "shared/sample.flat", "jobs/reading_table.flat")


@pytest.mark.parametrize("name", SAMPLES)
def test_the_samples_are_formatted(repository: Path, name: str) -> None:
    text = (repository / name).read_text(encoding="utf-8")
    assert format_text(text) == text


STYLE: list[tuple[str, str]] = [
    ("", ""),
    ("\n\n# only\n\n", "# only\n"),
    ("a{b 1}", "a { b 1 }\n"),
    ("a{}", "a { }\n"),
    ("a {\n\n}\n", "a {\n}\n"),
    ("a {\r\n\tb 1\r\n}\r\n", "a {\n    b  1\n}\n"),
    ("a {\nbb 1 ;; c   2;\n}", "a {\n    bb  1\n    c   2\n}\n"),
    ("a {\n\n\nb 1\n\n\n\ncc 2\n\n}\n\n\n\nd { }\n\n", "a {\n    b  1\n\n    cc  2\n}\n\nd { }\n"),
    ("a {\nb ( 1mm,2 mm )  ,3 in+/-1in\n}", "a {\n    b  (1mm, 2 mm), 3 in +/- 1in\n}\n"),
    ("a { b { c 1 } d 2 }", "a { b { c 1 }; d 2 }\n"),
    # comments: on their own line, after code, in a line that continues, before the closing brace
    ("a { # x\n# y\nb 1 # z\n# w\n}# v", "a {  # x\n    # y\n    b  1  # z\n    # w\n}  # v\n"),
    ("a {\nb 1 # x\nccc 2 # y\n}", "a {\n    b    1  # x\n    ccc  2  # y\n}\n"),
    ("a {\nb 1mm,# x\n2mm\n}", "a {\n    b  1mm,  # x\n       2mm\n}\n"),
    (
        "a {\n    b  1          # x\n    c  2          # y\n}\n",
        "a {\n    b  1          # x\n    c  2          # y\n}\n",
    ),
    # columns that are aligned stay, ragged ones are aligned
    ("a {\n    bb    1\n    cccc  2\n}\n", "a {\n    bb    1\n    cccc  2\n}\n"),
    ("a {\n    bb       1\n    cccc  2\n}\n", "a {\n    bb    1\n    cccc  2\n}\n"),
    # names before the values
    (
        "h {\ndog d left at 1%\nclamp cc right at 2%\n}",
        "h {\n    dog    d   left   at 1%\n    clamp  cc  right  at 2%\n}\n",
    ),
    (
        'h {\nwaive a because "x"\nwaive bbb because "y"\n}',
        'h {\n    waive  a    because "x"\n    waive  bbb  because "y"\n}\n',
    ),
    (
        "h {\nshims a under b, c\nshims aaa under d, e\n}",
        "h {\n    shims  a under b, c\n    shims  aaa under d, e\n}\n",
    ),
    # only where the last name is the same and no list begins there
    (
        "h {\nshims a under b, 1\nshims aaa under b, 2\n}",
        "h {\n    shims  a under b, 1\n    shims  aaa under b, 2\n}\n",
    ),
    # a word without a value counts in the width
    ("a {\n    abcdef\n    ab    1\n    cd    2\n}\n", "a {\n    abcdef\n    ab      1\n    cd      2\n}\n"),
    # one-line blocks
    (
        "dog a { b 1 }\nclamp ccc { d 1 }\n\nwood e { f 1 }",
        "dog   a    { b 1 }\nclamp ccc  { d 1 }\n\nwood  e    { f 1 }\n",
    ),
    ("j {\nafter first { b 1 }\nafter first { c 1 }\n}", "j {\n    after first { b 1 }\n    after first { c 1 }\n}\n"),
    ("j {\nmachine m\ncut { b 1 }\n}", "j {\n    machine  m\n    cut      { b 1 }\n}\n"),
]


@pytest.mark.parametrize(("text", "expected"), STYLE)
def test_style(text: str, expected: str) -> None:
    assert format_text(text) == expected
    assert format_text(expected) == expected


def test_a_block_too_long_for_one_line_gets_several() -> None:
    fields = "; ".join(f"field_{number} {number}mm" for number in range(12))
    better = format_text(f"shims set {{ {fields} }}")
    assert better.count("\n") == 14
    assert max(len(line) for line in better.splitlines()) <= 120


@pytest.mark.parametrize(("head", "depth"), [("a", 0), ("recipe of_many_words_before_the_brace", 0), ("cut", 1)])
def test_a_line_holds_120_characters_and_no_more(head: str, depth: int) -> None:
    blanks = " " * 4 * depth
    before, after = ("job j {\n", "}\n") if depth else ("", "")
    room = 120 - len(f'{blanks}{head} {{ b "" }}')
    full = f'{blanks}{head} {{ b "{"x" * room}" }}\n'
    assert format_text(f"{before}{full}{after}") == f"{before}{full}{after}"
    broken = f'{blanks}{head} {{\n{blanks}    b  "{"x" * room}x"\n{blanks}}}\n'
    assert format_text(f'{before}{blanks}{head} {{ b "{"x" * room}x" }}\n{after}') == f"{before}{broken}{after}"


@pytest.mark.parametrize(("before", "after", "indent"), [("", "", 0), ("q {\n", "\n}", 4)])
def test_a_block_stays_on_one_line_up_to_the_limit(before: str, after: str, indent: int) -> None:
    def lines(width: int) -> int:
        frame = len('a { b "" }') + indent
        return format_text(f'{before}a {{ b "{"x" * (width - frame)}" }}{after}').count("\n")

    own = 2 if before else 0
    assert lines(WIDTH) == 1 + own and lines(WIDTH + 1) == 3 + own


@pytest.mark.parametrize(
    ("text", "better"),
    [
        # an aligned column stays where it is, up to four spaces after the longest word
        ("bb     1\ncccc   2", "bb     1\ncccc   2"),
        ("bb      1\ncccc    2", "bb      1\ncccc    2"),
        ("bb       1\ncccc     2", "bb    1\ncccc  2"),
        # words of one length with one space after them are aligned by chance, others on purpose
        ("bb 1\ncc 2", "bb  1\ncc  2"),
        ("b   1\nccc 2", "b   1\nccc 2"),
        ("bb   1\ncc   2", "bb   1\ncc   2"),
        # comments: a column stays if the code leaves two spaces; comments that the code reaches share one
        ("bb  1  # x\ncc  2  # y", "bb  1  # x\ncc  2  # y"),
        ("b 1 # x\nccc 2\ndd 3 # y", "b    1  # x\nccc  2\ndd   3  # y"),
        ("b  1  # x\nc  2   # y\nddddddddd  2 # w", "b          1  # x\nc          2  # y\nddddddddd  2  # w"),
        ("b 1     # x\nccc 2 # y\n\nd 3 # z", "b    1  # x\nccc  2  # y\n\nd  3  # z"),
    ],
)
def test_aligned_columns_stay_and_others_are_set(text: str, better: str) -> None:
    def block(lines: str) -> str:
        return "a {\n" + "".join(f"    {line}".rstrip() + "\n" for line in lines.split("\n")) + "}\n"

    assert format_text(block(text)) == block(better)


DIFFERENT = [
    "",
    'use "x"',
    'use "y"',
    "# one",
    "# two",
    "a { }",
    "a b { }",
    "b { }",
    "a { } b { }",
    "a { b }",
    "a { b { } }",
    "a { c }",
    "a { b c }",
    'a { b "c" }',
    "a { b C1 }",
    "a { b 1 }",
    "a { b 2 }",
    "a { b 1mm }",
    "a { b 2mm }",
    "a { b 1in }",
    "a { b 1 mm }",
    "a { b (1, 2) }",
    "a { b (3, 2) }",
    "a { b (1, 3) }",
    "a { b 1, 2 }",
    "a { b 1 +/- 2 }",
]


def test_texts_are_compared_by_all_they_say_and_not_by_their_spaces() -> None:
    trees = [parse(text) for text in DIFFERENT]
    assert all(flaws == () for _, flaws in trees)
    bare = [_bare(file) for file, _ in trees]
    assert [(one, other) for one, other in combinations(range(len(bare)), 2) if bare[one] == bare[other]] == []
    for text, file in zip(DIFFERENT, bare, strict=True):
        loose = (text if text.startswith("#") else text.replace(" ", "  ").replace("{", "{\n\n")) + "   \n"
        assert _bare(parse(loose)[0]) == file, loose


@pytest.mark.parametrize("lost", ["a { b 2 }  # c", "a { b 1 }", "a { b 1 }  # d", "a { b 1  # c"])
def test_a_text_that_the_style_would_change_is_returned(lost: str, monkeypatch: pytest.MonkeyPatch) -> None:
    text = "a {b 1} # c"
    monkeypatch.setattr(_Layout, "lines", lambda self: [lost])
    assert format_text(text) == text
    monkeypatch.setattr(_Layout, "lines", lambda self: ["a {", "b 1", "} # c"])
    assert format_text(text) == "a {\nb 1\n} # c\n"


@pytest.mark.parametrize("text", ["a {", "a { b 1e3 }", "}\n\n\n\n", "a  {  Front_Left  1 }", "b   3"])
def test_a_text_with_a_flaw_is_returned_unchanged(text: str) -> None:
    assert format_text(text) == text


@pytest.mark.parametrize(
    ("text", "better"),
    [
        # a flaw in another block
        ("a x {\n b   1\n}\n\n\n\nc y {\n d   1e3\n}\n", "a x {\n    b  1\n}\n\n\n\nc y {\n d   1e3\n}\n"),
        ("c y {\n d   1e3\n}\n# one\na x {\n b   1\n}", "c y {\n d   1e3\n}\n# one\na x {\n    b  1\n}\n"),
        # in another inner block: its own indentation stays
        (
            "a x {\n  b {\n  c   1\n  }\n  d {\n  e   1e3\n  }\n}\n",
            "a x {\n  b {\n      c  1\n  }\n  d {\n  e   1e3\n  }\n}\n",
        ),
        ("a x {\n  b   1e3\n  c { # so\n  d   1\n}\n}\n", "a x {\n  b   1e3\n  c {  # so\n      d  1\n  }\n}\n"),
        # braces that are missing or too many say nothing certain
        ("a x {\n b {\n c   1\n}\n", None),
        ("a x {\n b {\n c   1\n}\n}\n}\n", None),
        ("a x {\n b\n   c   1\n}\n}\n", None),
        ("a x {\r\n b   1\r\n}\r\nc y {\r\n d   1e3\r\n}\r\n", None),
    ],
)
def test_sound_blocks_are_formatted_beside_a_flaw(text: str, better: str | None) -> None:
    assert parse(text)[1]
    assert format_text(text) == (better or text)
    assert format_text(format_text(text)) == format_text(text)


def holds(text: str) -> None:
    """Check the promises of the formatter for one text without a flaw."""
    before, flaws = parse(text)
    assert flaws == ()
    better = format_text(text)
    after, flaws = parse(better)
    assert flaws == ()
    assert _bare(after) == _bare(before)
    assert [one.text.rstrip() for one in after.comments] == [one.text.rstrip() for one in before.comments]
    assert format_text(better) == better
    assert better == "" or (better.endswith("\n") and not better.endswith("\n\n"))
    assert "\n\n\n" not in better and not re.search(r"[ \t]+\n", better)


@pytest.mark.parametrize("name", SAMPLES)
def test_samples_with_random_spaces_keep_their_meaning(repository: Path, name: str) -> None:
    text = (repository / name).read_text(encoding="utf-8")
    dice = random.Random(name)

    def loosened(match: re.Match[str]) -> str:
        return " " * dice.randint(1, 5) if dice.random() < 0.8 else "\t"

    for _ in range(12):
        lines = []
        for line in text.splitlines():
            mixed = "" if '"' in line or "#" in line or "/" in line else re.sub(r" +", loosened, line)
            lines.append(mixed or line.lstrip())
            lines.extend([""] * dice.choice((0, 0, 0, 1, 3)))
        holds(dice.choice(("\n", "\r\n")).join(lines))


NAMES = st.sampled_from(["a", "bb", "low_dog", "side_cam", "front_left", "at", "x"])
VALUES = NAMES | st.sampled_from(
    [
        "1",
        "1 1/8in",
        "0.5mm",
        "70%",
        "ER20",
        '"a # {b}"',
        "(1mm,  2 mm)",
        "+/-",
        "12 mm",
        "-3/4",
        "1mm ,2mm",
        "1mm,\n 2mm",
        "1mm, # c\n# d\n\n2mm",
    ]
)
ENDS = st.sampled_from(["\n", ";", " # note\n", "\n\n\n", "   #x\n", "\n# own\n", ";; \n", "\r\n", "          # far\n"])
FIELDS = st.tuples(NAMES, st.lists(VALUES, max_size=5), ENDS).map(lambda t: f"{t[0]}  {' '.join(t[1])}{t[2]}")
BODIES = st.recursive(
    st.lists(FIELDS, max_size=4).map("".join),
    lambda inner: st.lists(
        FIELDS
        | st.tuples(NAMES, st.lists(NAMES, max_size=2), inner, ENDS).map(
            lambda t: f"{t[0]} {' '.join(t[1])} {{ {t[2]} }}{t[3]}"
        ),
        max_size=4,
    ).map("".join),
    max_leaves=6,
)
FILES = st.lists(
    st.tuples(NAMES, st.lists(NAMES, max_size=2), BODIES, ENDS).map(
        lambda t: f"{t[0]} {' '.join(t[1])} {{{t[2]}}}{t[3]}"
    )
    | st.just('use "shop.flat"  # u\n'),
    max_size=4,
).map("".join)


@given(FILES)
@examples(60, 5000)
def test_generated_files_keep_their_meaning(text: str) -> None:
    holds(text)
