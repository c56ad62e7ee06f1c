"""Reading single values: one item of a line, as the kind of value that the model asks for there."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Sequence

from flatwise.core.finding import Finding
from flatwise.core.fixes import near_words, spoken_unit
from flatwise.core.units import UNITS, Quantity, quantity, show
from flatwise.core.units import number as as_number
from flatwise.findings import (
    fw003_number,
    fw101_unknown_word,
    fw102_unknown_name,
    fw104_wrong_kind,
)
from flatwise.language.items import as_written, join_units
from flatwise.language.mismatch import DeadEnd, LineContext, Mismatch, Want
from flatwise.language.phrase_shape import Coded, Count, EdgePlace, Measure, Named, PanelPlace, Quoted
from flatwise.model import words as model
from flatwise_grammar import nodes
from flatwise_grammar.nodes import Item, Span

#: (kind, path of the file in which the name is written) → the names visible from there
KnownNames = Callable[[str, str], Collection[str]]
#: a kind of value that one item gives
SingleKind = Measure | Count | Named | Coded | Quoted | PanelPlace | EdgePlace

_COORDINATE = Measure("length")
#: the units of a position along an edge, the likeliest first
EDGE_UNITS = ("%", "mm")


class ValueReader:
    """The items of a line, the findings so far, and the furthest item at which something else was expected."""

    def __init__(self, line: LineContext, items: tuple[Item, ...], known: KnownNames) -> None:
        self.line = line
        self.items = items
        self.known = known
        self.findings: list[Finding] = []
        self.furthest: Mismatch | None = None

    # -- dead ends -------------------------------------------------------------------------------------------

    def note(self, mismatch: Mismatch) -> None:
        """Keep the furthest mismatch; at the same item, join what was expected and keep the first finding."""
        furthest = self.furthest
        if furthest is None or mismatch.at > furthest.at:
            self.furthest = mismatch
        elif mismatch.at == furthest.at:
            furthest.wants += tuple(want for want in mismatch.wants if want not in furthest.wants)
            furthest.finding = furthest.finding or mismatch.finding

    def dead_end(self, at: int, *wants: Want, finding: Finding | None = None) -> DeadEnd:
        """Note that the item at `at` does not fit; gives the exception to raise."""
        self.note(Mismatch(at, wants, finding))
        return DeadEnd(at)

    # -- values ----------------------------------------------------------------------------------------------

    def single(self, kind: SingleKind, at: int) -> object:
        """The value of the item at `at`; raises DeadEnd where it is of another kind."""
        item = self.items[at] if at < len(self.items) else None
        match kind, item:
            case Measure(), _ if item is not None:
                return self.quantity(kind, item, at)
            case Named(), nodes.Name():
                known = self.known(kind.kind, item.span.path)
                after = self.items[at + 1] if at + 1 < len(self.items) else None
                doubled = item.text == kind.kind and getattr(after, "text", "") in known
                if doubled and isinstance(after, nodes.Name) and self.line.has(item, after):
                    finding = fw104_wrong_kind.kind_before(after, item, self.line.label)
                    raise self.dead_end(at, kind, finding=finding)
                if item.text not in known:
                    self.findings.append(fw102_unknown_name.unknown(item.text, item.span, kind.kind, known))
                return model.DeclaredName(item.text, item.span)
            case Quoted(), nodes.String():
                return kind.made(item.text, item.span)
            case Coded(), nodes.Code():
                return model.CodeWord(item.text, item.span)
            case Count(), nodes.Number():
                return self.count(kind, item, at)
            case Count(), nodes.NumberWithUnit() if times := re.fullmatch("x([0-9]?)", item.unit):
                finding = fw003_number.no_space(item.number, times[1], item.span, self.line.label)
                raise self.dead_end(at, kind, finding=finding)
            case PanelPlace(), nodes.Name():
                return self.named_place(kind, item, at)
            case PanelPlace(), nodes.Point():
                x, y = (self.coordinate(side, item, at) for side in (item.x, item.y))
                return model.Place("", float(x), float(y), item.span)
            case EdgePlace(), nodes.NumberWithUnit():
                return self.edge_position(item, at)
            case EdgePlace(), nodes.Number():
                finding = (
                    self.decimal_comma(item, at)
                    or self.other_unit(item, at, EDGE_UNITS)
                    or self.bare(item, kind.spoken, EDGE_UNITS)
                )
                raise self.dead_end(at, kind, finding=finding)
        raise self.dead_end(at, kind)

    def count(self, kind: Count, number: nodes.Number, at: int) -> model.Whole:
        if not number.text.removeprefix("-").isdecimal():
            finding = fw104_wrong_kind.not_whole(number.text, number.span, self.line.label)
            raise self.dead_end(at, kind, finding=finding)
        return model.Whole(int(number.text), number.span)

    def named_place(self, kind: PanelPlace, name: nodes.Name, at: int) -> model.Place:
        """A named place; `corners` stays one place until its line is spread over the four."""
        text = model.OTHER_SPELLINGS.get(name.text, name.text)
        if text not in model.PLACES and text != model.ALL_CORNERS:
            names = [*model.PLACES, model.ALL_CORNERS]
            finding = fw101_unknown_word.in_phrase(
                name.text,
                name.span,
                self.line.label,
                names,
                ["a point such as `(120mm, 45mm)`"],
                self.line.hint(at, name.text),
            )
            raise self.dead_end(at, kind, finding=finding)
        return model.Place(text, 0.0, 0.0, name.span)

    def coordinate(self, side: tuple[Item, ...], point: nodes.Point, at: int) -> Quantity:
        """One coordinate of a point; it may be negative here, and is later compared with the panel's size."""
        items = join_units(side)
        if len(items) != 1:
            finding = fw104_wrong_kind.point(as_written(point), point.span, self.line.label)
            raise self.dead_end(at, PanelPlace(), finding=finding)
        return self.quantity(_COORDINATE, items[0], at)

    def edge_position(self, item: nodes.NumberWithUnit, at: int) -> model.EdgePosition:
        kind = Measure("ratio") if item.unit == "%" else Measure("length")
        value = self.quantity(kind, item, at)
        return model.EdgePosition(value, value.unit, value.text, value.span)

    def quantity(self, kind: Measure, item: Item, at: int) -> Quantity:
        """A number with a unit of the kind's dimension."""
        if isinstance(item, nodes.Number):
            raise self.dead_end(at, kind, finding=self.without_unit(kind, item, at))
        if not isinstance(item, nodes.NumberWithUnit):
            raise self.dead_end(at, kind)
        label, written = self.line.label, as_written(item)
        unit = UNITS.get(item.unit)
        if unit is None:
            place = Span(item.span.path, item.span.end - len(item.unit), item.span.end)
            finding = fw003_number.unknown_unit(item.unit, place, written, label, kind.units)
            raise self.dead_end(at, kind, finding=finding)
        if unit.dimension != kind.dimension:
            finding = fw104_wrong_kind.dimension(
                written, item.span, label, unit.dimension, kind.dimension, self.line.how
            )
            raise self.dead_end(at, kind, finding=finding)
        try:
            return quantity(item.number, item.unit, item.span)
        except (ValueError, ZeroDivisionError):
            finding = fw003_number.not_a_number(written, item.span, label)
        raise self.dead_end(at, kind, finding=finding)

    def without_unit(self, kind: Measure, number: nodes.Number, at: int) -> Finding:
        """The finding for a bare number where a unit is due."""
        found = self.decimal_comma(number, at) or self.other_unit(number, at, kind.units)
        if found is not None:
            return found
        return self.bare(number, kind.spoken, kind.likely_units(number.text))

    def bare(self, number: nodes.Number, spoken: str, units: Sequence[str]) -> Finding:
        """The same without any unit; a part of 1 where a percentage may stand is meant as a share."""
        try:
            value = float(as_number(number.text))
        except (ValueError, ZeroDivisionError):
            value = 0.0
        share = show(value, "%") if 0.0 < value < 1.0 else f"{number.text}%"
        likely = [share if unit == "%" else f"{number.text}{unit}" for unit in units]
        return fw104_wrong_kind.bare(number.text, number.span, self.line.label, spoken, likely, self.line.how)

    def other_unit(self, number: nodes.Number, at: int, units: Sequence[str]) -> Finding | None:
        """The finding for a number with a misspelt or spelt-out unit after it."""
        after = self.items[at + 1] if at + 1 < len(self.items) else None
        if not isinstance(after, nodes.Name | nodes.Code):
            return None
        if spoken_unit(after.text) not in units and not near_words(after.text, units):
            return None
        written = f"{number.text} {after.text}"
        return fw003_number.unknown_unit(after.text, after.span, written, self.line.label, units)

    def decimal_comma(self, number: nodes.Number, at: int) -> Finding | None:
        """The finding for a bare number directly followed by a comma and digits."""
        mark, after = (*self.items[at + 1 : at + 3], None, None)[:2]
        if (
            not isinstance(mark, nodes.Mark)
            or mark.text != ","
            or not isinstance(after, nodes.NumberWithUnit | nodes.Number)
        ):
            return None
        behind = after.number if isinstance(after, nodes.NumberWithUnit) else after.text
        if (number.span.end, mark.span.end) != (mark.span.start, after.span.start) or not behind.isdecimal():
            return None
        written = f"{number.text},{as_written(after)}"
        return fw104_wrong_kind.comma(written, len(behind), number.span.to(after.span), self.line.label)
