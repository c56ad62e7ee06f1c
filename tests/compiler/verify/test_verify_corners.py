"""Programs for a machine that rounds its corners: G64 in level cuts, and room for a path that is off by as much."""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from pathlib import Path

import pytest
from compiler.shop import clamp_in, q
from compiler.verify.verify_programs import RADIUS, Row, lines, machine, one, proof, rows, setup, swapped, work
from example_jobs import ROOT, quickly

from flatwise.model.shop import Rounded
from flatwise.pipeline import read_works, write_programs
from flatwise.verify import verify

ROUNDS = work(machine=machine(corners=Rounded(by=q("1mm"))))


def rounding(planes: Sequence[float] = (29.5, 29.0), sweep: Sequence[Row] | None = None) -> list[str]:
    """A good program whose rows run under G64, all else under G61."""
    found: list[str] = []
    for line in lines(planes, sweep):
        found += ["G64", line] if " F6000" in line else ["G61", line] if line.startswith("G0 Z39.95") else [line]
    return found


def test_level_cuts_under_g64_are_proven_where_the_shop_file_says_so() -> None:
    assert proof(rounding(), of=ROUNDS)[1] == []


@pytest.mark.parametrize(
    ("text", "rounds", "message"),
    [
        (
            rounding(),
            False,
            "FW902 Line 14 may round its corners (G64), but the shop file says `corners exact`.",
        ),
        (lines(), True, "FW902 Line 12 cuts with exact corners (G61), but the shop file says `corners within 1mm`."),
        (
            [line for line in rounding() if line != "G61"],
            True,
            "FW902 Line 23 may round its corners (G64), but rapids and moves in Z must be exact.",
        ),
        (
            swapped(rounding(), "G1 Z-1.05", "G64 G1 Z-1.05"),
            True,
            "FW902 Line 28 may round its corners (G64), but rapids and moves in Z must be exact.",
        ),
    ],
)
def test_another_path_mode_is_refused(text: list[str], rounds: bool, message: str) -> None:
    (found,) = proof(text, of=ROUNDS if rounds else None)[1]
    assert found == message


def test_rows_overlap_by_twice_the_rounding() -> None:
    # rows at most 61 mm apart: discs of 62 mm still meet, discs of 58 mm do not
    wide = rows(step=61.0, past=23.5)
    assert wide[1][1] - wide[0][1] == 61.0 < 2 * RADIUS - 2.0
    assert proof(rounding(sweep=wide), of=ROUNDS)[1] == []
    three = work(machine=machine(corners=Rounded(by=q("3mm"))))
    one(proof(rounding(sweep=wide), of=three)[1], "FW904", "stands 1mm above the plane")


def test_a_holder_is_met_by_a_path_that_may_come_nearer() -> None:
    # the rows end at X -38: the rim of the disc reaches X -70
    beside = setup(holders=(clamp_in((-110.0, 0.0, -72.5, 200.0), 29.5),))
    assert proof(lines(), beside)[1] == []
    counting = "counting the 1mm by which the machine may round corners"
    found = proof(rounding(), beside, ROUNDS)[1]
    one(found, "FW903", "passes the clamp", f"at 1.5mm, less than the clearance of 2mm, {counting}, on its way")


def test_wood_that_stands_beside_a_row_counts_as_bitten() -> None:
    # the front rows at both depths, then those behind: beside the last front row stands a bite of both depths, which a
    # path may meet that comes 1 mm nearer in the second pass
    def in_halves(make: Callable[..., list[str]]) -> list[str]:
        front, behind = make(sweep=rows()[:3]), make(sweep=rows()[3:])
        return [*front[: front.index("M5")], *behind[behind.index("G4 P4.") + 1 :]]

    assert proof(in_halves(lines))[1] == []
    one(proof(in_halves(rounding), of=ROUNDS)[1], "FW902", "bites 1mm deep", "the limit there is 0.5mm")


@pytest.mark.parametrize("name", quickly("study_shelf"))
def test_the_programs_of_the_example_jobs_are_proven_and_a_swapped_mode_is_not(shop: Path, name: str) -> None:
    file = shop / "shared" / ("inch_shop.flat" if name == "study_shelf" else "shop.flat")
    file.write_text(re.sub(r"\n +spin_up ", r"\ncorners within 1mm\g<0>", file.read_text()))
    path = shop / "jobs" / f"{name}.flat"
    for each in (ROOT / "jobs").iterdir():
        (shop / "jobs" / each.name).write_bytes(each.read_bytes())
    built = write_programs(read_works([path]).works[0])
    assert not [each for each in built.findings if each.severity == "error"]
    assert built.plan is not None
    for program, made in zip(built.programs.values(), built.plan.setups, strict=True):
        assert program.count(b"\nG64\n") == program.count(b"\nG61\n") > 0
        assert b"rounds corners by up to" in program
        for was, becomes in ((b"\nG64\n", b"\nG61\n"), (b"\nG61\n", b"\nG64\n")):
            codes = {each.code for each in verify(program.replace(was, becomes), built.plan, made)[1]}
            assert codes == {"FW902"}
