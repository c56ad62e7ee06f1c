"""Runs the language server as a process, sends it a random session and judges every answer."""

from __future__ import annotations

import json
import os
import random
import re
import shutil
import subprocess
import threading
import time
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Any

import hostile
from fuzz.faults import HANGS, PER_10_KB, PLANNING, Fault, tree
from fuzz.session import PARSE, RESULT, Session, frame

ROOT = Path(__file__).resolve().parents[2]
#: more s of processor time for a burst, since it may come during the first check of the workspace
BASE = 8.0
#: messages over all runs of this process
sent = 0

#: a page that is removed together with its temporary folder
_PAGE = re.compile(r"\('FW\d{3}\.md', \d+\)")
#: what pygls logs about a message that it cannot read
_UNREADABLE = re.compile(r"flatwise: \S+ \S+ Unable to (?:handle|deserialize) message\n")
#: the last line of a traceback in the log, but not of one that caused another
_TRACE = re.compile(r"^Traceback .*\n(?:[ \t].*\n|\n)*(\S.*)$(?!\n\n(?:During|The above))", re.M)
#: an exception while handling a notification, which no answer reports
_STUMBLED = re.compile(r"^pygls\.exceptions\.JsonRpcInternalError.*$", re.M)
#: refusals, and what pygls drops at exit
_NO_FAULTS = ("exceptions.JsonRpc", "SystemExit", "asyncio.exceptions.CancelledError")


def messages(chance: random.Random, folder: Path) -> None:
    """A session with the language server: it answers every valid request and writes nothing."""
    global sent
    root = _project(folder)
    texts = [path.read_text(encoding="utf-8") for path in sorted((ROOT / "jobs").glob("*.flat"))]
    session = Session(chance, root, texts)
    log, errors = folder / "notes.log", folder / "errors.log"
    for each in (log, errors):
        each.unlink(missing_ok=True)
    before = tree(folder)
    log.write_bytes(b"")
    environment = {**os.environ, "TMPDIR": str(folder / "tmp"), "PYTHONDONTWRITEBYTECODE": "1"}
    with errors.open("wb") as said:
        command = [*hostile.watched(log), "serve"]
        server = subprocess.Popen(
            command, cwd=root, env=environment, stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=said
        )
    editor = _Editor(server, session)
    try:
        code = _play(editor, chance)
        if server.wait(HANGS) != code:
            raise Fault(f"exit {server.returncode} instead of {code}")
        editor.check_all()
    except subprocess.TimeoutExpired:
        raise Fault("the server still runs after the end of the session") from None
    except Fault as fault:
        raise Fault(f"{fault}\n{errors.read_text('utf-8', 'replace')[-3000:]}") from None
    finally:
        sent += session.sent
        server.kill()
        server.wait()
        editor.end()
    records = re.split(r"^(?=flatwise: )", errors.read_text("utf-8", "replace"), flags=re.M)
    log_text = "".join(record for record in records if not _UNREADABLE.match(record))
    faults = [one for one in _TRACE.findall(log_text) if not any(other in one for other in _NO_FAULTS)]
    faults += _STUMBLED.findall(log_text)
    if faults:
        raise Fault(f"logged {faults}\n{log_text[-3000:]}")
    wrote = [
        (what, given)
        for what, given in hostile.notes(log)
        if what != "read" and not (str(folder / "tmp") in given or given == os.devnull or _PAGE.fullmatch(given))
    ]
    for each in (log, errors):
        each.unlink()
    after = tree(folder)
    if wrote or after != before:
        raise Fault(f"wrote {wrote}, {set(after.items()) ^ set(before.items())}")


def _project(folder: Path) -> Path:
    """A project with symbolic links, a circular one and a named pipe; made once, since nothing may change it."""
    root = folder / "project"
    if not (root / "jobs" / "circle.flat").is_symlink():
        shutil.rmtree(root, ignore_errors=True)
        (folder / "tmp").mkdir(exist_ok=True)
        (root / "jobs").mkdir(parents=True)
        shutil.copytree(ROOT / "shared", root / "shared")
        (root / "flatwise.toml").write_text("")
        for name, sample in zip(("a.flat", "b.flat"), sorted((ROOT / "jobs").glob("*.flat")), strict=False):
            shutil.copy(sample, root / "jobs" / name)
        (root / "jobs" / "t.csv").write_text("x mm,y mm,z mm\n0,0,32\n900,0,32\n0,500,32\n")
        (root / "jobs" / "link.flat").symlink_to("a.flat")
        os.mkfifo(root / "jobs" / "waits.flat")
        (root / "jobs" / "circle.flat").symlink_to("circle.flat")
    return root


def _play(editor: _Editor, chance: random.Random) -> int:
    """Play a whole session and return the exit code that it must end with."""
    session = editor.session
    editor.burst(b"".join(session.spoiled() for _ in range(chance.randrange(4))) + session.last())
    if chance.random() < 0.95:
        editor.burst(session.greeting())
        for _ in range(chance.randrange(2, 9)):
            editor.burst(session.burst(chance.choice((1, 5, 10, 20))))
    good = session.phase == "amid" and chance.random() < 0.7
    if good:
        farewell = session.ask("shutdown", None, {RESULT})
        session.phase = "late"
        editor.burst(farewell + b"".join(session.spoiled() for _ in range(chance.randrange(4))) + session.last())
    match chance.randrange(5):
        case 0 | 1:
            # LSP 3.17, "Exit Notification": 0 after a shutdown, else 1; with whatever parameters
            editor.send(frame({"jsonrpc": "2.0", "method": "exit", "params": chance.choice((None, 5, {}, [1]))}))
        case 2:
            editor.send(
                frame({"jsonrpc": "2.0", "method": "exit"}) + b"more" * chance.choice((0, 1, 100_000)), ends=True
            )
        case 3:
            editor.send(chance.choice((b"Content-Length: 500\r\n\r\n{", b"Content-Le", b"\xff", b"")), ends=True)
        case _:
            editor.send(b"", ends=True)
    return 0 if good else 1


