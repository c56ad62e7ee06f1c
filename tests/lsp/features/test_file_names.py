"""Texts that name files: definition and hover of a `use` line, and renaming files; `‸` marks the cursor."""

from __future__ import annotations

from pathlib import Path

import pytest
from lsp.marked import demo, marked, view

from flatwise.pipeline import read_works, work_out
from flatwise_lsp.features import file_links, hover
from flatwise_lsp.features.file_renames import Renaming, rename_files
from flatwise_lsp.workspace.analysis import Meaning

POINTS = "x mm,y mm,z mm\n0,0,31\n600,0,31\n0,400,31\n600,400,31\n300,200,31\n"


@pytest.fixture
def project(shop: Path) -> Path:
    """The shop with a project file, a job that names files in every way, and a library that uses a neighbour."""
    shop = shop.resolve()
    (shop / "flatwise.toml").write_text(
        'standard_from = "shared/rules/house.flat"  # the shop\'s rules\nstandard = "house"\n'
    )
    (shop / "shared" / "rules").mkdir()
    (shop / "shared" / "rules" / "house.flat").write_text("standard house { leave at least 29mm }\n")
    (shop / "readings").mkdir()
    (shop / "readings" / "top.csv").write_text(POINTS)
    (shop / "jobs" / "one.flat").write_text(
        'use "../shared/shop.flat"\nuse "../shared/rules/../sample.flat"  # the recipe\n\n'
        'job one from plain_top {\n    survey { probe "../readings/top.csv" }\n    waive rock because "top.csv"\n}\n'
    )
    return shop


def seen(root: Path) -> list[object]:
    """Every job as it is planned: its planes and times, and all findings without their places."""
    read = read_works([root])
    found: list[object] = sorted(finding.code for finding in read.findings)
    for work in read.works:
        plan, findings, _ = work_out(work)
        assert plan is not None
        found += [(work.name, setup.plane, setup.time) for setup in plan.setups]
        found += [(finding.code, finding.message) for finding in findings]
    return found


def renamed(root: Path, old: str, new: str, *more: tuple[str, str]) -> dict[str, str]:
    """Rename files as an editor does: edit first, then rename.  Returns the new text of every file that is edited."""
    meaning: Meaning = view(root, "", "jobs/empty.flat").everything
    renamings = [Renaming(root / before, root / after) for before, after in ((old, new), *more)]
    texts: dict[str, str] = {}
    for edit in sorted(rename_files(meaning, renamings), key=lambda edit: -edit.span.start):
        text = texts.get(edit.span.path) or (root / edit.span.path).read_text()
        texts[edit.span.path] = text[: edit.span.start] + edit.text + text[edit.span.end :]
    for path, text in texts.items():
        (root / path).write_text(text)
    for before, after in renamings:
        after.parent.mkdir(parents=True, exist_ok=True)
        before.rename(after)
    return texts


@pytest.mark.parametrize(
    ("old", "new", "edited"),
    [
        ("shared/shop.flat", "shared/the shop.flat", {"jobs/one.flat": '"../shared/the shop.flat"'}),
        ("shared", "library", {"jobs/one.flat": '"../library/sample.flat"', "flatwise.toml": '"library/rules/house'}),
        ("shared/rules", "rules", {"flatwise.toml": '"rules/house.flat"  #'}),
        ("readings/top.csv", "jobs/oak.csv", {"jobs/one.flat": 'probe "oak.csv"'}),
        ("jobs/one.flat", "jobs/oak/tall/one.flat", {"jobs/one.flat": 'probe "../../../readings/top.csv"'}),
        ("jobs/one.flat", "jobs/two.flat", {}),
        ("jobs", "panels", {}),
    ],
)  # fmt: skip
def test_after_a_renaming_every_job_is_read_as_before(
    project: Path, old: str, new: str, edited: dict[str, str]
) -> None:
    before = seen(project)
    texts = renamed(project, old, new)
    for path, text in edited.items():
        assert text in texts[path]
    assert 'because "top.csv"' in texts.get("jobs/one.flat", 'because "top.csv"')
    assert set(edited) <= set(texts) and (edited or not texts)
    assert before == seen(project)


def test_files_that_are_renamed_together_still_find_each_other(project: Path) -> None:
    before = seen(project)
    texts = renamed(
        project, "shared/shop.flat", "shop/machines.flat", ("readings", "jobs/readings"), ("jobs/one.flat", "one.flat")
    )
    assert 'use "shop/machines.flat"' in texts["jobs/one.flat"] and 'probe "jobs/readings/top' in texts["jobs/one.flat"]
    assert 'use "../shop/machines.flat"' in texts["shared/sample.flat"]
    assert before == seen(project)


def test_definition_and_hover_of_a_use_line(shop: Path) -> None:
    text = demo("cut { depth 0.5mm }")
    plain, offset = marked(text.replace("sample.flat", "sam‸ple.flat"))
    at = file_links.find_linked_file(view(shop, plain), offset)
    assert at is not None and (at.path, at.start) == ("shared/sample.flat", 0)
    page = hover.hover(view(shop, plain), offset)
    assert page is not None and plain[page.span.start : page.span.end] == "../shared/sample.flat"
    assert page.markdown == "shared/sample.flat declares:\n\n- recipe `plain_top`"
    missing, offset = marked(text.replace("sample.flat", "no‸ne.flat"))
    assert hover.hover(view(shop, missing), offset) is None
    assert file_links.find_linked_file(view(shop, missing), offset) is None


def test_definition_of_a_file_of_points(project: Path) -> None:
    plain, offset = marked((project / "jobs" / "one.flat").read_text().replace("top.csv", "to‸p.csv", 1))
    at = file_links.find_linked_file(view(project, plain, "jobs/one.flat"), offset)
    assert at is not None and (at.path, at.start) == ("readings/top.csv", 0)
