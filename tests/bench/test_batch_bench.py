"""How long it takes to prove a batch, and what its one program a face saves.

Run with: pytest tests/bench/test_batch_bench.py --benchmark-only -s
"""

from __future__ import annotations

import shutil
from pathlib import Path
from time import process_time

from bench.pace import slower
from example_jobs import BATCH, ROOT, example_batch

from flatwise.gcode.write import write_batch
from flatwise.pipeline import read_works, work_out, work_out_batch
from flatwise.verify import verify_batch


def six_panels(folder: Path) -> Path:
    """A copy of the example with six panels of 600 × 400 mm on a bed that takes them."""
    text = (ROOT / "jobs" / f"{BATCH}.flat").read_text(encoding="utf-8")
    head, job = text[: text.index("job bread_tray")], text[text.index("job bread_tray") : text.index("job cheese_tray")]
    job = job.replace("length 440mm", "length 600mm").replace("width 300mm", "width 400mm")
    jobs = "".join(job.replace("bread_tray", f"tray_{name}") for name in "abcdef")
    wide = "machine wide_router like bench_router { travel 2600mm x 2000mm x 160mm }\n"
    names = ", ".join(f"tray_{name}" for name in "abcdef")
    batch = f"batch six {{ jobs {names}; from front_left at 80mm, 80mm }}\n"
    shutil.copytree(ROOT / "shared", folder / "shared")
    (folder / "jobs").mkdir()
    path = folder / "jobs" / "six.flat"
    path.write_text(head.replace("bench_router", "wide_router", 1) + wide + jobs + batch, encoding="utf-8")
    (folder / "flatwise.toml").write_text("")
    return path


def test_proving_six_panels(benchmark, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    (batch,) = read_works([six_panels(tmp_path)]).batches
    plan, _ = work_out_batch(batch)
    assert plan is not None and len(plan.faces) == 2
    programs = [write_batch(plan, face) for face in plan.faces]

    def prove() -> float:
        """Seconds of processor for both programs."""
        start = process_time()
        for program, face in zip(programs, plan.faces, strict=True):
            proofs, findings = verify_batch(program, plan, face)
            assert len(proofs) == 6 and findings == ()
        return process_time() - start

    took = min(benchmark.pedantic(prove, rounds=1), prove(), prove())
    print(f"\nsix panels of 600 x 400, both faces: {took:.2f} s")
    assert took < 2.0 * slower()


def test_the_example_takes_less_time_than_its_jobs_alone(benchmark) -> None:  # type: ignore[no-untyped-def]
    batch, built = benchmark.pedantic(example_batch, rounds=1)
    assert built.plan is not None
    together = sum(face.time for face in built.plan.faces)
    plans = [work_out(work)[0] for work in batch.works]
    alone = sum(setup.time for plan in plans if plan for setup in plan.setups)
    print(f"\n{BATCH}: {together:.0f} s together, {alone:.0f} s one by one")
    assert together < alone
