"""Applying the fix of a finding cures it: tried on the failing examples of the checks' pages."""

from __future__ import annotations

from pathlib import Path

import pytest
from compiler.reading import USES
from example_jobs import page_examples
from test_pages import section

from flatwise.core.finding import Finding
from flatwise.findings import pages
from flatwise.pipeline import read_works, work_out

#: checks whose failing example has a certain fix
MENDED = ("FW401", "FW402", "FW403", "FW404", "FW405", "FW406", "FW601", "FW701")


def findings(path: Path, text: str) -> list[Finding]:
    path.write_text(text, encoding="utf-8")
    front = read_works([path])
    return [*front.findings, *(one for work in front.works for one in work_out(work)[1])]


def with_fix(text: str, finding: Finding) -> str:
    assert finding.fix is not None
    for edit in sorted(finding.fix.edits, key=lambda edit: -edit.span.start):
        text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    return text


@pytest.mark.parametrize("code", MENDED)
def test_a_fix_cures_its_finding(code: str, shop: Path) -> None:
    path = shop / "jobs" / "example.flat"
    page = pages.page(code)
    assert page is not None
    text = page_examples(section(page.text, "Fails"))[0]
    (finding,) = [one for one in findings(path, text) if one.code == code]
    mended = with_fix(text, finding)
    assert mended != text
    assert [one.code for one in findings(path, mended) if one.severity == "error"] == []


ROCKING = "survey { gap front_left 0.6mm, front 0.3mm, left 0.3mm, back 0mm, right 0mm }"
HOLD = (
    "hold { dog low_dog left at 25%, 75%; dog low_dog front at 15%, 85%; clamp side_cam right at 50%; "
    "clamp side_cam back at 20%, 80% }"
)
#: a recipe in the same file as the job
OWN = "recipe own like plain_top { %s }\njob demo from own { %s }"
JOB = "job demo from plain_top { %s }"


def rocks(path: Path, text: str) -> tuple[str, Finding]:
    text = f"{USES}\n{text}"
    (finding,) = [one for one in findings(path, text) if one.code == "FW203"]
    return text, finding


@pytest.mark.parametrize(
    ("body", "becomes"),
    [
        # no supports yet: a new block before the hold
        (f"{ROCKING}\n    {HOLD}", "supports { shim 0.55mm under front_left }\n    hold { dog"),
        # the job has supports: a new first line
        (f"{ROCKING}; supports {{ aim natural; shims leaf_set under back }}", "under front_left; aim natural; shims"),
        (f"{ROCKING}; supports {{ shims leaf_set under back; aim natural }}", "under front_left; shims leaf_set under"),
    ],
)
def test_the_fix_of_a_rock_is_put_where_it_belongs(shop: Path, body: str, becomes: str) -> None:
    path = shop / "jobs" / "example.flat"
    text, finding = rocks(path, JOB % body)
    mended = with_fix(text, finding)
    assert becomes in mended
    assert not [one for one in findings(path, mended) if one.severity == "error"]


@pytest.mark.parametrize(
    "text",
    [
        JOB % ROCKING,  # the hold stands in the recipe of another file
        OWN % (HOLD, ROCKING),  # in a recipe of this file
        OWN % ("supports { shims leaf_set under back; aim natural }", f"{ROCKING}; {HOLD}"),
        # supports in the recipe and in the job: a line in one would not replace the other's
        OWN % ("supports { aim natural }", f"{ROCKING}; supports {{ shims leaf_set under back }}"),
    ],
)
def test_no_fix_touches_a_recipe(shop: Path, text: str) -> None:
    _, finding = rocks(shop / "jobs" / "example.flat", text)
    # 25 mm into the panel the gap is 0.57 mm; leaves of a set are named
    assert finding.fix is None and finding.help.startswith("Put 0.55mm")
    assert finding.help.endswith("under the front left corner; the panel then lies still.")
    assert ("(leaves 0.5mm and 0.05mm)" in finding.help) == ("leaf_set" in text) == ("as supported" in finding.message)
