"""Programs spoiled in all the ways that a hand or a cable can spoil them are refused.

Changes that do no harm are listed with the reason, and must raise no finding.  An oracle judges random changes of
single characters.  It shares nothing with the verifier: it reads moves with a regular expression and takes distances
from sample points to them.
"""

from __future__ import annotations

import random
import re
import shutil
from functools import cache
from pathlib import Path

import numpy as np
import pytest
from compiler.spoiled import (
    ROW,
    Lines,
    Spoil,
    at,
    bed_zero,
    bounds,
    cut_off,
    deeper,
    down_on,
    drop,
    ends_early,
    exchanged,
    feed_late,
    in_last_pass,
    in_wood,
    low_lift,
    lower_lift,
    mirrored,
    no_points,
    over_panel,
    shift,
    short_row,
    speed_late,
    spindle_late,
    spindle_stops,
    sub,
    without_pass,
    without_row,
)
from hypothesis import HealthCheck, given
from hypothesis import strategies as st
from hypothesis_profile import NIGHTLY, examples

from flatwise.model.stages import Plan, Setup
from flatwise.verify import verify

ROOT = Path(__file__).resolve().parents[3]


SMALL = """
use "../shared/shop.flat"
use "../shared/sample.flat"

job small from plain_top {
    stock { size 300mm x 220mm x 32mm; wood ash; grain along x }
    hold {
        dog    low_dog   left   at 50%
        dog    low_dog   front  at 25%, 75%
        clamp  side_cam  right  at 50%
        clamp  side_cam  back   at 50%
    }
    faces { first until clean; second to 30.5mm; flip over long_edge }
}
"""


