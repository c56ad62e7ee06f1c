"""`flatwise serve`: the complete server on standard input and output."""

from __future__ import annotations

import gc
import logging
import os
import sys
import time
from threading import Thread
from typing import Any, BinaryIO, cast

from lsprotocol import types as lsp

from flatwise_lsp.server import actions, commands, requests
from flatwise_lsp.server.language_server import Server

#: how often the server looks for the editor's process, in s
LOOKS_EVERY = 0.5


class Output:
    """A binary stream; answers that are ready only after `exit` are dropped."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream

    def write(self, data: bytes) -> None:
        if not self._stream.closed:
            self._stream.write(data)

    def flush(self) -> None:
        if not self._stream.closed:
            self._stream.flush()

    def close(self) -> None:
        self._stream.close()


def is_running(process: int) -> bool:
    """Whether a process exists; False on a system where asking could harm it."""
    if os.name != "posix" or process <= 0:
        return False
    try:
        os.kill(process, 0)
    except ProcessLookupError:
        return False
    except OSError:  # it belongs to somebody else
        return True
    return True


def end_with(process: int) -> None:
    """End this process when the editor's is gone: with one that was killed, nothing else may tell (LSP 3.17)."""
    while is_running(process):
        time.sleep(LOOKS_EVERY)
    os._exit(1)


def make() -> Server:
    """A server with all its requests and commands."""
    server = Server()

    @server.feature(lsp.INITIALIZE)
    def initialize(params: lsp.InitializeParams) -> None:
        server.initialized_from(params)
        # the number means nothing here if the editor runs on another machine or outside a container
        if params.process_id is not None and is_running(params.process_id):
            Thread(target=end_with, args=(params.process_id,), daemon=True).start()

    @server.feature(lsp.INITIALIZED)
    async def initialized(params: lsp.InitializedParams) -> None:
        await server.begin()

    @server.feature(lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES)
    def files_changed(params: lsp.DidChangeWatchedFilesParams) -> None:
        server.files_changed(params)

    @server.feature(lsp.WORKSPACE_DID_CHANGE_WORKSPACE_FOLDERS)
    async def folders_changed(params: lsp.DidChangeWorkspaceFoldersParams) -> None:
        await server.check_workspace(server.folders_changed(params.event))

    @server.feature(lsp.TEXT_DOCUMENT_DID_SAVE)
    def saved(params: lsp.DidSaveTextDocumentParams) -> None:
        document = server.store.get(params.text_document.uri)
        if document is not None:
            server.checking.request(server.checking.readers(document.path))

    @server.feature("flatwise/text")
    def held(params: Any) -> dict[str, Any] | None:
        """The server's text of a document, so that an editor (or a test) can compare it with its own."""
        document = server.store.get(str(getattr(params, "uri", "")))
        return None if document is None else {"version": document.version, "text": document.text.text}

    requests.register(server)
    actions.register(server)
    commands.register(server)
    return server


def serve() -> int:
    """Serve one editor until it exits.  Returns 0, or 1 where it left without `shutdown`.

    Only the protocol writes to standard output: whatever else is printed goes to standard error.
    """
    logging.basicConfig(stream=sys.stderr, level=logging.WARNING, format="flatwise: %(levelname)s %(name)s %(message)s")
    sys.stdout.flush()
    with os.fdopen(os.dup(sys.stdout.fileno()), "wb") as output:
        os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
        server = make()
        # trees and plans have no cycles; searching all of them for cycles takes longer than parsing a long file
        gc.freeze()
        gc.set_threshold(50_000, 50, 1000)
        # the event loop must not wait the default 5 ms for the thread that checks files
        sys.setswitchinterval(0.001)
        server.start_io(sys.stdin.buffer, cast("BinaryIO", Output(output)))
    return 0 if server.was_shut_down else 1
