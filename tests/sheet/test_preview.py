"""The preview in Chromium, before a language server: it follows the text and is marked on screen and on paper."""

from __future__ import annotations

import asyncio
import base64
import io
from pathlib import Path

import pytest
from example_jobs import ROOT
from lsp.editor import Editor, played
from lsprotocol import types as lsp
from selenium.webdriver.common.by import By
from sheet.conftest import Browser, Sheets

JOB = "jobs/lamp_table.flat"
MARK = "Preview: not proven, not for the machine"
#: what a person sees of the page
SEEN = "return [document.body.innerText, document.documentElement.className.includes('stale')]"


async def seen(page: Browser, *words: str, stale: bool = False) -> str:
    """What the page says, once that has some words; it is asked, never told to load again."""
    for _ in range(150):
        said, grey = page.run(SEEN)
        if all(word in said for word in words) and grey == stale:
            return str(said)
        await asyncio.sleep(0.1)
    raise AssertionError((words, stale, said[:600], grey))


def pages_of(page: Browser) -> list[str]:
    """The text of every page on paper."""
    pypdf = pytest.importorskip("pypdf", reason="pypdf is not installed")
    made = page.command("Page.printToPDF", paperWidth=8.27, paperHeight=11.69, printBackground=False)
    return [
        " ".join(each.extract_text().split())
        for each in pypdf.PdfReader(io.BytesIO(base64.b64decode(made["data"]))).pages
    ]


@pytest.mark.nightly
def test_the_page_follows_the_text_keeps_its_place_and_is_marked_on_paper(
    page: Browser, sheets: Sheets, shop: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("XDG_CACHE_HOME", str(shop / "cache"))
    text = (ROOT / JOB).read_text()
    # a sheet for the machine with a tick
    page.open(sheets["lamp_table"][0])
    page.driver.find_element(By.ID, "before-wear").click()
    ticks = page.run("return JSON.stringify(localStorage)")
    assert "before-wear" in ticks and MARK not in page.run(SEEN)[0]

    async def play(editor: Editor) -> None:
        editor.open(JOB, text)
        run = lsp.ExecuteCommandParams("flatwise.preview", [editor.uri(JOB), "lamp_table"])
        path = Path(str(await editor.client.workspace_execute_command_async(run)))
        page.open(path)
        assert "20 mm ±" in await seen(page, MARK, "It follows the text in the editor.")
        assert page.run("return document.querySelectorAll('input[type=checkbox]:not(:disabled), :checked').length") == 0
        page.run(
            """document.querySelectorAll("details")[1].open = true;
            const range = document.querySelector(".control input");
            range.value = 2; range.dispatchEvent(new Event("input")); scrollTo(0, 1500)"""
        )

        editor.replace(JOB, text.replace("to 20mm", "to 19.5mm"))
        await seen(page, "19.5 mm ±")
        assert abs(page.run("return scrollY") - 1500) < 2
        assert page.run("return document.querySelectorAll('details')[1].open")
        assert page.run("return document.querySelector('.say').innerText").startswith("Pass 2 of ")

        editor.replace(JOB, text.replace("to 20mm", "to 20m"))
        await seen(page, "lamp_table does not build: ", "line ", "19.5 mm ±", stale=True)
        paper = pages_of(page)
        assert len(paper) >= 3 and all(MARK in each for each in paper)

        editor.replace(JOB, text)
        await seen(page, "20 mm ±", "It follows the text in the editor.")
        assert page.console() == []
        assert page.run("return JSON.stringify(localStorage)") == ticks

    def able(abilities: lsp.ClientCapabilities) -> None:
        abilities.window = lsp.WindowClientCapabilities(show_document=lsp.ShowDocumentClientCapabilities(True))

    played(shop, play, change=able)
    asyncio.run(seen(page, "This preview has ended", "20 mm ±", stale=True))
    assert {each.partition("?")[0].rpartition(".")[2] for each in page.requests()} == {"html", "js"}
