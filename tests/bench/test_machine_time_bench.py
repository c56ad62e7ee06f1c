"""Machine time of the example jobs, and of the suite of panels, against the least possible (`least_time.py`).

Run with: pytest tests/bench/test_machine_time_bench.py --benchmark-only -s   (prints the table)
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from bench.least_time import least_times
from bench.suite import panels, planned
from compiler.plan.plans import planned as made
from compiler.works import work

from flatwise.model.stages import Plan
from flatwise.pipeline import read_works, work_out
from flatwise.seat import seat

JOBS = sorted((Path(__file__).resolve().parents[2] / "jobs").glob("*.flat"))
#: limits of machine time ÷ the least, for every example job and for each of its programs
MOST, MOST_PROGRAM = 1.05, 1.08
#: and for the suite of panels, in the mean and for the worst
MOST_MEAN, MOST_WORST = 1.04, 1.08


def compared(plan: Plan) -> list[tuple[str, float, float]]:
    """(face, time of its passes, least time), in s, for each face in order."""
    return [(setup.face, sum(one.time for one in setup.passes), sum(least_times(plan, setup))) for setup in plan.setups]


def ratio(rows: list[tuple[str, float, float]]) -> float:
    """Machine time ÷ the least, of both faces together."""
    return sum(row[1] for row in rows) / sum(row[2] for row in rows)


def test_the_least_of_a_level_face_is_its_rows_and_turns() -> None:
    # 900 x 500 mm, 64 mm cutter, 65 %, 6 mm beyond the edges: 12 rows of 976 mm, 11 turns of 448/11 mm; 8000 mm/min,
    # rapid 12000 mm/min, 500 mm/s2.  Uniform acceleration: s/v + v/a, or 2·√(s/a) where v is not reached.
    plan = made(work())
    for setup in plan.setups:
        last = setup.passes[-1]
        v, rapid, a = 8000.0 / 60.0, 12000.0 / 60.0, 500.0
        row, turn = 976.0 / v + v / a, 448.0 / 11 / v + v / a
        rise = setup.lift - last.plane
        assert rise < rapid**2 / a
        z = 2000.0 / 60.0
        lifts = 2.0 * (rise / a) ** 0.5 + 2.0 * ((rise - 3.0) / a) ** 0.5 + 3.0 / z + z / a
        assert least_times(plan, setup)[-1] == pytest.approx(12 * row + 11 * turn + lifts)


def test_machine_time_of_the_example_jobs(benchmark) -> None:  # type: ignore[no-untyped-def]
    plans = {path.stem: work_out(read_works([path]).works[0])[0] for path in JOBS}
    found = benchmark.pedantic(
        lambda: {name: compared(plan) for name, plan in plans.items() if plan is not None}, rounds=1
    )
    assert set(found) == {path.stem for path in JOBS}
    print(f"\n{'':16}{'face':8}{'planned':>10}{'at least':>10}{'ratio':>8}")
    for name, rows in found.items():
        for face, time, least in rows:
            print(f"{name:16}{face:8}{time:9.1f}s{least:9.1f}s{time / least:8.3f}")
    for name, rows in found.items():
        # quicker than the least only where a row cuts part of its neighbour's band
        assert 0.97 < ratio(rows) <= MOST, (name, ratio(rows))
        assert max(time / least for _, time, least in rows) <= MOST_PROGRAM, (name, rows)


def test_machine_time_of_the_suite(benchmark) -> None:  # type: ignore[no-untyped-def]
    def ratios() -> list[float]:
        found = []
        for _, of, panel in panels():
            seating, _ = seat(of, panel)
            assert seating is not None
            found.append(ratio(compared(planned(of, panel, seating, "yes"))))
        return found

    found = np.array(benchmark.pedantic(ratios, rounds=1))
    print(f"\n{len(found)} panels: mean {found.mean():.3f}, median {np.median(found):.3f}, most {found.max():.3f}")
    print(f"{(found > MOST).sum()} of them over {MOST}")
    assert found.mean() <= MOST_MEAN and found.max() <= MOST_WORST
