"""Spoiled texts, points and programs: nothing raises, hangs or writes outside its folder.

A nightly run (FLATWISE_NIGHTLY=1) tries many more seeds; `python -m fuzz.targets` runs for a given time.
"""

from __future__ import annotations

import os
import random
import re
from pathlib import Path

import hostile
import pytest
from fuzz import faults, messages, spoil, targets
from hypothesis_profile import NIGHTLY

#: seeds of each target in a quick and in a nightly run
RUNS = {
    "grammar": (25, 4000),
    "points": (120, 20_000),
    "program": (5, 2000),
    "whole": (4, 2000),
    "values": (1, 2400),
    "words": (1, 2400),
    "messages": (1, 160),
}
#: seeds that found faults in long runs: a dwell rounded down, a border that a spoilboard's last pass leaves
#: higher than the shoe rides, rows that share a cell, a needle as a cutter, a ramp rounded to a digit; in nightly
#: runs also faces of a thousand rows, which took 18 s
KEPT = {
    "values": (20373482, 50148605, 50130602, 50134750, *([20373068] if NIGHTLY else [])),
    "words": (425255, 425496, 426902, *([428411] if NIGHTLY else [])),
}


@pytest.mark.parametrize("name", targets.TARGETS)
def test_nothing_raises_hangs_or_writes_elsewhere(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if name == "messages" and os.name != "posix":
        pytest.skip("its project holds symbolic links and a named pipe")
    monkeypatch.chdir(tmp_path)
    seeds = (*range(RUNS[name][NIGHTLY]), *KEPT.get(name, ()))
    found = [fault for seed in seeds if (fault := targets.run(name, seed, tmp_path))]
    assert not found, "\n".join(found[:3])


def test_a_fault_would_be_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A target that raises, is slow or writes where it must not is reported."""
    from flatwise.tool import cli

    def raises(*given: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("flatwise.sources.point_file.read_points", raises)
    assert "ZeroDivisionError" in targets.run("points", 0, tmp_path)
    monkeypatch.setattr(faults, "PER_10_KB", -1.0)  # while an alarm is set, the clock may count in ticks
    assert "took" in targets.run("grammar", 0, tmp_path)
    monkeypatch.setattr(faults, "PER_10_KB", 1.0)

    def strays(arguments: object) -> int:
        Path("jobs/b.flat").write_text("")
        return 0

    monkeypatch.setattr(cli, "main", strays)
    assert "wrote ['project/jobs/b.flat']" in targets.run("whole", 0, tmp_path)
    monkeypatch.setattr(cli, "main", lambda arguments: 2)
    assert "exit 2" in targets.run("whole", 1, tmp_path)


@pytest.mark.skipif(os.name != "posix", reason="its project holds symbolic links and a named pipe")
@pytest.mark.parametrize(
    ("instead", "said"),
    [
        ("raise SystemExit(3)", "died with 3|reads no more"),
        ("print('hello')", "not a message"),
        pytest.param("open('jobs/stray.flat', 'w').close(); run()", "wrote .*stray", marks=pytest.mark.nightly),
        pytest.param(
            "os.close(1); sys.stdin.buffer.read(9); sys.exit(4)",
            "no answer to|reads no more",
            marks=pytest.mark.nightly,
        ),
        pytest.param(
            "from flatwise_lsp.server.language_server import Server; Server.view = lambda *given: 1 / 0; run()",
            "ZeroDivisionError",
            marks=pytest.mark.nightly,
        ),
        pytest.param(
            "from flatwise_lsp.server.language_server import Server; Server.opened = lambda *given: 1 / 0; run()",
            "logged .*ZeroDivisionError",
            marks=pytest.mark.nightly,
        ),
        pytest.param(
            "from flatwise_lsp.server.protocol import Protocol; Protocol._untimely = lambda *given: None; run()",
            "got the answer",
            marks=pytest.mark.nightly,
        ),
    ],
)
def test_a_fault_of_the_server_would_be_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, instead: str, said: str
) -> None:
    """A server that dies, stays silent, breaks the protocol, writes a file or raises is reported."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(messages, "HANGS", 20)
    watched = hostile.watched

    def other(log: Path) -> list[str]:
        *command, code = watched(log)
        return [*command, code.removesuffix("run()\n") + instead]

    monkeypatch.setattr(hostile, "watched", other)
    assert any(re.search(said, targets.run("messages", seed, tmp_path)) for seed in range(3))


def test_texts_are_spoiled_in_many_ways() -> None:
    """Nearly all spoiled samples differ, and some of them still parse without a flaw."""
    from flatwise_grammar import parse

    made = [spoil.text(random.Random(seed), targets.SAMPLES[0], targets.SAMPLES) for seed in range(200)]
    assert len(set(made)) > 150
    assert 10 < sum(not parse(text, "a.flat")[1] for text in made[:100]) < 90
