"""How programs come down over the panel, read by the judge's own reader: never straight, and never closer than the hop.

A cutter without a cutting edge at its centre comes down beside the work or on a ramp (common practice, no source).
"""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from compiler.random_build import shop
from compiler.random_jobs import write_job
from compiler.random_shop import Plain
from example_jobs import JOBS as NAMES
from hypothesis_profile import NIGHTLY
from outside.true_cuts import Cutter, Wood

from flatwise.model.built import Built
from flatwise.pipeline import read_works, write_programs

ROOT = Path(__file__).resolve().parents[2]
JOBS = [ROOT / "jobs" / f"{name}.flat" for name in NAMES]
#: one way, patches, the spoilboard
FEW = ("lamp_table", "spoilboard", "window_seat")


def wrong(built: Built) -> list[str]:
    """Moves of a job's programs down over the panel, or at rapid or straight down into wood, that should not be.

    The wood stands as high as the bounds of the forecast let it.
    """
    found: list[str] = []
    assert built.plan is not None
    work = built.plan.work
    for setup in built.plan.setups if built.programs else ():
        # heights of hops are rounded to the last digit of the program
        hop = float(work.machine.hop) - work.machine.controller.digit
        wood = Wood(work.length, work.width, setup.top.raised(setup.bound.over).at, hop)
        wood.xs -= setup.origin[0]
        wood.ys -= setup.origin[1]
        program = built.programs[f"{setup.face}.nc"].decode("ascii")
        cutter = Cutter(float(work.cutter.diameter) / 2, (0.0, 0.0))
        seen = wood.cut(program, cutter, setup.touch.zero, 0.0, [], np.random.default_rng(0))
        if work.cutter.plunge == "no":
            found += seen.low + seen.plunges
        found += seen.rapids
    return found


@pytest.mark.parametrize("job", [each for each in JOBS if NIGHTLY or each.stem in FEW], ids=lambda each: each.stem)
def test_no_example_comes_straight_down_over_the_panel(job: Path) -> None:
    built = write_programs(read_works([job]).works[0])
    assert built.programs and wrong(built) == []


def test_no_random_job_comes_straight_down_over_the_panel(tmp_path: Path) -> None:
    jobs, written = shop(tmp_path), 0
    # the last once had trouble: a ramp beside the border that the travel leaves of a spoilboard, a bite into it,
    # a hop rounded to a thousandth of an inch, and a row too sure of what the one before had cut beyond its end
    for seed in (*range(300 if NIGHTLY else 1), 10006, 10163, *((11619, 11704) if NIGHTLY else ()), 21361):
        made = write_job(Plain(seed))
        path = jobs / "panel.flat"
        path.write_text(made.text, encoding="utf-8")
        for name, rows in made.files.items():
            (jobs / name).write_text(rows, encoding="utf-8")
        for work in read_works([path]).works:
            built = write_programs(work)
            written += bool(built.programs)
            assert built.plan is None or wrong(built) == [], seed
            assert not [finding for finding in built.findings if finding.code >= "FW9"], seed
    assert written > (60 if NIGHTLY else 0)
