"""Many jobs in one run: worked out by several processes, told in their own order, one failure no matter to the rest.

What is written and said does not depend on the number of processes: each job is worked out by itself, and results
are taken in the order of the jobs.
"""

from __future__ import annotations

import gc
import os
import re
import sys
from collections.abc import Callable, Iterator, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, TypeVar

from flatwise.core.finding import Finding, Findings, has_errors
from flatwise.sources.project import Project, read_project, root_of, shown
from flatwise.tool import failure as faults

if TYPE_CHECKING:
    from flatwise.model.stages import Plan, Work
    from flatwise.pipeline import Front

#: from so many jobs on the start of other processes, and tidying between jobs, is worth its time
SEVERAL = 4


class Outcome(NamedTuple):
    """What came of one job: findings, figures for the table, and for a build what was written.

    `left` is what remains in words ("" without a plan), `time` s of machine time; `lines` what a build of this job
    alone says; `written` the files; `refused` why the system did not let it be written, `fault` the report of an
    exception: of both "" where there was none.  `unread`: its text is at fault, and it was not worked out.
    """

    job: str
    findings: Findings = ()
    left: str = ""
    time: float = 0.0
    lines: str = ""
    written: tuple[Path, ...] = ()
    refused: str = ""
    fault: str = ""
    unread: bool = False


T = TypeVar("T")
R = TypeVar("R")


def check(work: Work) -> Outcome:
    """Work one job out."""
    from flatwise.pipeline import work_out

    plan, findings, _ = work_out(work)
    return _told(Outcome(work.name, findings), plan)


class Build(NamedTuple):
    """How jobs are built: each goes to `out` by its name, unless it is `held` back.

    `texts` are those of all sources and `projects` what holds for them, both by the path that spans carry; `strict`
    holds a job with warnings back; `full` tells more of it.
    """

    texts: Mapping[str, str]
    projects: Mapping[str, Project]
    out: Mapping[str, Path]
    held: frozenset[str]
    strict: bool
    full: bool

    def job(self, work: Work) -> Outcome:
        """Work one job out and write its files."""
        from flatwise.pipeline import build
        from flatwise.report import files
        from flatwise.report.job_text import job_lines
        from flatwise.tool.outputs import write_all

        built = build(work)
        outcome = _told(Outcome(work.name, built.findings, lines=f"{work.name}: not written."), built.plan)
        if work.name in self.held or has_errors(built.findings) or (self.strict and built.findings):
            return outcome
        try:
            made = files(built, self.texts, from_root(self.projects[work.path].root))
            folder = write_all(self.out[work.name], work.name, made)
        except OSError as error:
            older = ", an older build of it stands" if os.path.isdir(self.out[work.name] / work.name) else ""
            why = f"job {work.name} was not written{older}: {faults.reason(error)}"
            return outcome._replace(lines="", refused=why)
        lines = job_lines(built, near(folder), full=self.full)
        return outcome._replace(lines=lines, written=tuple(folder / name for name in sorted(made)))


def _told(outcome: Outcome, plan: Plan | None) -> Outcome:
    if plan is None:
        return outcome
    from flatwise.report.job_text import left

    return outcome._replace(left=left(plan), time=sum(setup.time for setup in plan.setups))


# -- running ------------------------------------------------------------------------------------------------------


def failed(work: Work, why: str) -> Outcome:
    """The outcome of a job that met a fault of the tool."""
    return Outcome(work.name, fault=why)


