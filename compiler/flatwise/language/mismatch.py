"""Where a line stops fitting the shape that the model asks for, and what to say of it."""

from __future__ import annotations

from dataclasses import dataclass

from flatwise.core.finding import Finding
from flatwise.core.fixes import near_words
from flatwise.findings import fw101_unknown_word, fw104_wrong_kind
from flatwise.language.items import spoken
from flatwise.language.phrase_shape import (
    Coded,
    Count,
    EdgePlace,
    Fixed,
    Measure,
    Named,
    PanelPlace,
    Quoted,
    Sign,
    WordChoice,
    WordShape,
    owners_of,
)
from flatwise_grammar import nodes as n
from flatwise_grammar.nodes import Item, Span

#: what may have been wanted where a line stops
Want = Fixed | Sign | Measure | Count | Named | Coded | Quoted | WordChoice | PanelPlace | EdgePlace


@dataclass
class Mismatch:
    """The shape does not go on here.  `at` is the item's index; `finding` where it is already clear what is wrong."""

    at: int
    wants: tuple[Want, ...]
    finding: Finding | None = None


class DeadEnd(Exception):
    """A way through the shape ends at the item `at`.

    It carries no more, since whatever keeps an exception keeps the frames that it came through.
    """

    def __init__(self, at: int) -> None:
        super().__init__()
        self.at = at


@dataclass(frozen=True)
class LineContext:
    """Where a line stands: its word's shape, how to speak of its block, and its span."""

    shape: WordShape
    owner: str
    span: Span

    @property
    def label(self) -> str:
        return f"`{self.shape.word}` of {self.owner}"

    @property
    def how(self) -> str:
        """The line as it may be written."""
        return f"`{self.shape.word} {self.shape.example}`"


def explain(miss: Mismatch, line: LineContext, items: tuple[Item, ...]) -> Finding:
    """What to say of a line that stops at `miss`."""
    if miss.finding is not None:
        return miss.finding
    shape, label = line.shape, line.label
    item = items[miss.at] if miss.at < len(items) else None
    span = item.span if item is not None else items[-1].span if items else line.span
    if isinstance(item, n.Name):
        choices = [" ".join(c) for want in miss.wants if isinstance(want, WordChoice) for c in want.choices]
        fixed = [" ".join(f) for want in miss.wants if isinstance(want, Fixed) for f in want.words[:1]]
        if choices or any(near_words(item.text, [word]) for word in fixed):
            others = [want.spoken for want in miss.wants if not isinstance(want, WordChoice | Fixed)]
            return fw101_unknown_word.in_phrase(
                item.text, span, label, choices + fixed, others, line.how, elsewhere=bool(owners_of(item.text))
            )
    wants = [want.spoken for want in miss.wants]
    before = spoken(items[miss.at - 1]) if 0 < miss.at <= len(items) else shape.word
    found = spoken(item) if item is not None else ""
    return fw104_wrong_kind.phrase(label, span, before, wants, found, line.how)
