"""The commands of the command line and their options."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NoReturn

from flatwise import __version__

#: the forms of findings: for people, one a line, for programs, and for the CI services of those names
MESSAGES = ("text", "short", "json", "sarif", "github", "gitlab", "junit")

#: the PATH that means standard input
STANDARD_INPUT = "-"

#: the exit code of a tool that could not run
STOPPED = 2


def read_arguments(arguments: Sequence[str]) -> argparse.Namespace:
    """The arguments as values, including `command`.  Raises SystemExit where they are wrong."""
    parser = argparse.ArgumentParser(
        prog="flatwise",
        description="Compile a job file for flattening a glued-up panel to proven G-code and a sheet for the machine.",
        epilog="Exit codes: 0 no errors, 1 errors, 2 the tool could not run.",
        allow_abbrev=False,
    )
    # the shell asks what may follow (see argcomplete)
    completing = "_ARGCOMPLETE" in os.environ
    parser.add_argument("--version", action="version", version=f"flatwise {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True, dest="command")
    for name, (help, fill) in COMMANDS.items():
        command = commands.add_parser(name, help=help, description=help, allow_abbrev=False)
        # setting up the options of the other commands would only take time
        if name in arguments or completing:
            fill(command)
    if completing:
        from flatwise.tool.shell_completion import complete

        complete(parser)
    word = next((each for each in arguments if not each.startswith("-")), None)
    if word is not None and word not in COMMANDS:
        _stop(parser, f"There is no command {word}. {_suggestion(word)}")
    # `-:NAME` is a job on standard input, and no option
    arguments = [f"./{each}" if each.startswith(f"{STANDARD_INPUT}:") else each for each in arguments]
    given, more = parser.parse_known_args(arguments)
    if more:
        _stop(parser, _unexpected(given.command, more[0]))
    if conflict := _conflict(given):
        _stop(parser, conflict)
    return given


def _stop(parser: argparse.ArgumentParser, why: str) -> NoReturn:
    from flatwise.report.messages import visible

    parser.exit(STOPPED, f"flatwise: {visible(why)}\n")


def _conflict(given: argparse.Namespace) -> str:
    """The fault of options that can't go together, "" if there is none."""
    if "path" not in given:
        return ""
    standard_input = any(each == STANDARD_INPUT or each.startswith(f"./{STANDARD_INPUT}:") for each in given.path)
    if "watch" in given and given.watch:
        if given.message not in ("text", "short"):
            return f"--watch prints the findings again and again, which {given.message} can't: use text or short."
        if standard_input:
            return "--watch waits for changes of files, and - is none. Name a file or a folder."
        if "fix" in given and given.fix:
            return "--fix changes the files that --watch waits for. Use one of the two."
    if "as_path" not in given:
        return ""
    if not standard_input:
        return "--as names the text on standard input: give - as PATH." if given.as_path else ""
    if given.command == "format" and len(given.path) > 1:
        return "`flatwise format -` formats standard input alone: leave the other paths out."
    return "--fix changes files, and - is none. Name a file." if given.command == "check" and given.fix else ""


def _suggestion(word: str) -> str:
    """A suggestion for a word that is not a command."""
    from difflib import get_close_matches

    if word.upper().startswith("FW") and word[2:].isdecimal():
        return f"`flatwise explain {word}` explains the code."
    if Path(word).exists():
        return f"Put a command before the path, such as `flatwise check {word}`."
    near = get_close_matches(word, COMMANDS, n=1)
    return f"Did you mean `flatwise {near[0]}`?" if near else f"The commands are {', '.join(COMMANDS)}."


def _unexpected(command: str, extra: str) -> str:
    """The error for an argument that a command does not take."""
    from difflib import get_close_matches

    help = f"`flatwise {command} --help` shows its arguments."
    if not extra.startswith("-"):
        return f"`flatwise {command}` does not take {extra} as well. {help}"
    alone = argparse.ArgumentParser(add_help=False)
    COMMANDS[command][1](alone)
    options = [option for action in alone._actions for option in action.option_strings]
    near = get_close_matches(extra.partition("=")[0], options, n=1)
    return f"`flatwise {command}` has no option {extra}. {f'Did you mean {near[0]}?' if near else help}"


