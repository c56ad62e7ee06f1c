"""Code actions: the compiler's own fixes, and what needs a look at the model: a missing line, a waiver, a place
where a clamp stands clear.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from flatwise.core.finding import Edit, Finding
from flatwise.language.items import likely_units
from flatwise.language.phrase_shape import Measure, block_shape
from flatwise.model.stages import Holder, Work
from flatwise.model.words import ModelBlock
from flatwise_grammar.nodes import Block, Field, NumberWithUnit, Span
from flatwise_lsp.features.phrases import wanted
from flatwise_lsp.features.word_pages import block_of, least
from flatwise_lsp.workspace.analysis import Outcome
from flatwise_lsp.workspace.view import View, block_words, inside, model_of_blocks, spot_at, walk

#: findings that another place of a holder may mend
CROWDED = ("FW304", "FW501", "FW502", "FW503")


class Action(NamedTuple):
    """Something an editor can offer.

    `edits` change files; `explain` is a code whose page is to be opened; `certain` marks a fix that may be applied
    unasked; `search` a holder whose clear place is worked out only when the action is chosen.
    """

    title: str
    finding: Finding | None
    edits: tuple[Edit, ...] = ()
    certain: bool = False
    explain: str = ""
    search: Span | None = None


def actions(view: View, start: int, end: int) -> list[Action]:
    """What can be done about the findings of a document between two offsets."""
    if view.analysis is None:
        return []
    found: list[Action] = []
    codes: dict[str, None] = {}
    for finding in view.analysis.findings:
        span = finding.span
        if span is None or view.analysis.meaning.file(span.path) != view.path:
            continue
        if span.start > end or span.end < start:
            continue
        codes[finding.code] = None
        if finding.fix is not None:
            found.append(Action(finding.fix.title, finding, finding.fix.edits, certain=True))
        else:
            found.extend(_alternatives(view, finding))
        found.extend(_missing(view, finding))
        found.extend(_waiver(view, finding))
        found.extend(_move(view, finding))
    found = list({(action.title, action.edits, action.search): action for action in reversed(found)}.values())[::-1]
    found.extend(Action(f"explain {code}", None, explain=code) for code in codes)
    return found


# -- one of several ---------------------------------------------------------------------------------------------------


def _alternatives(view: View, finding: Finding) -> Iterator[Action]:
    """Where the compiler knows a few ways out and can't tell which is meant: each for itself, none certain."""
    span = finding.span
    assert span is not None
    written = view.text.text[span.start : span.end]
    if finding.code == "FW002":
        yield _closing(view, finding, span)
    elif finding.help.startswith("Did you mean"):
        for word in re.findall(r"`([^`]+)`", finding.help):
            yield Action(f"Write `{word}`", finding, (Edit(span, word),))
    elif re.fullmatch(r"-?[0-9./ ]+", written):
        for unit in _units_due(view, span):
            yield Action(f"Write `{written}{unit}`", finding, (Edit(span, f"{written}{unit}"),))


def _closing(view: View, finding: Finding, span: Span) -> Action:
    """A brace where the open block ends, under its header."""
    opened = finding.related[0].span.start if finding.related else span.start
    indent = _indent(view.text.line(view.text.line_of(opened)))
    end = view.text.line_end(view.text.line_of(span.end))
    return Action("close the block here", finding, (Edit(Span(span.path, end, end), f"\n{indent}}}"),))


def _units_due(view: View, span: Span) -> tuple[str, ...]:
    """The likely units of a bare number."""
    spot = spot_at(view.tree, span.start)
    if spot is None or not isinstance(spot.node, Field) or spot.shape is None:
        return ()
    before = tuple(item for item in spot.node.items if item.span.end <= span.start)
    measures = [want for want in wanted(spot.shape, before) if isinstance(want, Measure)]
    return likely_units(measures[0], view.text.text[span.start : span.end]) if measures else ()


# -- a line that is missing ------------------------------------------------------------------------------------------


def _missing(view: View, finding: Finding) -> Iterator[Action]:
    """The missing line with its example: not certain, since only the shop knows the number."""
    if finding.code != "FW105" or finding.span is None or finding.fix is not None:
        return
    spot = spot_at(view.tree, finding.span.start)
    if spot is None:
        return
    block = spot.inner[-1]
    made = model_of_blocks(spot.inner)
    if made is None:
        return
    written = {part.word.text if isinstance(part, Field) else block_words(part)[0] for part in block.body}
    for word in made.required:
        if word not in written and f"`{word}`" in finding.message:
            line = _line(made, word)
            yield Action(f"Add `{line}` (an example: put your own value)", finding, (insertion(view, block, line),))


def _line(made: type[ModelBlock], word: str) -> str:
    shape = block_shape(made)
    if word in shape.words:
        return f"{word} {shape.words[word].example}"
    head, inner = block_of(shape, word)
    lines = "; ".join(f"{one.word} {one.example}" for one in least(inner))
    return f"{head} {{ {lines} }}"


