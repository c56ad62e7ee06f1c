"""What the compiler's own reader of lines finds on its way: what may come next, and which names a line uses.

Nothing about phrases is repeated here.
"""

from __future__ import annotations

from collections.abc import Sequence
from contextlib import suppress
from typing import NamedTuple

from flatwise.language.items import join_units
from flatwise.language.mismatch import DeadEnd, LineContext, Want
from flatwise.language.phrase_reader import PhraseReader
from flatwise.language.phrase_shape import EdgePlace, Measure, Named, ValueKind, WordShape
from flatwise.language.value_reader import KnownNames
from flatwise_grammar.nodes import Item, Name, Number, Span


class UsedName(NamedTuple):
    """A name in a line, and the kind of declaration that it refers to."""

    kind: str
    name: Name


class _Tracer(PhraseReader):
    """The compiler's reader; it also records the names that it reads and the kind of each value."""

    def __init__(self, line: LineContext, items: tuple[Item, ...], known: KnownNames) -> None:
        super().__init__(line, items, known)
        self.used: dict[Span, UsedName] = {}
        self.kinds: dict[int, ValueKind] = {}

    def value(self, kind: ValueKind, at: int) -> tuple[object, int]:
        value, end = super().value(kind, at)
        self.kinds.setdefault(at, kind)
        item = self.items[at] if at < len(self.items) else None
        if isinstance(kind, Named) and isinstance(item, Name):
            self.used[item.span] = UsedName(kind.kind, item)
        return value, end


def _trace(shape: WordShape, items: Sequence[Item]) -> _Tracer:
    """The reader after it has read the items, or as many as fit the shape."""
    span = items[0].span if items else Span("", 0, 0)
    tracer = _Tracer(LineContext(shape, "", span), join_units(items), lambda kind, path: ())
    with suppress(DeadEnd):
        tracer.group(shape.group, 0)
    return tracer


def names_in(shape: WordShape, items: Sequence[Item]) -> tuple[UsedName, ...]:
    """The names of declarations in a line, up to where it can't be read."""
    return tuple(_trace(shape, items).used.values())


def kind_at(shape: WordShape, items: Sequence[Item], span: Span) -> ValueKind | None:
    """The kind of value as which the item at a span is read."""
    tracer = _trace(shape, items)
    for at, item in enumerate(tracer.items):
        if item.span.start <= span.start and span.end <= item.span.end:
            return tracer.kinds.get(at)
    return None


def expected(shape: WordShape, items: Sequence[Item]) -> tuple[Want, ...]:
    """What may follow the items of a line (without its word), the likeliest first.

    Empty where the items are not the beginning of a phrase.  Behind a number without its unit it is the `Measure`
    or `EdgePlace` whose unit is missing.
    """
    tracer = _trace(shape, items)
    furthest = tracer.furthest
    if furthest is None:
        return ()
    last = tracer.items[-1] if tracer.items else None
    if isinstance(last, Number) and furthest.at == len(tracer.items) - 1:
        return tuple(want for want in furthest.wants if isinstance(want, Measure | EdgePlace))
    return furthest.wants if furthest.at == len(tracer.items) else ()
