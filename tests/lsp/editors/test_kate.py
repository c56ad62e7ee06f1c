"""Kate with the set-up of `lsp/editors/kate`: it knows the file by its highlighting and starts the server for it."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]
SETUP = ROOT / "lsp" / "editors" / "kate"
#: stands for `flatwise`: keeps what the server sends
KEEPING = """#!/bin/sh
"{python}" -m flatwise "$@" | tee -a "{sent}"
"""


@pytest.mark.nightly
@pytest.mark.skipif(not (shutil.which("kate") and shutil.which("dbus-run-session")), reason="Kate is not installed")
def test_kate_starts_the_server_which_finds_an_error(shop: Path, tmp_path: Path) -> None:
    text = (ROOT / "jobs" / "lamp_table.flat").read_text("utf-8").replace("stepover  auto", "stepovr  auto")
    (shop / "jobs" / "lamp_table.flat").write_text(text, "utf-8")
    home, sent = tmp_path / "home", tmp_path / "sent"
    settings, binaries = home / ".config" / "kate" / "lspclient", home / "bin"
    syntax = home / ".local" / "share" / "org.kde.syntax-highlighting" / "syntax"
    for folder in (settings, syntax, binaries, home / "run"):
        folder.mkdir(parents=True, mode=0o700)
    shutil.copy(SETUP / "flatwise.xml", syntax)
    shutil.copy(SETUP / "servers.json", settings / "settings.json")
    program = binaries / "flatwise"
    program.write_text(KEEPING.format(python=sys.executable, sent=sent), "utf-8")
    program.chmod(0o755)
    # the question whether it may start this command is answered already
    allowed = f"[lspclient]\nAllowedServerCommandLines={program} serve,flatwise serve\n"
    (home / ".config" / "katerc").write_text(f"[Kate Plugins]\nlspclientplugin=true\n\n{allowed}", "utf-8")
    surroundings = {
        **os.environ,
        "HOME": str(home),
        "PATH": f"{binaries}{os.pathsep}{os.environ['PATH']}",
        "XDG_RUNTIME_DIR": str(home / "run"),
        "QT_QPA_PLATFORM": "offscreen",
    }
    command = ["dbus-run-session", "kate", "--startanon", "jobs/lamp_table.flat"]
    quiet = subprocess.DEVNULL
    kate = subprocess.Popen(command, cwd=shop, env=surroundings, stdout=quiet, stderr=quiet, start_new_session=True)
    try:
        soon = time.monotonic() + 60
        while not (sent.exists() and b'"FW101"' in sent.read_bytes()):
            assert time.monotonic() < soon and kate.poll() is None
            time.sleep(0.2)
    finally:
        os.killpg(kate.pid, 15)
        kate.wait()
