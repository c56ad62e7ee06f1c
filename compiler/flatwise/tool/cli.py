"""The command line: `flatwise check`, `build`, `verify`, `format`, `explain`, `compare`, `new`, `serve`.

Exit 0: clean (warnings allowed, unless `--strict`).  1: findings.  2: the tool could not run.
Findings go to standard output, what stops the tool to standard error.  Everything heavy is imported by the
command that uses it, so that each starts quickly.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Callable, Mapping, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from flatwise.tool import failure as faults
from flatwise.tool.arguments import STOPPED, read_arguments

if TYPE_CHECKING:
    from flatwise.core.finding import Finding, Findings
    from flatwise.model.stages import Work
    from flatwise.pipeline import Front
    from flatwise.sources.project import Project
    from flatwise.tool.runs import Outcome

CLEAN, FOUND = 0, 1


class Stop(Exception):
    """The tool can't go on; the text says why and what to do, for a person."""


def main(arguments: Sequence[str]) -> int:
    """Run one command and give its exit code.  Raises nothing but SystemExit from the parsing of arguments."""
    # numpy's pool of threads takes 50 ms to start and gains nothing on matrices of three rows
    os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
    for stream in (sys.stdout, sys.stderr):
        # a terminal that can't show a letter shows its code instead
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")
    try:
        given = read_arguments(arguments)
        if given.command in ("check", "build", "verify"):
            _libraries()
        code: int = RUNS[given.command](given)
        sys.stdout.flush()
        return code
    except Stop as stop:
        _complain(f"flatwise: {stop}")
    except BrokenPipeError:
        # the reader went away (`| head`); nothing more can be said to it, and Python must not try at exit
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
    except KeyboardInterrupt:
        print("flatwise: stopped from the keyboard; nothing was left half written.", file=sys.stderr)
    except OSError as error:
        _complain(f"flatwise: {faults.reason(error)}")
    except Exception as error:
        _complain(faults.report(error))
    return STOPPED


# -- check, build, verify ------------------------------------------------------------------------------------------


def _libraries() -> None:
    """Load what the work needs from up here: deep in other imports numpy's takes four times as long.

    Where Python's stack of frames fills a chunk, each call gets and gives back the next one, and numpy's types are
    thousands of calls.
    """
    from importlib import import_module

    for library in ("numpy", "pydantic.fields", "pydantic.main"):
        import_module(library)


def _check(given: argparse.Namespace) -> int:
    from flatwise.report.progress import watched
    from flatwise.tool import runs as many

    front = _read(given.path)
    outcomes = list(
        watched(many.run(many.check, front.works, many.failed, given.workers), len(front.works), sys.stderr)
    )
    findings = front.findings + tuple(finding for each in outcomes for finding in each.findings)
    _show(findings, front.texts, given.message)
    if given.message == "text":
        every = many.with_unread(outcomes, front)
        if len(every) > 1:
            _say(many.table(every, many.held(front), build=False))
        jobs = f"{len(outcomes)} of {len(every)}" if len(every) > len(outcomes) else f"{len(outcomes)}"
        _say(f"{_verdict(findings)}; {jobs} job{'s' * (len(every) != 1)} could be read.")
    return _stopped(outcomes) or _code(findings, _strict(given, given.path))


def _build(given: argparse.Namespace) -> int:
    from flatwise.report.progress import quiet, watched
    from flatwise.tool import runs as many

    front, strict = _read(given.path), _strict(given, given.path)
    spoiled = many.held(front)
    out = {job: _out(given, front.projects[block.path]) for job, block in front.jobs.items()}
    task = many.Build(front.texts, front.projects, out, spoiled, strict, full=not quiet(sys.stdout))
    outcomes = list(watched(many.run(task.job, front.works, many.failed, given.workers), len(front.works), sys.stderr))
    findings = front.findings + tuple(finding for each in outcomes for finding in each.findings)
    _show(findings, front.texts, given.message)
    if given.message == "text":
        every = many.with_unread(outcomes, front)
        if len(every) > 1:
            _say(many.table(every, spoiled, build=True))
            written = [each for each in outcomes if each.written]
            folders = ", ".join(dict.fromkeys(many.near(out[each.job]) for each in written))
            _say(f"{len(written)} of {len(every)} jobs written{' to ' * bool(folders)}{folders}.")
        else:
            _say("".join(each.lines for each in outcomes))
        if findings:
            _say(_verdict(findings) + ".")
    _depfile(given.depfile, front, outcomes)
    return _stopped(outcomes) or _code(findings, strict)


