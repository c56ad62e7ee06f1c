"""Change the compiler, one small fault at a time, and list the changes that no test notices.

    python tests/mutate.py SCRATCH compiler/flatwise/check compiler/flatwise/gcode/write.py --sample 200

SCRATCH is a copy of the checkout, never the checkout itself: its files are changed and restored.  The first run there
measures which test runs which line (kept in SCRATCH/.mutate.json).  Then, for each mutant, the tests that run the
changed line are run until one fails.  Survivors are printed as `path:line:column  was  →  is`; each is an equivalent
program or a gap in the tests, which the reader decides.  A timeout, printed as well, says neither.  Needs `coverage`
besides the test dependencies, and a system that can fork.  pytest does not collect this file.
"""

from __future__ import annotations

import argparse
import importlib
import json
import os
import random
import signal
import sys
import time
from collections import Counter
from pathlib import Path
from typing import Any

from mutants import Mutant, mutants

#: tests that start other programs: slow, and they judge no single line
LEFT_OUT = (
    "bench", "lsp", "sheet", "fuzz", "readme", "test_cli", "compare", "depfile", "build_faults",
    "tool/test_jobs", "tool/test_project", "same_bytes", "test_new", "outputs", "colours", "walls", "security",
)  # fmt: skip
LOADED_ONCE = (
    "numpy", "pydantic", "lark", "hypothesis", "pytest", "scipy.optimize", "shapely", "pint", "jinja2",
    "pytest_benchmark.plugin",
)  # fmt: skip


class Pick:
    """A pytest plugin: run the named tests in their order, or with None all, each as a context of coverage."""

    def __init__(self, names: list[str] | None) -> None:
        self.names = names
        self.took: Counter[str] = Counter()
        self.failed: set[str] = set()

    def pytest_collection_modifyitems(self, items: list[Any]) -> None:
        if self.names is not None:
            order = {name: i for i, name in enumerate(self.names)}
            items[:] = sorted((i for i in items if i.nodeid in order), key=lambda item: order[item.nodeid])

    def pytest_runtest_logstart(self, nodeid: str) -> None:
        if self.names is None:
            importlib.import_module("coverage").Coverage.current().switch_context(nodeid)

    def pytest_runtest_logreport(self, report: Any) -> None:
        self.took[report.nodeid] += report.duration
        if report.failed:
            self.failed.add(report.nodeid)


def measure(scratch: Path) -> dict[str, Any]:
    """{"took": {test: s}, "lines": {file: {line: tests that run it}}}."""
    kept = scratch / ".mutate.json"
    if not kept.exists():
        coverage, pytest = importlib.import_module("coverage"), importlib.import_module("pytest")
        watch, pick = coverage.Coverage(data_file=None, source_pkgs=["flatwise", "flatwise_grammar"]), Pick(None)
        watch.start()
        pytest.main([*(f"--ignore-glob=*{name}*" for name in LEFT_OUT), "tests"], plugins=[pick])
        watch.stop()
        lines = {
            str(Path(name).relative_to(scratch)): {
                line: [test for test in tests if test and test not in pick.failed]
                for line, tests in watch.get_data().contexts_by_lineno(name).items()
            }
            for name in watch.get_data().measured_files()
        }
        kept.write_text(json.dumps({"took": pick.took, "lines": lines}))
        raise SystemExit(f"measured, {len(pick.failed)} failing tests left out; run again to try mutants")
    return dict(json.loads(kept.read_text()))


