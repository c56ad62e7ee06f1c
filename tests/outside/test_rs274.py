"""The program parser against the standard: Kramer, Proctor, Messina, *The NIST RS274/NGC Interpreter – Version 3*,
NISTIR 6556 (2000).  Each test names the section or table that it checks."""

from __future__ import annotations

import pytest

from flatwise.verify.interpreter import Frame, Move, interpret
from flatwise.verify.rs274 import G_GROUPS, LETTERS, M_GROUPS, read_program

END = "\nM2\n"
HERE = Frame((0.0, 0.0, 0.0), (0.0, 0.0, 0.0), 1.0)


def words(line: str) -> list[tuple[str, float]]:
    blocks, refusals = read_program(line + END)
    assert refusals == []
    return [(word.letter, word.value) for word in blocks[0].words]


def reason(line: str, longest: int = 256) -> str:
    _, refusals = read_program(line + END, longest)
    assert len(refusals) == 1, refusals
    assert refusals[0].line == 1
    return refusals[0].reason


def moves(text: str) -> list[Move]:
    blocks, refusals = read_program(text)
    assert refusals == []
    steps, refusals, _ = interpret(blocks, HERE, "mm", "G54")
    assert refusals == []
    return [step for step in steps if isinstance(step, Move)]


def test_the_example_of_blanks_and_case_3_3() -> None:
    assert words("g0x +0. 12 34y 7") == words("g0 x+0.1234 y7") == [("G", 0), ("X", 0.1234), ("Y", 7)]


def test_a_line_has_at_most_256_characters_3_3() -> None:
    line = "G0 X1 (" + "a" * 248 + ")"
    assert len(line) == 256 and words(line)
    assert "257" in reason(line.replace("(", "(a"))


@pytest.mark.parametrize("line", ["/G0X1", " / N5 g0 x1", "/N00005G0X1"])
def test_a_line_may_begin_with_the_block_delete_character_3_3(line: str) -> None:
    assert words(line) == [("G", 0), ("X", 1)]
    blocks, _ = read_program(f"{line}\nG0 X1{END}")
    assert [block.marked for block in blocks] == [True, False, False]


@pytest.mark.parametrize("line", ["N0 G0X1", "N99999 G0X1", "n00009 g0x1", " N 1 2 G0X1"])
def test_line_numbers_that_are_allowed_3_3_1(line: str) -> None:
    assert words(line) == [("G", 0), ("X", 1)]


@pytest.mark.parametrize("line", ["N000009 G0X1", "N100000 G0X1", "N1.5 G0X1", "N-1 G0X1", "N G0X1", "G0 N1 X1"])
def test_line_numbers_that_are_not_3_3_1(line: str) -> None:
    assert "N" in reason(line)


@pytest.mark.parametrize(
    ("text", "value"), [("1", 1.0), ("+1", 1.0), ("-1.", -1.0), (".5", 0.5), ("-.5", -0.5), ("007", 7.0)]
)
def test_numbers_3_3_2_1(text: str, value: float) -> None:
    assert words(f"G0 X{text}")[1] == ("X", value)


@pytest.mark.parametrize("text", ["", "-", ".", "1.2.3", "--1", "1e3", "1E-3", "+-1", "1-2"])
def test_what_is_no_number_3_3_2_1(text: str) -> None:
    assert reason(f"G0 X{text}")


def test_letters_of_table_3() -> None:
    assert set("ABCDFGHIJKLMNPQRSTXYZ") == LETTERS
    for letter in "EOUVW":
        assert f"letter {letter}" in reason(f"G0 X1 {letter}1")


def test_comments_3_3_4() -> None:
    assert words("G0 (one) X1 (two) Y2") == [("G", 0), ("X", 1), ("Y", 2)]
    assert "not closed" in reason("G0 X1 (two")
    assert "inside a comment" in reason("G0 (one (two) X1")
    assert "not opened" in reason("G0 X1 two)".replace("two", ""))


def test_a_comment_ends_at_the_first_bracket_3_3_4() -> None:
    blocks, refusals = read_program("(a) G0 X1 (b: G1 Y5)" + END)
    assert refusals == []
    assert [word.letter for word in blocks[0].words] == ["G", "X"]


def test_modal_groups_of_table_4() -> None:
    groups: dict[str, set[float]] = {}
    for code, group in G_GROUPS.items():
        groups.setdefault(group, set()).add(code / 10)
    assert groups == {
        "motion": {0, 1, 2, 3, 38.2, 80, 81, 82, 83, 84, 85, 86, 87, 88, 89},
        "plane": {17, 18, 19},
        "distance": {90, 91},
        "feed mode": {93, 94},
        "units": {20, 21},
        "cutter radius": {40, 41, 42},
        "tool length": {43, 49},
        "return": {98, 99},
        "coordinate system": {54, 55, 56, 57, 58, 59, 59.1, 59.2, 59.3},
        "path": {61, 61.1, 64},
        "non-modal": {4, 10, 28, 30, 53, 92, 92.1, 92.2, 92.3},
    }
    stops: dict[str, set[int]] = {}
    for number, group in M_GROUPS.items():
        stops.setdefault(group, set()).add(number)
    assert stops == {
        "stopping": {0, 1, 2, 30, 60},
        "tool change": {6},
        "spindle": {3, 4, 5},
        "coolant": {7, 8, 9},
        "override": {48, 49},
    }