class _Editor:
    """The other end of the pipes."""

    def __init__(self, server: subprocess.Popen[bytes], session: Session) -> None:
        self.server, self.session = server, session
        self.answers: dict[int | str, list[int]] = {}
        self.nulls: Counter[int] = Counter()
        self.fault = ""
        self._news = threading.Condition()
        self._writing = threading.Lock()
        self._chance = random.Random(session.chance.random())
        self._thread = threading.Thread(target=self._listen, daemon=True)
        self._thread.start()

    def send(self, data: bytes, ends: bool = False) -> None:
        assert self.server.stdin is not None
        with self._writing:
            try:
                self.server.stdin.write(data)
                self.server.stdin.flush()
                if ends:
                    self.server.stdin.close()
            except (BrokenPipeError, OSError):
                if not ends:
                    raise Fault("the server reads no more") from None

    def burst(self, data: bytes) -> None:
        """Send many messages at once and wait until all are answered."""
        start, before = time.monotonic(), self._processor()
        self.send(data)
        with self._news:
            while (lacking := self.lacking()) and not self.fault:
                if not self._news.wait(1.0) and self.server.poll() is not None:
                    raise Fault(f"the server died with {self.server.returncode}; no answer to {lacking}")
                if time.monotonic() - start > HANGS:
                    raise Fault(f"no answer to {lacking}")
        if self.fault:
            raise Fault(self.fault)
        took = self._processor() - before
        texts = max(1, data.count(b'"textDocument/didOpen"') + data.count(b'"contentChanges"'))
        if took > PER_10_KB * (1 + len(data) // 10_000) + PLANNING * texts + BASE:
            raise Fault(f"took {took:.1f}s for {len(data)} bytes")

    def lacking(self) -> list[str]:
        """The requests that are not answered yet."""
        wanted = self.session.expected.items()
        found = [repr(mark) for mark, (count, _) in wanted if len(self.answers.get(mark, ())) < count]
        return found + [str(code) for code, count in self.session.nulls.items() if self.nulls[code] < count]

    def check_all(self) -> None:
        """Check that every request got its number of answers, each with an allowed code."""
        self._thread.join(HANGS)
        for mark, codes in self.answers.items():
            count, may = self.session.expected.get(mark, (0, set()))
            if len(codes) != count or not may.issuperset(codes):
                raise Fault(f"{mark!r} got the answers {codes}, not {count} of {may}")
        # a message that was cut off may add one parse error
        if self.nulls - self.session.nulls - Counter({PARSE: 1}):
            raise Fault(f"got answers without id {self.nulls}, not {self.session.nulls}")
        if self.fault:
            raise Fault(self.fault)

    def end(self) -> None:
        self._thread.join(HANGS)
        for pipe in (self.server.stdin, self.server.stdout):
            assert pipe is not None
            try:
                pipe.close()
            except OSError:
                continue

    def _processor(self) -> float:
        """Processor time that the server has used, s, or 0 where the system does not say."""
        try:
            fields = Path(f"/proc/{self.server.pid}/stat").read_text().rpartition(")")[2].split()
        except OSError:
            return 0.0
        return (int(fields[11]) + int(fields[12])) / os.sysconf("SC_CLK_TCK")

    def _listen(self) -> None:
        assert self.server.stdout is not None
        try:
            for message in _frames(self.server.stdout):
                self._take(message)
        except (AssertionError, ValueError) as error:
            with self._news:
                self.fault = f"sent something that is not a message: {error!r}"
                self._news.notify()

    def _take(self, message: dict[str, Any]) -> None:
        if "method" in message:
            if "id" in message:
                self._reply(message["id"])
            return
        code = RESULT if "result" in message else message["error"]["code"]
        with self._news:
            if message["id"] is None:
                self.nulls[code] += 1
            else:
                self.answers.setdefault(message["id"], []).append(code)
                if not self.session.expected.get(message["id"], (0, {code}))[1].issuperset({code}):
                    self.fault = f"{message['id']!r} got the answer {json.dumps(message)[:1500]}"
            self._news.notify()

    def _reply(self, mark: object) -> None:
        """Answer a request of the server, well or badly."""
        error = {"error": {"code": self._chance.choice((-32601, 1, 10**12)), "message": ""}}
        kind: dict[str, Any] = self._chance.choice(({"result": None}, {"result": 5}, error, {"error": 5}))
        try:
            self.send(frame({"jsonrpc": "2.0", "id": mark, **kind}))
        except (Fault, ValueError):
            return


def _frames(stream: IO[bytes]) -> Iterator[dict[str, Any]]:
    """The messages of the server, read strictly by LSP 3.17, "Base Protocol"."""
    while head := stream.readline():
        fields = {}
        while head != b"\r\n":
            assert head.endswith(b"\r\n"), head
            name, _, value = head.decode("ascii").partition(": ")
            fields[name] = value.strip()
            head = stream.readline()
        body = stream.read(int(fields["Content-Length"]))
        message = json.loads(body.decode("utf-8"))
        assert message["jsonrpc"] == "2.0", message
        assert "method" in message or ("id" in message and ("result" in message) != ("error" in message)), message
        yield message
