"""What rows in the other direction would have cost, against the job written that way."""

from __future__ import annotations

from pathlib import Path

import pytest

from flatwise.pipeline import build, read_works, work_out
from flatwise.report.other_choices import choice_rows

ROOT = Path(__file__).resolve().parents[3]
JOB = """use "../shared/shop.flat"
use "../shared/sample.flat"

job example from plain_top {{
    {more}
    cut {{ pattern raster {direction} grain }}
}}
"""


def works(shop: Path, direction: str, more: str = ""):  # type: ignore[no-untyped-def]
    path = shop / "jobs" / "example.flat"
    path.write_text(JOB.format(direction=direction, more=more))
    front = read_works([path])
    assert front.works, front.findings
    return front.works[0]


@pytest.mark.parametrize(("chosen", "other"), [("along", "across"), ("across", "along")])
def test_it_is_the_plan_of_the_job_written_the_other_way(shop: Path, chosen: str, other: str) -> None:
    said = build(works(shop, chosen)).other_direction
    assert said is not None and said.direction == other
    plan, findings, _ = work_out(works(shop, other))
    assert plan is not None
    assert said.time == pytest.approx(sum(setup.time for setup in plan.setups))
    assert said.feeds == tuple(setup.feed for setup in plan.setups)
    assert said.faults == tuple(sorted({each.code for each in findings if each.severity == "error"}))


def test_a_clearly_quicker_direction_comes_with_the_line_that_chooses_it() -> None:
    seat = ROOT / "jobs" / "window_seat.flat"
    text, line = seat.read_text(encoding="utf-8"), "pattern   raster across grain, one_way climb"
    assert text.count(line) == 1
    built = build(read_works([seat]).works[0])
    said = built.other_direction
    assert built.plan is not None and said is not None
    assert said.time < 0.97 * sum(setup.time for setup in built.plan.setups)
    assert said.line == "pattern raster along grain, one_way climb"
    assert choice_rows(built)[-1].time.endswith(f"If the tool marks are acceptable, write: {said.line}.")
    # written so, the job takes what was said, and nothing is pointed out any more
    taken = build(read_works([seat], {seat: text.replace(line, said.line)}).works[0])
    assert taken.plan is not None and taken.other_direction is not None
    assert said.time == pytest.approx(sum(setup.time for setup in taken.plan.setups))
    assert taken.other_direction.line == ""


def test_what_forbids_it_is_named(shop: Path) -> None:
    # rows along Y run on to 38 mm in front of the panel, and the travel ends 10 mm in front of it
    built = build(works(shop, "along", "zero { corner front_left at 120mm, 10mm }"))
    assert built.programs
    assert built.other_direction is not None and built.other_direction.faults == ("FW301",)
    assert built.other_direction.line == ""


def test_a_job_that_does_not_compile_is_not_worked_out_twice(shop: Path) -> None:
    built = build(works(shop, "along", "faces { second to 40mm }"))
    assert built.programs == {} and built.other_direction is None


def test_the_other_aim_is_the_plan_of_the_job_written_with_it() -> None:
    table = ROOT / "jobs" / "reading_table.flat"
    text = table.read_text(encoding="utf-8")
    assert text.count("least_removal") == 1
    said = build(read_works([table]).works[0]).other_pose
    assert said is not None and said.aim == "natural"
    plan, findings, _ = work_out(read_works([table], {table: text.replace("least_removal", "natural")}).works[0])
    assert plan is not None and plan.seating is not None and plan.seating.aim == "natural"
    assert said.time == pytest.approx(sum(setup.time for setup in plan.setups))
    assert said.forecast == pytest.approx(plan.forecast)
    assert said.removed == pytest.approx([setup.removed_mean for setup in plan.setups])
    assert said.faults == tuple(sorted({each.code for each in findings if each.severity == "error"}))


def test_where_there_is_nothing_to_choose_no_other_aim_is_told(shop: Path) -> None:
    assert build(works(shop, "along")).other_pose is None
    assert build(read_works([ROOT / "jobs" / "spoilboard.flat"]).works[0]).other_pose is None