@cache
def programs(path: Path) -> tuple[Plan, tuple[Lines, ...]]:
    """The plan of a job file and its programs as lines."""
    from flatwise.gcode.write import write
    from flatwise.pipeline import read_works, work_out

    plan, _, _ = work_out(read_works([path]).works[0])
    assert plan is not None
    return plan, tuple(write(plan, setup).decode("ascii").splitlines() for setup in plan.setups)


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A small panel with the sample shop."""
    root = tmp_path_factory.mktemp("small")
    shutil.copytree(ROOT / "shared", root / "shared")
    (root / "flatwise.toml").write_text("")
    (root / "jobs").mkdir()
    job = root / "jobs" / "small.flat"
    job.write_text(SMALL, encoding="utf-8")
    return job


@pytest.fixture(
    params=[
        "small, first",
        pytest.param("small, second", marks=pytest.mark.nightly),
        pytest.param("sample, first", marks=pytest.mark.nightly),
    ]
)
def good(request: pytest.FixtureRequest, small: Path) -> tuple[Plan, Setup, Lines]:
    """A good program with its plan and setup."""
    job, face = request.param.split(", ")
    plan, texts = programs(ROOT / "jobs" / "reading_table.flat" if job == "sample" else small)
    index = 0 if face == "first" else 1
    return plan, plan.setups[index], list(texts[index])


def found(lines: Lines, plan: Plan, setup: Setup) -> set[str]:
    return {finding.code for finding in verify(("\n".join(lines) + "\n").encode("latin-1"), plan, setup)[1]}


KINDS: dict[str, tuple[Spoil, set[str]]] = {
    "second pass deeper by 0.05 mm": (deeper(-0.05, 1), {"FW902"}),
    "last pass deeper by 0.05 mm": (deeper(-0.05, -1), {"FW902"}),
    "last pass higher by 0.01 mm": (deeper(0.01, -1), {"FW904"}),
    "everything deeper by 0.3 mm": (shift("Z", -0.3), {"FW902"}),
    "everything higher by 0.3 mm": (shift("Z", 0.3), {"FW904"}),
    "heights from the bed": (bed_zero, {"FW902", "FW904"}),
    "a row left out of the last pass": (without_row, {"FW904"}),
    "rows of the last pass too short": (short_row, {"FW904"}),
    "all rows 40 mm toward the back": (shift("Y", 40.0), {"FW904"}),
    "all rows 60 mm to the right": (shift("X", 60.0), {"FW903", "FW904"}),
    "rapid for feed": (sub("^G1 ", "G0 "), {"FW903"}),
    "rapid for feed in the last pass": (sub("^G1 ", "G0 ", -1), {"FW903"}),
    "inches for millimetres": (sub("G21", "G20"), {"FW902"}),
    "units not set": (sub("G21 ", ""), {"FW902"}),
    "relative for absolute": (sub("G90", "G91"), {"FW902", "FW903", "FW904"}),
    "relative left on in the middle": (sub(ROW, "G91 X-3", 6), {"FW902", "FW903", "FW904"}),
    "inverse time for feed a minute": (sub("G94", "G93"), {"FW902", "FW903"}),
    "radius and length left to chance": (sub("G40 G49 ", ""), {"FW902"}),
    "corners left to chance": (sub("G61 ", ""), {"FW902"}),
    "another work offset": (sub("^G57$", "G54"), {"FW902"}),
    "no work offset": (drop("^G57$"), {"FW902"}),
    "offset without its plane": (drop("^G17"), {"FW902"}),
    "spindle not started": (drop(" M3$"), {"FW903"}),
    "spindle started late": (spindle_late, {"FW903"}),
    "spindle backward": (sub("M3$", "M4"), {"FW903"}),
    "spindle stopped before the last pass": (spindle_stops, {"FW903"}),
    "another speed": (sub(r"S(\d+)0 M3", r"S\1 M3"), {"FW902"}),
    "a speed beyond the cutter's": (sub(r"S\d+", "S24000"), {"FW902"}),
    "no speed": (sub(r"S\d+ ", ""), {"FW902", "FW903"}),
    "no dwell": (drop("^G4"), {"FW903"}),
    "dwell in another unit": (sub(r"^G4 P\d\.0", "G4 P0.004"), {"FW903"}),
    "no feed": (sub(r" F[\d.]+", ""), {"FW903"}),
    "feed with a digit more": (sub(r" F(\d+)", r" F\g<1>0"), {"FW902"}),
    "feed with a digit less": (sub(r" F(\d+)\d", r" F\1", 1), {"FW902"}),
    "extraction off": (drop("^M8$"), {"FW902"}),
    "first pass left out": (without_pass(0), {"FW902"}),
    "last pass left out": (without_pass(-1), {"FW904"}),
    "the pass before the last left out": (without_pass(-2), {"FW902"}),
    "lifts lower than the clamps": (low_lift, {"FW902", "FW903"}),
    "X mirrored": (mirrored("X"), {"FW904"}),
    "Y mirrored": (mirrored("Y"), {"FW904"}),
    "X and Y exchanged": (exchanged, {"FW904"}),
    "decimal points lost": (no_points, {"FW902"}),
    "a decimal point lost in X": (sub(r"^(X\d+)\.0$", r"\g<1>0", -1), {"FW902"}),
    "a digit lost in Y": (sub(r"^Y(\d)\d(\d\.)", r"Y\1\2", -1), {"FW904"}),
    "a minus lost in Z": (sub(r"^G1 Z-", "G1 Z", -1), {"FW904"}),
    "ends in the middle of a line": (cut_off, {"FW901"}),
    "ends before its ending": (drop("^M30$"), {"FW901"}),
    "ends in the middle of the last pass": (ends_early, {"FW904"}),
    "a comment not closed": (sub(r"^(\(face.*)\)$", r"\1"), {"FW901"}),
    "a comment opened before the moves": (sub(ROW, r"(\g<0>", 5), {"FW901"}),
    "an arc for a line": (sub("^G1 ", "G2 "), {"FW901"}),
    "a word twice": (sub(ROW, r"X1. \g<0>", 5), {"FW901"}),
    "two codes of a group": (sub("^G1 ", "G1 G0 "), {"FW901"}),
    "an exponent": (sub(r"^(X\d+)\.0$", r"\1E0"), {"FW901"}),
    "a line that a switch may skip": (sub(ROW, r"/\g<0>", 5), {"FW902"}),
    "a byte with its top bit set": (sub(r"^X", "\xd8", 5), {"FW901"}),
    "a letter of another alphabet of words": (sub("^Y", "U", 2), {"FW901"}),
    "a tool change": (sub("^M8$", "M6"), {"FW901"}),
    "a `%` that is not closed": (lambda lines, setup: ["%", *lines], {"FW901"}),
    "parking outside the travel": (sub("Y1300.0", "Y1400.0"), {"FW902"}),
    "parking in the work offset": (sub("^G53 G0 X", "G0 X", -1), {"FW902"}),
    "parking with the spindle turning": (drop("^M5$"), {"FW902"}),
    "parking before the spindle has stopped": (drop("^G4", -1), {"FW902"}),
    "parking after a dwell that is too short": (sub(r"^G4 P\d", "G4 P1", -1), {"FW902"}),
    "parking after a dwell with the spindle turning": (
        lambda lines, setup: drop("^G4", -1)(sub("^M5$", "G4 P9.0\nM5")(lines, setup), setup), {"FW902"}),
    "parking lower than the top": (drop("^G53 G0 Z", -1), {"FW902"}),
    "up at the start in the work offset": (sub("^G53 G0 Z", "G0 Z"), {"FW902", "FW903"}),
    "M5 before the lift": (in_wood("M5", "G0 Z40.0"), {"FW903"}),
    "stopped and started again in wood": (in_wood("M5", "M3", "G4 P5.0"), {"FW903"}),
    "ended in wood": (in_wood("M30"), {"FW903"}),
    "a stop for the operator with the cutter turning": (in_last_pass("M0"), {"FW903"}),
    "an optional stop with the cutter turning": (in_last_pass("M1"), {"FW903"}),
    "a dwell on the wood with the cutter turning": (in_wood("G4 P2.0"), {"FW902"}),
    "a feed that comes a line late": (feed_late, {"FW901", "FW903"}),  # the first move at feed has none then
    "a speed that is not dwelt for": (speed_late, {"FW903"}),
    "down at rapid onto a clamp": (down_on("clamp", "G0"), {"FW903"}),
    "down at feed onto a dog": (down_on("dog", "G1"), {"FW903"}),
    "down in machine coordinates": (sub("^G53 G0 Z0.0", "G53 G0 Z-145.0"), {"FW902", "FW903"}),
    "down in machine coordinates before parking": (sub("^G53 G0 Z0.0", "G53 G0 Z-145.0", -1), {"FW902", "FW903"}),
    "up in machine coordinates with the wrong sign": (sub("^G53 G0 Z0.0", "G53 G0 Z1.0"), {"FW902"}),
    "inches for a while": (in_last_pass("G20", "G21"), {"FW902"}),
    "another offset for a while": (in_last_pass("G54", "G57"), {"FW902"}),
    "a new zero": (in_last_pass("G92 Z0"), {"FW901"}),
    "an offset that is written": (in_last_pass("G10 L2 P2 Z-1"), {"FW901"}),
    "tool length on": (in_last_pass("G43 H1"), {"FW901"}),
    "rounded corners": (in_last_pass("G64"), {"FW902"}),
    "home": (in_last_pass("G28 Z0"), {"FW901"}),
    "an arc by its radius": (in_last_pass("G3 X0 Y0 R200"), {"FW901"}),
    "another tool chosen": (sub(" M3$", " M3 T2"), {"FW901"}),
    "a line end inside a comment": (sub("^G57$", "(zero\rG0 Z-90)\nG57"), {"FW901"}),
    "a control character in a comment": (sub("^G57$", "(zero\x18)\nG57"), {"FW901"}),
    "a line number of six digits": (in_last_pass("N100000 G80 G0 Z40"), {"FW901"}),
    "a line that is too long": (in_last_pass(f"({'a' * 255})"), {"FW901"}),
    "a line of too many blanks": (in_last_pass(" " * 257), {"FW901"}),
    "another job's header": (sub(r"^\(job .*", "(job other_bench)"), {"FW902"}),
    "another face in the header": (sub(r"^\(face .*", "(face third)"), {"FW902"}),
    "another cutter in the header": (sub(r"^\(cutter \w+", "(cutter fly_50"), {"FW902"}),
    "another diameter in the header": (sub(r"^(\(cutter \w+) [^,]+", r"\1 99mm"), {"FW902"}),
    "another unit in the header": (sub(r"^\(lengths in \w+", "(lengths in m"), {"FW902"}),
    "another work offset in the header": (sub(r"work offset [^)]+", "work offset G59.2"), {"FW902"}),
    "another corner in the header": (sub(r"^\(zero X Y: \w+", "(zero X Y: middle"), {"FW902"}),
    "the corner elsewhere on the bed in the header": (sub(r"(at machine X -?\d+)", r"\g<1>5"), {"FW902"}),
    "touched on something else in the header": (sub(r"^(\(zero Z: on the) \w+", r"\1 clamp"), {"FW902"}),
    "touched elsewhere in the header": (sub(r"^(\(zero Z: .* at X -?)(\d)", r"\g<1>1\2"), {"FW902"}),
    "another paper in the header": (sub(r"until (paper of \d|it)", r"until paper of 7mm just \1"), {"FW902"}),
    "lifts that clear everything, but lower than the machine's lift": (lower_lift, {"FW902"}),
    "straight down over the panel to half a millimetre": (over_panel("G0 z+20", "G1 z+0.5 F500"), {"FW902"}),
    "straight down into the panel": (over_panel("G0 z+20", "G1 z-0.1 F500"), {"FW903"}),
    "a rapid down over the panel, lower than the hop": (over_panel("G0 z+2.5"), {"FW902"}),
    "a ramp of 1 in 15 over the panel": (over_panel("G0 z+3.5", "G1 x+45 z+0.5 F2000"), {"FW902"}),
    "a ramp of 1 in 20 into the panel": (over_panel("G0 z+3.5", "G1 x+80 z-0.5 F2000"), {"FW903"}),
    "a rapid down to the plane": (sub(r"^G1 (Z\S+) F[\d.]+$", r"G0 \1"), {"FW902"}),
    "Z down at the cutting feed": (sub(r"^(G1 Z\S+) F[\d.]+$", r"\1 F7000"), {"FW902"}),
    "a move after the ending": (lambda lines, setup: [*lines, "G0 X9999"], {"FW902"}),
    "the spindle after the ending": (lambda lines, setup: ["%", *lines, "(again)", "S14000 M3", "%"], {"FW902"}),
}  # fmt: skip

#: Changes that make no difference to the wood or to anything in the way, and why.
HARMLESS: dict[str, tuple[Spoil, str]] = {
    "a dwell at the end of a row": (in_last_pass("G4 P2.0"), "the cutter has left the wood"),
    "a stop at the operator's wish, spindle off, at lift height": (
        sub("^M9$", "M9\nM1"), "the cutter stands still and high"),
    "no M5 and no parking": (
        lambda lines, setup: drop("^M5$")(drop("^G53 G0 X", -1)(lines, setup), setup),
        "M30 stops the spindle (NISTIR 6556, 3.6.1)"),
    "no M9": (drop("^M9$"), "M30 stops it too, and extraction that keeps running does no harm"),
    "no retract between passes": (
        drop(r"^G0 Z(49|50)", 1), "the next Z word then rises at feed beside the panel, where the row ended"),
    "down over the panel to a hop, and on by a ramp in the air": (
        over_panel("G0 z+20", "G1 z+3.5 F500", "G1 x+60 z+0.6 F2000"), "that is how a cutter comes down there"),
    "no G80": (sub("G80 ", ""), "G0 and G1 are written before the first axis word"),
    "no G17": (sub("G17 ", ""), "the plane only matters to arcs, and there are none"),
    "small letters": (lambda lines, setup: [line.lower() for line in lines], "case does not count (3.3)"),
    "line numbers": (lambda lines, setup: [f"N{i} {line}" for i, line in enumerate(lines)], "N does nothing (3.3.1)"),
    "no blanks": (lambda lines, setup: [line if "(" in line else line.replace(" ", "") for line in lines],
                  "blanks do not count (3.3)"),
    "closed in percent signs": (lambda lines, setup: ["%", *lines, "%"], "the standard allows it (3.1)"),
    "a comment after the ending": (lambda lines, setup: [*lines, "", "(made by hand)"], "nothing is executed (3.6.1)"),
    "no parking": (drop("^G53 G0 X", -1), "the cutter stays up where it is"),
}  # fmt: skip


def test_the_programs_are_good(good: tuple[Plan, Setup, Lines]) -> None:
    plan, setup, lines = good
    assert found(lines, plan, setup) == set()


@pytest.mark.parametrize("kind", list(KINDS)[:: 1 if NIGHTLY else 2])
def test_it_is_caught(kind: str, good: tuple[Plan, Setup, Lines]) -> None:
    plan, setup, lines = good
    spoil, expected = KINDS[kind]
    spoiled = spoil(lines, setup)
    assert spoiled != lines
    codes = found(spoiled, plan, setup)
    # one of the codes that name it; more may follow from it
    assert codes & expected, codes


@pytest.mark.parametrize("kind", HARMLESS)
def test_harmless_changes_pass(kind: str, good: tuple[Plan, Setup, Lines]) -> None:
    plan, setup, lines = good
    spoil, why = HARMLESS[kind]
    spoiled = spoil(lines, setup)
    assert spoiled != lines and why
    assert found(spoiled, plan, setup) == set()


def in_rounds(change: Spoil) -> Spoil:
    """Change the lines of the first pass's rounds, of four sides each; the first has a feed."""

    def spoil(lines: Lines, setup: Setup) -> Lines:
        start = at(lines, r"^X\S+ F\d+$")
        assert setup.passes[0].rounds == 2
        return [*lines[:start], *change(lines[start : start + 8], setup), *lines[start + 8 :]]

    return spoil


