"""A server that is sent bytes, not the calls of a client."""

from __future__ import annotations

import json
import re
import subprocess
from typing import Any

from lsp.editor import COMMAND

INITIALIZE = {
    "jsonrpc": "2.0",
    "id": 1,
    "method": "initialize",
    "params": {"capabilities": {}, "processId": None, "rootUri": None},
}


def exchange(*messages: object) -> tuple[list[dict[str, Any]], int]:
    """Send messages (as JSON, or as bytes in its place) to a new server: what it sends, and its exit code."""
    server = subprocess.Popen(COMMAND, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL)
    assert server.stdin is not None and server.stdout is not None
    for message in messages:
        body = message if isinstance(message, bytes) else json.dumps(message).encode()
        server.stdin.write(b"Content-Length: %d\r\n\r\n%b" % (len(body), body))
        server.stdin.flush()
    server.stdin.close()
    output = server.stdout.read()
    answers = [json.loads(body) for body in re.findall(rb"\r\n\r\n(\{.*?\})(?=Content-Length|$)", output, re.S)]
    return answers, server.wait(timeout=10)