@pytest.mark.parametrize(
    "pair", ["G0 G1 X1", "G20 G21", "G90 G91", "G93 G94", "G54 G59.3", "G4 G53 G0 X1 P1", "G17 G17"]
)
def test_one_code_of_a_group_in_a_line_3_3_5(pair: str) -> None:
    assert "group" in reason(pair)


@pytest.mark.parametrize("pair", ["M3 M5", "M7 M8", "M0 M1"])
def test_one_m_of_a_group_in_a_line_3_3_5(pair: str) -> None:
    assert "group" in reason(pair)


def test_four_m_codes_and_no_letter_twice_3_3_5() -> None:
    assert "more than four" in reason("M3 M8 M0 M48 M6")
    assert "X appears twice" in reason("G0 X1 X2")
    assert words("M3 M8 M0") == [("M", 3), ("M", 8), ("M", 0)]


def test_codes_that_are_not_in_the_standard() -> None:
    assert "not a code of RS274/NGC" in reason("G5 X1")
    assert "not a code of RS274/NGC" in reason("M77")
    assert "not a code of RS274/NGC" in reason("G1.5 X1")


REST = """G2 X1 Y1 I1 J0; G3 X1 R2; G81 X1 Z-1 R1; G28; G92 X0; G10 L2 P1 X0; G41 D1; G43 H1; M6 T1; G0 A90; G18;
M48; M60; G38.2 Z-1; G98; G19"""


@pytest.mark.parametrize("line", [line.strip() for line in REST.split(";")])
def test_the_other_codes_of_the_standard_are_parsed_and_refused(line: str) -> None:
    assert "outside this machine's set" in reason(line)


@pytest.mark.parametrize("line", ["#1=5", "G0 X#1", "G0 X[1+2]"])
def test_parameters_and_expressions_are_refused(line: str) -> None:
    assert "outside this machine's set" in reason(line)


def test_motion_needs_axes_and_a_dwell_needs_p_3_5() -> None:
    assert "needs X, Y or Z" in reason("G0")
    assert "needs X, Y or Z" in reason("G1 F100")
    assert "needs P" in reason("G4")
    assert "negative" in reason("G4 P-1")
    assert "no use" in reason("G0 X1 P2")
    assert "negative" in reason("S-5")


def test_percent_signs_3_1() -> None:
    assert read_program("%\nG0 X1\n%\nrubbish that is not read\n")[1] == []
    assert "second `%`" in read_program("%\nG0 X1\nM2\n")[1][0].reason
    assert "M2 or M30" in read_program("G0 X1\n")[1][0].reason
    assert read_program("\n  %  \nG0 X1\n %\n")[1] == []


def test_nothing_after_the_ending_is_executed_3_6_1() -> None:
    assert len(moves("G21 G90 G94 G40 G49\nG54 G0 X1\nM30\nG0 X2\n&&&\n")) == 1


def test_order_of_execution_of_table_8() -> None:
    # feed, speed and spindle before the motion; units, system and distance before it too; the stop after it
    made = moves("G40 G49\nM2 X10 G1 G90 G94 G54 G21 M3 S1000 F200\n")
    assert len(made) == 1
    assert (made[0].b[0], made[0].spindle, made[0].speed, made[0].feed) == (10.0, 3, 1000.0, 200.0)
    assert moves("G21 G90 G94 G40 G49\nG54\nM3 S1\nM5 G1 F1 X5\nM2")[0].spindle == 0


def test_units_distance_and_machine_coordinates_3_5() -> None:
    text = "G20 G90 G94 G40 G49\nG54\nG0 X1 Y2 Z3\nG91 X1\nG53 G0 X0\nG90 G1 X2 F10\nM2"
    made = moves(text)
    assert [move.b[0] for move in made] == pytest.approx([25.4, 50.8, 0.0, 50.8])
    assert made[-1].feed == pytest.approx(254.0)


def test_g53_is_not_modal_and_absolute_in_any_mode() -> None:
    shifted = Frame((10.0, 0.0, 0.0), (-100.0, 0.0, 0.0), 1.0)
    blocks, _ = read_program("G21 G91 G94 G40 G49 G54\nG53 G0 X5\nX5\nM2")
    steps, _, _ = interpret(blocks, shifted, "mm", "G54")
    assert [step.b[0] for step in steps if isinstance(step, Move)] == [-95.0, -90.0]


def test_inverse_time_feed_is_moves_a_minute() -> None:
    made = moves("G21 G90 G93 G40 G49 G54\nG0 X0 Y0 Z0\nG1 X30 Y40 F2\nG1 X0\nM2")
    assert made[1].feed == pytest.approx(100.0)  # 50 mm in half a minute
    assert made[2].feed is None  # F is due on every line


