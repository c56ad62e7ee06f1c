"""Inlay hints and code lenses: the results of a job's plan, next to the lines that they follow from."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from typing import NamedTuple

from flatwise.core.finding import has_errors
from flatwise.core.units import Quantity, feed_unit, show
from flatwise.core.wording import listed
from flatwise.model.stages import FaceName, Plan, Setup
from flatwise.plan.rows import stepover
from flatwise.report.display import duration, leaf_stack, machine_time
from flatwise_grammar.nodes import Block, Field, Name, Span
from flatwise_lsp.workspace.earlier_results import JobOutcome
from flatwise_lsp.workspace.shifted_findings import EditShift
from flatwise_lsp.workspace.tree_search import block_words
from flatwise_lsp.workspace.view import View


class Hint(NamedTuple):
    """A few words at the end of a line, with more in a tooltip."""

    offset: int
    label: str
    tooltip: str


class Lens(NamedTuple):
    """A line above a job; `command` is build, sheet, or "" for text only."""

    offset: int
    title: str
    command: str
    job: str


class JobResults(NamedTuple):
    """The results of a job: a summary above its header, which begins at `head`, and its hints.

    `old` says that the summary is that of an earlier text, since the present one can't be read.
    """

    job: str
    head: int
    summary: str
    hints: tuple[Hint, ...] = ()
    old: bool = False

    @property
    def lenses(self) -> list[Lens]:
        """The summary and the commands of the job."""
        title = f"{self.summary} · before this edit" if self.old else self.summary
        parts = ((title, ""), ("Build", "build"), ("Open the sheet", "sheet"))
        return [Lens(self.head, text, command, self.job) for text, command in parts]

    def shifted(self, shift: EditShift, text: str) -> JobResults | None:
        """The same in a newer text, each hint at the end of its line; None where the header was deleted."""
        head = shift.point(self.head, moves=True)
        moved = ((shift.point(hint.offset), hint) for hint in self.hints)
        hints = tuple(hint._replace(offset=_content_end(text, at)) for at, hint in moved if at is not None)
        return None if head is None else self._replace(head=head, hints=hints)


def _content_end(text: str, offset: int) -> int:
    """Where the line of the language at an offset ends."""
    line = text.rfind("\n", 0, offset) + 1
    found = _CONTENT.match(text, offset)
    end = found.end() if found is not None else offset
    return line + len(text[line:end].rstrip())


_CONTENT = re.compile(r"[^;{}#\r\n]*")


def find_results(view: View, before: Sequence[JobResults] = ()) -> list[JobResults]:
    """The results of every job.

    `before` holds those of the last text, at their present places: they stay while a line is half typed.  A job with
    an error has no summary that would promise a thickness.
    """
    known = {one.head: one for one in before}
    found = []
    for block in view.tree.blocks:
        if block.kind != "job":
            continue
        outcome, old = view.outcome_of(block), known.pop(block.head_span.start, None)
        if outcome is not None:
            found.append(_results(block, outcome, old))
        elif old is not None:
            found.append(old._replace(old=True))
    return [*found, *(one._replace(old=True) for one in known.values())]


def _results(block: Block, outcome: JobOutcome, old: JobResults | None) -> JobResults:
    plan, name, head = outcome.plan, outcome.work.name, block.head_span.start
    errors = sum(finding.severity == "error" for finding in outcome.findings)
    hints = old.hints if old is not None else ()
    if plan is not None:
        hints = tuple(hint for part in block.blocks for hint in _block_hints(part, outcome, plan))
    if errors or plan is None:
        return JobResults(name, head, f"Does not build: {errors} error{'s' * (errors != 1)}", hints)
    return JobResults(name, head, _summary(plan), hints)


def _summary(plan: Plan) -> str:
    unit = _unit(plan)
    count = sum(len(setup.passes) for setup in plan.setups)
    time = duration(machine_time(plan))
    left = f"{show(plan.forecast, unit)} ± {show(plan.plus_minus, unit, 2)} left"
    return f"{left} · {count} pass{'es' * (count != 1)} · {time}"


def _block_hints(block: Block, outcome: JobOutcome, plan: Plan) -> Iterator[Hint]:
    kind = block_words(block)[0]
    for line in block.fields:
        word = line.word.text
        if (kind, word) == ("supports", "shims"):
            yield from _leaf_hints(line, outcome, plan)
        elif kind == "faces" and word in ("first", "second"):
            yield from _face_hints(line, outcome, plan, "first" if word == "first" else "second")
        elif kind == "cut" and word in ("feed", "speed", "stepover"):
            yield from _auto_hints(line, plan)


def _leaf_hints(line: Field, outcome: JobOutcome, plan: Plan) -> Iterator[Hint]:
    """The leaves chosen for the places of one line."""
    if plan.seating is None:
        return
    shims = [shim for shim in plan.seating.shims if not shim.by_hand and _is_on(line, outcome.place(shim.span))]
    if not shims:
        return
    unit = _unit(plan)
    laid = [f"{shim.place} {leaf_stack(plan.work, shim.leaves)}" for shim in shims if shim.leaves]
    gaps = [f"{show(shim.gap_left, unit)} at {shim.place}" for shim in shims if shim.gap_left > 0.0005]
    supports = plan.work.job.supports
    aim = f"Aim: {supports.aim.replace('_', ' ')}. " if supports is not None else ""
    most = f"In this pose at most {show(plan.seating.most_thickness, unit)} can be left. "
    gap = f"A feeler gauge will still find {listed(gaps, 'and')}." if gaps else "No gap remains at these places."
    yield Hint(line.span.end, "; ".join(laid) if laid else "no leaves needed", aim + most + gap)


def _is_on(line: Field, span: Span | None) -> bool:
    return span is not None and span.path == line.span.path and line.span.start <= span.start <= line.span.end


def _unit(plan: Plan) -> str:
    """The unit in which the panel's thickness is written."""
    thickness = plan.work.job.stock.size.thickness
    return thickness.unit if isinstance(thickness, Quantity) else "mm"


