"""How a line is cut into numbers, quantities, names, codes, strings, points and marks."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise_grammar import parse
from flatwise_grammar.lines import LONGEST_NUMBER, lexemes
from flatwise_grammar.nodes import Code, Field, Mark, Name, Number, NumberWithUnit, Point, String


def items_of(phrase: str) -> tuple[Any, ...]:
    """The items of the only field, `word PHRASE`, read without a flaw."""
    file, flaws = parse(f"block {{\n    word {phrase}\n}}\n")
    assert flaws == ()
    (block,) = file.blocks
    (field,) = block.body
    assert isinstance(field, Field)
    return field.items


def plain(item: Any) -> Any:
    """An item without its span, short enough for a table."""
    if isinstance(item, NumberWithUnit):
        return (item.number, item.unit)
    if isinstance(item, Point):
        return ("point", [plain(one) for one in item.x], [plain(one) for one in item.y])
    return (type(item), item.text)


@pytest.mark.parametrize(
    ("written", "expected"),
    [
        ("3", [(Number, "3")]),
        ("-0.5", [(Number, "-0.5")]),
        ("3/4", [(Number, "3/4")]),
        ("1 1/8", [(Number, "1 1/8")]),
        ("0.5mm", [("0.5", "mm")]),
        ("-2mm", [("-2", "mm")]),
        ("3/4in", [("3/4", "in")]),
        ("1 1/8in", [("1 1/8", "in")]),
        ("1/05in", [("1/05", "in")]),
        ("1 1/8 in", [(Number, "1 1/8"), (Name, "in")]),
        ("12 mm", [(Number, "12"), (Name, "mm")]),
        ("70%", [("70", "%")]),
        ("70 %", [("70", "%")]),
        ("2.2 kW, 1 N", [("2.2", "kW"), (Mark, ","), ("1", "N")]),
        ("35  \tN/mm2", [("35", "N/mm2")]),
        ("240 in/min at 400 mm/s2", [("240", "in/min"), (Name, "at"), ("400", "mm/s2")]),
        ("(3 MPa, 1 m/s2)", [("point", [("3", "MPa")], [("1", "m/s2")])]),
        ("3 M8 x", [(Number, "3"), (Code, "M8"), (Name, "x")]),
        ("400mm/s2", [("400", "mm/s2")]),
        ("35N/mm2", [("35", "N/mm2")]),
        ("680kg/m3", [("680", "kg/m3")]),
        ("240in/min", [("240", "in/min")]),
        ("11200MPa", [("11200", "MPa")]),
        ("2.2kW, 8000rpm", [("2.2", "kW"), (Mark, ","), ("8000", "rpm")]),
        ("1,5mm", [(Number, "1"), (Mark, ","), ("5", "mm")]),
        ("ER20", [(Code, "ER20")]),
        ("G59.3 M8", [(Code, "G59.3"), (Code, "M8")]),
        ("front_left 31.6mm", [(Name, "front_left"), ("31.6", "mm")]),
        ("29mm +/- 0.3mm", [("29", "mm"), (Mark, "+/-"), ("0.3", "mm")]),
        ("29mm+/-0.3mm", [("29", "mm"), (Mark, "+/-"), ("0.3", "mm")]),
        ('"a # b"', [(String, "a # b")]),
        (r'"say \"flat\" \\ twice"', [(String, r'say "flat" \ twice')]),
        ('"Öl und Späne \u2028"', [(String, "Öl und Späne \u2028")]),
        ("(120mm, 45mm)", [("point", [("120", "mm")], [("45", "mm")])]),
        ("( 120 mm ,45mm )", [("point", [(Number, "120"), (Name, "mm")], [("45", "mm")])]),
        ("(-1 1/8in, 3)", [("point", [("-1 1/8", "in")], [(Number, "3")])]),
        ("a\t\x0cb", [(Name, "a"), (Name, "b")]),
    ],
)
def test_a_phrase_is_cut_into_items(written: str, expected: list[Any]) -> None:
    assert [plain(item) for item in items_of(written)] == expected


def test_a_mixed_number_has_exactly_one_space() -> None:
    assert [plain(item) for item in items_of("2 at 3 1/4in")] == [(Number, "2"), (Name, "at"), ("3 1/4", "in")]


def test_a_line_continues_after_a_comma_over_comments_and_blank_lines() -> None:
    file, flaws = parse("b {\n gap left 1mm, # one\n\n   # two\n right 2mm\n step 3mm\n}\n")
    assert flaws == ()
    assert [field.word.text for field in file.blocks[0].fields] == ["gap", "step"]
    assert len(file.blocks[0].fields[0].items) == 5
    assert [comment.text for comment in file.comments] == ["# one", "# two"]


def test_newlines_of_every_kind_and_semicolons_end_a_field() -> None:
    for text in (
        "b {\r\n a 1\r\n c 2\r\n}\r\n",
        "b {\ra 1\rc 2\r}\r",
        "b { a 1;; ; c 2; }",
        "b {;a 1\n;\n\nc 2}",
        "\ufeffb { a 1; c 2 }",
    ):
        file, flaws = parse(text)
        assert flaws == (), text
        assert [field.word.text for field in file.blocks[0].fields] == ["a", "c"]


def test_a_comment_ends_before_its_line_break() -> None:
    file, _ = parse("# one\r\nb { # two\n}")
    assert [comment.text for comment in file.comments] == ["# one", "# two"]


@pytest.mark.parametrize(
    ("written", "code", "fix"),
    [
        ("1-1/8in", "FW003", "1 1/8in"),
        ("1  1/8in", "FW003", "1 1/8in"),
        ("1\t1/8in", "FW003", "1 1/8in"),
        (".5mm", "FW003", "0.5mm"),
        ("-.5mm", "FW003", "-0.5mm"),
        ("1e3", "FW003", None),
        ("1e-3mm", "FW003", None),
        ("2E+4", "FW003", None),
        ("1.2.3", "FW003", None),
        ("3.mm", "FW003", None),
        ("12mm3x", "FW003", None),
        ("1_000mm", "FW003", None),
        ("900mmx500mm", "FW003", "900mm x 500mm"),
        ("+5mm", "FW003", None),
        ("3/0in", "FW003", None),
        ("1 1/00", "FW003", None),
        ("9" * 41, "FW003", None),
        ("9" * 39 + "mm", "FW003", None),
        ("Front_Left", "FW001", "front_left"),
        ("front-left", "FW001", "front_left"),
        ("ER-20", "FW001", None),
        ("STEEL", "FW001", None),
        ("a/b", "FW001", None),
        ("%", "FW001", None),
        ("größe", "FW001", None),
        ("±", "FW001", "+/-"),
        ("*", "FW001", None),
        ("\0", "FW001", None),
        ("'x'", "FW001", None),
        ('"open', "FW001", None),
        (r'"C:\new"', "FW001", None),
        ("(1mm 2mm)", "FW001", None),
        ("(1mm, 2mm", "FW001", None),
        ("(1mm, 2mm, 3mm)", "FW001", None),
        ("1mm)", "FW001", None),
        ("1mm,, 2mm", "FW001", ""),
        (", 1mm", "FW001", ""),
    ],
)
def test_one_flaw_where_the_text_is_not_the_language(written: str, code: str, fix: str | None) -> None:
    text = f"block {{\n    before 1\n    word {written}\n    after 2\n}}\n"
    file, flaws = parse(text)
    assert [flaw.code for flaw in flaws] == [code]
    (flaw,) = flaws
    at = text.index("word ")
    assert at <= flaw.span.start < flaw.span.end <= text.index("\n    after")
    assert flaw.message.endswith(".") and flaw.help.endswith(".")
    assert "\n" not in flaw.message and flaw.message.isprintable()
    assert (flaw.fix[1] if flaw.fix else None) == fix
    words = [field.word.text for field in file.blocks[0].fields]
    assert words[0] == "before" and words[-1] == "after"


@pytest.mark.parametrize(
    "written", ["1-1/8in", "1  1/8in", ".5mm", "Front_Left", "front-left", "29mm ± 1mm", "a\u00a0b"]
)
def test_a_corrected_text_has_no_flaw_and_the_same_tree(written: str) -> None:
    text = f"block {{ word {written} }}"
    before, (flaw,) = parse(text)
    assert flaw.fix is not None
    span, better, _ = flaw.fix
    after, flaws = parse(text[: span.start] + better + text[span.end :])
    assert flaws == ()
    assert [plain(one) for one in before.blocks[0].fields[0].items] == [
        plain(one) for one in after.blocks[0].fields[0].items
    ]


UNSIGNED = st.fractions(min_value=0, max_value=10_000, max_denominator=64)


@given(UNSIGNED, st.integers(0, 6), st.booleans())
@examples(75)
def test_numbers_have_the_value_that_the_standard_library_gives_them(
    value: Fraction, places: int, negative: bool
) -> None:
    """The judges are Python's fractions and decimal, which read the text of the node."""
    sign = "-" if negative else ""
    whole, rest = divmod(value, 1)
    decimal = f"{sign}{float(value):.{places}f}"
    ratio = f"{sign}{value.numerator}/{value.denominator}"
    (number,) = items_of(decimal)
    assert isinstance(number, Number) and Decimal(number.text) == Decimal(decimal)
    (number,) = items_of(ratio)
    assert isinstance(number, Number) and Fraction(number.text) == Fraction(ratio)
    (size,) = items_of(f"{whole} {rest.numerator}/{rest.denominator}in")
    assert isinstance(size, NumberWithUnit) and sum(Fraction(part) for part in size.number.split()) == value
    _, flaws = parse(f"a {{ b {Decimal(decimal):e} }}")
    assert [flaw.code for flaw in flaws] == ["FW003"]


