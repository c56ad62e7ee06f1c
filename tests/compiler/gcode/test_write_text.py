"""Whole programs of a plan made by hand, to the letter, and the rounding and folding behind them.

Worked by hand from the plan: program Z is the height above the bed less touched place and paper (21.05 and 20.35 mm),
X and Y are counted from the panel's corner; 1 in = 25.4 mm.
"""

from __future__ import annotations

import hashlib

import pytest
from compiler.gcode.write_plans import plan, setup, sweep, work

from flatwise.core.units import quantity
from flatwise.gcode.write import comment, decimal, plain, write
from flatwise.model.shop import Park, Rounded
from flatwise.model.stages import Leg, Setup, Touch, Work
from flatwise.model.words import CodeWord, Whole

FIRST = """\
(flatwise program)
(job tray)
(face first)
(sources d935d3de9e420ba8)
(cutter fly_50 50mm, 2 wings, shank 1/2in)
(lengths in mm, work offset G54)
(zero X Y: front_left corner of the panel, at machine X 80mm Y 60mm)
(zero Z: on the top at X 100.0 Y 50.0: lower the stopped cutter until paper of 0.05mm just drags, set Z 0 there)
(the top there should be 21mm above the bed: touch the bare bed first, then the top)
(stop if the difference is off by more than 0.29mm: survey again, and build again)
(touch off in small steps, and turn the cutter by hand only while the axis rests and the spindle is isolated)
(the wing that drags first hangs lowest: set Z with it)
(set Z anew whenever the cutter was out of the collet, the power was off, or the machine was referenced)
(check: leaves at 1 place as the sheet says)
(check: panel against its dogs, clamps tried by hand, cutter tight and clean in its collet)
(check: bed and paths clear, first run in the air above the work)
(the manuals of machine and cutter, local rules and trained practice come first)
(waived depth: tried on 3 March offcut)
G17 G21 G40 G49 G61 G80 G90 G94
G54
(before starting: jog up until Z is above 41.95)
G0 Z41.95
(stop here: switch the dust extraction on by hand, then continue)
M0
S14000 M3
G4 P5.0
(pass 1 of 2: down to 20.5mm above the bed, bite 0.5mm by the forecast, at most 1mm)
X-31.0 Y20.0
Z-0.55
G1 X231.0 F5600
Y80.0
X-31.0
G0 Z41.95
(finish pass 2 of 2: down to 20.3mm above the bed, bite 0.2mm by the forecast, at most 1mm)
Y20.0
Z-0.75
G1 X231.0
Y80.0
X-31.0
G0 Z41.95
M5
(the dust extraction is still on: switch it off by hand)
M30
"""
SECOND_IN_INCHES = """\
(flatwise program)
(job tray)
(face second)
(sources d935d3de9e420ba8)
(cutter fly_50 50mm, 2 wings, shank 1/2in)
(lengths in in, work offset G54)
(zero X Y: front_left corner of the panel, at machine X 3.1496in Y 2.3622in)
(zero Z: on the top at X 3.937 Y 1.9685: lower the stopped cutter until paper of 0.002in just drags, set Z 0 there)
(the top there should be 0.7992in above the bed: touch the bare bed first, then the top)
(stop if the difference is off by more than 0.0114in: measure, write after first into the job, and build again)
(touch off in small steps, and turn the cutter by hand only while the axis rests and the spindle is isolated)
(the wing that drags first hangs lowest: set Z with it)
(set Z anew whenever the cutter was out of the collet, the power was off, or the machine was referenced)
(check: no leaves under the panel)
(check: panel against its dogs, clamps tried by hand, cutter tight and clean in its collet)
(check: bed and paths clear, first run in the air above the work)
(the manuals of machine and cutter, local rules and trained practice come first)
G17 G20 G40 G49 G61 G80 G90 G94
G54
(before starting: jog up until Z is above 1.6791)
G0 Z1.6791
(stop here: switch the dust extraction on by hand, then continue)
M0
S14000 M3
G4 P5.0
(pass 1 of 2: down to 0.7795in above the bed, bite 0.0197in by the forecast, at most 0.0394in)
X-1.2205 Y0.7874
Z-0.0217
G1 X9.0945 F220.4724
Y3.1496
X-1.2205
G0 Z1.6791
(finish pass 2 of 2: down to 0.7717in above the bed, bite 0.0079in by the forecast, at most 0.0394in)
Y0.7874
Z-0.0295
G1 X9.0945
Y3.1496
X-1.2205
G0 Z1.6791
M5
(the dust extraction is still on: switch it off by hand)
M30
"""


def program(of: Work | None = None, one: Setup | None = None) -> str:
    whole = plan(of)
    return write(whole, one or whole.setups[0]).decode("ascii")


