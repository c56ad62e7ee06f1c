"""The proof of measuring programs: sound ones pass, and each way of spoiling one is found and named."""

from __future__ import annotations

import re
from collections.abc import Callable
from math import sqrt

import numpy as np
import pytest
from compiler.plan.plans import panel_of
from compiler.shop import dog, holders, length_of, machine
from compiler.walks import L, T, W, bare_panel, gauge, program, walk_of, walking

from flatwise.core.finding import Finding, Findings
from flatwise.core.surface import Surface
from flatwise.model.measuring import Walk
from flatwise.model.shop import Controller
from flatwise.model.stages import Work
from flatwise.verify import verify_walk

Spoil = Callable[[list[str]], list[str]]


def proof(lines: list[str], work: Work, walk: Walk) -> Findings:
    return verify_walk(("\n".join(lines) + "\n").encode(), work, walk, "measure.nc")


def swapped(pattern: str, by: str, count: int = 1) -> Spoil:
    """Replace the first lines that match, which there must be."""

    def spoil(lines: list[str]) -> list[str]:
        text, times = re.subn(pattern, by, "\n".join(lines), count=count, flags=re.MULTILINE)
        assert times
        return text.split("\n")

    return spoil


def test_a_walk_as_planned_is_proven() -> None:
    for work in (
        walking(),
        walking(machine=machine(controller=Controller(units="in", top=length_of("0mm")))),
        walking(2, 50, of=gauge("2 1/2in", "1/2in", "2 1/4in")),
        walking(holders=(dog("left", 250.0, L, W, height=40.0), *holders(L, W)[2:])),
    ):
        for under in (False, True):
            walk = walk_of(work, under=under)
            assert proof(program(work, walk), work, walk) == ()


#: how a program is spoilt, the code that it must get, and a part of the message
SPOILT: list[tuple[str, Spoil, str, str]] = [
    ("M3", swapped(r"^M0$", "S9000 M3\nM0"), "FW901", "M3 has no place in a measuring program"),
    ("M4", swapped(r"^M0$", "M4\nM0"), "FW901", "M4 has no place"),
    ("speed alone", swapped(r"^M0$", "S100\nM0"), "FW901", "S100 has no place"),
    ("extraction", swapped(r"^M0$", "M8\nM0"), "FW901", "M8 has no place"),
    ("mist", swapped(r"^M0$", "M7\nM0"), "FW901", "M7 has no place"),
    ("an arc", swapped(r"^G1 Z32", "G2 X1. Y1. Z32"), "FW901", "G2 is outside"),
    ("a mark", swapped(r"^X", "/X"), "FW902", "marked with `/`, but a measuring program has no lines to skip"),
    ("rapid all the way", swapped(r"^G1 Z32.0.*", "G0 Z32.0"), "FW903", "at rapid with the gauge's tip 27mm above"),
    ("rapid a hair low", swapped(r"^Z46.08$", "Z38.07"), "FW903", "33.07mm above the bed; the top may stand 33.08mm"),
    ("rapid below the hop", swapped(r"^Z46.08$", "Z41.07"), "FW902", "tip is 36.07mm above the bed; the top may stand"),
    ("sideways down", swapped(r"^G1 Z32.0 F2000$", "G1 Z32.0 F2000\nX30.0\nX15.0"), "FW903", "drags the gauge's tip"),
    ("no lift between", swapped(r"^(\(stop 1 .*\nM0\n)G0 Z88.08\n", r"\1"), "FW903", "tip sideways 27mm"),
    ("low crossing", swapped(r"^G0 Z88.08$", "G0 Z70.0", 2), "FW902", "lift of 50mm it must be at least 88.08mm"),
    ("pressed in", swapped(r"^G1 Z32.0 ", "G1 Z27.9 "), "FW903", "may bring the gauge's body 0.179mm into the wood"),
    ("not pressed", swapped(r"^G1 Z32.0 ", "G1 Z33.0 "), "FW902", "but stop 1 is at (15mm, 15mm, 32mm)"),
    ("other place", swapped(r"^X232.5$", "X240.0"), "FW902", "stops at (240mm, 15mm, 32mm), but stop 2"),
    ("a stop left out", swapped(r"^\(stop 3 of 15: read the dial\)\nM0$", ""), "FW902", "stops 14 times for a reading"),
    ("only if switched on", swapped(r"^(\(stop 3 .*\))\nM0$", r"\1\nM1"), "FW902", "stops 14 times"),
    ("no checks", swapped(r"^M0\n", ""), "FW902", "moves before the program has stopped with M0"),
    ("numbers swapped", swapped(r"stop 3 of 15", "stop 4 of 15"), "FW902", "do not number the stops from 1 to 15"),
    ("too fast", swapped(r"F2000", "F2100"), "FW902", "down at 2100mm/min; the machine's maximum on the way"),
    ("no feed", swapped(r" F2000", ""), "FW903", "before a feed F is set"),
    ("beyond the machine", swapped(r"F2000", "F9000"), "FW902", "the machine's maximum is 8000mm/min"),
    ("inches", swapped("G21", "G20"), "FW902", "sets G20"),
    ("rounded corners", swapped(" G61 ", " G64 "), "FW902", "may round its corners (G64)"),
    ("other offset", swapped("^G54$", "G55"), "FW902", "work offset G55"),
    ("off the travel", swapped(r"^X885.0$", "X1285.0"), "FW902", "outside the travel of 0 to 1320mm"),
    ("above the travel", swapped(r"^G0 Z88.08$", "G0 Z120.0"), "FW902", "moves the gauge's tip to 120mm above the bed"),
    ("after the end", swapped(r"^M30$", "M30\nG0 Z0.0"), "FW902", "goes on after its end"),
    ("other gauge", swapped("reach 60mm", "reach 40mm"), "FW902", "the gauge is dial_10, reach 40mm"),
    ("other job", swapped("job example", "job tray"), "FW902", "is for job `tray`"),
    ("other face", swapped("measure top", "measure under"), "FW902", "is for measuring the under"),
    ("other press", swapped("pressed 5mm, set", "pressed 2mm, set"), "FW902", "pressing is 2"),
    ("other zero", swapped(r"at machine X 120mm", "at machine X 90mm"), "FW902", "corner's machine X is 90"),
    ("other sources", swapped(r"\(sources .*\)", "(sources 0123456789abcdef)"), "FW902", "built from sources"),
]  # fmt: skip


