"""Changes that may be meant where the compiler is not certain: a person chooses one of them."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from flatwise.core.finding import Edit, Finding
from flatwise.core.units import quantity
from flatwise.language.items import as_written, height_of, join_units
from flatwise.language.phrase_shape import EdgePlace, Measure, PanelPlace, WordShape
from flatwise.language.value_reader import EDGE_UNITS
from flatwise_grammar.nodes import Field, Item, Mark, Number, NumberWithUnit, Point, Span
from flatwise_lsp.features.line_edits import indent_at, insert_line, use_line, without_line
from flatwise_lsp.features.unused_names import unused_names
from flatwise_lsp.workspace.phrase_trace import expected
from flatwise_lsp.workspace.tree_search import node_at
from flatwise_lsp.workspace.view import View

#: the most names of the shop that are offered for one that is unknown
MOST_NAMES = 6


class Alternative(NamedTuple):
    """A change that may be meant."""

    title: str
    edits: tuple[Edit, ...]


def find_alternatives(view: View, finding: Finding, span: Span) -> Iterator[Alternative]:
    """The changes that may resolve a finding at a span, none certain."""
    if finding.code == "FW002":
        yield _closing_brace(view, finding, span)
    yield from _other_words(finding, span)
    yield from _missing_units(view, span)
    yield from _missing_lines(view, finding, span)
    yield from _left_out(view, finding, span)
    yield from _used_file(view, finding)
    yield from _lower_holders(view, finding, span)


def _closing_brace(view: View, finding: Finding, span: Span) -> Alternative:
    """A brace at the end of the open block, aligned with its header."""
    opened = finding.related[0].span.start if finding.related else span.start
    end = view.text.line_end(view.text.line_of(span.end))
    edit = Edit(Span(span.path, end, end), f"\n{indent_at(view, opened)}}}")
    return Alternative("Close the block here", (edit,))


def _other_words(finding: Finding, span: Span) -> Iterator[Alternative]:
    """The words that the help names, in place of the one that is not understood."""
    said = finding.help
    if said.startswith("Did you mean"):
        words = re.findall(r"`([^`]+)`", said.partition("?")[0])
    elif said.startswith("Known here: "):
        words = re.findall(r"`([^`]+)`", said.partition(";")[0])[:MOST_NAMES]
    elif finding.code == "FW003" and said.startswith("Use "):
        words = re.findall(r"`([^`]+)`", said)
    elif finding.code == "FW003" and "run together" in finding.message:
        words = said.rpartition(": ")[2].rstrip(".").split(", or for two sizes ")
    elif finding.code == "FW101" and (choices := re.search(r" takes ((?:`\w+`(?:, | or )?)+), not `", finding.message)):
        words = re.findall(r"`(\w+)`", choices[1])[:MOST_NAMES]
    else:
        return
    for word in words:
        yield Alternative(f"Write `{word}`", (Edit(span, word),))


def _used_file(view: View, finding: Finding) -> Iterator[Alternative]:
    """A `use` line for the file that declares an unknown name."""
    unknown = re.match(r"No (\w+) called `(\w+)` is declared in this file", finding.message)
    file = unused_names(view).get(unknown[1], {}).get(unknown[2]) if unknown is not None else None
    if file is not None:
        edit = use_line(view, file)
        yield Alternative(f"Add `{edit.text.strip()}`", (edit,))


def _lower_holders(view: View, finding: Finding, span: Span) -> Iterator[Alternative]:
    """The dogs or clamps of the shop that are as low as a finding asks for."""
    line = _line_at(view, span)
    asked = re.search(r"no higher than ([0-9./ ]+)([a-z]+)", finding.help)
    if finding.code != "FW501" or asked is None or line is None or not line.items:
        return
    limit = quantity(asked[1], asked[2])
    for name, declared in view.known(line.word.text).items():
        if declared is not None and height_of(declared.block) <= limit:
            yield Alternative(f"Write `{name}`", (Edit(line.items[0].span, name),))


# -- units


def _missing_units(view: View, span: Span) -> Iterator[Alternative]:
    """The likely units of a bare number, written after every bare number of its line."""
    path = node_at(view.tree, span.start)
    if path is None or not isinstance(path.node, Field) or path.shape is None:
        return
    line, numbers = path.node, re.fullmatch(r"-?[0-9./ ]+", view.text.text[span.start : span.end])
    if numbers is None:
        return
    bare = list(_bare_numbers(path.shape, line.items))
    units = next((units for number, units in bare if number.span == span), ())
    for unit in units:
        edits = [
            Edit(number.span, number.text + (unit if unit in likely else likely[0]))
            for number, likely in bare
            if likely
        ]
        title = f"Write `{edits[0].text}`" if len(edits) == 1 else f"Write {unit} after {len(edits)} numbers"
        yield Alternative(title, tuple(edits))


def _bare_numbers(shape: WordShape, items: tuple[Item, ...]) -> Iterator[tuple[Number, tuple[str, ...]]]:
    """The numbers of a line that lack a unit, each with its likely units."""
    joined = list(join_units(items))
    for at, item in enumerate(joined):
        if isinstance(item, Number):
            units = _likely_units(shape, tuple(joined[:at]), item)
            if units:
                joined[at] = NumberWithUnit(item.text, units[0], item.span)
                yield item, units
        elif isinstance(item, Point) and any(isinstance(want, PanelPlace) for want in expected(shape, joined[:at])):
            for side in (item.x, item.y):
                if len(side) == 1 and isinstance(side[0], Number):
                    yield side[0], Measure("length").likely_units(side[0].text)


def _likely_units(shape: WordShape, before: tuple[Item, ...], number: Number) -> tuple[str, ...]:
    for want in expected(shape, before):
        if isinstance(want, Measure):
            return want.likely_units(number.text)
        if isinstance(want, EdgePlace):
            return EDGE_UNITS
    return ()


# -- lines and parts of lines


def _missing_lines(view: View, finding: Finding, span: Span) -> Iterator[Alternative]:
    """The examples of missing lines; not certain, since only the shop knows the values."""
    path = node_at(view.tree, span.start) if finding.code == "FW105" else None
    if path is None:
        return
    said = "\n".join([finding.help, *(other.message for other in finding.related)])
    block = path.open_blocks[-1]
    for line in re.findall(r"line such as `([^`]+)`", said):
        parts = block.body if line.endswith("}") else block.fields
        last = max(parts, key=lambda part: part.span.end, default=None)
        edit = insert_line(view, block, line, last)
        yield Alternative(f"Add `{line}` (an example: put in your own value)", (edit,))


def _left_out(view: View, finding: Finding, span: Span) -> Iterator[Alternative]:
    """Leave out a repeated line or reading, or values beyond the end of a line."""
    said = finding.message
    if finding.code in ("FW103", "FW202") and finding.related:
        first = finding.related[0].span
        pair = [node for one in (span, first) if (node := _line_at(view, one)) is not None]
        if finding.code == "FW103" and said.startswith("`") and len(pair) == 2:
            same = [as_written(item) for item in pair[0].items] == [as_written(item) for item in pair[1].items]
            yield Alternative("Leave out this line", (without_line(view, pair[0]),))
            if not same and pair[1].span != pair[0].span:
                yield Alternative("Leave out the first one", (without_line(view, pair[1]),))
        elif "leave out the line" in finding.help and pair:
            yield Alternative("Leave out this line", (without_line(view, pair[0]),))
        elif "eep" in finding.help:  # two readings of one place
            for line, at in zip(pair, (span, first), strict=False):
                yield from _without_reading(view, line, at)
    elif finding.code == "FW104" and said.endswith("` follows.") and "should end, but" in said:
        node = _line_at(view, span)
        yield from _without_values(view, node, span) if node is not None else ()


def _line_at(view: View, span: Span) -> Field | None:
    """The line at a span; None where that is in another file, or no line."""
    path = node_at(view.tree, span.start) if span.path == view.name else None
    return path.node if path is not None and isinstance(path.node, Field) else None


def _without_reading(view: View, line: Field, span: Span) -> Iterator[Alternative]:
    """A line without the reading at a span."""
    groups: list[list[Item]] = [[]]
    for item in line.items:
        if isinstance(item, Mark) and item.text == ",":
            groups.append([])
        else:
            groups[-1].append(item)
    if not all(groups):
        return
    spans = [group[0].span.to(group[-1].span) for group in groups]
    index = next((at for at, one in enumerate(spans) if one.start <= span.start and span.end <= one.end), None)
    if index is None:
        return
    text = view.text.text[spans[index].start : spans[index].end]
    if len(spans) == 1:
        edit = without_line(view, line)
    elif index:
        edit = Edit(Span(span.path, spans[index - 1].end, spans[index].end), "")
    else:
        edit = Edit(Span(span.path, spans[0].start, spans[1].start), "")
    yield Alternative(f"Leave out `{text}`", (edit,))


def _without_values(view: View, line: Field, span: Span) -> Iterator[Alternative]:
    """A line without what follows its end, or with that in place of the value before it."""
    text = view.text.text
    before = [item for item in line.items if item.span.end <= span.start]
    if not before:
        return
    rest = text[span.start : line.span.end]
    yield Alternative(f"Leave out `{rest}`", (Edit(Span(span.path, before[-1].span.end, line.span.end), ""),))
    if isinstance(before[-1], NumberWithUnit):
        first = before[-1].span
        edit = Edit(Span(span.path, first.start, span.start), "")
        yield Alternative(f"Leave out `{text[first.start : first.end]}`", (edit,))
