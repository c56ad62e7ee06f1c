"""Closed streams, refused memory, hostile text: a run has the right exit code and no traceback whatever is around."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise
from compiler.tool.test_cli import DEEP, job

from flatwise.tool import jobs

linux = pytest.mark.skipif(sys.platform != "linux", reason="closes streams and limits memory as a shell on Linux does")


def shell(shop: Path, command: str) -> subprocess.CompletedProcess[str]:
    line = command.replace("flatwise", f'"{sys.executable}" -m flatwise', 1)
    return subprocess.run(["bash", "-c", line], cwd=shop, capture_output=True, encoding="utf-8", check=False)


@linux
@pytest.mark.parametrize(
    ("command", "code"),
    [
        ("flatwise check jobs/deep.flat >&- 2>&- <&-", 1),
        pytest.param("flatwise check jobs/tray.flat >&-", 0, marks=pytest.mark.nightly),
        pytest.param("flatwise check jobs/tray.flat 2>&-", 0, marks=pytest.mark.nightly),
        pytest.param("flatwise serve >&- </dev/null", 1, marks=pytest.mark.nightly),
        pytest.param("flatwise new shelf --ask <&-", 0, marks=pytest.mark.nightly),
    ],
)
def test_a_closed_stream_changes_no_exit_code(shop: Path, command: str, code: int) -> None:
    job(shop)
    job(shop, "deep", more=DEEP)
    run = shell(shop, command)
    assert run.returncode == code and "Traceback" not in run.stderr and "bug" not in run.stderr


@pytest.mark.nightly
@linux
def test_nothing_that_is_printed_ends_in_a_file_where_the_streams_are_closed(shop: Path) -> None:
    job(shop)
    assert shell(shop, "flatwise build jobs --out o >&- 2>&- <&-").returncode == 0
    assert flatwise("build", "jobs", "--out", "p", cwd=shop).returncode == 0
    for path in (shop / "p" / "tray").iterdir():
        assert (shop / "o" / "tray" / path.name).read_bytes() == path.read_bytes()


@linux
@pytest.mark.parametrize("command", ["check -", "format -", "serve"])
def test_what_reads_a_closed_input_says_so(
    shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], command: str
) -> None:
    """An empty text in its place would pass as a job without problems."""
    monkeypatch.setattr("sys.stdin", None)
    run = flatwise(*command.split(), cwd=shop)
    assert run.returncode == 2 and "standard input" in run.stderr and "closed" in run.stderr


@linux
@pytest.mark.parametrize("allowed", [pytest.param(60, marks=pytest.mark.nightly), 150])
def test_a_limit_of_memory_that_no_library_bears_is_named(shop: Path, allowed: int) -> None:
    job(shop)
    run = shell(shop, f"ulimit -v {allowed << 10}; flatwise check jobs")
    assert run.returncode == 2 and run.stdout == ""
    assert run.stderr == f"flatwise: the system allows it {allowed} MB of memory (ulimit -v); it needs 200 MB.\n"


def test_memory_that_is_refused_stops_one_job(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    job(shop, "a_tray")
    job(shop, "b_tray")
    check = jobs.check

    def refused(work: object) -> jobs.JobResult:
        if getattr(work, "name", "") == "a_tray":
            raise MemoryError
        return check(work)  # type: ignore[arg-type]

    monkeypatch.setattr(jobs, "check", refused)
    run = flatwise("check", "jobs", cwd=shop)
    assert run.returncode == 2 and "job a_tray was not finished: the system gives no more memory" in run.stderr
    assert run.stdout.endswith("\n1 of 2 jobs checked.\n") and "bug" not in run.stdout + run.stderr


@pytest.mark.parametrize(
    ("settings", "said", "line"),
    [
        (f"\na = {'[' * 2000}{']' * 2000}\n", "brackets are nested too deep", 2),
        (f"strict = false\n\na = {'9' * 5000}\n", "a number has too many digits", 3),
    ],
)
def test_settings_that_no_reader_takes_are_a_finding_at_their_line(
    shop: Path, settings: str, said: str, line: int
) -> None:
    job(shop)
    (shop / "flatwise.toml").write_text(settings)
    run = flatwise("check", "--message", "short", "jobs", cwd=shop)
    assert run.returncode == 1 and run.stderr == ""
    assert run.stdout.startswith(f"flatwise.toml:{line}:1: error FW001 ") and said in run.stdout


def test_a_name_that_is_too_long_for_a_folder_is_found_at_the_name(shop: Path) -> None:
    for length, code in ((200, 0), (201, 1)):
        path = job(shop)
        path.write_text(path.read_text("utf-8").replace("job tray", f"job {'x' * length}"), encoding="utf-8")
        run = flatwise("build", "--message", "short", "jobs", cwd=shop)
        assert run.returncode == code and run.stderr == "", run.stdout
    line = path.read_text("utf-8").partition("job x")[0].count("\n") + 1
    assert f"jobs/tray.flat:{line}:5: error FW107 The name of this job has 201 characters" in run.stdout
    assert [len(path.name) for path in (shop / "out").iterdir()] == [200]


def test_a_build_of_no_job_says_so(shop: Path) -> None:
    run = flatwise("build", "shared", cwd=shop)
    assert run.returncode == 1 and run.stderr == "flatwise: nothing to build: there is no job in shared.\n"
    assert not (shop / "out").exists()


def test_digits_of_another_script_are_no_number(shop: Path) -> None:
    path = job(shop)
    path.write_text(path.read_text("utf-8").replace("0mm", "٠mm", 1), encoding="utf-8")
    run = flatwise("check", "jobs", cwd=shop)
    assert run.returncode == 1 and "arabic-indic digit zero" in run.stdout


def test_no_path_that_is_echoed_controls_the_terminal(shop: Path) -> None:
    job(shop)
    for command in (
        ("build", "jobs", "--out", "o\x1b[31m"),
        ("check", "no\x1b[31m.flat"),
        ("explain", "\x1b[31m"),
        ("\x1b[31m",),
        ("check", "--\x1b[31m", "jobs"),
        ("new", "a\x1b[31m"),
        ("verify", "no\x1b[31m.nc", "--job", "jobs/tray.flat"),
    ):
        run = flatwise(*command, cwd=shop)
        assert "\x1b" not in run.stdout + run.stderr and "31m" in run.stdout + run.stderr, command
