"""The same sources give the same bytes: whatever the hash seed, time zone, locale, working folder, number of workers,
umask or terminal, another processor or Python, and from a wheel as from an editable install."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest
from hypothesis_profile import NIGHTLY

OTHER = Path(__file__).resolve().parents[2] / "other_arithmetic.py"
JOBS = ("study_shelf", *(("front_bed", "lamp_table", "reading_table") if NIGHTLY else ()))


@pytest.fixture(scope="module")
def project(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A project with jobs in both systems of units, and of the machine's own bed."""
    root = tmp_path_factory.mktemp("project")
    repository = Path(__file__).resolve().parents[3]
    shutil.copytree(repository / "shared", root / "shared")
    (root / "jobs").mkdir()
    for name in JOBS:
        shutil.copy(repository / "jobs" / f"{name}.flat", root / "jobs")
    (root / "flatwise.toml").write_text("")
    return root


def built(project: Path, out: str, cwd: str = ".", paths: tuple[str, ...] = ("jobs",), **more: str) -> dict[str, bytes]:
    """Every file that a run of its own writes, with `moved` arithmetic, and what it says."""
    workers, moved = more.pop("workers", "1"), more.pop("moved", "")
    environment = {**os.environ, "COLUMNS": "200", **more}
    arguments = ["build", *paths, "--out", str(project / out), "--workers", workers]
    run = subprocess.run(
        [sys.executable, *([str(OTHER), moved] if moved else ["-m"]), "flatwise", *arguments],
        cwd=project / cwd,
        env=environment,
        capture_output=True,
        check=False,
        timeout=300,
    )
    assert run.returncode == 0, run.stdout + run.stderr
    files = sorted((project / out).rglob("*"))
    made = {path.relative_to(project / out).as_posix(): path.read_bytes() for path in files if path.is_file()}
    assert len(made) == 4 * len(JOBS) - ("front_bed" in JOBS), "the bed has no second face"
    return made


@pytest.fixture(scope="module")
def once(project: Path) -> dict[str, bytes]:
    return built(project, "once", PYTHONHASHSEED="0", TZ="UTC", LC_ALL="C.UTF-8")


APART: dict[str, dict[str, str]] = {
    "hash seed, time zone, workers": {"PYTHONHASHSEED": "4711", "TZ": "Pacific/Chatham", "workers": "3"},
    "locale and the rest of the environment": {
        "PYTHONHASHSEED": "random",
        "LC_ALL": "tr_TR.ISO-8859-9",
        "LANG": "de_DE.UTF-8",
        "PYTHONUTF8": "0",
        "PYTHONOPTIMIZE": "1",
        "CI": "1",
        "TERM": "dumb",
        "SOURCE_DATE_EPOCH": "1",
    },
    "arithmetic of another processor": {"moved": "1"},
    "arithmetic of yet another processor": {"moved": "2"},
}
#: all at once, and where that differs, a nightly run tells which it is
OTHERWISE = {"anything around": dict(item for one in APART.values() for item in one.items())} | APART


@pytest.mark.parametrize("what", ["anything around", *(pytest.param(one, marks=pytest.mark.nightly) for one in APART)])
def test_the_bytes_do_not_depend_on(project: Path, once: dict[str, bytes], what: str) -> None:
    assert built(project, what.split()[0], **OTHERWISE[what]) == once


def digests(count: int, *command: str) -> str:
    run = [*command, "compiler.random_build", "--digests", "--count", str(count)]
    ours = os.pathsep.join(str(OTHER.parents[1] / each) for each in ("tests", "compiler", "grammar", "lsp"))
    here = {**os.environ, "PYTHONPATH": ours, "PYTHONHASHSEED": "random"}
    return subprocess.run(run, env=here, capture_output=True, encoding="utf-8", check=True).stdout


@pytest.mark.nightly
@pytest.mark.parametrize("moved", ["1", "2"])
def test_random_jobs_have_the_same_bytes_by_other_arithmetic(moved: str) -> None:
    assert digests(1000, sys.executable, str(OTHER), moved) == digests(1000, sys.executable, "-m")


@pytest.mark.nightly
def test_random_jobs_have_the_same_bytes_by_another_python() -> None:
    """FLATWISE_OTHER_PYTHON names it; flatwise and the libraries of the tests are installed there."""
    if not (other := os.environ.get("FLATWISE_OTHER_PYTHON")):
        pytest.skip("FLATWISE_OTHER_PYTHON names no other Python")
    assert digests(300, other, "-m") == digests(300, sys.executable, "-m")


@pytest.mark.nightly
def test_nor_on_the_working_folder_or_how_the_files_are_named(project: Path, once: dict[str, bytes]) -> None:
    assert built(project, "below", cwd="jobs", paths=(".",)) == once
    backwards = tuple(str(project / "jobs" / f"{name}.flat") for name in sorted(JOBS, reverse=True))
    assert built(project, "outside", cwd="..", paths=backwards) == once


@pytest.mark.nightly
def test_nor_on_times_of_files_or_a_build_that_is_there(project: Path, once: dict[str, bytes]) -> None:
    for path in (project / "shared").iterdir():
        os.utime(path, (1, 1))
    assert built(project, "once") == once


@pytest.mark.nightly
def test_a_wheel_gives_the_same_bytes(
    project: Path, once: dict[str, bytes], repository: Path, wheel: Path, tmp_path: Path
) -> None:
    zipfile.ZipFile(wheel).extractall(tmp_path / "installed")
    where = "import flatwise, flatwise_grammar; print(flatwise.__file__, flatwise_grammar.__file__)"
    path = {"PYTHONPATH": str(tmp_path / "installed")}
    told = subprocess.run(
        [sys.executable, "-c", where], env={**os.environ, **path}, capture_output=True, encoding="utf-8", check=True
    )
    assert told.stdout.count(str(tmp_path / "installed")) == 2
    assert built(project, "wheel", **path) == once
    page = [sys.executable, "-m", "flatwise.tool.reference"]
    printed = subprocess.run(page, env={**os.environ, **path}, capture_output=True, encoding="utf-8", check=True)
    assert printed.stdout == (repository / "compiler" / "REFERENCE.md").read_text("utf-8")
