"""Code actions: the compiler's own fixes, and changes that need the model: a missing line, a waiver, a clear place for
a holder, a line that saves machine time.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import replace
from typing import NamedTuple

from flatwise.core.finding import Edit, Finding
from flatwise.language.phrase_shape import Measure
from flatwise.model.built import Choice
from flatwise.model.stages import Work
from flatwise.report.display import duration
from flatwise.report.other_choices import WORDS
from flatwise_grammar.nodes import Block, Field, Span
from flatwise_lsp.features.snippets import example_line
from flatwise_lsp.workspace.phrase_trace import expected
from flatwise_lsp.workspace.tree_search import block_words, contains, model_of_blocks, node_at
from flatwise_lsp.workspace.view import View

#: findings that another place of a holder may resolve
HOLDER_CODES = ("FW304", "FW501", "FW502", "FW503")


class Action(NamedTuple):
    """Something an editor can offer.

    `edits` change files; `certain` marks a fix that may be applied without asking; `explain` is a code whose page is
    opened; `holder` is where a holder is written whose clear place is searched for only when the action is chosen.
    """

    title: str
    finding: Finding | None
    edits: tuple[Edit, ...] = ()
    certain: bool = False
    explain: str = ""
    holder: Span | None = None


def find_actions(view: View, start: int, end: int) -> list[Action]:
    """What can be done about the findings of a document between two offsets, and what would save machine time there."""
    if view.analysis is None:
        return []
    found: dict[tuple[object, ...], Action] = {}
    codes: dict[str, None] = {}
    for finding in view.analysis.findings:
        span = finding.span
        if span is None or view.analysis.meaning.file(span.path) != view.path or span.start > end or span.end < start:
            continue
        codes[finding.code] = None
        for action in _actions_for(view, finding, span):
            found.setdefault((action.title, action.edits, action.holder), action)
    explained = (Action(f"Explain {code}", None, explain=code) for code in codes)
    return [*found.values(), *_other_choices(view, start, end), *explained]


def _actions_for(view: View, finding: Finding, span: Span) -> Iterator[Action]:
    if finding.fix is not None:
        yield Action(finding.fix.title, finding, finding.fix.edits, certain=True)
    else:
        yield from _alternatives(view, finding, span)
        yield from _missing_lines(view, finding, span)
    yield from _waivers(view, finding, span)
    yield from _holder_moves(view, finding, span)


# -- other choices


def _other_choices(view: View, start: int, end: int) -> Iterator[Action]:
    """The lines that would save machine time, at those that they replace; for lines of a recipe at the job's header."""
    for job in view.tree.blocks:
        outcome = view.outcome_of(job)
        if outcome is None or job.span.start > end or job.span.end < start:
            continue
        cut = next((block for block in job.blocks if block.kind == "cut"), None)
        lines = {line.word.text: line for line in cut.fields} if cut is not None else {}
        for word in WORDS:
            line = lines.get(word)
            at = line.span if line is not None else job.head_span
            if at.start <= end and start <= at.end:
                for choice in outcome.choices(word):
                    title = f"Write `{choice.line}` (saves {duration(choice.saves)})"
                    yield Action(title, None, (_written_choice(view, job, cut, line, choice),))


def _written_choice(view: View, job: Block, cut: Block | None, line: Field | None, choice: Choice) -> Edit:
    """Replace what a line says; a recipe's line is replaced by one in the job's own `cut` block."""
    if line is not None and line.items:
        return Edit(Span(line.span.path, line.items[0].span.start, line.span.end), choice.line.partition(" ")[2])
    if cut is not None:
        return insert_line(view, cut, choice.line)
    last = max(job.fields, key=lambda each: each.span.end, default=None)
    return insert_line(view, job, f"cut {{ {choice.line} }}", last)


# -- alternatives


def _alternatives(view: View, finding: Finding, span: Span) -> Iterator[Action]:
    """Where the compiler knows several corrections and can't tell which is meant: each of them, none certain."""
    written = view.text.text[span.start : span.end]
    if finding.code == "FW002":
        yield _closing_brace(view, finding, span)
    elif finding.help.startswith("Did you mean"):
        for word in re.findall(r"`([^`]+)`", finding.help):
            yield Action(f"Write `{word}`", finding, (Edit(span, word),))
    elif re.fullmatch(r"-?[0-9./ ]+", written):
        for unit in _missing_units(view, span):
            yield Action(f"Write `{written}{unit}`", finding, (Edit(span, f"{written}{unit}"),))


def _closing_brace(view: View, finding: Finding, span: Span) -> Action:
    """A brace at the end of the open block, aligned with its header."""
    opened = finding.related[0].span.start if finding.related else span.start
    end = view.text.line_end(view.text.line_of(span.end))
    return Action(
        "Close the block here", finding, (Edit(Span(span.path, end, end), f"\n{_indent_at(view, opened)}}}"),)
    )


def _missing_units(view: View, span: Span) -> tuple[str, ...]:
    """The likely units of a bare number."""
    path = node_at(view.tree, span.start)
    if path is None or not isinstance(path.node, Field) or path.shape is None:
        return ()
    before = tuple(item for item in path.node.items if item.span.end <= span.start)
    measure = next((want for want in expected(path.shape, before) if isinstance(want, Measure)), None)
    return measure.likely_units(view.text.text[span.start : span.end]) if measure is not None else ()


