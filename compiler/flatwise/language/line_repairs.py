"""Repairs of a line that stops too early: small changes are tried, and the first that makes it readable counts."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import partial
from typing import NamedTuple

from flatwise.core.finding import Edit, Finding, Fix
from flatwise.core.units import UNITS
from flatwise.findings import fw104_wrong_kind
from flatwise.language.items import as_written, join_units
from flatwise.language.mismatch import LineContext, Mismatch, Want
from flatwise.language.phrase_shape import Fixed, Measure, Sign, WordChoice, owners_of
from flatwise_grammar import nodes
from flatwise_grammar.nodes import Item, Span

#: where a line with these items stops: an index, -1 where its values are not sound, None where it can be read
Stop = Callable[[tuple[Item, ...]], int | None]
#: the most places of one line that are changed in the same way
MOST_CHANGES = 40
#: other words for what a switch says
_YES_OR_NO = {"on": "yes", "true": "yes", "off": "no", "false": "no"}


class _Change(NamedTuple):
    """The items of a line after one change, the edits that make it, and the new text at that place."""

    items: tuple[Item, ...]
    edits: tuple[Edit, ...]
    text: str


def repaired(finding: Finding, mismatch: Mismatch, line: LineContext, items: tuple[Item, ...], stop: Stop) -> Finding:
    """The finding of a line with a fix, if one sort of change makes the line readable."""
    if finding.fix is not None:
        return finding
    comma = _continued_by_mistake(mismatch.at, line, items, stop)
    if comma is not None:
        return comma
    if mismatch.finding is not None or mismatch.at >= len(items):
        return finding
    # between a recipe's words and the values of a job there is no text of one line to change
    if not line.has(*items):
        return finding
    added = [change for change in _with_missing(items, mismatch) if stop(change.items) is None]
    if len(added) == 1:
        text, here = added[0].text, as_written(items[mismatch.at])
        # one of several words: the example of the line may have another
        help = f"Write `{text}` before `{here}`." if finding.code == "FW101" else finding.help
        return finding._replace(help=help, fix=Fix(f"Write `{text}` there", added[0].edits))
    wanted = mismatch.wants[0] if len(mismatch.wants) == 1 else None
    for change in (
        partial(_with_comma, wanted=wanted),
        partial(_with_word, wanted=wanted),
        partial(_parted, wanted=wanted),
        _without_quotes,
        partial(_without_brackets, wanted=wanted),
        _joined_before,
        _joined,
        _split,
        _yes_or_no,
        _unit_behind,
        _exchanged,
        _exchanged_before,
    ):
        found = _everywhere(change, items, mismatch.at, stop)
        if found is not None:
            return finding._replace(help=f"Write `{found.text}`.", fix=Fix(f"Write `{found.text}`", found.edits))
    return finding


def _everywhere(
    change: Callable[[tuple[Item, ...], int], _Change | None], items: tuple[Item, ...], at: int, stop: Stop
) -> _Change | None:
    """One sort of change wherever the line stops, until it can be read; None where it can't."""
    edits: tuple[Edit, ...] = ()
    text = ""
    for _ in range(MOST_CHANGES):
        made = change(items, at)
        if made is None:
            return None
        items, edits, text = made.items, edits + made.edits, text or made.text
        end = stop(items)
        if end is None:
            return _Change(items, edits, text)
        if end <= at or end >= len(items):
            return None
        at = end
    return None


def _continued_by_mistake(at: int, line: LineContext, items: tuple[Item, ...], stop: Stop) -> Finding | None:
    """The finding of a comma at the end of a line, which makes the next line its continuation."""
    for comma in (at, at - 1):
        mark, after = (*items[max(comma, 0) : comma + 2], None, None)[:2]
        if comma <= 0 or not (isinstance(mark, nodes.Mark) and mark.text == "," and isinstance(after, nodes.Name)):
            continue
        if owners_of(after.text) and stop(items[:comma]) is None:
            return fw104_wrong_kind.continued(as_written(items[comma - 1]), mark.span, line.label, after.text)
    return None


def _with_missing(items: tuple[Item, ...], mismatch: Mismatch) -> Iterator[_Change]:
    """With each of the words and signs that may stand there."""
    at, here = mismatch.at, items[mismatch.at].span
    for want in mismatch.wants:
        if isinstance(want, Sign):
            before = items[at - 1].span
            edit = Edit(Span(before.path, before.end, before.end), want.text)
            yield _Change((*items[:at], nodes.Mark(want.text, here), *items[at:]), (edit,), want.text)
        elif isinstance(want, Fixed | WordChoice):
            for words in want.words[:1] if isinstance(want, Fixed) else want.choices:
                text = " ".join(words)
                edit = Edit(Span(here.path, here.start, here.start), text + " ")
                added = tuple(nodes.Name(word, here) for word in words)
                yield _Change((*items[:at], *added, *items[at:]), (edit,), text)


def _with_comma(items: tuple[Item, ...], at: int, wanted: Want | None) -> _Change | None:
    """A list without its commas."""
    if not at or wanted != Sign(","):
        return None
    before = items[at - 1].span
    edit = Edit(Span(before.path, before.end, before.end), ",")
    return _Change((*items[:at], nodes.Mark(",", items[at].span), *items[at:]), (edit,), ",")


