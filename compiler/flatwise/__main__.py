"""The entry point of `flatwise` and `python -m flatwise`, with a quick start and exit."""

from __future__ import annotations

import contextlib
import gc
import os
import sys
from typing import NoReturn

from flatwise.tool.cli import main


def run() -> NoReturn:
    """Run the command in the arguments, and end the process with its exit code."""
    _replace_closed_streams()
    # whatever else is installed has no say in what is valid
    os.environ["PYDANTIC_DISABLE_PLUGINS"] = "__all__"
    serves = sys.argv[1:2] == ["serve"]
    if not serves:
        # a command ends before garbage collection would be worth its time
        gc.disable()
    code = main(sys.argv[1:])
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    # tearing down the libraries gains nothing and takes a tenth of the time of a check
    os._exit(code)


def _replace_closed_streams() -> None:
    """Discard what is written to a closed stream.

    The null device takes its place first: else the next file that is opened would get its number, and with it all that
    a library writes there.  `sys.stdin` stays None, so that nothing is taken for an empty input.
    """
    for number in range(3):
        try:
            os.fstat(number)
        except OSError:
            os.open(os.devnull, os.O_RDWR)  # takes the lowest free number, which is this one
    sys.stdout = sys.stdout or os.fdopen(1, "w", closefd=False)
    sys.stderr = sys.stderr or os.fdopen(2, "w", closefd=False)


if __name__ == "__main__":
    run()
