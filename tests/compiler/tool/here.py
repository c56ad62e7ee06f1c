"""The command line run in this process: as `test_cli.flatwise`, without the start of another Python for each call."""

from __future__ import annotations

import contextlib
import io
import subprocess
from pathlib import Path

from flatwise.tool import cli


def flatwise(*arguments: str, cwd: Path) -> subprocess.CompletedProcess[str]:
    """What a run in a working folder gives: its exit code, and what it says on both outputs."""
    out, err = io.StringIO(), io.StringIO()
    with contextlib.chdir(cwd), contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        try:
            code = cli.main(arguments)
        except SystemExit as stop:
            code = int(stop.code or 0)
    return subprocess.CompletedProcess(["flatwise", *arguments], code, out.getvalue(), err.getvalue())
