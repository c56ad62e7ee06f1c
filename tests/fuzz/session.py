"""A session with the language server, made from one seed: valid messages and damaged ones.

JSON-RPC 2.0 (https://www.jsonrpc.org/specification) and the Language Server Protocol 3.17 say what must be answered;
each expectation names its section.
"""

from __future__ import annotations

import json
import random
from collections import Counter
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from fuzz import spoil

# JSON-RPC 2.0, section 5.1 "Error object", and LSP 3.17 "Response Message", `ErrorCodes` and `LSPErrorCodes`
PARSE, INVALID, UNKNOWN, PARAMS, EARLY = -32700, -32600, -32601, -32602, -32002
CANCELLED, MODIFIED = -32800, -32801
#: stands for a result among the codes of an allowed answer
RESULT = 0

WRONG = (
    None, -1, 1.5, 2**31, 2**63, 10**30, "", "x", "\x00", "\ud800", "9" * 5000, [], {}, [[]], [None], {"x": {}}, True,
    {"line": -1, "character": -1}, {"start": 1}, ["a"] * 300, {"jsonrpc": "2.0", "id": 1, "method": "exit"},
)  # fmt: skip
URIS = (
    "", "x", "file:", "file://", "file:///", "file:///..", "file:///dev/zero", "file:///etc/passwd", "file:///%00.flat",
    "file://[", "file://host/share/a.flat", "file:///c:/jobs/a.flat", "untitled:Untitled-1", "http://x/a.flat",
    "vscode-vfs://a/b.flat", "file:///" + "a" * 5000 + ".flat", "file:///a/" + "b/" * 3000 + "c.flat", "FILE:///A.FLAT",
    "file:a.flat", "file:///tmp/../../../a.flat", "file:///%ff%fe.flat", "file:///\ud800.flat", "data:,x", "://",
    "\x00", "file:///proc/self/mem", "file:///proc/self/fd/0", "file:///dev/stdin", "javascript:x", "file:///a\nb.flat",
)  # fmt: skip
#: bodies that are not JSON, or not UTF-8 as they must be: JSON-RPC 2.0, -32700 "Parse error", with id null
NO_JSON = (
    b"{", b"}", b"x", b'{"jsonrpc": "2.0", "id": 1, "method"', b"\xff\xfe{}", b'{"a": "\xc3"}', b"nul", b"[1,]", b"'a'",
    b'"\n"', b'{"a": 1}{"a": 2}', b"[" * 200_000, b'{"a":' * 50_000, b"\x00",
    b'{"jsonrpc": "2.0", "method": "exit"', b"\xef\xbb\xbf\xef\xbb\xbf{}", b"01", b'{"a": 1,}', b"\xed\xa0\x80",
)  # fmt: skip
#: JSON that is not a message: JSON-RPC 2.0, -32600 "Invalid Request", with id null, since no id is certain
NO_MESSAGE: tuple[Any, ...] = (
    5, "x", None, True, [], [1], {}, {"a": 1}, {"jsonrpc": "2.0"}, {"jsonrpc": "1.0", "method": 1},
    {"id": 1.5, "jsonrpc": "2.0", "method": "shutdown"}, {"id": [], "jsonrpc": "2.0", "method": "shutdown"},
    {"id": {}, "jsonrpc": "2.0", "method": "x"},
    {"id": None, "jsonrpc": "2.0", "method": "shutdown"}, {"jsonrpc": "2.0", "method": 1, "params": "bar"},
    [{"jsonrpc": "2.0", "id": 1, "method": "shutdown"}], [{"jsonrpc": "2.0", "method": "exit"}] * 3,
    {"jsonrpc": "1.0", "method": "exit"}, {"method": "exit"}, {"jsonrpc": 2.0, "method": "exit"},
)  # fmt: skip
#: answers to requests that were never made; they get no answer
ANSWERS: tuple[Any, ...] = (
    {"jsonrpc": "2.0", "id": 1, "result": None}, {"jsonrpc": "2.0", "id": "x", "result": {}},
    {"jsonrpc": "2.0", "id": [], "result": 1}, {"jsonrpc": "2.0", "id": None, "error": {"code": 1, "message": "x"}},
    {"jsonrpc": "2.0", "id": 3, "error": 5}, {"jsonrpc": "2.0", "id": {}, "error": {}},
)  # fmt: skip
NAMES = ("a.flat", "b.flat", "link.flat", "circle.flat", "new.flat", "../jobs/a.flat", "../../up.flat", "t.csv")


