"""What the command line takes: the commands and their options."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from pathlib import Path

from flatwise import __version__

#: the exit code of a tool that could not run
STOPPED = 2


def read_arguments(arguments: Sequence[str]) -> argparse.Namespace:
    """The arguments as values, `command` among them; ends the process by SystemExit where they make no sense."""
    parser = argparse.ArgumentParser(
        prog="flatwise",
        description="Flatten a glued-up panel: a job as text, checked, compiled to proven programs and a sheet.",
        epilog="Exit codes: 0 clean, 1 findings, 2 the tool could not run.",
        allow_abbrev=False,
    )
    parser.add_argument("--version", action="version", version=f"flatwise {__version__}")
    commands = parser.add_subparsers(title="commands", metavar="COMMAND", required=True, dest="command")
    for name, (help, fill) in COMMANDS.items():
        command = commands.add_parser(name, help=help, description=help, allow_abbrev=False)
        # only the options of the command that is meant are of use
        if name in arguments:
            fill(command)
    word = next((each for each in arguments if not each.startswith("-")), None)
    if word is not None and word not in COMMANDS:
        parser.exit(STOPPED, f"flatwise: There is no command {word}. {_meant(word)}\n")
    given, more = parser.parse_known_args(arguments)
    if more:
        parser.exit(STOPPED, f"flatwise: {_too_much(given.command, more[0])}\n")
    return given


def _meant(word: str) -> str:
    """The way out for somebody who wrote a word that is no command."""
    from difflib import get_close_matches

    if word.upper().startswith("FW") and word[2:].isdecimal():
        return f"`flatwise explain {word}` prints the page of a code."
    if Path(word).exists():
        return f"Say what to do with it, such as `flatwise check {word}`."
    near = get_close_matches(word, COMMANDS, n=1)
    return f"Did you mean `flatwise {near[0]}`?" if near else f"The commands are {', '.join(COMMANDS)}."


def _too_much(command: str, extra: str) -> str:
    """What to say of something that a command does not take."""
    from difflib import get_close_matches

    help = f"`flatwise {command} --help` says what it takes."
    if not extra.startswith("-"):
        return f"{extra} is one word too many for `flatwise {command}`. {help}"
    alone = argparse.ArgumentParser(add_help=False)
    COMMANDS[command][1](alone)
    options = [option for action in alone._actions for option in action.option_strings]
    near = get_close_matches(extra.partition("=")[0], options, n=1)
    return f"`flatwise {command}` has no option {extra}. {f'Did you mean {near[0]}?' if near else help}"


def _count(text: str) -> int:
    if not text.isdecimal() or int(text) < 1:
        raise argparse.ArgumentTypeError("a whole number of at least 1 is due")
    return int(text)


def _judging(to: argparse.ArgumentParser) -> None:
    to.add_argument("--message", choices=("text", "json", "sarif"), default="text", help="how findings are shown")
    to.add_argument("--strict", action="store_true", help="a warning counts as a finding")


def _workers(to: argparse.ArgumentParser) -> None:
    to.add_argument("--workers", type=_count, metavar="N", help="processes (default: one for each processor)")


def _check(to: argparse.ArgumentParser) -> None:
    to.add_argument("path", nargs="+", type=Path, metavar="PATH", help="a job file, or a folder of them")
    _judging(to)
    _workers(to)


def _build(to: argparse.ArgumentParser) -> None:
    _check(to)
    to.add_argument("--out", type=Path, metavar="DIR", help="where the folders of the jobs go (default: out)")
    to.add_argument("--depfile", type=Path, metavar="FILE", help="write which files they were made from, for Make")


def _verify(to: argparse.ArgumentParser) -> None:
    to.add_argument("program", type=Path, metavar="PROGRAM")
    to.add_argument("--job", required=True, metavar="FILE[:NAME]", help="the job file, and which job of several")
    _judging(to)


def _format(to: argparse.ArgumentParser) -> None:
    to.add_argument("path", nargs="+", type=Path, metavar="PATH", help="a job file, or a folder of them")
    to.add_argument("--check", action="store_true", help="only say which files would change")


def _explain(to: argparse.ArgumentParser) -> None:
    to.add_argument("code", nargs="?", metavar="CODE", help="a code such as FW501, or `summary` for a JSON Schema")


def _compare(to: argparse.ArgumentParser) -> None:
    for name in ("old", "new"):
        to.add_argument(name, metavar=name.upper(), help="a job file, a folder, or either at a revision: REV:path")
    to.add_argument("--message", choices=("text", "json", "markdown"), default="text", help="how it is shown")
    _workers(to)
    to.add_argument("--fail-on", choices=("worse", "change"), help="exit 1 where a job is worse, or differs")


def _new(to: argparse.ArgumentParser) -> None:
    to.add_argument("name", metavar="NAME")
    to.add_argument("--size", default="", metavar="'L x W x T'", help="length x width x nominal thickness")
    to.add_argument("--left", default="", metavar="T", help="the thickness that must be left")
    for word in ("wood", "machine", "cutter", "standard"):
        to.add_argument(f"--{word}", default="", metavar="NAME", help=f"the {word}, as the files of shared/ call it")
    to.add_argument("--ask", action="store_true", help="ask for all that is not given")


def _serve(to: argparse.ArgumentParser) -> None:
    """Takes nothing."""


COMMANDS: dict[str, tuple[str, Callable[[argparse.ArgumentParser], None]]] = {
    "check": ("Work jobs out and say what is wrong with them; write nothing.", _check),
    "build": ("Check jobs, then write their programs, sheet and summary.", _build),
    "verify": ("Cut a program in memory and compare it with the job's plan.", _verify),
    "format": ("Lay job files out in the one style.", _format),
    "explain": (
        "Explain a code, list all codes, or print the JSON Schema of summary.json.",
        _explain,
    ),
    "compare": ("Say what a change of text does to the work.", _compare),
    "new": ("Write a first job to jobs/NAME.flat.", _new),
    "serve": ("Serve an editor over standard input and output.", _serve),
}
