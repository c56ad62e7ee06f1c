"""Lines of a block: the values that they give, and the findings."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from compiler.reading import codes, mended, only, read_text, under
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples
from pydantic import ValidationError

from flatwise.core.finding import Finding
from flatwise.core.units import Quantity
from flatwise.language.block_reader import BodyContext, FindingSink, read_block
from flatwise.language.description import phrase
from flatwise.language.phrase_shape import block_shape
from flatwise.model.job import Cut, Hold, Job, RowsLine, Survey
from flatwise.model.kinds import KINDS, all_blocks
from flatwise.model.shop import Lean
from flatwise.model.words import EdgePosition, ModelBlock, Place, word_info
from flatwise_grammar import parse
from flatwise_grammar.nodes import Span


def read(made: type[ModelBlock], text: str) -> tuple[Any, list[Finding]]:
    """Read one line in a block of its own: its value, and the findings."""
    tree, flaws = parse(f"a b {{\n{text}\n}}", "line")
    assert not flaws, flaws
    (block,) = tree.blocks
    (part,) = block.fields
    known = (
        "ash",
        "dial_10",
        "tray_a",
        "tray_b",
        "tray_c",
        "low_dog",
        "side_cam",
        "leaf_set",
        "fly_64",
        "bench_router",
        "solid_tops",
    )
    context = BodyContext(lambda kind, path: known, FindingSink(), whole=False)
    model, sound = read_block(made, block.body, block.head_span, "b", "this block", context)
    assert sound == (not context.findings.found)
    return getattr(model, part.word.text), context.findings.found


def line(made: type[ModelBlock], text: str) -> tuple[Any, list[str]]:
    """The value of one line, and the codes of its findings."""
    value, findings = read(made, text)
    return value, [finding.code for finding in findings]


WORDS = [(made, word) for made in all_blocks() for word in block_shape(made).words]


@pytest.mark.parametrize(("made", "word"), WORDS, ids=lambda each: getattr(each, "kind", each))
def test_every_word_compiles_with_its_example_and_says_what_it_is(made: type[ModelBlock], word: str) -> None:
    shape = block_shape(made).words[word]
    value, findings = line(made, f"{word} {shape.example}")
    assert not findings
    assert value is not None
    info = made.model_fields[word]
    assert info.description and info.description[0].isupper() and info.description.endswith(".")
    if word not in made.required() and not shape.repeats:
        # what is worked out when the word is left out is said in words, unless the default itself says it
        assert info.default is not None or word_info(info).shown


def test_a_block_made_in_code_is_held_to_types_and_bounds() -> None:
    assert Lean(out=Quantity(0.1, "mm"), over=Quantity(200.0, "mm")).tangent == pytest.approx(0.0005)
    for out in (Quantity(-1.0, "mm"), Quantity(1.0, "s"), 0.1):
        with pytest.raises(ValidationError):
            Lean(out=out, over=Quantity(200.0, "mm"))
    with pytest.raises(ValidationError):
        Lean(out=Quantity(0.1, "mm"))


@pytest.mark.parametrize(
    ("kind", "text", "says"),
    [
        ("cutter", "diameter 0mm", "`0mm` at `diameter` of this block must be more than 0mm."),
        ("cutter", "diameter 0.001mm", ""),
        ("cutter", "diameter 100m", ""),
        ("cutter", "diameter 100001mm", "`100001mm` at `diameter` of this block must be at most 100000mm."),
        ("machine", "bed flat within 0in", ""),
        ("machine", "bed flat within -1/64in", "`-1/64in` at `bed` of this block must be at least 0in."),
        ("cutter", "wings 1", ""),
        ("cutter", "wings 0", "`0` at `wings` of this block must be at least 1."),
        ("cutter", "wings 41", "`41` at `wings` of this block must be at most 40."),
        ("shims", "leaves 0.1mm, 51mm", "`51mm` at `leaves` of this block must be at most 50mm."),
        ("machine", "travel 1m x 0mm x 1m", "`0mm` at `travel` of this block must be more than 0mm."),
        ("machine", "collet ER21", "`ER21` at `collet` of this block is not one of its codes."),
        ("cutter", "speed 9000rpm to 8000rpm", "The range 9000rpm to 8000rpm at `speed` of this block runs backwards."),
        ("cutter", "speed 9000rpm to 9000rpm", ""),
    ],
)
def test_a_value_is_held_to_the_bounds_of_its_word(kind: str, text: str, says: str) -> None:
    findings = read(KINDS[kind], text)[1]
    assert [finding.message for finding in findings] == [says] * bool(says)


@pytest.mark.parametrize(
    ("at", "says"),
    [
        ("0%", ""),
        ("100%", ""),
        ("100.1%", "must be at most 100%"),
        ("-1mm", "must be at least 0mm"),
        ("99m", ""),
        ("101m", "must be at most 100m"),
    ],
)
def test_a_position_along_an_edge_lies_on_it(at: str, says: str) -> None:
    found = read(Hold, f"dog low_dog left at 50%, {at}")[1]
    assert [(finding.code, says in finding.message) for finding in found] == [("FW107", True)] * bool(says)


def test_units_are_joined_and_kept_as_written() -> None:
    value, findings = line(KINDS["cutter"], "diameter 2 1/2 in")
    assert not findings
    assert value == 63.5
    assert str(value) == "2 1/2in"
    value, findings = line(KINDS["machine"], "tram 1 thou in 8 in")
    assert not findings
    assert isinstance(value, Lean)
    assert value.tangent == pytest.approx(0.001 / 8)
    value, findings = line(KINDS["machine"], "spindle 3 hp, 8000 rpm to 24000rpm")
    assert not findings
    assert float(value.power) == pytest.approx(3 * 745.69987)


def test_optional_groups_come_in_any_order() -> None:
    cut = block_shape(Job).blocks[("cut",)][1]
    for text in (
        "rows across grain, one_way climb, edge first",
        "rows across grain, edge first, one_way climb",
    ):
        value, findings = line(cut, text)
        assert not findings
        assert isinstance(value, RowsLine)
        assert (value.direction, value.way, value.edge) == ("across", "climb", "edge")
    value, findings = line(cut, "rows along grain, one_way")
    assert (value.one_way, value.way, findings) == ("one_way", None, [])
    assert line(cut, "rows along grain, one_way, one_way")[1] == ["FW101"]


@pytest.mark.parametrize("direction", ["along", "across"])
@pytest.mark.parametrize("way", ["", ", one_way", ", one_way climb", ", one_way conventional"])
@pytest.mark.parametrize("edge", ["", ", edge first"])
def test_a_phrase_is_shown_as_a_person_writes_it(direction: str, way: str, edge: str) -> None:
    written = f"{direction} grain{way}{edge}"
    value, wrong = line(Cut, f"rows {written}")
    assert wrong == [] and phrase(value) == written


def test_up_to_and_at_most_are_alike() -> None:
    assert line(KINDS["cutter"], "depth at most 1mm") == line(KINDS["cutter"], "depth up to 1mm")
    assert line(KINDS["standard"], "depth up to 1mm")[1] == []


def test_places_points_and_corners() -> None:
    value, findings = line(Survey, "thickness corners 31mm, center 30mm, (100mm, 1 in) 32mm")
    assert not findings
    places = [reading.place for reading in value]
    assert [place.name for place in places] == [
        "front_left",
        "front_right",
        "back_left",
        "back_right",
        "centre",
        "",
    ]
    assert places[-1].on(1000, 500) == (100.0, 25.4)
    assert places[4].on(1000, 500) == (500.0, 250.0)
    hold = block_shape(Job).blocks[("hold",)][1]
    dogs, findings = line(hold, "dog low_dog left at 25%, 300mm, 10 in")
    assert not findings
    assert [at.on(600.0) for at in dogs[0].at] == [150.0, 300.0, 254.0]
    assert isinstance(dogs[0].at[0], EdgePosition) and not isinstance(dogs[0].at[0], Place)


@pytest.mark.parametrize(
    ("kind", "text", "code"),
    [
        ("cutter", "diameter 64", "FW104"),
        ("cutter", "diameter 64rpm", "FW104"),
        ("cutter", "diameter 64mn", "FW003"),
        ("cutter", "diameter 64 mn", "FW003"),
        ("cutter", "diameter big", "FW104"),
        ("cutter", "diameter", "FW104"),
        ("cutter", "diameter 64mm 3mm", "FW104"),
        ("cutter", "diameter -64mm", "FW107"),
        ("cutter", "diameter 0mm", "FW107"),
        ("cutter", "wings 2.5", "FW104"),
        ("cutter", "wings 3mm", "FW104"),
        ("cutter", "wings 0", "FW107"),
        ("cutter", "depth 1mm", "FW104"),
        ("cutter", "speed 16000rpm to 10000rpm", "FW107"),
        ("cutter", "speed 16000rpm", "FW104"),
        ("cutter", "plunge maybe", "FW101"),
        ("machine", "collet ER21", "FW107"),
        ("machine", "collet 0.5mm to 13mm", ""),
        ("machine", "collet 13mm to 0.5mm", "FW107"),
        ("machine", 'feed "fast"', "FW104"),
        ("machine", "travel 1m x 1m", "FW104"),
        ("machine", "travel 1m by 1m by 1m", "FW104"),
        ("job", "machine no_such", "FW102"),
        ("job", 'machine "bench_router"', "FW104"),
        ("job", "waive nothing", "FW101"),
        ("job", 'waive depth because "tried"', ""),
        ("clamp", "pushes 8mm", "FW104"),
        ("standard", "survey needed", "FW101"),
        ("standard", "power at most 170%", "FW107"),
        ("standard", "unseen 0.5mm per ft", "FW104"),
    ],
)
def test_what_is_wrong_has_its_code(kind: str, text: str, code: str) -> None:
    assert line(KINDS[kind], text)[1] == ([code] if code else [])


def test_a_bare_number_offers_the_likely_units(shop: Path) -> None:
    front = read_text(shop, "job demo from plain_top { cut { depth 0.4 } }")
    finding = only(front)
    assert finding.code == "FW104"
    assert under(front, finding) == "0.4"
    assert "0.4mm" in finding.help and "0.4in" in finding.help
    assert finding.fix is None  # millimetres or inches: nobody can be certain
    front = read_text(shop, "job demo from plain_top { cut { speed 14000 } }")
    finding = only(front)
    assert "speed 14000rpm" in mended(front, finding)


def test_a_missing_joining_word_is_inserted(shop: Path) -> None:
    front = read_text(shop, "job demo from plain_top { stock { grain x } }")
    finding = only(front)
    assert finding.code == "FW104"
    assert "grain along x" in mended(front, finding)
    front = read_text(shop, "job demo from plain_top { hold { dog low_dog left 25%, 75% } }")
    assert "dog low_dog left at 25%, 75%" in mended(front, only(front))


def test_a_misspelt_word_has_a_fix_and_a_word_of_another_block_has_none(shop: Path) -> None:
    front = read_text(shop, "job demo from plain_top { cut { stepovr 50% } }")
    finding = only(front)
    assert (finding.code, under(front, finding)) == ("FW101", "stepovr")
    assert "stepover 50%" in mended(front, finding)
    front = read_text(shop, "job demo from plain_top { cut { glue_lines y 100mm } }")
    finding = only(front)
    assert finding.code == "FW101" and "`stock`" in finding.help and finding.fix is None
    front = read_text(shop, 'job demo from plain_top { waive unseen because "a rule that has no waiver" }')
    assert only(front).fix is None


def test_one_bad_line_does_not_hide_others(shop: Path) -> None:
    front = read_text(
        shop, "job demo from plain_top { cut { depth 0.4; finish 3N; cutter fly_46 }\n faces { first untl clean } }"
    )
    assert codes(front) == ["FW104", "FW104", "FW102", "FW101"]
    assert not front.works


def test_an_error_in_a_used_file_is_reported_once(shop: Path) -> None:
    (shop / "shared" / "bad.flat").write_text("dog tall { across 19; height 3mm }\n")
    text = 'use "../shared/shop.flat"\nuse "../shared/sample.flat"\nuse "../shared/bad.flat"\n'
    text += "dog other like tall { }\ndog third like other { height 4mm }\njob demo from plain_top { }\n"
    front = read_text(shop, text)
    finding = only(front)
    assert finding.span is not None
    assert (finding.code, finding.span.path) == ("FW104", "shared/bad.flat")
    assert len(front.works) == 1  # the job does not use it


LOOSE = """x , ; { } +/- 12mm 3 25% ER20 -3mm 14000rpm front at to in under corners along grain edge
one_way until clean auto like other way by hand"""
PIECES = st.sampled_from([*LOOSE.split(), "1 1/8in", '"a.csv"', "(1mm, 2mm)", "(1mm, 2)"])


@given(st.sampled_from(WORDS), st.lists(PIECES, max_size=8))
@examples(80, 8000)
def test_any_line_is_read_or_explained(where: tuple[type[ModelBlock], str], pieces: list[str]) -> None:
    made, word = where
    tree, flaws = parse(f"a b {{\n{word} {' '.join(pieces)}\n}}", "line")
    for block in tree.blocks:
        context = BodyContext(lambda kind, path: (), FindingSink(), whole=False)
        _, sound = read_block(made, block.body, block.head_span, "b", "this block", context)
        assert sound == (not context.findings.found) or flaws
        for finding in context.findings.found:
            assert finding.code in {"FW003", "FW101", "FW102", "FW103", "FW104", "FW107"}
            assert finding.message.endswith(".") and finding.span is not None
            assert 0 <= finding.span.start <= finding.span.end


def test_quantities_show_themselves_as_written() -> None:
    assert str(Quantity(28.575, "in", "1 1/8in", Span("", 0, 0))) == "1 1/8in"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("pattern raster along grain", "rows along grain"),
        # the blanks and comments of the line stay
        (
            "pattern  raster across grain,  # as drawn\n one_way climb, perimeter first",
            "rows  across grain,  # as drawn\n one_way climb, edge first",
        ),
        ("pattern 3mm", None),
        ("pattern", None),
    ],
)
def test_the_former_word_for_rows_is_rewritten(shop: Path, old: str, new: str | None) -> None:
    front = read_text(shop, f"job tray from plain_top {{ cut {{ {old}  # as ever\n feed auto }} }}\n")
    (finding,) = [each for each in front.findings if "`pattern`" in each.message]
    assert finding.code == "FW101" and (finding.fix is not None) == (new is not None)
    if new is not None:
        assert f"cut {{ {new}  # as ever\n" in mended(front, finding)
        assert codes(read_text(shop, mended(front, finding))) == []
