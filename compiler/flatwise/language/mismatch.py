"""Lines that do not fit the shape that the model asks for: where they stop, and the finding for it."""

from __future__ import annotations

from typing import NamedTuple

from flatwise.core.finding import Finding
from flatwise.core.fixes import near_words
from flatwise.findings import fw101_unknown_word, fw104_wrong_kind
from flatwise.language.description import default, shown
from flatwise.language.items import as_written
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
from flatwise_grammar import nodes
from flatwise_grammar.nodes import Item, Span

#: what may have been expected where a line stops
Want = Fixed | Sign | Measure | Count | Named | Coded | Quoted | WordChoice | PanelPlace | EdgePlace


class Mismatch:
    """The item at index `at` is none of what was expected; `finding` where it is already clear what is wrong."""

    def __init__(self, at: int, wants: tuple[Want, ...], finding: Finding | None = None) -> None:
        self.at, self.wants, self.finding = at, wants, finding


#: words for "no value", or for one that Flatwise chooses, where a line does not take them
NO_VALUES = ("auto", "default", "none", "no", "off")


class DeadEnd(Exception):
    """A way through the shape ends at the item with index `at`.

    It carries no more, since whoever keeps an exception keeps the frames that it came through.
    """

    def __init__(self, at: int) -> None:
        super().__init__()
        self.at = at


class LineContext(NamedTuple):
    """The shape of a line's word, how a message speaks of the block around it, and the line's span."""

    shape: WordShape
    owner: str
    span: Span

    @property
    def label(self) -> str:
        return f"`{self.shape.word}` of {self.owner}"

    def has(self, *items: Item) -> bool:
        """Whether items stand in the line itself, not where a job gives a recipe their values."""
        own = self.span
        return all(each.span.path == own.path and own.start <= each.span.start < own.end for each in items)

    @property
    def how(self) -> str:
        """An example of the line."""
        return f"`{self.shape.word} {self.shape.example}`"

    def hint(self, at: int, found: str) -> str:
        """How to write the line, which has `found` at the item `at`."""
        shape = self.shape
        if found in NO_VALUES and not shape.made.model_fields[shape.word].is_required():
            return f"Leave the line out (default: {default(shape.made, shape.word)}), or write it like {self.how}."
        past = at >= len(shape.example.split()) and "[" in shape.pattern
        return f"Write it like {self.how}{f'; in full: {shown(shape)}' if past else ''}."


def explain(mismatch: Mismatch, line: LineContext, items: tuple[Item, ...]) -> Finding:
    """The finding for a line that stops at `mismatch`."""
    if mismatch.finding is not None:
        return mismatch.finding
    at, wants = mismatch.at, mismatch.wants
    item = items[at] if at < len(items) else None
    span = item.span if item is not None else items[-1].span if items else line.span
    found = as_written(item) if item is not None else ""
    hint = line.hint(at, found)
    if isinstance(item, nodes.Name):
        choices = [" ".join(words) for want in wants if isinstance(want, WordChoice) for words in want.choices]
        fixed = [" ".join(want.words[0]) for want in wants if isinstance(want, Fixed)]
        if choices or any(near_words(item.text, [word]) for word in fixed):
            others = [want.spoken for want in wants if not isinstance(want, WordChoice | Fixed)]
            elsewhere = bool(owners_of(item.text))
            return fw101_unknown_word.in_phrase(
                item.text, span, line.label, choices + fixed, others, hint, elsewhere=elsewhere
            )
    before = as_written(items[at - 1]) if at else ""
    return fw104_wrong_kind.phrase(line.label, span, before, [want.spoken for want in wants], found, hint)
