"""The example jobs, each built once in a process, for the tests that only look at the result."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import pytest

from flatwise.model.bed import BatchWork
from flatwise.model.built import Built, BuiltBatch
from flatwise.pipeline import Front, build, build_batch, read_works

ROOT = Path(__file__).resolve().parent.parent
#: the example file with a batch, named as this; all others hold one job
BATCH = "tray_batch"
JOBS = sorted(path.stem for path in (ROOT / "jobs").glob("*.flat") if path.stem != BATCH)


def quickly(*names: str) -> list[Any]:
    """All example jobs as parameters; those not named run nightly."""
    return [name if name in names else pytest.param(name, marks=pytest.mark.nightly) for name in JOBS]


#: a panel and the machine's own bed, for tests that cost seconds; the panel alone for those that look at both alike
FEW_JOBS = quickly("reading_table", "spoilboard")
ONE_JOB = quickly("reading_table")


@cache
def example(name: str) -> tuple[Front, Built]:
    """What reading and building `jobs/NAME.flat` gives."""
    front = read_works([ROOT / "jobs" / f"{name}.flat"])
    (work,) = front.works
    return front, build(work)


@cache
def example_batch() -> tuple[BatchWork, BuiltBatch]:
    """What reading and building the example batch gives."""
    (batch,) = read_works([ROOT / "jobs" / f"{BATCH}.flat"]).batches
    return batch, build_batch(batch)


def page_examples(page: str) -> list[str]:
    """The job texts of the page of a code, each with the `use` lines that it needs to compile."""
    uses = 'use "../shared/shop.flat"\nuse "../shared/sample.flat"\n\n'
    found = re.findall(r"```flat\n(.*?)```", page, re.S)
    return [job if job.startswith("use ") else uses + job for job in found]
