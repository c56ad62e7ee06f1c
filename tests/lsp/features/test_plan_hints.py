"""Inlay hints and code lenses of small jobs."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from conftest import ROOT
from lsp.marked import demo, view

from flatwise.report.display import duration
from flatwise_lsp.features import hover, plan_hints, results
from flatwise_lsp.workspace.view import View


def hints_of(seen: View) -> list[plan_hints.Hint]:
    return [hint for job in results.find_results(seen) for hint in job.hints]


def test_hints_show_the_results_of_the_plan(shop: Path) -> None:
    seen = view(
        shop,
        demo("cut { feed auto }\n    faces { first until clean; second to 29mm; flip over long_edge }"),
        checked=True,
    )
    assert seen.analysis is not None
    plan = seen.analysis.outcomes["demo"].plan
    assert plan is not None
    said = [one.label for one in hints_of(seen)]
    assert said[0].startswith(f"{plan.setups[0].feed:.0f}mm/min")
    for setup, label in zip(plan.setups, said[1:], strict=True):
        assert duration(setup.time) in label
        assert f"{len(setup.passes)} pass" in hints_of(seen)[said.index(label)].tooltip
    assert said[1].startswith("removes ") and said[-1].startswith("29mm ± ")
    commands = [lens.command for job in results.find_results(seen) for lens in job.lenses]
    assert commands == ["", "build", "preview", "sheet"]


def test_a_job_in_inches_has_its_hints_and_hovers_in_inches(shop: Path) -> None:
    text = (
        (ROOT / "jobs" / "study_shelf.flat").read_text("utf-8").replace("overrun   1/4in", "overrun 1/4in; feed auto")
    )
    seen = view(shop, text, checked=True)
    hints = [one.label for one in hints_of(seen)]
    assert any(re.match(r"[\d.]+in/min, limited by", label) for label in hints)
    for word in ("slab_2in", "wedge_clamp"):
        found = hover.hover(seen, text.index(word) + 1)
        assert found is not None and re.search(r"feed [\d.]+in/min|passes [\d.]+in above", found.markdown)
        assert not re.search(r"\dmm", found.markdown.partition("**In this job")[2])


@pytest.mark.parametrize("path", sorted((ROOT / "jobs").rglob("*.flat")), ids=lambda path: path.stem)
def test_a_hint_has_at_most_forty_characters_and_every_job_has_one(path: Path) -> None:
    seen = view(ROOT, path.read_text("utf-8"), f"jobs/{path.name}", checked=True)
    for block in results.find_results(seen):
        assert block.hints, block.name
        assert [one.label for one in block.hints if len(one.label) > 40] == []
        for hint in block.hints:
            assert plan_hints.short(hint.label, "x" * 40) == hint.label


def test_a_job_from_a_recipe_has_the_hint_of_a_face_where_it_gives_its_thickness() -> None:
    text = (ROOT / "jobs" / "hall_bench.flat").read_text("utf-8")
    shown = {text[: one.offset].splitlines()[-1].strip(): one for one in hints_of(view(ROOT, text, checked=True))}
    assert shown["finish  30mm"].label.startswith("30mm ± ") and "second face: 30mm ± " in shown["finish  30mm"].tooltip
    assert shown["job hall_bench from glued_top"].label.startswith("removes ")
    # too many leaves for a hint, at the survey since only the recipe names their places
    assert shown["survey"].label == "leaves at 3 places, up to 0.3mm"
    assert re.match(r"(\w+ [\d.]+mm(; |\. )){3}Aim: ", shown["survey"].tooltip)


def test_leaves_are_shown_as_they_are_marked_in_their_set(shop: Path) -> None:
    job = demo("supports { shims leaf_set under corners }\n    survey { gap front_left 0.22mm; within 0.05mm }")
    leaves = hints_of(view(shop, job, checked=True))[0]
    assert leaves.label == "front_left 0.20mm"


def test_a_stepover_that_is_auto_is_shown(shop: Path) -> None:
    job = demo("cut { cutter fly_64; stepover auto }")
    hints = [one.label for one in hints_of(view(shop, job, checked=True))]
    assert "up to 90%, in the last pass 75%" in hints


def test_nothing_promises_a_thickness_beside_an_error_that_forbids_it(shop: Path) -> None:
    """The standard allows the faces to differ by 3mm only (FW701)."""
    seen = view(shop, demo("faces { first until clean; second to 28mm; flip over long_edge }"), checked=True)
    assert seen.analysis is not None and "FW701" in [one.code for one in seen.analysis.findings]
    (job,) = results.find_results(seen)
    assert [one.title for one in job.lenses] == ["Does not build: 1 error", "Build", "Preview", "Open the sheet"]
    assert len(job.hints) == 2 and not any("±" in one.label + one.tooltip for one in job.hints)