def _depfile(path: Path | None, front: Front, outcomes: Sequence[Outcome]) -> None:
    """Say which sources the files of every written job were made from; where none was written, leave it as it is."""
    made = [(work, each.written) for work, each in zip(front.works, outcomes, strict=True) if each.written]
    if path is None or not made:
        return
    from flatwise.tool import depfile
    from flatwise.tool import runs as many
    from flatwise.tool.outputs import put

    try:
        rules = depfile.rules(many.made_from(work, front.projects[work.path], written) for work, written in made)
    except ValueError as why:
        raise Stop(f"{path} can't be written: {why}. Rename it.") from None
    path.parent.mkdir(parents=True, exist_ok=True)
    put(path, os.fsencode(rules))


def _stopped(outcomes: Sequence[Outcome]) -> int:
    """STOPPED where a job could not be written or met a fault of the tool itself, which is said; else CLEAN."""
    for each in outcomes:
        if each.refused:
            _complain(f"flatwise: {each.refused}")
        if each.fault:
            _complain(each.fault)
    return STOPPED if any(each.refused or each.fault for each in outcomes) else CLEAN


def _verify(given: argparse.Namespace) -> int:
    from flatwise.core.finding import Finding, has_errors
    from flatwise.core.units import show
    from flatwise.pipeline import work_out
    from flatwise.verify import header, judge

    path, name = _job_of(given.job)
    program, findings = _bytes(given.program)
    front = _read([path])
    findings += front.findings
    if not has_errors(findings):
        meant = _meant(front, path, name or header(program).get("job", ""), given.program)
        plan, found = (None, (meant,)) if isinstance(meant, Finding) else work_out(meant)[:2]
        findings += found
        if plan is not None and not has_errors(findings):
            proof, judged = judge(program, str(given.program), plan)
            findings += judged
            if given.message == "text" and proof is not None and not has_errors(judged):
                _say(
                    f"{given.program} does what {plan.work.name} plans: {proof.program_moves} moves, deepest bite "
                    f"{show(proof.deepest_bite)}, nothing hit, nothing left above the plane."
                )
    texts = {**front.texts, str(given.program): program.decode("latin-1")}
    _show(findings, texts, given.message)
    if findings and given.message == "text":
        _say(_verdict(findings) + ".")
    return _code(findings, _strict(given, [path]))


def _meant(front: Front, path: Path, name: str, program: Path) -> Work | Finding:
    """The job that a program is for: the one named, else one that its path names, else the only one."""
    from flatwise.findings.fw902_not_as_planned import departs

    works = {work.name: work for work in front.works}
    if name in works:
        return works[name]
    near = [works[part] for part in (program.stem, program.resolve().parent.name) if part in works]
    if not name and (near or len(works) == 1):
        return (near or list(works.values()))[0]
    said = f"is for job `{name}`" if name else "does not say which job it is for"
    has = ", ".join(f"`{each}`" for each in works) or "no job"
    return departs(f"The program {said}, and {path} has {has}.", None, f"Name the job with --job {path}:NAME.")


def _read(paths: Sequence[Path]) -> Front:
    from flatwise.pipeline import read_works

    return read_works(paths)


def _strict(given: argparse.Namespace, paths: Sequence[Path]) -> bool:
    from flatwise.tool.runs import project_of

    return bool(given.strict) or any(project_of(path).strict for path in paths)


def _out(given: argparse.Namespace, project: Project) -> Path:
    """The folder that a job's folder goes into: --out, else the project's."""
    from flatwise.sources.load import below_root

    if given.out is not None:
        return Path(given.out)
    out = below_root(project.root, project.out, project.root)
    if out is None:
        raise Stop(
            f"the project's out folder {project.out} leads out of the project. "
            "Name one inside it in the project file, or give --out."
        )
    return out


def _bytes(path: Path) -> tuple[bytes, Findings]:
    """A program as it stands on the disk, or the finding that says why it can't be read."""
    from flatwise.sources.load import POINTS_LIMIT, unreadable

    problem = unreadable(path.resolve(), str(path), None, POINTS_LIMIT)
    return (b"", (problem,)) if problem is not None else (path.read_bytes(), ())


def _job_of(given: str) -> tuple[Path, str]:
    """`FILE` or `FILE:NAME`: the file and the job's name ("" where none is given)."""
    path, colon, name = given.rpartition(":")
    whole = Path(given).exists() or not colon or not name.isidentifier()
    return (Path(given), "") if whole else (Path(path), name)


