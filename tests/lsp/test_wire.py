"""Messages cut out of a stream of bytes, in whatever pieces, and what one wrong length costs: no more than its message.

Source: Language Server Protocol specification 3.17, "Base Protocol"; JSON-RPC 2.0, section 5.
"""

from __future__ import annotations

import io
import json
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from lsp.test_session_faults import BEGIN, spoken
from lsprotocol import types as lsp

from flatwise_lsp.server.rpc import Protocol, _root
from flatwise_lsp.server.stdio import Output, make
from flatwise_lsp.server.wire import LONGEST, Broken, Wire


def frame(body: bytes, length: int | None = None) -> bytes:
    return b"Content-Length: %d\r\n\r\n%b" % (len(body) if length is None else length, body)


def heard(stream: bytes, cuts: list[int] | None = None) -> list[Any]:
    """The messages of a stream that comes cut at these places; "broken" for one that is none."""
    wire, found, last = Wire(), [], 0
    for cut in [*sorted(cuts or ()), len(stream)]:
        found += ["broken" if isinstance(one, Broken) else one for one in wire.feed(stream[last:cut])]
        last = max(last, cut)
    assert not wire.in_body
    return found


@given(st.lists(st.recursive(st.text() | st.integers(), lambda deep: st.dictionaries(st.text(), deep))), st.data())
def test_messages_come_whole_in_any_pieces(messages: list[Any], data: st.DataObject) -> None:
    stream = b"".join(frame(json.dumps(one, ensure_ascii=False).encode("utf-8", "replace")) for one in messages)
    cuts = data.draw(st.lists(st.integers(0, len(stream))))
    assert heard(stream, cuts) == heard(stream)
    assert len(heard(stream)) == len(messages) and "broken" not in [one for one in heard(stream) if one not in messages]


ONE, TWO, THREE = (b'{"a": %d}' % number for number in (1, 2, 3))


@pytest.mark.parametrize("step", [1, 3, 1000])
@pytest.mark.parametrize(
    ("stream", "messages"),
    [
        (frame(ONE, 5) + frame(TWO), ["broken", 2]),
        (frame(ONE, len(ONE) + 4) + frame(TWO), ["broken", 2]),
        (frame(ONE, len(ONE) + 30) + frame(TWO) + frame(THREE), ["broken", 2, 3]),
        (frame(ONE, 10**6) + frame(TWO), ["broken", 2]),
        (frame(ONE, LONGEST + 1) + frame(TWO), [2]),
        (frame(ONE, -9) + frame(TWO), [2]),
        (frame(ONE, 0) + frame(TWO), [2]),
        (b"Content-Length: " + b"9" * 5000 + b"\r\n\r\n" + frame(TWO), [2]),
        (ONE + frame(TWO), [2]),
        (b"a" * 100_000 + b"\n" * 10 + frame(TWO), [2]),
        (b"content-LENGTH:8 \r\nX: 5\r\n\r\n" + TWO + frame(THREE), [2, 3]),
        (b"Content-Length: 8\n\n" + TWO, [2]),
        (frame(b"\xff\xfe") + frame(TWO), ["broken", 2]),
        (frame(b'{"a": NaN}') + frame(TWO), ["broken", 2]),
        (frame(b"[" * 200_000) + frame(TWO), ["broken", 2]),
    ],
)
def test_a_wrong_length_costs_one_message(stream: bytes, messages: list[Any], step: int) -> None:
    if step == 1 and len(stream) > 10_000:
        step = 777
    found = heard(stream, list(range(step, len(stream), step)))
    assert found == [{"a": one} if isinstance(one, int) else one for one in messages]


def test_a_header_in_a_text_is_text() -> None:
    text = "Content-Length: 5\r\n\r\nhello\r\nContent-Length: 7\r\n\r\n"
    assert heard(frame(json.dumps({"text": text}).encode()) + frame(TWO)) == [{"text": text}, {"a": 2}]


