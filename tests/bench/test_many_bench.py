"""Five hundred jobs in a folder, built by one process and by one for each processor.

python tests/bench/test_many_bench.py [JOBS]      (prints the times)
pytest tests/bench --benchmark-only
"""

from __future__ import annotations

import os
import resource
import shutil
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
JOB = """\
use "../shared/shop.flat"
use "../shared/sample.flat"

job top_{number} from plain_top {{
    stock {{ size {length}mm x {width}mm x 32mm }}
    survey {{ twist 0mm; cup 0mm hollow; bow 0mm hollow }}
    supports {{ shims leaf_set under corners, front, back, left, right }}
}}
"""


def project(folder: Path, jobs: int) -> None:
    """Make a folder of jobs of one shop, each a top of another size."""
    shutil.copytree(ROOT / "shared", folder / "shared")
    (folder / "flatwise.toml").write_text("")
    (folder / "jobs").mkdir()
    for number in range(jobs):
        length, width = 600 + number % 50 * 10, 300 + number % 25 * 10
        text = JOB.format(number=number, length=length, width=width)
        (folder / "jobs" / f"top_{number:04}.flat").write_text(text)


def timed(folder: Path, command: str, workers: int) -> float:
    """Time of a whole `flatwise check` or `build` of the folder, s."""
    out = ["--out", str(folder / f"out_{workers}")] if command == "build" else []
    begun = time.perf_counter()
    subprocess.run(
        [sys.executable, "-m", "flatwise", command, "jobs", "--workers", str(workers), "--message", "json", *out],
        cwd=folder,
        check=True,
        stdout=subprocess.DEVNULL,
    )
    return time.perf_counter() - begun


def compared(jobs: int, command: str) -> tuple[float, float]:
    """Time with one process and with one for each processor, s."""
    from flatwise.tool.workers import processors

    with tempfile.TemporaryDirectory() as name:
        project(Path(name), jobs)
        return timed(Path(name), command, 1), timed(Path(name), command, processors())


def largest() -> float:
    """Peak memory of the largest child process so far, MB (Linux counts in KB)."""
    return resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss / 1024


def test_a_folder_of_jobs_by_all_processors(benchmark) -> None:  # type: ignore[no-untyped-def]
    one, all_of_them = benchmark.pedantic(compared, args=(100, "build"), rounds=1)
    # a busy machine has no second processor to spare
    assert all_of_them < one * 0.9 or (os.cpu_count() or 1) < 2 or os.getloadavg()[0] > 2.5


if __name__ == "__main__":
    most = int(sys.argv[1]) if len(sys.argv) > 1 else 500
    for asked in ("check", "build"):
        for count in (most // 10, most):
            alone, together = compared(count, asked)
            print(
                f"{asked} of {count}: {alone:.1f} s alone, {together:.1f} s together, {alone / together:.2f} times;"
                f" {alone / count * 1e3:.0f} and {together / count * 1e3:.0f} ms a job;"
                f" largest process so far {largest():.0f} MB"
            )
