"""`flatwise serve`: the server with all that it answers, over standard input and output."""

from __future__ import annotations

import asyncio
import gc
import io
import logging
import os
import stat
import sys
from collections.abc import AsyncIterator
from typing import Any, BinaryIO, cast

from lsprotocol import types as lsp

from flatwise_lsp.server import commands, requests
from flatwise_lsp.server.language_server import Server
from flatwise_lsp.server.rpc import Protocol
from flatwise_lsp.server.wire import Wire

logger = logging.getLogger(__name__)

#: bytes that are read at once
PIECE = 1 << 16


class Output:
    """The editor's end; answers to what was still at work when it said goodbye go nowhere."""

    def __init__(self, stream: BinaryIO) -> None:
        self._stream = stream

    def write(self, data: bytes) -> None:
        if not self._stream.closed:
            self._stream.write(data)
            self._stream.flush()

    def close(self) -> None:
        self._stream.close()


def make() -> Server:
    """A server with all that it answers."""
    server = Server()

    @server.feature(lsp.INITIALIZE)
    def initialize(params: lsp.InitializeParams) -> None:
        server.initialized_from(params)

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
            server.checking.ask(server.checking.readers(document.path))

    @server.feature("flatwise/text")
    def held(params: Any) -> dict[str, Any] | None:
        """The text that the server holds of a document, so that an editor (or a test) can compare it with its own."""
        document = server.store.get(str(getattr(params, "uri", "")))
        return None if document is None else {"version": document.version, "text": document.text.text}

    requests.register(server)
    commands.register(server)
    return server


def serve() -> int:
    """Serve one editor until it says goodbye; 1 where it left without.

    The protocol keeps the standard output for itself: whatever else is printed goes to standard error.
    """
    logging.basicConfig(stream=sys.stderr, level=logging.WARNING, format="flatwise: %(levelname)s %(name)s %(message)s")
    sys.stdout.flush()
    with os.fdopen(os.dup(sys.stdout.fileno()), "wb") as output:
        os.dup2(sys.stderr.fileno(), sys.stdout.fileno())
        server = make()
        # trees and plans hold no circles; looking for some in all of them costs more than reading a long file
        gc.freeze()
        gc.set_threshold(50_000, 50, 1000)
        # the thread that checks must not keep the one that listens waiting for the usual 5 ms
        sys.setswitchinterval(0.001)
        _listen(server, output)
    return 0 if server.said_goodbye else 1


def _can_wait_for(source: BinaryIO, output: BinaryIO) -> bool:
    """Whether the event loop can read the input itself: a pipe or socket that is not the output as well.

    Such a stream is made to answer at once even where nothing is there, which would break writing to it.
    """
    there = os.fstat(source.fileno())
    fit = stat.S_ISFIFO(there.st_mode) or stat.S_ISSOCK(there.st_mode)
    return fit and os.name == "posix" and not os.path.samestat(there, os.fstat(output.fileno()))


async def _pieces(server: Server, output: BinaryIO) -> AsyncIterator[bytes]:
    """The input as it comes."""
    loop, source = asyncio.get_running_loop(), sys.stdin.buffer
    if _can_wait_for(source, output):
        # not through a thread, where each message waits for three changes of thread
        reader = asyncio.StreamReader()
        await loop.connect_read_pipe(lambda: asyncio.StreamReaderProtocol(reader), source)
        while piece := await reader.read(PIECE):
            yield piece
    else:
        while piece := await loop.run_in_executor(server.thread_pool, cast(io.BufferedReader, source).read1, PIECE):
            yield piece


def _listen(server: Server, output: BinaryIO) -> None:
    """Hand on every message until the editor says goodbye or its pipe ends."""
    protocol = cast(Protocol, server.protocol)
    protocol.set_writer(Output(output))

    async def messages() -> None:
        wire = Wire()
        async for piece in _pieces(server, output):
            for message in wire.feed(piece):
                protocol.take(message)
        if wire.in_body:
            logger.warning("the editor left in the middle of a message")

    try:
        asyncio.run(messages())
    except BrokenPipeError:
        logger.warning("the editor left without a goodbye")
    except (KeyboardInterrupt, SystemExit):
        pass
    finally:
        server.shutdown()