def insertion(view: View, block: Block, line: str, behind: Field | None = None) -> Edit:
    """A line put into a block: behind a line of it, else as its first."""
    text = view.text
    if behind is not None:
        number = text.line_of(behind.span.end)
        end = text.line_end(number)
        rest = text.text[behind.span.end : end].strip()
        if rest and not rest.startswith("#"):
            return Edit(Span(behind.span.path, behind.span.end, behind.span.end), f"; {line}")
        indent = _indent(text.line(text.line_of(behind.span.start)))
        return Edit(Span(behind.span.path, end, end), f"\n{indent}{line}")
    brace = text.text.find("{", block.head_span.end, block.span.end) + 1
    if not brace:  # something else stands where it should be
        number = text.line_of(block.head_span.end)
        end = text.line_end(number)
        return Edit(Span(block.span.path, end, end), f"\n{_indent(text.line(number))}    {line}")
    one_line = text.line_of(block.head_span.start) == text.line_of(block.span.end)
    at = Span(block.span.path, brace, brace)
    if one_line:
        return Edit(at, f" {line};" if block.body else f" {line}")
    return Edit(at, f"\n{_indent(text.line(text.line_of(block.head_span.start)))}    {line}")


def _indent(line: str) -> str:
    found = re.match(r"[ \t]*", line)
    return found.group() if found else ""


# -- a waiver --------------------------------------------------------------------------------------------------------


def _waiver(view: View, finding: Finding) -> Iterator[Action]:
    """A waiver without its reason: the compiler asks for it, so that nobody waives a rule by a click."""
    if not finding.rule or finding.severity != "error" or finding.span is None:
        return
    for block in view.tree.blocks:
        if block.kind == "job" and inside(block.span, finding.span.start):
            lines = [part for part in block.fields if part.word.text in ("machine", "standard", "waive")]
            line = f'waive {finding.rule} because ""'
            edit = insertion(view, block, line, max(lines, key=lambda part: part.span.start, default=None))
            yield Action(f"waive {finding.rule} for this job, and say why", finding, (edit,))


# -- a clear place for a holder --------------------------------------------------------------------------------------


def _move(view: View, finding: Finding) -> Iterator[Action]:
    if finding.code not in CROWDED or finding.span is None or view.analysis is None:
        return
    for outcome in view.analysis.outcomes.values():
        for holder in outcome.work.holders:
            if _same_line(view, holder, finding.span):
                named = f"{holder.kind} `{holder.name}` on the {holder.edge} edge"
                yield Action(f"move the {named} at {holder.at} to the nearest clear place", finding, search=holder.span)


def _same_line(view: View, holder: Holder, span: Span) -> bool:
    return holder.span.path == span.path and holder.span.start <= span.end and span.start <= holder.span.end


def resolved(view: View, code: str, at: int) -> tuple[Edit, ...]:
    """The edit of an action that was put off: the holder that is written at `at`, for a finding of `code`.

    Every whole per cent of its edge is tried, the nearest first, by working the job out, until one has less of
    this finding and no more of any other.  Nothing where there is none, or the text has changed since.
    """
    if view.analysis is None:
        return ()
    for outcome in view.analysis.outcomes.values():
        for index, holder in enumerate(outcome.work.holders):
            if holder.span.start == at and view.analysis.meaning.file(holder.span.path) == view.path:
                return _search(view, outcome, index, code)
    return ()


def _search(view: View, outcome: Outcome, index: int, code: str) -> tuple[Edit, ...]:
    work = outcome.work
    holder = work.holders[index]
    edge = work.width if holder.edge in ("left", "right") else work.length
    item = _written(view, holder)
    if item is None:
        return ()
    before = _errors(work)
    now = round(100 * holder.along / edge)
    for share in sorted(range(2, 99), key=lambda share: (abs(share - now), share)):
        if share == now:
            continue
        moved = _moved(work, index, share / 100 * edge)
        after = _errors(moved)
        if after.get(code, 0) < before.get(code, 0) and all(after[one] <= before.get(one, 0) for one in after):
            return (Edit(item, f"{share}%"),)
    return ()


def _written(view: View, holder: Holder) -> Span | None:
    """Where the position of a holder is written."""
    for spot in walk(view.tree.blocks):
        if isinstance(spot.node, Field) and spot.node.span.start <= holder.span.start <= spot.node.span.end:
            for item in spot.node.items:
                if isinstance(item, NumberWithUnit) and f"{item.number}{item.unit}" == holder.at.replace(" ", ""):
                    return item.span
    return None


def _moved(work: Work, index: int, along: float) -> Work:
    holder = work.holders[index]
    by = along - holder.along
    if holder.edge in ("front", "back"):
        moved = replace(holder, along=along, x0=holder.x0 + by, x1=holder.x1 + by)
    else:
        moved = replace(holder, along=along, y0=holder.y0 + by, y1=holder.y1 + by)
    return replace(work, holders=(*work.holders[:index], moved, *work.holders[index + 1 :]))


def _errors(work: Work) -> dict[str, int]:
    """How many errors of each code a job has."""
    from flatwise.pipeline import work_out

    count: dict[str, int] = {}
    for finding in work_out(work)[1]:
        if finding.severity == "error":
            count[finding.code] = count.get(finding.code, 0) + 1
    return count
