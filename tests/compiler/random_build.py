"""Build random jobs: a job that `check` accepts must be written and proven.

To run it from the folder tests/:

    python -m compiler.random_build --count 1000 --seed 0

With --digests, it prints a line for each job that is the same wherever the job gives the same bytes.
"""

from __future__ import annotations

import argparse
import json
import os
import shutil
import sys
import tempfile
import time
import traceback
from collections import Counter
from dataclasses import dataclass
from hashlib import sha256
from pathlib import Path

import jsonschema
from compiler.random_jobs import write_job
from compiler.random_shop import Plain, Written

from flatwise.core.finding import has_errors
from flatwise.pipeline import build, read_works, work_out, write_programs

ROOT = Path(__file__).resolve().parents[2]


@dataclass(frozen=True)
class BuildResult:
    """The result of a job: refused with these codes, or built; `fault` says what went wrong instead."""

    codes: tuple[str, ...] = ()
    fault: str = ""
    faces: int = 0


def shop(folder: Path) -> Path:
    """Make a project with the shop's files and return its folder for jobs."""
    shutil.copytree(ROOT / "shared", folder / "shared", dirs_exist_ok=True)
    (folder / "flatwise.toml").write_text("")
    (folder / "jobs").mkdir(exist_ok=True)
    return folder / "jobs"


def judge(written: Written, jobs: Path, *, whole: bool = False, most_moves: int | None = None) -> BuildResult:
    """Build a job in `jobs`: written and proven if check accepts it; with `whole`, its choices, sheet and summary too.

    A job of more than `most_moves` moves is only checked.
    """
    from flatwise.report import files
    from flatwise.report.summary import json_schema

    path = jobs / "panel.flat"
    path.write_text(written.text, encoding="utf-8")
    for name, rows in written.files.items():
        (jobs / name).write_text(rows, encoding="utf-8")
    try:
        front = read_works([path])
        errors = [each.code for each in front.findings if each.severity == "error"]
        if errors or not front.works:
            return BuildResult(tuple(sorted(set(errors))), "" if errors else "neither a job nor an error")
        if most_moves is not None:
            plan, findings, _ = work_out(front.works[0])
            moves = sum(len(each.path) for setup in plan.setups for each in setup.passes) if plan is not None else 0
            if moves > most_moves or has_errors(findings):
                return BuildResult(tuple(sorted({each.code for each in findings if each.severity == "error"})))
        built = (build if whole else write_programs)(front.works[0])
        proving = [each for each in built.findings if each.code >= "FW9"]
        if proving:
            return BuildResult(fault=f"{proving[0].code} {proving[0].message}")
        errors = [each.code for each in built.findings if each.severity == "error"]
        if errors:
            return BuildResult(tuple(sorted(set(errors))), "" if not built.programs else "programs despite an error")
        assert built.plan is not None
        wanted = {f"{setup.face}.nc" for setup in built.plan.setups}
        if set(built.programs) != wanted:
            return BuildResult(fault=f"programs {sorted(built.programs)} instead of {sorted(wanted)}")
        for face, proof in built.proofs.items():
            if proof.collisions or proof.left_above_plane > 1e-9:
                return BuildResult(fault=f"{face}: {proof}")
        if whole:
            jsonschema.validate(json.loads(files(built, front.texts, str)["summary.json"]), json.loads(json_schema()))
        return BuildResult(faces=len(wanted))
    except Exception:
        return BuildResult(fault=traceback.format_exc(limit=-4))


def digest(written: Written, jobs: Path) -> str:
    """The codes of a job's findings, and a digest of all that it gives: programs, sheet and summary."""
    from flatwise.report import files

    path = jobs / "panel.flat"
    path.write_text(written.text, encoding="utf-8")
    for name, rows in written.files.items():
        (jobs / name).write_text(rows, encoding="utf-8")
    front = read_works([path])
    built = [build(work) for work in front.works]
    findings = [each for found in (front, *built) for each in found.findings]
    given = [
        *(f"{each.code} {each.message} {each.help}" for each in findings),
        *(str(text) for each in built if each.programs for text in files(each, front.texts, str).values()),
    ]
    return " ".join([*(each.code for each in findings), sha256("\0".join(given).encode()).hexdigest()])


def main() -> int:
    """Judge many random jobs and print the results, with every fault."""
    parser = argparse.ArgumentParser()
    parser.add_argument("--count", type=int, default=100)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--digests", action="store_true")
    given = parser.parse_args()
    if given.digests:
        with tempfile.TemporaryDirectory() as folder:
            jobs = shop(Path(folder))
            os.chdir(folder)
            for seed in range(given.seed, given.seed + given.count):
                print(seed, digest(write_job(Plain(seed)), jobs), flush=True)
        return 0
    counts: Counter[str] = Counter()
    refused: Counter[str] = Counter()
    slowest, faults = (0.0, -1), 0
    with tempfile.TemporaryDirectory() as folder:
        jobs = shop(Path(folder))
        for seed in range(given.seed, given.seed + given.count):
            written = write_job(Plain(seed))
            start = time.perf_counter()
            result = judge(written, jobs, whole=seed % 10 == 0)
            slowest = max(slowest, (time.perf_counter() - start, seed))
            counts["fault" if result.fault else "refused" if result.codes else f"{result.faces} faces"] += 1
            refused.update(result.codes)
            if result.fault:
                faults += 1
                print(f"--- seed {seed}: {result.fault}", flush=True)
    print(f"seeds from {given.seed}, {given.count}: {dict(counts)}; slowest {slowest[0]:.1f}s (seed {slowest[1]})")
    print(f"refused for {dict(refused.most_common())}")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