def test_the_whole_program_of_a_first_face() -> None:
    assert program(work(waivers={"depth": "tried on 3 March (offcut)"})) == FIRST
    digest = hashlib.sha256(f"{'ab' * 32} jobs/tray.flat\n{'cd' * 32} shared/shop.flat\n".encode()).hexdigest()
    assert f"(sources {digest[:16]})" in FIRST


def test_the_whole_program_of_a_second_face_in_inches() -> None:
    whole = plan(work(units="in", extraction="by hand"))
    assert write(whole, whole.setups[1]).decode("ascii") == SECOND_IN_INCHES


def test_a_wired_extraction_a_top_and_a_park_position() -> None:
    of = work(
        extraction=CodeWord("M7"),
        top=quantity("-1", "mm"),
        park=Park(x=quantity("5", "mm"), y=quantity("395", "mm")),
        ending=CodeWord("M2"),
        spin_up=quantity("2.5", "s"),
    )
    lines = program(of).splitlines()
    start = lines.index("G54")
    assert lines[start : start + 6] == ["G54", "G53 G0 Z-1.0", "S14000 M3", "M7", "G4 P2.5", "G0 Z41.95"]
    assert lines[-7:] == ["G0 Z41.95", "G53 G0 Z-1.0", "M5", "G4 P2.5", "M9", "G53 G0 X5.0 Y395.0", "M2"]


@pytest.mark.parametrize(
    ("spin_up", "unit", "written"),
    [
        ("2.5", "milliseconds", "P2500"),
        ("2.0004", "milliseconds", "P2001"),
        ("0.001", "milliseconds", "P1"),
        ("0.339201", "seconds", "P0.34"),
        ("2.0004", "seconds", "P2.001"),
        ("0.001", "seconds", "P0.001"),
    ],
)
def test_a_dwell_is_never_shorter_than_the_spindle_needs(spin_up: str, unit: str, written: str) -> None:
    of = work(dwell=unit, spin_up=quantity(spin_up, "s"))
    assert f"G4 {written}" in program(of).splitlines()


@pytest.mark.parametrize(
    ("touch", "says"),
    [
        (
            Touch("top", 100.0, 50.0, 21.0, 20.98, 0.15, 0.0),
            "on the top at X 100.0 Y 50.0: lower the stopped cutter until it just touches",
        ),
        (
            Touch("bed", -60.0, 50.0, 0.0, 0.0, 0.0, 0.1),
            "on the bed beside the panel at X -60.0 Y 50.0: lower the stopped cutter until paper of 0.1mm just drags",
        ),
    ],
)
def test_where_the_height_is_set(touch: Touch, says: str) -> None:
    text = program(one=setup()._replace(touch=touch))
    assert f"(zero Z: {says}, set Z 0 there)" in text.splitlines()
    assert ("the top there should be" in text) == (touch.on == "top")
    assert f"\nG0 Z{decimal(63.0 - touch.zero, 3)}\n" in text


def test_leaves_are_counted_by_place() -> None:
    (shim,) = setup().shims
    two = setup()._replace(shims=(shim, shim._replace(place="front"), shim._replace(place="back", leaves=())))
    assert "(check: leaves at 2 places as the sheet says)" in program(one=two)


@pytest.mark.parametrize(
    ("feed", "mm", "inch"),
    [(5600.0, "F5600", "F220.4724"), (5599.9999, "F5599.999", "F220.4724"), (1234.5678, "F1234.567", "F48.605")],
)
def test_the_feed_is_never_above_the_plan(feed: float, mm: str, inch: str) -> None:
    one = setup()._replace(feed=feed)
    assert f" {mm}\n" in program(one=one) and f" {inch}\n" in program(work(units="in"), one)


def test_a_move_to_where_the_cutter_is_stays_unwritten_and_modes_are_kept() -> None:
    path = (
        Leg(True, -31.0, 20.0, 63.0),
        Leg(True, -31.0, 20.0, 63.0004),  # less than half a digit
        Leg(True, -31.0, 20.0, 20.5),
        Leg(False, 231.0, 20.0, 20.5),
        Leg(False, 231.0, 20.0, 20.5),
        Leg(True, 231.0, 20.0, 63.0),
    )
    made = setup()
    lines = program(one=made._replace(passes=(made.passes[0]._replace(path=path),))).splitlines()
    at = next(i for i, line in enumerate(lines) if line.startswith("(pass 1 of 1"))
    assert lines[at + 1 : at + 6] == ["X-31.0 Y20.0", "Z-0.55", "G1 X231.0 F5600", "G0 Z41.95", "M5"]


def test_a_rapid_that_goes_down_sideways_is_no_plan() -> None:
    made = setup()
    for leg in (Leg(True, 0.0, 20.0, 50.0), Leg(True, -31.0, 0.0, 50.0)):
        path = (Leg(True, -31.0, 20.0, 63.0), leg)
        with pytest.raises(ValueError, match="changes Z together with X or Y"):
            program(one=made._replace(passes=(made.passes[0]._replace(path=path),)))


