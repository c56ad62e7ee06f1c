"""The process `flatwise`, also `python -m flatwise`: a short life, begun and ended quickly."""

from __future__ import annotations

import contextlib
import gc
import os
import sys
from typing import NoReturn

from flatwise.tool.cli import main


def run() -> NoReturn:
    """Run the command that the arguments name, and end the process with its exit code."""
    serves = sys.argv[1:2] == ["serve"]
    if not serves:
        # a command is over before there is so much to collect that looking for it pays
        gc.disable()
    code = main(sys.argv[1:])
    for stream in (sys.stdout, sys.stderr):
        with contextlib.suppress(OSError, ValueError):
            stream.flush()
    # taking the libraries down one by one gains nothing and takes a tenth of the time of a check
    os._exit(code)


if __name__ == "__main__":
    run()
