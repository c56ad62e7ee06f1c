"""`build --depfile`: read by real make and ninja, which then build just what has to be built."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
import time
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise
from compiler.tool.test_cli import DEEP, job

from flatwise.tool import depfile

NAMES = ["plain", "two words", "a#b", "cost$5", "tab\tbed", r"back\slash", r"back\ slash", "co:lon", "ümlaut"]
FILES = ("first.nc", "second.nc", "sheet.html", "summary.json")


def need(tool: str) -> None:
    if shutil.which(tool) is None:
        pytest.skip(f"{tool} is not installed")


def older(path: Path, seconds: float) -> None:
    """Set a file's time back."""
    past = path.stat().st_mtime - seconds
    os.utime(path, (past, past))


def test_a_rule_names_all_that_was_written_and_all_that_took_part(shop: Path) -> None:
    job(shop)
    assert flatwise("build", "jobs", "--depfile", "made/tray.d", cwd=shop).returncode == 0
    text = (shop / "made" / "tray.d").read_text()
    rule, *alone = text.split("\n\n")[0].split("\njobs/tray.flat:")
    targets, _, sources = rule.replace("\\\n", "").partition(":")
    assert targets.split() == [f"out/tray/{name}" for name in FILES]
    assert sources.split() == ["jobs/tray.flat", "shared/sample.flat", "shared/shop.flat", "flatwise.toml"]
    assert alone == ["\nshared/sample.flat:\nshared/shop.flat:\nflatwise.toml:\n"]


def test_each_job_has_its_rule_and_files_of_points_are_in_it(shop: Path) -> None:
    (shop / "jobs" / "t.csv").write_text(
        "x mm,y mm,t mm\n" + "".join(f"{x},{y},32\n" for x in (0, 450, 900) for y in (0, 250, 500))
    )
    job(shop, "shelf")
    path = job(shop, "tray")
    path.write_text(path.read_text().replace("survey {", 'survey { thickness "t.csv";'))
    assert flatwise("build", "jobs", "--depfile", "d", cwd=shop).returncode == 0
    rules = [line for line in (shop / "d").read_text().replace("\\\n", "").splitlines() if line.startswith("out/")]
    assert len(rules) == 2 and "jobs/t.csv" not in rules[0] and "jobs/t.csv" in rules[1]
    assert "jobs/shelf.flat" in rules[0] and "jobs/shelf.flat" not in rules[1]


def test_a_build_that_writes_nothing_leaves_the_file(shop: Path) -> None:
    job(shop, more=DEEP)
    assert flatwise("build", "jobs", "--depfile", "d", cwd=shop).returncode == 1
    assert not (shop / "d").exists()


def test_a_line_break_in_a_name_is_refused() -> None:
    with pytest.raises(ValueError, match="line break"):
        depfile.rules([(["out"], ["a\nb"])])


def test_a_build_for_a_build_tool_is_never_older_than_its_sources(shop: Path) -> None:
    path, out = job(shop), shop / "out" / "tray"
    for each in (path, *(shop / "shared").iterdir(), shop / "flatwise.toml"):
        older(each, 100)
    build = ("build", "jobs", "--depfile", "d")
    assert flatwise(*build, cwd=shop).returncode == 0
    for each in out.iterdir():
        older(each, 50)
    before = {each.name: each.stat().st_mtime for each in out.iterdir()}
    assert flatwise(*build, cwd=shop).returncode == 0
    assert {each.name: each.stat().st_mtime for each in out.iterdir()} == before
    older(path, -75)
    assert flatwise("build", "jobs", cwd=shop).returncode == 0
    assert {each.name: each.stat().st_mtime for each in out.iterdir()} == before
    assert flatwise(*build, cwd=shop).returncode == 0
    assert min(each.stat().st_mtime for each in out.iterdir()) > path.stat().st_mtime


