"""A project folder made by an attacker, and a way to record what a program does in it."""

from __future__ import annotations

import json
import os
import sys
from pathlib import Path

SECRET = "machine secret_of_another { travel 1mm x 1mm x 1mm }"

JOB = """\
use "../shared/shop.flat"
use "../shared/sample.flat"

job tray from plain_top {{ survey {{ twist 0mm; cup 0mm hollow; bow 0mm hollow; {readings} }}; {more} }}
"""

#: a start script for flatwise that records every file, process and connection that it opens
WATCH = """
import os, sys
note = os.open({log!r}, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
def watch(event, given):
    if event == "open":
        path, mode, flags = given
        writes = (isinstance(mode, str) and any(one in mode for one in "wax+")) or (
            isinstance(flags, int) and flags & (os.O_WRONLY | os.O_RDWR | os.O_CREAT))
        if not isinstance(path, int):
            os.write(note, ("write " if writes else "read ").encode() + os.fsencode(path).hex().encode() + b"\\n")
    elif event.split(".")[0] in ("subprocess", "ftplib", "urllib", "http", "smtplib", "webbrowser", "pty") or event in (
        "os.system", "os.exec", "os.posix_spawn", "os.spawn", "os.fork", "os.forkpty", "os.startfile",
        "socket.connect", "socket.bind", "socket.getaddrinfo", "socket.gethostbyname", "socket.sendto",
        "os.rename", "os.remove", "os.rmdir", "os.link", "os.symlink", "os.chmod", "os.truncate", "os.mkdir",
    ):
        os.write(note, (event + " ").encode() + ascii(given).encode().hex().encode() + b"\\n")
sys.addaudithook(watch)
sys.argv[0] = "flatwise"
from flatwise.__main__ import run
run()
"""


def job(shop: Path, readings: str = "", more: str = "") -> Path:
    """Write a valid job into a project, with more readings and words."""
    path = shop / "jobs" / "tray.flat"
    path.write_text(JOB.format(readings=readings, more=more), encoding="utf-8")
    return path


def watched(log: Path) -> list[str]:
    """A command that runs flatwise and records what it does in `log`."""
    return [sys.executable, "-P", "-c", WATCH.format(log=str(log))]


def notes(log: Path) -> list[tuple[str, str]]:
    """The recorded actions, each with its object."""
    lines = [line.split(" ") for line in log.read_text("ascii").splitlines()]
    return [(what, os.fsdecode(bytes.fromhex(given))) for what, given in lines]


def make(place: Path) -> tuple[Path, Path]:
    """Make the folder and, beside it, files that must not be read; return both, below `place`."""
    root, beside = place / "repository", place / "beside"
    (root / "jobs").mkdir(parents=True)
    beside.mkdir()
    (beside / "secret.flat").write_text(SECRET)
    (beside / "secret.csv").write_text("x mm,y mm,z mm\n0,0,77.77\n100,0,77.77\n0,100,77.77\n")
    (beside / "secret.toml").write_text('standard = "secret_of_another"\n')
    jobs = root / "jobs"
    (jobs / "leads_out.flat").symlink_to(beside / "secret.flat")
    (jobs / "passwords.flat").symlink_to("/etc/passwd")
    (jobs / "endless.flat").symlink_to("/dev/zero")
    (jobs / "circle.flat").symlink_to("circle.flat")
    (jobs / "round.flat").symlink_to("about.flat")
    (jobs / "about.flat").symlink_to("round.flat")
    (jobs / "up").symlink_to(beside)
    (jobs / "points.csv").symlink_to(beside / "secret.csv")
    (jobs / "endless.csv").symlink_to("/dev/zero")
    os.mkfifo(jobs / "waits.flat")
    os.mkfifo(jobs / "waits.csv")
    os.mkfifo(root / "pyproject.toml")
    targets = [
        *(
            "leads_out.flat",
            "passwords.flat",
            "endless.flat",
            "circle.flat",
            "round.flat",
            "up/secret.flat",
            "waits.flat",
        ),
        *(
            "../../beside/secret.flat",
            str(beside / "secret.flat"),
            "..\\\\..\\\\beside\\\\secret.flat",
            "C:secret.flat",
        ),
        *(
            "C:\\\\secret.flat",
            "\\\\\\\\host\\\\share\\\\x.flat",
            "CON",
            "NUL.flat",
            "jobs.flat. . ",
            "~/secret.flat",
            "file:///etc/passwd",
        ),
        *(
            "x" * 5000,
            "a/" * 2000 + "b",
            "$(touch ran)",
            "`touch ran`",
            "%n%s",
            "{0.__class__}",
            "{{ 7 * 7 }}",
            "-rf",
            "//etc/passwd",
        ),
        *(
            "\u2025/\u2025/beside/secret.flat",
            "\uff0e\uff0e/beside/secret.flat",
            "../../be\u0455ide/secret.flat",
            "/proc/self/environ",
        ),
    ]
    points = [
        "points.csv",
        "endless.csv",
        "waits.csv",
        "up/secret.csv",
        "../../beside/secret.csv",
        "/etc/passwd",
        "/dev/stdin",
    ]
    uses = "".join(f'use "{target}"\n' for target in targets)
    probes = "".join(
        f'        probe "{one}"\n        probe under "{one}"\n        thickness "{one}"\n' for one in points
    )
    (jobs / "hostile.flat").write_text(
        f"{uses}\njob __import__ {{ }}\njob hostile {{\n    machine secret_of_another\n    survey {{\n{probes}    }}\n"
        "    waive depth because \"<script>x</script> {{ 7 * 7 }} \x1b]0;x\x07 ${HOME} __import__('os')\"\n}\n",
        encoding="utf-8",
    )
    (root / "flatwise.toml").symlink_to(beside / "secret.toml")
    trap = f"import os; os.close(os.open({str(root / 'ran')!r}, os.O_CREAT | os.O_WRONLY))\n"
    for name in ("sitecustomize", "usercustomize", "conftest", "numpy", "lark", "pygls", "jinja2", "flatwise", "setup"):
        (root / f"{name}.py").write_text(trap)
    (root / ".vscode").mkdir()
    settings = {"flatwise.command": "./run_me", "python.defaultInterpreterPath": "./run_me"}
    (root / ".vscode" / "settings.json").write_text(json.dumps(settings))
    for name in ("run_me", "git", "python3", "flatwise.sh"):
        (root / name).write_text(f"#!/bin/sh\ntouch {root / 'ran'}\n")
        (root / name).chmod(0o755)
    (root / ".git" / "hooks").mkdir(parents=True)
    (root / ".git" / "HEAD").write_text("ref: refs/heads/main\n")
    (root / ".git" / "config").write_text(
        f"[core]\n\tfsmonitor = {root / 'run_me'}\n\tsshCommand = {root / 'run_me'}\n"
    )
    return root, beside
