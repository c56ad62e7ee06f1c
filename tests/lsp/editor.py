"""An editor that consists of the protocol only.  Its server runs in a thread of the tests, behind a socket, since
loading a server takes longer than most sessions; where the process itself is tested, it is started with its command.
"""

from __future__ import annotations

import asyncio
import copy
import os
import socket
import sys
import threading
from collections.abc import AsyncIterator, Callable, Coroutine
from contextlib import asynccontextmanager
from functools import cache
from pathlib import Path
from typing import Any, BinaryIO, cast

from lsprotocol import types as lsp
from pygls.io_ import run_async
from pytest_lsp import ClientServerConfig, LanguageClient, client_capabilities
from pytest_lsp.client import make_test_lsp_client

from flatwise_lsp.server.stdio import Output, make

COMMAND = [sys.executable, "-m", "flatwise", "serve"]

#: editors whose capabilities pytest-lsp has recorded
EDITORS = ("visual-studio-code", "neovim@v0.7.0", "neovim@v0.11.0", "emacs")

#: the requests of a server that ask an editor to ask again
REFRESHES = (lsp.WORKSPACE_DIAGNOSTIC_REFRESH, lsp.WORKSPACE_CODE_LENS_REFRESH, lsp.WORKSPACE_INLAY_HINT_REFRESH)

#: an editor's capabilities as recorded; reading them takes longer than copying them
recorded = cache(client_capabilities)


class Editor:
    """One session; what the server sends is kept."""

    def __init__(self, client: LanguageClient, root: Path) -> None:
        self.client = client
        self.root = root
        self.versions: dict[str, int] = {}
        self.told: list[lsp.PublishDiagnosticsParams] = []
        self.news = asyncio.Event()
        self.messages: list[str] = []
        self.shown: list[str] = []
        self.refreshed: list[str] = []
        self.progress: list[Any] = []
        self.log: list[str] = []
        self.pulls = False
        self.settles = False
        self.capabilities: lsp.ServerCapabilities | None = None

    def uri(self, path: str | Path) -> str:
        return (self.root / path).as_uri()

    def document(self, path: str | Path) -> lsp.TextDocumentIdentifier:
        return lsp.TextDocumentIdentifier(self.uri(path))

    def open(self, path: str, text: str | None = None) -> None:
        text = (self.root / path).read_text(encoding="utf-8") if text is None else text
        self.versions[self.uri(path)] = 1
        item = lsp.TextDocumentItem(self.uri(path), "flatwise", 1, text)
        self.client.text_document_did_open(lsp.DidOpenTextDocumentParams(item))

    def change(self, path: str, *changes: lsp.TextDocumentContentChangeEvent) -> int:
        uri = self.uri(path)
        self.versions[uri] += 1
        given = lsp.VersionedTextDocumentIdentifier(self.versions[uri], uri)
        self.client.text_document_did_change(lsp.DidChangeTextDocumentParams(given, list(changes)))
        return self.versions[uri]

    def replace(self, path: str, text: str) -> int:
        return self.change(path, lsp.TextDocumentContentChangeWholeDocument(text))

    def close(self, path: str) -> None:
        self.client.text_document_did_close(lsp.DidCloseTextDocumentParams(self.document(path)))

    async def findings(self, path: str, version: int | None = None) -> list[lsp.Diagnostic]:
        """The findings of a version of a file, once nothing new has come for a while."""
        uri = self.uri(path)
        if self.pulls and uri in self.versions:
            report = await self.client.text_document_diagnostic_async(lsp.DocumentDiagnosticParams(self.document(path)))
            assert isinstance(report, lsp.RelatedFullDocumentDiagnosticReport)
            return list(report.items)
        if self.settles and uri in self.versions:
            # answered when the whole check is done, so the findings before it are the last
            await self.client.text_document_code_lens_async(lsp.CodeLensParams(self.document(path)))
        end = asyncio.get_running_loop().time() + 15
        quiet = 0.02 if self.settles else 0.25
        while True:
            found = [one for one in self.told if one.uri == uri and (version is None or one.version == version)]
            self.news.clear()
            left = end - asyncio.get_running_loop().time()
            try:
                await asyncio.wait_for(self.news.wait(), quiet if found else left)
            except TimeoutError:
                if found:
                    return list(found[-1].diagnostics)
                raise AssertionError(f"no findings of {path} at version {version}") from None

    async def codes(self, path: str, version: int | None = None) -> list[str]:
        return sorted(str(one.code) for one in await self.findings(path, version))

    def last_codes(self, path: str) -> set[str]:
        """The codes of the findings that were published last of a file."""
        found = [one for one in self.told if one.uri == self.uri(path)]
        return {str(one.code) for one in found[-1].diagnostics} if found else set()

    async def until(self, condition: Callable[[], bool]) -> None:
        """Wait until something holds of what the server has sent."""
        end = asyncio.get_running_loop().time() + 30
        while not condition():
            assert asyncio.get_running_loop().time() < end, "it never came"
            await asyncio.sleep(0.02)


