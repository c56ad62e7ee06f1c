"""Whole sessions, with the recorded capabilities of several editors."""

from __future__ import annotations

import asyncio
import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pytest
from example_jobs import page_examples
from lsprotocol import types as lsp

pytest.importorskip("pytest_lsp", reason="pytest-lsp is not installed: pip install -e '.[test]'")

from lsp.editor import COMMAND, EDITORS, Editor, played, session
from lsp.marked import demo

from flatwise.findings import pages


def place(text: str, needle: str, into: int = 1) -> lsp.Position:
    """The position `into` characters behind the start of a needle (plain ASCII texts)."""
    before = text[: text.index(needle) + into]
    return lsp.Position(before.count("\n"), len(before) - before.rfind("\n") - 1)


@pytest.mark.parametrize(
    "name", [*EDITORS[:2], *(pytest.param(name, marks=pytest.mark.nightly) for name in EDITORS[2:])]
)
def test_an_editor_opens_a_file_with_an_error_shows_it_and_fixes_it(shop: Path, name: str) -> None:
    text = demo("cut { stepovr 50%; cutter fly_64 }")

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat", text)
        found = await editor.findings("jobs/one.flat", 1)
        assert [one.code for one in found] == ["FW101"]
        one = found[0]
        assert one.range.start == place(text, "stepovr", 0)
        assert one.source == "flatwise"
        assert one.code_description is not None
        assert Path(one.code_description.href.removeprefix("file://")).read_text().startswith("# FW101 ·")
        context = lsp.CodeActionContext(found)
        offers = await editor.client.text_document_code_action_async(
            lsp.CodeActionParams(editor.document("jobs/one.flat"), one.range, context)
        )
        fix = next(offer for offer in offers or [] if isinstance(offer, lsp.CodeAction) and offer.is_preferred)
        assert fix.edit is not None
        edits = (
            fix.edit.changes[editor.uri("jobs/one.flat")]
            if fix.edit.changes
            else (fix.edit.document_changes or [])[0].edits  # type: ignore[union-attr]
        )
        version = editor.change(
            "jobs/one.flat",
            lsp.TextDocumentContentChangePartial(edits[0].range, edits[0].new_text),  # type: ignore
        )
        assert "FW101" not in await editor.codes("jobs/one.flat", version)
        shown = await editor.client.text_document_hover_async(
            lsp.HoverParams(editor.document("jobs/one.flat"), place(text, "fly_64"))
        )
        assert shown is not None and isinstance(shown.contents, lsp.MarkupContent)
        assert "fly_64" in shown.contents.value

    played(shop, play, name=name)


def test_all_that_is_certain_is_fixed_on_saving(shop: Path) -> None:
    text = demo("cut { stepovr: 50%; dpeth = 0,4mm; cutter fly_46 }")

    async def play(editor: Editor) -> None:
        name = "jobs/one.flat"
        editor.open(name, text)
        await editor.findings(name, 1)
        start = lsp.Position(0, 0)

        async def offered(kind: str) -> Sequence[object]:
            context = lsp.CodeActionContext([], only=[kind])
            asked = lsp.CodeActionParams(editor.document(name), lsp.Range(start, start), context)
            return await editor.client.text_document_code_action_async(asked) or []

        assert not await offered("refactor")
        (action,) = await offered("source.fixAll")
        assert isinstance(action, lsp.CodeAction) and action.edit is not None
        (edit,) = (action.edit.changes or {}).get(editor.uri(name)) or (action.edit.document_changes or [])[0].edits  # type: ignore[union-attr]
        assert edit.new_text.strip() == "cut { stepover 50%; depth 0.4mm; cutter fly_46 }"  # type: ignore[union-attr]

    played(shop, play)


