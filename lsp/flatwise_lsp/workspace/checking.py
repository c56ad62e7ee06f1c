"""When files are checked: bursts of keys gathered, stale work dropped, what is open before what is not.

One worker checks; the event loop owns everything else here.  Knows nothing of the protocol: whoever makes a
`Checking` gives it the function that tells an editor.
"""

from __future__ import annotations

import asyncio
import logging
import os
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import TypeVar

from flatwise.core.finding import Finding
from flatwise_lsp.workspace.analysis import Analysis, Clean, analyse
from flatwise_lsp.workspace.documents import Store
from flatwise_lsp.workspace.shifted_findings import carried

logger = logging.getLogger(__name__)
T = TypeVar("T")

#: s without a change before an editor is told, and the longest that a burst of changes can put it off; the check is
#: at work meanwhile
QUIET = 0.02
LONGEST = 0.2


def ended(work: Callable[[], T]) -> Callable[[], T]:
    """Work for another thread: a fault of one kind can't be carried back from there, and would leave us waiting."""

    def done() -> T:
        try:
            return work()
        except StopIteration as fault:
            raise RuntimeError("a search ended without a find") from fault

    return done


class Checking:
    """Checks files in their order of interest and keeps the last result of each.

    `tell(path)` is called in the event loop whenever the findings of a file may have changed.
    """

    def __init__(self, store: Store, tell: Callable[[Path], None]) -> None:
        self.store = store
        self.tell = tell
        self.latest: dict[Path, Analysis] = {}
        self.whole: dict[Path, Analysis] = {}
        #: what each file's text was last read as, told or not
        self.newest: dict[Path, Analysis] = {}
        self._waiting: dict[Path, None] = {}
        self._done: dict[Path, list[asyncio.Future[None]]] = {}
        self._clean = Clean()
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="flatwise-check")
        self._task: asyncio.Task[None] | None = None
        self._last_change = 0.0
        self._first_change = 0.0

    # -- asking -------------------------------------------------------------------------------------------------

    def ask(self, paths: Iterable[Path]) -> None:
        """Check these files soon."""
        now = asyncio.get_running_loop().time()
        if not self._waiting:
            self._first_change = now
        self._last_change = now
        for path in paths:
            self._waiting[path] = None
        if self._task is None or self._task.done():
            self._task = asyncio.get_running_loop().create_task(self._run())

    def touched(self, path: Path) -> None:
        """A file changed, in a buffer or on the disk: check it and everything that was read with it."""
        self.ask([path, *self.readers(path)])

    @property
    def asked(self) -> frozenset[Path]:
        """The files that wait to be checked."""
        return frozenset(self._waiting)

    def readers(self, path: Path) -> list[Path]:
        """The files whose check read `path` or looked for it."""
        return [entry for entry, analysis in self.latest.items() if entry != path and path in analysis.touches]

    def forget(self, path: Path) -> None:
        """A file is gone: what was said of it no longer holds."""
        self.latest.pop(path, None)
        self.whole.pop(path, None)
        self.newest.pop(path, None)
        self._waiting.pop(path, None)
        self._finish(path)
        self.tell(path)

    async def settled(self, path: Path) -> Analysis | None:
        """The whole check of a file as it is now."""
        loop = asyncio.get_running_loop()
        while path in self._waiting:
            future: asyncio.Future[None] = loop.create_future()
            self._done.setdefault(path, []).append(future)
            await future
        return self.whole.get(path)

    async def idle(self) -> None:
        """Until nothing waits."""
        while self._waiting:
            await self.settled(next(iter(self._waiting)))

    def close(self) -> None:
        """Stop: whatever runs is dropped."""
        self._waiting.clear()
        self.store.touched()
        for path in list(self._done):
            self._finish(path)
        if self._task is not None:
            self._task.cancel()
        self._worker.shutdown(wait=False, cancel_futures=True)

    # -- the findings of a file -----------------------------------------------------------------------------------

    def findings(self, path: Path) -> list[tuple[Finding, Analysis]] | None:
        """What is to be said of a file as it is now: by its own check, and by the checks of those that use it.

        A check that read another version of the file says nothing here.  None while its own check is not done.
        """
        document = self.store.documents.get(path)
        own = self.latest.get(path)
        now = document.text.text if document else own.texts.get(path) if own else None
        if document is not None and (own is None or own.texts.get(path, now) != now):
            return None
        said: dict[tuple[object, ...], tuple[Finding, Analysis]] = {}
        for entry, analysis in sorted(self.latest.items(), key=lambda pair: pair[0] != path):
            if entry != path and (now is None or analysis.texts.get(path) != now):
                continue
            for finding in analysis.by_file().get(path, ()):
                said.setdefault((finding.code, finding.span and finding.span[1:], finding.message), (finding, analysis))
        return list(said.values())

    # -- working --------------------------------------------------------------------------------------------------

    async def _run(self) -> None:
        while self._waiting:
            path = min(self._waiting, key=self._rank)
            number = self.store.number
            try:
                finished = await self._check(path)
            except Exception:
                # a bug in the compiler must not end the editor's session
                logger.exception("checking %s failed", path.name)
                # a text that came meanwhile may be sound
                finished = number == self.store.number
            if finished:
                self._waiting.pop(path, None)
                self._finish(path)

    def _rank(self, path: Path) -> tuple[bool, int]:
        """Open files first, in the order in which they were asked for."""
        return path not in self.store.documents, list(self._waiting).index(path) if len(self._waiting) < 50 else 0

    @property
    def _rest(self) -> float:
        """The time at which the keys will have rested."""
        return min(self._last_change + QUIET, self._first_change + LONGEST)

    async def _check(self, path: Path) -> bool:
        """Check one file; False where its text changed meanwhile and it must be done again."""
        loop = asyncio.get_running_loop()
        if path not in self.store.documents and not os.path.isfile(path):
            self.forget(path)
            return True
        snapshot = self.store.snapshot()

        def stale() -> bool:
            return self.store.number != snapshot.number

        waiting: list[asyncio.TimerHandle] = []

        def half(analysis: Analysis) -> None:
            def soon() -> None:
                self._note(analysis)
                waiting.append(loop.call_at(self._rest, self._half, analysis))

            loop.call_soon_threadsafe(soon)

        analysis = await loop.run_in_executor(
            self._worker, ended(lambda: analyse(path, snapshot, stale, half, self._clean))
        )
        for first in waiting:
            first.cancel()
        if analysis is not None:
            self._note(analysis)
        while analysis is not None and not stale() and loop.time() < self._rest:
            await asyncio.sleep(self._rest - loop.time())
        if analysis is None or stale():
            return False
        self._first_change = loop.time()
        self.whole[path] = analysis
        self._keep(analysis)
        return True

    def _note(self, analysis: Analysis) -> None:
        """Keep what a text was read as, while that is what it says: it may have been closed or changed meanwhile."""
        if analysis.number == self.store.number:
            self.newest[analysis.entry] = analysis

    def _half(self, analysis: Analysis) -> None:
        """The first half, where the second takes longer than the keys rest.

        It is told with what the last whole check said of the rest, where that still stands.
        """
        if analysis.number != self.store.number:
            return
        before = self.whole.get(analysis.entry)
        self._keep(carried(before, analysis) if before is not None else analysis)

    def _keep(self, analysis: Analysis) -> None:
        before = self.latest.get(analysis.entry)
        self.latest[analysis.entry] = analysis
        files = set(analysis.by_file()) | (set(before.by_file()) if before else set()) | {analysis.entry}
        for path in files:
            self.tell(path)

    def _finish(self, path: Path) -> None:
        for future in self._done.pop(path, []):
            if not future.done():
                future.set_result(None)
