"""Lines against their shapes: what may stand next, and which names a line uses.

Both are what the compiler's own reader of lines finds on its way; nothing about phrases is said a second time.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from flatwise.language.items import joined
from flatwise.language.mismatch import DeadEnd, LineContext
from flatwise.language.phrase import KnownNames, PhraseReader
from flatwise.language.phrase_shape import Hole, Measure, Named, PhrasePart, ValueKind, WordShape
from flatwise_grammar.nodes import Item, Name, Number, Span


class Used(NamedTuple):
    """A name as a line uses it."""

    kind: str
    name: Name


class _Tracer(PhraseReader):
    """The compiler's reader, which also notes the names it takes and the holes it fills."""

    def __init__(self, line: LineContext, items: tuple[Item, ...], known: KnownNames) -> None:
        super().__init__(line, items, known)
        self.used: dict[Span, Used] = {}
        self.filled: dict[int, ValueKind] = {}

    def value(self, kind: ValueKind, at: int) -> tuple[object, int]:
        value, end = super().value(kind, at)
        self.filled.setdefault(at, kind)
        item = self.items[at] if at < len(self.items) else None
        if isinstance(kind, Named) and isinstance(item, Name):
            self.used[item.span] = Used(kind.kind, item)
        return value, end


def _nobody(kind: str, path: str) -> tuple[str, ...]:
    return ()


def _traced(shape: WordShape, items: Sequence[Item]) -> tuple[_Tracer, int]:
    """The reader after the items, and how many of them it could read."""
    span = items[0].span if items else Span("", 0, 0)
    tracer = _Tracer(LineContext(shape, "", span), joined(items), _nobody)
    try:
        _, end = tracer.group(shape.group, 0)
    except DeadEnd:
        end = tracer.worst.at if tracer.worst is not None else 0
    return tracer, end


def names_in(shape: WordShape, items: Sequence[Item]) -> tuple[Used, ...]:
    """The names of declarations that a line uses, as far as it can be read."""
    return tuple(_traced(shape, items)[0].used.values())


def kind_at(shape: WordShape, items: Sequence[Item], span: Span) -> ValueKind | None:
    """The kind of value that the item at a span is read as."""
    tracer, _ = _traced(shape, items)
    for at, item in enumerate(tracer.items):
        if item.span.start <= span.start and span.end <= item.span.end:
            return tracer.filled.get(at)
    return None


def wanted(shape: WordShape, items: Sequence[Item]) -> tuple[PhrasePart | ValueKind, ...]:
    """What may stand behind the items of a line (without its word), the likeliest first.

    Nothing where the items are not a beginning of the phrase.  Behind a number that needs a unit it is the
    `Measure` whose unit is due.
    """
    tracer, _ = _traced(shape, items)
    worst = tracer.worst
    if worst is None:
        return ()
    last = tracer.items[-1] if tracer.items else None
    if isinstance(last, Number) and worst.at == len(tracer.items) - 1:
        return tuple(want for want in worst.wants if isinstance(want, Measure))
    if worst.at != len(tracer.items):
        return ()
    return tuple(want for want in worst.wants if not isinstance(want, Hole))
