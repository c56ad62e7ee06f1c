"""Measuring from the command line: the files of one job's walk, and what is printed of it."""

from __future__ import annotations

from pathlib import Path

from flatwise.core.finding import has_errors, without_notes
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


def _walk(made: Measured) -> str:
    """How many points the walk has and how long the machine moves, for a person."""
    walk = made.walk
    if walk is None:
        return "no `walk` in its survey, so only the form; "
    left_out = f" ({len(walk.left_out)} of the grid are covered by holders)" if walk.left_out else ""
    return f"{len(walk.stops)} points{left_out}, {duration(walk.time)} of moves; "
