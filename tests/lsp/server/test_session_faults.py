"""Bugs in the compiler and meaningless messages: each request is answered, and the session goes on."""

from __future__ import annotations

import asyncio
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from lsprotocol import types as lsp

pytest.importorskip("pytest_lsp", reason="pytest-lsp is not installed: pip install -e '.[test]'")

from lsp.editor import Editor, played
from lsp.marked import demo
from lsp.raw_messages import INITIALIZE, exchange_with_process, started_by


def broken(fault: type[Exception]) -> Callable[..., object]:
    """A function of the compiler or the server with a bug in it."""

    def stumble(*given: object) -> object:
        raise fault("made to fail")

    return stumble


def test_a_fault_in_one_request_is_answered_and_the_server_goes_on(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("flatwise_lsp.features.hover.hover", broken(ZeroDivisionError))

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat", demo("cut { stepovr 50% }"))
        here = editor.document("jobs/one.flat")
        for _ in range(3):
            with pytest.raises(Exception, match="made to fail"):
                await editor.client.text_document_hover_async(lsp.HoverParams(here, lsp.Position(3, 1)))
        with pytest.raises(Exception, match=r"."):
            await editor.client.workspace_execute_command_async(lsp.ExecuteCommandParams("flatwise.nothing"))
        assert await editor.codes("jobs/one.flat", 1) == ["FW101"]
        at = lsp.CompletionParams(here, lsp.Position(0, 0))
        assert await editor.client.text_document_completion_async(at) is not None

    played(shop, play)


@pytest.mark.parametrize(
    "rest", [0.05, *(pytest.param(rest, marks=pytest.mark.nightly) for rest in (0.0, 0.02, 0.1, 0.2, 0.4))]
)
@pytest.mark.parametrize("fault", [ZeroDivisionError, StopIteration])
def test_a_fault_in_the_compiler_does_not_end_the_session(
    shop: Path, monkeypatch: pytest.MonkeyPatch, fault: type[Exception], rest: float
) -> None:
    """The next text is checked, whether it comes before the fault or after."""
    monkeypatch.setattr("flatwise.seat.seat", broken(fault))

    async def play(editor: Editor) -> None:
        editor.open("jobs/one.flat", demo("cut { stepover 50% }"))
        await asyncio.sleep(rest)
        editor.replace("jobs/one.flat", demo("cut { stepovr 50% }"))
        # the word is judged when the typing pauses
        await editor.until(lambda: editor.last_codes("jobs/one.flat") == {"FW101"})

    played(shop, play)


CHANGE = {"textDocument": {"uri": "file:///x", "version": 2}, "contentChanges": [{"text": "x"}]}


def test_meaningless_messages_are_answered_and_survived() -> None:
    """JSON-RPC 2.0, section 5.1: a request with bad parameters is answered by an error of code -32602."""
    answers, code = exchange_with_process(
        INITIALIZE,
        {"jsonrpc": "2.0", "id": 2, "method": "textDocument/hover", "params": {"nonsense": 1}},
        b"this is not JSON",
        {"jsonrpc": "2.0", "id": 3, "method": "flatwise/nothing", "params": {}},
        {"jsonrpc": "2.0", "method": "textDocument/didChange", "params": CHANGE},
        {"jsonrpc": "2.0", "id": 4, "method": "shutdown", "params": None},
        {"jsonrpc": "2.0", "method": "exit", "params": None},
    )
    by_id = {one["id"]: one for one in answers if "id" in one}
    assert by_id[1]["result"]["serverInfo"]["name"] == "flatwise"
    assert by_id[2]["error"]["code"] == -32602
    assert by_id[3]["error"]["code"] == -32601
    assert by_id[4].get("result", "none") is None
    assert code == 0


def test_the_exit_code_tells_whether_shutdown_came_before_exit() -> None:
    """LSP 3.17, `exit`: 0 if shutdown came before, else 1."""
    assert exchange_with_process(INITIALIZE, {"jsonrpc": "2.0", "method": "exit", "params": None})[1] == 1


@pytest.mark.skipif(sys.platform == "win32", reason="an editor that ends closes the pipes there, which ends the server")
def test_the_server_ends_with_its_editor() -> None:
    """LSP 3.17, `processId`: a server exits when that process is gone; here its pipes stay open."""
    editor = subprocess.Popen([sys.executable, "-c", "input()"], stdin=subprocess.PIPE)
    server = started_by(editor.pid)
    with pytest.raises(subprocess.TimeoutExpired):
        server.wait(timeout=0.7)
    editor.kill()
    editor.wait()
    assert server.wait(timeout=10) == 1


@pytest.mark.nightly
def test_a_number_that_no_process_has_is_not_watched() -> None:
    """The editor may run on another machine."""
    ended = subprocess.Popen([sys.executable, "-c", ""])
    ended.wait()
    server = started_by(ended.pid)
    with pytest.raises(subprocess.TimeoutExpired):
        server.wait(timeout=0.7)
    server.kill()
    server.wait()
