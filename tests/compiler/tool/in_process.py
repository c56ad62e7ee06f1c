"""The command line run in this process, without starting another Python for each call."""

from __future__ import annotations

import contextlib
import io
import subprocess
from pathlib import Path

from flatwise.tool import cli


def flatwise(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    """The exit code and both outputs of a run in a working folder."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.chdir(cwd), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            code = cli.main(arguments)
        except SystemExit as stop:
            code = int(stop.code or 0)
    return subprocess.CompletedProcess(["flatwise", *arguments], code, out.getvalue(), err.getvalue())
