"""What an editor shows of an open file when another file changes, and what an editor gets that pulls findings.

Source: Language Server Protocol specification 3.17, "Pull Diagnostics", "Code Lens Refresh", "Inlay Hint Refresh".
"""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from lsp.editor import REFRESHES, Editor, played
from lsp.marked import demo
from lsprotocol import types as lsp

JOB = "jobs/one.flat"
SHOP = "shared/shop.flat"


def pulling(abilities: lsp.ClientCapabilities) -> None:
    """An editor that pulls findings and can be asked to ask again."""
    assert abilities.text_document is not None and abilities.workspace is not None
    abilities.text_document.diagnostic = lsp.DiagnosticClientCapabilities()
    refreshing(abilities)


def refreshing(abilities: lsp.ClientCapabilities) -> None:
    assert abilities.workspace is not None
    abilities.workspace.diagnostics = lsp.DiagnosticWorkspaceClientCapabilities(True)
    abilities.workspace.code_lens = lsp.CodeLensWorkspaceClientCapabilities(True)
    abilities.workspace.inlay_hint = lsp.InlayHintWorkspaceClientCapabilities(True)


def unable(abilities: lsp.ClientCapabilities) -> None:
    """An editor that pulls findings and can't be asked to ask again."""
    pulling(abilities)
    assert abilities.workspace is not None
    abilities.workspace.diagnostics = abilities.workspace.code_lens = abilities.workspace.inlay_hint = None


def pushed(editor: Editor, path: str) -> list[list[str]]:
    return [[str(one.code) for one in told.diagnostics] for told in editor.told if told.uri == editor.uri(path)]


def test_what_was_pushed_is_cleared_when_a_file_opens_and_comes_back_when_it_closes(shop: Path) -> None:
    (shop / JOB).write_text(demo("cut { stepovr 50% }"))

    async def play(editor: Editor) -> None:
        await editor.until(lambda: pushed(editor, JOB) == [["FW101"]])
        editor.open(JOB)
        assert await editor.codes(JOB) == ["FW101"]
        editor.replace(JOB, demo("cut { stepovr 60% }"))
        assert await editor.codes(JOB) == ["FW101"]
        assert pushed(editor, JOB) == [["FW101"], []]
        editor.close(JOB)
        await editor.until(lambda: pushed(editor, JOB) == [["FW101"], [], ["FW101"]])

    played(shop, play, change=pulling)


@pytest.mark.parametrize(("change", "expected"), [(pulling, set(REFRESHES)), (refreshing, set(REFRESHES[1:]))])
def test_another_file_that_changes_an_open_one_makes_the_editor_ask_again(
    shop: Path, change: object, expected: set[str]
) -> None:
    text = (shop / SHOP).read_text(encoding="utf-8")

    async def play(editor: Editor) -> None:
        editor.open(JOB, demo("cut { cutter fly_64; feed auto }"))
        editor.open(SHOP)
        assert "FW102" not in await editor.codes(JOB)
        assert not editor.refreshed
        editor.replace(SHOP, "# a note\n" + text)
        await editor.client.text_document_code_lens_async(lsp.CodeLensParams(editor.document(JOB)))
        await asyncio.sleep(0.05)
        assert not editor.refreshed  # the job says what it said before
        editor.replace(SHOP, text.replace("up to 8m/min", "up to 3m/min"))
        await editor.until(lambda: set(REFRESHES[1:]) <= set(editor.refreshed))
        editor.replace(SHOP, text.replace("cutter fly_64", "cutter fly_65"))
        await editor.until(lambda: set(editor.refreshed) == expected)
        assert "FW102" in await editor.codes(JOB)

    played(shop, play, change=change)


def test_an_editor_that_cannot_be_asked_to_ask_again_is_not(shop: Path) -> None:
    text = (shop / SHOP).read_text(encoding="utf-8")

    async def play(editor: Editor) -> None:
        editor.open(JOB, demo("cut { cutter fly_64 }"))
        editor.open(SHOP)
        await editor.codes(JOB)
        editor.replace(SHOP, text.replace("cutter fly_64", "cutter fly_65"))
        assert "FW102" in await editor.codes(JOB)
        assert not editor.refreshed and not pushed(editor, JOB)

    played(shop, play, change=unable)


def test_typing_in_a_file_itself_asks_for_nothing(shop: Path) -> None:
    async def play(editor: Editor) -> None:
        editor.open(JOB, demo("cut { depth 0.5mm }"))
        await editor.codes(JOB)
        editor.replace(JOB, demo("cut { depth 0.4mm; finish 0.2mm }"))
        await editor.codes(JOB)
        assert not editor.refreshed

    played(shop, play, change=pulling)
