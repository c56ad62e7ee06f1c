"""Fixes and other changes that are offered in small texts."""

from __future__ import annotations

from pathlib import Path

import pytest
from lsp.marked import demo, view

from flatwise.report.display import duration
from flatwise.report.other_choices import machine_time
from flatwise_lsp.features import code_actions
from flatwise_lsp.server.conversion import Converter
from flatwise_lsp.workspace.documents import uri_of
from flatwise_lsp.workspace.shifted_findings import BlockShift


def applied(text: str, action: code_actions.Action) -> str:
    for edit in sorted(action.edits, key=lambda one: -one.span.start):
        text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    return text


def offered(root: Path, text: str) -> list[code_actions.Action]:
    return code_actions.find_actions(view(root, text, checked=True), 0, len(text))


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
def test_a_certain_fix_resolves_its_finding(shop: Path, line: str, code: str) -> None:
    text = demo(line)
    assert code in codes(shop, text)
    certain = [one for one in offered(shop, text) if one.certain and one.finding and one.finding.code == code]
    assert len(certain) == 1
    assert code not in codes(shop, applied(text, certain[0]))


def test_many_findings_are_answered_without_trying_out_every_change(
    shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A whole file of slips, selected: beyond its time a request reads nothing more, and offers each change once."""
    tried: list[code_actions.Action] = []

    def counted(_: object, action: code_actions.Action) -> bool:
        tried.append(action)
        return True

    monkeypatch.setattr(code_actions, "TRYING", -1.0)
    monkeypatch.setattr(code_actions, "_can_help", counted)
    found = offered(shop, "recipe r {\n" + "machin bench_router\n" * 50 + "}\n")
    assert tried == []
    assert [one.title for one in found].count("Write `machine` in all 50 places") == 1
    assert sum(one.certain for one in found) == 50


@pytest.mark.parametrize("before", ["0,0,32\n", "x,y,z\n0,0,32\n", "# probed\n\nx,y,z\n0,0,32\n"])
def test_the_header_of_a_file_of_points_is_written_into_that_file(shop: Path, before: str) -> None:
    text = demo('survey { probe "top.csv" }')
    points = shop / "jobs" / "top.csv"
    points.write_text(before + "900,0,32\n0,500,32\n")
    assert codes(shop, text) == ["FW003"]
    (fix,) = (one for one in offered(shop, text) if one.certain)
    seen = view(shop, text, checked=True)
    edit = Converter("utf-16", uri_of).workspace_edit(fix.edits, seen.meaning, {}, versioned=False)
    assert edit.changes is not None and list(edit.changes) == [uri_of(points)]
    (change,) = edit.changes[uri_of(points)]
    assert change.range.start.line == before.count("\n", 0, max(before.find("x,y,z"), 0))
    points.write_text(applied(points.read_text(), fix))
    assert "x mm,y mm,z mm\n0,0,32\n" in points.read_text() and "FW003" not in codes(shop, text)


def test_a_bare_number_is_offered_its_likely_units(shop: Path) -> None:
    text = demo("cut { depth 0.5 }")
    assert codes(shop, text) == ["FW104"]
    made = {one.title: one for one in offered(shop, text) if one.edits}
    assert list(made) == ["Write `0.5mm`", "Write `0.5in`"]
    assert not any(one.certain for one in made.values())
    assert codes(shop, applied(text, made["Write `0.5mm`"])) == []


def test_a_missing_line_is_offered_with_its_example(shop: Path) -> None:
    text = 'use "../shared/shop.flat"\n\ndog tall_dog {\n    across 19mm\n}\n'
    assert codes(shop, text) == ["FW105"]
    found = next(one for one in offered(shop, text) if one.finding and one.finding.code == "FW105" and one.edits)
    assert codes(shop, applied(text, found)) == []


def test_a_missing_line_is_put_into_its_block_where_the_brace_is_wrong(shop: Path) -> None:
    for rest in ("", "\nwood ash {\n}\n"):
        text = 'use "../shared/shop.flat"\n\ndog tall_dog m\n    across 19mm\n}\n' + rest
        found = [one for one in offered(shop, text) if one.finding and one.finding.code == "FW105" and one.edits]
        lines = [applied(text, one).split("\n") for one in found if "tall_dog" in one.finding.message]
        assert lines and all(each[2] == "dog tall_dog m" and each[4] == "    height 11mm" for each in lines)


def test_a_closing_brace_is_offered_for_an_open_block(shop: Path) -> None:
    text = demo("cut { stepover 50% }").replace("50% }", "50%")
    assert codes(shop, text) == ["FW002"]
    found = next(one for one in offered(shop, text) if one.title == "Close the block here")
    assert codes(shop, applied(text, found)) == []


def test_the_maximum_thickness_is_offered_as_the_target(shop: Path) -> None:
    text = demo("faces { first until clean; second to 31.9mm; flip over long_edge }")
    assert "FW601" in codes(shop, text)
    fix = next(one for one in offered(shop, text) if one.certain and one.finding and one.finding.code == "FW601")
    assert "FW601" not in codes(shop, applied(text, fix))


def test_a_waiver_is_offered_without_a_reason_so_that_the_compiler_asks_for_one(shop: Path) -> None:
    text = demo("cut { depth 0.8mm }")
    assert codes(shop, text) == ["FW701"]
    waiver = next(one for one in offered(shop, text) if one.title.startswith("Waive depth"))
    assert not waiver.certain
    waived = applied(text, waiver)
    assert codes(shop, waived) == ["FW702"]
    assert codes(shop, waived.replace('because ""', 'because "tried on an offcut"')) == []


def test_each_code_can_be_explained_once(shop: Path) -> None:
    text = demo("cut { stepovr 50%; dpth 1mm }")
    assert [one.explain for one in offered(shop, text) if one.explain] == ["FW101"]


def test_a_holder_is_moved_to_a_clear_place(shop: Path) -> None:
    """Two clamps at one place of an edge overlap (FW503); a few per cent further apart they do not."""
    text = demo(
        "hold { dog low_dog left at 25%, 75%; dog low_dog front at 15%, 85%; clamp side_cam right at 50%; "
        "clamp side_cam back at 50%, 54% }"
    )
    assert "FW503" in codes(shop, text)
    seen = view(shop, text, checked=True)
    action = next(one for one in code_actions.find_actions(seen, 0, len(text)) if one.holder is not None)
    assert action.holder is not None and action.finding is not None
    edits = code_actions.resolve_move(seen, action.finding.code, action.holder.start)
    assert len(edits) == 1
    assert "FW503" not in codes(shop, applied(text, action._replace(edits=edits)))


@pytest.mark.parametrize(
    ("line", "code", "title", "after"),
    [
        (
            "survey { thickness front_left 32mm, front_left 32.9mm, centre 32mm; within 0.05mm }",
            "FW202",
            "Leave out `front_left 32.9mm`",
            "survey { thickness front_left 32mm, centre 32mm; within 0.05mm }",
        ),
        (
            "survey { thickness front_left 32mm, front_left 32.9mm, centre 32mm; within 0.05mm }",
            "FW202",
            "Leave out `front_left 32mm`",
            "survey { thickness front_left 32.9mm, centre 32mm; within 0.05mm }",
        ),
        (
            "stock { glue_lines y 125mm, 250mm }\n    survey { step 0.3mm at y 240mm }",
            "FW202",
            "Write `250mm`",
            "stock { glue_lines y 125mm, 250mm }\n    survey { step 0.3mm at y 250mm }",
        ),
        ("cut { depth 0.4mm; depth 0.5mm }", "FW103", "Leave out this line", "cut { depth 0.4mm }"),
        ("cut { depth 0.4mm; depth 0.5mm }", "FW103", "Leave out the first one", "cut { depth 0.5mm }"),
        ("zero { corner front_left at (90, 80mm) }", "FW104", None, None),
        ('cut { overrun 1/4"; finish 0.2mm }', "FW003", "Write in", "cut { overrun 1/4in; finish 0.2mm }"),
        (
            'stock { size 35" x 20" x 1 1/4" }',
            "FW003",
            "Write in",
            "stock { size 35in x 20in x 1 1/4in }",
        ),
        ("cut { depth 0.4mn }", "FW003", "Write `mm`", "cut { depth 0.4mm }"),
    ],
)
def test_a_way_out_is_offered(shop: Path, line: str, code: str, title: str | None, after: str | None) -> None:
    text = demo(line)
    assert code in codes(shop, text)
    made = {one.title: one for one in offered(shop, text) if one.finding is not None and one.finding.code == code}
    if title is not None and after is not None:
        assert applied(text, made[title]) == demo(after)
        assert code not in codes(shop, demo(after))


def test_a_tolerance_that_the_errors_exceed_is_offered_as_wide_as_they_are(shop: Path) -> None:
    text = demo("faces { first balanced; second to 29mm +/- 0.01mm; flip over long_edge }")
    assert codes(shop, text) == ["FW603"]
    fix = next(one for one in offered(shop, text) if one.certain)
    assert "FW603" not in codes(shop, applied(text, fix))


def test_a_file_that_declares_an_unknown_name_is_offered_for_use(shop: Path) -> None:
    text = demo("cut { cutter new_one }")
    (shop / "shared" / "other.flat").write_text('use "shop.flat"\ncutter new_one like fly_64 { diameter 60mm }\n')
    assert codes(shop, text) == ["FW102"]
    use = next(one for one in offered(shop, text) if one.title == 'Add `use "../shared/other.flat"`')
    assert codes(shop, applied(text, use)) == []
    # where the name is misspelt, too, nothing but names is offered
    assert not any("use" in one.title for one in offered(shop, demo("cut { cutter new_two }")))


def test_a_lower_clamp_is_offered_where_no_other_place_helps(shop: Path, repository: Path) -> None:
    text = (repository / "tests" / "cases" / "lamp_table_first_plan.flat").read_text()
    text = text.replace('use "../../shared/', 'use "../shared/')
    assert codes(shop, text) == ["FW501"]
    made = [one for one in offered(shop, text) if one.finding is not None]
    assert [one.title for one in made] == ["Write `side_cam`"]
    assert codes(shop, applied(text, made[0])) == []


# -- lines that save machine time


def savings(root: Path, text: str, at: str) -> dict[str, code_actions.Action]:
    """The lines offered where `at` stands in a text, by title."""
    seen, offset = view(root, text, checked=True), text.index(at)
    return {one.title: one for one in code_actions.find_actions(seen, offset, offset) if "saves" in one.title}


def machine_seconds(root: Path, text: str) -> float:
    analysis = view(root, text, checked=True).analysis
    assert analysis is not None
    (outcome,) = analysis.outcomes.values()
    assert outcome.plan is not None and codes(root, text) == []
    return machine_time(outcome.plan)


@pytest.mark.parametrize(
    ("body", "at", "title", "written"),
    [
        # in place of the written figure, which keeps its column and its comment
        ("cut {\n        depth    0.3mm  # shy\n    }", "depth", "depth 0.6mm", "depth    0.6mm  # shy"),
        ("cut { stepover 40%; depth 0.3mm }", "40%", "stepover auto", "{ stepover auto; depth 0.3mm }"),
        # a figure of the recipe, at the header of the job: into its own block, or into a new one
        ("cut { depth 0.6mm }", "job demo", "finish 0.6mm", "cut { finish 0.6mm; depth 0.6mm }"),
        ('waive depth because "tried"', "job demo", "finish 0.5mm", "\n    cut { finish 0.5mm }\n}"),
        (
            "stock { wood ash }",
            "job demo",
            "finish 0.5mm",
            "demo from plain_top {\n    cut { finish 0.5mm }\n    stock {",
        ),
    ],
)
def test_a_line_that_saves_time_is_offered_and_saves_it(
    shop: Path, body: str, at: str, title: str, written: str
) -> None:
    text = demo(body)
    found = savings(shop, text, at)
    (action,) = (one for name, one in found.items() if name.startswith(f"Write `{title}` (saves "))
    after = applied(text, action)
    assert written in after
    saved = machine_seconds(shop, text) - machine_seconds(shop, after)
    assert action.title.endswith(f"(saves {duration(saved)})")
    assert not action.certain


def test_the_lines_of_a_recipe_are_not_offered_at_other_lines(shop: Path) -> None:
    assert savings(shop, demo("cut { depth 0.6mm }"), "depth") == {}


def test_a_job_with_an_error_is_offered_no_savings(shop: Path) -> None:
    assert savings(shop, demo("cut { depth 0.3mm }\n    faces { second to 40mm }"), "depth") == {}


def test_savings_are_worked_out_when_asked_for_and_once(shop: Path) -> None:
    text = demo("cut { depth 0.3mm; stepover 40% }")
    seen = view(shop, text, checked=True)
    assert seen.analysis is not None
    outcome = seen.analysis.outcomes["demo"]
    assert outcome.asked == {}
    code_actions.find_actions(seen, text.index("depth"), text.index("depth"))
    assert list(outcome.asked) == ["depth"]
    assert outcome.choices("depth") is outcome.choices("depth")
    # a newer text in which the job stays the same knows them too
    assert outcome.shifted(BlockShift([0], [5])).choices("depth") is outcome.choices("depth")
