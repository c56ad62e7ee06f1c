"""Programs against the words of the standard, parsed by a small parser of the test's own.

Source: Kramer, Proctor, Messina, *The NIST RS274/NGC Interpreter – Version 3*, NISTIR 6556 (2000): line length and
comments (3.3, 3.3.4), words and numbers (3.3.2, table 3), repeats (3.3.5), modal groups (table 4), G4 in seconds.
That a dwell may be in milliseconds, and that a coordinate should carry a decimal point: common practice, no source.
"""

from __future__ import annotations

import re

import pytest
from compiler.gcode.write_plans import plan, setup, work
from example_jobs import example, quickly
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise.core.units import quantity
from flatwise.gcode.write import write
from flatwise.model.words import CodeWord, Whole

# table 4 of the standard: the modal groups
GROUPS = {
    "motion": "G0 G1 G2 G3 G38.2 G80 G81 G82 G83 G84 G85 G86 G87 G88 G89",
    "plane": "G17 G18 G19",
    "distance": "G90 G91",
    "feed mode": "G93 G94",
    "units": "G20 G21",
    "radius": "G40 G41 G42",
    "length": "G43 G49",
    "return": "G98 G99",
    "system": "G54 G55 G56 G57 G58 G59 G59.1 G59.2 G59.3",
    "path": "G61 G61.1 G64",
    "non-modal": "G4 G10 G28 G30 G53 G92 G92.1 G92.2 G92.3",
    "stopping": "M0 M1 M2 M30 M60",
    "spindle": "M3 M4 M5",
    "coolant": "M7 M8 M9",
}
GROUP = {code: group for group, codes in GROUPS.items() for code in codes.split()}
# the only codes that this compiler writes
ALLOWED = {
    "G0",
    "G1",
    "G4",
    "G17",
    "G20",
    "G21",
    "G40",
    "G49",
    "G53",
    "G54",
    "G55",
    "G56",
    "G57",
    "G58",
    "G59",
    "G59.1",
    "G59.2",
    "G59.3",
    "G61",
    "G64",
    "G80",
    "G90",
    "G94",
    "M0",
    "M2",
    "M3",
    "M5",
    "M7",
    "M8",
    "M9",
    "M30",
}
WORD = re.compile(r"([A-Z])(-?[0-9]+(?:\.[0-9]+)?)")


def words(line: str) -> list[tuple[str, str]]:
    """The words of a line without its comments; fails on anything that is not a word."""
    bare = re.sub(r"\([^()]*\)", "", line)
    assert "(" not in bare and ")" not in bare, f"a comment nests or stays open: {line!r}"
    assert re.fullmatch(rf"(?:{WORD.pattern}\s*)*", bare), line
    return WORD.findall(bare)


def judged(program: bytes, limit: int) -> list[list[tuple[str, str]]]:
    """The words of every line, each checked against the standard."""
    text = program.decode("ascii")
    assert text.endswith("\n") and "\r" not in text and "\t" not in text
    lines = []
    for line in text.splitlines():
        assert 0 < len(line) <= limit, (len(line), line)
        found = words(line)
        codes = [letter + number for letter, number in found if letter in "GM"]
        assert set(codes) <= ALLOWED, line
        groups = [GROUP[code] for code in codes]
        assert len(groups) == len(set(groups)), f"two of one modal group: {line!r}"
        others = [letter for letter, _ in found if letter not in "GM"]
        assert len(others) == len(set(others)), f"a letter twice: {line!r}"
        assert set(others) <= set("FSXYZP"), line
        assert "-0" not in {number for _, number in found} and "-0.0" not in {number for _, number in found}
        for letter, number in found:
            if letter in "XYZ":
                assert "." in number, f"a coordinate without its point: {line!r}"
        if "G53" in codes:
            assert "G0" in codes or "G1" in codes, "G53 needs G0 or G1 on its line"
        if "G4" in codes:
            assert "P" in others
        if "G0" in codes and not set(others) & set("XYZ"):
            raise AssertionError(f"G0 without an axis: {line!r}")
        lines.append(found)
    return [found for found in lines if found]


