"""Measuring from the command line: the files of one walk, over a panel or a batch, and what is printed of it."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

from flatwise.core.finding import Findings, has_errors, without_notes
from flatwise.model.bed import BatchWork
from flatwise.model.measuring import Measured
from flatwise.model.stages import Work
from flatwise.report.display import display_unit, duration
from flatwise.report.form import bed_form, form, gained
from flatwise.tool import errors
from flatwise.tool.jobs import from_here
from flatwise.tool.outputs import write_all
from flatwise.tool.terminal import JobResult


def measure_job(work: Work, out: Path, *, under: bool, blocked: bool, strict: bool) -> JobResult:
    """Measure one job, and write its files to its folder below `out`, unless errors forbid it."""
    from flatwise.pipeline import measure

    made = measure(work, under=under)
    result = JobResult(work.name, made.findings, lines=f"{work.name}: not written.")
    if blocked or _fails(made.findings, strict) or made.panel is None:
        return result
    stem = _stem(under)
    files = {f"{stem}.html": form(work, made, under=under)}
    more = gained(made.gain, display_unit(work)) if made.gain else ()
    return _written(result, "job", out, files, made.program, stem, _walk(made), more)


def measure_bed(batch: BatchWork, out: Path, *, under: bool, blocked: bool, strict: bool) -> JobResult:
    """Measure all panels of a batch in one walk, and write its program and form, unless errors forbid it."""
    from flatwise.pipeline import measure_batch

    made = measure_batch(batch, under=under)
    result = JobResult(batch.name, made.findings, lines=f"{batch.name}: not written.")
    if blocked or _fails(made.findings, strict) or not made.panels:
        return result
    stem = _stem(under)
    files = {f"{stem}.html": bed_form(batch, made, under=under)}
    walked = "no `walk` in any survey, so only the form; "
    if made.walk is not None:
        left_out = sum(len(walk.left_out) for _, walk in made.walk.panels)
        walked = _points(len(made.walk.stops), left_out, "holders or neighbours", made.walk.time)
    more = []
    for work, own in made.panels:
        stops = own.walk.stops if own.walk is not None else ()
        more.append(f"{work.name}: " + (f"stops {stops[0].number} to {stops[-1].number}" if stops else "no stops"))
    return _written(result, "batch", out, files, made.program, stem, walked, more)


def _stem(under: bool) -> str:
    return "measure_under" if under else "measure"


def _fails(findings: Findings, strict: bool) -> bool:
    return has_errors(findings) or (strict and bool(without_notes(findings)))


def _written(
    result: JobResult,
    kind: str,
    out: Path,
    forms: Mapping[str, bytes],
    program: bytes,
    stem: str,
    walked: str,
    more: Sequence[str],
) -> JobResult:
    """The result once forms and program are written, with a line of what was `walked`, and `more` lines below it."""
    files = {**forms, f"{stem}.nc": program} if program else forms
    try:
        folder = write_all(out, result.job, files)
    except OSError as error:
        return result._replace(lines="", refused=f"{kind} {result.job} was not written: {errors.system_error(error)}")
    names = sorted(files)
    lines = [f"{result.job}: {walked}{', '.join(names)} in {from_here(folder)}", *(f"  {each}" for each in more)]
    return result._replace(lines="\n".join(lines), written=tuple(folder / name for name in names))


def _walk(made: Measured) -> str:
    """How many points the walk has and how long the machine moves, for a person."""
    walk = made.walk
    if walk is None:
        return "no `walk` in its survey, so only the form; "
    return _points(len(walk.stops), len(walk.left_out), "holders", walk.time)


def _points(count: int, left_out: int, by: str, time: float) -> str:
    covered = f" ({left_out} of the grid are covered by {by})" if left_out else ""
    return f"{count} points{covered}, {duration(time)} of moves; "
