"""A day of typing: documents closed, renamed or moved while work is in progress, and no state that only grows."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Coroutine
from pathlib import Path
from typing import Any, TypeVar

import pytest
from lsp.marked import demo
from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcContentModified

from flatwise_lsp.server.language_server import Server
from flatwise_lsp.server.requests import workspace_edit
from flatwise_lsp.server.stdio import make
from flatwise_lsp.workspace.document_text import TextChange
from flatwise_lsp.workspace.documents import Store, uri_of

T = TypeVar("T")
Told = dict[str, list[str]]


def upkeep(roots: list[Path], play: Callable[[Server, Told], Coroutine[Any, Any, None]]) -> None:
    """A server in this process with these folders; the findings that it publishes are kept by URI."""

    async def whole() -> None:
        server, told = make(), Told()
        server.protocol.client_capabilities = lsp.ClientCapabilities()

        def keep(params: lsp.PublishDiagnosticsParams) -> None:
            told[params.uri] = [str(one.code) for one in params.diagnostics]

        server.text_document_publish_diagnostics = keep  # type: ignore[method-assign]
        server.store.root_uris = {root: uri_of(root) for root in roots}
        server.store.roots = tuple(roots)
        try:
            await play(server, told)
        finally:
            server.shutdown()

    asyncio.run(whole())


def opened(server: Server, path: Path, text: str, version: int = 1) -> str:
    uri = uri_of(path)
    server.opened(lsp.DidOpenTextDocumentParams(lsp.TextDocumentItem(uri, "flatwise", version, text)))
    return uri


def changed(server: Server, uri: str, version: int, text: str) -> None:
    given = lsp.VersionedTextDocumentIdentifier(version, uri)
    whole = lsp.TextDocumentContentChangeWholeDocument(text)
    server.changed(lsp.DidChangeTextDocumentParams(given, [whole]))


def closed(server: Server, uri: str) -> None:
    server.closed(lsp.DidCloseTextDocumentParams(lsp.TextDocumentIdentifier(uri)))


def test_a_file_in_two_buffers_keeps_both_texts_and_the_last_changed_one_counts(tmp_path: Path) -> None:
    path, link = tmp_path / "one.flat", tmp_path / "link.flat"
    path.write_text("")
    link.symlink_to(path)
    store = Store()
    store.open(uri_of(path), 1, "a")
    store.open(uri_of(link), 1, "b")
    store.change(uri_of(path), 2, [TextChange(None, "aa")])
    assert [store.buffers[uri_of(one)].text.text for one in (path, link)] == ["aa", "b"]
    assert store.documents[path].text.text == "aa"
    assert store.close(uri_of(path)) == path and store.documents[path].text.text == "b"
    assert store.close(uri_of(link)) == path and not store.documents and not store.buffers


def test_nothing_is_kept_of_files_that_are_closed(shop: Path) -> None:
    async def play(server: Server, told: Told) -> None:
        ask = server.protocol.fm.features[lsp.TEXT_DOCUMENT_SEMANTIC_TOKENS_FULL]
        for number in range(12):
            # half of them are closed while they are checked
            line, code = ("cut { stepovr 50% }", "FW101") if number < 8 else ("cut { depth 0.8mm }", "FW701")
            uri = opened(server, shop / "jobs" / f"new_{number}.flat", demo(line))
            if number % 2:
                await server.settled(uri)
                assert code in told[uri]
                assert await ask(lsp.SemanticTokensParams(lsp.TextDocumentIdentifier(uri))) and server.tokens
            closed(server, uri)
        await server.checking.idle()
        await asyncio.sleep(0.3)
        checking = server.checking
        kept = (checking.latest, checking.whole, checking.newest, checking._done, checking._earlier._jobs)
        assert not any((*kept, server.published, server.tokens))
        assert not server.store.buffers and not server.store.documents
        assert len(server._meanings) <= 2
        assert all(codes == [] for codes in told.values())

    upkeep([], play)


def test_a_file_name_that_is_too_long_is_a_missing_file(tmp_path: Path) -> None:
    """`Path.is_file` raises for it."""
    long = uri_of(tmp_path / ("a" * 5000 + ".flat"))

    async def play(server: Server, told: Told) -> None:
        server.files_changed(lsp.DidChangeWatchedFilesParams([lsp.FileEvent(long, lsp.FileChangeType.Changed)]))
        opened(server, tmp_path / ("a" * 5000 + ".flat"), "job")
        await server.settled(long)
        assert told[long]
        closed(server, long)
        await server.checking.idle()
        assert told[long] == []

    upkeep([tmp_path], play)


def test_a_removed_folder_loses_its_findings(shop: Path, tmp_path: Path) -> None:
    path = shop / "jobs" / "one.flat"
    path.write_text(demo("cut { stepovr 50% }"))

    async def play(server: Server, told: Told) -> None:
        await server.check_workspace(server.store.roots)
        await server.checking.idle()
        assert told[uri_of(path)] == ["FW101"]
        far = lsp.WorkspaceFolder("vscode-vfs://elsewhere/jobs", "elsewhere")
        event = lsp.WorkspaceFoldersChangeEvent(added=[far], removed=[lsp.WorkspaceFolder(uri_of(shop), "shop")])
        assert server.folders_changed(event) == () and server.store.roots == ()
        await server.checking.idle()
        assert told[uri_of(path)] == [] and not server.checking.latest and not server.published

    upkeep([shop], play)


@pytest.mark.parametrize("versioned", [True, False])
def test_a_rename_for_an_older_text_is_marked_or_refused(shop: Path, versioned: bool) -> None:
    """Edits are applied to the version of the text that they are for, or not at all."""
    text = demo("cut { cutter fly_64 }")
    at = text.index("fly_64")
    place = lsp.Position(text[:at].count("\n"), at - text.rfind("\n", 0, at) - 1)

    async def play(server: Server, told: Told) -> None:
        edits = lsp.WorkspaceEditClientCapabilities(document_changes=versioned)
        abilities = lsp.ClientCapabilities(workspace=lsp.WorkspaceClientCapabilities(workspace_edit=edits))
        server.protocol.client_capabilities = abilities
        uri = opened(server, shop / "jobs" / "one.flat", text)
        read = server.read

        async def overtaken(work: Callable[[], T]) -> T:
            found = await read(work)
            changed(server, uri, 2, "# typed meanwhile\n" + text)
            return found

        server.read = overtaken  # type: ignore[assignment, method-assign]
        rename = server.protocol.fm.features[lsp.TEXT_DOCUMENT_RENAME]
        params = lsp.RenameParams(lsp.TextDocumentIdentifier(uri), place, "fly_big")
        if not versioned:
            with pytest.raises(JsonRpcContentModified):
                await rename(params)
            return
        edit = await rename(params)
        assert edit.document_changes
        versions = {one.text_document.uri: one.text_document.version for one in edit.document_changes}
        assert versions[uri] == 1

    upkeep([shop], play)


def test_a_check_of_an_older_text_of_a_used_file_gives_no_edits(shop: Path) -> None:
    """A check that read an older version of the shop's file does not know the places in the present one."""

    async def play(server: Server, told: Told) -> None:
        uri = opened(server, shop / "jobs" / "one.flat", demo("cut { cutter fly_64 }"))
        beside = shop / "shared" / "shop.flat"
        other = opened(server, beside, beside.read_text(encoding="utf-8"))
        await server.checking.idle()
        before = server.view(uri)
        assert before is not None and before.analysis is not None
        changed(server, other, 2, "# new\n" + beside.read_text(encoding="utf-8"))
        now = server.view(uri)
        assert now is not None and now.analysis is None
        assert workspace_edit(server, before, [], before.meaning).changes == {}
        await server.checking.idle()
        after = server.view(uri)
        assert after is not None and after.analysis is not None

    upkeep([shop], play)