@pytest.mark.parametrize(
    ("change", "expected"),
    [
        pytest.param(lambda lines, setup: lines[:4], "FW902", id="a round left out"),
        # 77 mm inside the first round, with a cutter of 64 mm
        pytest.param(shift("Y", -50.0, slice(1, 2)), "FW902", id="a round too far inside"),
        pytest.param(lambda lines, setup: [*lines[:4], "G0 " + lines[4], *lines[5:]], "FW903", id="rapid in a round"),
        pytest.param(lambda lines, setup: ["Z-0.3", *lines], "FW902", id="a round too deep"),
    ],
)
def test_a_fault_in_rounds_is_caught(change: Spoil, expected: str, small: Path) -> None:
    plan, (lines, _) = programs(small)
    assert expected in found(in_rounds(change)(list(lines), plan.setups[0]), plan, plan.setups[0])


def test_other_sources_are_a_warning(small: Path) -> None:
    plan, (lines, _) = programs(small)
    spoiled = sub(r"^\(sources \w+", "(sources 0123456789abcdef")(list(lines), plan.setups[0])
    (one,) = verify("\n".join(spoiled).encode(), plan, plan.setups[0])[1]
    assert (one.code, one.severity) == ("FW902", "warning") and "0123456789abcdef" in one.message
    assert one.span is not None and "\n".join(spoiled)[one.span.start : one.span.end] == "(sources 0123456789abcdef)"


