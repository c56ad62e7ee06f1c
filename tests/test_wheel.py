"""The wheel, installed away from the repository in an environment of its own, does what the editable install does."""

from __future__ import annotations

import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from flatwise import __version__

pytestmark = pytest.mark.nightly
ROOT = Path(__file__).resolve().parent.parent
JOBS = ("lamp_table", "spoilboard")


@pytest.fixture(scope="module")
def installed(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The programs folder of an environment that holds the wheel and its dependencies, and nothing else."""
    place = tmp_path_factory.mktemp("installed")
    subprocess.run([sys.executable, "-m", "venv", str(place / "venv")], check=True, capture_output=True, timeout=60)
    python = place / "venv" / ("Scripts" if os.name == "nt" else "bin") / "python"
    pip = ("-m", "pip", "--disable-pip-version-check", "--quiet", "--retries", "0", "--timeout", "10")
    run = subprocess.run([str(python), *pip, "install", str(wheel)], capture_output=True, check=False, timeout=300)
    if run.returncode != 0:
        pytest.skip("the wheel's dependencies can't be fetched here")
    return python.parent


def flatwise(at: Path, *arguments: str, cwd: Path, given: bytes | None = None) -> subprocess.CompletedProcess[bytes]:
    environment = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    return subprocess.run(
        [str(at / "flatwise"), *arguments], cwd=cwd, env=environment, input=given, capture_output=True, timeout=120
    )


def project(place: Path) -> Path:
    for name in ("jobs", "shared"):
        shutil.copytree(ROOT / name, place / name)
    (place / "flatwise.toml").write_text("")
    return place


def files(folder: Path) -> dict[str, bytes]:
    return {path.relative_to(folder).as_posix(): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


def test_it_builds_the_same_bytes_as_the_editable_install(installed: Path, tmp_path: Path) -> None:
    here = project(tmp_path)
    paths = [f"jobs/{name}.flat" for name in JOBS]
    run = flatwise(installed, "build", *paths, "--out", "wheel", cwd=here)
    assert run.returncode == 0, run.stdout + run.stderr
    editable = subprocess.run(
        [sys.executable, "-m", "flatwise", "build", *paths, "--out", "editable"],
        cwd=here,
        capture_output=True,
        check=True,
    )
    made = files(here / "wheel")
    assert len(made) >= 7 and made == files(here / "editable")
    assert run.stdout == editable.stdout.replace(b"editable", b"wheel")
    program = "wheel/lamp_table/first.nc"
    assert flatwise(installed, "verify", program, "--job", "jobs/lamp_table.flat", cwd=here).returncode == 0


def test_it_has_its_pages_its_version_and_a_new_job(installed: Path, tmp_path: Path) -> None:
    said = flatwise(installed, "explain", "FW501", cwd=tmp_path)
    assert said.returncode == 0 and said.stdout.startswith(b"FW501 ")
    assert flatwise(installed, "new", "first_top", cwd=tmp_path).returncode == 0
    assert flatwise(installed, "measure", "jobs/first_top.flat", cwd=tmp_path).returncode == 0
    assert flatwise(installed, "format", "--check", "jobs", "shared", cwd=tmp_path).returncode == 0
    job = tmp_path / "jobs" / "first_top.flat"
    text = re.sub(r"# (thickness .*)", lambda line: line[1].replace("__", "32"), job.read_text("utf-8"))
    job.write_text(re.sub(r"# (gap .*)", lambda line: line[1].replace("__", "0"), text), "utf-8")
    assert flatwise(installed, "build", "--strict", "jobs", cwd=tmp_path).returncode == 0
    assert "first.nc" in {path.name for path in (tmp_path / "out" / "first_top").iterdir()}
    version = flatwise(installed, "--version", cwd=tmp_path).stdout.decode().split()[1]
    ask = "from importlib.metadata import version; print(version('flatwise'))"
    made = subprocess.run(
        [str(installed / "python"), "-I", "-c", ask], capture_output=True, encoding="utf-8", check=True
    )
    assert version == made.stdout.strip() == __version__


def test_its_server_greets(installed: Path, tmp_path: Path) -> None:
    def message(**given: object) -> bytes:
        body = json.dumps({"jsonrpc": "2.0", **given}).encode()
        return b"Content-Length: %d\r\n\r\n%b" % (len(body), body)

    wants = {"processId": None, "rootUri": tmp_path.as_uri(), "capabilities": {}}
    talk = message(id=1, method="initialize", params=wants) + message(method="initialized", params={})
    talk += message(id=2, method="shutdown") + message(method="exit")
    run = flatwise(installed, "serve", cwd=tmp_path, given=talk)
    assert run.returncode == 0, run.stderr
    answer = json.loads(run.stdout.partition(b"\r\n\r\n")[2].partition(b"Content-Length")[0])
    assert answer["id"] == 1 and answer["result"]["serverInfo"]["name"] == "flatwise"


def test_it_uses_nothing_of_the_repository(installed: Path, tmp_path: Path) -> None:
    code = "import flatwise as a, flatwise_grammar as b, flatwise_lsp as c; print(a.__file__, b.__file__, c.__file__)"
    environment = {key: value for key, value in os.environ.items() if not key.startswith("PYTHON")}
    run = subprocess.run(
        [str(installed / "python"), "-P", "-c", code],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        encoding="utf-8",
        check=True,
    )
    assert run.stdout.count(str(installed.parent)) == 3 and str(ROOT) not in run.stdout
