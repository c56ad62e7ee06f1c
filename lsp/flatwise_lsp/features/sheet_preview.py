"""What the preview of a job or batch shows: its sheet, or the errors that it has."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from flatwise.core.finding import Finding
from flatwise.model.built import Built, BuiltBatch
from flatwise.pipeline import of_panels
from flatwise_lsp.workspace.analysis import Analysis
from flatwise_lsp.workspace.earlier_results import JobOutcome
from flatwise_lsp.workspace.tree_search import contains, owner_of
from flatwise_lsp.workspace.view import View

#: the most errors that a preview lists
MOST_ERRORS = 5


class SheetPreview(NamedTuple):
    """A job or batch without programs, if it could be planned; its errors, and what the preview says of them."""

    built: Built | BuiltBatch | None
    said: str = ""
    errors: Sequence[str] = ()

    def same_sheet(self, other: SheetPreview | None) -> bool:
        """Whether the sheet is certainly the same; plans are kept from check to check."""
        if other is None or self.built is None or other.built is None:
            return False
        return self.built.plan is other.built.plan and _said(self.built) == _said(other.built)


def _said(built: Built | BuiltBatch) -> list[tuple[str, str]]:
    """What a sheet says of the findings: their places are not on it."""
    return [(one.code, one.message) for one in built.findings]


def find_name(view: View, offset: int) -> str:
    """The job or batch at an offset, "" where there is none."""
    for block in view.tree.blocks:
        name = owner_of(block)
        if block.kind in ("job", "batch") and name is not None and contains(block.span, offset):
            return name.text
    return ""


def find_preview(analysis: Analysis, name: str) -> SheetPreview:
    """What the preview of a job or batch of an analysed file shows."""
    if name not in analysis.jobs:
        gone = f"The file no longer declares {name}."
        return SheetPreview(None, gone, [f"Declare {name} again, or open another preview."])
    built = _built(analysis, name)
    errors = _errors(analysis, name, built)
    if not errors:
        return SheetPreview(built)
    count = f"{len(errors)} error{'s' * (len(errors) != 1)}"
    lines = [_line(analysis, error) for error in errors[:MOST_ERRORS]]
    return SheetPreview(built, f"{name} does not build: {count}. A grey sheet is that of an earlier text.", lines)


def _built(analysis: Analysis, name: str) -> Built | BuiltBatch | None:
    """The job or batch as it was worked out, without programs and proofs; None without a plan."""
    batch, job = analysis.batches.get(name), analysis.outcomes.get(name)
    if batch is not None and batch.plan is not None:
        panels = tuple(_panel(analysis.outcomes[work.name]) for work in batch.batch.works)
        findings = of_panels(batch.batch, [panel.findings for panel in panels]) + batch.findings
        return BuiltBatch(batch.plan, {}, panels, findings)
    return _panel(job) if batch is None and job is not None and job.plan is not None else None


def _panel(job: JobOutcome) -> Built:
    return Built(job.plan, {}, {}, job.findings, job.waived)


def _errors(analysis: Analysis, name: str, built: Built | BuiltBatch | None) -> list[Finding]:
    """The errors of a job or batch; if it could not be read for an error elsewhere, all errors."""
    block = analysis.jobs[name].block.span
    found = [one for one in analysis.findings if one.severity == "error"]
    inside = [
        one
        for one in found
        if one.span is not None and one.span.path == block.path and block.start <= one.span.start < block.end
    ]
    if built is None:
        return inside or found
    return list(dict.fromkeys([*inside, *(one for one in built.findings if one.severity == "error")]))


def _line(analysis: Analysis, finding: Finding) -> str:
    """An error in one line: its code, its place, what is wrong and what to do."""
    place, span = "", finding.span
    if span is not None:
        number = analysis.meaning.linked.loaded.texts.get(span.path, "").count("\n", 0, span.start) + 1
        own = span.path == analysis.meaning.name(analysis.entry)
        place = f", line {number}" if own else f", {span.path} line {number}"
    return f"{finding.code}{place}: {finding.message} {finding.help}".rstrip()
