"""Results of earlier checks that still hold, so that an edit reads and works out only what it touches."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Collection
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NamedTuple

from flatwise.core.finding import Findings, has_errors
from flatwise.language.link import Declaration, Linked
from flatwise.model.bed import BatchPlan, BatchWork
from flatwise.model.built import Choice, Waived
from flatwise.model.stages import Plan, Work
from flatwise_grammar.nodes import Span
from flatwise_lsp.workspace.file_jobs import FileJobs
from flatwise_lsp.workspace.job_plans import JobPlans
from flatwise_lsp.workspace.shifted_findings import BlockShift, shift_finding

#: the number of sound declarations that are remembered before all are dropped
MOST_SOUND = 5000


@dataclass(frozen=True)
class JobOutcome:
    """A job that was worked out, now or in an earlier check.

    `findings` have their places in the present text; `work` and `plan` have theirs in the text in which the job was
    worked out, and `place` converts them.
    """

    work: Work
    plan: Plan | None
    findings: Findings
    waived: tuple[Waived, ...]
    shift: BlockShift | None = None
    #: the other choices for each word of `cut` that was asked about, shared with the outcomes in newer texts
    asked: dict[str, tuple[Choice, ...]] = field(default_factory=dict, compare=False)

    @property
    def has_choices(self) -> bool:
        """Whether other lines of `cut` can be compared with it: a job with errors has none."""
        return self.plan is not None and not has_errors(self.findings)

    def choices(self, word: str) -> tuple[Choice, ...]:
        """The lines for a word of `cut` that would save machine time.  The first time takes as long as a few plans."""
        if self.plan is None or not self.has_choices:
            return ()
        if word not in self.asked:
            from flatwise.report.other_choices import other_choices

            self.asked[word] = other_choices(self.plan, (word,))
        return self.asked[word]

    def place(self, span: Span) -> Span | None:
        """The present place of a span of `work` or `plan`; None where there is none."""
        return span if self.shift is None or span.path != self.work.path else self.shift.span(span)

    def shifted(self, shift: BlockShift) -> JobOutcome:
        """The outcome in a newer text."""
        moved = replace(self, shift=shift)
        findings = (shift_finding(finding, moved.place) for finding in self.findings)
        return replace(moved, findings=tuple(finding for finding in findings if finding is not None))


class BatchOutcome(NamedTuple):
    """A batch that was worked out, now or in an earlier check: its plan, if its panels can be planned together.

    `findings` are those about all panels together, with their places in the present text.
    """

    batch: BatchWork
    plan: BatchPlan | None
    findings: Findings

    def shifted(self, shift: BlockShift) -> BatchOutcome:
        """The outcome in a newer text."""

        def place(span: Span) -> Span | None:
            return shift.span(span) if span.path == self.batch.path else span

        findings = (shift_finding(finding, place) for finding in self.findings)
        return self._replace(findings=tuple(finding for finding in findings if finding is not None))


Outcome = JobOutcome | BatchOutcome


class _Remembered(NamedTuple):
    own: list[tuple[str, list[str]]]
    starts: list[int]
    outcome: Outcome


class EarlierResults:
    """What earlier checks of all files found out."""

    def __init__(self) -> None:
        #: the texts of sound declarations
        self._sound: set[str] = set()
        self.plans = JobPlans()
        #: by file: the context of its jobs and batches, and these by name
        self._jobs: dict[Path, tuple[object, dict[str, _Remembered]]] = {}

    def forget(self, path: Path) -> None:
        """Drop the jobs of a file that is no longer checked."""
        self._jobs.pop(path, None)
        self.plans.forget(path)

    # -- jobs

    def recall(self, path: Path, jobs: FileJobs) -> dict[str, Outcome]:
        """The outcomes that still hold for jobs and batches of a file, by name."""
        context, known = self._jobs.get(path, (None, {}))
        if context != jobs.context:
            return {}
        found: dict[str, Outcome] = {}
        for name, blocks in jobs.blocks.items():
            remembered = known.get(name)
            if remembered is not None and remembered.own == jobs.own(blocks.values()):
                shift = BlockShift(remembered.starts, jobs.starts(blocks.values()))
                found[name] = remembered.outcome.shifted(shift)
        # those that depend on each other are read again together
        return {name: outcome for name, outcome in found.items() if jobs.blocks[name].keys() <= found.keys()}

    def remember(self, path: Path, jobs: FileJobs, name: str, outcome: Outcome) -> None:
        """Remember the outcome of a job or batch that was worked out just now."""
        blocks = jobs.blocks.get(name)
        if blocks is None:
            return
        context, known = self._jobs.get(path, (None, {}))
        kept = {name: one for name, one in known.items() if name in jobs.blocks} if context == jobs.context else {}
        kept[name] = _Remembered(jobs.own(blocks.values()), jobs.starts(blocks.values()), outcome)
        self._jobs[path] = (jobs.context, kept)

    # -- declarations

    def unread(self, linked: Linked, recalled: Collection[str], name: str) -> Linked:
        """The declarations that have to be read: jobs and batches of the file `name` that were not recalled, and what
        they need.

        Without such jobs, all declarations that are not known to be sound.
        """
        left = [
            one
            for one in linked.declarations
            if one.kind not in ("job", "batch") or one.path != name or one.name not in recalled
        ]
        if not any(one.kind in ("job", "recipe") for one in left):
            left = [one for one in left if not _independent(one) or _text(linked, one) not in self._sound]
        return linked._replace(declarations=tuple(left))

    def remember_sound(self, linked: Linked, findings: Findings) -> None:
        """Remember the declarations that were read without a finding."""
        places = sorted((one.span.path, one.span.start) for one in findings if one.span is not None)
        if len(self._sound) > MOST_SOUND:
            self._sound.clear()
        for declaration in linked.declarations:
            span = declaration.block.span
            at = bisect_left(places, (span.path, span.start))
            if _independent(declaration) and not (at < len(places) and places[at] <= (span.path, span.end)):
                self._sound.add(_text(linked, declaration))


def _independent(declaration: Declaration) -> bool:
    """Whether what is found in a declaration depends on its own text only."""
    return len(declaration.block.head) == 2 and declaration.kind not in ("job", "recipe", "batch")


def _text(linked: Linked, declaration: Declaration) -> str:
    span = declaration.block.span
    return linked.loaded.texts[span.path][span.start : span.end]
