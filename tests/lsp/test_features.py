"""What the features say of small texts; `‸` marks the cursor."""

from __future__ import annotations

from itertools import pairwise
from pathlib import Path

import pytest
from lsp.marked import demo, marked, view

from flatwise.model.kinds import KINDS
from flatwise.read.pattern import block_shape
from flatwise.report.lines import minutes
from flatwise_lsp import actions, hints, hover, names, symbols, tokens, words
from flatwise_lsp.completion import complete
from flatwise_lsp.places import model_by_words, place_at


def labels(root: Path, text: str) -> list[str]:
    plain, offset = marked(text)
    return [offer.label for offer in complete(view(root, plain), offset)]


@pytest.mark.parametrize(
    ("line", "all_of", "none_of"),
    [
        ("‸", ["machine", "survey", "waive", "after first"], ["job", "diameter"]),
        ("hold { dog ‸ }", ["low_dog"], ["edge_cam", "left"]),
        ("hold { dog low_dog ‸ }", ["left", "right", "front", "back"], ["low_dog"]),
        ("hold { dog low_dog left ‸ }", ["at"], []),
        ("hold { dog low_dog left at ‸ }", ["50%"], []),
        ("cut { depth 0.5‸ }", ["0.5mm", "0.5in"], ["0.5rpm"]),
        ("cut { depth 0.5 ‸ }", ["mm", "in", "thou"], ["rpm"]),
        ("cut { speed 14000‸ }", ["14000rpm"], ["14000mm"]),
        ("cut { pattern raster along grain, ‸ }", ["one_way", "perimeter"], ["raster"]),
        ("survey { gap ‸ }", ["front_left", "centre", "corners"], ["ash"]),
        ("survey { gap (12‸ }", ["12mm"], []),
        ("stock { wood ‸ }", ["ash", "mdf", "white_oak", "teak"], ["low_dog"]),
        ("faces { second ‸ }", ["until", "to", "take", "balanced"], []),
        ("waive ‸", ["depth", "survey"], ["unseen"]),
        ("cut { cutter fly_64; depth 1mm; ‸ }", ["stepover"], ["cutter", "depth"]),
        ("# a note ‸", [], ["machine"]),
    ],
)
def test_completion_by_place(shop: Path, line: str, all_of: list[str], none_of: list[str]) -> None:
    found = labels(shop, demo(line))
    assert [label for label in all_of if label not in found] == []
    assert [label for label in none_of if label in found] == []
    assert found or not all_of


def test_completion_outside_of_blocks(shop: Path) -> None:
    assert {"use", *KINDS} == set(labels(shop, "‸"))
    assert "like" in labels(shop, 'use "../shared/shop.flat"\ncutter small ‸')
    assert "fly_64" in labels(shop, 'use "../shared/shop.flat"\ncutter small like ‸')
    assert labels(shop, 'use "../shared/recipes.flat"\njob bench from ‸') == ["glued_top"]
    assert '"../shared/shop.flat"' in labels(shop, 'use "‸')


@pytest.mark.parametrize("written", ['use "‸"\n', 'use "../sh‸op.flat"\n'])
def test_a_chosen_file_leaves_no_quotation_mark_behind(shop: Path, written: str) -> None:
    plain, offset = marked(written)
    offer = next(one for one in complete(view(shop, plain), offset) if one.label == '"../shared/shop.flat"')
    assert plain[: offer.start] + offer.snippet + plain[offer.end :] == 'use "../shared/shop.flat"\n'


def test_a_job_from_a_recipe_is_offered_its_parameters(shop: Path) -> None:
    found = labels(shop, 'use "../shared/recipes.flat"\njob bench from glued_top {\n    length 1m\n    ‸\n}\n')
    assert {"width", "rough", "finish"} <= set(found)
    assert "length" not in found


def test_every_snippet_of_the_model_is_its_example(shop: Path) -> None:
    """With its stops taken out a snippet is the example, which `check` reads."""
    from flatwise_lsp.protocol import bare

    seen = 0
    waiting = list(dict.fromkeys(KINDS.values()))
    while waiting:
        shape = block_shape(waiting.pop())
        waiting.extend(inner for _, inner in shape.blocks.values())
        for one in shape.words.values():
            assert bare(words.snippet(one, 1)[0]) == one.example
            seen += 1
    assert seen > 60


