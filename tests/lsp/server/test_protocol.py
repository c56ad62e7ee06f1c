"""Malformed, early and late messages: each is refused as the specifications say, and the session goes on.

Sources: JSON-RPC 2.0, section 5; Language Server Protocol 3.17, "Base Protocol", "Initialize Request", "Shutdown
Request".
"""

from __future__ import annotations

import io
from typing import Any

import pytest
from lsp.raw_messages import INITIALIZE, exchange, exchange_with_process
from lsprotocol import types as lsp

from flatwise.model.kinds import KINDS
from flatwise_lsp.server import conversion
from flatwise_lsp.server.protocol import Protocol
from flatwise_lsp.server.stdio import Output, make

PARSE_ERROR, INVALID_REQUEST, METHOD_NOT_FOUND, INVALID_PARAMS, NOT_INITIALIZED = -32700, -32600, -32601, -32602, -32002
HOVER = {"textDocument": {"uri": "file:///x"}, "position": {"line": 0, "character": 0}}


def request(number: Any, method: str, params: Any) -> dict[str, Any]:
    return {"jsonrpc": "2.0", "id": number, "method": method, "params": params}


def refused(*messages: object) -> list[tuple[int | None, int | None]]:
    """The ids and error codes of the answers to some messages; the code is None for a result."""
    answers = exchange(*messages)
    return [(one["id"], one.get("error", {}).get("code")) for one in answers if "method" not in one]


MALFORMED: list[tuple[list[object], list[tuple[int | None, int | None]]]] = [
    ([b"{", b"\xff\xfe", b"[" * 200_000], [(None, PARSE_ERROR)] * 3),
    ([5, [], {}, [request(2, "textDocument/hover", HOVER)]], [(None, INVALID_REQUEST)] * 4),
    ([request(None, "textDocument/hover", HOVER), request([], "x", {})], [(None, INVALID_REQUEST)] * 2),
    ([{**request(2, "textDocument/hover", HOVER), "jsonrpc": "1.0"}], [(2, INVALID_REQUEST)]),
    ([request(2, "flatwise/nothing", None)], [(2, METHOD_NOT_FOUND)]),
    ([{"jsonrpc": "2.0", "id": 2, "method": "flatwise/nothing"}], [(2, METHOD_NOT_FOUND)]),
    # a method that this server lacks, whatever its params, or that is a notification
    (
        [request(2, "textDocument/declaration", None), request(3, "$/x", 5)],
        [(2, METHOD_NOT_FOUND), (3, METHOD_NOT_FOUND)],
    ),
    (
        [request(2, "$/cancelRequest", {"id": 1}), request(3, "exit", None)],
        [(2, METHOD_NOT_FOUND), (3, METHOD_NOT_FOUND)],
    ),
    ([request(2, "textDocument/hover", None)], [(2, INVALID_PARAMS)]),
    ([request(True, "textDocument/hover", HOVER)], [(None, INVALID_REQUEST)]),
    ([{"jsonrpc": "2.0", "id": 2, "method": "textDocument/hover"}], [(2, INVALID_PARAMS)]),
    (
        [request(2, "textDocument/hover", {"x": 1}), request(3, "textDocument/hover", 5)],
        [(2, INVALID_PARAMS), (3, INVALID_PARAMS)],
    ),
    ([request(2, "workspace/executeCommand", {"command": "flatwise.sheet", "arguments": []})], [(2, INVALID_PARAMS)]),
    ([request(2, "workspace/executeCommand", {"command": "flatwise.explain"})], [(2, INVALID_PARAMS)]),
    ([{**INITIALIZE, "id": 2}], [(2, INVALID_REQUEST)]),
    (
        [
            {"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {}},
            {"jsonrpc": "2.0", "method": "flatwise/nothing"},
            {"jsonrpc": "2.0", "id": "x", "result": 5},
        ],
        [],
    ),
]


def test_a_malformed_message_is_refused_and_the_next_one_is_answered() -> None:
    # one session: every message has all those before it behind it
    messages, answers = [INITIALIZE], [(1, None)]
    for number, (malformed, refusals) in enumerate(MALFORMED):
        messages += [*malformed, request(100 + number, "textDocument/hover", HOVER)]
        answers += [*refusals, (100 + number, None)]
    assert refused(*messages) == answers


@pytest.mark.parametrize("mark", [None, [], {}, 1.5, True])
def test_a_cancellation_names_a_number_or_a_text(mark: object, caplog: pytest.LogCaptureFixture) -> None:
    """LSP 3.17, "Cancellation Support" and "Canceling a work done progress": `id` and `token` are integer | string."""
    cancel = [
        {"jsonrpc": "2.0", "method": "$/cancelRequest", "params": {"id": mark}},
        {"jsonrpc": "2.0", "method": "window/workDoneProgress/cancel", "params": {"token": mark}},
    ]
    assert refused(INITIALIZE, *cancel, request(2, "textDocument/hover", HOVER)) == [(1, None), (2, None)]
    said = [record.getMessage() for record in caplog.records if "refused" in record.getMessage()]
    assert said == ["refused: Invalid Params"] * 2
    assert not [record for record in caplog.records if record.exc_info]


def test_messages_before_initialize_and_after_shutdown_are_refused() -> None:
    messages = [
        request(10, "textDocument/hover", HOVER),
        {"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {}},
        INITIALIZE,
        request(18, "shutdown", None),
        request(19, "textDocument/hover", HOVER),
        {"jsonrpc": "2.0", "method": "exit", "params": 5},
    ]
    answers, exit_code = exchange_with_process(*messages)
    assert [(one["id"], one.get("error", {}).get("code")) for one in answers] == [
        (10, NOT_INITIALIZED),
        (1, None),
        (18, None),
        (19, INVALID_REQUEST),
    ]
    assert exit_code == 0


@pytest.mark.parametrize("answer", [{"error": 5}, {"error": {}}, {"error": {"code": 1, "message": "no"}}])
def test_a_bad_answer_from_the_editor_is_an_error_for_whoever_waits_for_it(answer: dict[str, Any]) -> None:
    protocol = make().protocol
    assert isinstance(protocol, Protocol)
    sent = io.BytesIO()
    protocol.set_writer(Output(sent))
    waiting = protocol.send_request("client/registerCapability", lsp.RegistrationParams([]), msg_id="mine")
    protocol.handle_message({"jsonrpc": "2.0", "id": "another", **answer})
    protocol.handle_message({"jsonrpc": "2.0", "id": [], **answer})
    assert not waiting.done()
    before = sent.getvalue()
    protocol.handle_message({"jsonrpc": "2.0", "id": "mine", **answer})
    assert waiting.done() and waiting.exception() is not None
    assert sent.getvalue() == before


def test_answers_that_are_ready_after_exit_are_dropped(caplog: pytest.LogCaptureFixture) -> None:
    protocol = make().protocol
    assert isinstance(protocol, Protocol)
    protocol.set_writer(Output(io.BytesIO()))
    with pytest.raises(SystemExit):
        protocol.handle_message({"jsonrpc": "2.0", "method": "exit"})
    protocol.handle_message(request(1, "flatwise/nothing", None))
    assert not [one for one in caplog.records if one.levelname == "ERROR"]


def test_every_kind_of_declaration_has_a_symbol() -> None:
    assert set(KINDS) <= set(conversion._SYMBOL_KINDS)
