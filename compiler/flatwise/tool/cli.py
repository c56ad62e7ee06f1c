"""The command line: `flatwise check`, `build`, `verify`, `format`, `explain`, `compare`, `measure`, `new`, `serve`.

Exit 0: no errors (warnings are allowed, unless `--strict`; notes always are).  1: errors.  2: the tool could not run.
Findings go to standard output, what stops the tool to standard error.  Each command imports what it needs, so that
the small ones start quickly.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

from flatwise.tool import errors
from flatwise.tool.arguments import STANDARD_INPUT, STOPPED, read_arguments
from flatwise.tool.console import coloured, complain, say, show, sums_up, tally

if TYPE_CHECKING:
    from flatwise.core.finding import Findings
    from flatwise.pipeline import Front
    from flatwise.sources.project import Project
    from flatwise.tool.terminal import JobResult

CLEAN, FOUND = 0, 1


#: the address space that loading the libraries takes, in MB; short of it, one of them ends the process by itself
LEAST_MEMORY = 200


class CannotRun(Exception):
    """The tool can't go on; the text says why and what to do, for a person."""


def main(arguments: Sequence[str]) -> int:
    """Run one command and give its exit code.  Raises only SystemExit, from the parsing of arguments."""
    # numpy's pool of threads takes 50 ms to start and gains nothing on matrices of three rows
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        # a terminal that can't show a letter shows its code instead
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        return _without_faults(lambda: _started(arguments))
    except BrokenPipeError:
        # the reader is gone (`| head`); Python must not try to write to it again at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except KeyboardInterrupt:
        print("flatwise: stopped by Ctrl-C; no file was left half written.", file=sys.stderr)
    return STOPPED


def _started(arguments: Sequence[str]) -> int:
    """Run the command once, or with --watch again and again."""
    given = read_arguments(arguments)
    _need_memory()
    if not getattr(given, "watch", False):
        return COMMANDS[given.command](given)
    from flatwise.tool.watch import watch

    paths = [_file_and_job(each)[0] for each in given.path]
    watch(paths, lambda: _without_faults(lambda: COMMANDS[given.command](given)))


def _without_faults(run: Callable[[], int]) -> int:
    """The exit code of a run; what stops it is reported."""
    try:
        code = run()
        sys.stdout.flush()
        return code
    except CannotRun as why:
        complain(f"flatwise: {why}")
    except BrokenPipeError:
        raise
    except OSError as error:
        complain(f"flatwise: {errors.system_error(error)}")
    except MemoryError:
        complain(f"flatwise: {errors.NO_MEMORY}.")
    except Exception as error:
        complain(errors.bug_report(error))
    return STOPPED


def _need_memory() -> None:
    """Raise CannotRun where the system allows this process too little memory (`ulimit -v`)."""
    try:
        from resource import RLIM_INFINITY, RLIMIT_AS, getrlimit
    except ImportError:  # a system without such limits
        return
    allowed = getrlimit(RLIMIT_AS)[0]
    if allowed != RLIM_INFINITY and allowed < LEAST_MEMORY * 2**20:
        raise CannotRun(f"the system allows it {allowed >> 20} MB of memory (ulimit -v); it needs {LEAST_MEMORY} MB.")


# -- check, build, verify ----------------------------------------------------------------------------------------------


def _check(given: argparse.Namespace) -> int:
    from flatwise.core.finding import without_notes
    from flatwise.tool import jobs, terminal, workers

    front, paths = _read_named(given.path, partial(_read_to_check, given), given.as_path)
    works = jobs.in_order(front)
    checking = workers.run(jobs.task(jobs.check), works, given.workers)
    results = list(terminal.with_progress(checking, len(works), sys.stderr))
    findings = front.findings + tuple(finding for result in results for finding in result.findings)
    strict = _strict(given, paths)
    show(findings, front.texts, given, strict)
    if sums_up(given):
        every = jobs.with_unread(results, front)
        if len(every) > 1:
            say(terminal.result_table(every, jobs.blocked_jobs(front), build=False))
        done = sum(not (result.refused or result.bug) for result in results)
        checked = f"{done} of {len(every)}" if len(every) > done else f"{done}"
        problems = "" if without_notes(findings) or done < len(every) else ", no problems"
        counts = f", {tally(findings, given)}" if findings else ""
        say(f"{checked} job{'s' * (len(every) != 1)} checked{problems}{counts}.")
    return _stopped(results) or _code(findings, strict)


def _read_to_check(given: argparse.Namespace, paths: Sequence[Path]) -> Front:
    """What `check` judges: files as they stand or with --fix as they then are, and the text on standard input."""
    if not given.fix:
        from flatwise.tool import standard_input

        return standard_input.read_works(paths, given.as_path)
    from flatwise.tool import fix_files

    try:
        front, fixed = fix_files.fix_files(paths)
    except fix_files.Changed as why:
        raise CannotRun(str(why)) from None
    if sums_up(given):
        for name, count in fixed.items():
            say(f"{name}: {count} fix{'es' * (count != 1)} applied.")
    return front


