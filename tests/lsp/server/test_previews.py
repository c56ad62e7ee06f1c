"""The preview of a job over the protocol: a page in the cache folder that follows the text, and never the project."""

from __future__ import annotations

import json
import os
import re
from pathlib import Path
from typing import Any
from urllib.parse import unquote, urlsplit

import pytest
from lsp.editor import Editor, played
from lsp.marked import demo
from lsprotocol import types as lsp

from flatwise_lsp.server import previews

NAME = "jobs/one.flat"


def target(thickness: str) -> str:
    return demo(f"faces {{ first until clean; second to {thickness}; flip over long_edge }}")


@pytest.fixture
def cache(tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch) -> Path:
    folder = tmp_path_factory.mktemp("cache")
    monkeypatch.setenv("XDG_CACHE_HOME", str(folder))
    return folder


def able(abilities: lsp.ClientCapabilities) -> None:
    abilities.window = lsp.WindowClientCapabilities(show_document=lsp.ShowDocumentClientCapabilities(True))


async def open_preview(editor: Editor, job: str | int) -> Path:
    """The page of a job or of a line, as the editor was asked to show it; `Path()` where it was not asked."""
    before = len(editor.shown)
    run = lsp.ExecuteCommandParams("flatwise.preview", [editor.uri(NAME), job])
    page = await editor.client.workspace_execute_command_async(run)
    shown = [unquote(urlsplit(uri).path) for uri in editor.shown[before:] if uri.startswith("file:")]
    assert shown == ([page] if page else [])
    return Path(str(page))


def state(page: Path) -> dict[str, Any]:
    """What the script beside a page says."""
    found = re.fullmatch(r"flatwisePreview\((.*)\);\n", page.with_suffix(".js").read_text())
    assert found is not None
    shown: dict[str, Any] = json.loads(found[1])
    return shown


def test_a_preview_follows_the_text_and_keeps_its_sheet_while_there_are_errors(shop: Path, cache: Path) -> None:
    async def play(editor: Editor) -> None:
        editor.open(NAME, target("29mm"))
        page = await open_preview(editor, "demo")
        assert page.parents[2] == cache / "flatwise" and page.stat().st_mode & 0o777 == 0o644
        first, html = state(page), page.read_text()
        assert first["errors"] == [] and f'data-version="{first["version"]}"' in html
        assert "29 mm ±" in html and "not proven, not for the machine" in html
        assert "None: this is a preview." in html and "its header must show sources <code>preview</code>" in html

        editor.replace(NAME, target("28.5mm"))
        await editor.until(lambda: state(page)["version"] != first["version"])
        assert "28.5 mm ±" in page.read_text()

        written, now = page.stat().st_mtime_ns, state(page)
        editor.replace(NAME, target("28.5mm").replace("second to", "secnd to"))
        await editor.until(lambda: bool(state(page)["errors"]))
        broken = state(page)
        assert broken["version"] == now["version"] and broken["said"].startswith("demo does not build: ")
        assert re.match(r"FW101, line \d+: .* Did you mean `second`\?$", broken["errors"][0])

        editor.replace(NAME, target("28.5mm").replace("\n", "    # a comment\n", 1))
        await editor.until(lambda: not state(page)["errors"])
        assert (state(page), page.stat().st_mtime_ns) == (now, written)  # no sheet was made for a comment

        editor.replace(NAME, "# nothing is left\n")
        await editor.until(lambda: state(page)["said"] == "The file no longer declares demo.")
        editor.close(NAME)
        await editor.until(lambda: not page.parent.exists())

    played(shop, play, change=able)
    assert not [path for path in shop.rglob("*") if path.suffix in (".html", ".js", ".nc")]


def test_a_job_with_errors_has_no_sheet_until_they_are_mended(shop: Path, cache: Path) -> None:
    async def play(editor: Editor) -> None:
        editor.open(NAME, target("290mm"))
        page = await open_preview(editor, "demo")
        assert "There is no sheet yet." in page.read_text() and state(page)["errors"]
        editor.replace(NAME, target("29mm"))
        await editor.until(lambda: not state(page)["errors"])
        assert "29 mm ±" in page.read_text()

    played(shop, play, change=able)
    assert list(cache.glob("flatwise/previews/*")) == []


