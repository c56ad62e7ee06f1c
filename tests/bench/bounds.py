"""Print every time beside its lower bound, as a table:  python tests/bench/bounds.py

The bound is the work that cannot be avoided: loading the libraries, one pass over the text with the grammar's own
pattern, one pass over the nodes or the cells.  Each figure is the least of several rounds, in which the work and its
bound alternate, so that both meet the same load.
"""

from __future__ import annotations

import os
import platform
import re
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT / "tests"), str(ROOT / "tests" / "bench")]

from bench.pace import LIBRARIES  # noqa: E402 (needs the path set just above)

JOB = ROOT / "jobs" / "reading_table.flat"
Work = Callable[[], object]


def least(thing: Work, bound: Work, rounds: int) -> tuple[float, float]:
    """The least time of each, s."""
    best = [float("inf"), float("inf")]
    for _ in range(rounds):
        for which, work in enumerate((thing, bound)):
            begun = time.perf_counter()
            work()
            best[which] = min(best[which], time.perf_counter() - begun)
    return best[0], best[1]


def whole(*command: str) -> Work:
    """A command as a process of its own, with its modules compiled in the first round."""
    kept = {**os.environ, "PYTHONPYCACHEPREFIX": str(Path(tempfile.gettempdir()) / "flatwise_bounds")}
    kept.pop("PYTHONDONTWRITEBYTECODE", None)
    return lambda: subprocess.run(command, cwd=ROOT, env=kept, check=True, stdout=subprocess.DEVNULL)


def commands() -> Iterator[tuple[str, str, float, float]]:
    """(work, bound, time in s, bound in s) of whole processes."""
    flatwise = str(Path(sys.executable).with_name("flatwise"))
    loading = whole(*LIBRARIES)
    with tempfile.TemporaryDirectory() as out:
        for name, *command in (("check", "check", str(JOB)), ("build", "build", str(JOB), "--out", out)):
            yield (
                f"`{name}` of a job, whole process",
                "interpreter, libraries",
                *least(whole(flatwise, *command), loading, 10),
            )


def texts() -> Iterator[tuple[str, str, float, float]]:
    from flatwise_grammar import format_text
    from flatwise_grammar.blocks import read_chunk
    from flatwise_grammar.tables import PATTERN

    text, pattern = JOB.read_text(encoding="utf-8") * 20, re.compile(PATTERN)

    def once() -> int:
        return sum(1 for _ in pattern.finditer(text))

    yield "reading 1,100 lines", "one pass of the pattern", *least(lambda: read_chunk(text, "", 0), once, 10)
    yield "formatting 1,100 lines", "one pass of the pattern", *least(lambda: format_text(text), once, 10)


def stages() -> Iterator[tuple[str, str, float, float]]:
    from test_seat_bench import both, faces
    from test_verify_bench import LENGTH, PLANES, WIDTH, both_faces

    lower, upper = faces(1000, 0.02)
    yield (
        "seating, 1,000 × 1,000 nodes",
        "one pass over the nodes",
        *least(lambda: both(lower, upper), lambda: (lower.z.min(), upper.z.max()), 3),
    )
    cells = np.full((int(WIDTH), int(LENGTH)), 30.0)
    radius, step = 32, 40

    def rows() -> None:
        """Find the bite and cut the cells of every row of every pass."""
        for field, across in ((cells, WIDTH), (cells.T, LENGTH)):
            for plane in PLANES:
                for middle in range(0, int(across), step):
                    strip = field[max(0, middle - radius) : middle + radius]
                    strip.max()
                    np.minimum(strip, plane, out=strip)

    yield "proof of both faces, 1,200 × 600 mm", "bite and cut of each row's cells", *least(both_faces, rows, 5)


def job() -> Iterator[tuple[str, str, float, float]]:
    from flatwise.pipeline import build, read_works, work_out
    from flatwise.report.sheet import sheet

    work = read_works([JOB]).works[0]
    built = build(work)
    page = sheet(built)
    yield (
        "sheet of a job, after the first",
        "writing its characters",
        *least(lambda: sheet(built), lambda: "".join(list(page)).encode(), 20),
    )
    moves = sum(program.count(b"\n") for program in built.programs.values())

    def numbers() -> str:
        return "".join(f"X{number:.3f}Y{number:.3f}\n" for number in range(moves))

    yield "planning a job again", "writing its moves", *least(lambda: work_out(work), numbers, 20)


def main() -> None:
    versions = f"Python {platform.python_version()}, numpy {np.__version__}"
    print(f"{platform.machine()}, {os.cpu_count()} processors, {versions}\n")
    print("| what | time | its bound | time | ratio |\n|---|---|---|---|---|")
    for part in (commands, texts, stages, job):
        for name, bound, taken, lowest in part():
            print(f"| {name} | {taken * 1e3:.3g} ms | {bound} | {lowest * 1e3:.3g} ms | {taken / lowest:.3g} |")


if __name__ == "__main__":
    main()