def test_a_line_that_saves_machine_time_is_offered_and_written(shop: Path) -> None:
    text = demo("cut { depth 0.3mm; cutter fly_64 }")

    async def play(editor: Editor) -> None:
        name = "jobs/one.flat"
        editor.open(name, text)
        before = await editor.codes(name, 1)
        at, context = place(text, "0.3mm"), lsp.CodeActionContext([], only=[lsp.CodeActionKind.QuickFix])
        asked = lsp.CodeActionParams(editor.document(name), lsp.Range(at, at), context)
        (offer,) = await editor.client.text_document_code_action_async(asked) or []
        assert isinstance(offer, lsp.CodeAction) and offer.title.startswith("Write `depth 0.6mm` (saves ")
        shown = await editor.client.text_document_hover_async(lsp.HoverParams(editor.document(name), at))
        assert shown is not None and isinstance(shown.contents, lsp.MarkupContent)
        assert "`depth 0.6mm` would save " in shown.contents.value
        assert offer.edit is not None
        (edit,) = (offer.edit.changes or {}).get(editor.uri(name)) or (offer.edit.document_changes or [])[0].edits  # type: ignore[union-attr]
        assert edit.new_text == "0.6mm"  # type: ignore[union-attr]
        version = editor.change(name, lsp.TextDocumentContentChangePartial(edit.range, "0.6mm"))  # type: ignore
        assert await editor.codes(name, version) == before
        assert not await editor.client.text_document_code_action_async(asked)

    played(shop, play)


def test_a_note_is_information(shop: Path) -> None:
    page = pages.page("FW207")
    assert page is not None
    text = page_examples(page.text)[0]

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat", text)
        found = [(one.code, one.severity) for one in await editor.findings("jobs/one.flat", 1)]
        assert found == [("FW207", lsp.DiagnosticSeverity.Information)]

    played(shop, play)


