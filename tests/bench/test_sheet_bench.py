"""Time and size of the sheet of an example job.

Run with: pytest tests/bench --benchmark-only
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

from bench.pace import slower

from flatwise.pipeline import build, read_works
from flatwise.report.other_choices import other_choices
from flatwise.report.sheet import sheet

ROOT = Path(__file__).resolve().parents[2]
JOB = ROOT / "jobs" / "reading_table.flat"


def test_the_sheet_of_the_example_job(benchmark) -> None:  # type: ignore[no-untyped-def]
    built = build(read_works([JOB]).works[0])
    text = benchmark.pedantic(sheet, args=(built,), rounds=10, warmup_rounds=1)
    assert len(text.encode()) < 300_000
    assert benchmark.stats["min"] < 0.15 * slower()


def test_the_first_sheet_of_a_run(benchmark, tmp_path) -> None:  # type: ignore[no-untyped-def]
    # includes loading the template and its library, as in one `flatwise build`; processor time, so that other load on
    # the machine does not count
    code = (
        "import time; from pathlib import Path; from flatwise.pipeline import build, read_works\n"
        f"built = build(read_works([Path({str(JOB)!r})]).works[0])\n"
        "start = time.process_time()\n"
        "from flatwise.report.sheet import sheet\n"
        "sheet(built)\n"
        "print(time.process_time() - start)"
    )
    # modules compiled once, as after an installation
    surroundings = {**os.environ, "PYTHONPYCACHEPREFIX": str(tmp_path)}
    surroundings.pop("PYTHONDONTWRITEBYTECODE", None)
    runs: list[float] = []

    def run() -> None:
        command = [sys.executable, "-c", code]
        done = subprocess.run(command, env=surroundings, capture_output=True, text=True, check=True)
        runs.append(float(done.stdout))

    benchmark.pedantic(run, rounds=5, warmup_rounds=1)
    assert min(runs) < 0.15 * slower(), runs


def test_other_choices_take_little_of_a_build(benchmark) -> None:  # type: ignore[no-untyped-def]
    built = build(read_works([JOB]).works[0])
    assert built.plan is not None
    assert benchmark.pedantic(other_choices, args=(built.plan,), rounds=5, warmup_rounds=1) == built.choices
    assert benchmark.stats["min"] < 0.05 * slower()
