"""Results of earlier checks that still hold, so that an edit reads and works out only what it touches."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import NamedTuple

from flatwise.core.finding import Findings, has_errors
from flatwise.language.link import Declaration, Linked
from flatwise.model.built import Choice, Waived
from flatwise.model.stages import Plan, Work
from flatwise_grammar.nodes import Block, Span
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


class FileJobs:
    """The jobs of one file, and what their results depend on.

    The result of a job depends on the text of its own block, on the files of points that this names, and on
    `context`: the rest of its file except the other jobs, the other files, and the settings of the project.
    """

    def __init__(self, linked: Linked, name: str) -> None:
        loaded, source = linked.loaded, linked.loaded.sources[name]
        self._source, self._points = source, loaded.points
        jobs = [one for one in linked.declarations if one.kind == "job" and one.path == name]
        counts = Counter(one.name for one in jobs)
        # other jobs depend on a job that they start from, as on any other declaration
        bases = {base[1].text for one in jobs if (base := base_of(one.block)) is not None}
        self.blocks = {one.name: one.block for one in jobs if counts[one.name] == 1 and one.name not in bases}
        own = {block.span for block in self.blocks.values()}
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

    def own(self, block: Block) -> tuple[str, list[str]]:
        """What the result of one job alone depends on."""
        return self._text(block), self._hashes(block)

    def starts(self, block: Block) -> list[int]:
        """Where a job and the declarations of its file begin."""
        return [one.span.start for one in (block, *self._shared)]

    def _text(self, block: Block) -> str:
        return self._source.text[block.span.start : block.span.end]

    def _hashes(self, block: Block) -> list[str]:
        """The hashes of the files of points that a block names."""
        start, end = block.span.start, block.span.end
        path = block.span.path
        return [file.sha256 for at, file in self._points.items() if at.path == path and start <= at.start < end]


class _Remembered(NamedTuple):
    own: tuple[str, list[str]]
    starts: list[int]
    outcome: JobOutcome


class EarlierResults:
    """What earlier checks of all files found out."""

    def __init__(self) -> None:
        #: the texts of sound declarations
        self._sound: set[str] = set()
        #: by file: the context of its jobs, and the jobs by name
        self._jobs: dict[Path, tuple[object, dict[str, _Remembered]]] = {}

    def forget(self, path: Path) -> None:
        """Drop the jobs of a file that is no longer checked."""
        self._jobs.pop(path, None)

    # -- jobs

    def recall(self, path: Path, jobs: FileJobs) -> dict[str, JobOutcome]:
        """The outcomes that still hold for jobs of a file, by the name of the job."""
        context, known = self._jobs.get(path, (None, {}))
        if context != jobs.context:
            return {}
        found = {}
        for name, block in jobs.blocks.items():
            remembered = known.get(name)
            if remembered is not None and remembered.own == jobs.own(block):
                found[name] = remembered.outcome.shifted(BlockShift(remembered.starts, jobs.starts(block)))
        return found

    def remember(self, path: Path, jobs: FileJobs, outcome: JobOutcome) -> None:
        """Remember the outcome of a job that was worked out just now."""
        block = jobs.blocks.get(outcome.work.name)
        if block is None:
            return
        context, known = self._jobs.get(path, (None, {}))
        kept = {name: one for name, one in known.items() if name in jobs.blocks} if context == jobs.context else {}
        kept[outcome.work.name] = _Remembered(jobs.own(block), jobs.starts(block), outcome)
        self._jobs[path] = (jobs.context, kept)

    # -- declarations

    def unread(self, linked: Linked, recalled: Iterable[str], name: str) -> Linked:
        """The declarations that have to be read: jobs of the file `name` that were not recalled, and what they need.

        Without such jobs, all declarations that are not known to be sound.
        """
        known = set(recalled)
        left = [one for one in linked.declarations if one.kind != "job" or one.path != name or one.name not in known]
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
