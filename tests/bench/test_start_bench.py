"""How long the whole process of `flatwise check` takes for one job, compared with loading the libraries.

Run with: pytest tests/bench/test_start_bench.py --benchmark-only -s
The figure is a ratio, so it means the same on every machine.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path
from time import perf_counter
from typing import Any

from bench.pace import LIBRARIES

JOB = "jobs/hall_bench.flat"
ROUNDS = 20
LIMIT = 1.6


def test_checking_one_job_beside_loading_the_libraries(benchmark: Any, repository: Path, tmp_path: Path) -> None:
    # bytecode is cached, as after any installation, but not in the repository
    surroundings = {**os.environ, "PYTHONPYCACHEPREFIX": str(tmp_path)}
    surroundings.pop("PYTHONDONTWRITEBYTECODE", None)
    check = (str(Path(sys.executable).with_name("flatwise")), "check", JOB)
    loading: list[float] = []

    def run(*command: str) -> str:
        done = subprocess.run(command, cwd=repository, env=surroundings, capture_output=True, text=True, check=True)
        return done.stdout

    def load() -> None:  # before every round, so that both run under the same load
        started = perf_counter()
        run(*LIBRARIES)
        loading.append(perf_counter() - started)

    load()
    assert "1 job checked" in run(*check)
    benchmark.pedantic(run, args=check, setup=load, rounds=ROUNDS)
    checked, loaded = benchmark.stats.stats.min, min(loading)
    benchmark.extra_info.update(check_ms=round(1e3 * checked), libraries_ms=round(1e3 * loaded))
    benchmark.extra_info["ratio"] = round(checked / loaded, 2)
    print(f"\ncheck {1e3 * checked:.0f} ms, libraries {1e3 * loaded:.0f} ms: ratio {checked / loaded:.2f}")
    assert checked <= LIMIT * loaded
