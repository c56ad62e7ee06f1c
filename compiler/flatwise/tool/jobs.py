"""Checking and building jobs from the command line: the result of each, and which jobs may not be written."""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Collection, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from flatwise.core.finding import Finding, Findings, has_errors, without_notes
from flatwise.model.bed import BatchPlan, BatchWork
from flatwise.sources.paths import shown
from flatwise.sources.project import Project, read_project, root_of
from flatwise.tool import errors
from flatwise.tool.terminal import JobResult, panel_count, written_batch, written_job
from flatwise.tool.workers import Task

if TYPE_CHECKING:
    from flatwise.model.built import Built, BuiltBatch
    from flatwise.model.stages import Plan, Work
    from flatwise.pipeline import Front


def chosen(front: Front, only: Mapping[str, Collection[str]]) -> Front:
    """The jobs to check or build: of the files in `only` (as spans carry them) what it names, of others everything.

    A batch stands for its jobs.
    """
    # a batch that has the name of one of its jobs, which is an error, stays
    together = {work.name for batch in front.batches for work in batch.works} - {each.name for each in front.batches}

    def wanted(name: str) -> bool:
        path = front.jobs[name].path if name in front.jobs else ""
        return name in only[path] if path in only else bool(path) and name not in together

    return front._replace(
        works=tuple(work for work in front.works if wanted(work.name)),
        batches=tuple(batch for batch in front.batches if wanted(batch.name)),
        jobs={name: span for name, span in front.jobs.items() if wanted(name)},
    )


def in_order(front: Front) -> list[Work | BatchWork]:
    """The jobs and batches in the order of the files."""
    known = {work.name: work for work in front.cuts}
    return [known[name] for name in front.jobs if name in known]


def check(work: Work | BatchWork) -> JobResult:
    """Work one job or batch out."""
    from flatwise.pipeline import work_out, work_out_batch

    if isinstance(work, BatchWork):
        bed, found = work_out_batch(work)
        return _with_figures(JobResult(work.name, found), bed)
    plan, findings, _ = work_out(work)
    return _with_figures(JobResult(work.name, findings), plan)


class Builder(NamedTuple):
    """How jobs are built.

    `texts` are those of all sources and `projects` their settings, both by the path that spans carry; `out` is the
    folder of each job's own folder, `blocked` jobs are not written, nor with `strict` those with warnings; `full`
    prints more for each.
    """

    texts: Mapping[str, str]
    projects: Mapping[str, Project]
    out: Mapping[str, Path]
    blocked: frozenset[str]
    strict: bool
    full: bool

    def build(self, work: Work | BatchWork) -> JobResult:
        """Work one job or batch out and write its files."""
        from flatwise.pipeline import build, build_batch
        from flatwise.report import files
        from flatwise.tool.outputs import write_all

        built: Built | BuiltBatch
        written: Callable[[str], str]
        if isinstance(work, BatchWork):
            built = bed = build_batch(work)
            written = partial(written_batch, bed)
        else:
            built = alone = build(work)
            written = partial(written_job, alone, full=self.full)
        result = JobResult(work.name, built.findings, lines=f"{work.name}: not written.")
        result = _with_figures(result, built.plan)
        if work.name in self.blocked or has_errors(built.findings) or (self.strict and without_notes(built.findings)):
            return result
        try:
            made = files(built, self.texts, from_root(self.projects[work.path].root))
            folder = write_all(self.out[work.name], work.name, made)
        except OSError as error:
            older = ", an older build of it remains" if os.path.isdir(self.out[work.name] / work.name) else ""
            why = f"job {work.name} was not written{older}: {errors.system_error(error)}"
            return result._replace(lines="", refused=why)
        return result._replace(lines=written(from_here(folder)), written=tuple(folder / name for name in sorted(made)))


def _with_figures(result: JobResult, plan: Plan | BatchPlan | None) -> JobResult:
    """The result with the thickness left, or the number of panels, and the machine time."""
    from flatwise.report.display import machine_time, thickness_left

    if plan is None:
        return result
    left = panel_count(plan) if isinstance(plan, BatchPlan) else thickness_left(plan)
    return result._replace(left=left, time=machine_time(plan))


