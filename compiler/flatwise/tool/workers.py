"""A task for many items by several processes: results in the order of the items, and one failure stops no other."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Callable, Iterator, Sequence
from functools import partial
from typing import Any, TypeVar

from flatwise.tool import errors

#: fewer items than this do not repay the start of other processes, or collecting garbage between them
SEVERAL = 4

Item = TypeVar("Item")
Result = TypeVar("Result")


def run(
    task: Callable[[Item], Result],
    items: Sequence[Item],
    failed: Callable[[Item, str], Result],
    workers: int | None = None,
) -> Iterator[Result]:
    """The result of `task` for each item, in order, by `workers` processes (None: one for each processor).

    A few items are done in this process.  An exception becomes the result of `failed`, which gets its report.
    """
    if len(items) < SEVERAL:
        # it ends before garbage matters
        yield from _results(task, items, failed, workers or 1)
        return
    # garbage must not pile up, and what exists already need not be scanned
    gc.freeze()
    try:
        yield from _results(partial(_then_collect, task), items, failed, workers or processors())
    finally:
        gc.unfreeze()


def _results(
    task: Callable[[Item], Result], items: Sequence[Item], failed: Callable[[Item, str], Result], workers: int
) -> Iterator[Result]:
    count = min(workers, len(items))
    if count < 2:
        for item in items:
            yield _guarded(task, item, failed)
        return
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    # a fork has what this process has read; where there is none, each worker imports once
    context = get_context("fork" if sys.platform == "linux" else None)
    with ProcessPoolExecutor(count, context, initializer=_start, initargs=(task, items, failed)) as pool:
        done = 0
        try:
            for result in pool.map(_nth, range(len(items)), chunksize=max(1, min(8, len(items) // (4 * count)))):
                done += 1
                yield result
        except BrokenProcessPool:
            why = "flatwise: a worker process was killed; try again with --workers 1."
            yield from (failed(item, why) for item in items[done:])
        finally:
            pool.shutdown(cancel_futures=True)


def processors() -> int:
    """How many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


#: in a worker process: the arguments of `run`
_given: tuple[Callable[[Any], Any], Sequence[Any], Callable[[Any, str], Any]]


def _start(task: Callable[[Item], Result], items: Sequence[Item], failed: Callable[[Item, str], Result]) -> None:
    """Prepare a worker process, which leaves Ctrl-C to its parent."""
    import signal

    global _given
    _given = task, items, failed
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _nth(index: int) -> Any:
    task, items, failed = _given
    return _guarded(task, items[index], failed)


def _guarded(task: Callable[[Item], Result], item: Item, failed: Callable[[Item, str], Result]) -> Result:
    try:
        return task(item)
    except Exception as error:
        return failed(item, errors.bug_report(error))


def _then_collect(task: Callable[[Item], Result], item: Item) -> Result:
    """The task, and half a millisecond for the reference cycles of a job: its plan, held by the sheet's template."""
    try:
        return task(item)
    finally:
        gc.collect()