def test_completion_documents_what_it_offers(shop: Path) -> None:
    plain, offset = marked(demo("cut { ‸ }"))
    offers = {offer.label: offer for offer in complete(view(shop, plain), offset)}
    assert "The deepest bite in one pass" in offers["depth"].documentation
    assert "*Default:* 60%" in offers["stepover"].documentation


# -- hover ---------------------------------------------------------------------------------------------------


def page(root: Path, text: str, *, checked: bool = False) -> str:
    plain, offset = marked(text)
    found = hover.hover(view(root, plain, checked=checked), offset)
    return found.markdown if found is not None else ""


def test_hover_over_a_word_gives_meaning_bounds_and_default(shop: Path) -> None:
    said = page(shop, demo("cut { step‸over 50% }"))
    assert "From row to row" in said
    assert "*Bounds:*" in said
    assert "*Default:* 60%" in said


def test_hover_over_a_quantity_gives_the_other_units(shop: Path) -> None:
    """1 in = 25.4 mm exactly (international inch)."""
    said = page(shop, demo("cut { depth 1/4‸in }"))
    assert "6.35mm" in said
    assert "250thou" in said


def test_hover_over_a_cutter_gives_what_it_does_here(shop: Path) -> None:
    """Rim speed π·D·n: 64 mm at 14000 rpm is 46.9 m/s."""
    said = page(shop, demo("cut { cutter fly‸_64 }"), checked=True)
    assert "rim speed 46.9m/s" in said
    assert "chip load" in said
    assert "power" in said


def test_hover_over_a_clamp_gives_its_clearance_in_each_setup(shop: Path) -> None:
    said = page(
        shop,
        demo(
            "hold { dog low_dog left at 50%; dog low_dog front at 50%; clamp edge_‸cam right at 50%; "
            "clamp edge_cam back at 50% }"
        ),
        checked=True,
    )
    assert "first face: the cutter passes" in said
    assert "second face: the cutter passes" in said


def test_hover_over_a_wood_gives_its_source(shop: Path) -> None:
    assert "Wood Handbook" in page(shop, demo("stock { wood te‸ak }"))


def test_hover_over_a_header(shop: Path) -> None:
    assert "already cut to its finished outline" in page(shop, demo("sto‸ck { wood ash }"))


def test_signature_marks_the_value_that_is_due(shop: Path) -> None:
    plain, offset = marked(demo("stock { size 900mm x ‸ }"))
    found = hover.signature(view(shop, plain), offset)
    assert found is not None and found.active is not None
    start, end = found.holes[found.active]
    assert found.label[start:end] == "‹width›"


# -- names ---------------------------------------------------------------------------------------------------

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
    at = names.definition(seen, offset)
    assert at is not None
    assert plain[at.start : at.end] == "small"
    assert plain[: at.start].endswith("cutter ")
    assert [plain[one.span.start : one.span.end] for one in names.references(seen, offset)] == ["small", "small"]


def test_references_across_files_are_all_uses_and_no_more(shop: Path) -> None:
    text = (shop / "shared" / "shop.flat").read_text()
    offset = text.index("low_dog") + 1
    seen = view(shop, text, "shared/shop.flat")
    found = names.references(seen, offset)
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
    edits = names.rename(view(shop, text, "shared/shop.flat"), text.index("low_dog"), "stout_dog")
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
    with pytest.raises(names.Refused):
        names.rename(view(shop, plain), offset, new)


def test_rename_of_a_built_in_wood_is_refused(shop: Path) -> None:
    plain, offset = marked(demo("stock { wood te‸ak }"))
    with pytest.raises(names.Refused, match="built in"):
        names.rename(view(shop, plain), offset, "ipe")


def test_rename_of_a_parameter_takes_the_jobs_along(shop: Path) -> None:
    text = (shop / "shared" / "recipes.flat").read_text()
    (shop / "jobs" / "one.flat").write_text(TWO_JOBS.replace("‸", ""))
    edits = names.rename(view(shop, text, "shared/recipes.flat"), text.index("rough"), "sawn")
    assert {(edit.span.path, edit.text) for edit in edits} == {
        ("shared/recipes.flat", "sawn"),
        ("jobs/one.flat", "sawn"),
    }
    assert len(edits) == 3
    with pytest.raises(names.Refused):
        names.rename(view(shop, text, "shared/recipes.flat"), text.index("rough"), "to")