def _count(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError("must be a whole number of at least 1")
    return int(text)


def _reporting(to: argparse.ArgumentParser) -> None:
    to.add_argument("--message", choices=MESSAGES, default="text", help="format of the findings")
    to.add_argument("--strict", action="store_true", help="treat warnings as errors")
    more_or_less = to.add_mutually_exclusive_group()
    more_or_less.add_argument(
        "--notes", action="store_true", help="print notes as well (json and sarif always have them)"
    )
    more_or_less.add_argument("-q", "--quiet", action="store_true", help="print errors only, and no summary")


def _workers(to: argparse.ArgumentParser) -> None:
    to.add_argument("--workers", type=_count, metavar="N", help="number of processes (default: one for each processor)")


def _watch(to: argparse.ArgumentParser) -> None:
    to.add_argument("--watch", action="store_true", help="run again after every change of a file, until Ctrl-C")


def _paths(to: argparse.ArgumentParser, more: str) -> None:
    to.add_argument("path", nargs="+", metavar="PATH", help=f"a job file or a folder; {more}")


def _standard_input(to: argparse.ArgumentParser) -> None:
    to.add_argument(
        "--as",
        dest="as_path",
        type=Path,
        metavar="PATH",
        help="the file that - stands for, in messages and `use` lines",
    )


def _check(to: argparse.ArgumentParser) -> None:
    _paths(to, "FILE:NAME is one job or batch, - is standard input, -:NAME one job of it")
    _standard_input(to)
    to.add_argument("--fix", action="store_true", help="first apply the safe fixes, which only mend spelling")
    _reporting(to)
    _workers(to)
    _watch(to)


def _build(to: argparse.ArgumentParser) -> None:
    _paths(to, "FILE:NAME is one job or batch")
    _reporting(to)
    _workers(to)
    to.add_argument("--out", type=Path, metavar="DIR", help="folder for the jobs' own folders (default: out)")
    to.add_argument("--depfile", type=Path, metavar="FILE", help="also write the dependencies of the files, for Make")
    _watch(to)


def _verify(to: argparse.ArgumentParser) -> None:
    to.add_argument("program", type=Path, metavar="PROGRAM", help="a G-code file")
    to.add_argument("--job", required=True, metavar="FILE[:NAME]", help="the job file, and a job's or batch's name")
    _reporting(to)


def _format(to: argparse.ArgumentParser) -> None:
    _paths(to, "- is standard input")
    _standard_input(to)
    to.add_argument("--check", action="store_true", help="only list the files that would change")
    to.add_argument("--diff", action="store_true", help="only print the changes, as a unified diff")
    to.add_argument("--upgrade", action="store_true", help="first rewrite the words of flatwise 1.0")
    to.add_argument("-q", "--quiet", action="store_true", help="do not list the files")


def _explain(to: argparse.ArgumentParser) -> None:
    to.add_argument("code", nargs="?", metavar="CODE", help="a code such as FW501, or `summary`")


def _compare(to: argparse.ArgumentParser) -> None:
    for name in ("old", "new"):
        to.add_argument(name, metavar=name.upper(), help="a job file, a folder, or either at a git revision: REV:path")
    to.add_argument("--message", choices=("text", "json", "markdown"), default="text", help="format of the result")
    _workers(to)
    to.add_argument("--fail-on", choices=("worse", "change"), help="exit 1 if a job is worse, or differs")


def _measure(to: argparse.ArgumentParser) -> None:
    to.add_argument("job", metavar="FILE[:JOB]", help="the job file, and the name of one job or batch")
    to.add_argument("--under", action="store_true", help="measure the other face, with the panel turned over")
    to.add_argument("--out", type=Path, metavar="DIR", help="folder for the jobs' own folders (default: out)")
    _reporting(to)


def _new(to: argparse.ArgumentParser) -> None:
    to.add_argument("name", metavar="NAME", help="name of the job")
    to.add_argument("--size", default="", metavar="'L x W x T'", help="length x width x nominal thickness of the panel")
    to.add_argument("--left", default="", metavar="T", help="thickness of the finished panel")
    for word in ("wood", "machine", "cutter", "standard"):
        to.add_argument(f"--{word}", default="", metavar="NAME", help=f"name of the {word} in the files of shared/")
    to.add_argument("--ask", action="store_true", help="ask for everything that is not given, then for each reading")


def _serve(to: argparse.ArgumentParser) -> None:
    """No arguments."""


COMMANDS: dict[str, tuple[str, Callable[[argparse.ArgumentParser], None]]] = {
    "check": ("Check jobs and report what is wrong with them; write nothing.", _check),
    "build": ("Check jobs, then write their programs, sheet and summary.", _build),
    "verify": ("Simulate a program and compare it with the job's plan.", _verify),
    "format": ("Format job files.", _format),
    "explain": (
        "Explain a code, list all codes, or print the JSON Schema of summary.json.",
        _explain,
    ),
    "compare": ("Show what a change of the text changes at the machine.", _compare),
    "measure": ("Write the form for the readings of a panel, and a program that takes a dial gauge over it.", _measure),
    "new": ("Write a new job, its survey to fill in, to jobs/NAME.flat.", _new),
    "serve": ("Run the language server on standard input and output.", _serve),
}
