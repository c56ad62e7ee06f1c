"""Completion in real shells: bash, zsh and fish run the script that the library registers, and ask flatwise."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from flatwise.findings import pages
from flatwise.tool.arguments import COMMANDS, MESSAGES

#: each prints what it offers for the line in $LINE, one a line
SHELLS = {
    "bash": """\
eval "$(register-python-argcomplete flatwise)"
COMP_LINE=$LINE COMP_POINT=${#LINE} COMP_TYPE=9
read -ra COMP_WORDS <<< "$LINE"
_python_argcomplete flatwise
printf '%s\\n' "${COMPREPLY[@]}"
""",
    "zsh": """\
autoload -U compinit && compinit -D
eval "$(register-python-argcomplete flatwise)"
[[ $_comps[flatwise] == _python_argcomplete ]] || exit 1
_describe() { print -l -- ${(P)2} }
BUFFER=$LINE CURSOR=${#LINE} words=(${=LINE})
_python_argcomplete
""",
    "fish": """\
register-python-argcomplete --shell fish flatwise | source
complete -C "$LINE"
""",
}
FOLDERS = ["jobs/", "out/", "shared/"]
LINES = {
    "flatwise ": sorted(COMMANDS),
    "flatwise co": ["compare"],
    "flatwise check --message ": sorted(MESSAGES),
    "flatwise check --message=gi": ["github", "gitlab"],
    "flatwise build --d": ["--depfile"],
    "flatwise check ": FOLDERS,
    "flatwise check jobs/": ["jobs/a tray.flat", "jobs/tray.flat"],
    "flatwise compare jobs/t": ["jobs/tray.flat"],
    "flatwise verify out/tray/": ["out/tray/first.nc"],
    "flatwise verify out/tray/first.nc --job jobs/t": ["jobs/tray.flat"],
    "flatwise build jobs/tray.flat --out ": FOLDERS,
    "flatwise explain FW90": [code for code in pages.codes() if code.startswith("FW90")],
    "flatwise new --wood ": [],
}
#: a line for each sort of answer; the others are for nightly runs, and for one shell
QUICK = ("flatwise co", "flatwise check jobs/", "flatwise explain FW90")


def offered(shell: str, line: str, cwd: Path) -> list[str]:
    binaries = Path(sys.executable).parent
    if shutil.which(shell) is None or not (binaries / "register-python-argcomplete").exists():
        pytest.skip(f"{shell} or the script that registers completion is not installed")
    environment = {**os.environ, "LINE": line, "PATH": f"{binaries}{os.pathsep}{os.environ['PATH']}", "HOME": str(cwd)}
    plain = {"bash": ["--norc"], "zsh": ["-f"], "fish": ["--no-config"]}[shell]
    run = subprocess.run(
        [shell, *plain, "-c", SHELLS[shell]], cwd=cwd, env=environment, capture_output=True, text=True, check=False
    )
    # fish adds an explanation after a tab, zsh after a colon; bash escapes a blank
    found = (
        line.partition("\t" if shell == "fish" else ":")[0].replace("\\", "").rstrip()
        for line in run.stdout.splitlines()
    )
    return sorted(each.removeprefix("--message=") for each in found if each)


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for name in (
        "jobs/tray.flat",
        "jobs/a tray.flat",
        "jobs/t.csv",
        "shared/shop.flat",
        "out/tray/first.nc",
        ".hidden/a",
    ):
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).touch()
    (tmp_path / "README").touch()
    return tmp_path


@pytest.mark.parametrize(
    ("shell", "line"),
    [
        pytest.param(shell, line, marks=() if line in QUICK[: 3 if shell == "bash" else 1] else pytest.mark.nightly)
        for shell in SHELLS
        for line in (LINES if shell == "bash" else QUICK)
    ],
)
def test_a_shell_offers_what_may_follow(folder: Path, shell: str, line: str) -> None:
    assert offered(shell, line, folder) == LINES[line]


def test_the_readme_shows_the_lines_that_are_run(repository: Path) -> None:
    (shown,) = re.findall(r"```bash\n(.*?)```", (repository / "README.md").read_text("utf-8"), re.S)
    lines = [line.partition(" #")[0].rstrip() for line in shown.splitlines()]
    assert len(lines) == 2 and all(any(line in script.splitlines() for script in SHELLS.values()) for line in lines)