def test_only_what_differs_in_the_header_is_shown_at_its_place(small: Path) -> None:
    plan, (lines, _) = programs(small)
    spoiled = sub(r"^(\(zero Z: .* Y )([\d.]+)", r"\g<1>7.5")(list(lines), plan.setups[0])
    (one,) = verify("\n".join(spoiled).encode(), plan, plan.setups[0])[1]
    touched = plan.setups[0].touch.y
    assert one.message == f"The header says that the touched place's Y is 7.5, but the job has {touched:.6g}."
    assert one.span is not None and "\n".join(spoiled)[one.span.start :].startswith("(zero Z: on the top")


def test_faces_swapped(small: Path) -> None:
    plan, (lines, others) = programs(small)
    first, second = plan.setups
    assert "FW902" in found(others, plan, first) and "FW902" in found(lines, plan, second)
    # with a wrong header as well, the wood shows it
    disguised = [line.replace("(face second)", "(face first)") for line in others]
    assert found(disguised, plan, first)


# -- single characters, against an oracle --------------------------------------------------------------------------


def read_moves(lines: Lines, setup: Setup) -> list[tuple[bool, np.ndarray, np.ndarray]] | None:
    """(rapid, from, to) of every move in the work offset, setup frame; None where a line is not plain."""
    here = np.array([np.nan, np.nan, np.nan])
    moves = []
    motion = None
    for line in lines:
        if line.startswith("("):
            continue
        if not re.fullmatch(r"( ?[GMXYZFSP]-?(\d+\.?\d*|\.\d+))+", line):
            return None
        if line.startswith("G53"):
            here = here.copy()
            here[2] = 122.0
            continue
        code = re.search(r"\bG([01])\b", line)
        motion = int(code[1]) if code else motion
        words = {axis: float(value) for axis, value in re.findall(r"([XYZ])(-?[\d.]+)", line)}
        if not words:
            continue
        there = here.copy()
        for axis, value in words.items():
            k = "XYZ".index(axis)
            there[k] = value + (setup.origin[0], setup.origin[1], setup.touch.zero)[k]
        moves.append((motion == 0, here, there))
        here = there
    return moves


