"""Reading one line: the items that stand there against the shape that the model asks for.

The reader walks the shape once, trying what may be left out, and keeps the furthest place at which it had to
give up: that is what the message is about.  A value out of its bounds or a name that nobody declared does not
stop it; the finding is noted and reading goes on.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from dataclasses import replace
from typing import Any

from flatwise.core.finding import Edit, Finding, Fix, Related
from flatwise.core.fixes import near_words
from flatwise.core.units import UNITS, Quantity, quantity
from flatwise.findings import (
    fw003_number,
    fw101_unknown_word,
    fw102_unknown_name,
    fw104_wrong_kind,
    fw107_out_of_bounds,
)
from flatwise.language.items import joined, likely_units, spoken, spread
from flatwise.language.mismatch import DeadEnd, LineContext, Mismatch, Want, explain
from flatwise.language.phrase_shape import (
    Coded,
    Count,
    EdgePlace,
    Either,
    Fixed,
    Group,
    Hole,
    Maybe,
    Measure,
    Named,
    PanelPlace,
    PhrasePart,
    Quoted,
    Several,
    Sign,
    ValueKind,
    WordChoice,
)
from flatwise.model import words as w
from flatwise_grammar import nodes as n
from flatwise_grammar.nodes import Item, Span

#: (kind, path of the file in which the name is written) → the names that can be seen from there
KnownNames = Callable[[str, str], Collection[str]]

_COORDINATE = Measure(w.Of("length"))
_SHARE = Measure(w.Of("ratio", least=0.0, most=1.0))
_ALONG = Measure(w.Of("length", least=0.0, most=100_000.0))
_COMMA = Sign(",")


def read_line(line: LineContext, items: Sequence[Item], known: KnownNames) -> tuple[Any, list[Finding]]:
    """The value of a line, and what is wrong with it.  The value is None when the line could not be read."""
    reader = PhraseReader(line, joined(items), known)
    value: Any = None
    try:
        value, end = reader.group(line.shape.group, 0)
        if end < len(reader.items):
            reader.note(Mismatch(end, ()))
            raise DeadEnd(end)
    except DeadEnd:
        value = None
        assert reader.worst is not None
        finding = explain(reader.worst, line, reader.items)
        reader.findings.append(_with_word(finding, reader.worst, line, reader.items, known))
    return value, [_with_use(finding, line) for finding in reader.findings]


def _with_word(
    finding: Finding, miss: Mismatch, line: LineContext, items: tuple[Item, ...], known: KnownNames
) -> Finding:
    """The finding with a fix where one word or comma is missing and the line reads once it stands there."""
    wanted = [want for want in miss.wants if isinstance(want, Fixed | Sign)]
    if (
        finding.fix is not None
        or miss.finding is not None
        or len(miss.wants) != 1
        or not wanted
        or miss.at >= len(items)
    ):
        return finding
    want, here = wanted[0], items[miss.at].span
    words = want.words[0] if isinstance(want, Fixed) else (want.text,)
    added = tuple(n.Name(w, here) if isinstance(want, Fixed) else n.Mark(w, here) for w in words)
    trial = PhraseReader(line, (*items[: miss.at], *added, *items[miss.at :]), known)
    try:
        _, end = trial.group(line.shape.group, 0)
    except DeadEnd:
        return finding
    if end < len(trial.items) or trial.findings:
        return finding
    text = " ".join(words)
    if isinstance(want, Sign):
        before = items[miss.at - 1].span
        edit = Edit(Span(before.path, before.end, before.end), text)
    else:
        edit = Edit(Span(here.path, here.start, here.start), text + " ")
    return replace(finding, fix=Fix(f"write `{text}` there", (edit,)))


def _with_use(finding: Finding, line: LineContext) -> Finding:
    """A value that a job gave to a recipe: the recipe's line is the second place."""
    span, own = finding.span, line.span
    if span is None or (span.path == own.path and own.start <= span.start and span.end <= own.end):
        return finding
    return replace(finding, related=(*finding.related, Related("the recipe uses it here", own)))


