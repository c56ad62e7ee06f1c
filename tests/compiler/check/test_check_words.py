"""Messages about words, units, numbers and places in a job file: the way out, and when a fix is certain."""

from __future__ import annotations

import pytest
from compiler.works import waiver, work

from flatwise import check
from flatwise.core import fixes
from flatwise.core.finding import Finding
from flatwise.core.units import units_of
from flatwise.core.wording import capitalised, listed, place_name, quoted
from flatwise.findings import fw003_number as fw003
from flatwise.findings import fw101_unknown_word as fw101
from flatwise.findings import fw102_unknown_name as fw102
from flatwise.findings import fw103_declared_twice as fw103
from flatwise.findings import fw104_wrong_kind as fw104
from flatwise.findings import fw105_missing as fw105
from flatwise.findings import fw107_out_of_bounds as fw107
from flatwise.findings import fw201_point_off_panel as fw201
from flatwise.findings import fw204_no_stack as fw204
from flatwise.findings import pages
from flatwise.model.stages import Shim
from flatwise_grammar.nodes import Span

AT = Span("jobs/example.flat", 40, 44)


@pytest.mark.parametrize(
    ("word", "known", "sure"),
    [
        # likeness is 2·(letters in common)/(letters of both), as difflib's SequenceMatcher defines its ratio
        ("abcx", ["abcy"], "abcy"),  # 2·3/8 = 0.75: just enough
        ("abcdexy", ["abcdezw"], ""),  # 2·5/14 = 0.71: near, not certain
        ("abcdx", ["abcdy", "abcdz"], ""),  # two as near
        ("abcdefgh", ["abcdefgx", "abcdefxy"], "abcdefgx"),  # 0.875 and 0.75
        ("abcdefghij", ["abcdefghix", "abcdefghiyz"], ""),  # 0.90 and 0.86
        ("stepovr", ["stepover", "speed", "depth"], "stepover"),
        ("zzz", ["stepover"], ""),
    ],
)
def test_a_fix_is_certain_only_where_one_word_is_much_nearer(word: str, known: list[str], sure: str) -> None:
    assert fixes.sure_word(word, known) == sure
    text, fix = fixes.did_you_mean(word, AT, known)
    assert (fix is not None) == bool(sure)
    if sure:
        assert text == f"Did you mean `{sure}`?" and fix is not None and fix.edits[0].text == sure


def test_at_most_three_similar_words_are_offered() -> None:
    near = fixes.near_words("abcdex", ["abcdea", "abcdeb", "abcdec", "abcded", "zzz"])
    assert len(near) == 3 and set(near) <= {"abcdea", "abcdeb", "abcdec", "abcded"}
    # a longer name that has all parts of the word, though it is not spelt like it
    assert fixes.near_words("fly", ["big_old_blunt_fly", "dog"]) == ["big_old_blunt_fly"]
    # a word is compared with up to MANY_WORDS others
    many = [f"x{i}" for i in range(fixes.MANY_WORDS - 1)]
    assert fixes.near_words("cutter", [*many, "cuter"]) == ["cuter"]
    assert fixes.near_words("cutter", [*many, "y", "cuter"]) == []


def test_lists_of_words_and_first_letters() -> None:
    assert quoted(["a"]) == "`a`"
    assert quoted(["a", "b"]) == "`a` or `b`"
    assert quoted(["a", "b", "c"], "and") == "`a`, `b` and `c`"
    assert listed(["0.2mm of twist", "0.1mm of cup"], "and") == "0.2mm of twist and 0.1mm of cup"
    # only the first letter changes, and not that of a word of the language
    assert [capitalised(text) for text in ("job `a` in ER20", "`a`", "")] == ["Job `a` in ER20", "`a`", ""]


def test_the_way_out_of_an_unknown_word() -> None:
    near = fw101.in_block("stepovr", AT, "cut", ["stepover", "speed"])
    assert (near.message, near.help) == ("Cut takes no `stepovr`.", "Did you mean `stepover`?") and near.fix is not None
    assert fw101.in_block("zzz", AT, "cut", ["depth", "speed"]).help == "It takes `depth` and `speed`."
    assert fw101.in_block("zzz", AT, "cut", []).help == "It takes nothing."
    belongs = fw101.in_block("stepover", AT, "stock", ["size"], "`stepover` belongs in `cut`.")
    assert belongs.help == "`stepover` belongs in `cut`." and belongs.fix is None
    phrase = fw101.in_phrase("alonng", AT, "rows", ["along", "across"], [], "rows along grain")
    assert phrase.help == "Did you mean `along`?" and phrase.fix is not None
    other = fw101.in_phrase("zzz", AT, "rows", ["along"], ["a length"], "Write it like rows along grain.")
    assert (other.message, other.help) == (
        "Rows takes `along`, or a length, not `zzz`.",
        "Write it like rows along grain.",
    )
    # a word of the language in the wrong place: another may not be meant
    assert fw101.in_phrase("alonng", AT, "rows", ["along"], [], "x", elsewhere=True).fix is None
    assert fw101.kind("zzz", AT, ["job", "recipe"]).help == "The kinds are `job` and `recipe`."
    assert fw101.kind("jobb", AT, ["job", "recipe"]).help == "Did you mean `job`?"
    assert fw101.key("zzz", AT, "flatwise.toml", ["out", "strict"]).help == "The keys are `out` and `strict`."
    assert fw101.key("strikt", AT, "flatwise.toml", ["out", "strict"]).help == "Did you mean `strict`?"