def _show(findings: Findings, texts: Mapping[str, str], form: str) -> None:
    from flatwise.report import messages

    if form == "json":
        sys.stdout.write(messages.json_lines(findings, texts))
    elif form == "sarif":
        from flatwise.report.sarif import sarif

        sys.stdout.write(sarif(findings, texts))
    elif findings:
        _say(messages.text(findings, texts, colour=_coloured()))


def _verdict(findings: Findings) -> str:
    from flatwise.report.messages import tally

    return tally(findings) or "No findings"


def _code(findings: Findings, strict: bool) -> int:
    from flatwise.core.finding import has_errors

    return FOUND if has_errors(findings) or (strict and findings) else CLEAN


def _coloured() -> bool:
    """Colour only where a person looks, and not against their word (no-color.org's variable)."""
    return sys.stdout.isatty() and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def _say(text: str) -> None:
    print(text.rstrip("\n"))


def _complain(text: str) -> None:
    """Say what stops the tool; a path in it can't steer the terminal."""
    from flatwise.report.messages import visible

    print(visible(text), file=sys.stderr)


# -- format, explain, new, serve ------------------------------------------------------------------------------------


def _format(given: argparse.Namespace) -> int:
    from flatwise.report.messages import visible
    from flatwise.sources.load import load
    from flatwise.tool.outputs import put
    from flatwise_grammar import format_text

    loaded, found = load(given.path)
    # only what is wrong with the text itself: a missing `use` is no matter of layout
    findings = tuple(each for each in found if each.code < "FW1")
    changed = 0
    for name in loaded.asked:
        source = loaded.sources[name]
        tidy = format_text(source.text)
        if tidy != source.text:
            changed += 1
            if not given.check:
                put(source.path, tidy.encode("utf-8"))
            _say(f"{visible(name)}: {'would be laid out anew' if given.check else 'laid out anew'}.")
    _show(findings, loaded.texts, "text")
    return FOUND if findings or (given.check and changed) else CLEAN


def _explain(given: argparse.Namespace) -> int:
    from flatwise.tool import explain

    if given.code is None:
        _say(explain.listing())
        return CLEAN
    if given.code == "summary":
        from flatwise.report.summary import json_schema

        _say(json_schema())
        return CLEAN
    page = explain.page(given.code, colour=_coloured())
    if page is None:
        _say(explain.unknown(given.code))
        return FOUND
    _say(page)
    return CLEAN


def _compare(given: argparse.Namespace) -> int:
    from flatwise.tool import compare_report as shown
    from flatwise.tool.compare import compare
    from flatwise.tool.compare_sides import NoRevision, sides

    try:
        old, new, lost = sides(given.old, given.new)
    except NoRevision as why:
        raise Stop(str(why)) from None
    if lost:
        print(shown.lost(lost), file=sys.stderr)
    compared, faults_met = compare(old, new, given.workers)
    show = {"text": shown.text, "json": shown.as_json, "markdown": shown.markdown}[given.message]
    sys.stdout.write(show(compared))
    for fault in faults_met:
        print(fault, file=sys.stderr)
    worse = any(each.verdict == "worse" for each in compared)
    failed = lost or (given.fail_on == "worse" and worse) or (given.fail_on == "change" and compared)
    return STOPPED if faults_met else FOUND if failed else CLEAN


def _new(given: argparse.Namespace) -> int:
    from flatwise.tool.new import NoJob, Wish, answer, write_new

    wish = Wish(*(getattr(given, word) for word in Wish._fields))
    try:
        _say(write_new(given.name, Path.cwd(), wish, answer if given.ask else None))
    except NoJob as why:
        _say(str(why))
        return FOUND
    return CLEAN


def _serve(given: argparse.Namespace) -> int:
    from importlib import import_module

    try:
        server = import_module("flatwise_lsp.server.stdio")
    except ImportError as error:
        raise Stop(
            f"the language server can't start, {error.name or 'a part of it'} is missing. Install flatwise again."
        ) from error
    return int(server.serve() or 0)


RUNS: Mapping[str, Callable[[argparse.Namespace], int]] = {
    "check": _check,
    "build": _build,
    "verify": _verify,
    "format": _format,
    "explain": _explain,
    "compare": _compare,
    "new": _new,
    "serve": _serve,
}
