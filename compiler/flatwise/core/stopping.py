"""Stop long work early: the caller says when the result is no longer wanted, and stages ask between their steps.

Only an editor's server does so, since a newer text makes a check worthless; no result depends on it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from contextvars import ContextVar


class Stopped(Exception):
    """The work is no longer wanted."""


_unwanted: ContextVar[Callable[[], bool] | None] = ContextVar("_unwanted", default=None)


@contextmanager
def stopping_when(unwanted: Callable[[], bool]) -> Iterator[None]:
    """Work inside ends with Stopped soon after `unwanted` becomes true."""
    before = _unwanted.set(unwanted)
    try:
        yield
    finally:
        _unwanted.reset(before)


def may_stop() -> None:
    """A place between two steps of long work; raises Stopped if its caller no longer wants it."""
    unwanted = _unwanted.get()
    if unwanted is not None and unwanted():
        raise Stopped