class PhraseReader:
    """One walk over the items of a line; `worst` is the furthest place at which something else was due."""

    def __init__(self, line: LineContext, items: tuple[Item, ...], known: KnownNames) -> None:
        self.line = line
        self.items = items
        self.known = known
        self.findings: list[Finding] = []
        self.worst: Mismatch | None = None

    # -- giving up -------------------------------------------------------------------------------------------

    def note(self, miss: Mismatch) -> None:
        """Keep the furthest miss; at one place, join what was wanted, and let a clear finding win."""
        worst = self.worst
        if worst is None or miss.at > worst.at:
            self.worst = miss
        elif miss.at == worst.at:
            worst.wants += tuple(want for want in miss.wants if want not in worst.wants)
            worst.finding = worst.finding or miss.finding

    def miss(self, at: int, *wants: Want, finding: Finding | None = None) -> DeadEnd:
        self.note(Mismatch(at, wants, finding))
        return DeadEnd(at)

    # -- walking ---------------------------------------------------------------------------------------------

    def group(self, group: Group, at: int) -> tuple[Any, int]:
        values: dict[str, Any] = {}
        end = self.parts(group.parts, at, values)
        if group.made is None:
            return values[""], end
        first, last = min(at, len(self.items) - 1), max(end - 1, at)
        made = w.placed_phrase(group.made, values, self.items[first].span.to(self.items[last].span))
        self.ascending(values)
        return made, end

    def parts(self, parts: tuple[PhrasePart, ...], at: int, values: dict[str, Any]) -> int:
        index = 0
        while index < len(parts):
            part = parts[index]
            if isinstance(part, Maybe):
                run = [part]
                while index + 1 < len(parts) and isinstance(following := parts[index + 1], Maybe):
                    run.append(following)
                    index += 1
                at = self.any_order(run, at, values)
            elif isinstance(part, Hole):
                values[part.name], at = self.value(part.kind, at)
            elif isinstance(part, Sign):
                item = self.items[at] if at < len(self.items) else None
                if not (isinstance(item, n.Mark) and item.text == part.text):
                    raise self.miss(at, part)
                at += 1
            else:
                at = self.fixed(part, at)
            index += 1
        return at

    def any_order(self, run: list[Maybe], at: int, values: dict[str, Any]) -> int:
        """Parts that may be left out, in whatever order they were written, each once."""
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
            end = self.words(words, at)
            if end:
                return end
        raise self.miss(at, part)

    def words(self, words: tuple[str, ...], at: int) -> int:
        """The index after `words`, or 0 where they do not stand at `at`."""
        for word in words:
            item = self.items[at] if at < len(self.items) else None
            if not (isinstance(item, n.Name) and item.text == word):
                return 0
            at += 1
        return at

    # -- values ----------------------------------------------------------------------------------------------

    def value(self, kind: ValueKind, at: int) -> tuple[Any, int]:
        if isinstance(kind, Measure):
            return self.measure(kind, at), at + 1
        if isinstance(kind, Group):
            return self.group(kind, at)
        if isinstance(kind, Several):
            return self.several(kind, at)
        if isinstance(kind, Either):
            return self.either(kind, at)
        if isinstance(kind, WordChoice):
            for choice in kind.choices:
                end = self.words(choice, at)
                if end:
                    return " ".join(choice), end
                if len(choice) > 1 and self.words(choice[:1], at):
                    self.note(Mismatch(at + 1, (Fixed((choice[1:],)),)))
            raise self.miss(at, kind)
        return self.single(kind, at), at + 1

    def several(self, kind: Several, at: int) -> tuple[tuple[Any, ...], int]:
        values: list[Any] = []
        while True:
            value, at = self.value(kind.kind, at)
            values.extend(spread(value))
            item = self.items[at] if at < len(self.items) else None
            if not (isinstance(item, n.Mark) and item.text == ","):
                self.note(Mismatch(at, (_COMMA,)))
                return tuple(values), at
            at += 1

    def either(self, kind: Either, at: int) -> tuple[Any, int]:
        furthest = at
        for option in kind.kinds:
            noted = len(self.findings)
            try:
                return self.value(option, at)
            except DeadEnd as stuck:
                del self.findings[noted:]
                furthest = max(furthest, stuck.at)
        raise DeadEnd(furthest)

    def single(self, kind: Named | Count | Coded | Quoted | PanelPlace | EdgePlace, at: int) -> Any:
        item = self.items[at] if at < len(self.items) else None
        if isinstance(kind, Named) and isinstance(item, n.Name):
            known = self.known(kind.kind, item.span.path)
            if item.text not in known:
                self.findings.append(fw102_unknown_name.unknown(item.text, item.span, kind.kind, known))
            return w.DeclaredName(item.text, item.span)
        if isinstance(kind, Quoted) and isinstance(item, n.String):
            return w.QuotedText(item.text, item.span)
        if isinstance(kind, Coded) and isinstance(item, n.Code):
            import re

            if re.fullmatch(kind.shaped.form, item.text):
                return w.CodeWord(item.text, item.span)
            finding = fw107_out_of_bounds.code(item.text, item.span, self.line.label, kind.shaped.spoken)
            raise self.miss(at, kind, finding=finding)
        if isinstance(kind, Count) and isinstance(item, n.Number):
            return self.count(kind, item, at)
        if isinstance(kind, PanelPlace) and isinstance(item, n.Name | n.Point):
            return self.place(kind, item, at)
        if isinstance(kind, EdgePlace) and isinstance(item, n.NumberWithUnit | n.Number):
            return self.along(kind, item, at)
        raise self.miss(at, kind)

    def count(self, kind: Count, item: n.Number, at: int) -> w.Whole:
        digits = item.text.removeprefix("-")
        if not digits.isdecimal():
            finding = fw104_wrong_kind.not_whole(item.text, item.span, self.line.label)
            raise self.miss(at, kind, finding=finding)
        value = w.Whole(int(item.text), item.span)
        self.bounds(float(value), "", item.text, item.span, kind.of)
        return value

    def place(self, kind: PanelPlace, item: n.Name | n.Point, at: int) -> w.Place:
        if isinstance(item, n.Point):
            x, y = (self.coordinate(side, item, at) for side in (item.x, item.y))
            return w.Place("", float(x), float(y), item.span)
        name = "centre" if item.text == "center" else item.text
        if name not in w.PLACES and name != "corners":
            names = [*w.PLACES, "corners"]
            finding = fw101_unknown_word.in_phrase(
                item.text, item.span, self.line.label, names, ["a point such as `(120mm, 45mm)`"], self.line.how
            )
            raise self.miss(at, kind, finding=finding)
        return w.Place(name, 0.0, 0.0, item.span)

    def coordinate(self, side: tuple[Item, ...], point: n.Point, at: int) -> float:
        """One coordinate of a point; a leading minus is read, and judged by the panel's size later."""
        parts = joined(side)
        if len(parts) != 1:
            finding = fw104_wrong_kind.point(spoken(point), point.span, self.line.label)
            raise self.miss(at, PanelPlace(), finding=finding)
        return float(self.quantity(_COORDINATE, parts[0], at))

    def along(self, kind: EdgePlace, item: n.NumberWithUnit | n.Number, at: int) -> w.EdgePosition:
        if isinstance(item, n.Number):
            finding = self.comma(item, at) or fw104_wrong_kind.bare(
                item.text, item.span, self.line.label, kind.spoken, ("%", "mm"), self.line.how
            )
            raise self.miss(at, kind, finding=finding)
        if item.unit == "%":
            share = self.quantity(_SHARE, item, at)
            return w.EdgePosition(float(share), None, spoken(item), item.span)
        length = self.quantity(_ALONG, item, at)
        return w.EdgePosition(None, float(length), spoken(item), item.span)

    def measure(self, kind: Measure, at: int) -> Quantity:
        item = self.items[at] if at < len(self.items) else None
        if item is None:
            raise self.miss(at, kind)
        return self.quantity(kind, item, at)

    def quantity(self, kind: Measure, item: Item, at: int) -> Quantity:
        label = self.line.label
        if isinstance(item, n.Number):
            after = self.items[at + 1] if at + 1 < len(self.items) else None
            finding = self.comma(item, at)
            if finding is not None:
                pass
            elif isinstance(after, n.Name | n.Code) and near_words(after.text, kind.units):
                written = f"{item.text} {after.text}"
                finding = fw003_number.unknown_unit(after.text, after.span, written, label, kind.units)
            else:
                likely = likely_units(kind, item.text)
                finding = fw104_wrong_kind.bare(item.text, item.span, label, kind.spoken, likely, self.line.how)
            raise self.miss(at, kind, finding=finding)
        if not isinstance(item, n.NumberWithUnit):
            raise self.miss(at, kind)
        unit = UNITS.get(item.unit)
        if unit is None:
            place = Span(item.span.path, item.span.end - len(item.unit), item.span.end)
            finding = fw003_number.unknown_unit(item.unit, place, spoken(item), label, kind.units)
            raise self.miss(at, kind, finding=finding)
        if unit.dimension != kind.of.dimension:
            finding = fw104_wrong_kind.dimension(
                spoken(item), item.span, label, unit.dimension, kind.of.dimension, self.line.how
            )
            raise self.miss(at, kind, finding=finding)
        try:
            value = quantity(item.number, item.unit, item.span)
        except (ValueError, ZeroDivisionError):
            finding = fw003_number.not_a_number(spoken(item), item.span, label)
            raise self.miss(at, kind, finding=finding) from None
        self.bounds(float(value), item.unit, spoken(item), item.span, kind.of)
        return value

    def comma(self, item: n.Number, at: int) -> Finding | None:
        """What to say of a bare number with a comma and digits right behind it: a decimal comma."""
        mark, after = (*self.items[at + 1 : at + 3], None, None)[:2]
        if not isinstance(mark, n.Mark) or mark.text != "," or not isinstance(after, n.NumberWithUnit | n.Number):
            return None
        behind = after.number if isinstance(after, n.NumberWithUnit) else after.text
        if (item.span.end, mark.span.end) != (mark.span.start, after.span.start) or not behind.isdecimal():
            return None
        span = item.span.to(after.span)
        return fw104_wrong_kind.comma(f"{item.text},{spoken(after)}", len(behind), span, self.line.label)

    def bounds(self, value: float, unit: str, written: str, span: Span, of: w.Of) -> None:
        finding = fw107_out_of_bounds.judge(value, unit, written, span, self.line.label, of)
        if finding is not None:
            self.findings.append(finding)

    def ascending(self, values: dict[str, Any]) -> None:
        """A range runs from its lower to its upper end."""
        least, most = values.get("least"), values.get("most")
        if least is not None and most is not None and least > most:
            span = least.span.to(most.span)
            self.findings.append(fw107_out_of_bounds.backwards(str(least), str(most), span, self.line.label))