def test_the_way_out_of_an_unknown_name() -> None:
    known = [f"n{i:02}" for i in range(12)]
    assert fw102.unknown("zzzzz", AT, "cutter", known).help.startswith("Known here: `n00`, ")
    assert " and more" not in fw102.unknown("zzzzz", AT, "cutter", known).help
    assert " and more" in fw102.unknown("zzzzz", AT, "cutter", [*known, "n12"]).help
    assert "Declare it with `cutter fly { … }`" in fw102.unknown("fly", AT, "cutter", []).help
    # a name is compared with up to MANY_WORDS others
    many = [f"x{i}" for i in range(fixes.MANY_WORDS - 1)]
    assert fw102.unknown("cutter", AT, "cutter", [*many, "cuter"]).help == "Did you mean `cuter`?"
    assert fw102.unknown("cutter", AT, "cutter", [*many, "y", "cuter"]).help.startswith("Known here: `x0`, ")
    elsewhere = fw102.unknown("fly_64", AT, "cutter", ["fly_65"], Span("shared/shop.flat", 3, 9))
    assert "shared/shop.flat" in elsewhere.help and elsewhere.fix is None and len(elsewhere.related) == 1


def test_units() -> None:
    capitals = fw003.unknown_unit("RPM", AT, "14000RPM", "speed in cut", units_of("length"))
    assert capitals.help == "Did you mean `rpm`?" and capitals.fix is not None and capitals.fix.edits[0].text == "rpm"
    lengths = units_of("length")
    unsure = fw003.unknown_unit("q", AT, "3q", "depth in cut", lengths)
    assert unsure.help == "Use `mm`, `in`, `thou` or `cm`." and unsure.fix is None
    near = fw003.unknown_unit("thous", AT, "3thous", "depth in cut", lengths)
    assert near.help == "Did you mean `thou`?" and near.fix is not None


def test_rows_that_are_not_numbers_are_counted() -> None:
    one = fw003.rows("a.csv", AT, [(3, "x")], 1, "x mm,y mm,z mm")
    assert one.message == '"a.csv" has a row that is not three numbers: row 3 is "x".'
    more = fw003.rows("a.csv", AT, [(3, "x"), (4, "y")], 5, "x mm,y mm,z mm")
    assert more.message == ('"a.csv" has 5 rows that are not three numbers: row 3 is "x"; row 4 is "y"; and 3 more.')
    assert "`x mm,y mm,z mm`" in more.help


def test_a_file_without_a_header_is_told_apart_from_one_without_units() -> None:
    none = fw003.header("a.csv", AT, "", "x mm,y mm,z mm", None)
    assert none.message == '"a.csv" has no header that names the columns with their units.'
    assert none.help == "Write `x mm,y mm,z mm` as its first line, or `x in,y in,z in` if its numbers are in inches."
    bare = fw003.header("a.csv", AT, "x;y;t", "x in;y in;t in", None)
    assert bare.message == '"a.csv" begins with "x;y;t", which does not name the columns with their units.'
    assert bare.help.endswith("`x mm;y mm;t mm` if its numbers are in millimetres.")


def test_a_number_without_unit_and_one_with_a_comma() -> None:
    one = fw104.bare("14000", AT, "speed in cut", "a speed, such as 14000rpm", ["14000rpm"], "speed 14000rpm")
    assert one.help == "Write `14000rpm`." and one.fix is not None and one.fix.edits[0].text == "14000rpm"
    assert one.message == "`14000` at speed in cut has no unit; a speed is expected."
    two = fw104.bare("3", AT, "depth in cut", "a length", ["3mm", "3in"], "depth 3mm")
    assert two.help == "Write `3mm` or `3in`." and two.fix is None
    assert fw104.bare("3", AT, "depth in cut", "a length", [], "depth 3mm").help == "Write it like depth 3mm."
    part = fw104.comma("0,5mm", 1, AT, "depth in cut")
    assert part.fix is not None and part.fix.edits[0].text == "0.5mm"
    thousands = fw104.comma("1,200mm", 3, AT, "size in stock")
    assert thousands.fix is None and "`1200mm`" in thousands.help
    wants = fw104.phrase("flip", AT, "flip", ["over"], "", "flip over long_edge")
    assert wants.message == "After `flip`, flip takes over, but the line ends there."
    either = fw104.phrase("z", AT, "z", ["`top`", "`bed`"], "x", "z bed")
    assert either.message == "After `z`, z takes `top` or `bed`, not `x`."
    ends = fw104.phrase("z", AT, "z bed", [], "x", "z bed")
    assert ends.message == "After `z bed`, the line of z should end, but `x` follows."


