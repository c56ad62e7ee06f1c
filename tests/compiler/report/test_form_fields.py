"""The fields of the form for measuring: units, places, and what the job says already."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from example_jobs import ROOT

from flatwise.model.measuring import Measured
from flatwise.pipeline import measure, read_works
from flatwise.report.form import form


def made(name: str, survey: str, *, under: bool = False) -> tuple[Measured, dict[str, Any], str]:
    """An example job with these lines as its survey: what measuring gives, the data of its form, and the page."""
    path = ROOT / "jobs" / f"{name}.flat"
    text, count = re.subn(
        r"    survey \{.*?\n    \}\n", f"    survey {{\n{survey}\n    }}\n", path.read_text(), flags=re.DOTALL
    )
    assert count == 1
    (work,) = read_works([path], {path: text}).works
    measured = measure(work, under=under)
    assert measured.panel is not None
    page = form(work, measured, under=under).decode()
    found = re.search(r'<script type="application/json" id="data">(.*?)</script>', page)
    assert found is not None
    return measured, json.loads(found[1]), page


def test_an_inch_job_has_inches_throughout() -> None:
    measured, data, page = made("study_shelf", "walk dial_half")
    assert measured.walk is not None
    assert data["unit"] == "in" and "All readings in <strong>inches" in page
    dials = [each for each in data["fields"] if each["kind"] == "dial"]
    for field, stop in zip(dials, measured.walk.stops, strict=True):
        # 1 in = 25.4 mm exactly (international inch)
        assert [float(field[key]) * 25.4 for key in "xyz"] == pytest.approx([stop.x, stop.y, stop.expected], abs=0.002)
    assert data["within"] == {"job": False, "value": "0.004"}


def test_what_the_job_has_is_not_asked_for_again() -> None:
    _, data, page = made("reading_table", "thickness centre 31.3mm; gap back_right 0.42mm; within 0.05mm")
    asked = {each["id"] for each in data["fields"]}
    assert "thickness-centre" not in asked and "thickness-left" in asked
    # as soon as a gap is given, corners without one touch
    assert {each for each in asked if each.startswith("gap")} == {"gap-front", "gap-left", "gap-right", "gap-back"}
    assert "1 of thickness, 1 of gap" in page and data["within"] == {"job": True, "value": "0.05"}
    # without a gauge there is no dial, and nothing of a program
    assert not any(each["kind"] in ("bed", "dial") for each in data["fields"]) and ".nc" not in page
