"""Output of `check` and `build` besides findings: the result of a job, the table of many, a progress bar."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple, TextIO, TypeVar

from flatwise.core.finding import Findings, has_errors
from flatwise.core.units import show
from flatwise.report.display import display_unit, duration, leaf_stack, machine_time, thickness_left
from flatwise.report.messages import tally

if TYPE_CHECKING:
    from flatwise.model.bed import BatchPlan
    from flatwise.model.built import Built, BuiltBatch
    from flatwise.model.stages import Setup

#: a run of fewer jobs is over before a progress bar helps
FEWEST_FOR_BAR = 3
_BAR_WIDTH = 24

Done = TypeVar("Done")


class JobResult(NamedTuple):
    """The result of checking or building a job.

    `left` is the thickness that remains, in words ("" without a plan), and `time` the machine time in s.  Of a build,
    `lines` is what it prints for this job alone and `written` its files.  `refused` says why the system did not let
    the job be written, `bug` is the report of an exception; both are usually "".  An `unread` job has an error in its
    own text and was not worked out.
    """

    job: str
    findings: Findings = ()
    left: str = ""
    time: float = 0.0
    lines: str = ""
    written: tuple[Path, ...] = ()
    refused: str = ""
    bug: str = ""
    unread: bool = False


def written_job(built: Built, folder: str, *, full: bool) -> str:
    """The report on a job that was written: one line, or with `full` several, with what one asks first at the machine.

    Raises ValueError for a job without a plan.
    """
    plan = built.plan
    if plan is None:
        raise ValueError("a job without a plan was not written")
    names = ", ".join(built.programs)
    if not plan.setups:
        return f"{plan.work.name}: nothing left to cut; {folder}"
    if not full:
        return f"{plan.work.name}: {thickness_left(plan)} left; {names} in {folder}"
    lines = [f"{plan.work.name}", f"  left      {thickness_left(plan)}"]
    lines += [f"  {setup.face:<8}  {_face(setup, display_unit(plan.work).symbol)}" for setup in plan.setups]
    if plan.seating is not None:
        stacks = [f"{shim.place} {leaf_stack(plan.work, shim.leaves)}" for shim in plan.seating.shims if shim.leaves]
        lines.append(f"  leaves    {'; '.join(stacks) or 'none'}")
    lines += [f"  waived    {waived.rule}: {waived.because}" for waived in built.waived]
    lines.append(f"  files     {folder}: {names}, sheet.html, summary.json")
    return "\n".join(lines)


def written_batch(built: BuiltBatch, folder: str) -> str:
    """A report of the files written for a batch, in one line."""
    plan = built.plan
    if plan is None:
        raise ValueError("a batch without a plan was not written")
    time = duration(machine_time(plan))
    names = ", ".join(built.programs) or "nothing left to cut"
    return f"{plan.batch.name}: {panel_count(plan)}, {time}; {names} in {folder}"


def panel_count(plan: BatchPlan) -> str:
    return f"{len(plan.plans)} panel{'s' * (len(plan.plans) != 1)}"


def _face(setup: Setup, unit: str) -> str:
    count = len(setup.passes)
    deepest = max((each.depth for each in setup.passes), default=0.0)
    return (
        f"{count} pass{'es' * (count != 1)} down to {show(setup.plane, unit, 5)} above the bed, "
        f"at most {show(deepest, unit, 3)} per pass, {duration(setup.time)}"
    )


def result_table(results: Sequence[JobResult], blocked: frozenset[str], *, build: bool) -> str:
    """A line for each job: whether it was written (or could be), thickness left, machine time and findings.

    `blocked` jobs have an error in a file that they use.
    """
    rows = [("job", "", "left", "machine time", "findings")]
    for result in results:
        stopped = result.refused or result.bug
        failed = result.unread or has_errors(result.findings) or stopped or result.job in blocked
        good = bool(result.written) if build else not failed
        state = ("written" if good else "not written") if build else ("ok" if good else "failed")
        figures = (result.left, duration(result.time)) if result.left and good else ("", "")
        rows.append((result.job, state, *figures, _findings(result, result.job in blocked)))
    widths = [max(len(row[column]) for row in rows) for column in range(5)]
    lines = ("  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip() for row in rows)
    return "\n".join(lines)


def _findings(result: JobResult, blocked: bool) -> str:
    if result.bug:
        return "bug in flatwise"
    if result.findings or not result.refused:
        return tally(result.findings) or ("errors in its files" if result.unread or blocked else "none")
    return "stopped by the system"


# -- progress -------------------------------------------------------------------------------------------------------


def unattended(stream: TextIO) -> bool:
    """Whether nobody is watching: no terminal, a plain one, or a CI run (which sets the variable CI)."""
    return not stream.isatty() or bool(os.environ.get("CI")) or os.environ.get("TERM") == "dumb"


def with_progress(results: Iterable[Done], total: int, stream: TextIO) -> Iterator[Done]:
    """The results of `total` jobs as they come, with a bar on a terminal, which is erased at the end."""
    if total < FEWEST_FOR_BAR or unattended(stream):
        yield from results
        return
    try:
        _draw(stream, _bar(0, total))
        for done, result in enumerate(results, 1):
            _draw(stream, _bar(done, total))
            yield result
    finally:
        _draw(stream, "")


def _bar(done: int, total: int) -> str:
    full = _BAR_WIDTH * done // total
    return f"[{'#' * full}{'.' * (_BAR_WIDTH - full)}] {done} of {total} jobs"


def _draw(stream: TextIO, line: str) -> None:
    # back to the start of the line, and erase what is right of the cursor (ECMA-48, EL)
    stream.write(f"\r\x1b[K{line}")
    stream.flush()