def run(
    task: Callable[[T], R], given: Sequence[T], failed: Callable[[T, str], R], workers: int | None = None
) -> Iterator[R]:
    """What `task` makes of each of the given, in their order, by `workers` processes (None: one for each processor).

    Few are worked out in this process.  What an exception makes of one is for `failed`, with the report of it.
    """
    if len(given) >= SEVERAL:
        # a short run ends before anything is worth tidying; here it must not pile up, and what stands is passed over
        gc.freeze()
    count = min(workers or processors(), len(given))
    if count < 2 or (workers is None and len(given) < SEVERAL):
        for each in given:
            yield _safely(task, each, failed)
        return
    from concurrent.futures import ProcessPoolExecutor
    from concurrent.futures.process import BrokenProcessPool
    from multiprocessing import get_context

    # a fork has what this process has read and need not start anew; where there is none, each worker imports once
    context = get_context("fork" if sys.platform == "linux" else None)
    with ProcessPoolExecutor(count, context, initializer=_begin, initargs=(task, given, failed)) as pool:
        done = 0
        try:
            for result in pool.map(_nth, range(len(given)), chunksize=max(1, min(8, len(given) // (4 * count)))):
                done += 1
                yield result
        except BrokenProcessPool:
            why = "flatwise: a process that worked out jobs was ended from outside; try again with --workers 1."
            yield from (failed(each, why) for each in given[done:])
        finally:
            pool.shutdown(cancel_futures=True)


def processors() -> int:
    """How many processors this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1


#: in a worker: the task, all that is given, and what a fault makes of one
_given: tuple[Callable[[Any], Any], Sequence[Any], Callable[[Any, str], Any]]


def _begin(task: Callable[[T], R], given: Sequence[T], failed: Callable[[T, str], R]) -> None:
    """In a worker: what to do; the keyboard's stop is for the process that started it."""
    import signal

    global _given
    _given = task, given, failed
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def _nth(index: int) -> Any:
    task, given, failed = _given
    return _safely(task, given[index], failed)


def _safely(task: Callable[[T], R], one: T, failed: Callable[[T, str], R]) -> R:
    try:
        return task(one)
    except Exception as error:
        return failed(one, faults.report(error))
    finally:
        if gc.get_freeze_count():
            gc.collect()  # half a millisecond for what a job leaves in circles: its plan, held by the sheet's template


# -- which jobs a fault in the sources holds back -------------------------------------------------------------------


def held(front: Front) -> frozenset[str]:
    """The jobs that are not written, since a file that takes part in them (or their project's) has an error.

    A fault anywhere in those may be a fault in what the job was meant to say.  A file that can't be read at all has
    no place in a finding: then a job that uses a file without a text is held back too.
    """
    wrong = [finding for finding in front.findings if finding.severity == "error"]
    if not wrong:
        return frozenset()
    working = Path.cwd().resolve()
    places = {finding.span.path for finding in wrong if finding.span is not None}
    # two jobs of one name: which of them was meant is not known
    twins = {
        (other.span.path, front.texts[other.span.path][other.span.start : other.span.end])
        for finding in wrong
        if finding.code == "FW103"
        for other in finding.related
    }
    placeless = any(finding.span is None for finding in wrong)
    found = set()
    for work in front.works:
        project = front.projects[work.path]
        names = {shown(project.root / path, working) for path, _ in work.sources}
        own = {name for path, name in twins if path in names}
        if (
            names & places
            or work.name in own
            or project.file in places
            or (placeless and _unread(names, front.texts, working))
        ):
            found.add(work.name)
    return frozenset(found)


def _unread(names: set[str], texts: Mapping[str, str], working: Path) -> bool:
    """Whether one of these files uses one that has no text."""
    from flatwise.sources.load import followed

    return any(
        (path := followed((working / name).parent, used)) is None or shown(path, working) not in texts
        for name in names
        for used in re.findall(r'^[ \t]*use[ \t]+"([^"\n]*)"', texts.get(name, ""), re.MULTILINE)
    )


# -- jobs that could not be read ------------------------------------------------------------------------------------


def by_path(findings: Findings) -> Mapping[str, Findings]:
    """The findings that have a place, by the path of their file."""
    found: dict[str, list[Finding]] = {}
    for each in findings:
        if each.span is not None:
            found.setdefault(each.span.path, []).append(each)
    return {path: tuple(here) for path, here in found.items()}


def with_unread(outcomes: Sequence[Outcome], front: Front) -> list[Outcome]:
    """The outcomes and those of jobs that could not be read, in the order of the files."""
    if not has_errors(front.findings):
        return list(outcomes)
    known = {each.job: each for each in outcomes}
    placed = by_path(front.findings)
    every = []
    for job, block in front.jobs.items():
        here = placed.get(block.path, ())
        inside = tuple(each for each in here if each.span is not None and block.start <= each.span.start < block.end)
        every.append(known.pop(job) if job in known else Outcome(job, inside, unread=True))
    return [*every, *known.values()]


# -- projects and paths ---------------------------------------------------------------------------------------------


def project_of(path: Path) -> Project:
    """The settings that hold for a file or a folder; what is wrong with them is found by `load`."""
    working, real = Path.cwd().resolve(), path.resolve()
    return read_project(root_of(real if os.path.isdir(real) else real.parent, working), working)[0]


def from_root(root: Path) -> Callable[[str], str]:
    """Names a path that a span carries from the root of a project."""
    working = Path.cwd().resolve()

    def named(name: str) -> str:
        whole = working / name
        return whole.relative_to(root).as_posix() if whole.is_relative_to(root) else name

    return named


def near(path: Path) -> str:
    """A path as a person knows it: from the working folder where it lies below it."""
    return shown(path.resolve(), Path.cwd().resolve())


def made_from(work: Work, project: Project, written: Sequence[Path]) -> tuple[list[str], list[str]]:
    """The files of a job and those that they were made from, the project file among them, as a person knows them."""
    sources = [near(project.root / path) for path, _ in work.sources]
    return [near(path) for path in written], sources + [project.file] * bool(project.file)


# -- the table ------------------------------------------------------------------------------------------------------


def table(outcomes: Sequence[Outcome], spoiled: frozenset[str], *, build: bool) -> str:
    """A line for each job: whether it was written (or could be), what is left, machine time, and findings.

    `spoiled` are the jobs that a fault in their sources holds back.
    """
    from flatwise.report.job_text import minutes
    from flatwise.report.messages import tally

    rows = [("job", "", "left", "machine time", "findings")]
    for each in outcomes:
        bad = each.unread or has_errors(each.findings) or each.fault or each.job in spoiled
        good = bool(each.written) if build else not bad
        state = ("written" if good else "not written") if build else ("sound" if good else "not sound")
        figures = (each.left, minutes(each.time)) if each.left and good else ("", "")
        said = "fault in flatwise" if each.fault else tally(each.findings) or "none"
        said = "in its sources" if (each.unread or each.job in spoiled) and said == "none" else said
        rows.append((each.job, state, *figures, said))
    widths = [max(len(row[column]) for row in rows) for column in range(5)]
    lines = ("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows)
    return "\n".join(lines)