def everything(program: bytes, limit: int = 256) -> list[list[tuple[str, str]]]:
    """The words of every line, after checks of the whole program: order, heights, ending."""
    lines = judged(program, limit)
    assert [letter + number for letter, number in lines[-1]] in (["M2"], ["M30"])
    spinning, motion, known = False, "", {}
    for found in lines:
        codes = {letter + number for letter, number in found if letter in "GM"}
        axes = {letter for letter, _ in found if letter in "XYZ"}
        motion = next((code for code in ("G0", "G1") if code in codes), motion)
        if axes and motion == "G0":
            assert axes == {"Z"} or axes <= {"X", "Y"}, "a rapid moves Z alone or X and Y"
        if axes & {"X", "Y"} and "G53" not in codes:
            assert known.get("Z"), "Z goes up before X and Y move"
            assert spinning
        if motion == "G1" and axes:
            assert spinning
            known.setdefault("F", next((number for letter, number in found if letter == "F"), None))
            assert known["F"], "G1 at no feed is an error"
        if "Z" in axes:
            known["Z"] = True
        spinning = "M3" in codes or (spinning and "M5" not in codes)
    assert not spinning
    return lines


def flat(lines: list[list[tuple[str, str]]]) -> list[str]:
    return [" ".join(letter + number for letter, number in found) for found in lines]


OFFSETS = ["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"]


@pytest.mark.parametrize("offset", OFFSETS)
@pytest.mark.parametrize("units", ["mm", "in"])
def test_every_offset_in_both_units(offset: str, units: str) -> None:
    whole = plan(work(units=units, offset=CodeWord(offset), extraction=CodeWord("M8")))
    for each in whole.setups:
        lines = flat(everything(write(whole, each)))
        assert lines[0] == f"G17 G{20 if units == 'in' else 21} G40 G49 G61 G80 G90 G94"
        assert lines[1] == offset
        assert sum(line.startswith("G5") and "G53" not in line for line in lines) == 1


def test_inches_are_millimetres_over_25_4_rounded_once() -> None:
    whole = plan(work(units="in", decimals=Whole(4)))
    lines = flat(everything(write(whole, whole.setups[0])))
    # x 231 mm, y 20 mm, z 20.5 − 21.05 = −0.55 mm; 1 in = 25.4 mm exactly (international inch)
    assert any(line.startswith("G1 X9.0945") for line in lines)  # 231 / 25.4 = 9.09449
    assert any("Y0.7874" in line for line in lines)  # 20 / 25.4 = 0.78740
    assert "Z-0.0217" in lines  # 0.55 / 25.4 = 0.02165
    assert any("F220.4724" in line for line in lines)  # 5600 / 25.4 = 220.47244, never above


@pytest.mark.parametrize("decimals", range(1, 7))
def test_no_coordinate_has_more_decimals_than_the_controller(decimals: int) -> None:
    whole = plan(work(units="in", decimals=Whole(decimals)))
    most = max(
        len(number.partition(".")[2])
        for found in everything(write(whole, whole.setups[0]))
        for letter, number in found
        if letter in "XYZ"
    )
    assert most == decimals


@pytest.mark.parametrize(("unit", "written"), [("seconds", "G4 P2.5"), ("milliseconds", "G4 P2500")])
def test_a_dwell_is_in_the_controllers_unit_and_comes_before_the_wood(unit: str, written: str) -> None:
    whole = plan(work(dwell=unit, spin_up=quantity("2.5", "s")))
    lines = flat(everything(write(whole, whole.setups[0])))
    spun = lines.index("S14000 M3")
    assert spun < lines.index(written) < next(at for at, line in enumerate(lines) if line.startswith("X"))


@pytest.mark.parametrize("code", ["M7", "M8"])
def test_extraction_by_a_code(code: str) -> None:
    whole = plan(work(extraction=CodeWord(code)))
    lines = flat(everything(write(whole, whole.setups[0])))
    assert code in lines and "M9" in lines and "M0" not in lines
    assert lines.index(code) < next(at for at, line in enumerate(lines) if line.startswith("G1 "))


def test_extraction_by_hand_stops_the_program_before_the_spindle_starts() -> None:
    whole = plan(work())
    program = write(whole, whole.setups[0])
    lines = flat(everything(program))
    assert lines.index("M0") < lines.index("S14000 M3")
    assert not {"M7", "M8", "M9"} & set(lines)
    text = program.decode().splitlines()
    assert "extraction" in text[text.index("M0") - 1]


