"""Definitions, references and renaming of names in small texts; `‸` marks the cursor."""

from __future__ import annotations

from pathlib import Path

import pytest
from lsp.marked import JOB_FROM_RECIPE, demo, marked, view

from flatwise_lsp.features import declared_names


def test_definition_and_references_of_a_name(shop: Path) -> None:
    plain, offset = marked(JOB_FROM_RECIPE)
    seen = view(shop, plain)
    at = declared_names.find_definition(seen, offset)
    assert at is not None
    assert plain[at.start : at.end] == "small"
    assert plain[: at.start].endswith("cutter ")
    assert [plain[one.span.start : one.span.end] for one in declared_names.find_references(seen, offset)] == [
        "small",
        "small",
    ]


def test_references_are_all_uses_in_all_files_and_no_others(shop: Path) -> None:
    text = (shop / "shared" / "shop.flat").read_text()
    offset = text.index("low_dog") + 1
    seen = view(shop, text, "shared/shop.flat")
    found = declared_names.find_references(seen, offset)
    counted = 0
    for path in shop.rglob("*.flat"):
        counted += sum(line.split("#")[0].split().count("low_dog") for line in path.read_text().splitlines())
    assert len(found) == counted > 3


def test_a_rename_changes_every_use_and_no_result(shop: Path) -> None:
    """After the edits there are the same jobs with the same findings."""
    from flatwise.pipeline import read_works

    text = (shop / "shared" / "shop.flat").read_text()
    (shop / "jobs" / "one.flat").write_text(demo("hold { dog low_dog left at 30%; dog low_dog front at 30% }"))
    before = read_works([shop / "jobs"])
    edits = declared_names.rename(view(shop, text, "shared/shop.flat"), text.index("low_dog"), "stout_dog")
    for path in {edit.span.path for edit in edits}:
        file = shop / path
        new = file.read_text()
        for edit in sorted((one for one in edits if one.span.path == path), key=lambda one: -one.span.start):
            assert new[edit.span.start : edit.span.end] == "low_dog"
            new = new[: edit.span.start] + edit.text + new[edit.span.end :]
        file.write_text(new)
    after = read_works([shop / "jobs"])
    assert [finding.code for finding in after.findings] == [finding.code for finding in before.findings]
    assert [work.name for work in after.works] == [work.name for work in before.works] == ["demo"]
    assert after.works[0].holders[0].name == "stout_dog"


@pytest.mark.parametrize("new", ["fly_64", "Small", "2nd", "a-b", "like", ""])
def test_a_rename_to_a_conflicting_name_is_refused(shop: Path, new: str) -> None:
    plain, offset = marked(JOB_FROM_RECIPE)
    with pytest.raises(declared_names.RenameRefused):
        declared_names.rename(view(shop, plain), offset, new)


def test_a_rename_of_a_built_in_wood_is_refused(shop: Path) -> None:
    plain, offset = marked(demo("stock { wood te‸ak }"))
    with pytest.raises(declared_names.RenameRefused, match="built in"):
        declared_names.rename(view(shop, plain), offset, "ipe")


def test_a_rename_of_a_parameter_changes_the_jobs_too(shop: Path) -> None:
    text = (shop / "shared" / "recipes.flat").read_text()
    (shop / "jobs" / "one.flat").write_text(JOB_FROM_RECIPE.replace("‸", ""))
    edits = declared_names.rename(view(shop, text, "shared/recipes.flat"), text.index("rough"), "sawn")
    assert {(edit.span.path, edit.text) for edit in edits} == {
        ("shared/recipes.flat", "sawn"),
        ("jobs/one.flat", "sawn"),
    }
    assert len(edits) == 3
    with pytest.raises(declared_names.RenameRefused):
        declared_names.rename(view(shop, text, "shared/recipes.flat"), text.index("rough"), "to")
