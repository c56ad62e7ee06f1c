"""Measuring from the command line: the files of one walk, over a panel or a batch, and what is printed of it."""

from __future__ import annotations

from pathlib import Path

from flatwise.core.finding import has_errors, without_notes
from flatwise.model.bed import BatchWork
from flatwise.model.measuring import Measured
from flatwise.model.stages import Work
from flatwise.report.display import display_unit, duration
from flatwise.report.form import form, gained
from flatwise.tool import errors
from flatwise.tool.jobs import from_here
from flatwise.tool.outputs import write_all
from flatwise.tool.terminal import JobResult


def measure_job(work: Work, out: Path, *, under: bool, blocked: bool, strict: bool) -> JobResult:
    """Measure one job, and write its files to its folder below `out`, unless errors forbid it."""
    from flatwise.pipeline import measure

    made = measure(work, under=under)
    result = JobResult(work.name, made.findings, lines=f"{work.name}: not written.")
    stopped = has_errors(made.findings) or (strict and without_notes(made.findings))
    if blocked or stopped or made.panel is None:
        return result
    stem = "measure_under" if under else "measure"
    files = {f"{stem}.html": form(work, made, under=under)}
    if made.program:
        files[f"{stem}.nc"] = made.program
    try:
        folder = write_all(out, work.name, files)
    except OSError as error:
        return result._replace(lines="", refused=f"job {work.name} was not written: {errors.system_error(error)}")
    names = sorted(files)
    lines = f"{work.name}: {_walk(made)}{', '.join(names)} in {from_here(folder)}"
    for each in gained(made.gain, display_unit(work)) if made.gain else ():
        lines += f"\n  {each}"
    return result._replace(lines=lines, written=tuple(folder / name for name in names))


def measure_bed(batch: BatchWork, out: Path, *, under: bool, blocked: bool, strict: bool) -> JobResult:
    """Measure all panels of a batch in one walk, and write its program and a form for each, unless errors forbid it."""
    from flatwise.pipeline import measure_batch

    made = measure_batch(batch, under=under)
    result = JobResult(batch.name, made.findings, lines=f"{batch.name}: not written.")
    stopped = has_errors(made.findings) or (strict and without_notes(made.findings))
    if blocked or stopped or not made.panels:
        return result
    stem = "measure_under" if under else "measure"
    files = {f"{stem}.{work.name}.html": form(work, own, under=under, batch=batch.name) for work, own in made.panels}
    if made.program:
        files[f"{stem}.nc"] = made.program
    try:
        folder = write_all(out, batch.name, files)
    except OSError as error:
        return result._replace(lines="", refused=f"batch {batch.name} was not written: {errors.system_error(error)}")
    names = sorted(files)
    walked = "no `walk` in any survey, so only the forms; "
    if made.walk is not None:
        left_out = sum(len(walk.left_out) for _, walk in made.walk.panels)
        walked = _points(made.walk.count, left_out, "holders or neighbours", made.walk.time)
    lines = f"{batch.name}: {walked}{', '.join(names)} in {from_here(folder)}"
    for work, own in made.panels:
        stops = own.walk.stops if own.walk is not None else ()
        lines += f"\n  {work.name}: " + (f"stops {stops[0].number} to {stops[-1].number}" if stops else "no stops")
    return result._replace(lines=lines, written=tuple(folder / name for name in names))


def _walk(made: Measured) -> str:
    """How many points the walk has and how long the machine moves, for a person."""
    walk = made.walk
    if walk is None:
        return "no `walk` in its survey, so only the form; "
    return _points(len(walk.stops), len(walk.left_out), "holders", walk.time)


def _points(count: int, left_out: int, by: str, time: float) -> str:
    covered = f" ({left_out} of the grid are covered by {by})" if left_out else ""
    return f"{count} points{covered}, {duration(time)} of moves; "
