"""Machine time of the example jobs' programs against the everyday way: `python tests/bench/everyday.py`.

The everyday way runs every pass whole, rows along the longer side at 65 % of the diameter, with the same depth, finish,
feed and overrun, from the highest forecast down to the same plane.  Both are timed by this file's own interpreter:
each straight way accelerates, cruises and brakes, with a full stop where the direction changes by more than 3 degrees.
It prints the table of DEVELOPERS.md: shares of the everyday way's time for the example jobs and for true panels of the
judge: as they are written, with the default rows and stepovers, and also with the depth that the rules allow.  With
`--parts` it prints what each part of that adds.
"""

from __future__ import annotations

import re
import shutil
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from math import acos, ceil, degrees, sqrt
from pathlib import Path

import numpy as np

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests"))

from outside.true_panels import drawn  # noqa: E402
from outside.true_runs import Bench, job_text  # noqa: E402

import flatwise.plan.setup as setup_of  # noqa: E402
from flatwise.model.stages import Setup, Work  # noqa: E402
from flatwise.pipeline import read_works, write_programs  # noqa: E402
from flatwise.plan import routing  # noqa: E402
from flatwise.plan.rows import Rows  # noqa: E402

Place = tuple[float, float, float]
PANELS = 35
#: words that each column leaves out
LEFT_OUT = "nothing", "rows|stepover", "rows|stepover|depth(?= +[0-9])"
#: a way to a place (mm), its speed (mm/min)
Way = tuple[Place, float]


def seconds(length: float, speed: float, acceleration: float) -> float:
    """From stop to stop: s/v + v/a, or 2·√(s/a) where the speed is not reached; mm, mm/min, mm/s²."""
    v = speed / 60.0
    return length / v + v / acceleration if length >= v * v / acceleration else 2.0 * sqrt(length / acceleration)


def time_of(start: Place, ways: Iterator[Way], acceleration: float) -> float:
    """Seconds for ways one after the other; ways on one line at one speed are one."""
    total, run, speed, line, here = 0.0, 0.0, 0.0, None, np.array(start)
    for to, rate in ways:
        step = np.array(to) - here
        length = float(np.sqrt(step @ step))
        if length < 1e-9:
            continue
        here, unit = np.array(to), step / length
        bent = line is None or degrees(acos(min(1.0, max(-1.0, float(line @ unit))))) > 3.0 or rate != speed
        if bent and run:
            total += seconds(run, speed, acceleration)
            run = 0.0
        run, speed, line = run + length, rate, unit
    return total + (seconds(run, speed, acceleration) if run else 0.0)


def programmed(program: str, rapid: float) -> Iterator[Way]:
    """The ways of a program in its work offset, mm, from its first known place on; G53 is left out."""
    at: dict[str, float] = {}
    scale, quick, feed = 1.0, True, 0.0
    for text in program.splitlines():
        words = dict(re.findall(r"([A-Z])(-?[\d.]+)", re.sub(r"\([^)]*\)", "", text)))
        codes = re.findall(r"G([\d.]+)", text.split("(")[0])
        scale = 25.4 if "20" in codes else 1.0 if "21" in codes else scale
        quick = True if "0" in codes else False if "1" in codes else quick
        feed = float(words["F"]) * scale if "F" in words else feed
        moved = {axis: float(words[axis]) * scale for axis in "XYZ" if axis in words}
        if "53" in codes or "4" in codes or not moved:
            continue
        at.update(moved)
        if len(at) == 3:
            yield (at["X"], at["Y"], at["Z"]), rapid if quick else feed


def everyday(work: Work, setup: Setup) -> Iterator[Way]:
    """The ways of the everyday way over one face, from the lift height into the lift height."""
    diameter, rapid = float(work.cutter.diameter), work.machine.rapid_feed
    long, short = max(work.length, work.width), min(work.length, work.width)
    spread = max(0.0, short + 2 * setup.overrun - diameter)
    count = ceil(spread / (0.65 * diameter) - 1e-9) + 1
    rows = [diameter / 2 - setup.overrun + spread * k / max(1, count - 1) for k in range(count)]
    ends = (-diameter / 2 - setup.overrun, long + diameter / 2 + setup.overrun)
    depth = max(one.limit for one in setup.passes)
    planes = [setup.plane]
    finish = float(work.job.cut.finish) if work.job.cut.finish is not None else depth
    while planes[-1] + (finish if len(planes) == 1 else depth) < setup.top.highest - 1e-9:
        planes.append(planes[-1] + (finish if len(planes) == 1 else depth))
    for plane in reversed(planes):
        yield (ends[0], rows[0], setup.lift), rapid
        yield (ends[0], rows[0], plane + float(work.machine.hop)), rapid
        yield (ends[0], rows[0], plane), work.machine.z_feed
        for k, row in enumerate(rows):
            yield (ends[k % 2], row, plane), setup.feed
            yield (ends[(k + 1) % 2], row, plane), setup.feed
        yield (ends[len(rows) % 2], rows[-1], setup.lift), rapid