def task(do: Callable[[Work | BatchWork], JobResult], *, collects: bool = False) -> Task[Work | BatchWork, JobResult]:
    """Check or build one job, whatever happens to it."""
    return Task(do, _failed, _stopped, collects)


def _failed(work: Work | BatchWork, error: Exception) -> JobResult:
    return JobResult(work.name, bug=errors.bug_report(error, work.name))


def _stopped(work: Work | BatchWork, why: str) -> JobResult:
    """The result of a job that the system stopped, perhaps after it had written."""
    return JobResult(work.name, refused=f"job {work.name} was not finished: {why}.")


# -- jobs that errors in their files block -----------------------------------------------------------------------------


def blocked_jobs(front: Front) -> frozenset[str]:
    """The jobs that are not written, because a file that they use, or their project file, has an error.

    Any such error may change what the job was meant to say.  A finding about a file that can't be read has no place:
    then every job that uses a file without a text is blocked too.
    """
    wrong = [finding for finding in front.findings if finding.severity == "error"]
    if not wrong:
        return frozenset()
    working = Path.cwd().resolve()
    places = {finding.span.path for finding in wrong if finding.span is not None}
    # of two jobs with one name, nobody knows which was meant
    twins = {
        (other.span.path, front.texts[other.span.path][other.span.start : other.span.end])
        for finding in wrong
        if finding.code == "FW103"
        for other in finding.related
    }
    placeless = any(finding.span is None for finding in wrong)
    found = set()
    for work in front.cuts:
        project = front.projects[work.path]
        names = {shown(project.root / path, working) for path, _ in work.sources}
        own = {name for path, name in twins if path in names}
        if (
            names & places
            or work.name in own
            or project.file in places
            or (placeless and _uses_unreadable(names, front.texts, working))
        ):
            found.add(work.name)
    return frozenset(found)


def _uses_unreadable(names: set[str], texts: Mapping[str, str], working: Path) -> bool:
    from flatwise.sources.paths import followed

    return any(
        (path := followed((working / name).parent, used)) is None or shown(path, working) not in texts
        for name in names
        for used in re.findall(r'^[ \t]*use[ \t]+"([^"\n]*)"', texts.get(name, ""), re.MULTILINE)
    )


# -- jobs that could not be read ---------------------------------------------------------------------------------------


def by_path(findings: Findings) -> Mapping[str, Findings]:
    """The findings that have a place, by the path of their file."""
    found: dict[str, list[Finding]] = {}
    for finding in findings:
        if finding.span is not None:
            found.setdefault(finding.span.path, []).append(finding)
    return {path: tuple(here) for path, here in found.items()}


def with_unread(results: Sequence[JobResult], front: Front) -> list[JobResult]:
    """The results, and one for each job that could not be read, in the order of the files."""
    if not has_errors(front.findings):
        return list(results)
    known = {result.job: result for result in results}
    placed = by_path(front.findings)
    every = []
    for job, block in front.jobs.items():
        here = placed.get(block.path, ())
        inside = tuple(each for each in here if each.span is not None and block.start <= each.span.start < block.end)
        every.append(known.pop(job) if job in known else JobResult(job, inside, unread=True))
    return [*every, *known.values()]


# -- projects and paths ------------------------------------------------------------------------------------------------


def project_of(path: Path) -> Project:
    """The settings that apply to a file or a folder; `load` reports errors in them."""
    working, real = Path.cwd().resolve(), path.resolve()
    return read_project(root_of(real if os.path.isdir(real) else real.parent, working), working)[0]


def from_root(root: Path) -> Callable[[str], str]:
    """A function that gives the path from the root of a project for the path that a span carries."""
    working = Path.cwd().resolve()

    def named(name: str) -> str:
        whole = working / name
        return whole.relative_to(root).as_posix() if whole.is_relative_to(root) else name

    return named


def from_here(path: Path) -> str:
    """A path from the working folder where it lies below it, otherwise the whole path."""
    return shown(path.resolve(), Path.cwd().resolve())


def made_from(work: Work | BatchWork, project: Project, written: Sequence[Path]) -> tuple[list[str], list[str]]:
    """The files of a job, and the files that they were made from (the project file among them), from here."""
    sources = [from_here(project.root / path) for path, _ in work.sources]
    return [from_here(path) for path in written], sources + [project.file] * bool(project.file)
