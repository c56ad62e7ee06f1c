"""Several jobs in one run: the same words and bytes by any number of processes, and one failure no matter to others."""

from __future__ import annotations

import json
import os
import signal
import sys
import time
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise
from compiler.tool.test_cli import DEEP, JOB, WAIVED, job

from flatwise.model.stages import Work
from flatwise.pipeline import read_works
from flatwise.tool import jobs, outputs, workers


def tree(folder: Path) -> dict[str, bytes]:
    return {str(path.relative_to(folder)): path.read_bytes() for path in sorted(folder.rglob("*")) if path.is_file()}


def several(shop: Path, count: int = 6) -> None:
    for number in range(count):
        job(shop, f"tray_{number}", more=(DEEP, WAIVED, "", "cut { depth 0.3mm }")[min(number, 3)])


def test_words_and_bytes_do_not_depend_on_the_number_of_workers(shop: Path) -> None:
    several(shop, 4)
    runs = {}
    for count in ("1", "3"):
        run = flatwise("build", "jobs", "--workers", count, "--out", f"o{count}", cwd=shop)
        assert run.returncode == 1 and run.stderr == ""
        runs[count] = run.stdout.replace(f"o{count}", "o")
    assert len(set(runs.values())) == 1
    assert tree(shop / "o1") == tree(shop / "o3") and len(tree(shop / "o1")) == 4 * 3
    outs = {flatwise("check", "jobs", "--workers", n, "--message", "json", cwd=shop).stdout for n in "13"}
    assert len(outs) == 1 and json.loads(outs.pop().splitlines()[0])


def test_the_table_has_a_line_for_each_job_in_the_order_of_the_files(shop: Path) -> None:
    several(shop, 4)
    run = flatwise("build", "jobs", "--workers", "2", cwd=shop)
    lines = run.stdout.splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith("job "))
    rows = lines[at + 1 : at + 5]
    assert [row.split()[0] for row in rows] == [f"tray_{number}" for number in range(4)]
    assert "not written" in rows[0] and rows[0].endswith(" errors")
    assert "29mm +/- " in rows[1] and " min " in rows[1] and rows[1].endswith("1 warning")
    assert rows[3].endswith("none") and lines[at + 5] == "3 of 4 jobs written to out."
    run = flatwise("check", "jobs", cwd=shop)
    assert "tray_0  failed" in run.stdout and "tray_3  ok" in run.stdout


def test_a_job_that_can_not_be_read_has_its_line_too(shop: Path) -> None:
    job(shop, "a_tray")
    path = job(shop, "b_tray")
    path.write_text(path.read_text().replace("bow 0mm", "bow 0"))
    path = job(shop, "c_tray")
    path.write_text(path.read_text().replace("shop.flat", "shed.flat"))
    job(shop, "d_tray")
    run = flatwise("build", "jobs", cwd=shop)
    lines = run.stdout.splitlines()
    at = next(number for number, line in enumerate(lines) if line.startswith("job "))
    rows = [line.split("  ") for line in lines[at + 1 : at + 5]]
    assert [row[0] for row in rows] == ["a_tray", "b_tray", "c_tray", "d_tray"]
    assert [row[1].strip() for row in rows] == ["written", "not written", "not written", "written"]
    assert rows[1][-1].strip() == "1 error" and rows[2][-1].strip() == "errors in its files"
    assert lines[at + 5] == "2 of 4 jobs written to out." and run.returncode == 1
    run = flatwise("check", "jobs", cwd=shop)
    assert "b_tray  failed" in run.stdout and run.stdout.endswith("\n3 of 4 jobs checked, 2 errors.\n")
    run = flatwise("check", "jobs/b_tray.flat", cwd=shop)
    assert run.stdout.endswith("\n0 of 1 job checked, 1 error.\n")


def test_a_fault_in_one_file_keeps_only_the_jobs_that_it_takes_part_in_from_being_written(shop: Path) -> None:
    job(shop, "good")
    (shop / "jobs" / "broken.flat").write_text("job broken {")
    (shop / "jobs" / "not_text.flat").write_bytes(b"job \xff")
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 1 and "FW002" in run.stdout and "FW004" in run.stdout
    assert sorted(path.name for path in (shop / "out").iterdir()) == ["good"]
    # a cutter of another file that this one uses: what the job means may be wrong
    (shop / "shared" / "more.flat").write_text("cutter half { diameter 12mm }\n")
    job(shop, "user")
    path = shop / "jobs" / "user.flat"
    path.write_text('use "../shared/more.flat"\n' + path.read_text())
    run = flatwise("build", "jobs", "--out", "o", cwd=shop)
    assert "FW105" in run.stdout and sorted(path.name for path in (shop / "o").iterdir()) == ["good"]


def test_a_used_file_that_is_no_text_holds_its_jobs_back(shop: Path) -> None:
    """It could redeclare what the job would else take from the table of woods."""
    job(shop, "good")
    path = job(shop, "user")
    path.write_text('use "../shared/more.flat"\n' + path.read_text())
    (shop / "shared" / "more.flat").write_bytes(b"wood ash { density 1kg/m3 } # \xff")
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 1 and sorted(path.name for path in (shop / "out").iterdir()) == ["good"]


def test_two_jobs_of_one_name_are_both_held_back(shop: Path) -> None:
    job(shop, "tray")
    (shop / "jobs" / "other.flat").write_text(JOB.format(name="tray", more=""))
    job(shop, "good")
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 1 and "FW103" in run.stdout
    assert sorted(path.name for path in (shop / "out").iterdir()) == ["good"]


