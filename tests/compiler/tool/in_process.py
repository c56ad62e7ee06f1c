"""The command line run in this process, without starting another Python for each call."""

from __future__ import annotations

import contextlib
import io
import subprocess
from pathlib import Path
from unittest import mock

from flatwise.tool import cli


def flatwise(*arguments: str, cwd: Path, given: bytes | None = None) -> subprocess.CompletedProcess[str]:
    """The exit code and both outputs of a run in a working folder, with `given` on standard input."""
    out, err = (io.TextIOWrapper(io.BytesIO(), "utf-8", newline="", write_through=True) for _ in range(2))
    with (
        contextlib.chdir(cwd),
        contextlib.redirect_stdout(out),
        contextlib.redirect_stderr(err),
        contextlib.nullcontext() if given is None else mock.patch("sys.stdin", io.TextIOWrapper(io.BytesIO(given))),
    ):
        try:
            code = cli.main(arguments)
        except SystemExit as stop:
            code = int(stop.code or 0)
    return subprocess.CompletedProcess(["flatwise", *arguments], code, *(_text(stream) for stream in (out, err)))


def _text(stream: io.TextIOWrapper) -> str:
    written = stream.buffer
    assert isinstance(written, io.BytesIO)
    return written.getvalue().decode("utf-8")
