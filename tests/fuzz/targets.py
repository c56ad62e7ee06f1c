"""The fuzz targets: each takes spoiled input, and must not raise, hang or write outside its folder.

To run one, or `all`, from the folder tests/:

    python -m fuzz.targets all --seconds 600 --seed 0
"""

from __future__ import annotations

import argparse
import contextlib
import io
import os
import random
import re
import shutil
import signal
import sys
import tempfile
import time
import traceback
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from types import FrameType

from fuzz import faults, messages, spoil
from fuzz.faults import HANGS, PLANNING, Fault, tree

ROOT = Path(__file__).resolve().parents[2]
SAMPLES = tuple(path.read_text(encoding="utf-8") for path in sorted((ROOT / "jobs").glob("*.flat")))
SHARED = tuple(path.read_text(encoding="utf-8") for path in sorted((ROOT / "shared").glob("*.flat")))
TABLE = b"x mm,y mm,z mm\n" + b"".join(
    f"{x},{y},{32 + x * y * 1e-6:.3f}\n".encode() for x in range(0, 901, 100) for y in range(0, 501, 50)
)


def grammar(chance: random.Random, folder: Path) -> None:
    """The tree stays inside the text; formatting loses nothing, and doing it twice changes nothing."""
    from flatwise_grammar import format_text, parse
    from flatwise_grammar.nodes import Block, File

    whole = spoil.text(chance, chance.choice(SAMPLES + SHARED), SAMPLES + SHARED)
    with timed(len(whole)):
        tree, flaws = parse(whole, "a.flat", keep=True)
        waiting: list[File | Block] = [tree]
        while waiting:
            for part in getattr(waiting[-1], "body", getattr(waiting.pop(), "blocks", ())):
                if not 0 <= part.span.start <= part.span.end <= len(whole):
                    raise Fault(f"{part.span} is outside the text")
                if isinstance(part, Block):
                    waiting.insert(0, part)
        if parse(whole, "a.flat") != (tree, flaws):
            raise Fault("what is kept of the last version makes another tree")
        if any(not flaw.message for flaw in flaws):
            raise Fault("a flaw has no message")
    with timed(len(whole)):
        tidy = format_text(whole)
    if format_text(tidy) != tidy:
        raise Fault("formatting twice gives another text")
    if [one.message for one in parse(tidy)[1]] != [one.message for one in flaws]:
        raise Fault("formatting changes what is wrong with a text")


def points(chance: random.Random, folder: Path) -> None:
    """A point file gives points on the panel, or findings."""
    import numpy as np

    from flatwise.core.finding import has_errors
    from flatwise.sources.point_file import read_points
    from flatwise_grammar.nodes import Span

    whole = spoil.data(chance, TABLE, spoil.POINT_PIECES)
    with timed(len(whole)):
        found, findings = read_points(whole, "t.csv", Span("a.flat", 0, 1), 900.0, 500.0)
    if (found is None) != has_errors(findings):
        raise Fault("the file gives both points and errors, or neither")
    if found is not None and not (np.isfinite(found).all() and found.shape[1] == 3 and len(found) >= 3):
        raise Fault("the points are not numbers, or fewer than three")


@cache
def _planned() -> tuple[object, tuple[bytes, ...]]:
    from flatwise.gcode.write import write
    from flatwise.pipeline import read_works, work_out

    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(ROOT / "shared", Path(folder) / "shared")
        (Path(folder) / "flatwise.toml").write_text("")
        path = Path(folder) / "small.flat"
        path.write_text(
            'use "shared/shop.flat"\nuse "shared/sample.flat"\njob small from plain_top '
            "{ stock { size 200mm x 150mm x 32mm } cut { cutter fly_64; depth 0.5mm } "
            "hold { dog low_dog left at 50%; dog low_dog front at 30%, 70%; clamp side_cam right at 50%; "
            "clamp side_cam back at 50% } }\n"
        )
        plan, _, _ = work_out(read_works([path]).works[0])
    assert plan is not None
    return plan, tuple(write(plan, setup) for setup in plan.setups)


def program(chance: random.Random, folder: Path) -> None:
    """A program is proven or refused, and every finding lies inside it."""
    from flatwise.model.stages import Plan
    from flatwise.verify import judge, verify

    plan, programs = _planned()
    assert isinstance(plan, Plan)
    which = chance.randrange(len(programs))
    whole = spoil.data(chance, programs[which], spoil.PROGRAM_PIECES)
    with timed(len(whole)):
        proof, findings = verify(whole, plan, plan.setups[which])
    judge(whole, chance.choice(("first.nc", "x", "SECOND.NC", "a/b\\c")), plan)
    for each in findings:
        if not each.code.startswith("FW90") or not each.message:
            raise Fault(f"a program gives the finding {each.code}, or one without a message")
        if each.span is not None and not 0 <= each.span.start <= each.span.end <= len(whole):
            raise Fault(f"{each.span} is outside the program")
    if proof.program_moves < 0:
        raise Fault("the number of moves is negative")