@pytest.mark.parametrize("answer", [{"error": 5}, {"error": {}}, {"error": {"code": 1, "message": "no"}}])
def test_who_asked_the_editor_does_not_wait_for_an_answer_that_makes_no_sense(answer: dict[str, Any]) -> None:
    protocol = make().protocol
    assert isinstance(protocol, Protocol)
    said = io.BytesIO()
    protocol.set_writer(Output(said))
    asked = protocol.send_request("client/registerCapability", lsp.RegistrationParams([]), msg_id="mine")
    protocol.take({"jsonrpc": "2.0", "id": "another", **answer})
    protocol.take({"jsonrpc": "2.0", "id": [], **answer})
    assert not asked.done()
    before = said.getvalue()
    protocol.take({"jsonrpc": "2.0", "id": "mine", **answer})
    assert asked.done() and asked.exception() is not None
    assert said.getvalue() == before


def test_what_is_answered_after_the_goodbye_goes_nowhere(caplog: pytest.LogCaptureFixture) -> None:
    protocol = make().protocol
    assert isinstance(protocol, Protocol)
    protocol.set_writer(Output(io.BytesIO()))
    late = {"jsonrpc": "2.0", "id": 1, "method": "flatwise/nothing"}
    with pytest.raises(SystemExit):
        protocol.take({"jsonrpc": "2.0", "method": "exit"})
    protocol.take(late)
    assert not [one for one in caplog.records if one.levelname == "ERROR"]


@pytest.mark.parametrize(
    ("uri", "path", "means"),
    [
        ("file://[", None, None),
        ("untitled:x", "/jobs", "file:///jobs"),
        (None, "/jobs", "file:///jobs"),
        (None, "\ud800", None),
        (None, "\0", None),
        ("file:///here", "/there", "file:///here"),
    ],
)
def test_a_root_that_can_be_none_is_none(uri: str | None, path: str | None, means: str | None) -> None:
    """LSP 3.17, "Initialize Request": rootUri is taken before rootPath."""
    assert _root(lsp.InitializeParams(lsp.ClientCapabilities(), root_uri=uri, root_path=path)) == means


def test_what_comes_too_early_twice_or_too_late_is_refused() -> None:
    """LSP 3.17, "Initialize Request" and "Shutdown Request"; JSON-RPC 2.0, section 5.1, for what is no message."""

    def asked(mark: int, method: str, **params: Any) -> dict[str, Any]:
        return {"jsonrpc": "2.0", "id": mark, "method": method, "params": params}

    hover = {"textDocument": {"uri": "file:///x"}, "position": {"line": 0, "character": 0}}
    answers, code = spoken(
        asked(10, "textDocument/hover", **hover),
        {"jsonrpc": "2.0", "method": "textDocument/didOpen", "params": {}},
        b"{",
        BEGIN,
        {**BEGIN, "id": 11},
        [asked(12, "textDocument/hover", **hover)],
        {"jsonrpc": "1.0", "id": 13, "method": "textDocument/hover", "params": hover},
        {"jsonrpc": "2.0", "id": 14, "method": "flatwise/nothing"},
        {"jsonrpc": "2.0", "id": 15, "method": "workspace/executeCommand", "params": {"command": "flatwise.sheet"}},
        asked(16, "workspace/executeCommand", command="flatwise.move", arguments=[{"uri": []}]),
        asked(18, "shutdown"),
        asked(19, "textDocument/hover", **hover),
        {"jsonrpc": "2.0", "method": "exit", "params": 5},
    )
    codes = [(one["id"], one.get("error", {}).get("code")) for one in answers if "method" not in one]
    wanted: list[tuple[int | None, set[int | None]]] = [
        (None, {-32700}),
        (None, {-32600}),
        (1, {None}),
        (10, {-32002}),
        (11, {-32600}),
        (13, {-32600}),
        (14, {-32601}),
        (15, {-32602}),
        # or dropped, since the end comes at once
        (16, {-32602, -32800}),
        (18, {None}),
        (19, {-32600}),
    ]
    assert len(codes) == len(wanted)
    assert all(any(one == mark and said in may for one, said in codes) for mark, may in wanted)
    assert code == 0
