"""Reading one line: its items against the shape that the model asks for.

The reader walks the shape once, tries what is optional, and keeps the furthest item at which it had to give up: the
message is about that one.  A value out of its bounds or an unknown name gives a finding and does not stop it.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from flatwise.core.finding import Finding, Related
from flatwise.language.items import join_units
from flatwise.language.line_repairs import repaired
from flatwise.language.mismatch import DeadEnd, LineContext, Mismatch, explain
from flatwise.language.phrase_shape import (
    Either,
    Fixed,
    Group,
    Hole,
    Maybe,
    Measure,
    PhrasePart,
    Several,
    Sign,
    ValueKind,
    WordChoice,
)
from flatwise.language.validation import refusal, validated
from flatwise.language.value_reader import KnownNames, ValueReader
from flatwise.model.words import at_each_corner
from flatwise_grammar import nodes
from flatwise_grammar.nodes import Item, Span

_COMMA = Sign(",")


def read_line(line: LineContext, items: Sequence[Item], known: KnownNames) -> tuple[Any, list[Finding]]:
    """The value of a line, None where it cannot be read or is out of bounds, and the findings."""
    reader = PhraseReader(line, join_units(items), known)
    value: Any = None
    try:
        value = reader.whole_line()
    except DeadEnd:
        assert reader.furthest is not None
        found = explain(reader.furthest, line, reader.items)
        finding = repaired(found, reader.furthest, line, reader.items, lambda items: stop(line, items, known))
        # what a repaired line says of its values was said of the line as it was misread
        reader.findings = [finding] if finding is not found else [*reader.findings, finding]
    if any(finding.code == "FW107" for finding in reader.findings):
        value = None
    return value, [with_recipe_line(finding, line.span) for finding in reader.findings]


def stop(line: LineContext, items: tuple[Item, ...], known: KnownNames) -> int | None:
    """Where a line with these items stops: an index, -1 where its values are not sound, None where it can be read."""
    reader = PhraseReader(line, items, known)
    try:
        reader.whole_line()
    except DeadEnd:
        return reader.furthest.at if reader.furthest is not None else -1
    return -1 if reader.findings else None


def with_recipe_line(finding: Finding, line: Span) -> Finding:
    """The finding; for a value that a job gave to a recipe, with the recipe's line as its second place."""
    span = finding.span
    if span is None or (span.path == line.path and line.start <= span.start and span.end <= line.end):
        return finding
    return finding._replace(related=(*finding.related, Related("the recipe uses it here", line)))


class PhraseReader(ValueReader):
    """One walk over the items of a line.

    Each method takes the index of an item, gives a value and the index after it, and raises DeadEnd where the items
    do not fit.
    """

    def whole_line(self) -> Any:
        """The value of the line; raises DeadEnd where it cannot be read to its end."""
        value, end = self.group(self.line.shape.group, 0)
        if end < len(self.items):
            raise self.dead_end(end)
        return value

    def group(self, group: Group, at: int) -> tuple[Any, int]:
        values: dict[str, Any] = {}
        end = self.parts(group.parts, at, values)
        if group.made is None:
            return values[""], end
        phrase, errors = validated(group.made, values)
        self.findings.extend(found for error in errors if (found := refusal(error, self.line.label)) is not None)
        first, last = min(at, len(self.items) - 1), max(end - 1, at)
        return phrase.placed(self.items[first].span.to(self.items[last].span)), end

    def parts(self, parts: tuple[PhrasePart, ...], at: int, values: dict[str, Any]) -> int:
        """Fill `values` from the parts; gives the index after them."""
        index = 0
        while index < len(parts):
            part = parts[index]
            if isinstance(part, Maybe):
                run = [part]
                while index + 1 < len(parts) and isinstance(following := parts[index + 1], Maybe):
                    run.append(following)
                    index += 1
                at = self.optional(run, at, values)
            elif isinstance(part, Hole):
                values[part.name], at = self.value(part.kind, at)
            elif isinstance(part, Sign):
                item = self.items[at] if at < len(self.items) else None
                if not (isinstance(item, nodes.Mark) and item.text == part.text):
                    raise self.dead_end(at, part)
                at += 1
            else:
                at = self.fixed(part, at)
            index += 1
        return at

    def optional(self, run: list[Maybe], at: int, values: dict[str, Any]) -> int:
        """Optional parts in whatever order they were written, each once."""
        left = list(run)
        while left:
            for maybe in left:
                trial: dict[str, Any] = {}
                noted = len(self.findings)
                try:
                    at = self.parts(maybe.parts, at, trial)
                except DeadEnd:
                    del self.findings[noted:]
                    continue
                values.update(trial)
                left.remove(maybe)
                break
            else:
                break
        return at

    def fixed(self, part: Fixed, at: int) -> int:
        for words in part.words:
            end = self.after_words(words, at)
            if end:
                return end
        raise self.dead_end(at, part)

    def after_words(self, words: tuple[str, ...], at: int) -> int:
        """The index after `words`, or 0 where they do not stand at `at`."""
        for word in words:
            item = self.items[at] if at < len(self.items) else None
            if not (isinstance(item, nodes.Name) and item.text == word):
                return 0
            at += 1
        return at

    def value(self, kind: ValueKind, at: int) -> tuple[Any, int]:
        match kind:
            case Measure():
                return self.single(kind, at), at + 1
            case Group():
                return self.group(kind, at)
            case Several():
                return self.several(kind, at)
            case Either():
                return self.either(kind, at)
            case WordChoice():
                return self.choice(kind, at)
            case _:
                return self.single(kind, at), at + 1

    def several(self, kind: Several, at: int) -> tuple[tuple[Any, ...], int]:
        values: list[Any] = []
        while True:
            value, at = self.value(kind.kind, at)
            values.extend(at_each_corner(value))
            item = self.items[at] if at < len(self.items) else None
            if not (isinstance(item, nodes.Mark) and item.text == ","):
                self.note(Mismatch(at, (_COMMA,)))
                return tuple(values), at
            at += 1

    def either(self, kind: Either, at: int) -> tuple[Any, int]:
        furthest = at
        for option in kind.kinds:
            noted = len(self.findings)
            try:
                return self.value(option, at)
            except DeadEnd as end:
                del self.findings[noted:]
                furthest = max(furthest, end.at)
        raise DeadEnd(furthest)

    def choice(self, kind: WordChoice, at: int) -> tuple[str, int]:
        for words in kind.choices:
            end = self.after_words(words, at)
            if end:
                return " ".join(words), end
            if len(words) > 1 and self.after_words(words[:1], at):
                self.note(Mismatch(at + 1, (Fixed((words[1:],)),)))
        raise self.dead_end(at, kind)
