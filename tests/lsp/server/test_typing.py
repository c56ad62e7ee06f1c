"""A job typed key by key: what an editor shows stands still, and nothing half typed is called wrong."""

from __future__ import annotations

import asyncio
import re
from pathlib import Path

import pytest
from conftest import ROOT
from hypothesis_profile import NIGHTLY
from lsp.editor import Editor, played
from lsp.marked import demo
from lsprotocol import types as lsp

from flatwise_lsp.workspace.typed_word import PAUSE

JOB = "jobs/one.flat"
WHOLE = lsp.Range(lsp.Position(0, 0), lsp.Position(999, 0))
SOUND = (
    "cut { cutter fly_64; feed auto; depth 0.5mm; finish 0.2mm; overrun 6mm }\n    faces {\n        first until clean\n"
)
SOUND += "        second to 29mm\n        flip over long_edge\n    }"


def as_typed(text: str) -> str:
    """A job as one types it: without comments, with one blank between words."""
    lines = (re.sub(r"(?<=\S) {2,}", " ", line.partition("#")[0].rstrip()) for line in text.splitlines())
    return "\n".join(line for line in lines if line)


async def hints(editor: Editor) -> list[tuple[int, str]]:
    """The lines of the hints with their labels."""
    shown = await editor.client.text_document_inlay_hint_async(lsp.InlayHintParams(editor.document(JOB), WHOLE))
    return [(one.position.line, str(one.label)) for one in shown or []]


async def lenses(editor: Editor) -> list[tuple[int, str]]:
    shown = await editor.client.text_document_code_lens_async(lsp.CodeLensParams(editor.document(JOB)))
    return [(one.range.start.line, one.command.title) for one in shown or [] if one.command]


def closing(text: str) -> str:
    """The braces that an editor has written below the cursor for the blocks that are open."""
    return "".join(f"\n{'    ' * depth}}}" for depth in reversed(range(text.count("{") - text.count("}"))))


@pytest.mark.parametrize(
    ("closes", "pauses"),
    [(True, False), (False, True), *(pytest.param(one, one, marks=pytest.mark.nightly) for one in (False, True))],
)
def test_typing_a_job_shows_nothing_below_the_cursor_and_one_error_at_most(
    shop: Path, monkeypatch: pytest.MonkeyPatch, closes: bool, pauses: bool
) -> None:
    """Whether the editor closes blocks or not; with a pause at every key or with none, however slow the machine."""
    monkeypatch.setattr("flatwise_lsp.workspace.typed_word.PAUSE", 0.0 if pauses else 60.0)
    text = as_typed((ROOT / "jobs" / "reading_table.flat").read_text(encoding="utf-8"))
    assert len(text) > 900
    step = 1 if NIGHTLY else 37

    async def play(editor: Editor) -> None:
        editor.open(JOB, "")
        for end in range(1, len(text) + 1, step):
            if text[end - 1] == " " and text[:end].rpartition("\n")[2].isspace():
                continue  # the editor indents
            # the key in front of it, so that one key is the edit
            rest = closing(text[:end]) if closes else ""
            editor.replace(JOB, text[: end - 1] + rest)
            version = editor.replace(JOB, text[:end] + rest)
            found = await editor.findings(JOB, version)
            errors = [one.message for one in found if one.severity == lsp.DiagnosticSeverity.Error]
            assert len(errors) <= 1, (text[max(0, end - 40) : end], errors)
            assert all(one.range.start.line <= text[:end].count("\n") for one in found)

    played(shop, play)


def test_lenses_and_hints_stay_while_a_line_is_typed_again(shop: Path) -> None:
    text = demo(SOUND)
    start = text.index("second to")
    line = text[start : text.index("\n", start)]

    async def play(editor: Editor) -> None:
        editor.open(JOB, text)
        before, above = await hints(editor), await lenses(editor)
        assert len(before) == 3 and len(above) == 4 and "29mm ±" in above[0][1]
        states = [line[:end] for end in (*range(len(line) - 1, 0, -1), *range(1, len(line) + 1))]
        for typed in states:
            editor.replace(JOB, text[:start] + typed + text[start + len(line) :])
            now, top = await hints(editor), await lenses(editor)
            assert [one[0] for one in now] == [one[0] for one in before], typed
            assert [one[0] for one in top] == [one[0] for one in above], typed
            if typed != line:
                assert "29mm ±" not in top[0][1] or top[0][1].endswith("before this edit"), typed
        assert (await hints(editor), await lenses(editor)) == (before, above)

    played(shop, play)


def test_lenses_and_hints_of_a_whole_job_stay_while_any_of_its_lines_is_typed_again(shop: Path) -> None:
    text = as_typed((ROOT / "jobs" / "reading_table.flat").read_text(encoding="utf-8"))
    (shop / "jobs" / "top.flat").write_text(text)
    states = [
        (start, end)
        for start in (found.start() for found in re.finditer(r"^ +\S", text, re.MULTILINE))
        for end in range(start, text.index("\n", start))
        if not text[start:end].isspace()
    ]
    assert len(states) > 600

    async def play(editor: Editor) -> None:
        editor.open(JOB, text)
        before, above = await hints(editor), await lenses(editor)
        assert len(before) == 6 and len(above) == 4
        for start, end in states if NIGHTLY else states[::37]:
            editor.replace(JOB, text)
            assert await hints(editor) == before
            editor.replace(JOB, text[:end] + text[text.index("\n", start) :])
            typed = text[start:end].strip()
            now = await hints(editor)
            assert {line for line, _ in now} <= {line for line, _ in before}, typed
            assert len({line for line, _ in now}) == len(now) >= len(before) - 1, typed
            assert [line for line, _ in await lenses(editor)] == [line for line, _ in above], typed

    played(shop, play)


def test_the_typed_word_is_judged_when_the_typing_pauses(shop: Path) -> None:
    async def play(editor: Editor) -> None:
        editor.open(JOB, demo("cut { stepover 50%; dpth 0.5mm }"))
        assert await editor.codes(JOB, 1) == ["FW101"]
        version = editor.replace(JOB, demo("cut { stepove 50%; dpth 0.5mm }"))
        start = asyncio.get_running_loop().time()
        (only,) = await editor.findings(JOB, version)
        assert "`dpth`" in only.message  # another word is still wrong
        await editor.until(lambda: len(editor.told[-1].diagnostics) == 2)
        assert asyncio.get_running_loop().time() - start > PAUSE - 0.1
        assert editor.told[-1].version == version

    played(shop, play)


@pytest.mark.parametrize("able", [True, False])
def test_an_editor_that_pulls_hears_of_the_typed_word_after_the_pause_or_at_once(shop: Path, able: bool) -> None:
    def pulling(abilities: lsp.ClientCapabilities) -> None:
        assert abilities.text_document is not None and abilities.workspace is not None
        abilities.text_document.diagnostic = lsp.DiagnosticClientCapabilities()
        abilities.workspace.diagnostics = lsp.DiagnosticWorkspaceClientCapabilities(able)

    async def play(editor: Editor) -> None:
        editor.open(JOB, demo("cut { stepover 50% }"))
        assert "FW101" not in await editor.codes(JOB)
        editor.replace(JOB, demo("cut { stepove 50% }"))
        assert ("FW101" in await editor.codes(JOB)) != able
        if able:
            await editor.until(lambda: lsp.WORKSPACE_DIAGNOSTIC_REFRESH in editor.refreshed)
            assert "FW101" in await editor.codes(JOB)

    played(shop, play, change=pulling)
