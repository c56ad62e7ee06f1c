"""A task for many items by several processes: results in the order of the items, and one failure stops no other."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from typing import Any, Generic, NamedTuple, TypeVar

from flatwise.tool import errors

#: fewer items than this do not repay the start of other processes, or collecting garbage between them
SEVERAL = 4
KILLED = "its process was killed twice, perhaps for want of memory; run it again by itself with --workers 1"

Item = TypeVar("Item")
Result = TypeVar("Result")


class Task(NamedTuple, Generic[Item, Result]):
    """What to do for an item.

    An exception becomes the result of `failed`, and an item that the system stops that of `stopped`, which gets the
    reason.  `collects`: what is done for an item leaves reference cycles, to be collected after each of several.
    """

    do: Callable[[Item], Result]
    failed: Callable[[Item, Exception], Result]
    stopped: Callable[[Item, str], Result]
    collects: bool = False

    def __call__(self, item: Item) -> Result:
        try:
            return self.do(item)
        except MemoryError:
            return self.stopped(item, errors.NO_MEMORY)
        except Exception as error:
            return self.failed(item, error)
        finally:
            if self.collects:
                gc.collect()


def run(task: Task[Item, Result], items: Sequence[Item], workers: int | None = None) -> Iterator[Result]:
    """The result of `task` for each item, in order, by `workers` processes (None: one for each processor).

    A few items are done in this process.  If a process is killed, what is left is tried again, so a task may be done
    twice for an item; one whose process is killed again is `stopped`.
    """
    if len(items) < SEVERAL:
        # it ends before garbage matters
        yield from _results(task._replace(collects=False), items, workers or 1)
        return
    # garbage must not pile up, and what exists already need not be scanned
    gc.freeze()
    try:
        yield from _results(task, items, workers or processors())
    finally:
        gc.unfreeze()


def _results(task: Task[Item, Result], items: Sequence[Item], workers: int) -> Iterator[Result]:
    if min(workers, len(items)) < 2:
        yield from (task(item) for item in items)
        return
    from concurrent.futures.process import BrokenProcessPool

    left = items
    while left:
        done = 0
        try:
            for result in _by_processes(task, left, workers):
                done += 1
                yield result
            return
        except BrokenProcessPool:
            left = left[done:]
        # any of those in work may have been the reason: the first is tried alone, then the others go on
        try:
            yield from _by_processes(task, left[:1], 1)
        except BrokenProcessPool:
            yield task.stopped(left[0], KILLED)
        left = left[1:]


def _by_processes(task: Task[Item, Result], items: Sequence[Item], workers: int) -> Iterator[Result]:
    """The results of other processes, in order; raises BrokenProcessPool when one of them is killed."""
    from concurrent.futures import ProcessPoolExecutor
    from multiprocessing import get_context

    # a fork has what this process has read; where there is none, each worker imports once
    context = get_context("fork" if sys.platform == "linux" else None)
    count = min(workers, len(items))
    with ProcessPoolExecutor(count, context, initializer=_start, initargs=(task, items)) as pool:
        try:
            yield from pool.map(_nth, range(len(items)), chunksize=max(1, min(8, len(items) // (4 * count))))
        finally:
            pool.shutdown(cancel_futures=True)


def processors() -> int:
    """How many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


#: in a worker process: the arguments of `run`
_given: tuple[Task[Any, Any], Sequence[Any]]


def _start(task: Task[Item, Result], items: Sequence[Item]) -> None:
    """Prepare a worker process, which leaves Ctrl-C to its parent and ends when its parent does."""
    import signal
    from threading import Thread

    global _given
    _given = task, items
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    Thread(target=_end_with_parent, daemon=True).start()


def _end_with_parent() -> None:
    from multiprocessing import parent_process

    parent = parent_process()
    assert parent is not None
    parent.join()
    os._exit(1)


def _nth(index: int) -> Any:
    task, items = _given
    return task(items[index])
