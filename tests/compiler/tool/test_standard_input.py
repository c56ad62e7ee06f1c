"""`check -` and `format -`: the text on standard input in the place of a file."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise
from compiler.tool.test_cli import DEEP, JOB, WAIVED, job


def text(more: str = "") -> bytes:
    return JOB.format(name="tray", more=more).encode()


def test_check_reads_it_as_the_file_that_it_stands_for(shop: Path) -> None:
    run = flatwise("check", "-", "--as", "jobs/tray.flat", cwd=shop, given=text())
    assert (run.returncode, run.stdout) == (0, "1 job checked, no problems.\n")
    # not what the file contains
    path = job(shop)
    run = flatwise("check", "-", "--as", str(path), "--message", "short", cwd=shop, given=text(DEEP))
    assert run.returncode == 1 and run.stdout.startswith("jobs/tray.flat:4:")
    # the file beside others, not read a second time below its folder
    job(shop, "shelf")
    run = flatwise("check", "jobs", "-", "--as", "jobs/tray.flat", cwd=shop, given=text(DEEP))
    assert "FW401 error  jobs/tray.flat:4:" in run.stdout and "2 jobs checked, 3 errors." in run.stdout


def test_one_job_of_it_is_checked_alone(shop: Path) -> None:
    job_line = "job shelf from plain_top {"
    both = text() + f"{job_line}\n{DEEP}\n}}\n".encode()
    assert b"job tray from plain_top {" in both
    asked = ("check", "-:tray", "--as", "jobs/two.flat")
    run = flatwise(*asked, cwd=shop, given=both)
    assert (run.returncode, run.stdout) == (0, "1 job checked, no problems.\n")
    assert flatwise("check", "-:shelf", "--as", "jobs/two.flat", cwd=shop, given=both).returncode == 1
    run = flatwise("check", "-:table", "--as", "jobs/two.flat", cwd=shop, given=both)
    assert run.returncode == 2 and "jobs/two.flat has no job or batch table" in run.stderr


def test_without_a_name_it_is_a_file_in_the_working_folder(shop: Path) -> None:
    run = flatwise("check", "-", "--message", "json", cwd=shop / "jobs", given=text(DEEP))
    assert {(json.loads(line)["path"], json.loads(line)["line"]) for line in run.stdout.splitlines()} == {("-", 4)}
    assert "FW106" in flatwise("check", "-", cwd=shop / "jobs" / "..", given=text()).stdout


def test_format_prints_the_text_and_writes_nothing(shop: Path) -> None:
    before = text("cut   {   depth   0.4mm   }") + "# 木 \U0001f332\n".encode()
    path = job(shop)
    kept = path.read_bytes()
    run = flatwise("format", "-", "--as", "jobs/tray.flat", cwd=shop, given=before)
    assert (run.returncode, run.stderr) == (0, "") and path.read_bytes() == kept
    path.write_bytes(before)
    assert flatwise("format", "jobs/tray.flat", cwd=shop).returncode == 0
    assert run.stdout.encode() == path.read_bytes() != before
    run = flatwise("format", "--check", "-", cwd=shop, given=before)
    assert (run.returncode, run.stdout) == (1, "-: would be reformatted.\n")
    assert flatwise("format", "--check", "--quiet", "-", cwd=shop, given=path.read_bytes()).returncode == 0


def test_a_flawed_text_comes_back_as_it_was_with_what_is_wrong_on_the_other_stream(shop: Path) -> None:
    run = flatwise("format", "-", cwd=shop, given=b"job tray {\r\n cut {")
    assert (run.returncode, run.stdout) == (1, "job tray {\r\n cut {")
    assert run.stderr.startswith("FW002 error  -:2:")


@pytest.mark.parametrize("command", ["check", "format"])
def test_bytes_that_are_no_text_are_a_finding(shop: Path, command: str) -> None:
    run = flatwise(command, "-", cwd=shop, given=b"job tray {\n\xff }")
    assert run.returncode == 1
    assert "Standard input is not UTF-8 text: byte 12, on line 2, is invalid." in run.stdout + run.stderr


@pytest.mark.parametrize(
    ("typed", "said"),
    [
        ("check jobs --as a.flat", "--as names the text on standard input"),
        ("check - --fix", "--fix changes files"),
        ("check -:tray --fix", "--fix changes files"),
        ("format - jobs", "formats standard input alone"),
    ],
)
def test_what_does_not_go_together_is_said(shop: Path, typed: str, said: str) -> None:
    run = flatwise(*typed.split(), cwd=shop)
    assert run.returncode == 2 and run.stderr.startswith("flatwise: ") and said in run.stderr and run.stdout == ""


def test_it_is_as_strict_as_the_project_of_the_file(shop: Path) -> None:
    (shop / "flatwise.toml").write_text("strict = true\n")
    assert flatwise("check", "-", "--as", f"{shop}/jobs/a.flat", cwd=shop.parent, given=text(WAIVED)).returncode == 1
