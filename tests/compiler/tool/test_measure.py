"""`flatwise measure` from the command line: what it writes, what it leaves, and what stops it."""

from __future__ import annotations

import os
import re
from pathlib import Path

import pytest
from compiler.reading import USES
from compiler.tool.in_process import flatwise

from flatwise.pipeline import measure, read_works, work_out
from flatwise.tool import outputs

#: words that settle every shape of the plain top, so that it can be built
KNOWN = "twist 0mm; cup 0mm hollow; bow 0mm hollow"
WALK = "survey {{ walk dial_10; {} }}"
JOB = USES + "job tray from plain_top {{ {} }}\n"


def written(shop: Path, lines: str) -> None:
    (shop / "jobs" / "tray.flat").write_text(JOB.format(lines), encoding="utf-8")


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def contents(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_both_faces_beside_a_build_and_a_build_beside_them(shop: Path) -> None:
    written(shop, WALK.format(KNOWN))
    assert flatwise("build", "jobs/tray.flat", cwd=shop).returncode == 0
    built = contents(shop / "out" / "tray")
    assert flatwise("measure", "jobs/tray.flat", cwd=shop).returncode == 0
    top = contents(shop / "out" / "tray")
    assert top.keys() - built.keys() == {"measure.nc", "measure.html"}
    run = flatwise("measure", "jobs/tray.flat:tray", "--under", cwd=shop)
    assert run.returncode == 0 and run.stdout.startswith("tray: 15 points, ")
    assert "measure_under.html, measure_under.nc in out/tray" in run.stdout
    both = contents(shop / "out" / "tray")
    assert both.keys() - top.keys() == {"measure_under.nc", "measure_under.html"}
    assert {**both, **built, **top} == both
    assert flatwise("build", "jobs/tray.flat", cwd=shop).returncode == 0
    assert contents(shop / "out" / "tray") == both
    for name in ("measure.nc", "measure_under.nc"):
        run = flatwise("verify", f"out/tray/{name}", "--job", "jobs/tray.flat", cwd=shop)
        assert run.returncode == 0 and "measures tray at 15 points" in run.stdout


@pytest.mark.parametrize(
    "lines",
    [
        WALK.format(""),  # the standard requires a survey: FW205 as an error in check
        WALK.format("gap back_right 1.2mm, front 0mm"),  # rocks: FW203
        WALK.format("thickness centre 32mm") + "; faces { second to 31.9mm }",  # FW601
        WALK.format("thickness centre 32mm") + "; supports { shims leaf_set under corners }",
    ],
)
def test_what_is_not_known_yet_does_not_stop_it(shop: Path, lines: str) -> None:
    written(shop, lines)
    run = flatwise("measure", "jobs/tray.flat", "--strict", cwd=shop)
    assert run.returncode == 0, run.stdout
    assert names(shop / "out" / "tray") == ["measure.html", "measure.nc"]


@pytest.mark.parametrize(
    ("lines", "code"),
    [
        (WALK.format("thickness centre 36mm"), "FW202"),
        ("machine high; survey { walk dial_10 }", "FW302"),
        ("zero { corner front_left at 500mm, 120mm }; survey { walk dial_10 }", "FW301"),
        ("survey { walk dial_11 }", "FW102"),
    ],
)
def test_what_stops_it(shop: Path, lines: str, code: str) -> None:
    path = shop / "shared" / "shop.flat"
    path.write_text(path.read_text("utf-8") + "\nmachine high like bench_router { lift 80mm }\n", encoding="utf-8")
    written(shop, lines)
    run = flatwise("measure", "jobs/tray.flat", cwd=shop)
    assert run.returncode == 1 and f"{code} error" in run.stdout, run.stdout
    assert not (shop / "out").exists()


def test_without_a_gauge_only_the_form_is_written_and_an_older_program_goes(shop: Path) -> None:
    written(shop, WALK.format("thickness centre 32mm"))
    assert flatwise("measure", "jobs/tray.flat", "--out", "here", cwd=shop).returncode == 0
    written(shop, "survey { thickness centre 32mm }")
    run = flatwise("measure", "jobs/tray.flat", "--out", "here", cwd=shop)
    assert run.returncode == 0 and "no `walk` in its survey, so only the form; measure.html in here/tray" in run.stdout
    assert names(shop / "here" / "tray") == ["measure.html"]


def test_it_says_what_readings_have_brought_as_the_job_without_them_shows(shop: Path, repository: Path) -> None:
    sample = (repository / "jobs" / "reading_table.flat").read_text("utf-8")
    job = shop / "jobs" / "reading_table.flat"
    plans, said = [], []
    for text in (sample, re.sub(r"    survey \{.*?\n    \}\n", "survey { within 0.05mm }\n", sample, flags=re.DOTALL)):
        job.write_text(text, encoding="utf-8")
        (work,) = read_works([job]).works
        plan = work_out(work)[0]
        assert plan is not None
        plans.append(plan)
        said.append(flatwise("measure", "jobs/reading_table.flat", cwd=shop).stdout)
    now, before = plans
    (first, second), (was_first, was_second) = ([len(face.passes) for face in plan.setups] for plan in plans)
    assert 0 < second < was_second and 0 < first < was_first
    saved = was_first + was_second - first - second
    assert f"They save {saved} passes: the first face takes {first} instead of {was_first}, the second" in said[0]
    assert f"within {now.plus_minus:.2g} mm instead of {before.plus_minus:.3g} mm.\n" in said[0]
    assert "With" not in said[1]  # nothing was read, so nothing was brought


def test_all_or_none(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written(shop, WALK.format(KNOWN))
    assert flatwise("build", "jobs/tray.flat", cwd=shop).returncode == 0
    before = contents(shop / "out" / "tray")
    real = outputs._write

    def full(path: Path, content: bytes) -> None:
        if path.name == "measure.nc":
            raise OSError(28, os.strerror(28), str(path))
        real(path, content)

    monkeypatch.setattr(outputs, "_write", full)
    run = flatwise("measure", "jobs/tray.flat", cwd=shop)
    assert run.returncode == 2 and "job tray was not written" in run.stderr
    assert contents(shop / "out" / "tray") == before


def test_a_measuring_that_was_cut_off_loses_nothing_of_a_build(tmp_path: Path) -> None:
    """Cut off between its two renames: the folder is away, and what it carries over lies in the new one."""
    built = {"first.nc": b"1", "sheet.html": b"s", "summary.json": b"{}"}
    folder = outputs.write_all(tmp_path, "tray", built)
    outputs.write_all(tmp_path, "tray", {"measure.nc": b"m", "measure.html": b"h"})
    old, new = tmp_path / ".tray.measure.old", tmp_path / ".tray.measure.new"
    folder.rename(old)
    new.mkdir()
    for name in built:
        (old / name).rename(new / name)
    (new / "measure.html").write_bytes(b"half")
    outputs.write_all(tmp_path, "tray", {"measure_under.html": b"u"})
    assert contents(folder) == {**built, "measure.nc": b"m", "measure.html": b"h", "measure_under.html": b"u"}
    assert names(tmp_path) == ["tray"]


def test_jobs_that_are_not_there_or_have_nothing_to_measure(shop: Path) -> None:
    written(shop, WALK.format(""))
    run = flatwise("measure", "jobs/tray.flat:table", cwd=shop)
    assert run.returncode == 2 and "jobs/tray.flat has no job or batch table. It has: tray." in run.stderr
    board = Path(__file__).resolve().parents[3] / "jobs" / "spoilboard.flat"
    (shop / "jobs" / "spoilboard.flat").write_text(board.read_text("utf-8"), encoding="utf-8")
    run = flatwise("measure", "jobs/spoilboard.flat", cwd=shop)
    assert run.returncode == 2 and "nothing to measure" in run.stderr


def test_verify_takes_a_measuring_program_by_its_header_or_its_name(shop: Path) -> None:
    written(shop, WALK.format("thickness centre 32mm"))
    assert flatwise("measure", "jobs/tray.flat", cwd=shop).returncode == 0
    program = (shop / "out" / "tray" / "measure.nc").read_text("ascii")
    (shop / "renamed.nc").write_text(program)
    (shop / "measure.nc").write_text(program.replace("(measure top)\n", ""))
    for name in ("renamed.nc", "measure.nc"):
        run = flatwise("verify", name, "--job", "jobs/tray.flat", cwd=shop)
        assert run.returncode == 0 and "measures tray" in run.stdout, run.stdout
    (shop / "spoilt.nc").write_text(program.replace("M0", "M3", 1))
    run = flatwise("verify", "spoilt.nc", "--job", "jobs/tray.flat", cwd=shop)
    assert run.returncode == 1 and "FW901 error" in run.stdout
    written(shop, "survey { thickness centre 32mm }")
    run = flatwise("verify", "renamed.nc", "--job", "jobs/tray.flat", cwd=shop)
    assert run.returncode == 1 and "the survey of job `tray` has no `walk`" in run.stdout


@pytest.mark.parametrize(
    ("name", "gauge"),
    [
        ("reading_table", "dial_10"),
        pytest.param("lamp_table", "dial_10", marks=pytest.mark.nightly),
        pytest.param("study_shelf", "dial_half", marks=pytest.mark.nightly),
    ],
)
def test_the_examples_are_walked_past_their_clamps(repository: Path, name: str, gauge: str) -> None:
    path = (repository / "jobs" / f"{name}.flat").resolve()
    text = path.read_text("utf-8").replace("survey {", f"survey {{\n walk {gauge}", 1)
    (work,) = read_works([path], {path: text}).works
    assert len(work.holders) > 5
    for under in (False, True):
        made = measure(work, under=under)
        assert made.findings == () and made.walk is not None and len(made.walk.stops) == 15
        assert made.program.count(b"\nM0\n") == 16