# -- missing lines


def _missing_lines(view: View, finding: Finding, span: Span) -> Iterator[Action]:
    """The examples of missing lines; not certain, since only the shop knows the values."""
    path = node_at(view.tree, span.start) if finding.code == "FW105" else None
    made = model_of_blocks(path.open_blocks) if path is not None else None
    if path is None or made is None:
        return
    block = path.open_blocks[-1]
    written = {part.word.text if isinstance(part, Field) else block_words(part)[0] for part in block.body}
    for word in made.required():
        if word not in written and f"`{word}`" in finding.message:
            line = example_line(made, word)
            yield Action(
                f"Add `{line}` (an example: put in your own value)", finding, (insert_line(view, block, line),)
            )


def insert_line(view: View, block: Block, line: str, behind: Field | None = None) -> Edit:
    """Insert a line into a block: behind one of its lines, else as its first."""
    text, path = view.text, block.span.path
    if behind is not None:
        start = behind.span.end
        end = text.line_end(text.line_of(start))
        rest = text.text[start:end].strip()
        if rest and not rest.startswith("#"):
            return Edit(Span(path, start, start), f"; {line}")
        return Edit(Span(path, end, end), f"\n{_indent_at(view, behind.span.start)}{line}")
    brace = text.text.find("{", block.head_span.end, block.span.end) + 1
    if not brace:  # the header has something else in its place
        end = text.line_end(text.line_of(block.head_span.end))
        return Edit(Span(path, end, end), f"\n{_indent_at(view, block.head_span.end)}    {line}")
    if text.line_of(block.head_span.start) == text.line_of(block.span.end):
        return Edit(Span(path, brace, brace), f" {line};" if block.body else f" {line}")
    return Edit(Span(path, brace, brace), f"\n{_indent_at(view, block.head_span.start)}    {line}")


def _indent_at(view: View, offset: int) -> str:
    """The blanks at the start of the line at an offset."""
    line = view.text.line(view.text.line_of(offset))
    return line[: len(line) - len(line.lstrip(" \t"))]


# -- waivers


def _waivers(view: View, finding: Finding, span: Span) -> Iterator[Action]:
    """A waiver with an empty reason, which the compiler then asks for: no rule is waived by one click."""
    if not finding.rule or finding.severity != "error":
        return
    for block in view.tree.blocks:
        if block.kind == "job" and contains(block.span, span.start):
            lines = [part for part in block.fields if part.word.text in ("machine", "standard", "waive")]
            last = max(lines, key=lambda part: part.span.start, default=None)
            edit = insert_line(view, block, f'waive {finding.rule} because ""', last)
            yield Action(f"Waive {finding.rule} for this job, with a reason", finding, (edit,))


# -- clear places for holders


def _holder_moves(view: View, finding: Finding, span: Span) -> Iterator[Action]:
    if finding.code not in HOLDER_CODES or view.analysis is None:
        return
    for outcome in view.analysis.outcomes.values():
        for holder in outcome.work.holders:
            at = outcome.place(holder.span)
            if at is not None and at.path == span.path and at.start <= span.end and span.start <= at.end:
                named = f"{holder.kind} `{holder.name}` on the {holder.edge} edge"
                yield Action(f"Move the {named} at {holder.at} to the nearest clear place", finding, holder=at)


def resolve_move(view: View, code: str, at: int) -> tuple[Edit, ...]:
    """The edit that moves the holder written at an offset to where it has fewer findings of `code`.

    Each whole per cent of its edge is tried, the nearest first, by working the job out, until there are fewer of
    these findings and no more of any other.  Empty where no place is better, or the text has changed.
    """
    if view.analysis is None:
        return ()
    for outcome in view.analysis.outcomes.values():
        for index, holder in enumerate(outcome.work.holders):
            place = outcome.place(holder.span)
            if place is not None and place.start == at and view.analysis.meaning.file(place.path) == view.path:
                share = _clear_share(outcome.work, index, code)
                return (Edit(place, f"{share}%"),) if share is not None else ()
    return ()


def _clear_share(work: Work, index: int, code: str) -> int | None:
    """The nearest better position of a holder, as a percentage of its edge."""
    holder = work.holders[index]
    edge = work.width if holder.edge in ("left", "right") else work.length
    before = _count_errors(work)
    now = round(100 * holder.along / edge)
    for share in sorted(range(2, 99), key=lambda share: (abs(share - now), share)):
        if share == now:
            continue
        after = _count_errors(_with_moved_holder(work, index, share / 100 * edge))
        if after[code] < before[code] and after <= before:
            return share
    return None


def _with_moved_holder(work: Work, index: int, along: float) -> Work:
    holder = work.holders[index]
    by = along - holder.along
    if holder.edge in ("front", "back"):
        moved = replace(holder, along=along, x0=holder.x0 + by, x1=holder.x1 + by)
    else:
        moved = replace(holder, along=along, y0=holder.y0 + by, y1=holder.y1 + by)
    return replace(work, holders=(*work.holders[:index], moved, *work.holders[index + 1 :]))


def _count_errors(work: Work) -> Counter[str]:
    """The number of errors by code."""
    from flatwise.pipeline import work_out

    return Counter(finding.code for finding in work_out(work)[1] if finding.severity == "error")
