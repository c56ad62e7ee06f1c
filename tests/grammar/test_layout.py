"""The one style: what it changes, what it keeps, and that it never changes what a file says."""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from flatwise_grammar import format_text, parse
from flatwise_grammar.layout import _bare

SAMPLES = ("shared/shop.flat", "shared/sample.flat", "jobs/reading_table.flat")


@pytest.mark.parametrize("name", SAMPLES)
def test_the_samples_stay_as_they_are(repository: Path, name: str) -> None:
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
    # comments: own line, behind code, in a line that goes on, before the closing brace
    ("a { # x\n# y\nb 1 # z\n# w\n}# v", "a {  # x\n    # y\n    b  1  # z\n    # w\n}  # v\n"),
    ("a {\nb 1 # x\nccc 2 # y\n}", "a {\n    b    1  # x\n    ccc  2  # y\n}\n"),
    ("a {\nb 1mm,# x\n2mm\n}", "a {\n    b  1mm,  # x\n       2mm\n}\n"),
    (
        "a {\n    b  1          # x\n    c  2          # y\n}\n",
        "a {\n    b  1          # x\n    c  2          # y\n}\n",
    ),
    # columns that stand straight already stay, ragged ones are set
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


def test_a_block_too_long_for_one_line_is_broken_up() -> None:
    fields = "; ".join(f"field_{number} {number}mm" for number in range(12))
    better = format_text(f"shims set {{ {fields} }}")
    assert better.count("\n") == 14
    assert max(len(line) for line in better.splitlines()) <= 120


@pytest.mark.parametrize("text", ["a {", "a { b 1e3 }", "}\n\n\n\n", "a  {  Front_Left  1 }", "b   3"])
def test_a_text_with_a_flaw_is_not_touched(text: str) -> None:
    assert format_text(text) == text


def holds(text: str) -> None:
    """The promises of the formatter for one text without a flaw."""
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
def test_samples_laid_out_at_random_keep_their_meaning(repository: Path, name: str) -> None:
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


NAMES = st.sampled_from(["a", "bb", "low_dog", "edge_cam", "front_left", "at", "x"])
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
@settings(max_examples=250, deadline=None)
def test_generated_files_keep_their_meaning(text: str) -> None:
    holds(text)
