"""The programs of every example job, spoiled in the same ways as those of the small one, are refused.

A quick run takes every fortieth pair of job and kind, and one face of each in turn; FLATWISE_NIGHTLY=1 runs all.
Programs in inches are converted to millimetres, spoiled and converted back, so that a kind is the same everywhere.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

import pytest
from compiler.spoiled import Lines, bounds
from compiler.verify.test_verify_mutations import HARMLESS, KINDS, found, programs
from example_jobs import JOBS, ROOT
from hypothesis_profile import NIGHTLY

from flatwise.model.stages import Plan, Setup

#: of so many pairs of job and kind one is run
EVERY = 1 if NIGHTLY else 15
#: the example jobs of a quick run
FEW = ("reading_table", "study_shelf", "spoilboard")
SPECIAL = ("a row left out of the last pass", "rows of the last pass too short")


def pairs(kinds: object, every: int = EVERY) -> list[tuple[str, str]]:
    named = list(kinds)  # type: ignore[call-overload]
    jobs = JOBS if NIGHTLY else FEW
    return [(job, kind) for j, job in enumerate(jobs) for i, kind in enumerate(named) if (i + j) % every == 0]


#: (job, kind) that makes no difference to the wood or to anything in the way, and why.
EXPLAINED = {
    ("lamp_table", "X and Y exchanged"): "the top is square and so are its margins: the rows run the other way",
    ("spoilboard", "X and Y exchanged"): "the board is square and so are its margins",
    ("lamp_table", "heights from the bed"): "`z bed` without paper: program heights are heights from the bed",
}


#: faults of the first pass; none where it meets wood only if bed and lean lift it
IN_FIRST_PASS = ("rapid for feed", "feed with a digit less", "first pass left out")
OVER_PANEL = "down over the panel to a hop, and on by a ramp in the air"


def explained(job: str, kind: str, plan: Plan, setup: Setup) -> str:
    """Why a kind is not a fault in this program, or "" where it is one."""
    if (job, kind) in EXPLAINED:
        return EXPLAINED[job, kind]
    if kind in (SPECIAL[0], "a digit lost in Y") and 2 * setup.stepover < float(plan.work.cutter.diameter):
        return "the rows are so close that their neighbours cut what one leaves"
    origin, travel = setup.origin_machine, plan.work.machine.travel
    park = plan.work.machine.controller.park
    if kind == "parking in the work offset" and park is not None:
        # the parking position then counts from the corner
        there = [float(at) + zero for at, zero in zip((park.x, park.y), origin, strict=True)]
        if there[0] <= float(travel.x) and there[1] <= float(travel.y):
            return "that position is within the travel too"
    return ""


# -- the same kinds for programs of other forms ---------------------------------------------------------------------


SWAPPED = {"G20": "G21", "G21": "G20", "G57": "G58", "G58": "G57", "M2": "M30", "M30": "M2"}


def converted(lines: Lines, factor: float, decimals: int) -> Lines:
    """A program in inches converted to millimetres, or the other way; its offset and ending are exchanged too."""

    def word(match: re.Match[str]) -> str:
        return f"{match[1]}{float(match[2]) * factor:.{decimals}f}"

    def plain(line: str) -> str:
        line = re.sub(r"\b(G2[01]|G5[78]|M2|M30)\b", lambda m: SWAPPED[m[1]], line)
        return re.sub(r"\b([XYZF])(-?\d+\.?\d*)(?![\d.E])", word, line)

    return [line if line.startswith("(") else plain(line) for line in lines]


def chosen(job: str, kind: str) -> Iterator[tuple[Plan, Setup, Lines]]:
    """The programs of a job that are spoiled in this way, each spoiled: both, or one in a quick run."""
    plan, texts = programs(ROOT / "jobs" / f"{job}.flat")
    turn = (JOBS.index(job) + [*KINDS, *HARMLESS].index(kind)) // EVERY
    for i, (setup, lines) in enumerate(zip(plan.setups, texts, strict=True)):
        made = spoiled(kind, list(lines), plan, setup)
        if made is not None and (NIGHTLY or i == turn % len(texts)):
            yield plan, setup, made


def moves(lines: Lines, first: int, last: int) -> Iterator[tuple[int, float, float]]:
    """(line, x, y) after every line of a stretch."""
    x = y = float("nan")
    for i in range(first, last):
        if not lines[i].startswith("("):
            for axis, value in re.findall(r"([XY])(-?[\d.]+)", lines[i]):
                x, y = (float(value), y) if axis == "X" else (x, float(value))
        yield i, x, y


def along(setup: Setup) -> str:
    """The axis that the rows of the last pass run along."""
    last = setup.passes[-1].path
    run = {"x": 0.0, "y": 0.0}
    for a, b in pairwise(last):
        run["x"] += abs(b.x - a.x)
        run["y"] += abs(b.y - a.y)
    return max(run, key=lambda axis: run[axis])


def row_out(lines: Lines, setup: Setup) -> Lines:
    """Leave out all lines of the last pass that end on one of its middle rows."""
    first, last = bounds(lines, -1)
    rows = setup.passes[-1].rows
    axis = along(setup)
    row = rows[len(rows) // 2] - setup.origin[1 if axis == "x" else 0]
    on = {i for i, x, y in moves(lines, first, last) if abs((y if axis == "x" else x) - row) < 0.02}
    return [line for i, line in enumerate(lines) if i not in on]


def rows_short(lines: Lines, setup: Setup) -> Lines:
    """The last pass turns back 30 mm before the far end of its rows."""
    first, last = bounds(lines, -1)
    axis = along(setup).upper()
    side = setup.top.length if axis == "X" else setup.top.width
    end = side - setup.origin[0 if axis == "X" else 1] - 30.0

    def less(match: re.Match[str]) -> str:
        return f"{axis}{min(float(match[1]), end):.3f}"

    return [re.sub(rf"{axis}(-?[\d.]+)", less, line) if first <= i < last else line for i, line in enumerate(lines)]


def spoiled(kind: str, lines: Lines, plan: Plan, setup: Setup) -> Lines | None:
    """The program with a fault of this kind; None where nothing in it can have it."""
    if kind.startswith("parking") and plan.work.machine.controller.park is None:
        return None
    if kind in IN_FIRST_PASS and not setup.passes[0].depth:
        return None
    # of the harmless changes one has lengths
    inches = plan.work.machine.controller.units == "in" and (kind in KINDS or kind == OVER_PANEL)
    base = converted(lines, 25.4, 4) if inches else lines
    spoil = {SPECIAL[0]: row_out, SPECIAL[1]: rows_short}.get(kind) or (KINDS.get(kind) or HARMLESS[kind])[0]
    try:
        made = spoil(list(base), setup)
    except IndexError:  # no line can have it
        return None
    if made == base:
        return None
    return converted(made, 1 / 25.4, 5) if inches else made


@pytest.mark.parametrize(("job", "kind"), pairs(KINDS))
def test_it_is_caught(job: str, kind: str) -> None:
    for plan, setup, lines in chosen(job, kind):
        codes, expected = found(lines, plan, setup), KINDS[kind][1]
        if explained(job, kind, plan, setup):
            assert codes == set(), setup.face
        elif len(setup.passes) == 1 and "pass" in kind:  # the only pass is the last one too
            assert codes & (expected | {"FW904"}), setup.face
        else:
            assert codes & (expected | ({"FW903"} if kind in SPECIAL else set())), (setup.face, codes)


@pytest.mark.parametrize(("job", "kind"), pairs(HARMLESS, every=2 * EVERY - 1))
def test_harmless_changes_pass(job: str, kind: str) -> None:
    for plan, setup, lines in chosen(job, kind):
        # where the travel ends over a spoilboard, the cutter still stands on wood at the end of a row, and a ramp
        # follows, which then has the feed of the way down
        on_wood = plan.work.job.stock.is_bed and kind in ("a dwell at the end of a row", OVER_PANEL)
        assert found(lines, plan, setup) == ({"FW902"} if on_wood else set()), setup.face


def test_kinds_apply_to_nearly_all_examples() -> None:
    """Few kinds find no line: heights from the bed have no minus, and some shops' programs lack a code."""
    assert JOBS
    for job in JOBS if NIGHTLY else FEW[:2]:
        plan, texts = programs(ROOT / "jobs" / f"{job}.flat")
        for setup, lines in zip(plan.setups, texts, strict=True):
            without = [kind for kind in KINDS if spoiled(kind, list(lines), plan, setup) is None]
            assert len(without) <= 19, (job, setup.face, without)
