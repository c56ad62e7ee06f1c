"""What the command line takes: the commands and their options."""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from pathlib import Path

from flatwise import __version__


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
    return parser.parse_args(arguments)


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
    to.add_argument("code", nargs="?", metavar="CODE")


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
    "explain": ("Print the page of a code; without one, list all codes.", _explain),
    "compare": ("Say what a change of text does to the work.", _compare),
    "new": ("Write a first job to jobs/NAME.flat.", _new),
    "serve": ("Serve an editor over standard input and output.", _serve),
}
