"""What an editor shows of a batch: its lens, its hints, where its panels lie, and what is wrong with it."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path

import pytest
from conftest import ROOT
from lsp.editor import Editor, played
from lsp.marked import demo, view
from lsprotocol import types as lsp

from flatwise.pipeline import build_batch, read_works
from flatwise.report.display import duration, machine_time
from flatwise.report.summary import batch_summary
from flatwise_lsp.features import hover
from flatwise_lsp.features.results import find_results
from flatwise_lsp.workspace.view import View

TEXT = (ROOT / "jobs" / "tray_batch.flat").read_text(encoding="utf-8")
TRAYS = ["bread_tray", "cheese_tray", "tea_tray", "fruit_tray"]


@cache
def trays() -> View:
    return view(ROOT, TEXT, "jobs/tray_batch.flat", checked=True)


def test_the_lens_of_a_batch_builds_the_batch_and_those_of_its_jobs_stay() -> None:
    *jobs, batch = find_results(trays())
    assert [one.name for one in jobs] == TRAYS and all("18mm ±" in one.summary for one in jobs)
    (front,) = read_works([ROOT / "jobs" / "tray_batch.flat"]).batches
    built = build_batch(front)
    assert built.plan is not None
    time = duration(machine_time(built.plan))
    assert [(one.title, one.command, one.job) for one in batch.lenses] == [
        (f"4 panels · both faces · {time}", "", "tray_batch"),
        ("Build", "build", "tray_batch"),
        ("Preview", "preview", "tray_batch"),
        ("Open the sheet", "sheet", "tray_batch"),
    ]
    assert TEXT[batch.head :].startswith("batch tray_batch")
    # the summary that build writes has the same places
    places = batch_summary(built)["jobs"]
    found = hover.hover(trays(), TEXT.index("tray_batch {") + 1)
    assert found is not None
    lines = re.findall(r"^- `(\w+)`: (\w+) at X ([\d.]+)mm, Y ([\d.]+)mm · .* left · ", found.markdown, re.MULTILINE)
    assert [line[0] for line in lines] == TRAYS
    for line, job in zip(lines, places, strict=True):
        assert [line[1], float(line[2]), float(line[3])] == list(job["place"].values())


def test_the_hints_of_a_batch() -> None:
    batch = find_results(trays())[-1]
    lines = {TEXT[: one.offset].splitlines()[-1].split()[0]: one for one in batch.hints}
    assert list(lines) == ["jobs", "gap", "from"]
    assert re.fullmatch(r"16 min \d+ s, saves \d+ s", lines["jobs"].label)
    assert lines["gap"].label == "40mm at the nearest"
    assert re.fullmatch(r"X [\d.]+ to [\d.]+mm, Y [\d.]+ to [\d.]+mm", lines["from"].label)
    assert all(name in lines["from"].tooltip for name in TRAYS)


def test_the_name_of_a_job_shows_its_result_and_in_a_batch_its_place() -> None:
    alone = hover.hover(trays(), TEXT.index("job cheese_tray") + 5)
    listed = hover.hover(trays(), TEXT.index("cheese_tray, tea_tray") + 1)
    assert alone is not None and listed is not None
    assert alone.markdown.startswith("**18mm ±") and " at X " not in alone.markdown
    assert "`cheese_tray`: front_left at X " in listed.markdown


def test_a_panel_without_room_is_reported_at_its_name_in_the_batch() -> None:
    text = TEXT.replace("gap   40mm", "gap   400mm")
    seen = view(ROOT, text, "jobs/tray_batch.flat", checked=True)
    assert seen.analysis is not None
    (finding,) = seen.analysis.findings
    assert finding.span is not None and finding.code == "FW301"
    assert text[finding.span.start : finding.span.end] in TRAYS and finding.span.start > text.index("batch tray_batch")
    assert find_results(seen)[-1].summary == "Does not build: 1 error"


@pytest.mark.parametrize("lenses", [True, False])
def test_an_editor_without_lenses_has_their_commands_as_code_actions(shop: Path, lenses: bool) -> None:
    def without(abilities: lsp.ClientCapabilities) -> None:
        assert abilities.text_document is not None
        if not lenses:
            abilities.text_document.code_lens = None

    async def offered(editor: Editor, line: int) -> list[str]:
        at = lsp.Range(lsp.Position(line, 2), lsp.Position(line, 2))
        given = lsp.CodeActionParams(editor.document("jobs/one.flat"), at, lsp.CodeActionContext([]))
        found = await editor.client.text_document_code_action_async(given) or []
        return [one.title for one in found if one.title.startswith(("Build", "Open"))]

    async def play(editor: Editor) -> None:
        text = demo("zero { z bed }; cut { depth 0.5mm }") + "batch one_tray { jobs demo }\n"
        (shop / "jobs" / "one.flat").write_text(text)
        editor.open("jobs/one.flat")
        commands = [["Build demo", "Open the sheet of demo"], ["Build one_tray", "Open the sheet of one_tray"]]
        lines = [number for number, line in enumerate(text.splitlines()) if line.startswith(("job", "batch"))]
        assert [await offered(editor, line) for line in lines] == ([[], []] if lenses else commands)
        assert await offered(editor, lines[0] + 1) == []
        for name, said in (("build", "Built.\none_tray: "), ("sheet", f"{shop.resolve()}/out/one_tray/sheet.html")):
            run = lsp.ExecuteCommandParams(f"flatwise.{name}", [editor.uri("jobs/one.flat"), "one_tray"])
            if not lenses:
                assert str(await editor.client.workspace_execute_command_async(run)).startswith(said)

    played(shop, play, change=without)
