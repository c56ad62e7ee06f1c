"""Spoiled texts, points and programs: nothing raises, nothing hangs, nothing is written outside its folder.

`HYPOTHESIS_PROFILE=nightly` runs many more; `python -m fuzz.targets` runs for as long as one likes.
"""

from __future__ import annotations

import os
import random
from pathlib import Path

import pytest
from fuzz import spoil, targets

MANY = 40 if os.environ.get("HYPOTHESIS_PROFILE") == "nightly" else 1
RUNS = {"grammar": 100, "points": 500, "program": 50, "whole": 50, "values": 60}


@pytest.mark.parametrize("name", targets.TARGETS)
def test_nothing_raises_hangs_or_strays(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)
    faults = [fault for seed in range(RUNS[name] * MANY) if (fault := targets.run(name, seed, tmp_path))]
    assert not faults, "\n".join(faults[:3])


def test_a_fault_would_be_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A target that raises, is slow, or writes where it may not is found."""
    from flatwise import cli

    def raises(*given: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("flatwise.points.read_points", raises)
    assert "ZeroDivisionError" in targets.run("points", 0, tmp_path)
    monkeypatch.setattr(targets, "PER_10_KB", -1.0)  # while an alarm is set, the clock may count in ticks
    assert "took" in targets.run("grammar", 0, tmp_path)
    monkeypatch.setattr(targets, "PER_10_KB", 1.0)

    def strays(arguments: object) -> int:
        Path("jobs/b.flat").write_text("")
        return 0

    monkeypatch.setattr(cli, "main", strays)
    assert "wrote ['project/jobs/b.flat']" in targets.run("whole", 0, tmp_path)
    monkeypatch.setattr(cli, "main", lambda arguments: 2)
    assert "exit 2" in targets.run("whole", 1, tmp_path)


def test_texts_are_spoiled_in_many_ways() -> None:
    """The spoiled samples are nearly all different, and a part of them still reads without a flaw."""
    from flatwise_grammar import parse

    made = [spoil.text(random.Random(seed), targets.SAMPLES[0], targets.SAMPLES) for seed in range(200)]
    assert len(set(made)) > 150
    assert 10 < sum(not parse(text, "a.flat")[1] for text in made[:100]) < 90