def test_a_batch_and_what_it_uses(shop: Path, cache: Path) -> None:
    text = demo("zero { z bed }; cut { depth 0.5mm }") + "batch one_tray { jobs demo }\n"

    async def play(editor: Editor) -> None:
        editor.open(NAME, text)
        page = await open_preview(editor, "one_tray")
        first = state(page)
        assert "1 panels on bench_router" in page.read_text() and not first["errors"]
        editor.open("shared/shop.flat", (shop / "shared" / "shop.flat").read_text().replace("8m/min", "5m/min"))
        await editor.until(lambda: state(page)["version"] != first["version"])
        assert "5000 mm/min" in page.read_text()

    played(shop, play, change=able)


def test_the_job_of_the_cursor_and_what_is_not_one(shop: Path, cache: Path) -> None:
    text = target("29mm")
    line = text[: text.index("job demo")].count("\n")

    async def play(editor: Editor) -> None:
        editor.open(NAME, text)
        assert (await open_preview(editor, line + 1)).name.startswith("demo-")
        for nothing in (0, 10**6, "other", "../../x"):
            assert await open_preview(editor, nothing) == Path()
            assert editor.messages.pop() == "There is no job here. Put the cursor into a job or batch."

        async def offered(line: int, **asked: Any) -> list[str]:
            at = lsp.Range(lsp.Position(line, 2), lsp.Position(line, 2))
            given = lsp.CodeActionParams(editor.document(NAME), at, lsp.CodeActionContext([], **asked))
            found = await editor.client.text_document_code_action_async(given) or []
            return [one.title for one in found if "review" in one.title]

        action = ["Preview the sheet of demo"]
        assert await offered(line) == await offered(line + 1) == await offered(line, only=["source"]) == action
        assert await offered(0) == await offered(line, only=["quickfix"]) == []
        assert await offered(line, trigger_kind=lsp.CodeActionTriggerKind.Automatic) == []

    played(shop, play, change=able)


def test_without_a_cache_folder_the_reason_is_told(shop: Path, cache: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (cache / "file").write_text("")
    monkeypatch.setenv("XDG_CACHE_HOME", str(cache / "file"))

    async def play(editor: Editor) -> None:
        editor.open(NAME, target("29mm"))
        assert await open_preview(editor, "demo") == Path()
        assert editor.messages[-1].startswith("The preview can't be written: ")

    played(shop, play, change=able)


def test_folders_of_sessions_that_were_killed_are_removed_after_a_week(shop: Path, cache: Path) -> None:
    left = {days: cache / "flatwise" / "previews" / f"{days}" for days in (6, 8)}
    for days, folder in left.items():
        folder.mkdir(parents=True)
        (folder / "demo.html").write_text("")
        os.utime(folder, times=(0, folder.stat().st_mtime - days * 24 * 3600))

    async def play(editor: Editor) -> None:
        editor.open(NAME, target("29mm"))
        await open_preview(editor, "demo")
        assert {days: folder.exists() for days, folder in left.items()} == {6: True, 8: False}

    played(shop, play, change=able)


@pytest.mark.parametrize(
    "platform, variable, given, expected",
    [
        ("linux", "XDG_CACHE_HOME", "/own", "/own"),
        # "If an implementation encounters a relative path ... it should consider the path invalid and ignore it."
        # (XDG Base Directory Specification 0.8)
        ("linux", "XDG_CACHE_HOME", "own", "/home/joiner/.cache"),
        ("linux", "XDG_CACHE_HOME", "", "/home/joiner/.cache"),
        ("darwin", "XDG_CACHE_HOME", "/own", "/home/joiner/Library/Caches"),
        ("win32", "LOCALAPPDATA", "", "/home/joiner/AppData/Local"),
    ],
)
def test_the_cache_folder_of_each_system(
    platform: str, variable: str, given: str, expected: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("sys.platform", platform)
    monkeypatch.setenv("HOME", "/home/joiner")
    monkeypatch.setenv(variable, given)
    assert previews.cache_folder() == Path(expected)
