"""Carrying findings over an edit: while the jobs are worked out anew, what was said of them stays where it was.

A finding moves with its text; one whose text was edited is dropped.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from flatwise.core.finding import Edit, Finding, Fix, Related
from flatwise_grammar.nodes import Span
from flatwise_lsp.workspace.analysis import Analysis


class Shift:
    """Where the places of an old text are in a new one, as if one stretch had been replaced."""

    def __init__(self, old: str, new: str) -> None:
        self.head = _alike(old, new)
        tail = _alike(old[self.head :][::-1], new[self.head :][::-1])
        self.tail = len(old) - tail
        self.by = len(new) - len(old)

    def span(self, span: Span) -> Span | None:
        """The same stretch in the new text, or None where it was edited."""
        if span.end <= self.head:
            return span
        if span.start >= self.tail:
            return Span(span.path, span.start + self.by, span.end + self.by)
        return None


def _alike(one: str, other: str) -> int:
    """How many letters two texts begin with alike: halving, since comparing slices is fast."""
    low, high = 0, min(len(one), len(other))
    while low < high:
        middle = (low + high + 1) // 2
        low, high = (middle, high) if one[:middle] == other[:middle] else (low, middle - 1)
    return low


def carried(before: Analysis, half: Analysis) -> Analysis:
    """The first half of a check with the second half of the one before, as far as that still stands."""
    known = {(finding.code, finding.message) for finding in half.findings}
    shifts: dict[str, Shift] = {}
    for path, text in half.texts.items():
        old = before.texts.get(path)
        if old is not None:
            shifts[before.meaning.name(path)] = Shift(old, text)
    kept = [
        moved
        for finding in before.late
        if (moved := _moved(finding, shifts)) is not None and (moved.code, moved.message) not in known
    ]
    return replace(half, findings=half.findings + tuple(kept))


def _moved(finding: Finding, shifts: Mapping[str, Shift]) -> Finding | None:
    span = _span(finding.span, shifts) if finding.span is not None else None
    if finding.span is not None and span is None:
        return None
    related = tuple(
        Related(one.message, moved) for one in finding.related if (moved := _span(one.span, shifts)) is not None
    )
    fix = None
    if finding.fix is not None:
        edits = [(edit, _span(edit.span, shifts)) for edit in finding.fix.edits]
        if all(moved is not None for _, moved in edits):
            fix = Fix(finding.fix.title, tuple(Edit(moved, edit.text) for edit, moved in edits if moved is not None))
    return replace(finding, span=span, related=related, fix=fix)


def _span(span: Span, shifts: Mapping[str, Shift]) -> Span | None:
    shift = shifts.get(span.path)
    return shift.span(span) if shift is not None else None