def _build(given: argparse.Namespace) -> int:
    from flatwise.core.finding import has_errors
    from flatwise.tool import jobs, terminal, workers

    front, paths = _read_named(given.path)
    works, strict = jobs.in_order(front), _strict(given, paths)
    blocked = jobs.blocked_jobs(front)
    out = {job: _out(given, front.projects[block.path]) for job, block in front.jobs.items()}
    full = not terminal.unattended(sys.stdout)
    builder = jobs.Builder(front.texts, front.projects, out, blocked, strict, full)
    if not front.jobs and not has_errors(front.findings):
        complain(f"flatwise: nothing to build: there is no job in {', '.join(map(str, given.path))}.")
        return FOUND
    # the sheet's template leaves cycles that hold the plan
    building = workers.run(jobs.task(builder.build, collects=True), works, given.workers)
    results = list(terminal.with_progress(building, len(works), sys.stderr))
    findings = front.findings + tuple(finding for result in results for finding in result.findings)
    show(findings, front.texts, given, strict)
    if sums_up(given):
        every = jobs.with_unread(results, front)
        if len(every) > 1:
            say(terminal.result_table(every, blocked, build=True))
            written = [result for result in results if result.written]
            folders = ", ".join(dict.fromkeys(jobs.from_here(out[result.job]) for result in written))
            say(f"{len(written)} of {len(every)} jobs written{' to ' * bool(folders)}{folders}.")
        else:
            say("".join(result.lines for result in results))
        if findings:
            say(f"{tally(findings, given)}.")
    _depfile(given.depfile, front, results)
    return _stopped(results) or _code(findings, strict)


def _depfile(path: Path | None, front: Front, results: Sequence[JobResult]) -> None:
    """Write which sources the files of each job were made from, if any job was written."""
    from flatwise.tool.jobs import in_order, made_from

    written = [(work, each.written) for work, each in zip(in_order(front), results, strict=True) if each.written]
    if path is None or not written:
        return
    from flatwise.sources.plain_file import put_all
    from flatwise.tool import depfile

    made = [made_from(work, front.projects[work.path], files) for work, files in written]
    try:
        rules = depfile.rules(made)
    except ValueError as why:
        raise CannotRun(f"{path} can't be written: {why}. Rename it.") from None
    path.parent.mkdir(parents=True, exist_ok=True)
    put_all({path: os.fsencode(rules)})
    depfile.touch(made)


def _stopped(results: Sequence[JobResult]) -> int:
    """STOPPED if a job could not be written or met a bug, which this reports; otherwise CLEAN."""
    for result in results:
        if result.refused:
            complain(f"flatwise: {result.refused}")
        if result.bug:
            complain(result.bug)
    return STOPPED if any(result.refused or result.bug for result in results) else CLEAN


def _verify(given: argparse.Namespace) -> int:
    from flatwise.tool.verify_file import verify_file

    path, name = _file_and_job(given.job)
    front = _read([path])
    findings, sentence, program = verify_file(given.program, front, path, name)
    strict = _strict(given, [path])
    if sentence and sums_up(given):
        say(sentence)
    show(findings, {**front.texts, str(given.program): program}, given, strict)
    if findings and sums_up(given):
        say(f"{tally(findings, given)}.")
    return _code(findings, strict)


def _read(paths: Sequence[Path]) -> Front:
    from flatwise.pipeline import read_works

    return read_works(paths)


def _read_named(
    given: Sequence[str], read: Callable[[Sequence[Path]], Front] = _read, as_path: Path | None = None
) -> tuple[Front, list[Path]]:
    """The jobs that each `PATH` and `FILE:NAME` asks for, with everything they use; and the paths alone."""
    from flatwise.sources.paths import shown
    from flatwise.tool.jobs import chosen

    named = [_file_and_job(each) for each in given]
    front, working = read([path for path, _ in named]), Path.cwd().resolve()
    if as_path is not None:
        named = [(as_path if str(path) == STANDARD_INPUT else path, name) for path, name in named]
    for path, name in named:
        if name and name not in front.jobs:
            raise CannotRun(f"{path} has no job or batch {name}. It has: {', '.join(front.jobs) or 'none'}.")
    only: dict[str, set[str]] = {}
    for path, name in named:
        if name and (path, "") not in named:
            only.setdefault(shown(path.resolve(), working), set()).add(name)
    return chosen(front, only), [path for path, _ in named]


def _strict(given: argparse.Namespace, paths: Sequence[Path]) -> bool:
    from flatwise.tool.jobs import project_of

    return bool(given.strict) or any(project_of(path).strict for path in paths)