@pytest.mark.parametrize(("spoil", "code", "said"), [case[1:] for case in SPOILT], ids=[case[0] for case in SPOILT])
def test_a_spoilt_walk_is_found_out(spoil: Spoil, code: str, said: str) -> None:
    work = walking()
    walk = walk_of(work)
    found = proof(spoil(program(work, walk)), work, walk)
    assert any(each.code == code and said in each.message for each in found), [each.message for each in found]
    severities = {each.severity for each in found}
    assert severities == ({"warning"} if said == "built from sources" else {"error"})


def told(found: Findings, said: str) -> list[Finding]:
    return [each for each in found if said in each.message]


def test_no_holder_is_met_by_the_gauge_or_the_nose() -> None:
    """The program of a walk without holders, on a bed where one stands in its way."""
    bare = walking(holders=())
    lines = program(bare, walk_of(bare))
    low, tall = dog("left", 250.0, L, W, height=30.0), dog("left", 250.0, L, W, height=33.0)
    post = dog("left", 250.0, L, W, height=87.0)
    for holder, of, said in (
        (low, gauge(), ""),
        (tall, gauge(), "brings the gauge into the dog"),
        (post, gauge(across="10mm"), "brings the spindle's nose into the dog"),
    ):
        work = walking(holders=(holder,), of=of)
        # the walk as it was planned without the holder
        walk = walk_of(walking(holders=(), of=of))._replace(lift=200.0)
        given = [line.replace("58mm", str(of.across)) for line in lines]
        found = proof(given, work, walk)
        assert bool(told(found, "dog `low_dog`")) == bool(said)
        assert not said or told(found, said)


