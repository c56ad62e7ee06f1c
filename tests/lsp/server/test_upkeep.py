"""A day of typing: what is closed, renamed or moved while something is at work, and nothing that only grows."""

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
    """A server in this process that works in these folders; what it tells is kept by address."""

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


def test_one_file_in_two_buffers_keeps_both_texts_and_the_last_to_change_counts(tmp_path: Path) -> None:
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
            uri = opened(server, shop / "jobs" / f"new_{number}.flat", demo("cut { stepovr 50% }"))
            if number % 2:
                await server.settled(uri)
                assert told[uri] == ["FW101"]
                assert await ask(lsp.SemanticTokensParams(lsp.TextDocumentIdentifier(uri))) and server.tokens
            closed(server, uri)
        await server.checking.idle()
        await asyncio.sleep(0.3)
        checking = server.checking
        for kept in (checking.latest, checking.whole, checking.newest, checking._done, server.published, server.tokens):
            assert not kept
        assert not server.store.buffers and not server.store.documents
        assert len(server._meanings) <= 2
        assert all(codes == [] for codes in told.values())

    upkeep([], play)


def test_names_that_no_disk_takes_are_files_that_are_not_there(tmp_path: Path) -> None:
    """`Path.is_file` raises for them."""
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


def test_a_folder_that_goes_takes_its_findings_along(shop: Path, tmp_path: Path) -> None:
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
def test_a_rename_that_was_overtaken_is_marked_or_refused(shop: Path, versioned: bool) -> None:
    """Edits belong to the text that they were worked out in: by its version, or not at all."""
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


def test_edits_of_a_finding_are_not_made_for_another_text_of_a_file_beside_it(shop: Path) -> None:
    """A check that read the shop's file as it was before says nothing of places in it now."""

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
