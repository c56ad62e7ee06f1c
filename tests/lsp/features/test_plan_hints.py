"""Inlay hints and code lenses of small jobs."""

from __future__ import annotations

import re
from pathlib import Path

from conftest import ROOT
from lsp.marked import demo, view

from flatwise.report.display import duration
from flatwise_lsp.features import hover, plan_hints
from flatwise_lsp.workspace.view import View


def hints_of(seen: View) -> list[plan_hints.Hint]:
    return [hint for job in plan_hints.find_results(seen) for hint in job.hints]


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
        assert label.startswith(f"{len(setup.passes)} pass")
        assert duration(setup.time) in label
    assert "leaves 29mm ±" in said[-1]
    assert [lens.command for job in plan_hints.find_results(seen) for lens in job.lenses] == ["", "build", "sheet"]


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


def test_leaves_are_shown_as_they_are_marked_in_their_set(shop: Path) -> None:
    job = demo("supports { shims leaf_set under corners }\n    survey { gap front_left 0.22mm; within 0.05mm }")
    leaves = hints_of(view(shop, job, checked=True))[0]
    assert leaves.label == "front_left 0.20mm"


def test_a_stepover_that_is_auto_is_shown(shop: Path) -> None:
    job = demo("cut { cutter fly_64; stepover auto }")
    hints = [one.label for one in hints_of(view(shop, job, checked=True))]
    assert "at most 90% in rough passes, 75% in the last" in hints


def test_nothing_promises_a_thickness_beside_an_error_that_forbids_it(shop: Path) -> None:
    """The standard allows the faces to differ by 3mm only (FW701)."""
    seen = view(shop, demo("faces { first until clean; second to 28mm; flip over long_edge }"), checked=True)
    assert seen.analysis is not None and "FW701" in [one.code for one in seen.analysis.findings]
    (job,) = plan_hints.find_results(seen)
    assert [one.title for one in job.lenses] == ["Does not build: 1 error", "Build", "Open the sheet"]
    assert len(job.hints) == 2 and not any("leaves" in one.label for one in job.hints)
