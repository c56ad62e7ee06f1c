"""When files are checked: bursts of keystrokes together, outdated work dropped, open files first.

One worker thread checks; everything else here belongs to the event loop.  The protocol is unknown here: `Checking`
is given the function that reports to the editor.
"""

from __future__ import annotations

import asyncio
import logging
import os
import time
from collections.abc import Callable, Iterable
from collections.abc import Set as AbstractSet
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TypeVar

from flatwise.core.finding import Finding
from flatwise_lsp.workspace.analysis import Analysis, analyse, carry_over
from flatwise_lsp.workspace.documents import Store
from flatwise_lsp.workspace.earlier_results import EarlierResults

logger = logging.getLogger(__name__)
T = TypeVar("T")

#: s without a change before findings are reported, and the longest that a burst of changes can delay them (the check
#: runs meanwhile)
QUIET = 0.02
LONGEST = 0.2
#: s after which a check lets the other files go first; at least one job is worked out each time
TURN = 2.0


def without_stop_iteration(work: Callable[[], T]) -> Callable[[], T]:
    """Work for another thread.  A future can't raise StopIteration, so whoever waits for it would wait forever."""

    def run() -> T:
        try:
            return work()
        except StopIteration as fault:
            raise RuntimeError("an iterator ended unexpectedly") from fault

    return run


