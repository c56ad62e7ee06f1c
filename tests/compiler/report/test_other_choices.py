"""What other lines of `cut` would save, against the job with that line written."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from example_jobs import example, quickly

from flatwise.model.stages import Plan
from flatwise.pipeline import build, read_works, work_out
from flatwise.report import files
from flatwise.report.display import display_unit, duration
from flatwise.report.other_choices import choice_rows, machine_time, other_choices, seating_rows
from flatwise.report.sheet import sheet

ROOT = Path(__file__).resolve().parents[3]
JOB = """use "../shared/shop.flat"
use "../shared/sample.flat"
standard odd_depth like solid_tops {{ depth at most 0.637mm }}

job example from plain_top {{
    {more}
    cut {{ {cut} }}
}}
"""


def planned(path: Path, text: str) -> tuple[Plan, list[str]]:
    """The plan of a text and the codes of its errors."""
    front = read_works([path], {path: text})
    assert front.works, front.findings
    plan, findings, _ = work_out(front.works[0])
    assert plan is not None
    return plan, [each.code for each in findings if each.severity == "error"]


def with_line(text: str, line: str) -> str:
    """The text of a job with a line of `cut` in place of the one that it or its recipe writes."""
    word = line.partition(" ")[0]
    before, opened, cut = text.partition("cut {")
    if not opened:
        return text.rstrip().removesuffix("}") + f"    cut {{ {line} }}\n}}\n"
    inside, brace, after = cut.partition("}")
    inside, count = re.subn(rf"(?<=[{{;\n ]){word} [^;#\n]*", f"{line}\n", inside)
    return before + opened + inside + ("" if count else f"; {line} ") + brace + after


def example_text(shop: Path, cut: str, more: str = "") -> tuple[Path, str]:
    return shop / "jobs" / "example.flat", JOB.format(cut=cut, more=more)


def offered(shop: Path, cut: str, more: str = "") -> dict[str, str]:
    """The line that is offered for each word; the last where there are several."""
    plan, _ = planned(*example_text(shop, cut, more))
    return {each.word: each.line for each in other_choices(plan)}


@pytest.mark.parametrize("name", quickly("hall_bench", "study_shelf", "window_seat"))
def test_each_line_saves_what_it_says(name: str) -> None:
    _, built = example(name)
    path = ROOT / "jobs" / f"{name}.flat"
    text = path.read_text(encoding="utf-8")
    assert built.plan is not None and built.choices
    now = machine_time(built.plan)
    for choice in built.choices:
        taken, errors = planned(path, with_line(text, choice.line))
        assert errors == []
        assert now - machine_time(taken) == pytest.approx(choice.saves, abs=1e-6), choice.line
        assert choice.saves > 0.05 * now
        # once written it is not offered again
        assert choice.line not in [each.line for each in other_choices(taken, (choice.word,))]


def test_each_word_is_named_with_the_line_that_the_limits_allow() -> None:
    named = {name: {each.line for each in example(name)[1].choices} for name in ("study_shelf", "window_seat")}
    # study_shelf writes 0.018in where its standard allows 0.025in, and goes round the edge first
    assert {"depth 0.025in", "rows along grain"} <= named["study_shelf"]
    # window_seat writes rows across grain, one_way climb, and stepover 55%; its depth is the one that is allowed
    assert {"rows across grain", "stepover auto"} <= named["window_seat"]
    assert not any(line.startswith("depth") for line in named["window_seat"])


def test_passes_that_are_all_like_the_last_are_offered_to_go_the_quickest_way(shop: Path) -> None:
    assert offered(shop, "stepover auto; rough same")["rough"] == "rough auto"
    assert "rough" not in offered(shop, "stepover auto; rough auto")


def test_the_depth_is_rounded_down_to_what_a_person_writes(shop: Path) -> None:
    more = "standard odd_depth"
    assert offered(shop, "depth 0.3mm", more)["depth"] == "depth 0.63mm"
    assert offered(shop, "depth 0.012in", more)["depth"] == "depth 0.025in"
    assert offered(shop, "depth 12thou", more)["depth"] == "depth 25thou"
    # where no depth is written, the light pass is compared with the depth that the rules allow
    path, text = example_text(shop, "finish 0.05mm", more)
    sample = (shop / "shared" / "sample.flat").read_text()
    (shop / "shared" / "sample.flat").write_text(sample.replace("depth 0.5mm; ", ""))
    plan, _ = planned(path, text)
    assert {each.word: each.line for each in other_choices(plan)}["finish"] == "finish 0.63mm"


def test_what_saves_less_than_a_twentieth_is_not_offered(shop: Path) -> None:
    path, text = example_text(shop, "depth 0.59mm; stepover 74%")
    plan, _ = planned(path, text)
    now = machine_time(plan)
    named = {each.word for each in other_choices(plan)}
    for line in ("depth 0.6mm", "rows across grain"):
        taken, _ = planned(path, with_line(text, line))
        assert line.split()[0] not in named and machine_time(taken) > 0.95 * now


def test_what_is_not_written_has_no_other_choice(shop: Path) -> None:
    path, text = example_text(shop, "finish 0.2mm")
    sample = (shop / "shared" / "sample.flat").read_text()
    (shop / "shared" / "sample.flat").write_text(sample.replace("stepover 65%; depth 0.5mm; finish 0.2mm;", ""))
    plan, _ = planned(path, text)
    assert {each.word for each in other_choices(plan)} <= {"finish"}


def test_a_line_that_gives_an_error_is_not_offered() -> None:
    path, line = ROOT / "jobs" / "window_seat.flat", "rows along grain, one_way climb"
    # rough passes take no way that leaves the travel, so they are made like the last
    text = with_line(path.read_text(encoding="utf-8"), "rough same")
    # rows along Y run on by more than 32 mm past the back edge, and the travel ends 20 mm behind it
    moved = text.replace("at 1000mm, 1080mm", "at 1000mm, 1300mm")
    assert moved != text
    plan, errors = planned(path, moved)
    taken, found = planned(path, with_line(moved, line))
    assert errors == [] and found == ["FW301"]
    assert machine_time(taken) < 0.95 * machine_time(plan)
    assert line in [each.line for each in other_choices(planned(path, text)[0])]
    assert line not in [each.line for each in other_choices(plan)]


def test_a_rule_that_the_job_waives_forbids_nothing(shop: Path) -> None:
    waived = 'waive depth because "two skims on an offcut"'
    path, text = example_text(shop, "depth 0.9mm; finish 0.2mm", waived)
    plan, errors = planned(path, text)
    assert errors == []
    said = {each.word: each for each in other_choices(plan)}
    # deeper than the standard's 0.6 mm, as the waiver lets it; the written depth is deeper than the rules allow anyway
    assert said["finish"].line == "finish 0.9mm" and "depth" not in said
    taken, errors = planned(path, with_line(text, "finish 0.9mm"))
    assert errors == [] and machine_time(plan) - machine_time(taken) == pytest.approx(said["finish"].saves)


def test_a_job_that_does_not_compile_has_no_other_choices(shop: Path) -> None:
    path, text = example_text(shop, "depth 0.3mm", "faces { second to 40mm }")
    built = build(read_works([path], {path: text}).works[0])
    assert built.programs == {} and built.choices == ()


def test_sheet_and_summary_name_the_same_lines() -> None:
    _, built = example("study_shelf")
    plan = built.plan
    assert plan is not None and len(built.choices) >= 2
    told = json.loads(files(built, {})["summary.json"])["choices"]
    assert told == [{"line": each.line, "saves": round(each.saves, 1)} for each in built.choices]
    assert [each["saves"] for each in told] == sorted((each["saves"] for each in told), reverse=True)
    rows = {each.line: each for each in choice_rows(built)}
    assert list(rows) == [each["line"] for each in told]
    deeper = next(each for each in built.choices if each.word == "depth")
    passes, fewer = (sum(len(setup.passes) for setup in each.setups) for each in (plan, deeper.plan))
    assert rows["depth 0.025in"].saves == duration(deeper.saves)
    assert rows["depth 0.025in"].changes.startswith(f"Passes: {fewer} instead of {passes}.")
    assert "wood may break out" in rows["rows along grain"].changes
    page = sheet(built)
    assert f"<code>{deeper.line}</code>" in page and "costs more than 5 %" not in page
    assert f"As planned: about {duration(machine_time(plan))}, " in page
    assert "costs more than 5 % of this time" in sheet(built._replace(choices=()))
    # nothing is said about lines where nothing was built
    assert "costs more than 5 % of this time" not in sheet(built._replace(choices=(), programs={}))


def test_the_best_choice_of_each_number_of_stacks_is_in_sheet_and_summary() -> None:
    _, built = example("hall_shelf")
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
    path, text = example_text(shop, "finish 0.2mm")
    for built in (build(read_works([path], {path: text}).works[0]), example("spoilboard")[1]):
        assert built.plan is not None and seating_rows(built, display_unit(built.plan.work)) == []
