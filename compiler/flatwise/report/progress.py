"""A bar that shows how far a run of many jobs is: in a terminal only, and never in a CI run."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator
from typing import TextIO, TypeVar

#: Fewer jobs than this are done before anybody looks for a bar.
FEWEST = 3
_WIDTH = 24

Done = TypeVar("Done")


def quiet(stream: TextIO) -> bool:
    """Whether nobody is looking: no terminal, a plain one, or a CI run (which sets the variable CI)."""
    return not stream.isatty() or bool(os.environ.get("CI")) or os.environ.get("TERM") == "dumb"


def watched(outcomes: Iterable[Done], total: int, stream: TextIO) -> Iterator[Done]:
    """The outcomes of `total` jobs as they come, with a bar on `stream` meanwhile that is wiped at the end."""
    if total < FEWEST or quiet(stream):
        yield from outcomes
        return
    try:
        _draw(stream, _bar(0, total))
        for done, outcome in enumerate(outcomes, 1):
            _draw(stream, _bar(done, total))
            yield outcome
    finally:
        _draw(stream, "")


def _bar(done: int, total: int) -> str:
    full = _WIDTH * done // total
    return f"[{'#' * full}{'.' * (_WIDTH - full)}] {done} of {total} jobs"


def _draw(stream: TextIO, line: str) -> None:
    # back to the start of the line, and wipe what is right of the cursor (ECMA-48, EL)
    stream.write(f"\r\x1b[K{line}")
    stream.flush()