def test_every_unit_of_the_compiler_is_read_with_and_without_a_space() -> None:
    from flatwise.core.units import UNITS

    assert len(UNITS) > 30
    for unit in UNITS:
        assert [plain(one) for one in items_of(f"1 1/8{unit}")] == [("1 1/8", unit)]
        apart = [plain(one) for one in items_of(f"2 {unit}, 3")][:-2]
        assert apart in ([("2", unit)], [(Number, "2"), (Name, unit)])


def kinds(text: str, base: int = 0) -> list[str]:
    return [one.type for one in lexemes(text, "p", base)]


def test_a_byte_order_mark_is_ignored_only_at_the_start_of_a_file() -> None:
    assert kinds("\ufeffa") == ["NAME"] and lexemes("\ufeffa", "p", 0)[0].start == 1
    assert kinds("\ufeffa", 5) == ["STRAY", "NAME"]
    assert [flaw.span.start for flaw in parse("a { }\n\ufeffb { }\n")[1]] == [6]


def test_a_number_has_a_longest_length_and_no_zero_denominator() -> None:
    assert [kinds("1" * length)[0] for length in (LONGEST_NUMBER, LONGEST_NUMBER + 1)] == ["NUMBER", "BAD_NUMBER"]
    assert kinds("1/0 1/04 1/00mm 3/4in 1/10") == [
        "BAD_NUMBER", "NUMBER", "BAD_NUMBER", "QUANTITY", "NUMBER",
    ]  # fmt: skip


def test_messages_name_the_text() -> None:
    for written in ("1e3", "12mm3x", "Front_Left", "3/0in", "900mmx500mm"):
        _, (flaw,) = parse(f"b {{ w {written} }}")
        assert written in flaw.message
