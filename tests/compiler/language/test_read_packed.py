"""Hundreds of jobs in one run: each waits packed, and reading leaves nothing behind that only a collector finds."""

from __future__ import annotations

import gc
import pickle
import tracemalloc
from pathlib import Path

import pytest
from bench.test_many_bench import project

from flatwise.language.packed import FEW, Packed
from flatwise.pipeline import read_works

JOBS = FEW + 9


@pytest.fixture
def jobs(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    project(tmp_path, JOBS)
    monkeypatch.chdir(tmp_path)
    return tmp_path / "jobs"


def test_a_packed_work_is_the_work_that_was_read(jobs: Path) -> None:
    together = read_works([jobs]).works
    alone = [read_works([path]).works[0] for path in sorted(jobs.iterdir())]
    assert len(together) == len(alone) == JOBS
    assert list(together) == alone
    assert together[FEW - 1 : FEW + 2] == tuple(alone[FEW - 1 : FEW + 2])
    assert together[-1] == alone[-1]
    with pytest.raises(IndexError):
        together[JOBS]


def test_waiting_it_takes_a_fifth_of_the_room(jobs: Path) -> None:
    def room(keep: type) -> int:
        front = read_works([jobs])
        gc.collect()
        tracemalloc.start()
        kept = keep(pickle.loads(pickle.dumps(work)) for work in front.works[FEW:] * 5)
        gc.collect()
        taken = tracemalloc.get_traced_memory()[0]
        tracemalloc.stop()
        assert len(kept) == 5 * (JOBS - FEW)
        return taken

    few = FEW / (5 * (JOBS - FEW))  # these are not packed
    assert room(Packed) < room(tuple) * (few + 0.2)


def test_reading_leaves_no_circles(jobs: Path) -> None:
    """A short run has no collector; an exception that is kept would keep the tree and all that was read."""
    read_works([jobs])
    gc.collect()
    gc.disable()
    try:
        front = read_works([jobs])
        assert not front.findings
        assert gc.collect() < 30 * JOBS  # some objects a job at most; it was over 500
    finally:
        gc.enable()
