"""How long and how much memory it takes to prove both faces of a large panel.

Run with: pytest tests/bench --benchmark-only
"""

from __future__ import annotations

import subprocess
import sys

from bench.pace import slower
from compiler.verify.verify_programs import lines, plan, rows, setup, work
from compiler.works import zero

from flatwise.core.surface import Surface
from flatwise.verify import verify

LENGTH, WIDTH = 1200.0, 600.0
PLANES = (29.5, 29.0, 28.5, 28.0, 27.8)


def both_faces() -> None:
    """1200 × 600 mm, five passes a face, rows along and rows across."""
    made = setup(Surface.flat(LENGTH, WIDTH, 30.0), PLANES, origin_machine=(100.0, 100.0))
    panel = work(LENGTH, WIDTH)
    panel = panel._replace(job=panel.job.model_copy(update={"zero": zero(100.0, 100.0)}))
    for sweep in (rows(LENGTH, WIDTH), rows(LENGTH, WIDTH, angle=90.0)):
        program = "\n".join(lines(PLANES, sweep)).encode("ascii")
        proof, findings = verify(program, plan(made, panel), made)
        assert findings == () and proof.left_above_plane == 0.0


def test_proving_both_faces_of_a_large_panel(benchmark) -> None:  # type: ignore[no-untyped-def]
    benchmark.pedantic(both_faces, rounds=3, warmup_rounds=1)
    assert benchmark.stats["min"] < 1.5 * slower()


def test_memory_of_a_proof(benchmark) -> None:  # type: ignore[no-untyped-def]
    code = (
        "import resource, sys; sys.path.insert(0, 'tests'); from bench.test_verify_bench import both_faces; "
        "both_faces(); print(resource.getrusage(resource.RUSAGE_SELF).ru_maxrss // 1024)"
    )
    root = __file__.rsplit("/tests/", 1)[0]

    def megabytes() -> int:
        command = [sys.executable, "-c", code]
        return int(subprocess.run(command, cwd=root, capture_output=True, text=True, check=True).stdout)

    assert benchmark.pedantic(megabytes, rounds=1) < 400
