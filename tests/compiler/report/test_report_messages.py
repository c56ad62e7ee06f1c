"""Findings as text and as JSON: what a person and what a machine is shown, character by character."""

from __future__ import annotations

import json
import time

import pytest

from flatwise.core.finding import Edit, Finding, Fix, Related
from flatwise.report.messages import Lines, Sources, json_lines, tally, text
from flatwise_grammar.nodes import Span

JOB = """\
job tray {
    cut {
        depth  1.5mm
    }
}
"""
SHOP = "cutter fly_50 {\n\tdepth up to 1mm\n}\n"
TEXTS = {"jobs/tray.flat": JOB, "shared/shop.flat": SHOP}


def at(source: str, part: str, path: str) -> Span:
    start = source.index(part)
    return Span(path, start, start + len(part))


DEEP = Finding(
    "FW401",
    "The pass of 1.5mm is deeper than the 1mm that cutter fly_50 allows.",
    at(JOB, "1.5mm", "jobs/tray.flat"),
    related=(Related("The cutter's limit stands here.", at(SHOP, "1mm", "shared/shop.flat")),),
    help="Write 1mm or less.",
    fix=Fix("write 1mm", (Edit(at(JOB, "1.5mm", "jobs/tray.flat"), "1mm"),)),
)


def test_a_finding_shows_its_source_its_second_place_and_the_way_out() -> None:
    assert text((DEEP,), TEXTS) == (
        "FW401 error  jobs/tray.flat:3:16\n"
        "\n"
        "  The pass of 1.5mm is deeper than the 1mm that cutter fly_50 allows.\n"
        "\n"
        "   3 |         depth  1.5mm\n"
        "     |                ^^^^^\n"
        "\n"
        "  The cutter's limit stands here.  (shared/shop.flat:2:14)\n"
        "\n"
        "   2 |     depth up to 1mm\n"
        "     |                 ---\n"
        "\n"
        "  Write 1mm or less.\n"
    )


def test_json_has_every_key_and_counts_from_one_in_characters() -> None:
    line = json_lines((DEEP,), TEXTS)
    assert line.endswith("\n") and line.count("\n") == 1
    assert json.loads(line) == {
        "code": "FW401",
        "severity": "error",
        "message": DEEP.message,
        "path": "jobs/tray.flat",
        "line": 3,
        "column": 16,
        "end_line": 3,
        "end_column": 21,
        "related": [
            {"message": "The cutter's limit stands here.", "path": "shared/shop.flat", "line": 2, "column": 14}
        ],
        "help": "Write 1mm or less.",
        "fix": {
            "title": "write 1mm",
            "edits": [
                {
                    "path": "jobs/tray.flat",
                    "line": 3,
                    "column": 16,
                    "end_line": 3,
                    "end_column": 21,
                    "text": "1mm",
                }
            ],
        },
    }


def test_a_finding_without_a_place_and_one_without_its_text() -> None:
    nowhere = Finding("FW004", "There is no file a.flat.", None, help="Check the name.")
    gone = Finding("FW901", "Line 3 has a word that is not known.", Span("first.nc", 10, 12))
    assert text((nowhere,), {}) == "FW004 error\n\n  There is no file a.flat.\n\n  Check the name.\n"
    assert text((gone,), {}) == "FW901 error  first.nc\n\n  Line 3 has a word that is not known.\n"
    shown = json.loads(json_lines((nowhere,), {}))
    assert (shown["path"], shown["line"], shown["fix"]) == (None, None, None)


def test_findings_stand_in_the_order_of_their_places_once_each() -> None:
    late = Finding("FW101", "late", Span("jobs/tray.flat", 40, 41))
    early = Finding("FW101", "early", Span("jobs/tray.flat", 4, 8))
    drawn = text((late, early, late), TEXTS)
    assert drawn.index("early") < drawn.index("late") and drawn.count("late") == 1
    assert tally((late, early, late)) == "2 errors"
    found = (early._replace(severity="note"), late, early._replace(severity="warning"))
    assert tally(found) == "1 error, 1 warning, 1 note" and tally(found[:1]) == "1 note"


