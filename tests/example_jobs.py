"""The example jobs, each built once in a process, for the tests that only look at the result."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from flatwise.model.built import Built
from flatwise.pipeline import Front, build, read_works

ROOT = Path(__file__).resolve().parent.parent
JOBS = sorted(path.stem for path in (ROOT / "jobs").glob("*.flat"))
#: a panel and the machine's own bed; where a test costs seconds, the others run nightly
FIRST = ("reading_table", "spoilboard")
FEW_JOBS = [name if name in FIRST else pytest.param(name, marks=pytest.mark.nightly) for name in JOBS]


@cache
def example(name: str) -> tuple[Front, Built]:
    """What reading and building `jobs/NAME.flat` gives."""
    front = read_works([ROOT / "jobs" / f"{name}.flat"])
    (work,) = front.works
    return front, build(work)
