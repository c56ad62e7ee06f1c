"""Findings moved from an older text to a newer one.

A finding moves with the text that it stands in; one whose text was edited is dropped.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable, Sequence

from flatwise.core.finding import Edit, Finding, Fix, Related
from flatwise_grammar.nodes import Span


class EditShift:
    """The shift between any two texts, seen as the replacement of one stretch."""

    def __init__(self, old: str, new: str) -> None:
        self._start = _common_prefix(old, new)
        tail = _common_prefix(old[self._start :][::-1], new[self._start :][::-1])
        self._end = len(old) - tail
        self._by = len(new) - len(old)
        #: where the replaced stretch ends in the newer text: at the cursor, while someone types
        self.caret = len(new) - tail

    def point(self, offset: int, *, moves: bool = False) -> int | None:
        """An offset in the newer text; None where the text around it was edited.

        `moves` says whether text inserted right there pushes it on.
        """
        if offset < self._start or (offset == self._start and not moves):
            return offset
        return offset + self._by if offset >= self._end else None

    def span(self, span: Span) -> Span | None:
        """The span in the newer text; None where its text was edited."""
        if span.end <= self._start:
            return span
        if span.start >= self._end:
            return Span(span.path, span.start + self._by, span.end + self._by)
        return None


class BlockShift:
    """The shift of blocks whose text is the same, given by where each begins in the older and in the newer text."""

    def __init__(self, old: Sequence[int], new: Sequence[int]) -> None:
        starts = sorted(zip(old, new, strict=True))
        self._old = [before for before, _ in starts]
        self._by = [after - before for before, after in starts]

    def span(self, span: Span) -> Span | None:
        """The span in the newer text; None where it is in front of all blocks."""
        block = bisect_right(self._old, span.start) - 1
        if block < 0:
            return None
        return Span(span.path, span.start + self._by[block], span.end + self._by[block])


def _common_prefix(one: str, other: str) -> int:
    """The number of equal characters at the start of two texts, by bisection: comparing slices is fast."""
    low, high = 0, min(len(one), len(other))
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if one[:middle] == other[:middle] else (low, middle - 1)
    return low


def shift_finding(finding: Finding, place: Callable[[Span], Span | None]) -> Finding | None:
    """A finding in the newer texts, with those of its related places and edits that still have one.

    `place` gives the new place of a span, None where its text was edited.  None where the finding's own was.
    """
    span = place(finding.span) if finding.span is not None else None
    if finding.span is not None and span is None:
        return None
    related = tuple(Related(one.message, moved) for one in finding.related if (moved := place(one.span)) is not None)
    fix = None
    if finding.fix is not None:
        edits = [Edit(moved, edit.text) for edit in finding.fix.edits if (moved := place(edit.span)) is not None]
        if len(edits) == len(finding.fix.edits):
            fix = Fix(finding.fix.title, tuple(edits))
    return finding._replace(span=span, related=related, fix=fix)