def frame(message: Any) -> bytes:
    body = message if isinstance(message, bytes) else json.dumps(message).encode()
    return b"Content-Length: %d\r\n\r\n%b" % (len(body), body)


class Session:
    """The messages to send, burst by burst, and the answers that they must get."""

    def __init__(self, chance: random.Random, root: Path, texts: Sequence[str]) -> None:
        self.chance, self.root, self.texts = chance, root, texts
        #: by id: the number of answers, and the codes that each may have
        self.expected: dict[int | str, tuple[int, set[int]]] = {}
        self.nulls: Counter[int] = Counter()
        self.open: dict[str, int] = {}
        self.sent = self.size = 0
        self.phase = "early"
        self._number = 100

    # -- parts of messages

    def uri(self) -> str:
        if self.open and self.chance.random() < 0.6:
            return self.chance.choice(list(self.open))
        if self.chance.random() < 0.6:
            return f"{self.root.as_uri()}/jobs/{self.chance.choice(NAMES)}"
        return self.chance.choice(URIS)

    def text(self) -> str:
        if self.chance.random() < 0.05:
            return self.chance.choice(("{" * 3000, "a " * 5000, "\n" * 20000, '"' * 3000, "\ud800", "𝄞\r" * 3000, ""))
        return spoil.text(self.chance, self.chance.choice(self.texts), self.texts)

    def position(self) -> dict[str, Any]:
        # LSP 3.17, "Position": beyond the end of a line is the end of the line
        far = (0, 1, 2, 5, 10, 20, 40, 70, 200, 2**31 - 1)
        return {"line": self.chance.choice(far), "character": self.chance.choice(far)}

    def range(self) -> dict[str, Any]:
        return {"start": self.position(), "end": self.position()}

    def spoilt(self, value: Any) -> Any:
        """The same value with one part wrong."""
        if isinstance(value, dict | list) and value and self.chance.random() < 0.85:
            keys: Any = list(value) if isinstance(value, dict) else range(len(value))
            key = self.chance.choice(keys)
            copy: Any = value.copy()
            if isinstance(copy, dict) and self.chance.random() < 0.15:
                del copy[key]
            else:
                copy[key] = self.spoilt(value[key])
            return copy
        return self.chance.choice(WRONG)

    def asked(self) -> tuple[str, dict[str, Any], set[int]]:
        """A valid request, and the codes that its answer may have."""
        document = {"textDocument": {"uri": self.uri()}}
        at, place = {**document, "position": self.position()}, self.range()
        options = {"options": {"tabSize": 4, "insertSpaces": True}}
        action = {"title": "x", "data": self.chance.choice((None, {"uri": self.uri(), "code": "FW501", "at": 5}))}
        named = {"command": self.chance.choice(("flatwise.explain", "flatwise.explain")), "arguments": ["FW501"]}
        moved = {"command": "flatwise.move", "arguments": [{"uri": self.uri(), "code": "FW501", "at": 5}]}
        shown = self.chance.choice(("flatwise.sheet", "flatwise.preview"))
        sheet = {"command": shown, "arguments": [self.uri(), self.chance.choice(("x", "../..", "\x00"))]}
        table: tuple[tuple[str, dict[str, Any], set[int]], ...] = (
            *(
                (f"textDocument/{name}", at, {RESULT})
                for name in ("completion", "hover", "signatureHelp", "definition", "documentHighlight")
            ),
            ("textDocument/references", {**at, "context": {"includeDeclaration": True}}, {RESULT}),
            ("textDocument/prepareRename", at, {RESULT, PARAMS}),
            ("textDocument/rename", {**at, "newName": self.chance.choice(("b", "", "a b", "\x00"))},
             {RESULT, PARAMS, MODIFIED}),
            *(
                (f"textDocument/{name}", document, {RESULT})
                for name in ("documentSymbol", "foldingRange", "documentLink", "codeLens", "semanticTokens/full",
                             "diagnostic")
            ),
            ("textDocument/semanticTokens/full/delta", {**document, "previousResultId": "1"}, {RESULT}),
            ("textDocument/semanticTokens/range", {**document, "range": place}, {RESULT}),
            ("textDocument/inlayHint", {**document, "range": place}, {RESULT}),
            ("textDocument/selectionRange", {**document, "positions": [self.position()] * 2}, {RESULT}),
            ("textDocument/codeAction", {**document, "range": place, "context": {"diagnostics": []}}, {RESULT}),
            ("codeAction/resolve", action, {RESULT}),
            ("textDocument/formatting", {**document, **options}, {RESULT}),
            ("textDocument/rangeFormatting", {**document, **options, "range": place}, {RESULT}),
            ("textDocument/onTypeFormatting", {**at, **options, "ch": "}"}, {RESULT}),
            ("workspace/symbol", {"query": self.chance.choice(("", "a", "\x00", "x" * 1000))}, {RESULT}),
            ("workspace/willRenameFiles", {"files": [{"oldUri": self.uri(), "newUri": self.uri()}]}, {RESULT}),
            *(("workspace/executeCommand", each, {RESULT}) for each in (named, moved, sheet)),
            ("flatwise/text", {"uri": self.uri()}, {RESULT}),
        )  # fmt: skip
        return self.chance.choice(table)

    def told(self) -> tuple[str, dict[str, Any]]:
        """A valid notification."""
        uri = self.uri()
        version = self.open.get(uri, 0) + self.chance.choice((1, 1, 1, 0, -5, 1000))
        match self.chance.randrange(8):
            case 0 | 1:
                self.open[uri] = version
                item = {"uri": uri, "languageId": "flatwise", "version": version, "text": self.text()}
                return "textDocument/didOpen", {"textDocument": item}
            case 2 | 3 | 4:
                edit: dict[str, Any] = {"text": self.chance.choice((*spoil.JOB_PIECES, ""))}
                if self.chance.random() < 0.8:
                    edit["range"] = self.range()
                edits = [edit] * self.chance.choice((0, 1, 1, 2, 50))
                return "textDocument/didChange", {
                    "textDocument": {"uri": uri, "version": version},
                    "contentChanges": edits,
                }
            case 5:
                self.open.pop(uri, None)
                return self.chance.choice(("textDocument/didClose", "textDocument/didSave")), {
                    "textDocument": {"uri": uri}
                }
            case 6:
                changes = [{"uri": self.uri(), "type": self.chance.randrange(1, 4)} for _ in range(3)]
                return "workspace/didChangeWatchedFiles", {"changes": changes}
            case _:
                folder = {"uri": self.chance.choice((uri, f"{self.root.as_uri()}/nowhere")), "name": "x"}
                # the server would rightly search the whole disk
                folders = [] if folder["uri"] in ("file:///", "file:///..", "file://") else [folder]
                event = self.chance.choice(({"added": folders, "removed": []}, {"added": [], "removed": folders}))
                return "workspace/didChangeWorkspaceFolders", {"event": event}

    # -- messages

    def ask(self, method: str, params: Any, may: set[int], mark: int | str | None = None) -> bytes:
        """A request; before `initialize` and after `shutdown` it must get an error."""
        if self.phase == "early" and method != "initialize":
            may = {EARLY}  # LSP 3.17, "Initialize Request"
        if self.phase == "late":
            may = {INVALID}  # LSP 3.17, "Shutdown Request"
        if mark is None:
            self._number += 1
            mark = self.chance.choice((self._number, f"q{self._number}", -self._number, f"é {self._number}"))
        count, others = self.expected.get(mark, (0, set()))
        self.expected[mark] = (count + 1, others | may)
        message = {"jsonrpc": "2.0", "id": mark, "method": method, "params": params}
        if params is None and self.chance.random() < 0.5:
            del message["params"]
        return self._framed(message)

    def _framed(self, message: Any) -> bytes:
        self.sent += 1
        return frame(json.dumps(message, ensure_ascii=self.chance.random() < 0.5).encode("utf-8", "replace"))

    def sane(self) -> bytes:
        if self.chance.random() < 0.4:
            method, params = self.told()
            return self._framed({"jsonrpc": "2.0", "method": method, "params": params})
        return self.ask(*self.asked())

    def spoiled(self) -> bytes:
        """A message with one fault."""
        chance = self.chance
        self.sent += 1
        match chance.randrange(12):
            case 0 | 1 | 2:
                method, params, may = self.asked()
                return self.ask(method, self.spoilt(params), may | {PARAMS})
            case 3:
                method, params = self.told()
                return self._framed({"jsonrpc": "2.0", "method": method, "params": self.spoilt(params)})
            case 4:
                # these methods need params, which must be an object or an array (JSON-RPC 2.0, 4.2 and 5.1)
                method = f"textDocument/{chance.choice(('hover', 'rename', 'codeAction'))}"
                return self.ask(method, chance.choice((None, 5, "x", [], [1], {}, True)), {PARAMS})
            case 5:
                # LSP 3.17, "$ Notifications and Requests": a request that begins with $/ gets MethodNotFound too
                name = chance.choice(
                    ("x", "", "$/x", "textDocument/declaration", "flatwise/nothing", "__init__", "\x00")
                )
                if chance.random() < 0.3:
                    return self._framed({"jsonrpc": "2.0", "method": name, "params": chance.choice(WRONG)})
                # a notification that is sent as a request is an unknown method as well
                name = chance.choice((name, name, "$/cancelRequest", "exit", "textDocument/didOpen", "initialized"))
                return self.ask(name, chance.choice((None, {}, [], {"id": 1}, 5)), {UNKNOWN})
            case 6:
                self.nulls[PARSE] += 1
                return frame(chance.choice(NO_JSON))
            case 7:
                self.nulls[INVALID] += 1
                return frame(chance.choice(NO_MESSAGE))
            case 8:
                return frame(chance.choice(ANSWERS))
            case 9:
                mark: Any = chance.choice((*list(self.expected)[-4:], 10**9, "x", None, [], {}, 1.5, True))
                if chance.random() < 0.2:
                    method = "window/workDoneProgress/cancel"
                    return self._framed({"jsonrpc": "2.0", "method": method, "params": {"token": mark}})
                if isinstance(mark, int | str) and mark in self.expected:
                    count, may = self.expected[mark]
                    self.expected[mark] = (count, may | {CANCELLED})
                return self._framed({"jsonrpc": "2.0", "method": "$/cancelRequest", "params": {"id": mark}})
            case 10:
                mark = chance.choice((10**12, 0, "same", ""))
                return self.ask(*self.asked(), mark) + self.ask(*self.asked(), mark)
            case _:
                names = ("build", "sheet", "preview", "explain", "move", "x", "")
                command = chance.choice([f"flatwise.{name}" for name in names])
                given = chance.choice(
                    ([], [5], ["untitled:x"], [{}], ["FW999"], [None, None], [[], []] * 9, [{"uri": []}])
                )
                return self.ask("workspace/executeCommand", {"command": command, "arguments": given}, {RESULT, PARAMS})

    def greeting(self) -> bytes:
        chance = self.chance
        folders = [f"{self.root.as_uri()}{chance.choice(('', '/', '/jobs'))}"]
        if chance.random() < 0.3:
            folders.append(chance.choice(("file:///nowhere", "untitled:x", "", "x", "file://[", "file:///%00")))
        able = {
            "window": {"workDoneProgress": chance.random() < 0.3},
            "textDocument": {"diagnostic": {}} if chance.random() < 0.3 else {},
            "workspace": {"didChangeWatchedFiles": {"dynamicRegistration": chance.random() < 0.3}},
            "general": {"positionEncodings": chance.choice((["utf-8"], ["utf-32"], ["utf-16"], [], ["x"]))},
        }
        params: dict[str, Any] = {
            "processId": None, "rootUri": chance.choice((self.root.as_uri(), None)), "capabilities": able,
            "workspaceFolders": [{"uri": one, "name": "x"} for one in folders],
        }  # fmt: skip
        if chance.random() < 0.3:
            del params["workspaceFolders"]
        if chance.random() < 0.3:
            params["rootPath"] = chance.choice(("", "x", "/nowhere", str(self.root)))
        sent = b""
        if chance.random() < 0.2:
            sent = self.ask("initialize", chance.choice(({}, {"capabilities": 5}, None, [])), {PARAMS})
        sent += self.ask("initialize", params, {RESULT})
        self.phase = "amid"
        return sent + self._framed({"jsonrpc": "2.0", "method": "initialized", "params": {}})

    def burst(self, many: int) -> bytes:
        return (
            b"".join(self.spoiled() if self.chance.random() < 0.5 else self.sane() for _ in range(many)) + self.last()
        )

    def last(self) -> bytes:
        """A valid request at the end of a burst, which no earlier fault may swallow."""
        if self.phase == "amid" and self.open:
            return self.ask(
                "textDocument/codeLens", {"textDocument": {"uri": self.chance.choice(list(self.open))}}, {RESULT}
            )
        return self.ask("flatwise/text", {"uri": "x"}, {RESULT})
