"""Measuring programs against the words of the standard, by the tests' own parser, and against what a gauge needs.

Source: Kramer, Proctor, Messina, *The NIST RS274/NGC Interpreter – Version 3*, NISTIR 6556 (2000): words, groups and
numbers as in `test_program_words`; M0 stops the program until the operator goes on (3.6.1); G1 needs a feed (3.5.2,
from memory).  That a dial gauge counts up when it is pressed, and is set to zero pressed half way so that it reads both
ways: common practice, no source.
"""

from __future__ import annotations

import re
from typing import Any

import pytest
from compiler.plan.plans import bumpy, panel_of
from compiler.shop import length_of, machine
from compiler.walks import L, T, W, gauge, program, walk_of, walking
from compiler.works import faces, zero
from outside.test_program_words import judged

from flatwise.core.surface import Surface
from flatwise.gcode.walk_program import write_walk
from flatwise.model.job import Flip
from flatwise.model.measuring import Walk
from flatwise.model.shop import Controller, Park
from flatwise.model.stages import Work
from flatwise.model.words import CodeWord, Whole

PARK = Park(x=length_of("0mm"), y=length_of("1300mm"))
CONTROLLERS: dict[str, dict[str, Any]] = {
    "plain": {},
    "inches": {"units": "in", "ending": CodeWord("M2")},
    "top and park": {"top": length_of("0mm"), "park": PARK, "offset": CodeWord("G57")},
    "short lines": {"line": Whole(40), "extraction": CodeWord("M8")},
    "one decimal": {"decimals": Whole(1), "dwell": "milliseconds"},
}


def made(name: str) -> tuple[Work, Walk]:
    work = walking(machine=machine(controller=Controller(**CONTROLLERS[name])), job={"zero": zero(paper=None)})
    top = bumpy(L, W, T, rough=2.0)
    return work, walk_of(work, panel_of(Surface.flat(L, W, 0.0), top, (0.05, 0.4, 0.05)))


@pytest.mark.parametrize("name", CONTROLLERS)
def test_a_walk_is_made_of_the_standards_words_and_never_starts_the_spindle(name: str) -> None:
    work, walk = made(name)
    controller = work.machine.controller
    lines = judged(write_walk(work, walk), int(controller.line))
    codes = [letter + number for line in lines for letter, number in line]
    assert set(codes) & {"M3", "M4", "M7", "M8", "G4"} == set() and not any(code[0] == "S" for code in codes)
    assert codes[-1] == f"M{int(controller.ending[1:])}" and codes.count("M0") == 1 + len(walk.stops)
    # the checks come before the first move, and every coordinate has its mode
    assert codes.index("M0") < codes.index("G0")
    unit = "G20" if controller.units == "in" else "G21"
    assert codes[:8] == ["G17", unit, "G40", "G49", "G61", "G80", "G90", "G94"]


@pytest.mark.parametrize("name", CONTROLLERS)
def test_the_tip_goes_where_a_gauge_can_read(name: str) -> None:
    """The program carried out by the test's own few lines: where the tip is at each M0, and how it came there."""
    work, walk = made(name)
    unit = 25.4 if work.machine.controller.units == "in" else 1.0
    digit = work.machine.controller.digit
    half, highest = 5.0, walk.may_stand
    at, motion, feed, read = {"X": 0.0, "Y": 0.0, "Z": 1e9}, "", 0.0, []
    for line in judged(write_walk(work, walk), int(work.machine.controller.line)):
        words = dict(line) if len({letter for letter, _ in line}) == len(line) else {}
        codes = {letter + number for letter, number in line}
        if "G53" in codes:
            continue
        motion = next((code for code in ("G0", "G1") if code in codes), motion)
        feed = float(words["F"]) * unit if "F" in words else feed
        to = {axis: float(words[axis]) * unit if axis in words else at[axis] for axis in at}
        if to != at and motion == "G0":
            # sideways at lift height, down to hop above the highest the top may stand, the tip hanging half way down
            if (to["X"], to["Y"]) != (at["X"], at["Y"]):
                assert to["Z"] == at["Z"] and to["Z"] - half >= highest + 50.0 - digit
            elif to["Z"] < at["Z"]:
                assert to["Z"] - half >= highest + 3.0 - digit
        elif to != at:
            assert (to["X"], to["Y"]) == (at["X"], at["Y"]) and to["Z"] < at["Z"]
            assert feed == pytest.approx(8000.0 / 4, abs=0.1)
        at = to
        if "M0" in codes:
            read.append(tuple(at.values()))
    assert len(read) == 16
    for stop, (x, y, z) in zip(walk.stops, read[1:], strict=True):
        assert (x, y, z) == pytest.approx((stop.x, stop.y, stop.expected), abs=digit / 2 + 1e-6)
        # pressed by half its travel where the top stands as forecast, a digit or the far side of a node away
        assert z == pytest.approx(float(walk.top.at(x, y)), abs=digit)


def test_the_first_lines_say_what_the_walk_is_and_what_to_check() -> None:
    work, walk = made("plain")
    lines = program(work, walk)
    head = [line.strip("()") for line in lines[: lines.index("M0")]]
    assert head[:3] == ["flatwise program", "job example", "measure top"]
    assert "gauge dial_10, reach 60mm, travel 10mm, across 58mm" in head
    assert "lengths in mm, work offset G54" in head
    assert "zero X Y: front_left corner of the panel, at machine X 120mm Y 120mm" in head
    (zero_z,) = [line for line in head if line.startswith("zero Z")]
    assert zero_z.startswith("zero Z: on the bed beside the panel at X ") and "pressed 5mm, set Z 0 there" in zero_z
    said = "isolated; gauge is in; shoe is off; free on the bed; no leaves; clamps loose; pressed 5mm"
    for word in said.split("; "):
        assert any(line.startswith("check:") and word in line for line in head), word
    assert [line for line in lines if re.match(r"\(stop \d", line)] == [
        f"(stop {number} of 15: read the dial)" for number in range(1, 16)
    ]


def test_what_a_machine_needs_that_goes_to_its_own_coordinates_or_does_not() -> None:
    for name, said in (("top and park", "referenced since its power"), ("plain", "Z is jogged up until it is above 8")):
        lines = program(*made(name))
        (line,) = [line for line in lines if said in line]
        assert lines.index(line) < lines.index("M0")


def test_turned_over_the_program_says_so() -> None:
    work = walking(job={"faces": faces().model_copy(update={"flip": Flip(edge="short_edge")})})
    lines = program(work, walk_of(work, under=True))
    assert "(measure under)" in lines and "(check: the panel is turned over its short edge)" in lines
    assert not any("turned over" in line for line in program(work, walk_of(work)))


def test_the_same_walk_gives_the_same_bytes_and_a_gauge_in_inches_is_shown_in_inches() -> None:
    work = walking(of=gauge("2 1/2in", "1/2in", "2 1/4in"), machine=machine(controller=Controller(units="in")))
    walk = walk_of(work)
    assert write_walk(work, walk) == write_walk(work, walk_of(work))
    lines = program(work, walk)
    assert "(gauge dial_10, reach 2 1/2in, travel 1/2in, across 2 1/4in)" in lines
    assert any("pressed 0.25in, set Z 0 there" in line for line in lines)
