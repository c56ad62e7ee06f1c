"""What rows in the other direction would have cost, against the job written that way."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from flatwise.pipeline import build, read_works, work_out
from flatwise.report import files
from flatwise.report.display import display_unit
from flatwise.report.other_choices import choice_rows, seating_rows

ROOT = Path(__file__).resolve().parents[3]
JOB = """use "../shared/shop.flat"
use "../shared/sample.flat"

job example from plain_top {{
    {more}
    cut {{ rows {direction} grain }}
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
    text, line = seat.read_text(encoding="utf-8"), "rows      across grain, one_way climb"
    assert text.count(line) == 1
    built = build(read_works([seat]).works[0])
    said = built.other_direction
    assert built.plan is not None and said is not None
    assert said.time < 0.97 * sum(setup.time for setup in built.plan.setups)
    assert said.line == "rows along grain, one_way climb"
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


def test_the_best_choice_of_each_number_of_stacks_is_in_sheet_and_summary() -> None:
    built = build(read_works([ROOT / "jobs" / "hall_shelf.flat"]).works[0])
    assert built.plan is not None
    unit = display_unit(built.plan.work)
    rows, choices = seating_rows(built, unit), built.seating_choices
    assert [choice.stacks for choice in choices] == list(range(len(choices))) and len(rows) == len(choices) > 3
    laid = [shim for shim in built.plan.seating.shims if shim.leaves]
    assert [row["stacks"] for row in rows if row["chosen"]] == [str(len(laid))]
    assert choices[0].leaves == 0 and choices[0].rocks and rows[0]["rocks"].startswith("rocks, by ")
    assert all(choice.leaves >= choice.stacks and not choice.rocks for choice in choices[1:])
    # the planned one is not better than the best of as many stacks, and more stacks gain wood here
    assert built.plan.seating.most_thickness <= choices[len(laid)].most_thickness + 1e-9
    assert max(choice.most_thickness for choice in choices) > choices[0].most_thickness + 0.1
    made = json.loads(files(built, {})["summary.json"])
    assert made["seating"]["choices"] == [
        {
            "stacks": each.stacks,
            "leaves": each.leaves,
            "most_thickness": round(each.most_thickness, 4),
            "rocks": each.rocks,
            "gives": round(each.gives, 4),
        }
        for each in choices
    ]


def test_where_no_leaf_may_lie_there_is_no_table_of_leaves(shop: Path) -> None:
    for work in (works(shop, "along"), read_works([ROOT / "jobs" / "spoilboard.flat"]).works[0]):
        built = build(work)
        assert built.plan is not None and seating_rows(built, display_unit(work)) == []