class Checking:
    """Checks files, the most wanted first, and keeps the last result of each.

    Both are called in the event loop: `report(path)` whenever the findings of a file may have changed,
    `finished(path)` when a file has been checked whole.
    """

    def __init__(self, store: Store, report: Callable[[Path], None], finished: Callable[[Path], None]) -> None:
        self.store = store
        self.report = report
        self.finished = finished
        #: the last analysis of each file that was reported, whole or its first half; the last whole one
        self.latest: dict[Path, Analysis] = {}
        self.whole: dict[Path, Analysis] = {}
        #: the last analysis of each file, reported or not
        self.newest: dict[Path, Analysis] = {}
        #: the number of the last request for each file that waits
        self._waiting: dict[Path, int] = {}
        self._requests = 0
        #: the jobs of a file for which there was no time in its last turn
        self._left: dict[Path, int] = {}
        self._done: dict[Path, list[asyncio.Future[None]]] = {}
        self._earlier = EarlierResults()
        #: the files that declare a job whose name another file took or gave up in the check that is running
        self._renamed: set[Path] = set()
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="flatwise-check")
        self._task: asyncio.Task[None] | None = None
        self._last_change = 0.0
        self._first_change = 0.0

    # -- requests

    def request(self, paths: Iterable[Path]) -> None:
        """Check these files soon."""
        now = asyncio.get_running_loop().time()
        if not self._waiting:
            self._first_change = now
        self._last_change = now
        self._requests += 1
        for path in paths:
            self._waiting[path] = self._requests
            self._left.pop(path, None)
        if self._task is None or self._task.done():
            self._task = asyncio.get_running_loop().create_task(self._run())

    def touched(self, path: Path) -> None:
        """A file has changed, in a buffer or on disk: check it and every file that was checked with it."""
        self.request([path, *self.readers(path)])

    @property
    def waiting(self) -> frozenset[Path]:
        """The files that wait to be checked."""
        return frozenset(self._waiting)

    def readers(self, path: Path) -> list[Path]:
        """The files whose check read `path` or looked for it."""
        return [entry for entry, analysis in self.latest.items() if entry != path and path in analysis.touches]

    def forget(self, path: Path) -> None:
        """Drop everything known about a file that is gone."""
        gone = self.latest.pop(path, None)
        self.whole.pop(path, None)
        self.newest.pop(path, None)
        self._earlier.forget(path)
        self._waiting.pop(path, None)
        self._left.pop(path, None)
        self._finish(path)
        for one in {path, *(self._declaring(gone.jobs.keys()) if gone is not None else ())}:
            self.report(one)

    async def settled(self, path: Path) -> Analysis | None:
        """Wait for the whole check of a file as it is now."""
        loop = asyncio.get_running_loop()
        while path in self._waiting:
            future: asyncio.Future[None] = loop.create_future()
            self._done.setdefault(path, []).append(future)
            await future
        return self.whole.get(path)

    async def idle(self) -> None:
        """Wait until no file waits."""
        while self._waiting:
            await self.settled(next(iter(self._waiting)))

    def close(self) -> None:
        """Stop; unfinished work is dropped."""
        self._waiting.clear()
        self.store.touched()
        for path in list(self._done):
            self._finish(path)
        if self._task is not None:
            self._task.cancel()
        self._worker.shutdown(wait=False, cancel_futures=True)

    # -- the findings of a file

    def findings(self, path: Path) -> list[tuple[Finding, Analysis]] | None:
        """The findings of a file as it is now, from its own check and from the checks of files that use it.

        A check that read another version of the file does not count.  None while its own check is not done.
        """
        document = self.store.documents.get(path)
        own = self.latest.get(path)
        now = document.text.text if document else own.texts.get(path) if own else None
        if document is not None and (own is None or own.texts.get(path, now) != now):
            return None
        found: dict[tuple[object, ...], tuple[Finding, Analysis]] = {}
        for entry, analysis in sorted(self.latest.items(), key=lambda pair: pair[0] != path):
            if entry != path and (now is None or analysis.texts.get(path) != now):
                continue
            for finding in analysis.by_file().get(path, ()):
                key = (finding.code, finding.span and finding.span[1:], finding.message)
                found.setdefault(key, (finding, analysis))
        if own is not None:
            found.update({(name,): own.declared_twice(name, first) for name, first in self._namesakes(own).items()})
        return list(found.values())

    def _namesakes(self, analysis: Analysis) -> dict[str, Analysis]:
        """The first other file, before this one, that declares a job of the same name: they would share a folder."""
        found: dict[str, Analysis] = {}
        for entry in sorted(self.latest) if analysis.jobs else ():
            other = self.latest[entry]
            if entry < analysis.entry and other.meaning.working == analysis.meaning.working:
                for name in other.jobs.keys() & analysis.jobs.keys():
                    found.setdefault(name, other)
        return found

    # -- work

    async def _run(self) -> None:
        while self._waiting:
            path = min(self._waiting, key=self._rank)
            number = self.store.number
            try:
                finished = await self._check(path)
            except Exception:
                # a bug in the compiler must not end the editor's session
                logger.exception("checking %s failed", path.name)
                # a text that arrived meanwhile may be fine
                finished = number == self.store.number
            if finished:
                self._waiting.pop(path, None)
                self._finish(path)
                for one in {path, *self._renamed} & self.whole.keys():
                    self.finished(one)
                self._renamed.clear()

    def _rank(self, path: Path) -> tuple[bool, bool, int]:
        """Open files first, the last requested first; those that had a turn after the others."""
        return path not in self.store.documents, path in self._left, -self._waiting[path]

    @property
    def _quiet_time(self) -> float:
        """The time at which findings may be reported."""
        return min(self._last_change + QUIET, self._first_change + LONGEST)

    async def _check(self, path: Path) -> bool:
        """Check one file; False where its text changed meanwhile, so that it has to be checked again."""
        loop = asyncio.get_running_loop()
        if path not in self.store.documents and not os.path.isfile(path):
            self.forget(path)
            return True
        snapshot = self.store.snapshot()

        def stale() -> bool:
            return self.store.number != snapshot.number

        timers: list[asyncio.TimerHandle] = []

        def on_first_half(analysis: Analysis) -> None:
            def soon() -> None:
                self._note(analysis)
                timers.append(loop.call_at(self._quiet_time, self._report_first_half, analysis))

            loop.call_soon_threadsafe(soon)

        def work() -> Analysis | None:
            end = time.monotonic() + TURN
            return analyse(path, snapshot, stale, on_first_half, self._earlier, lambda: time.monotonic() > end)

        analysis = await loop.run_in_executor(self._worker, without_stop_iteration(work))
        for timer in timers:
            timer.cancel()
        if path not in self._waiting:  # forgotten meanwhile
            self._earlier.forget(path)
        if analysis is not None:
            self._note(analysis)
        while analysis is not None and not stale() and loop.time() < self._quiet_time:
            await asyncio.sleep(self._quiet_time - loop.time())
        if analysis is None or stale():
            return False
        self._first_change = loop.time()
        self.whole[path] = analysis
        self._keep(analysis)
        return not self._another_turn(path, analysis.left)

    def _another_turn(self, path: Path, left: int) -> bool:
        """Whether a file goes on in another turn: jobs are left, and fewer of them than after the turn before."""
        before = self._left.pop(path, None)
        if not left or path not in self._waiting or (before is not None and left >= before):
            return False
        self._left[path] = left
        return True

    def _note(self, analysis: Analysis) -> None:
        """Keep the meaning of a text, unless the text was changed or closed meanwhile."""
        if analysis.number == self.store.number:
            self.newest[analysis.entry] = analysis

    def _report_first_half(self, analysis: Analysis) -> None:
        """Report the first half, where working the jobs out takes longer than the pause between keystrokes.

        What the last whole check found out about the plans is kept where it still applies.
        """
        if analysis.number != self.store.number:
            return
        before = self.whole.get(analysis.entry)
        self._keep(carry_over(before, analysis) if before is not None else analysis)

    def _keep(self, analysis: Analysis) -> None:
        before = self.latest.get(analysis.entry)
        self.latest[analysis.entry] = analysis
        files = set(analysis.by_file()) | (set(before.by_file()) if before else set()) | {analysis.entry}
        changed = analysis.jobs.keys() ^ (before.jobs.keys() if before else set())
        self._renamed |= self._declaring(changed) - {analysis.entry}
        for path in files | self._renamed:
            self.report(path)

    def _declaring(self, names: AbstractSet[str]) -> set[Path]:
        """The files that declare a job of one of these names."""
        return {entry for entry, analysis in self.latest.items() if not names.isdisjoint(analysis.jobs)}

    def _finish(self, path: Path) -> None:
        for future in self._done.pop(path, []):
            if not future.done():
                future.set_result(None)
