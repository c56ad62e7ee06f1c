"""Code actions: the compiler's own fixes, and changes that need the model: a missing line, a waiver, a clear place for
a holder, a line that saves machine time.
"""

from __future__ import annotations

import time
from collections import Counter
from collections.abc import Iterator
from typing import NamedTuple

from flatwise.core.finding import Edit, Finding, Findings
from flatwise.core.fixes import edited
from flatwise.fixed_texts import fixed_texts
from flatwise.model.built import Choice
from flatwise.model.stages import Work
from flatwise.report.display import duration
from flatwise.report.other_choices import WORDS
from flatwise_grammar.nodes import Block, Field, Span
from flatwise_lsp.features.alternatives import find_alternatives
from flatwise_lsp.features.formatting import changed_lines
from flatwise_lsp.features.line_edits import insert_line
from flatwise_lsp.workspace.tree_search import contains
from flatwise_lsp.workspace.view import View

#: findings that another place of a holder may resolve
HOLDER_CODES = ("FW304", "FW501", "FW502", "FW503")
#: for so long (s) the changes of one request are tried out before they are offered; later ones are offered untried
TRYING = 1.0


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
    alike = _alike(view, view.analysis.findings)
    until = time.monotonic() + TRYING
    for finding in view.analysis.findings:
        span = finding.span
        if span is None or view.analysis.meaning.file(span.path) != view.path or span.start > end or span.end < start:
            continue
        codes[finding.code] = None
        for action in _actions_for(view, finding, span, alike):
            key = (action.title, action.edits, action.holder)
            if key not in found and (time.monotonic() > until or _can_help(view, action)):
                found[key] = action
    explained = (Action(f"Explain {code}", None, explain=code) for code in codes)
    return [*found.values(), *_other_choices(view, start, end), *explained]


def _actions_for(
    view: View, finding: Finding, span: Span, alike: dict[tuple[str, str], tuple[Edit, ...]]
) -> Iterator[Action]:
    """What can be done about one finding.

    `alike` are the edits of all fixes of a code and title; what is taken from it is offered once.
    """
    if finding.fix is not None:
        yield Action(finding.fix.title, finding, finding.fix.edits, certain=True)
        edits = alike.pop((finding.code, finding.fix.title), ())
        if len(edits) > len(finding.fix.edits):
            yield Action(f"{finding.fix.title} in all {len(edits)} places", finding, edits)
    else:
        for title, edits in find_alternatives(view, finding, span):
            yield Action(title, finding, edits)
    yield from _waivers(view, finding, span)
    yield from _holder_moves(view, finding, span)


def _alike(view: View, findings: Findings) -> dict[tuple[str, str], tuple[Edit, ...]]:
    """The edits in a document of the fixes that resolve findings in the same way, by their code and title."""
    found: dict[tuple[str, str], dict[Edit, None]] = {}
    for one in findings:
        if one.fix is not None:
            edits = found.setdefault((one.code, one.fix.title), {})
            edits.update((edit, None) for edit in one.fix.edits if edit.span.path == view.name)
    return {key: tuple(edits) for key, edits in found.items()}


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


# -- what can help


def _can_help(view: View, action: Action) -> bool:
    """Whether a change resolves its finding, as far as reading the text can tell; plans are not worked out for this."""
    finding, analysis = action.finding, view.analysis
    if finding is None or analysis is None or not action.edits or finding.code >= "FW2":
        return True
    if any(edit.span.path != view.name for edit in action.edits):
        return True
    from flatwise.pipeline import read_works

    overlay = {**analysis.texts, view.path: edited(view.text.text, action.edits)}
    after = read_works([view.path], overlay).findings
    return _count(after, action) < _count(analysis.findings, action)


def _count(findings: Findings, action: Action) -> int:
    """The findings like that of an action: the same, or where the change is one of several, any of its code."""
    like = action.finding
    return sum(
        like is not None and one.code == like.code and (one.message == like.message or not action.certain)
        for one in findings
    )


def fix_all(view: View) -> tuple[Edit, ...]:
    """All safe fixes of a document, as `flatwise check --fix` applies them, as edits of whole lines."""
    if view.too_long:
        return ()
    overlay = dict(view.analysis.texts) if view.analysis is not None else {}
    text = view.text.text
    fixed = fixed_texts([view.path], {**overlay, view.path: text}, {view.path}).texts
    lines = [changed_lines(view.text, new, 0, len(view.text.starts)) for new in fixed.values()]
    return tuple(Edit(Span(view.name, one.start, one.end), one.text) for each in lines for one in each)


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
    if finding.code not in HOLDER_CODES or view.analysis is None or "does not help" in finding.help:
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
        moved = holder._replace(along=along, x0=holder.x0 + by, x1=holder.x1 + by)
    else:
        moved = holder._replace(along=along, y0=holder.y0 + by, y1=holder.y1 + by)
    return work._replace(holders=(*work.holders[:index], moved, *work.holders[index + 1 :]))


def _count_errors(work: Work) -> Counter[str]:
    """The number of errors by code."""
    from flatwise.pipeline import work_out

    return Counter(finding.code for finding in work_out(work)[1] if finding.severity == "error")