def test_a_point_off_the_panel() -> None:
    assert "exchanged" in fw201.off(AT, 450.0, 900.0, 900.0, 450.0).help  # on the corner, once exchanged
    assert "exchanged" in fw201.off(AT, 0.0, 900.0, 900.0, 450.0).help
    assert "exchanged" not in fw201.off(AT, 451.0, 900.0, 900.0, 450.0).help
    assert "exchanged" not in fw201.off(AT, 450.0, 901.0, 900.0, 450.0).help
    assert "exchanged" not in fw201.off(AT, -1.0, 100.0, 900.0, 450.0).help
    assert "exchanged" in fw201.off(AT, 800.0, 0.0, 450.0, 900.0).help
    row = fw201.off(AT, 901.0, 0.0, 900.0, 45.0, 0)
    assert (
        row.message == "The point (901mm, 0mm) in row 0 of the file does not lie on the panel, which is 900mm by 45mm."
    )
    said = [place_name(name) for name in ("centre", "front_left", "back")]
    assert said == ["the centre", "the front left corner", "the middle of the back edge"]
    assert place_name("", 25.4, 45.0) == "(25.4mm, 45mm)"


def test_of_two_breaches_of_a_waived_rule_the_worse_is_reported() -> None:
    of = work()._replace(waivers=waiver("leave"))
    breach = Finding("FW602", "Too thin.", AT, rule="leave", value=14.0, limit=15.0)
    for order in ((14.0, 10.0), (10.0, 14.0)):
        findings = tuple(breach._replace(value=value) for value in order)
        left, waived = check.waive(of, findings, whole=True)
        assert [(one.rule, one.value, one.limit) for one in waived] == [("leave", 10.0, 15.0)]
        assert [(one.code, one.severity) for one in left] == [("FW703", "warning")]


def test_a_waived_rule_without_figures_counts_as_none() -> None:
    of = work()._replace(waivers=waiver("survey"))
    bare = Finding("FW205", "No survey.", AT, rule="survey")
    _, waived = check.waive(of, (bare, bare), whole=True)
    assert [(one.value, one.limit) for one in waived] == [(0.0, 0.0)]


def test_pages_by_code() -> None:
    page = pages.page("fw501")
    assert page is not None and page.code == "FW501" and page.title == "the cutter meets a clamp or dog"
    assert pages.page("FW999") is None


def test_related_places_only_where_there_are_some() -> None:
    other = Span("shared/shop.flat", 3, 9)
    for make in (fw105.needed, fw107.beyond):
        assert make("Too much.", AT, "Write less.").related == ()
        (second,) = make("Too much.", AT, "Write less.", other, "the other one").related
        assert (second.span, second.message) == (other, "the other one")
    assert fw104.balanced(AT, "No.").related == () and len(fw104.balanced(AT, "No.", other).related) == 1
    assert fw103.declaration("job", "demo", AT, AT).message == "The job `demo` is already declared."
    far = fw103.declaration("job", "demo", AT, other)
    assert far.message == "The job `demo` is already declared in shared/shop.flat." and far.related[0].span == other
    assert fw103.reading("shim", "front", AT, AT).help == "Keep one of the two."
    assert fw103.reading("gap", "front", AT, AT).help == "Keep the reading that you trust."
    size = fw105.Missing("size", "Length by width.", "size 1m x 1m x 30mm")
    one = fw105.missing([size], "the stock", AT)
    assert (one.message, one.related) == ("The stock has no `size`.", ())
    assert one.help == "Add a line such as `size 1m x 1m x 30mm` (length by width)."
    two = fw105.missing([size, fw105.Missing("wood", "The species.", "wood ash")], "the stock", AT)
    assert two.message == "The stock has no `size` or `wood`." and two.help.startswith("Add a line for each")
    assert [other.message for other in two.related] == [
        "a line such as `size 1m x 1m x 30mm` (length by width)",
        "a line such as `wood ash` (the species)",
    ]


def test_no_stack_gives_the_height_to_set_by_hand() -> None:
    shim = Shim("front_left", 12.5, 12.5, (0.5,), 0.5, 0.27, False, AT)
    short = fw204.no_stack(work(), shim, 0.05)
    assert "the nearest stack, 0.5mm, leaves a gap of 0.27mm" in short.message
    assert "`shim 0.77mm under front_left`" in short.help and (short.value, short.limit) == (0.27, 0.05)
    none = fw204.no_stack(work(), shim._replace(place="", leaves=(), height=0.0), 0.05)
    assert "no leaf of the set fits, which leaves a gap of 0.27mm" in none.message
    assert "`shim 0.27mm under (12.5mm, 12.5mm)`" in none.help


def test_a_number_without_a_value() -> None:
    one = fw003.not_a_number("1/0in", AT, "depth in cut")
    assert one.message == "`1/0in` at depth in cut is not a number." and one.code == "FW003"
    assert fw104.line_expected("depth", "cut", AT, "0.5mm").help == "Write it like `depth 0.5mm`."
    assert fw104.block_expected("survey", "the job", AT).help == "Write it as `survey { … }`."