def test_a_dwell_takes_p_in_seconds() -> None:
    made = moves("G21 G90 G94 G40 G49 G54\nM3 S1\nG4 P2.5\nG0 X1\nM2")
    assert made[0].dwelt == 2.5


def test_g80_ends_the_motion() -> None:
    blocks, refusals = read_program("G21 G90 G40 G49 G54\nG0 X1\nG80\nX2\nM2")
    assert refusals == []
    _, refusals, _ = interpret(blocks, HERE, "mm", "G54")
    assert "no G0 or G1" in refusals[0].reason and refusals[0].line == 4


@pytest.mark.parametrize(
    ("line", "at", "why", "way_out"),
    [
        ("G0 X1 (a(b)", "(", "there is a `(` inside a comment", ""),
        ("G0 X1 ((b)", "(", "there is a `(` inside a comment", ""),
        ("G0 X1 (b", "(b", "not closed on its line", "Close it with `)`."),
        ("G0 X1)", ")", "closes a comment that was not opened", ""),
        ("G0 X#1", "X#", "begins a parameter or an expression", "Write the number itself."),
        ("#1=2", "#", "begins a parameter or an expression", "Write the number itself."),
        ("G0 X[1+2]", "X[", "begins a parameter or an expression", "Write the number itself."),
        ("G0 X1 * 2", "*", "begins a parameter or an expression", "Write the number itself."),
        ("G0 X1 ; home", ";", "is not part of any word", "Put comments in parentheses."),
        ("G0 X1 / Y2", "/", "there is a `/` inside the line", ""),
        ("G0 X1 U2", "U", "no word begins with the letter U", ""),
        ("G0 X1 \x07", "\x07", "there is a control character here", "Remove it."),
        ("G0 X1 Y2 X3", "X3", "the letter X appears twice in the line", ""),
        ("M3 M5 S9000", "M5", "M3 and M5 are both in the spindle group", "Put them on two lines."),
        ("M3 M7 M8 M0 M5", "M5", "more than four M codes", ""),
        ("G0 X1 F-1", "F-1", "F-1 is negative", ""),
        ("G4 P-1", "P-1", "a dwell cannot be negative: P-1", ""),
        ("G0 X1 P1", "P1", "P1 has no use without a dwell G4", ""),
        ("G80 X1", "X1", "G80 ends the motion, so X1 cannot be in the same line", ""),
        ("G0", "G0", "G0 needs X, Y or Z", ""),
        ("G53", "G53", "G53 needs X, Y or Z", ""),
        ("G1.05 X1", "G1.05", "G1.05 is not a code of RS274/NGC", ""),
        ("M3.5", "M3.5", "M3.5 is not a code of RS274/NGC", ""),
        ("G0 X1 N5", "N5", "a line number N follows other words", "N comes first in its line."),
        ("N1 N2 G0 X1", "N2", "a line number N follows other words", "N comes first in its line."),
        ("//G0 X1", "/", "there is a `/` inside the line", ""),
        ("N5 /G0 X1", "/", "there is a `/` inside the line", ""),
    ],
)
def test_a_refusal_gives_its_place_the_reason_and_the_solution(line: str, at: str, why: str, way_out: str) -> None:
    text = f"G21\n{line}{END}"
    _, (refusal,) = read_program(text)
    assert refusal.line == 2 and text[refusal.start : refusal.end] == at
    assert refusal.column == refusal.start - len("G21\n") + 1
    assert why in refusal.reason and refusal.help == way_out


def test_a_character_beyond_ascii_is_shown_where_it_stands() -> None:
    from flatwise.verify.rs274 import decode

    text, refusals = decode("G21\n(a)\nG0 X1 (\xe9\xe8)\n(\xfc)\nM2\n".encode("latin-1"))
    assert [(one.line, one.column, text[one.start : one.end]) for one in refusals] == [(3, 8, "\xe9"), (4, 2, "\xfc")]
    assert "byte 233 is not an ASCII character" in refusals[0].reason and decode(b"G21\n")[1] == []


def test_a_program_without_an_end_is_reported_at_its_last_character() -> None:
    text = "G21\nG0 X1\n\n"
    _, (refusal,) = read_program(text)
    assert (refusal.line, refusal.column, text[refusal.start : refusal.end]) == (2, 5, "1")
    assert read_program("")[1][0].line == 1 and read_program("%\nG21\n")[1][0].reason.startswith(
        "the program begins with `%`"
    )
    _, (stray,) = read_program("G21\n  %\nM2\n")
    assert (stray.line, stray.column) == (2, 3) and "none before the first line" in stray.reason


def test_a_long_line_is_reported_from_the_word_that_is_too_much() -> None:
    text = "G21\nG0 X1 Y2 Z3\nM2\n"
    _, (refusal,) = read_program(text, 9)
    assert text[refusal.start : refusal.end] == "Z3" and refusal.help == "Break it into two lines."


def test_numbers_too_large_for_any_machine_are_refused() -> None:
    assert "too large for any machine" in reason("G0 X1" + "0" * 12)
    assert words("G0 X99999")[1] == ("X", 99999.0)
