"""Results of earlier checks that still hold, so that an edit reads and works out only what it touches."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NamedTuple

from flatwise.core.finding import Findings, has_errors
from flatwise.language.link import Declaration, Linked
from flatwise.model.bed import BatchPlan, BatchWork
from flatwise.model.built import Choice, Waived
from flatwise.model.stages import Plan, Work
from flatwise_grammar.nodes import Block, Name, Span
from flatwise_lsp.workspace.job_plans import JobPlans
from flatwise_lsp.workspace.shifted_findings import BlockShift, shift_finding
from flatwise_lsp.workspace.tree_search import base_of

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

    def choices(self, word: str) -> tuple[Choice, ...]:
        """The lines for a word of `cut` that would save machine time.  The first time takes as long as a few plans."""
        if self.plan is None or has_errors(self.findings):
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


@dataclass(frozen=True)
class BatchOutcome:
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
        return replace(self, findings=tuple(finding for finding in findings if finding is not None))


Outcome = JobOutcome | BatchOutcome


class FileJobs:
    """The jobs and batches of one file, and what their results depend on.

    The result of a job depends on the text of its own block, on the files of points that this names, and on
    `context`: the rest of its file except other jobs and batches, the other files, and the settings of the project.
    The results of a batch and of its jobs depend on each other's blocks.
    """

    def __init__(self, linked: Linked, name: str) -> None:
        loaded, source = linked.loaded, linked.loaded.sources[name]
        self._source, self._points = source, loaded.points
        jobs = [one for one in linked.declarations if one.kind in ("job", "batch") and one.path == name]
        counts = Counter(one.name for one in jobs)
        # other jobs depend on a job that they start from, as on any other declaration
        bases = {base[1].text for one in jobs if (base := base_of(one.block)) is not None}
        self.alone = {one.name: one.block for one in jobs if counts[one.name] == 1 and one.name not in bases}
        own = {block.span for block in self.alone.values()}
        #: the blocks on which a job or batch depends, its own among them, by its name
        self.blocks = {
            one: {each: self.alone[each] for each in names}
            for one, names in _together(self.alone).items()
            if all(each in self.alone for each in names)
        }
        self._shared = [block for block in source.tree.blocks if block.span not in own]
        self.context = (
            [self._text(block) for block in self._shared],
            [self._hashes(block) for block in self._shared],
            [used for used, _ in source.uses],
            [(one.name, one.text, one.project) for one in loaded.sources.values() if one is not source],
            [file.sha256 for span, file in loaded.points.items() if span.path != name],
            source.project,
            loaded.standards,
        )

    def own(self, blocks: Iterable[Block]) -> list[tuple[str, list[str]]]:
        """What the result of one job or batch depends on besides the context."""
        return [(self._text(block), self._hashes(block)) for block in blocks]

    def starts(self, blocks: Iterable[Block]) -> list[int]:
        """Where some jobs and the declarations of the file begin."""
        return [one.span.start for one in (*blocks, *self._shared)]

    def _text(self, block: Block) -> str:
        return self._source.text[block.span.start : block.span.end]

    def _hashes(self, block: Block) -> list[str]:
        """The hashes of the files of points that a block names."""
        start, end = block.span.start, block.span.end
        path = block.span.path
        return [file.sha256 for at, file in self._points.items() if at.path == path and start <= at.start < end]


def _together(blocks: Mapping[str, Block]) -> dict[str, list[str]]:
    """The jobs and batches on which each one depends, itself among them: what a batch lists belongs together."""
    groups = {name: {name} for name in blocks}
    for name, block in blocks.items():
        if block.kind == "batch":
            lines = (line for line in block.fields if line.word.text == "jobs")
            listed = [one.text for line in lines for one in line.items if isinstance(one, Name)]
            joined = set[str]().union(*(groups.get(one, {one}) for one in (name, *listed)))
            groups.update(dict.fromkeys(joined, joined))
    return {name: sorted(groups[name]) for name in blocks}


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
        return replace(linked, declarations=tuple(left))

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