def marked(source: str, start: int, end: int) -> tuple[str, str]:
    """The drawn source line and the line of marks below it."""
    drawn = text((Finding("FW101", "m", Span("a", start, end)),), {"a": source}).splitlines()
    return drawn[4], drawn[5]


def test_tabs_and_wide_characters_keep_the_mark_below_its_word() -> None:
    # widths as Unicode Standard Annex 11 gives them: 木 is wide (2 cells), a combining accent takes none
    source = '\twood "木工" e\u0301 ash'
    start = source.index("ash")
    line, marks = marked(source, start, start + 3)
    cells = line.replace("木工", "####").replace("\u0301", "")
    assert marks.index("^") == cells.index("ash") and marks.count("^") == 3
    _, marks = marked(source, source.index("木"), source.index("木") + 2)
    assert marks.count("^") == 4


@pytest.mark.parametrize("start", [0, 50, 400, 795, 797])
def test_a_long_line_is_clipped_round_its_span(start: int) -> None:
    source = "x" * start + "HERE" + "y" * (797 - start)
    line, marks = marked(source, start, start + 4)
    assert len(line) < 120 and "HERE" in line
    assert marks.index("^") == line.index("HERE") and marks.count("^") == 4


def test_a_span_that_is_longer_than_the_line_may_be_is_clipped_too() -> None:
    line, marks = marked("a" * 5000, 0, 5000)
    assert len(line) < 120 and line.endswith("...") and 40 < marks.count("^") < 100


def test_an_empty_span_and_one_at_the_end_of_the_text_have_one_mark() -> None:
    assert marked("abc", 3, 3)[1].rstrip().endswith("^")
    assert marked("abc\n", 4, 4)[1].count("^") == 1
    assert marked("", 0, 0)[1].count("^") == 1
    assert marked("abc", 90, 99)[1].count("^") == 1


def test_a_span_over_many_lines_shows_the_first_and_the_last() -> None:
    source = "".join(f"    line {number}\n" for number in range(20))
    drawn = text((Finding("FW002", "m", Span("a", 4, len(source))),), {"a": source})
    assert "line 0" in drawn and "line 1\n" in drawn and "line 19" in drawn and "line 7" not in drawn
    assert "17 more lines" in drawn


def test_a_source_cannot_steer_the_terminal() -> None:
    source = "wood \x1b[31m\x07 \u202e ash\r\n"
    drawn = text((Finding("FW101", "The word \x1b[2J is not known.", Span("a\x1b", 5, 8)),), {"a\x1b": source})
    assert "\x1b" not in drawn and "\x07" not in drawn and "\u202e" not in drawn and "\r" not in drawn


def test_colour_only_where_it_is_asked_for() -> None:
    assert "\x1b" not in text((DEEP,), TEXTS)
    coloured = text((DEEP,), TEXTS, colour=True)
    assert "\x1b[31;1m" in coloured
    import re

    assert re.sub(r"\x1b\[[0-9;]*m", "", coloured) == text((DEEP,), TEXTS)


def test_lines_of_every_ending() -> None:
    lines = Lines("a\r\nbc\n\nd")
    assert [lines.line(number) for number in (1, 2, 3, 4)] == ["a", "bc", "", "d"]
    assert lines.place(3) == (2, 1) and lines.place(7) == (4, 1) and lines.place(99) == (4, 2)


def test_a_megabyte_on_one_line_is_drawn_at_once() -> None:
    source = "x " * 500_000
    findings = tuple(Finding("FW001", f"m{at}", Span("a", at, at + 1)) for at in range(0, 1_000_000, 10_000))
    start = time.perf_counter()
    drawn = text(findings, {"a": source})
    assert len(drawn) < 100_000
    assert time.perf_counter() - start < 2.0


def test_places_of_a_missing_text_are_the_start() -> None:
    assert Sources({}).place(Span("a", 5, 9)) == (1, 1, 1, 1)