def _face_hints(line: Field, outcome: JobOutcome, plan: Plan, face: FaceName) -> Iterator[Hint]:
    setup = next((one for one in plan.setups if one.face == face), None)
    if setup is None:
        return
    unit = _unit(plan)
    parts = [passes_text(setup, unit), f"removes {_removal_text(setup, unit)}", duration(setup.time)]
    if setup is plan.setups[-1] and not plan.work.job.stock.is_bed and not has_errors(outcome.findings):
        parts.append(f"leaves {show(plan.forecast, unit)} ± {show(plan.plus_minus, unit, 2)}")
    tooltip = "\n".join(
        f"pass {number}: plane {show(one.plane, unit)} above the bed, bite {show(one.depth, unit)}"
        + (", finish" if one.finish else "")
        + f", {duration(one.time)}"
        for number, one in enumerate(setup.passes, 1)
    )
    yield Hint(line.span.end, ", ".join(parts), tooltip)


def passes_text(setup: Setup, unit: str) -> str:
    """The passes of a setup in short: `3 passes: 0.4 + 0.5 + 0.2mm`."""
    bites = [show(one.depth, unit).removesuffix(unit) for one in setup.passes]
    if not bites:
        return "no pass"
    return f"{len(bites)} pass{'es' * (len(bites) > 1)}: {' + '.join(bites)}{unit}"


def _removal_text(setup: Setup, unit: str) -> str:
    least, most = show(setup.removed_least, unit, 3), show(setup.removed_most, unit, 3)
    return f"{least} to {most}" if least != most else most


def _auto_hints(line: Field, plan: Plan) -> Iterator[Hint]:
    """The feed, speed or stepover that was chosen for each face, where the line says `auto`."""
    item = line.items[0] if len(line.items) == 1 else None
    if not isinstance(item, Name) or item.text != "auto" or not plan.setups:
        return
    if line.word.text == "stepover":
        shares = [stepover(plan.work, rough=rough) / float(plan.work.cutter.diameter) for rough in (True, False)]
        chosen = ["at most {:.0%} in rough passes, {:.0%} in the last".format(*shares)] * len(plan.setups)
    elif line.word.text == "speed":
        chosen = [f"{setup.speed:.0f}rpm" for setup in plan.setups]
    else:
        rate = feed_unit(plan.work.job.stock.size.thickness)
        chosen = [f"{show(setup.feed, rate)}, limited by {setup.feed_limit.replace('_', ' ')}" for setup in plan.setups]
    by_face = "; ".join(f"{setup.face} {text}" for setup, text in zip(plan.setups, chosen, strict=True))
    yield Hint(line.span.end, chosen[0] if len(set(chosen)) == 1 else by_face, "Calculated from the limits of the job.")