def test_a_cutter_declared_again_in_one_jobs_file_does_not_hold_back_those_who_share_the_first(shop: Path) -> None:
    job(shop, "good")
    path = job(shop, "clash")
    text = path.read_text()
    path.write_text(text + "dog low_dog { across 19mm; height 11mm }\n")
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 1 and "FW103" in run.stdout
    assert sorted(path.name for path in (shop / "out").iterdir()) == ["good"]


def test_a_fault_in_the_project_file_holds_all_back(shop: Path) -> None:
    several(shop, 4)
    (shop / "flatwise.toml").write_text('standart = "solid_tops"\n')
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 1 and "FW101" in run.stdout and not (shop / "out").exists()
    assert "errors in its files" in run.stdout


def test_a_job_that_the_system_refuses_is_told_and_the_rest_is_written(shop: Path) -> None:
    several(shop, 4)
    (shop / "out").mkdir()
    (shop / "out" / "tray_3").write_text("a file")
    run = flatwise("build", "jobs", "--workers", "2", cwd=shop)
    assert run.returncode == 2 and run.stderr.count("flatwise: job tray_3 was not written") == 1
    assert sorted(path.name for path in (shop / "out").iterdir()) == ["tray_1", "tray_2", "tray_3"]


def raises(work: Work) -> jobs.JobResult:
    if work.name == "tray_1":
        raise KeyError("nothing of the kind")
    return jobs.JobResult(work.name)


def dies(work: Work) -> jobs.JobResult:
    if work.name == "tray_2":
        os.kill(os.getpid(), signal.SIGKILL)
    return jobs.JobResult(work.name)


def dies_once(work: Work) -> jobs.JobResult:
    """The first process that comes to one of these jobs is killed."""
    mark = Path(f"{work.name}_died")
    if work.name in ("tray_1", "tray_4") and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return jobs.JobResult(work.name)


def sleeps(work: Work) -> jobs.JobResult:
    with Path("workers").open("a") as file:
        file.write(f"{os.getpid()}\n")
    time.sleep(600)
    return jobs.JobResult(work.name)


def ended(process: int) -> bool:
    """Whether it is gone, or waits only for whoever inherits it to notice."""
    try:
        return Path(f"/proc/{process}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
    except FileNotFoundError:
        return True


@pytest.mark.parametrize("count", [1, 2])
def test_an_exception_is_the_result_of_one_job(shop: Path, count: int) -> None:
    several(shop, 4)
    results = list(workers.run(jobs.task(raises), read_works([shop / "jobs"]).works, count))
    assert [bool(each.bug) for each in results] == [False, True, False, False]
    assert "KeyError: 'nothing of the kind'" in results[1].bug


@pytest.mark.parametrize("count", [2, 3])
def test_what_is_left_is_tried_again_after_a_process_is_killed(shop: Path, count: int) -> None:
    several(shop, 6)
    works = read_works([shop / "jobs"]).works
    results = list(workers.run(jobs.task(dies_once), works, count))
    assert results == [jobs.JobResult(work.name) for work in works]
    assert Path("tray_1_died").exists() and Path("tray_4_died").exists()


def test_only_a_job_that_kills_its_process_each_time_is_not_done(shop: Path) -> None:
    several(shop, 6)
    works = read_works([shop / "jobs"]).works
    results = list(workers.run(jobs.task(dies), works, 2))
    assert [each.job for each in results] == [work.name for work in works]
    assert [each.job for each in results if each.refused] == ["tray_2"]
    assert "was killed twice" in results[2].refused and "--workers 1" in results[2].refused


def test_a_build_with_killed_processes_counts_what_is_on_the_disk(
    shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    for number in range(5):
        job(shop, f"tray_{number}")
    write_all = outputs.write_all

    def killed_in(out: Path, name: str, made: dict[str, bytes]) -> Path:
        """One is killed each time before it has written, another once when it has."""
        if name == "tray_2":
            os.kill(os.getpid(), signal.SIGKILL)
        folder = write_all(out, name, made)
        if name == "tray_3" and not Path("died").exists():
            Path("died").touch()
            os.kill(os.getpid(), signal.SIGKILL)
        return folder

    monkeypatch.setattr(outputs, "write_all", killed_in)
    run = flatwise("build", "jobs", "--workers", "2", cwd=shop)
    assert sorted(path.name for path in (shop / "out").iterdir()) == ["tray_0", "tray_1", "tray_3", "tray_4"]
    assert "4 of 5 jobs written to out." in run.stdout and run.returncode == 2
    assert run.stderr.count("tray_2") == 1 and run.stderr.count("killed") == 1


@pytest.mark.skipif(sys.platform != "linux", reason="looks at processes as Linux shows them")
@pytest.mark.parametrize("sent", [signal.SIGTERM, signal.SIGKILL])
def test_the_processes_of_a_run_end_with_it(shop: Path, sent: signal.Signals) -> None:
    several(shop, 4)
    parent = os.fork()
    if not parent:
        try:
            signal.signal(signal.SIGTERM, signal.SIG_DFL)
            list(workers.run(jobs.task(sleeps), read_works([shop / "jobs"]).works, 3))
        finally:
            os._exit(0)
    soon = time.monotonic() + 20
    while not (Path("workers").exists() and Path("workers").read_text().count("\n") == 3):
        assert time.monotonic() < soon
        time.sleep(0.02)
    os.kill(parent, sent)
    os.waitpid(parent, 0)
    soon = time.monotonic() + 1
    while not all(ended(int(process)) for process in Path("workers").read_text().split()):
        assert time.monotonic() < soon, "they should end within a second"
        time.sleep(0.02)


def test_a_number_of_workers_is_a_whole_number_of_at_least_one(shop: Path) -> None:
    for wrong in ("0", "-1", "two", "1.5"):
        run = flatwise("build", "jobs", "--workers", wrong, cwd=shop)
        assert run.returncode == 2 and "whole number" in run.stderr
