"""Names, shape, colours, results and places in small texts; `‸` marks the cursor."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from lsp.marked import demo, marked, view

from flatwise.report.display import duration
from flatwise_lsp.features import declared_names, file_links, folding, plan_hints, selection, semantic_tokens, symbols
from flatwise_lsp.workspace.cursor import cursor_at, model_by_headers

# -- names -----------------------------------------------------------------------------------------------------------

TWO_JOBS = """use "../shared/shop.flat"
use "../shared/recipes.flat"

cutter small like fly_64 { diameter 50mm }

job one from glued_top {
    length 900mm; width 300mm; rough 30mm; finish 25mm
    cut { cutter sm‸all }
}
"""


def test_definition_and_references_of_a_name(shop: Path) -> None:
    plain, offset = marked(TWO_JOBS)
    seen = view(shop, plain)
    at = declared_names.find_definition(seen, offset)
    assert at is not None
    assert plain[at.start : at.end] == "small"
    assert plain[: at.start].endswith("cutter ")
    assert [plain[one.span.start : one.span.end] for one in declared_names.find_references(seen, offset)] == [
        "small",
        "small",
    ]


def test_references_across_files_are_all_uses_and_no_more(shop: Path) -> None:
    text = (shop / "shared" / "shop.flat").read_text()
    offset = text.index("low_dog") + 1
    seen = view(shop, text, "shared/shop.flat")
    found = declared_names.find_references(seen, offset)
    counted = 0
    for path in shop.rglob("*.flat"):
        counted += sum(line.split("#")[0].split().count("low_dog") for line in path.read_text().splitlines())
    assert len(found) == counted > 3


def test_rename_changes_every_use_and_the_meaning_stays(shop: Path) -> None:
    """After the edits the same jobs are there with the same findings."""
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
def test_rename_refuses_what_would_clash(shop: Path, new: str) -> None:
    plain, offset = marked(TWO_JOBS)
    with pytest.raises(declared_names.RenameRefused):
        declared_names.rename(view(shop, plain), offset, new)


def test_rename_of_a_built_in_wood_is_refused(shop: Path) -> None:
    plain, offset = marked(demo("stock { wood te‸ak }"))
    with pytest.raises(declared_names.RenameRefused, match="built in"):
        declared_names.rename(view(shop, plain), offset, "ipe")


def test_rename_of_a_parameter_takes_the_jobs_along(shop: Path) -> None:
    text = (shop / "shared" / "recipes.flat").read_text()
    (shop / "jobs" / "one.flat").write_text(TWO_JOBS.replace("‸", ""))
    edits = declared_names.rename(view(shop, text, "shared/recipes.flat"), text.index("rough"), "sawn")
    assert {(edit.span.path, edit.text) for edit in edits} == {
        ("shared/recipes.flat", "sawn"),
        ("jobs/one.flat", "sawn"),
    }
    assert len(edits) == 3
    with pytest.raises(declared_names.RenameRefused):
        declared_names.rename(view(shop, text, "shared/recipes.flat"), text.index("rough"), "to")


# -- shape, colours, results ------------------------------------------------------------------------------------------


def test_symbols_folds_and_links(shop: Path) -> None:
    seen = view(shop, demo("survey {\n        within 0.1mm\n        gap front 0mm\n    }"))
    assert [one.name for one in symbols.find_document_symbols(seen)] == ["demo"]
    assert [one.name for one in symbols.find_document_symbols(seen)[0].inner] == ["survey"]
    assert (3, 7, "region") in folding.find_folds(seen)
    assert (0, 1, "imports") in folding.find_folds(seen)
    assert [one.target.name for one in file_links.find_links(seen)] == ["shop.flat", "sample.flat"]
    assert "fly_64" in [one.name for one in symbols.find_workspace_symbols(seen, "fly")]


def test_selections_grow_from_the_item_to_the_file(shop: Path) -> None:
    plain, offset = marked(demo("cut { depth 0.‸5mm }"))
    grown = selection.grow_selection(view(shop, plain), offset)
    assert plain[grown[0].start : grown[0].end] == "0.5mm"
    assert all(inner.start >= outer.start and inner.end <= outer.end for inner, outer in pairwise(grown))
    assert grown[-1].end == len(plain)


def test_tokens_are_in_order_and_say_what_words_are(shop: Path) -> None:
    seen = view(shop, TWO_JOBS.replace("‸", ""))
    made = semantic_tokens.find_tokens(seen)
    assert all(one.end <= other.start for one, other in pairwise(made))
    said = {seen.text.text[one.start : one.end]: one.type for one in made}
    assert said["use"] == "keyword"
    assert said["small"] == "variable"
    assert said["length"] == "parameter"
    assert said["50mm"] == "number"


def test_a_delta_makes_the_new_tokens_of_the_old(shop: Path) -> None:
    first = view(shop, demo("cut { depth 0.5mm }"))
    second = view(shop, demo("cut { depth 0.5mm; finish 0.1mm }"))
    old = semantic_tokens.encode(semantic_tokens.find_tokens(first), first.text, "utf-16")
    new = semantic_tokens.encode(semantic_tokens.find_tokens(second), second.text, "utf-16")
    edit = semantic_tokens.find_edit(old, new)
    assert edit is not None
    assert old[: edit.start] + edit.data + old[edit.start + edit.deleted :] == new
    assert len(edit.data) < len(new)


def test_hints_show_the_plan_and_nothing_else(shop: Path) -> None:
    seen = view(
        shop,
        demo("cut { feed auto }\n    faces { first until clean; second to 28mm; flip over long_edge }"),
        checked=True,
    )
    assert seen.analysis is not None
    plan = seen.analysis.outcomes["demo"].plan
    assert plan is not None
    said = [one.label for one in plan_hints.find_hints(seen, 0, 10_000)]
    assert said[0].startswith(f"{plan.setups[0].feed:.0f}mm/min")
    for setup, label in zip(plan.setups, said[1:], strict=True):
        assert label.startswith(f"{len(setup.passes)} pass")
        assert duration(setup.time) in label
    assert "leaves 28mm ±" in said[-1]
    assert [lens.command for lens in plan_hints.find_lenses(seen)] == ["", "build", "sheet"]


def test_leaves_are_named_as_their_set_is_marked(shop: Path) -> None:
    job = demo("supports { shims leaf_set under corners }\n    survey { gap front_left 0.22mm; within 0.05mm }")
    leaves = plan_hints.find_hints(view(shop, job, checked=True), 0, job.index("leaf_set") + 30)[0]
    assert leaves.label == "front_left 0.10mm; back_right 0.10mm"


# -- places ----------------------------------------------------------------------------------------------------------


def test_places_know_the_model_of_every_block() -> None:
    assert model_by_headers((("job", "a"), ("after", "first"))) is not None
    assert model_by_headers((("job", "a"), ("stock", "bed"))) is model_by_headers((("job", "a"), ("stock",)))
    assert model_by_headers((("nonsense", "a"),)) is None


def test_a_place_in_half_a_text() -> None:
    plain, offset = marked("job a {\n  hold {\n    dog low_dog le‸")
    place = cursor_at(plain, offset)
    assert place.current is not None and place.current.text == "le"
    assert [piece.text for piece in place.line] == ["dog", "low_dog"]
    assert place.model is not None and place.model.kind == "hold"
