"""The summary and the lines of a build, from a plan made by hand."""

from __future__ import annotations

import json
import re

import pytest
from compiler.gcode.write_plans import built, plan, setup, sweep, work

from flatwise.core.finding import Finding
from flatwise.report import files
from flatwise.report.summary import as_bytes, figure, summary
from flatwise_grammar.nodes import Span


def test_the_summary_has_just_the_keys_of_its_form() -> None:
    told = summary(built())
    assert list(told) == [
        "schema",
        "job",
        "sources",
        "seating",
        "free_shape",
        "setups",
        "thickness",
        "verified",
        "choices",
        "waived",
        "warnings",
        "notes",
    ]
    assert set(told["seating"]) == {"shims", "tilt", "touches", "rocks", "most_thickness"}
    assert set(told["seating"]["shims"][0]) == {"at", "place", "leaves", "height", "gap_left"}
    assert " ".join(told["setups"][0]) == (
        "face program zero highest lowest plane removed passes speed feed feed_limit chip_load rim_speed power "
        "ridge time"
    )
    assert set(told["setups"][0]["passes"][0]) == {"plane", "depth", "cut_length", "time"}
    assert set(told["thickness"]) == {"target", "forecast", "plus_minus", "parts"}
    assert set(told["verified"]) == {"program_moves", "deepest_bite", "collisions", "left_above_plane", "flatness"}
    assert told["schema"] == 1 and told["verified"]["program_moves"] == 60


def test_the_free_shape_has_what_words_say_and_nothing_else() -> None:
    assert summary(built())["free_shape"] == {}
    shaped = plan().panel._replace(free_shapes={"twist": -0.8, "cup": 0.0}, read_shapes={"twist": -0.45, "bow": 0.2})
    assert summary(built(plan=plan()._replace(panel=shaped)))["free_shape"] == {"twist": -0.8, "cup": 0.0}


def test_again_stands_only_where_a_face_is_cut_again() -> None:
    once = built(plan=plan(setups=(setup("second", again=True),)))
    assert [each.get("again") for each in summary(once)["setups"]] == [True]
    assert all("again" not in each for each in summary(built())["setups"])


def test_the_summary_is_json_without_nan_or_minus_zero_and_always_the_same() -> None:
    first, second = as_bytes(summary(built())), as_bytes(summary(built()))
    assert first == second
    assert not re.search(rb"-0\.0\b(?!\d)|NaN|Infinity", first)
    assert json.loads(first)["job"] == "tray"
    assert str(figure(-0.00001)) == "0.0" and str(figure(-0.0)) == "0.0"


def test_warnings_and_waivers_are_carried() -> None:
    warning = Finding("FW205", "No reading shows the twist.", Span("jobs/tray.flat", 4, 8), severity="warning")
    told = summary(built(work(waivers={"depth": "tried it"}), findings=(warning,)), {"jobs/tray.flat": "job tray {"})
    assert told["waived"] == [{"rule": "depth", "because": "tried it", "value": 0.8, "limit": 0.6}]
    assert [(each["code"], each["line"], each["column"]) for each in told["warnings"]] == [("FW205", 1, 5)]
    assert told["notes"] == []


def test_notes_are_carried_apart_from_warnings() -> None:
    note = Finding("FW207", "The weight may hide a twist.", Span("jobs/tray.flat", 4, 8), severity="note")
    told = summary(built(findings=(note,)), {"jobs/tray.flat": "job tray {"})
    assert told["warnings"] == [] and told["schema"] == 1
    assert [(each["code"], each["severity"], each["line"]) for each in told["notes"]] == [("FW207", "note", 1)]


def test_the_files_of_a_job_and_their_agreement() -> None:
    made = built()
    told = files(made, {})
    assert set(told) == {"first.nc", "second.nc", "sheet.html", "summary.json"}
    number = re.search(rb"\(sources ([0-9a-f]{16})\)", told["first.nc"])
    assert number is not None
    # the sheet and the program at the machine can be held against each other
    assert number[1] in told["sheet.html"] and number[1] in told["second.nc"]


def test_a_rapid_that_moves_z_with_x_is_a_fault_of_the_plan() -> None:
    from flatwise.gcode.write import write
    from flatwise.model.stages import Leg

    bad = sweep(20.5, 0.5, 63.0)
    bad = bad._replace(path=(*bad.path, Leg(True, 0.0, 0.0, 10.0)))
    with pytest.raises(ValueError, match="Z together"):
        write(plan(), setup()._replace(passes=(bad,)))