def test_findings_are_those_of_the_command_line(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The editor shows the code, message, help and place that `check` prints, for a job with several findings."""
    from flatwise.tool.cli import main

    text = demo("cut { depth 0.9mm; stepover 65% }\n    hold { dog low_dog left at 25%; clamp side_cam right at 50% }")
    (shop / "jobs" / "one.flat").write_text(text)
    main(["check", "jobs/one.flat", "--message", "json"])
    said = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    assert len(said) > 2

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat")
        found = await editor.findings("jobs/one.flat", 1)
        shown = {(one.code, one.message, one.range.start.line + 1, one.range.start.character + 1) for one in found}
        expected = {
            (one["code"], "\n".join(part for part in (one["message"], one["help"]) if part), one["line"], one["column"])
            for one in said
            if one["path"] == "jobs/one.flat"
        }
        assert shown == expected

    played(shop, play)


def test_jobs_see_the_unsaved_text_of_a_file_that_they_use(shop: Path) -> None:
    (shop / "jobs" / "one.flat").write_text(demo("cut { cutter fly_64 }"))

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat")
        assert "FW102" not in await editor.codes("jobs/one.flat", 1)
        editor.open("shared/shop.flat")
        text = (shop / "shared" / "shop.flat").read_text()
        editor.replace("shared/shop.flat", text.replace("cutter fly_64", "cutter fly_65"))
        await editor.until(lambda: "FW102" in editor.last_codes("jobs/one.flat"))
        editor.close("shared/shop.flat")
        await editor.until(lambda: "FW102" not in editor.last_codes("jobs/one.flat"))

    played(shop, play)


def test_jobs_of_the_workspace_are_checked_and_watched_without_being_opened(shop: Path) -> None:
    (shop / "jobs" / "one.flat").write_text(demo("cut { stepovr 50% }"))

    async def play(editor: Editor) -> None:
        assert await editor.codes("jobs/one.flat") == ["FW101"]
        assert lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES in editor.shown

        def kinds() -> list[str]:
            return [value["kind"] if isinstance(value, dict) else value.kind for value in editor.progress]

        await editor.until(lambda: kinds()[-1:] == ["end"])
        assert kinds()[0] == "begin"
        (shop / "jobs" / "one.flat").write_text(demo("cut { stepover 50% }"))
        changed = lsp.FileEvent(editor.uri("jobs/one.flat"), lsp.FileChangeType.Changed)
        editor.client.workspace_did_change_watched_files(lsp.DidChangeWatchedFilesParams([changed]))
        await editor.until(lambda: "FW101" not in editor.last_codes("jobs/one.flat"))
        (shop / "jobs" / "one.flat").unlink()
        gone = lsp.FileEvent(editor.uri("jobs/one.flat"), lsp.FileChangeType.Deleted)
        editor.client.workspace_did_change_watched_files(lsp.DidChangeWatchedFilesParams([gone]))
        await editor.until(lambda: not editor.last_codes("jobs/one.flat"))

    def watching(abilities: lsp.ClientCapabilities) -> None:
        assert abilities.workspace is not None
        abilities.workspace.did_change_watched_files = lsp.DidChangeWatchedFilesClientCapabilities(True)
        abilities.window = lsp.WindowClientCapabilities(work_done_progress=True)

    played(shop, play, change=watching)


@pytest.mark.nightly
def test_several_roots_each_with_its_own_shop(shop: Path, tmp_path: Path) -> None:
    other = tmp_path / "second"
    (other / "jobs").mkdir(parents=True)
    (other / "flatwise.toml").write_text("")
    (other / "jobs" / "two.flat").write_text('use "../shared/shop.flat"\n')
    (shop / "jobs" / "one.flat").write_text(demo("cut { stepovr 50% }"))

    async def play(editor: Editor) -> None:
        assert await editor.codes("jobs/one.flat") == ["FW101"]
        assert await editor.codes("second/jobs/two.flat") == ["FW106"]

    played(shop, play, roots=[shop, other])


@pytest.mark.parametrize(
    ("encoding", "column"),
    [
        (lsp.PositionEncodingKind.Utf8, 14),
        (lsp.PositionEncodingKind.Utf16, 12),
        pytest.param(lsp.PositionEncodingKind.Utf32, 11, marks=pytest.mark.nightly),
    ],
)
def test_columns_are_in_the_encoding_that_the_editor_wants(
    shop: Path, encoding: lsp.PositionEncodingKind, column: int
) -> None:
    """`# 😀` in a line: four bytes, two units, one character (RFC 3629 and RFC 2781)."""
    text = 'job "\U0001f600" { depth }\n'
    index = text.index("{")
    expected = len(text[:index].encode("utf-8")) if column == 14 else index + (1 if column == 12 else 0)

    async def play(editor: Editor) -> None:
        assert editor.capabilities is not None and editor.capabilities.position_encoding == encoding
        editor.open("jobs/one.flat", text)
        found = await editor.findings("jobs/one.flat", 1)
        ends = {one.range.end.character for one in found} | {one.range.start.character for one in found}
        assert any(end == expected - 1 for end in ends), (ends, expected)

    played(shop, play, encodings=[encoding])


def test_findings_are_not_published_to_an_editor_that_pulls_them(shop: Path) -> None:
    def pulling(abilities: lsp.ClientCapabilities) -> None:
        assert abilities.text_document is not None
        abilities.text_document.diagnostic = lsp.DiagnosticClientCapabilities()

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat", demo("cut { stepovr 50% }"))
        ask = lsp.DocumentDiagnosticParams(editor.document("jobs/one.flat"))
        first = await editor.client.text_document_diagnostic_async(ask)
        assert isinstance(first, lsp.RelatedFullDocumentDiagnosticReport)
        assert [one.code for one in first.items] == ["FW101"]
        ask.previous_result_id = first.result_id
        again = await editor.client.text_document_diagnostic_async(ask)
        assert isinstance(again, lsp.RelatedUnchangedDocumentDiagnosticReport)
        assert [one for one in editor.told if one.uri == editor.uri("jobs/one.flat")] == []

    played(shop, play, change=pulling)


@pytest.mark.nightly
def test_a_buffer_without_a_file_and_a_folder_behind_a_link(shop: Path, tmp_path: Path) -> None:
    """URIs come back as the editor spells them; otherwise it would open the file a second time."""
    link = tmp_path / "linked"
    link.symlink_to(shop, target_is_directory=True)
    (shop / "jobs" / "one.flat").write_text(demo("cut { cutter fly_64 }"))

    async def whole() -> None:
        async with session(shop, roots=[shop]) as editor:
            spelt = link.as_uri() + "/jobs/one.flat"
            text = demo("cut { stepovr 50%; cutter fly_64 }")
            for uri in (spelt, "untitled:Untitled-1"):
                opened = lsp.TextDocumentItem(
                    uri, "flatwise", 1, text.replace("../", "" if "untitled" in uri else "../")
                )
                editor.client.text_document_did_open(lsp.DidOpenTextDocumentParams(opened))

            def codes(uri: str) -> list[object]:
                return [[found.code for found in one.diagnostics] for one in editor.told if one.uri == uri]

            for uri in (spelt, "untitled:Untitled-1"):
                await editor.until(lambda uri=uri: "FW101" in str(codes(uri)[-1:]))  # type: ignore[misc]
            at = place(text, "fly_64")
            edit = await editor.client.text_document_rename_async(
                lsp.RenameParams(lsp.TextDocumentIdentifier(spelt), at, "fly_big")
            )
            assert edit is not None
            touched = set(edit.changes or {}) | {
                one.text_document.uri for one in edit.document_changes or [] if isinstance(one, lsp.TextDocumentEdit)
            }
            assert {spelt, editor.uri("shared/shop.flat")} <= touched
            assert editor.uri("jobs/one.flat") not in touched

    asyncio.run(whole())


@pytest.mark.nightly
def test_a_text_over_the_limit_is_refused_and_costs_no_time(shop: Path) -> None:
    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat", "# long\n" * 200_000)
        assert await editor.codes("jobs/one.flat", 1) == ["FW004"]
        here = editor.document("jobs/one.flat")
        start = asyncio.get_running_loop().time()
        await editor.client.text_document_completion_async(lsp.CompletionParams(here, lsp.Position(9, 1)))
        await editor.client.text_document_hover_async(lsp.HoverParams(here, lsp.Position(9, 1)))
        await editor.client.text_document_document_symbol_async(lsp.DocumentSymbolParams(here))
        assert asyncio.get_running_loop().time() - start < 2

    played(shop, play)


@pytest.mark.nightly
def test_a_burst_of_keystrokes_is_checked_a_few_times_and_the_last_version_wins(shop: Path) -> None:
    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat", demo("cut { depth 0.5mm }"))
        await editor.findings("jobs/one.flat", 1)
        seen = len(editor.told)
        for depth in range(1, 41):
            version = editor.replace("jobs/one.flat", demo(f"cut {{ depth {depth}mm }}"))
        found = await editor.findings("jobs/one.flat", version)
        assert any("40mm" in one.message for one in found)
        told = [one for one in editor.told[seen:] if one.uri == editor.uri("jobs/one.flat")]
        assert len(told) <= 10
        assert [one.version for one in told] == sorted(one.version or 0 for one in told)

    played(shop, play)


@pytest.mark.nightly
def test_requests_about_a_closed_or_meaningless_file_are_answered(shop: Path) -> None:
    async def play(editor: Editor) -> None:
        document = editor.document("jobs/none.flat")
        at = lsp.Position(3, 3)
        assert await editor.client.text_document_hover_async(lsp.HoverParams(document, at)) is None
        assert await editor.client.text_document_completion_async(lsp.CompletionParams(document, at)) is None
        editor.open("jobs/one.flat", "}}} job { \x00 \u2028 #")
        far = lsp.Position(9999, 9999)
        here = editor.document("jobs/one.flat")
        await editor.client.text_document_hover_async(lsp.HoverParams(here, far))
        await editor.client.text_document_completion_async(lsp.CompletionParams(here, far))
        await editor.client.text_document_folding_range_async(lsp.FoldingRangeParams(here))
        with pytest.raises(Exception, match=r"no name|no place|declaration"):
            await editor.client.text_document_rename_async(lsp.RenameParams(here, far, "x"))
        assert "FW001" in await editor.codes("jobs/one.flat", 1)

    played(shop, play)


def test_build_sheet_and_explain(shop: Path) -> None:
    (shop / "jobs" / "one.flat").write_text(demo("cut { cutter fly_64; depth 0.5mm; finish 0.2mm; overrun 6mm }"))

    def able(abilities: lsp.ClientCapabilities) -> None:
        abilities.window = lsp.WindowClientCapabilities(show_document=lsp.ShowDocumentClientCapabilities(True))

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat")
        await editor.findings("jobs/one.flat", 1)

        async def command(name: str, *arguments: str) -> Any:
            return await editor.client.workspace_execute_command_async(lsp.ExecuteCommandParams(name, list(arguments)))

        uri = editor.uri("jobs/one.flat")
        assert await command("flatwise.sheet", uri, "demo") == ""
        assert "build it first" in editor.messages[-1]
        assert (await command("flatwise.build", uri, "demo")).startswith("Built.\ndemo: ")
        assert editor.shown[-1].endswith("/out/demo/sheet.html")
        editor.shown.clear()
        assert (await command("flatwise.build", uri, "demo")).startswith("Built.\ndemo: ")
        assert not editor.shown  # the sheet says what it said before
        assert sorted(one.name for one in (shop / "out" / "demo").iterdir()) == [
            "first.nc",
            "second.nc",
            "sheet.html",
            "summary.json",
        ]
        assert await command("flatwise.sheet", uri, "demo") == str(shop.resolve() / "out" / "demo" / "sheet.html")
        assert editor.shown[-1].endswith("/out/demo/sheet.html")
        assert (await command("flatwise.explain", "FW501")).startswith("FW501 ·")
        assert editor.shown[-1].endswith("FW501.md")
        editor.replace("jobs/one.flat", demo("cut { depth 0.4mm }"))
        assert "not saved" in await command("flatwise.build", uri, "demo")

    played(shop, play, change=able)


def test_a_build_lens_builds_its_own_job_and_reports_its_own_result(shop: Path) -> None:
    """The other job of the file has an error."""
    other = demo("cut { depth 0.9mm }").partition("job demo")[2]
    text = demo("cut { cutter fly_64; depth 0.5mm; finish 0.2mm; overrun 6mm }") + "\njob deep" + other
    (shop / "jobs" / "one.flat").write_text(text)

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat")
        assert "FW701" in await editor.codes("jobs/one.flat", 1)
        lenses = await editor.client.text_document_code_lens_async(lsp.CodeLensParams(editor.document("jobs/one.flat")))
        said = {}
        for one in lenses or []:
            if one.command is not None and one.command.command == "flatwise.build":
                build = lsp.ExecuteCommandParams(one.command.command, one.command.arguments)
                said[(one.command.arguments or [])[1]] = str(await editor.client.workspace_execute_command_async(build))
        assert said["demo"].startswith("Built.\ndemo: ") and "deep" not in said["demo"]
        assert said["deep"].startswith("Not built.\nFW701: ")
        assert [one.name for one in (shop / "out").iterdir()] == ["demo"]

    played(shop, play)


def test_a_job_name_in_two_files_is_found_as_by_check(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    from flatwise.tool.cli import main

    text = demo("cut { depth 0.5mm }")
    for name in ("one", "two"):
        (shop / "jobs" / f"{name}.flat").write_text(text)
    main(["check", "jobs", "--message", "json"])
    said = [json.loads(line) for line in capsys.readouterr().out.splitlines()]
    (twice,) = (one for one in said if one["code"] == "FW103")
    assert twice["path"] == "jobs/two.flat"

    async def play(editor: Editor) -> None:
        editor.open("jobs/two.flat")
        await editor.until(lambda: "FW103" in editor.last_codes("jobs/two.flat"))
        found = next(one for one in await editor.findings("jobs/two.flat", 1) if one.code == "FW103")
        assert found.message == f"{twice['message']}\n{twice['help']}" and found.range.start == place(text, "demo", 0)
        (first,) = found.related_information or []
        assert first.location == lsp.Location(editor.uri("jobs/one.flat"), found.range)
        assert "FW103" not in await editor.codes("jobs/one.flat")
        editor.open("jobs/one.flat")
        editor.replace("jobs/one.flat", text.replace("job demo", "job lamp"))
        await editor.until(lambda: "FW103" not in editor.last_codes("jobs/two.flat"))
        editor.replace("jobs/one.flat", text)
        await editor.until(lambda: "FW103" in editor.last_codes("jobs/two.flat"))
        editor.close("jobs/one.flat")
        (shop / "jobs" / "one.flat").unlink()
        gone = lsp.FileEvent(editor.uri("jobs/one.flat"), lsp.FileChangeType.Deleted)
        editor.client.workspace_did_change_watched_files(lsp.DidChangeWatchedFilesParams([gone]))
        await editor.until(lambda: "FW103" not in editor.last_codes("jobs/two.flat"))

    played(shop, play)


@pytest.mark.nightly
def test_a_folder_that_pretends_to_be_the_compiler_is_not_run(shop: Path) -> None:
    """A repository may contain anything; opening and building must run none of it."""
    trap = shop / "flatwise"
    trap.mkdir()
    for name in ("__init__", "__main__", "cli"):
        (trap / f"{name}.py").write_text(f"open({str(shop / 'sprung')!r}, 'w').close()\n")
    (shop / "lark.py").write_text(f"open({str(shop / 'sprung')!r}, 'w').close()\n")
    (shop / "jobs" / "one.flat").write_text(demo("cut { cutter fly_64; depth 0.5mm; finish 0.2mm; overrun 6mm }"))

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat")
        await editor.findings("jobs/one.flat", 1)
        said = await editor.client.workspace_execute_command_async(
            lsp.ExecuteCommandParams("flatwise.build", [editor.uri("jobs/one.flat"), "demo"])
        )
        assert str(said).startswith("Built.")

    played(shop, play, command=COMMAND)
    assert not (shop / "sprung").exists()


def test_format_whole_range_and_typed(shop: Path) -> None:
    from flatwise_grammar import format_text

    text = demo("cut   {\n  depth   0.5mm # bite\n stepover 50%\n    }")

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat", text)
        here, options = editor.document("jobs/one.flat"), lsp.FormattingOptions(4, True)
        edits = await editor.client.text_document_formatting_async(lsp.DocumentFormattingParams(here, options))
        assert _applied(text, edits or []) == format_text(text) != text
        part = lsp.Range(lsp.Position(5, 0), lsp.Position(5, 99))
        edits = await editor.client.text_document_range_formatting_async(
            lsp.DocumentRangeFormattingParams(here, part, options)
        )
        assert {edit.range.start.line for edit in edits or []} == {5}
        edits = await editor.client.text_document_on_type_formatting_async(
            lsp.DocumentOnTypeFormattingParams(here, lsp.Position(7, 5), "}", options)
        )
        assert _applied(text, edits or []) == format_text(text)

    played(shop, play)


def _applied(text: str, edits: list[Any]) -> str:
    lines = text.splitlines(keepends=True)
    starts = [sum(map(len, lines[:number])) for number in range(len(lines) + 1)]
    for edit in sorted(edits, key=lambda one: (one.range.start.line, one.range.start.character), reverse=True):
        start = starts[edit.range.start.line] + edit.range.start.character
        end = starts[edit.range.end.line] + edit.range.end.character
        text = text[:start] + edit.new_text + text[end:]
    return text


def test_the_other_features_over_the_protocol(shop: Path) -> None:
    text = demo("cut { cutter fly_64; feed auto }\n    faces { first until clean; second to 29mm }")

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat", text)
        await editor.findings("jobs/one.flat", 1)
        here, client = editor.document("jobs/one.flat"), editor.client
        at = place(text, "fly_64", 2)
        where = await client.text_document_definition_async(lsp.DefinitionParams(here, at))
        assert isinstance(where, lsp.Location) and where.uri == editor.uri("shared/shop.flat")
        context = lsp.ReferenceContext(include_declaration=True)
        uses = await client.text_document_references_async(lsp.ReferenceParams(context, here, at))
        assert {one.uri for one in uses or []} >= {editor.uri("shared/shop.flat"), editor.uri("jobs/one.flat")}
        renamed = await client.text_document_rename_async(lsp.RenameParams(here, at, "fly_big"))
        assert renamed is not None
        offers = await client.text_document_completion_async(lsp.CompletionParams(here, at))
        assert isinstance(offers, lsp.CompletionList) and "fly_64" in [one.label for one in offers.items]
        whole = lsp.Range(lsp.Position(0, 0), lsp.Position(99, 0))
        shown = await client.text_document_inlay_hint_async(lsp.InlayHintParams(here, whole))
        assert any("29mm ±" in str(one.label) for one in shown or [])
        lenses = await client.text_document_code_lens_async(lsp.CodeLensParams(here))
        commands = ["", *(f"flatwise.{name}" for name in ("build", "preview", "sheet"))]
        assert [one.command.command for one in lenses or [] if one.command] == commands
        full = await client.text_document_semantic_tokens_full_async(lsp.SemanticTokensParams(here))
        assert full is not None and len(full.data) % 5 == 0 and full.data
        editor.replace("jobs/one.flat", text.replace("29mm", "27mm"))
        delta = await client.text_document_semantic_tokens_full_delta_async(
            lsp.SemanticTokensDeltaParams(here, full.result_id or "")
        )
        assert isinstance(delta, lsp.SemanticTokensDelta) and len(delta.edits) == 0
        symbols = await client.text_document_document_symbol_async(lsp.DocumentSymbolParams(here))
        assert [one.name for one in symbols or []] == ["demo"]
        found = await client.workspace_symbol_async(lsp.WorkspaceSymbolParams("bench"))
        assert "bench_router" in [one.name for one in found or []]
        links = await client.text_document_document_link_async(lsp.DocumentLinkParams(here))
        assert next(one.target for one in links or []) == editor.uri("shared/shop.flat")
        grown = await client.text_document_selection_range_async(lsp.SelectionRangeParams(here, [at]))
        assert grown is not None and grown[0].parent is not None
        marks = await client.text_document_document_highlight_async(lsp.DocumentHighlightParams(here, at))
        assert len(marks or []) == 1
        help_ = await client.text_document_signature_help_async(
            lsp.SignatureHelpParams(here, place(text, "until clean", 6))
        )
        assert help_ is not None and help_.signatures[0].label.startswith("first ")

    played(shop, play)