def oracle(lines: Lines, setup: Setup) -> str:
    """What is clearly wrong with a program at sample points 10 mm apart, in a word or two; "" for nothing."""
    moves = read_moves(lines, setup)
    if moves is None:
        return "not plain"
    radius, top = 32.0, setup.top
    x, y = np.meshgrid(np.linspace(0, top.length, 31), np.linspace(0, top.width, 23))
    wood = top.at(x, y)
    for rapid, a, b in moves:
        if np.isnan(a[:2]).any() or np.isnan(b).any():
            continue
        low = min(a[2], b[2])
        if low < setup.plane - 0.02:
            return "below the plane"
        way = b[:2] - a[:2]
        far = float(way @ way)
        t = np.clip(((x - a[0]) * way[0] + (y - a[1]) * way[1]) / far, 0, 1) if far else np.zeros_like(x)
        away = np.hypot(x - a[0] - t * way[0], y - a[1] - t * way[1])
        under = away < radius - 0.05
        if (under & (wood - low > 0.52)).any():
            return "too deep"
        if rapid and far and (under & (wood - low > 0.02)).any():
            return "rapid in wood"
        if not far and b[2] < a[2] and (under & (wood > b[2] + 0.02)).any():
            return "plunge"
        if far and a[2] == b[2]:
            # a corner left by less than a hair is no wood that is clearly left
            wood = np.where(away < radius + 0.05, np.minimum(wood, b[2]), wood)
        for thing in setup.holders:
            if low < thing.height + 1.9 and far:
                u = np.linspace(0, 1, 200)[:, None]
                path = a[:2] + u * way
                gap = np.maximum(np.maximum([thing.x0, thing.y0] - path, path - [thing.x1, thing.y1]), 0)
                if (np.hypot(gap[:, 0], gap[:, 1]) < radius - 3).any():
                    return "holder"
    return "left" if (wood > setup.plane + 0.02).any() else ""


