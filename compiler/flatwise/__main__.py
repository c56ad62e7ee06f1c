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


if __name__ == "__main__":
    run()