@pytest.mark.parametrize("name", NAMES)
def test_make_takes_any_name(tmp_path: Path, name: str) -> None:
    need("make")
    (tmp_path / name).write_text("")
    (tmp_path / "d").write_text(depfile.rules([(["out"], [name])]))
    (tmp_path / "Makefile").write_text("out:\n\ttouch out\ninclude d\n")

    def make() -> str:
        run = subprocess.run(["make"], cwd=tmp_path, capture_output=True, encoding="utf-8", check=False)
        assert run.returncode == 0, run.stderr
        return run.stdout

    assert "touch out" in make()
    older(tmp_path / name, 100)
    assert "up to date" in make()
    os.utime(tmp_path / name, (2e9, 2e9))
    assert "touch out" in make()


@pytest.mark.parametrize("name", [name for name in NAMES if "\t" not in name])
def test_ninja_takes_any_name(tmp_path: Path, name: str) -> None:
    need("ninja")
    (tmp_path / name).write_text("")
    (tmp_path / "rules").write_text(depfile.rules([(["out"], [name])]))
    rule = "rule copy\n  command = cp rules d && touch out && echo made\n  depfile = d\nbuild out: copy\n"
    (tmp_path / "build.ninja").write_text(rule)
    older(tmp_path / name, 100)

    def ninja() -> str:
        run = subprocess.run(["ninja"], cwd=tmp_path, capture_output=True, encoding="utf-8", check=False)
        assert run.returncode == 0, run.stdout + run.stderr
        return run.stdout

    assert "made" in ninja()
    assert "no work to do" in ninja()
    os.utime(tmp_path / name, (2e9, 2e9))
    assert "made" in ninja()


MAKEFILE = """\
out/tray/first.nc out/tray/second.nc out/tray/sheet.html out/tray/summary.json &: jobs/tray.flat
\t{python} -m flatwise build $< --depfile out/tray.d
-include out/tray.d
"""
NINJA = """\
rule flatwise
  command = {python} -m flatwise build $in --depfile $depfile
  depfile = out/tray.d
build out/tray/first.nc out/tray/second.nc out/tray/sheet.html out/tray/summary.json: flatwise jobs/tray.flat
"""


@pytest.mark.nightly
@pytest.mark.parametrize("tool", ["make", "ninja"])
def test_a_build_tool_builds_anew_just_where_a_source_changed(shop: Path, tool: str) -> None:
    need(tool)
    job(shop)
    (shop / "Makefile").write_text(MAKEFILE.format(python=sys.executable))
    (shop / "build.ninja").write_text(NINJA.format(python=sys.executable))
    program = shop / "out" / "tray" / "first.nc"

    def built() -> bool:
        before = program.stat().st_ino if program.exists() else 0
        run = subprocess.run([tool], cwd=shop, capture_output=True, encoding="utf-8", check=False)
        assert run.returncode == 0, run.stdout + run.stderr
        return program.stat().st_ino != before

    for path in (shop / "jobs" / "tray.flat", *(shop / "shared").iterdir(), shop / "flatwise.toml"):
        older(path, 100)
    assert built()
    assert not built()
    os.utime(shop / "shared" / "inch_shop.flat")  # no part of this job
    assert not built()
    # touched, but not changed: run once, for the same bytes, and not again
    time.sleep(0.05)
    os.utime(shop / "shared" / "shop.flat")
    before = program.stat().st_mtime
    assert not built() and program.stat().st_mtime > before
    before = program.stat().st_mtime
    assert not built() and program.stat().st_mtime == before
    path = shop / "shared" / "shop.flat"
    path.write_text(path.read_text().replace("acceleration  500mm/s2", "acceleration  400mm/s2"))
    os.utime(path, (program.stat().st_mtime + 5,) * 2)
    assert built()
    older(path, 100)
    assert not built()
    # a source that is gone, and that the job no longer names: built anew, no fault of the tool
    more = shop / "shared" / "more.flat"
    more.write_text("dog spare_dog { across 20mm; height 10mm }\n")
    text = (shop / "jobs" / "tray.flat").read_text()
    (shop / "jobs" / "tray.flat").write_text('use "../shared/more.flat"\n' + text)
    os.utime(shop / "jobs" / "tray.flat", (program.stat().st_mtime + 5,) * 2)
    assert built()
    more.unlink()
    (shop / "jobs" / "tray.flat").write_text(text)
    os.utime(shop / "jobs" / "tray.flat", (program.stat().st_mtime + 5,) * 2)
    assert built()