def _with_word(items: tuple[Item, ...], at: int, wanted: Want | None) -> _Change | None:
    """The only word or sign that may stand there in place of another, as in `460mm by 460mm`."""
    if not 0 < at < len(items) - 1 or not isinstance(items[at], nodes.Name | nodes.Mark):
        return None
    here = items[at].span
    word: Item
    if isinstance(wanted, Fixed) and len(wanted.words[0]) == 1:
        word, text = nodes.Name(wanted.words[0][0], here), f" {wanted.words[0][0]} "
    elif isinstance(wanted, Sign):
        word, text = nodes.Mark(wanted.text, here), ", " if wanted.text == "," else f" {wanted.text} "
    else:
        return None
    between = Span(here.path, items[at - 1].span.end, items[at + 1].span.start)
    return _Change((*items[:at], word, *items[at + 1 :]), (Edit(between, text),), text.strip())


def _parted(items: tuple[Item, ...], at: int, wanted: Want | None) -> _Change | None:
    """A word without a blank before its value, as in `x460mm`."""
    item = items[at]
    word = wanted.words[0][0] if isinstance(wanted, Fixed) else ""
    found = re.fullmatch(r"([0-9]+)([a-z]+)", item.text.removeprefix(word)) if isinstance(item, nodes.Name) else None
    if not word or found is None or found[2] not in UNITS:
        return None
    value = nodes.NumberWithUnit(found[1], found[2], item.span)
    return _replaced(items, at, at + 1, (nodes.Name(word, item.span), value))


def _without_brackets(items: tuple[Item, ...], at: int, wanted: Want | None) -> _Change | None:
    """Two distances that were written as a point."""
    item = items[at]
    if not isinstance(item, nodes.Point) or not isinstance(wanted, Measure):
        return None
    first, second = (" ".join(as_written(one) for one in side) for side in (item.x, item.y))
    new = (*join_units(item.x), nodes.Mark(",", item.span), *join_units(item.y))
    change = _replaced(items, at, at + 1, new)
    text = f"{first}, {second}"
    return change._replace(edits=(Edit(item.span, text),), text=text)


def _without_quotes(items: tuple[Item, ...], at: int) -> _Change | None:
    item = items[at]
    if not isinstance(item, nodes.String) or not item.text:
        return None
    return _replaced(items, at, at + 1, (nodes.Name(item.text, item.span),))


def _joined(items: tuple[Item, ...], at: int) -> _Change | None:
    """A name in two words, as in `white oak` or `fly 64`."""
    first, second = (*items[at : at + 2], None, None)[:2]
    if not isinstance(first, nodes.Name) or not isinstance(second, nodes.Name | nodes.Number):
        return None
    return _replaced(items, at, at + 2, (nodes.Name(f"{first.text}_{second.text}", first.span.to(second.span)),))


def _joined_before(items: tuple[Item, ...], at: int) -> _Change | None:
    return _joined(items, at - 1) if at else None


def _split(items: tuple[Item, ...], at: int) -> _Change | None:
    """Two words that were written as one, as in `until_clean`."""
    item = items[at]
    if not isinstance(item, nodes.Name) or "_" not in item.text:
        return None
    return _replaced(items, at, at + 1, tuple(nodes.Name(word, item.span) for word in item.text.split("_")))


def _yes_or_no(items: tuple[Item, ...], at: int) -> _Change | None:
    item = items[at]
    plain = _YES_OR_NO.get(item.text) if isinstance(item, nodes.Name) else None
    return _replaced(items, at, at + 1, (nodes.Name(plain, item.span),)) if plain is not None else None


def _unit_behind(items: tuple[Item, ...], at: int) -> _Change | None:
    """A unit that was written before its number."""
    unit, number = (*items[at : at + 2], None, None)[:2]
    if not isinstance(unit, nodes.Name) or unit.text not in UNITS or not isinstance(number, nodes.Number):
        return None
    joined = nodes.NumberWithUnit(number.text, unit.text, unit.span.to(number.span))
    return _replaced(items, at, at + 2, (joined,))


def _exchanged(items: tuple[Item, ...], at: int) -> _Change | None:
    """Two values in the other order."""
    pair = items[at : at + 2]
    if len(pair) < 2 or not all(isinstance(one, nodes.Name | nodes.NumberWithUnit) for one in pair):
        return None
    first, second = (as_written(one) for one in pair)
    edits = (Edit(pair[0].span, second), Edit(pair[1].span, first))
    return _Change((*items[:at], pair[1], pair[0], *items[at + 2 :]), edits, f"{second} {first}")


def _exchanged_before(items: tuple[Item, ...], at: int) -> _Change | None:
    return _exchanged(items, at - 1) if at else None


def _replaced(items: tuple[Item, ...], start: int, end: int, new: tuple[Item, ...]) -> _Change:
    """With new items in place of those from `start` to `end`."""
    text = " ".join(as_written(item) for item in new)
    edit = Edit(items[start].span.to(items[end - 1].span), text)
    return _Change((*items[:start], *new, *items[end:]), (edit,), text)