def test_parking_and_top_are_machine_coordinates_each_on_its_line() -> None:
    from flatwise.model.shop import Park

    park = Park(x=quantity("0", "mm"), y=quantity("390", "mm"))
    whole = plan(work(park=park, top=quantity("-1", "mm"), ending=CodeWord("M2")))
    lines = flat(everything(write(whole, whole.setups[0])))
    assert lines[2] == "G53 G0 Z-1.0"
    assert lines[-5:] == ["G53 G0 Z-1.0", "M5", "G4 P5.0", "G53 G0 X0.0 Y390.0", "M2"]


def test_without_a_top_the_program_says_to_jog_and_first_lifts() -> None:
    whole = plan(work())
    program = write(whole, whole.setups[0])
    assert flat(everything(program))[2] == "G0 Z41.95"  # lift 63 − (height 21 + paper 0.05)
    assert "jog up until Z is above 41.95" in program.decode()


@pytest.mark.parametrize(("ending", "written"), [("M30", "M30"), ("M2", "M2"), ("M02", "M2")])
def test_the_ending(ending: str, written: str) -> None:
    whole = plan(work(ending=CodeWord(ending)))
    assert flat(everything(write(whole, whole.setups[0])))[-1] == written


def test_an_unchanged_word_is_not_repeated() -> None:
    whole = plan(work(extraction=CodeWord("M8")))
    state: dict[str, str] = {}
    for found in everything(write(whole, whole.setups[0])):
        for letter, number in found:
            if letter in "XYZFS":
                assert state.get(letter) != number, (letter, number)
                state[letter] = number
            if letter == "G" and number in ("0", "1"):
                assert state.get("motion") != number
                state["motion"] = number


@pytest.mark.parametrize("limit", [40, 60, 80, 256])
def test_no_line_is_longer_than_the_controller_takes(limit: int) -> None:
    whole = plan(work(units="in", decimals=Whole(6), line=Whole(limit), waivers={"depth": "x" * 500 + " and more"}))
    for each in whole.setups:
        everything(write(whole, each), limit)


@pytest.mark.parametrize("job", quickly("study_shelf", "spoilboard"))
def test_the_programs_of_the_example_jobs(job: str) -> None:
    front, made = example(job)
    (one,) = front.works
    assert made.programs
    for name, program in made.programs.items():
        lines = flat(everything(program, int(one.machine.controller.line)))
        assert f"(face {name.removesuffix('.nc')})" in program.decode()
        assert lines[1] == one.machine.controller.offset


ATTACKS = [
    ") G0 Z-50 (",
    ")\nG0 Z-50\n(",
    "\r\nM30\r\n",
    "%\n%",
    "((nested)) (twice)",
    "; G1 X0",
    "\x1b[2J\x00\x18!~?",
    "über 3 µm – “quoted” （全角）",
    "\u2028G0 Z-9\u2029",
    "a" * 1000,
    "face second) (job other",
]


@pytest.mark.parametrize("attack", ATTACKS)
def test_no_text_leaves_its_comment(attack: str) -> None:
    plain = plan(work(waivers={"depth": "why not"}))
    hostile = plan(work(waivers={"depth": attack}))
    assert flat(everything(write(plain, plain.setups[0]))) == flat(everything(write(hostile, hostile.setups[0])))
    header = write(hostile, hostile.setups[0]).decode().splitlines()
    assert [line for line in header if line.startswith(("(face", "(job"))] == ["(job tray)", "(face first)"]


@given(st.text(max_size=120), st.integers(40, 120))
@examples(20, 1600)
def test_any_text_at_any_width_stays_a_comment(reason: str, limit: int) -> None:
    whole = plan(work(line=Whole(limit), waivers={"depth": reason}))
    one = setup()
    everything(write(whole, one._replace(passes=one.passes[:1])), limit)


@given(st.floats(-9000, 9000), st.integers(1, 6))
@examples(40, 4000)
def test_a_number_is_within_half_its_last_digit_and_plain(value: float, places: int) -> None:
    from flatwise.gcode.write import decimal

    text = decimal(value, places)
    assert re.fullmatch(r"-?[0-9]+\.[0-9]{1,6}", text) and not re.fullmatch(r"-0\.0+", text)
    assert abs(float(text) - value) <= 0.5 * 10.0**-places * (1 + 1e-6)