# -- shape, colours, results ---------------------------------------------------------------------------------


def test_symbols_folds_and_links(shop: Path) -> None:
    seen = view(shop, demo("survey {\n        within 0.1mm\n        gap front 0mm\n    }"))
    assert [one.name for one in symbols.document_symbols(seen)] == ["demo"]
    assert [one.name for one in symbols.document_symbols(seen)[0].inner] == ["survey"]
    assert (3, 7, "region") in symbols.folds(seen)
    assert (0, 1, "imports") in symbols.folds(seen)
    assert [one.target.name for one in symbols.links(seen)] == ["shop.flat", "sample.flat"]
    assert "fly_64" in [one[0].name for one in symbols.workspace_symbols(seen, "fly")]


def test_selections_grow_from_the_item_to_the_file(shop: Path) -> None:
    plain, offset = marked(demo("cut { depth 0.‸5mm }"))
    grown = symbols.selections(view(shop, plain), offset)
    assert plain[grown[0].start : grown[0].end] == "0.5mm"
    assert all(inner.start >= outer.start and inner.end <= outer.end for inner, outer in pairwise(grown))
    assert grown[-1].end == len(plain)


def test_tokens_are_in_order_and_say_what_words_are(shop: Path) -> None:
    seen = view(shop, TWO_JOBS.replace("‸", ""))
    made = tokens.tokens(seen)
    assert all(one.end <= other.start for one, other in pairwise(made))
    said = {seen.text.text[one.start : one.end]: one.type for one in made}
    assert said["use"] == "keyword"
    assert said["small"] == "variable"
    assert said["length"] == "parameter"
    assert said["50mm"] == "number"


def test_a_delta_makes_the_new_tokens_of_the_old(shop: Path) -> None:
    first = view(shop, demo("cut { depth 0.5mm }"))
    second = view(shop, demo("cut { depth 0.5mm; finish 0.1mm }"))
    old = tokens.encoded(tokens.tokens(first), first.text, "utf-16")
    new = tokens.encoded(tokens.tokens(second), second.text, "utf-16")
    edit = tokens.delta(old, new)
    assert edit is not None
    assert old[: edit.start] + edit.data + old[edit.start + edit.gone :] == new
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
    said = [one.label for one in hints.hints(seen, 0, 10_000)]
    assert said[0].startswith(f"{plan.setups[0].feed:.0f}mm/min")
    for setup, label in zip(plan.setups, said[1:], strict=True):
        assert label.startswith(f"{len(setup.passes)} pass")
        assert minutes(setup.time) in label
    assert "leaves 28mm ±" in said[-1]
    assert [lens.command for lens in hints.lenses(seen)] == ["", "build", "sheet"]


def test_leaves_are_named_as_their_set_is_marked(shop: Path) -> None:
    job = demo("supports { shims leaf_set under corners }\n    survey { gap front_left 0.22mm; within 0.05mm }")
    leaves = hints.hints(view(shop, job, checked=True), 0, job.index("leaf_set") + 30)[0]
    assert leaves.label == "front_left 0.10mm; back_right 0.10mm"


# -- actions -------------------------------------------------------------------------------------------------


def applied(text: str, action: actions.Action) -> str:
    for edit in sorted(action.edits, key=lambda one: -one.span.start):
        text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    return text


def offered(root: Path, text: str) -> list[actions.Action]:
    return actions.actions(view(root, text, checked=True), 0, len(text))


def codes(root: Path, text: str) -> list[str]:
    analysis = view(root, text, checked=True).analysis
    assert analysis is not None
    return [finding.code for finding in analysis.findings if finding.severity == "error"]


@pytest.mark.parametrize(
    ("line", "code"),
    [
        ("cut { stepovr 50% }", "FW101"),
        ("cut { cutter fly_46 }", "FW102"),
        ("cut { depth 5mm }", "FW401"),
        ("cut { speed 20000rpm }", "FW402"),
    ],
)
def test_a_certain_fix_mends_its_finding(shop: Path, line: str, code: str) -> None:
    text = demo(line)
    assert code in codes(shop, text)
    certain = [one for one in offered(shop, text) if one.certain and one.finding and one.finding.code == code]
    assert len(certain) == 1
    assert code not in codes(shop, applied(text, certain[0]))


