"""What the compiler says about one file and everything that it uses, as the editor holds them at one moment.

This is `flatwise check` in steps: work for a text that has changed again stops between two of them.  It runs in a
worker thread and does not know the protocol.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import chain, islice
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from flatwise.core.finding import Finding, Findings
from flatwise.core.stopping import Stopped, stopping_when
from flatwise.findings import fw103_declared_twice, fw107_out_of_bounds
from flatwise.language.link import Declaration, Linked, link
from flatwise.model.stages import Work
from flatwise.sources.load import load
from flatwise.sources.paths import below_root, folders_below, shown
from flatwise_grammar.nodes import File, Span
from flatwise_lsp.workspace.documents import Snapshot
from flatwise_lsp.workspace.earlier_results import BatchOutcome, EarlierResults, JobOutcome
from flatwise_lsp.workspace.file_jobs import FileJobs
from flatwise_lsp.workspace.shifted_findings import EditShift, shift_finding

if TYPE_CHECKING:
    from flatwise.pipeline import Planned

#: the most job files that are read below a folder, and the most folders that are searched for them
MOST_FILES = 2000
MOST_FOLDERS = 5000


class Meaning(NamedTuple):
    """The linked sources: who declares what, and what each file can see."""

    linked: Linked
    findings: Findings
    working: Path

    def file(self, name: str) -> Path:
        """The file that spans call `name`."""
        source = self.linked.loaded.sources.get(name)
        return source.path if source is not None else (self.working / name).resolve()

    def name(self, path: Path) -> str:
        """The name of a file in spans."""
        return shown(path, self.working)

    def tree(self, path: Path) -> File | None:
        """The tree of a file; None where it was not loaded."""
        source = self.linked.loaded.sources.get(self.name(path))
        return source.tree if source is not None else None


@dataclass(frozen=True)
class Analysis:
    """Everything that the compiler says about one file.

    `entry` is the file, `number` that of the snapshot, `texts` the texts that spans refer to.  The first half of an
    analysis has no outcomes: the jobs have been read, but not worked out.
    """

    entry: Path
    number: int
    meaning: Meaning
    findings: Findings
    texts: Mapping[Path, str]
    #: the jobs and the batches by name
    outcomes: Mapping[str, JobOutcome] = field(default_factory=dict)
    batches: Mapping[str, BatchOutcome] = field(default_factory=dict)
    #: the number of jobs for which there was no time
    left: int = 0

    @property
    def late(self) -> Findings:
        """The findings about plans."""
        found = [outcome.findings for outcome in self.outcomes.values()]
        return tuple(chain.from_iterable([*found, *(batch.findings for batch in self.batches.values())]))

    @cached_property
    def touches(self) -> set[Path]:
        """The files that were read or looked for: a change in one of them changes the analysis."""
        return set(self.texts) | self.meaning.linked.loaded.files

    @cached_property
    def jobs(self) -> dict[str, Declaration]:
        """The first job or batch of each name that the file declares."""
        name, found = self.meaning.name(self.entry), dict[str, Declaration]()
        for one in self.meaning.linked.declarations:
            if one.kind in ("job", "batch") and one.path == name:
                found.setdefault(one.name, one)
        return found

    def declared_twice(self, name: str, first: Analysis) -> tuple[Finding, Analysis]:
        """FW103 for a job of this file that `first` declares too, as `check` of both files reports it."""
        earlier = first.jobs[name]
        finding = fw103_declared_twice.declaration(earlier.kind, name, self.jobs[name].at, earlier.at)
        linked = self.meaning.linked
        texts = {**linked.loaded.texts, earlier.path: first.texts[first.entry]}
        both = self.meaning._replace(linked=linked._replace(loaded=linked.loaded._replace(texts=texts)))
        return finding, replace(self, meaning=both)

    def by_file(self) -> dict[Path, list[Finding]]:
        """The findings by file; those without a place belong to the entry."""
        found: dict[Path, list[Finding]] = {self.entry: []}
        for finding in self.findings:
            path = self.meaning.file(finding.span.path) if finding.span is not None else self.entry
            found.setdefault(path, []).append(finding)
        return found


def load_meaning(paths: list[Path], snapshot: Snapshot, working: Path) -> Meaning:
    """Load and link files (or folders of them)."""
    loaded, load_findings = load(paths, snapshot.overlay, working)
    linked, link_findings = link(loaded)
    return Meaning(linked, load_findings + link_findings, working)


def find_job_files(root: Path) -> list[Path]:
    """The job files below a folder, except in hidden folders and node_modules.

    At most MOST_FILES, from the first MOST_FOLDERS folders: an editor without a project may name a home folder.
    """
    found: list[Path] = []
    for place, files in islice(folders_below(root, ("node_modules",)), MOST_FOLDERS):
        # a link that leads out of the folder is not followed: nobody asked for it
        inside = (below_root(place, name, root) for name in files if name.endswith(".flat"))
        found.extend(path for path in inside if path is not None)
        if len(found) >= MOST_FILES:
            break
    return found[:MOST_FILES]


def analyse(
    path: Path,
    snapshot: Snapshot,
    stale: Callable[[], bool],
    on_first_half: Callable[[Analysis], None],
    earlier: EarlierResults | None = None,
    late: Callable[[], bool] = lambda: False,
) -> Analysis | None:
    """Check one file.  `on_first_half` is called before jobs are worked out.

    Jobs that `earlier` remembers are not worked out again.  None when `stale` says, between two steps or within a job,
    that the result is no longer wanted.  Where `late` says after a job or a panel of a batch that time is up, a note
    says so, and the others are left.
    """
    from flatwise.language.batches import read_batches
    from flatwise.language.read import read
    from flatwise.pipeline import plan_job, work_out, work_out_panels

    earlier = earlier or EarlierResults()
    meaning = load_meaning([path], snapshot, snapshot.working(path))
    if stale():
        return None
    name, linked = meaning.name(path), meaning.linked
    jobs = FileJobs(linked, name) if name in linked.loaded.sources else None
    recalled = earlier.recall(path, jobs) if jobs is not None else {}
    outcomes = {job: one for job, one in recalled.items() if isinstance(one, JobOutcome)}
    batches = {batch: one for batch, one in recalled.items() if isinstance(one, BatchOutcome)}
    unread = earlier.unread(linked, recalled, name)
    works, read_findings = read(unread)
    together, unfit = read_batches(unread, works)
    read_findings += unfit
    earlier.remember_sound(unread, meaning.findings + read_findings)
    texts = {meaning.file(name): text for name, text in linked.loaded.texts.items()}
    analysis = Analysis(path, snapshot.number, meaning, meaning.findings + read_findings, texts)
    if stale():
        return None
    if works:
        on_first_half(analysis)
    planned = earlier.plans.planner(path, jobs) if jobs is not None else plan_job
    begun, made_before = set[str](), earlier.plans.made

    def next_plan(work: Work) -> Planned:
        """The plan of a job, also of one of a batch, unless it is no longer wanted or time is up."""
        if stale() or (earlier.plans.made > made_before and late()):
            raise Stopped
        begun.add(work.name)
        return planned(work)

    with suppress(Stopped), stopping_when(stale):
        for batch in together:
            plan, panels, found = work_out_panels(batch, next_plan)
            batches[batch.name] = BatchOutcome(batch, plan, found)
            for panel in panels:
                if panel.plan is not None:
                    own = panel.plan.work
                    outcomes[own.name] = JobOutcome(own, panel.plan, panel.findings, panel.waived)
        for work in works:
            if work.name not in outcomes:
                outcomes[work.name] = JobOutcome(work, *work_out(work, next_plan))
    if stale():
        return None
    left = [work for work in works if work.name not in begun | outcomes.keys()]
    # a job with an error gives no work, so its findings are never forgotten; one with a warning does
    if jobs is not None and all(finding.severity == "error" for finding in read_findings):
        for job, outcome in (outcomes | batches).items():
            if job not in recalled:
                earlier.remember(path, jobs, job, outcome)
    # in the order of the text
    mine = dict.fromkeys(one.name for one in linked.declarations if one.path == name)
    whole = replace(
        analysis,
        outcomes={name: outcomes[name] for name in mine if name in outcomes},
        batches={name: batches[name] for name in mine if name in batches},
        left=len(left),
    )
    count = len(begun | outcomes.keys()) + len(left)
    unchecked = (fw107_out_of_bounds.no_time(len(left), count, left[0].span),) if left else ()
    return replace(whole, findings=analysis.findings + whole.late + unchecked)


def carry_over(before: Analysis, first_half: Analysis) -> Analysis:
    """The first half of an analysis with the findings about the plans of an earlier one, where they still apply."""
    known = {(finding.code, finding.message) for finding in first_half.findings}
    shifts: dict[str, EditShift] = {}
    for path, text in first_half.texts.items():
        old = before.texts.get(path)
        if old is not None:
            shifts[before.meaning.name(path)] = EditShift(old, text)

    def place(span: Span) -> Span | None:
        return shifts[span.path].span(span) if span.path in shifts else None

    moved = (shift_finding(finding, place) for finding in before.late)
    kept = tuple(one for one in moved if one is not None and (one.code, one.message) not in known)
    return replace(first_half, findings=first_half.findings + kept)