def test_the_nose_passes_a_post_by_its_radius() -> None:
    """A dog 90 mm high stands at the left edge; at the stop at (15, 250), the nose is 87 mm above the bed."""
    nose, wide = 63.0, 19.0
    assert float(machine().nose) == nose
    for gap, meets in ((0.01, False), (-0.01, True)):
        # the dog's middle lies 9.5 mm left of the edge
        along = 250.0 + sqrt((nose / 2 + wide / 2 + gap) ** 2 - (15.0 + wide / 2) ** 2)
        work = walking(holders=(dog("left", along, L, W, height=90.0),), of=gauge(across="10mm"))
        walk = walk_of(walking(holders=(), of=gauge(across="10mm")))._replace(lift=200.0)
        assert bool(told(proof(program(work, walk), work, walk), "spindle's nose into the dog")) == meets


def test_coming_down_at_feed_in_two_steps_is_proven() -> None:
    """The first step ends less than a hop above the highest that the top may stand, where no rapid may go."""
    work = walking()
    walk = walk_of(work)
    lines = swapped(r"^G1 Z32.0 F2000$", "G1 Z39.0 F2000\nZ32.0")(program(work, walk))
    assert proof(lines, work, walk) == ()


def test_a_refusal_says_its_column() -> None:
    work = walking()
    walk = walk_of(work)
    (found,) = proof(swapped(r"^M0$", "G4 P1.0 M3\nM0")(program(work, walk)), work, walk)
    assert "column 9 " in found.message and found.message.startswith("Line ")


@pytest.mark.parametrize("axis", "XY")
def test_no_touch_at_a_place_of_which_one_axis_is_unknown(axis: str) -> None:
    work = walking(holders=())
    text = f"G17 G21 G40 G49 G61 G80 G90 G94 G54\nM0\nG53 G0 Z0.0\nG0 {axis}15.0\nG1 Z32.0 F2000\nM30\n"
    found = verify_walk(text.encode(), work, walk_of(work), "measure.nc")
    assert any(each.code == "FW903" and "Line 5" in each.message for each in found)


def test_the_body_keeps_off_a_step_beside_the_point() -> None:
    """Boards that stand 6 mm higher from 20 mm beside the point: the gauge, 58 mm wide, gives way by 5 mm there."""
    xs = np.array([0.0, 35.0, 35.0, L])
    top = Surface(xs, np.array([0.0, W]), np.array([[T, T, T + 6.0, T + 6.0]] * 2))
    work = walking(holders=())
    for across, meets in (("58mm", True), ("30mm", False)):
        work = walking(holders=(), of=gauge(across=across))
        walk = walk_of(work, panel_of(Surface.flat(L, W, 0.0), top, (0.05, 0.1, 0.05)))
        assert bool(told(proof(program(work, walk), work, walk), "gauge's body")) == meets


def test_a_reading_may_not_lie_outside_the_gauges_travel() -> None:
    work = walking(holders=())
    for bound, wrong in ((4.9, False), (4.95, True)):
        walk = walk_of(work, bare_panel(bound=bound))
        assert bool(told(proof(program(work, walk), work, walk), "more than the 5mm that the gauge reads")) == wrong


@pytest.mark.parametrize("off", [0.6, -0.6])
def test_a_stop_too_high_or_too_low_for_its_readings_is_found(off: float) -> None:
    """The gauge reads 5 mm either way; the top may stand 4.4 mm off, and with it the bed 0.08 mm."""
    work = walking(holders=())
    walk = walk_of(work, bare_panel(bound=4.4))
    assert not told(proof(program(work, walk), work, walk), "that the gauge reads")
    stops = tuple(stop._replace(expected=stop.expected + off * (stop.number == 3)) for stop in walk.stops)
    moved = walk._replace(stops=stops)
    (found,) = told(proof(program(work, moved), work, moved), "that the gauge reads")
    assert found.message.startswith("At stop 3 ")


def test_nothing_of_a_program_makes_the_proof_fail() -> None:
    work = walking()
    walk = walk_of(work)
    for text in (b"", b"%\n", b"M30\n", b"\xff\xfe", b"G0 Z10\n", b"M0\nM30\n", b"(stop 1 of 1)\nG1 X1\nM2\n"):
        assert verify_walk(text, work, walk, "measure.nc")