@pytest.mark.parametrize("face", [0, 1], ids=["first", "second"])
def test_random_changes_of_one_character(face: int, small: Path) -> None:
    plan, texts = programs(small)
    setup, lines = plan.setups[face], texts[face]
    assert oracle(list(lines), setup) == ""
    chance = random.Random(20 + face)
    first, _ = bounds(list(lines), 0)
    wrong = 0
    while wrong < (400 if NIGHTLY else 5):
        i = chance.randrange(first, len(lines) - 6)
        if lines[i].startswith("("):
            continue
        k = chance.randrange(len(lines[i]))
        letter = chance.choice("0123456789.-XYZ ")
        spoiled = [*lines[:i], lines[i][:k] + letter + lines[i][k + 1 :], *lines[i + 1 :]]
        verdict = oracle(spoiled, setup)
        if verdict in ("", "not plain"):
            continue
        wrong += 1
        codes = found(spoiled, plan, setup)
        assert codes, (verdict, lines[i], spoiled[i])


PIECES = st.sampled_from(
    [
        b"G0",
        b"G1 X",
        b"Z-",
        b"(",
        b")",
        b"\n",
        b"%",
        b"G91",
        b"M3",
        b"F",
        b"S",
        b".",
        b"-",
        b"#",
        b"\xff",
        b"\r",
        b"9" * 9,
        b"/",
    ]
)


@examples(10, suppress=[HealthCheck.function_scoped_fixture])
@given(st.lists(st.tuples(st.floats(0.0, 1.0), PIECES, st.integers(0, 12)), min_size=1, max_size=6))
def test_no_bytes_make_it_raise(small: Path, cuts: list[tuple[float, bytes, int]]) -> None:
    plan, texts = programs(small)
    program = "\n".join(texts[0]).encode("ascii")
    for share, piece, gone in cuts:
        i = int(share * len(program))
        program = program[:i] + piece + program[i + gone :]
    proof, findings = verify(program, plan, plan.setups[0])
    assert proof.program_moves >= 0
    for finding in findings:
        assert finding.code.startswith("FW90") and finding.message and finding.help
        span = finding.span
        assert span is None or 0 <= span.start <= span.end <= len(program)
