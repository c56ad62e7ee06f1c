"""Completion in a shell: commands, options, words that are choices, job files, programs and codes."""

from __future__ import annotations

import argparse
import os
from collections.abc import Callable, Iterator
from pathlib import Path

import argcomplete

_Offer = Callable[..., Iterator[str]]


def complete(parser: argparse.ArgumentParser) -> None:
    """Answer the shell, which asks through variables of the environment, and end the process."""
    for action in _actions(parser):
        offer = _OFFERS.get(str(action.metavar), lambda **_: iter(()))
        if action.choices is None:
            # argcomplete reads it there
            action.completer = offer  # type: ignore[attr-defined]
    # options only after a dash: before it come the files
    argcomplete.autocomplete(parser, always_complete_options=False)


def _actions(parser: argparse.ArgumentParser) -> Iterator[argparse.Action]:
    for action in parser._actions:
        if isinstance(action, argparse._SubParsersAction):
            for command in action.choices.values():
                yield from _actions(command)
        else:
            yield action


def _files(suffix: str | None) -> _Offer:
    """Files with a suffix ("" for all, None for none) and folders, which end in `/` so that one can go on."""

    def offer(prefix: str, **_: object) -> Iterator[str]:
        folder, begun = os.path.split(prefix)
        try:
            entries = sorted(os.scandir(Path(folder).expanduser()), key=lambda entry: entry.name)
        except OSError:
            return
        for entry in entries:
            if not entry.name.startswith(begun) or (entry.name.startswith(".") and not begun):
                continue
            if entry.is_dir():
                yield os.path.join(folder, entry.name) + "/"
            elif suffix is not None and entry.name.endswith(suffix):
                yield os.path.join(folder, entry.name)

    return offer


def _codes(**_: object) -> Iterator[str]:
    from flatwise.findings import pages

    yield from (*pages.codes(), "summary")


_JOBS = _files(".flat")
#: what may stand for each placeholder in the help; nothing is offered for the others
_OFFERS: dict[str, _Offer] = {
    "PATH": _JOBS,
    "FILE[:NAME]": _JOBS,
    "FILE[:JOB]": _JOBS,
    "OLD": _JOBS,
    "NEW": _JOBS,
    "PROGRAM": _files(".nc"),
    "FILE": _files(""),
    "DIR": _files(None),
    "CODE": _codes,
}
