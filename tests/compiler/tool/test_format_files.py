"""`format --diff`: what `patch` makes of it is what `format` writes."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise
from compiler.tool.test_cli import JOB, job

UGLY = JOB.format(name="tray", more="cut   {   depth   0.4mm   }")
TEXTS = {
    "plain": UGLY,
    "no end": UGLY.rstrip("\n"),
    "two places": UGLY + "\n" * 9 + "# far\n" * 9 + "dog   stop { across 19mm;height 11mm }\n",
    "carriage returns": UGLY.replace("\n", "\r\n"),
    "separators": UGLY + "# a form feed \f, a line separator \u2028, a tree \U0001f332 #\n",
}


@pytest.mark.parametrize("name", TEXTS)
def test_patch_makes_the_formatted_file_of_it(shop: Path, name: str) -> None:
    if shutil.which("patch") is None:
        pytest.skip("patch is not installed")
    path = shop / "jobs" / f"{name}.flat"
    path.write_bytes(TEXTS[name].encode())
    run = flatwise("format", "--diff", f"jobs/{name}.flat", cwd=shop)
    assert (run.returncode, run.stderr) == (1, "") and path.read_bytes() == TEXTS[name].encode()
    command = ["patch", "--binary", "-p0", "--fuzz=0"]
    subprocess.run(command, cwd=shop, input=run.stdout.encode(), check=True, capture_output=True)
    patched = path.read_bytes()
    path.write_bytes(TEXTS[name].encode())
    assert flatwise("format", f"jobs/{name}.flat", cwd=shop).returncode == 0
    assert patched == path.read_bytes() != TEXTS[name].encode()
    run = flatwise("format", "--diff", "jobs", cwd=shop)
    assert (run.returncode, run.stdout) == (0, "")


def test_a_flaw_is_no_part_of_the_diff(shop: Path) -> None:
    (shop / "jobs" / "a.flat").write_text("job tray { cut {")
    (shop / "jobs" / "b.flat").write_text(UGLY)
    run = flatwise("format", "--diff", "jobs", cwd=shop)
    assert run.returncode == 1 and run.stdout.startswith("--- jobs/b.flat\n+++ jobs/b.flat\n@@ ")
    assert "FW002 error  jobs/a.flat:1:" in run.stderr


def test_quiet_lists_no_files(shop: Path) -> None:
    path = shop / "jobs" / "a.flat"
    path.write_text(UGLY)
    run = flatwise("format", "-q", "--check", "jobs", cwd=shop)
    assert (run.returncode, run.stdout) == (1, "") and path.read_text() == UGLY
    run = flatwise("format", "-q", "jobs", cwd=shop)
    assert (run.returncode, run.stdout) == (0, "") and path.read_text() != UGLY


def test_upgrade_rewrites_the_words_of_the_first_version(shop: Path) -> None:
    """The comments and the rest of the line stay; `format` alone leaves those words, and `check` names the new ones."""
    cut = "cut { pattern raster along grain,  # with it\n one_way climb, perimeter first; depth 0.3mm }"
    path = job(shop, more=cut)
    assert flatwise("format", "jobs", cwd=shop).returncode == 0 and "raster along" in path.read_text()
    assert "FW101" in flatwise("check", "jobs", cwd=shop).stdout
    shown = flatwise("format", "--upgrade", "--diff", "jobs", cwd=shop)
    assert shown.returncode == 1 and "raster along" in path.read_text()
    run = flatwise("format", "--upgrade", "jobs", cwd=shop)
    assert (run.returncode, run.stdout) == (0, "jobs/tray.flat: reformatted.\n")
    text = path.read_text()
    assert re.search(r"rows +along grain, +# with it\n +one_way climb, edge first", text) and "pattern" not in text
    assert "FW101" not in flatwise("check", "jobs", cwd=shop).stdout
    assert flatwise("format", "--upgrade", "--check", "jobs", cwd=shop).returncode == 0


def test_upgrade_reports_points_without_units_and_leaves_them(shop: Path) -> None:
    path = job(shop)
    path.write_text(path.read_text().replace("twist 0mm", 'probe "top.csv"; twist 0mm'))
    rows = "x,y,z\n0,0,30\n100,0,30\n0,100,30\n"
    (shop / "jobs" / "top.csv").write_text(rows)
    run = flatwise("format", "--upgrade", "jobs", cwd=shop)
    assert run.returncode == 1 and "FW003" in run.stdout
    assert (shop / "jobs" / "top.csv").read_text() == rows
