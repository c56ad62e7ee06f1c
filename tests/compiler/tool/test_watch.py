"""`--watch`: a run after every change, until Ctrl-C."""

from __future__ import annotations

import re
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise

JOB = """\
use "../shared/shop.flat"
use "../shared/sample.flat"

job {name} from plain_top {{ survey {{ twist 0mm; cup 0mm hollow; bow 0mm hollow }}; cut {{ depth {depth} }} }}
"""
CHANGED = re.compile(r"^\d\d:\d\d:\d\d changed: ")


def write(shop: Path, name: str = "tray", depth: str = "0.4mm") -> None:
    (shop / "jobs" / f"{name}.flat").write_text(JOB.format(name=name, depth=depth))


def watched(shop: Path, monkeypatch: pytest.MonkeyPatch, *steps: Callable[[], object], args: str) -> list[str]:
    """What a watch prints; each look at the files is preceded by the next step, and after the last comes Ctrl-C."""
    left = iter(steps)

    def look_again(seconds: float) -> None:
        step = next(left, None)
        if step is None:
            raise KeyboardInterrupt
        step()

    monkeypatch.setattr("flatwise.tool.watch.sleep", look_again)
    run = flatwise(*args.split(), cwd=shop)
    assert "bug in flatwise" not in run.stderr
    assert run.returncode == 2 and run.stderr.endswith(
        "flatwise: stopped by Ctrl-C; no file was left half written.\n"
    ), run.stderr
    return [CHANGED.sub("changed: ", line) for line in run.stdout.splitlines()]


def rest() -> None:
    """Nothing changes."""


def test_sources_points_project_file_and_new_jobs_are_watched(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(shop)
    job, points = shop / "jobs" / "tray.flat", shop / "jobs" / "top.csv"
    job.write_text(job.read_text().replace("twist 0mm; cup 0mm hollow; bow 0mm hollow", 'probe "top.csv"'))
    steps: list[Callable[[], object]] = []
    for change in (
        lambda: points.write_text("x mm,y mm,z mm\n" + "".join(f"{x},{y},30\n" for x in (20, 380) for y in (20, 280))),
        lambda: (shop / "shared" / "shop.flat").touch(),
        lambda: (shop / "flatwise.toml").write_text("strict = true\n"),
        lambda: write(shop, "second"),
        lambda: (shop / "jobs" / "second.flat").unlink(),
    ):
        steps += [rest, change, rest]
    said = watched(shop, monkeypatch, *steps, args="check --watch --message short jobs")
    assert [line for line in said if line.startswith("changed: ")] == [
        f"changed: {name}"
        for name in ("jobs/top.csv", "shared/shop.flat", "flatwise.toml", "jobs/second.flat", "jobs/second.flat")
    ]
    assert any("FW004" in line for line in said[: said.index("changed: jobs/top.csv")])


def test_a_half_saved_file_is_left_until_it_rests(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(shop)
    job = shop / "jobs" / "tray.flat"
    steps = (lambda: job.write_text(""), job.unlink, lambda: write(shop, depth="0.3mm"), rest)
    said = watched(shop, monkeypatch, *steps, args="build --watch jobs/tray.flat")
    at = said.index("changed: jobs/tray.flat")
    assert [line[:6] for line in (said[at - 1], said[at + 1])] == ["tray: "] * 2
    assert len(said) == 3


def test_a_run_that_cannot_run_does_not_end_the_watch(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    write(shop)
    job = shop / "jobs" / "tray.flat"
    steps = (lambda: job.write_text(""), rest, lambda: write(shop), rest)
    said = watched(shop, monkeypatch, *steps, args="check --watch jobs/tray.flat:tray")
    changed, clean = "changed: jobs/tray.flat", "1 job checked, no problems."
    assert said == [clean, changed, changed, clean]


@pytest.mark.parametrize(
    "options, why",
    [
        ("check --watch --message sarif jobs", "--watch prints the findings again and again"),
        ("check --watch -", "- is none"),
        ("check --watch --fix jobs", "Use one of the two"),
        ("build --watch --message json jobs", "use text or short"),
    ],
)
def test_what_does_not_go_with_it_is_refused(shop: Path, options: str, why: str) -> None:
    run = flatwise(*options.split(), cwd=shop)
    assert run.returncode == 2 and why in run.stderr


@pytest.mark.nightly
def test_a_watching_process_sees_an_edit_and_ends_with_ctrl_c(shop: Path) -> None:
    write(shop)
    command = [sys.executable, "-m", "flatwise", "check", "--watch", "jobs/tray.flat"]
    # a shell that runs the tests behind itself has them, and all that they start, ignore Ctrl-C
    with subprocess.Popen(
        command,
        cwd=shop,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),
    ) as process:
        assert process.stdout is not None and process.stderr is not None
        try:
            assert process.stdout.readline() == "1 job checked, no problems.\n"
            write(shop, depth="9mm")
            assert CHANGED.sub("", process.stdout.readline()) == "jobs/tray.flat\n"
            assert process.stdout.readline().startswith("FW")
            process.send_signal(signal.SIGINT)
            assert process.wait(30) == 2
            assert "stopped by Ctrl-C" in process.stderr.read()
        finally:
            process.kill()