def _out(given: argparse.Namespace, project: Project) -> Path:
    """The folder that a job's folder goes into: --out, or the project's."""
    from flatwise.sources.paths import below_root

    if given.out is not None:
        return Path(given.out)
    out = below_root(project.root, project.out, project.root)
    if out is None:
        raise CannotRun(
            f"the project's out folder {project.out} lies outside the project. "
            "Name one inside it in the project file, or use --out."
        )
    return out


def _file_and_job(given: str) -> tuple[Path, str]:
    """`FILE` or `FILE:NAME`: the file and the job's name ("" where none is given)."""
    path, colon, name = given.rpartition(":")
    whole = os.path.exists(given) or not colon or not name.isidentifier()
    return (Path(given), "") if whole else (Path(path), name)


def _code(findings: Findings, strict: bool) -> int:
    from flatwise.core.finding import failing

    return FOUND if failing(findings, strict) else CLEAN


# -- format, explain, new, serve ------------------------------------------------------------------------------------


def _format(given: argparse.Namespace) -> int:
    from flatwise.tool.format_files import format_files

    return FOUND if format_files(given) else CLEAN


def _explain(given: argparse.Namespace) -> int:
    from flatwise.tool import explain

    if given.code is None:
        say(explain.listing())
        return CLEAN
    if given.code == "summary":
        from flatwise.report.summary import json_schema

        say(json_schema())
        return CLEAN
    page = explain.page(given.code, colour=coloured(sys.stdout))
    if page is None:
        say(explain.unknown(given.code))
        return FOUND
    say(page, escaped=True)
    return CLEAN


def _compare(given: argparse.Namespace) -> int:
    from flatwise.tool import compare_report
    from flatwise.tool.compare import compare, read_sides
    from flatwise.tool.revisions import NoRevision

    try:
        old, new, unreadable = read_sides(given.old, given.new)
    except NoRevision as why:
        raise CannotRun(str(why)) from None
    if unreadable:
        print(compare_report.unreadable(unreadable), file=sys.stderr)
    compared, bugs = compare(old, new, given.workers)
    shown = {"text": compare_report.text, "json": compare_report.as_json, "markdown": compare_report.markdown}
    sys.stdout.write(shown[given.message](compared))
    for bug in bugs:
        print(bug, file=sys.stderr)
    worse = any(each.verdict == "worse" for each in compared)
    failed = unreadable or (given.fail_on == "worse" and worse) or (given.fail_on == "change" and compared)
    return STOPPED if bugs else FOUND if failed else CLEAN


def _measure(given: argparse.Namespace) -> int:
    from flatwise.model.bed import BatchWork
    from flatwise.tool import jobs
    from flatwise.tool.measure import measure_bed, measure_job

    front, (path,) = _read_named([given.job])
    works = jobs.in_order(front)
    if bare := next((work for work in front.works if work.job.stock.is_bed), None):
        raise CannotRun(f"job {bare.name} skims the machine's own board, which has no survey: nothing to measure.")
    blocked, strict = jobs.blocked_jobs(front), _strict(given, [path])
    results = []
    for work in works:
        out = _out(given, front.projects[work.path])
        how = {"under": bool(given.under), "blocked": work.name in blocked, "strict": strict}
        results.append(measure_bed(work, out, **how) if isinstance(work, BatchWork) else measure_job(work, out, **how))
    findings = front.findings + tuple(finding for result in results for finding in result.findings)
    show(findings, front.texts, given, strict)
    if sums_up(given):
        say("\n".join(result.lines for result in results))
        if findings:
            say(f"{tally(findings, given)}.")
    return _stopped(results) or _code(findings, strict)


def _new(given: argparse.Namespace) -> int:
    from flatwise.tool.new import QUESTIONS, NotWritten, answer, write_new

    options = {option: getattr(given, option) for option in QUESTIONS}
    try:
        say(write_new(given.name, Path.cwd(), options, answer if given.ask else None))
    except NotWritten as why:
        say(str(why))
        return FOUND
    return CLEAN


def _serve(given: argparse.Namespace) -> int:
    if sys.stdin is None:
        raise CannotRun("the language server reads what an editor sends from standard input, which is closed.")
    try:
        from flatwise_lsp.server.stdio import serve
    except ImportError as error:
        raise CannotRun(
            f"the language server can't start: {error.name or 'a part of it'} is missing. Reinstall flatwise."
        ) from error
    return serve()


COMMANDS: Mapping[str, Callable[[argparse.Namespace], int]] = {
    "check": _check,
    "build": _build,
    "verify": _verify,
    "format": _format,
    "explain": _explain,
    "compare": _compare,
    "measure": _measure,
    "new": _new,
    "serve": _serve,
}