def panels(shop: Path) -> Iterator[Path]:
    """Jobs of random true panels, surveyed as a person would; `shop` is a project with shared/."""
    (shop / "jobs").mkdir()
    for seed in range(PANELS):
        rng = np.random.default_rng(seed)
        bench = Bench(drawn(rng, "form"), "top" if seed % 2 else "bed", rng, 0.05)
        path = shop / "jobs" / f"panel_{seed}.flat"
        path.write_text(job_text(bench.panel, bench.readings, bench.zero), "utf-8")
        yield path


def built_times(path: Path, change: Callable[[str], str]) -> Iterator[tuple[str, float, float, int]]:
    """Name, seconds of the everyday way and of the programs, and passes, of each job of a file with changed text."""
    texts = {each: each.read_text("utf-8") for each in (path, *(path.parents[1] / "shared").glob("*.flat"))}
    for work in read_works([path], {each: change(text) for each, text in texts.items()}).works:
        built = write_programs(work)
        ours = theirs = 0.0
        setups = built.plan.setups if built.plan and built.programs else ()
        for setup in setups:
            acceleration, program = float(work.machine.acceleration), built.programs[f"{setup.face}.nc"]
            first = (0.0, 0.0, setup.lift)
            ours += time_of(first, programmed(program.decode("ascii"), work.machine.rapid_feed), acceleration)
            theirs += time_of(first, everyday(work, setup), acceleration)
        if setups:
            name = work.name if path.parents[1] == ROOT else path.stem
            yield name, theirs, ours, sum(len(one.passes) for one in setups)


def without(words: str, more: str = "") -> Callable[[str], str]:
    """Leaves words with their values out of a text, and puts `more` before every cutter of a cut."""
    return lambda text: re.sub(
        r"(?<=\s)cutter(?= +\w+\s*[;\n])", f"{more} cutter", re.sub(rf"(?<=[\s;{{])({words}) +[^;}}\n]*", "", text)
    )


def shares(paths: Sequence[Path]) -> None:
    """Print the table of shares."""
    found = []
    print("| job | everyday | as written | default words | depth by the rules | passes |\n|---|---|---|---|---|---|")
    for path in paths:
        variants = [list(built_times(path, without(words))) for words in LEFT_OUT]
        for (name, everyday_time, written, passes), *others in zip(*variants, strict=True):
            share = [written / everyday_time, *(each[2] / everyday_time for each in others)]
            found.append(share)
            said = " | ".join(f"{each:.2f}" for each in share)
            print(f"| {name} | {everyday_time:.0f} s | {said} | {passes} |", flush=True)
    for name, each in (("median", np.median(found, axis=0)), ("most", np.max(found, axis=0))):
        print(f"| {name} | | {' | '.join(f'{one:.2f}' for one in each)} | |")


def parts(paths: Sequence[Path]) -> None:
    """Print what each part adds: the jobs with default words, one thing more at a time."""
    rows, choices, spiral = Rows.short, setup_of.row_choices, routing.rounds
    away = without(LEFT_OUT[1])
    print("| with | time | of the everyday way | of the row above |\n|---|---|---|---|")
    theirs = before = 0.0
    for name, change, short, turned, inward in (
        ("every pass whole, 65 %", without(LEFT_OUT[1], "stepover 65%; rough same; skip_air no;"), 0, 0, 0),
        ("no air cut", without(LEFT_OUT[1], "stepover 65%; rough same;"), 0, 0, 0),
        ("stepover auto", away, 0, 0, 0),
        ("rows that end short", away, 1, 0, 0),
        ("rows in either direction", away, 1, 1, 0),
        ("rounds", away, 1, 1, 1),
        ("depth by the rules", without(LEFT_OUT[2]), 1, 1, 1),
    ):
        Rows.short = rows if short else property(lambda self: False)  # type: ignore[assignment,method-assign]
        setup_of.row_choices = (  # type: ignore[attr-defined]
            choices if turned else lambda *of: choices(*of)._replace(rough=choices(*of).rough[:1])
        )
        routing.rounds = spiral if inward else lambda *of: iter(())  # type: ignore[attr-defined]
        routing.routes.cache_clear()
        times = [each for path in paths for each in built_times(path, change)]
        # the everyday way keeps the depth that is written
        theirs, ours = theirs or sum(each[1] for each in times), sum(each[2] for each in times)
        print(f"| {name} | {ours:.0f} s | {ours / theirs:.2f} | {ours / before if before else 1.0:.3f} |", flush=True)
        before = ours


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        shutil.copytree(ROOT / "shared", Path(folder) / "shared")
        (Path(folder) / "flatwise.toml").write_text("")
        # the jobs of a batch are like others
        jobs = sorted(path for path in (ROOT / "jobs").glob("*.flat") if path.stem != "tray_batch")
        paths = [*jobs, *panels(Path(folder))]
        (parts if "--parts" in sys.argv else shares)(paths)


if __name__ == "__main__":
    main()