def _made(editor_of: dict[str, Editor]) -> LanguageClient:
    client = make_test_lsp_client()
    features = client.protocol.fm.features
    for name in (
        lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS,
        lsp.WINDOW_SHOW_MESSAGE,
        lsp.PROGRESS,
        lsp.WINDOW_SHOW_DOCUMENT,
        *REFRESHES,
    ):
        features.pop(name, None)

    @client.feature(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
    def published(params: lsp.PublishDiagnosticsParams) -> None:
        editor_of["it"].told.append(params)
        editor_of["it"].news.set()

    @client.feature(lsp.WINDOW_SHOW_MESSAGE)
    def said(params: lsp.ShowMessageParams) -> None:
        editor_of["it"].messages.append(params.message)

    @client.feature(lsp.PROGRESS)
    def progress(params: lsp.ProgressParams) -> None:
        editor_of["it"].progress.append(params.value)

    @client.feature(lsp.CLIENT_REGISTER_CAPABILITY)
    def register(params: lsp.RegistrationParams) -> None:
        editor_of["it"].shown.extend(one.method for one in params.registrations)

    @client.feature(lsp.WINDOW_SHOW_DOCUMENT)
    def show(params: lsp.ShowDocumentParams) -> lsp.ShowDocumentResult:
        editor_of["it"].shown.append(params.uri)
        return lsp.ShowDocumentResult(True)

    for method in REFRESHES:

        @client.feature(method)
        def refresh(*given: Any, method: str = method) -> None:
            editor_of["it"].refreshed.append(method)

    return client


async def _started(command: list[str], client: LanguageClient) -> None:
    """Start a server with its command, and connect a client with its standard input and output."""
    config = ClientServerConfig(
        command, client_factory=lambda: client, server_env={**os.environ, "PYTHONSAFEPATH": "1"}
    )
    await config.start()


async def _served(client: LanguageClient) -> threading.Thread:
    """Start a server in a thread, and connect a client with it."""
    ours, theirs = socket.socketpair()
    reading, writing = theirs.makefile("rb"), theirs.makefile("wb")
    theirs.close()
    server = make()
    thread = threading.Thread(target=server.start_io, args=(reading, cast("BinaryIO", Output(writing))))
    thread.start()
    reader, writer = await asyncio.open_connection(sock=ours)
    client.protocol.set_writer(writer)
    listening = run_async(client._stop_event, reader, client.protocol, error_handler=client.report_server_error)
    client._async_tasks.append(asyncio.create_task(listening))
    return thread


@asynccontextmanager
async def session(
    root: Path,
    name: str = "visual-studio-code",
    *,
    encodings: list[lsp.PositionEncodingKind] | None = None,
    roots: list[Path] | None = None,
    change: Any = None,
    command: list[str] | None = None,
) -> AsyncIterator[Editor]:
    """A session from `initialize` to `exit` with an editor's recorded capabilities, which `change` may change.

    The server is one in this process, or the process that `command` starts.
    """
    root = root.resolve()
    abilities = copy.deepcopy(recorded(name))
    if encodings is not None:
        abilities.general = lsp.GeneralClientCapabilities(position_encodings=encodings)
    if change is not None:
        change(abilities)
    holder: dict[str, Editor] = {}
    client = _made(holder)
    thread = await (_started(command, client) if command else _served(client))
    editor = holder["it"] = Editor(client, root)
    editor.pulls = abilities.text_document is not None and abilities.text_document.diagnostic is not None
    folders = [lsp.WorkspaceFolder(one.resolve().as_uri(), one.name) for one in roots or [root]]
    result = await client.initialize_session(
        lsp.InitializeParams(capabilities=abilities, root_uri=root.as_uri(), workspace_folders=folders)
    )
    editor.capabilities = result.capabilities
    editor.settles = result.server_info is not None and result.server_info.name == "flatwise"
    try:
        yield editor
    finally:
        await client.shutdown_session()
        if thread is not None:
            # the server may still be sending findings, so only its input ends
            client.protocol.writer.write_eof()
            await asyncio.to_thread(thread.join)
            client.protocol.writer.close()
        await client.stop()


def played(root: Path, play: Callable[[Editor], Coroutine[Any, Any, None]], **given: Any) -> None:
    """Play one session."""

    async def whole() -> None:
        async with session(root, **given) as editor:
            await play(editor)

    asyncio.run(whole())