def chosen(mutant: Mutant, known: dict[str, Any], budget: float) -> tuple[list[str], float]:
    """The tests to run and their time, s: one of each test file in turn, first those that run most lines a second."""
    lines, took = known["lines"].get(str(mutant.path), {}), known["took"]
    tests = {test for line in mutant.lines for test in lines.get(str(line), ())}
    if not tests and str(mutant.lines[1]) in lines:  # the line runs while the module loads
        tests = {test for line in lines.values() for test in line}
    runs = Counter(test for line in lines.values() for test in line)
    turn: Counter[str] = Counter()
    ranks = {}
    for test in sorted(tests, key=lambda test: (took.get(test, 9.9) + 0.05) / runs[test]):
        turn[test.partition("::")[0]] += 1
        ranks[test] = turn[test.partition("::")[0]]
    names, spent = list[str](), 0.0
    for test in sorted(ranks, key=lambda test: ranks[test]):
        if not names or spent + took.get(test, 9.9) <= budget:
            spent += took.get(test, 9.9)
            names.append(test)
    return names, spent


def forked(names: list[str], limit: float) -> str:
    """Run tests in a forked child, with the libraries loaded already, for at most `limit` s."""
    child = os.fork()
    if child == 0:
        os.setpgrp()
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        import hypothesis
        import pytest

        phases = (hypothesis.Phase.explicit, hypothesis.Phase.generate)
        hypothesis.settings.register_profile("mutate", phases=phases, derandomize=True, database=None)
        files = dict.fromkeys(name.partition("::")[0] for name in names)
        os._exit(int(pytest.main(["-x", "--hypothesis-profile=mutate", *files], plugins=[Pick(names)])))
    end = time.monotonic() + limit
    while time.monotonic() < end:
        done, status = os.waitpid(child, os.WNOHANG)
        if done:
            return {0: "survived", 4: "never run", 5: "never run"}.get(os.waitstatus_to_exitcode(status), "killed")
        time.sleep(0.01)
    os.killpg(child, signal.SIGKILL)
    os.waitpid(child, 0)
    return "timeout"


def main() -> int:
    """0 if no mutant survived."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    options.add_argument("scratch", type=Path, help="a copy of the checkout")
    options.add_argument("paths", nargs="+", help="files or folders to change, relative to it")
    options.add_argument("--sample", type=int, help="try at most this many mutants, drawn at random")
    options.add_argument("--budget", type=float, default=25.0, help="s of tests for one mutant")
    options.add_argument("--again", type=Path, help="the output of an earlier run: try its survivors again")
    asked = options.parse_args()
    scratch = asked.scratch.resolve()
    if scratch == Path(__file__).resolve().parents[1]:
        raise SystemExit("change a copy, not the checkout")
    os.chdir(scratch)
    sys.path[:0] = [str(scratch / name) for name in ("compiler", "grammar", "lsp", "tests")]
    os.environ["PYTHONPATH"] = os.pathsep.join(sys.path[:4])
    known = measure(scratch)
    for name in LOADED_ONCE:
        importlib.import_module(name)

    files = [file for p in map(Path, asked.paths) for file in ([p] if p.is_file() else sorted(p.glob("*.py")))]
    every = [mutant for file in files for mutant in mutants(file)]
    if asked.again is not None:
        listed = asked.again.read_text(encoding="utf-8")
        every = [mutant for mutant in every if mutant.told in listed]
    some = random.Random(1).sample(range(len(every)), min(asked.sample or len(every), len(every)))
    print(f"{len(some)} of {len(every)} mutants in {len(files)} files", flush=True)
    tally: Counter[str] = Counter()
    for mutant in (every[k] for k in sorted(some)):
        names, spent = chosen(mutant, known, asked.budget)
        whole = mutant.path.read_bytes()
        try:
            mutant.path.write_bytes(whole[: mutant.start] + mutant.new.encode() + whole[mutant.end :])
            outcome = forked(names, 20.0 + 3.0 * spent) if names else "never run"
        finally:
            mutant.path.write_bytes(whole)
        tally[outcome] += 1
        if outcome != "killed":
            print(f"{outcome}  {mutant.told}", flush=True)
    print(", ".join(f"{count} {outcome}" for outcome, count in sorted(tally.items())))
    return int(tally["survived"] + tally["never run"] > 0)


if __name__ == "__main__":
    raise SystemExit(main())
