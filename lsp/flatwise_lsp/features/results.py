"""The results of jobs and batches as an editor shows them: a summary above each, its commands, and its hints."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from flatwise.core.finding import Findings
from flatwise.report.display import duration, machine_time
from flatwise_grammar.nodes import Block
from flatwise_lsp.features.batch_hints import batch_hints
from flatwise_lsp.features.plan_hints import Hint, job_hints, thickness
from flatwise_lsp.workspace.earlier_results import BatchOutcome, JobOutcome
from flatwise_lsp.workspace.shifted_findings import EditShift
from flatwise_lsp.workspace.view import View


class Lens(NamedTuple):
    """A line above a job or batch; `command` is build, preview, sheet, or "" for text only."""

    offset: int
    title: str
    command: str
    job: str


class Results(NamedTuple):
    """The results of a job or batch: a summary above its header, which begins at `head`, and its hints.

    `old` says that the summary is that of an earlier text, since the present one can't be read.
    """

    name: str
    head: int
    summary: str
    hints: tuple[Hint, ...] = ()
    old: bool = False

    @property
    def lenses(self) -> list[Lens]:
        """The summary and the commands."""
        title = f"{self.summary} · before this edit" if self.old else self.summary
        parts = ((title, ""), ("Build", "build"), ("Preview", "preview"), ("Open the sheet", "sheet"))
        return [Lens(self.head, text, command, self.name) for text, command in parts]

    def shifted(self, shift: EditShift, text: str) -> Results | None:
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


def find_results(view: View, before: Sequence[Results] = ()) -> list[Results]:
    """The results of every job and batch.

    `before` holds those of the last text, at their present places: they stay while a line is half typed.  What has an
    error has no summary that would promise a thickness or a time.
    """
    known = {one.head: one for one in before}
    found = []
    for block in view.tree.blocks:
        old = known.pop(block.head_span.start, None)
        job, batch = view.outcome_of(block), view.batch_of(block)
        if job is not None:
            found.append(_shown(block, job.work.name, job_summary(job), job_hints(block, job), old))
        elif batch is not None:
            summary = batch_summary(view, batch)
            found.append(_shown(block, batch.batch.name, summary, batch_hints(block, batch), old))
        elif old is not None:
            found.append(old._replace(old=True))
    return [*found, *(one._replace(old=True) for one in known.values())]


def _shown(block: Block, name: str, summary: str, hints: Iterable[Hint] | None, old: Results | None) -> Results:
    """The results of a block; without a plan its hints stay what they were."""
    kept = old.hints if old is not None else ()
    return Results(name, block.head_span.start, summary, kept if hints is None else tuple(hints))


def job_summary(outcome: JobOutcome) -> str:
    """The result of a job in a line."""
    plan = outcome.plan
    if plan is None or _errors(outcome.findings):
        return _no_build(outcome.findings)
    count = sum(len(setup.passes) for setup in plan.setups)
    return f"{thickness(plan)} · {count} pass{'es' * (count != 1)} · {duration(machine_time(plan))}"


def batch_summary(view: View, outcome: BatchOutcome) -> str:
    """The result of a batch in a line; the errors of its jobs are its own."""
    jobs = view.analysis.outcomes if view.analysis is not None else {}
    findings = outcome.findings
    for work in outcome.batch.works:
        findings += jobs[work.name].findings if work.name in jobs else ()
    plan = outcome.plan
    if plan is None or _errors(findings):
        return _no_build(findings)
    faces = "both faces" if len(plan.faces) > 1 else f"{plan.faces[0].face} face" if plan.faces else "nothing to cut"
    panels = f"{len(plan.plans)} panel{'s' * (len(plan.plans) != 1)}"
    return f"{panels} · {faces} · {duration(machine_time(plan))}"


def _errors(findings: Findings) -> int:
    return sum(finding.severity == "error" for finding in findings)


def _no_build(findings: Findings) -> str:
    errors = _errors(findings)
    return f"Does not build: {errors} error{'s' * (errors != 1)}"
