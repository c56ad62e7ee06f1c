"""A server that is sent bytes, not the calls of a client."""

from __future__ import annotations

import io
import json
import re
import subprocess
from typing import Any, BinaryIO, cast

from lsp.editor import COMMAND

from flatwise_lsp.server.stdio import Output, make

INITIALIZE: dict[str, Any] = {
    "jsonrpc": "2.0",
    "id": 1,
    "method": "initialize",
    "params": {"capabilities": {}, "processId": None, "rootUri": None},
}


class Kept(io.BytesIO):
    """What a server wrote, also after it has closed its output."""

    def close(self) -> None:
        self.flush()


def _framed(message: object) -> bytes:
    body = message if isinstance(message, bytes) else json.dumps(message).encode()
    return b"Content-Length: %d\r\n\r\n%b" % (len(body), body)


def _answers(output: bytes) -> list[dict[str, Any]]:
    return [json.loads(body) for body in re.findall(rb"\r\n\r\n(\{.*?\})(?=Content-Length|$)", output, re.S)]


def exchange(*messages: object) -> list[dict[str, Any]]:
    """Send messages (as JSON, or as bytes in its place) to a new server in this process: what it sends."""
    output = Kept()
    make().start_io(io.BytesIO(b"".join(map(_framed, messages))), cast("BinaryIO", Output(output)))
    return _answers(output.getvalue())


def exchange_with_process(*messages: object) -> tuple[list[dict[str, Any]], int]:
    """The same with a server that is a process: what it sends, and its exit code."""
    server = subprocess.Popen(COMMAND, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    assert server.stdin is not None and server.stdout is not None
    for message in messages:
        server.stdin.write(_framed(message))
        server.stdin.flush()
    server.stdin.close()
    return _answers(server.stdout.read()), server.wait(timeout=10)


def started_by(process: int) -> subprocess.Popen[bytes]:
    """A server whose editor says that it is `process`, and which has answered `initialize`."""
    server = subprocess.Popen(COMMAND, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    assert server.stdin is not None and server.stdout is not None
    server.stdin.write(_framed({**INITIALIZE, "params": {**INITIALIZE["params"], "processId": process}}))
    server.stdin.flush()
    assert server.stdout.readline().startswith(b"Content-Length")
    return server