def whole(chance: random.Random, folder: Path) -> None:
    """`check` or `build` of a spoiled project: a valid exit code, and no file where none belongs."""
    from flatwise.tool.cli import main

    root = folder / "project"
    shutil.rmtree(root, ignore_errors=True)
    (root / "jobs").mkdir(parents=True)
    shutil.copytree(ROOT / "shared", root / "shared")
    (root / "flatwise.toml").write_text(chance.choice(('out = "out"\n', 'out = "../up"\n', "strict = true\n", "")))
    text = spoil.text(chance, chance.choice(SAMPLES), SAMPLES + SHARED)
    if chance.random() < 0.3:
        text = text.replace("    survey {", '    survey { probe "t.csv"', 1)
    (root / "jobs" / "t.csv").write_bytes(spoil.data(chance, TABLE, spoil.POINT_PIECES))
    (root / "jobs" / "a.flat").write_bytes(text.encode("utf-8", "surrogatepass"))
    if chance.random() < 0.3:
        other = chance.choice(("shop.flat", "inch_shop.flat", "sample.flat", "recipes.flat"))
        shared = spoil.text(chance, (root / "shared" / other).read_text(), SAMPLES + SHARED)
        (root / "shared" / other).write_bytes(shared.encode("utf-8", "surrogatepass"))
    before = tree(folder)
    command = chance.choice(
        (["check"], ["check"], ["build"], ["check", "--message", "json"], ["build", "--message", "sarif"])
    )
    said = io.StringIO()
    size = sum(len(path.read_bytes()) for path in root.rglob("*.flat"))
    with (
        contextlib.chdir(root),
        timed(size, PLANNING),
        contextlib.redirect_stdout(said),
        contextlib.redirect_stderr(said),
    ):
        code = main([*command, "jobs/a.flat"])
    if code not in (0, 1) and "out folder" not in said.getvalue():
        raise Fault(f"exit {code}: {said.getvalue()[-2000:]}")
    new = {name for name, state in tree(folder).items() if before.get(name) != state}
    strange = {name for name in new if command[0] == "check" or not name.startswith("project/out/")}
    if strange:
        raise Fault(f"{command[0]} wrote {sorted(strange)}")


def words(chance: random.Random, folder: Path) -> None:
    """The same as `values`, of jobs with words that few have."""
    values(chance, folder, rarer=True)


def values(chance: random.Random, folder: Path, rarer: bool = False) -> None:
    """Random jobs with some quantities much larger or smaller: refused, or built and proven."""
    from compiler.random_build import judge, shop
    from compiler.random_jobs import with_rarer_words, write_job
    from compiler.random_shop import Plain, Written

    share = chance.choice((0.02, 0.05, 0.2))

    def other(match: re.Match[str]) -> str:
        if chance.random() > share:
            return match[0]
        return f"{float(match[1]) * 10 ** chance.uniform(-3, 3):.{chance.choice((0, 2, 6))}f}{match[2]}"

    written = write_job(Plain(chance.random()))
    if rarer:
        written = with_rarer_words(Plain(chance.random()), written)
    text = re.sub(r"(?<![\w./-])(\d+(?:\.\d+)?)((?:mm|in|thou|rpm|%|m/min|kW|hp|N|lbf|s)\b|%)", other, written.text)
    jobs = shop(folder)
    with timed(len(text), PLANNING):
        result = judge(Written(text, written.files), jobs, most_moves=1500)
    if result.fault:
        raise Fault(f"{result.fault}\n{text}")


TARGETS: dict[str, Callable[[random.Random, Path], None]] = {
    each.__name__: each for each in (grammar, points, program, whole, values, words, messages.messages)
}
_spent = 0.0


@contextlib.contextmanager
def timed(size: int, more: float = 0.0) -> Iterator[None]:
    """Stop a target that hangs; report one that takes longer than the size of its input allows."""
    global _spent

    def stop(signum: int, frame: FrameType | None) -> None:
        raise Fault(f"still running after {HANGS}s: {''.join(traceback.format_stack(frame, limit=6))}")

    # processor time, so that a busy machine raises no alarm; wall time for a target that only waits
    alarms = ((signal.SIGPROF, signal.ITIMER_PROF, HANGS), (signal.SIGALRM, signal.ITIMER_REAL, 30 * HANGS))
    former = [signal.signal(number, stop) for number, _, _ in alarms]
    for _, timer, seconds in alarms:
        signal.setitimer(timer, seconds)
    start = time.process_time()
    try:
        yield
    finally:
        for (number, timer, _), before in zip(alarms, former, strict=True):
            signal.setitimer(timer, 0)
            signal.signal(number, before)
    took = time.process_time() - start
    _spent = max(_spent, took)
    if took > faults.PER_10_KB * (1 + size // 10_000) + more:
        raise Fault(f"took {took:.1f}s for {size} characters")


def run(name: str, seed: int, folder: Path) -> str:
    """Run a target once and return its fault, or ""."""
    try:
        TARGETS[name](random.Random(f"{name} {seed}"), folder)
    except Exception:
        return traceback.format_exc(limit=-6)
    return ""


def main() -> int:
    """Run the targets in turn for some time and print each fault with its seed."""
    global _spent
    parser = argparse.ArgumentParser()
    parser.add_argument("target", choices=[*TARGETS, "all"])
    parser.add_argument("--seconds", type=float, default=60.0)
    parser.add_argument("--seed", type=int, default=0)
    given = parser.parse_args()
    names = list(TARGETS) if given.target == "all" else [given.target]
    runs, wrong, slowest = dict.fromkeys(names, 0), 0, dict.fromkeys(names, 0.0)
    spent = dict.fromkeys(names, 0.0)
    end = time.monotonic() + given.seconds
    seed = given.seed
    with tempfile.TemporaryDirectory() as folder:
        os.chdir(folder)
        while time.monotonic() < end:
            # every target gets the same time
            name = min(names, key=lambda each: spent[each])
            start, _spent = time.monotonic(), 0.0
            fault = run(name, given.seed + runs[name], Path(folder))
            if fault:
                wrong += 1
                print(f"--- {name}, seed {given.seed + runs[name]}:\n{fault}", flush=True)
            runs[name] += 1
            spent[name] += time.monotonic() - start
            slowest[name] = max(slowest[name], _spent)
            seed += 1
    took = {name: round(value, 2) for name, value in slowest.items()}
    print(f"runs {runs}, messages {messages.sent}, slowest {took} s, faults {wrong}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
