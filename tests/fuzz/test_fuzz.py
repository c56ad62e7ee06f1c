"""Spoiled texts, points and programs: nothing raises, nothing hangs, nothing is written outside its folder.

A nightly run (FLATWISE_NIGHTLY=1) tries many more; `python -m fuzz.targets` runs until a given time is over.
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

MANY = 40 if NIGHTLY else 1
RUNS = {"grammar": 100, "points": 500, "program": 50, "whole": 50, "values": 60, "messages": 4}
#: seeds that found something long after these: faces of a thousand rows that took 18 s, a dwell rounded down, and a
#: border that a spoilboard's last pass leaves higher than the shoe rides
KEPT = {"values": (20373068, 20373482, 50148605, 50130602, 50134750)}


@pytest.mark.parametrize("name", targets.TARGETS)
def test_nothing_raises_hangs_or_strays(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    if name == "messages" and os.name != "posix":
        pytest.skip("its project holds links and a pipe that is a file")
    monkeypatch.chdir(tmp_path)
    seeds = (*range(RUNS[name] * MANY), *KEPT.get(name, ()))
    found = [fault for seed in seeds if (fault := targets.run(name, seed, tmp_path))]
    assert not found, "\n".join(found[:3])


def test_a_fault_would_be_seen(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A target that raises, is slow, or writes where it may not is found."""
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


@pytest.mark.skipif(os.name != "posix", reason="as above")
@pytest.mark.parametrize(
    ("instead", "said"),
    [
        ("raise SystemExit(3)", "died with 3|hears no more"),
        ("os.close(1); sys.stdin.buffer.read(9); sys.exit(4)", "no answer to|hears no more"),
        ("print('hello')", "no message"),
        ("open('jobs/stray.flat', 'w').close(); run()", "wrote .*stray"),
        (
            "from flatwise_lsp.server.language_server import Server; Server.view = lambda *given: 1 / 0; run()",
            "ZeroDivisionError",
        ),
        (
            "from flatwise_lsp.server.language_server import Server; Server.opened = lambda *given: 1 / 0; run()",
            "survived .*ZeroDivisionError",
        ),
        (
            "from flatwise_lsp.server.protocol import Protocol; Protocol._untimely = lambda *given: None; run()",
            "answered by",
        ),
    ],
)
def test_a_fault_of_the_server_would_be_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, instead: str, said: str
) -> None:
    """A server that dies, is silent, says what is none of the protocol, writes, or stumbles is found."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr(messages, "HANGS", 20)
    watched = hostile.watched

    def other(log: Path) -> list[str]:
        *command, code = watched(log)
        return [*command, code.removesuffix("run()\n") + instead]

    monkeypatch.setattr(hostile, "watched", other)
    assert any(re.search(said, targets.run("messages", seed, tmp_path)) for seed in range(3))


def test_texts_are_spoiled_in_many_ways() -> None:
    """The spoiled samples are nearly all different, and a part of them still reads without a flaw."""
    from flatwise_grammar import parse

    made = [spoil.text(random.Random(seed), targets.SAMPLES[0], targets.SAMPLES) for seed in range(200)]
    assert len(set(made)) > 150
    assert 10 < sum(not parse(text, "a.flat")[1] for text in made[:100]) < 90