def test_a_bare_number_is_offered_its_likely_units(shop: Path) -> None:
    text = demo("cut { depth 0.5 }")
    assert codes(shop, text) == ["FW104"]
    made = {one.title: one for one in offered(shop, text) if one.edits}
    assert list(made) == ["write `0.5mm`", "write `0.5in`"]
    assert not any(one.certain for one in made.values())
    assert codes(shop, applied(text, made["write `0.5mm`"])) == []


def test_a_missing_line_is_offered_with_its_example(shop: Path) -> None:
    text = 'use "../shared/shop.flat"\n\ndog tall_dog {\n    across 19mm\n}\n'
    assert codes(shop, text) == ["FW105"]
    found = next(one for one in offered(shop, text) if one.finding and one.finding.code == "FW105" and one.edits)
    assert codes(shop, applied(text, found)) == []


def test_a_missing_line_goes_into_its_block_where_the_brace_is_wrong(shop: Path) -> None:
    for rest in ("", "\nwood ash {\n}\n"):
        text = 'use "../shared/shop.flat"\n\ndog tall_dog m\n    across 19mm\n}\n' + rest
        found = [one for one in offered(shop, text) if one.finding and one.finding.code == "FW105" and one.edits]
        lines = [applied(text, one).split("\n") for one in found if "tall_dog" in one.finding.message]
        assert lines and all(each[2] == "dog tall_dog m" and each[4] == "    across 19mm" for each in lines)


def test_an_open_block_is_offered_its_brace(shop: Path) -> None:
    text = demo("cut { stepover 50% }").replace("50% }", "50%")
    assert codes(shop, text) == ["FW002"]
    found = next(one for one in offered(shop, text) if one.title == "close the block here")
    assert codes(shop, applied(text, found)) == []


def test_the_most_that_can_be_left_is_offered_as_the_target(shop: Path) -> None:
    text = demo("faces { first until clean; second to 31.9mm; flip over long_edge }")
    assert "FW601" in codes(shop, text)
    fix = next(one for one in offered(shop, text) if one.certain and one.finding and one.finding.code == "FW601")
    assert "FW601" not in codes(shop, applied(text, fix))


def test_a_waiver_is_written_without_a_reason_which_the_compiler_then_asks_for(shop: Path) -> None:
    text = demo("cut { depth 0.8mm }")
    assert codes(shop, text) == ["FW701"]
    waiver = next(one for one in offered(shop, text) if one.title.startswith("waive depth"))
    assert not waiver.certain
    waived = applied(text, waiver)
    assert codes(shop, waived) == ["FW702"]
    assert codes(shop, waived.replace('because ""', 'because "tried on an offcut"')) == []


def test_explain_is_offered_once_for_a_code(shop: Path) -> None:
    text = demo("cut { stepovr 50%; dpth 1mm }")
    assert [one.explain for one in offered(shop, text) if one.explain] == ["FW101"]


def test_a_holder_is_moved_to_where_nothing_is_wrong(shop: Path) -> None:
    """Two clamps at one place of an edge overlap (FW503); a few per cent further they do not."""
    text = demo(
        "hold { dog low_dog left at 25%, 75%; dog low_dog front at 15%, 85%; clamp edge_cam right at 50%; "
        "clamp edge_cam back at 50%, 54% }"
    )
    assert "FW503" in codes(shop, text)
    seen = view(shop, text, checked=True)
    action = next(one for one in actions.actions(seen, 0, len(text)) if one.search is not None)
    assert action.search is not None and action.finding is not None
    edits = actions.resolved(seen, action.finding.code, action.search.start)
    assert len(edits) == 1
    assert "FW503" not in codes(shop, applied(text, action._replace(edits=edits)))


# -- places --------------------------------------------------------------------------------------------------


def test_places_know_the_model_of_every_block() -> None:
    assert model_by_words((("job", "a"), ("after", "first"))) is not None
    assert model_by_words((("job", "a"), ("stock", "bed"))) is model_by_words((("job", "a"), ("stock",)))
    assert model_by_words((("nonsense", "a"),)) is None


def test_a_place_in_half_a_text() -> None:
    plain, offset = marked("job a {\n  hold {\n    dog low_dog le‸")
    place = place_at(plain, offset)
    assert place.part is not None and place.part.text == "le"
    assert [piece.text for piece in place.line] == ["dog", "low_dog"]
    assert place.model is not None and place.model.kind == "hold"