def test_f_is_written_where_the_way_down_or_along_changes_it() -> None:
    from flatwise.gcode.write import Moves
    from flatwise.model.shop import Controller

    moves = Moves(Controller(), (0.0, 0.0), 0.0, 60.0, 5600.0, 1400.0)
    moves.lift()
    ways = [(True, 0, 60), (False, 0, 20), (False, 50, 20), (False, 90, 18), (False, 90, 30), (False, 90, 20)]
    written = [line for rapid, x, z in ways for line in moves.go(rapid, float(x), 0.0, float(z))]
    # straight down at the z feed; on a ramp and up at the feed
    assert written[1:] == ["G1 Z20.0 F1400", "X50.0 F5600", "X90.0 Z18.0", "Z30.0", "Z20.0 F1400"]


@pytest.mark.parametrize(
    ("limit", "lines"),
    # `G1 X231.0 F5600` has 15 characters
    [(15, ["G1 X231.0 F5600"]), (14, ["F5600", "G1 X231.0"]), (8, ["F5600", "G1X231.0"])],
)
def test_short_lines_give_the_feed_its_own(limit: int, lines: list[str]) -> None:
    from flatwise.gcode.write import Moves
    from flatwise.model.shop import Controller

    made = setup()
    controller = Controller().model_copy(update={"line": Whole(limit)})
    moves = Moves(controller, made.origin, made.touch.zero, made.lift, made.feed, 900.0)
    moves.lift()
    moves.go(True, -31.0, 20.0, 63.0)
    moves.go(True, -31.0, 20.0, 20.5)
    assert moves.go(False, 231.0, 20.0, 20.5) == lines


@pytest.mark.parametrize(
    ("value", "places", "text", "bare"),
    [
        (0.0, 3, "0.0", "0"),
        (-0.0004, 3, "0.0", "0"),
        (-0.0006, 3, "-0.001", "-0.001"),
        (12.0, 3, "12.0", "12"),
        (12.34, 3, "12.34", "12.34"),
        (-12.3456, 3, "-12.346", "-12.346"),
        (7.0, 0, "7.0", "7"),
        (1e-7, 4, "0.0", "0"),
        (120.0, 2, "120.0", "120"),
        (123456.789, 2, "123456.79", "123456.79"),
    ],
)
def test_numbers(value: float, places: int, text: str, bare: str) -> None:
    assert decimal(value, places) == text and decimal(value, places, point=False) == bare


@pytest.mark.parametrize(
    ("text", "line", "lines"),
    [
        ("", 20, ["()"]),
        ("abc def", 9, ["(abc def)"]),
        ("abc def", 8, ["(abc)", "(+ def)"]),
        ("abcdefghij", 10, ["(abcdefgh)", "(+ ij)"]),
        ("ab abcdefghijkl", 10, ["(ab)", "(+ abcdef)", "(+ ghijkl)"]),
        ("abcdefgh ij", 10, ["(abcdefgh)", "(+ ij)"]),
    ],
)
def test_comments_are_folded_at_words(text: str, line: int, lines: list[str]) -> None:
    assert comment(text, line) == lines


def test_what_a_comment_holds() -> None:
    assert plain("Café (49 %) ± 0.1 mm; “oak”!") == "Cafe 49 +/- 0.1 mm oak"
    assert plain("a\n\tb") == "a b"


def test_passes_above_the_forecast_are_marked_for_block_delete() -> None:
    """A pass at the forecast's top, 21 mm: two touches are off by 2 × (0.01 + 0.02 + 25 × 0.02/200) mm = 0.065 mm."""
    high = setup()
    one = high._replace(passes=(sweep(21.0, 0.0, 63.0), *high.passes))
    plain, text = program(one=one), program(work(block_delete="yes"), one)
    assert "/" not in "".join(line for line in plain.splitlines() if not line.startswith("("))
    assert program(work(block_delete="yes")) == program()
    added = [line for line in text.splitlines() if line not in plain.splitlines()]
    assert added == [
        "(lines that begin with / are pass 1, which cuts only air by the forecast)",
        "(block delete: off unless you measured the face as it lies. On only if Z shows at most -0.065 where the face "
        "is highest, touched in the same way as the zero)",
        "/X-31.0 Y20.0", "/Z-0.05", "/G1 X231.0 F5600", "/Y80.0", "/X-31.0", "/G0 Z41.95",
        "G0 X-31.0 Y20.0",
    ]  # fmt: skip
    # what the marked lines set is said again
    after = text[text.index("(pass 2") :].splitlines()
    assert after[1:4] == ["G0 X-31.0 Y20.0", "Z-0.55", "G1 X231.0 F5600"]
    rounded = program(work(block_delete="yes", corners=Rounded(by=quantity("1", "mm"))), one).splitlines()
    assert [line for line in rounded if line.startswith("/G6")] == ["/G64", "/G61"]
    short = program(work(block_delete="yes", line=Whole(40)), one).splitlines()
    assert max(map(len, short)) <= 40
