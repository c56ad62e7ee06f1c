"""What a change of text does to the work, between files, folders and revisions."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise

from flatwise.core.finding import Finding
from flatwise.tool import compare_report as compare_show
from flatwise.tool.compare import Difference, JobComparison, JobSide, _finding_differences
from flatwise_grammar import format_text

JOB = """\
use "../shared/shop.flat"
use "../shared/sample.flat"

job tray from plain_top {
    survey { twist 0mm; cup 0mm hollow; bow 0mm hollow }
    supports { shims leaf_set under corners, front, back }
    cut { cutter fly_64; depth 0.5mm }
    faces { second to 29mm +/- 0.5mm }
}
"""
READINGS = "front_left 32.0mm, front_right 32.1mm, back_left 32.1mm, back_right 32.0mm"


def compared(shop: Path, old: str, new: str, *more: str) -> subprocess.CompletedProcess[str]:
    (shop / "old").mkdir(exist_ok=True)
    (shop / "old" / "tray.flat").write_text(old)
    (shop / "jobs" / "tray.flat").write_text(new)
    return flatwise("compare", "old", "jobs", *more, cwd=shop)


def changes(shop: Path, old: str, new: str) -> dict[str, dict[str, str]]:
    run = compared(shop, old, new, "--message", "json")
    assert run.returncode == 0, run.stderr
    jobs = json.loads(run.stdout)["jobs"]
    return {change["what"]: change for job in jobs for change in job["changes"]}


FORMS = {
    "comments": JOB.replace("job tray", "# a tray\njob tray"),
    "layout": JOB.replace("; ", "\n").replace("{ twist", "{\n twist"),
    "order": "\n".join(
        [*JOB.splitlines()[:4], *reversed(JOB.splitlines()[4:-1]), "}", ""],
    ),
    "units": JOB.replace("29mm", "2.9cm").replace("depth 0.5mm", "depth 500/25400in"),
    "defaults said": JOB.replace("cut {", "cut { skip_air yes; rows along grain;"),
    "like": JOB.replace("job tray", "cutter same like fly_64 { }\njob tray").replace("fly_64;", "fly_64;", 1),
}


@pytest.mark.parametrize("form", FORMS)
def test_it_is_silent_where_only_form_changed(shop: Path, form: str) -> None:
    assert FORMS[form] != JOB
    for message in ("text", "markdown"):
        run = compared(shop, JOB, FORMS[form], "--message", message, "--fail-on", "change")
        assert (run.returncode, run.stdout, run.stderr) == (0, "", "")
    assert changes(shop, JOB, format_text(FORMS[form])) == {}


def test_another_thickness_is_a_wish_and_no_worse(shop: Path) -> None:
    found = changes(shop, JOB, JOB.replace("29mm", "28.6mm"))
    assert (found["thickness left"]["before"], found["thickness left"]["after"]) == ("29mm", "28.6mm")
    assert found["second face, wood removed"]["after"] > found["second face, wood removed"]["before"]
    assert found["machine time"] and {each["verdict"] for each in found.values()} == {"changed"}
    assert compared(shop, JOB, JOB.replace("29mm", "28.6mm"), "--fail-on", "worse").returncode == 0
    assert compared(shop, JOB, JOB.replace("29mm", "28.6mm"), "--fail-on", "change").returncode == 1


def test_thinner_passes_take_longer_and_that_is_worse(shop: Path) -> None:
    slow = JOB.replace("depth 0.5mm", "depth 0.25mm")
    found = changes(shop, JOB, slow)
    assert found["machine time"]["verdict"] == "worse"
    assert int(found["second face, passes"]["after"]) > int(found["second face, passes"]["before"])
    assert found["second face, deepest bite"]["after"] == "0.25mm" and "thickness left" not in found
    assert changes(shop, slow, JOB)["machine time"]["verdict"] == "better"
    run = compared(shop, JOB, slow, "--fail-on", "worse")
    assert run.returncode == 1 and run.stdout.startswith("tray: worse\n")


def test_leaves_clearance_bounds_and_zero_are_told(shop: Path) -> None:
    found = changes(
        shop, JOB, JOB.replace("twist 0mm;", "gap back_right 0.4mm;").replace("second to 29mm", "second to 28.6mm")
    )
    assert any(what.startswith("leaves at ") for what in found)
    tall = "clamp tall like side_cam { height 15mm }\n" + JOB.replace(
        "cut {", "hold { clamp tall right at 50% }\ncut {"
    )
    gap = changes(shop, JOB, tall)["minimum clearance"]
    assert gap["before"].startswith("16mm over clamp side_cam") and gap["after"].startswith("14mm over clamp tall")
    assert gap["verdict"] == "worse"
    rough = changes(shop, JOB, JOB.replace("twist 0mm", "within 0.1mm; twist 0mm"))
    assert rough["+/-"]["verdict"] == "worse" and rough["maximum thickness"]["verdict"] == "worse"
    moved = changes(shop, JOB, JOB.replace("cut {", "zero { corner front_left at 130mm, 120mm }\ncut {"))
    assert list(moved) == ["zero"] and "130mm, 120mm" in moved["zero"]["after"]


def test_moves_that_no_figure_shows_are_told(shop: Path) -> None:
    found = changes(shop, JOB, JOB.replace("cut {", "cut { rows along grain, one_way climb;"))
    assert found
    # conventional and climb mirror each other: every figure may agree
    other = JOB.replace("cut {", "cut { rows along grain, one_way conventional;")
    found = changes(shop, JOB.replace("cut {", "cut { rows along grain, one_way climb;"), other)
    assert found and all(each["verdict"] == "changed" for what, each in found.items() if what != "machine time")


def test_findings_and_waivers_that_come_and_go(shop: Path) -> None:
    deep = JOB.replace("depth 0.5mm", "depth 0.8mm")
    found = changes(shop, JOB, deep)
    assert found["job"]["after"] == "does not compile" and found["job"]["verdict"] == "worse"
    assert found["FW701 error"]["before"] is None and "0.8mm" in found["FW701 error"]["after"]
    waived = deep.replace("cut {", 'waive depth because "tried on an offcut"; cut {')
    found = changes(shop, deep, waived)
    assert found["job"]["verdict"] == "better" and found["FW701 error"]["after"] is None
    found = changes(shop, JOB, waived)
    assert found["waived: depth"] == {
        "what": "waived: depth",
        "before": None,
        "after": "tried on an offcut",
        "verdict": "worse",
    }
    needless = JOB.replace("cut {", 'waive depth because "tried on an offcut"; cut {')
    assert changes(shop, JOB, needless)["FW702 warning"]["verdict"] == "worse"


def test_a_note_that_comes_or_goes_is_neither_worse_nor_better(shop: Path) -> None:
    note = Finding("FW207", "The weight may hide a bow.", None, severity="note")
    warning = note._replace(code="FW205", severity="warning")
    without, noted, warned = (JobSide("tray", findings=found) for found in ((), (note,), (warning,)))
    assert [each.verdict for each in _finding_differences(without, noted)] == ["changed"]
    assert [each.verdict for each in _finding_differences(noted, without)] == ["changed"]
    assert [each.verdict for each in _finding_differences(without, warned)] == ["worse"]


def test_text_that_is_broken_is_a_job_that_does_not_compile(shop: Path) -> None:
    for broken in (JOB.replace("29mm", "29"), JOB.replace("shop.flat", "shopp.flat"), JOB[:-2]):
        found = changes(shop, JOB, broken)
        assert found["job"]["after"] == "does not compile" and found["job"]["verdict"] == "worse"
        assert any(re.match(r"FW\d+ error", what) for what in found)
    assert changes(shop, JOB[:-2], JOB[:-2]) == {}


def test_jobs_that_are_new_gone_or_renamed(shop: Path) -> None:
    both = JOB + "\njob shelf from plain_top { }\n"
    run = compared(shop, JOB, both)
    assert run.stdout == "shelf: changed\n  job  - -> compiles\n"
    assert compared(shop, both, JOB).stdout == "shelf: changed\n  job  compiles -> -\n"
    run = compared(shop, JOB, JOB.replace("job tray", "job board").replace("0.5mm }", "0.3mm }", 1))
    assert run.stdout.startswith("tray -> board: worse\n")
    assert compared(shop, JOB, JOB.replace("job tray", "job board")).stdout == ""


def test_a_change_of_the_shop_shows_in_every_job_that_uses_it(shop: Path) -> None:
    (shop / "jobs" / "tray.flat").write_text(JOB)
    shutil.copytree(shop / "shared", shop / "before" / "shared")
    shutil.copytree(shop / "jobs", shop / "before" / "jobs")
    path = shop / "shared" / "shop.flat"
    path.write_text(path.read_text().replace("tram          0.02mm", "tram          0.04mm"))
    run = flatwise("compare", "before/jobs", "jobs", cwd=shop)
    assert "+/-" in run.stdout and "ridge" in run.stdout and run.stdout.startswith("tray: worse")


# -- revisions -----------------------------------------------------------------------------------------------------


def git(shop: Path, *arguments: str) -> None:
    name = ["-c", "user.name=shop", "-c", "user.email=shop@example.invalid", "-c", "init.defaultBranch=main"]
    subprocess.run(["git", *name, *arguments], cwd=shop, check=True, capture_output=True)


@pytest.fixture
def history(shop: Path) -> Path:
    """A repository with the job at v1, and with other shop rules and readings at v2."""
    if shutil.which("git") is None:
        pytest.skip("git is not installed")
    (shop / "jobs" / "tray.flat").write_text(JOB.replace("twist 0mm", 'thickness "t.dat"; twist 0mm'))
    (shop / "jobs" / "t.dat").write_text("x mm,y mm,t mm\n0,0,32\n900,0,32\n0,500,32\n900,500,32\n450,250,32.1\n")
    git(shop, "init", ".")
    git(shop, "add", ".")
    git(shop, "commit", "-m", "one")
    git(shop, "tag", "v1")
    (shop / "jobs" / "t.dat").write_text("x mm,y mm,t mm\n0,0,31\n900,0,31\n0,500,31\n900,500,31\n450,250,31.1\n")
    path = shop / "shared" / "sample.flat"
    path.write_text(path.read_text().replace("first until clean", "first balanced"))
    git(shop, "commit", "-am", "two")
    return shop


def test_a_revision_has_its_own_shop_and_its_own_readings(history: Path) -> None:
    run = flatwise("compare", "v1:jobs", "jobs", "--message", "json", cwd=history)
    assert run.returncode == 0, run.stderr
    found = {change["what"]: change for change in json.loads(run.stdout)["jobs"][0]["changes"]}
    assert float(found["maximum thickness"]["before"].removesuffix("mm")) > 31
    assert float(found["maximum thickness"]["after"].removesuffix("mm")) < 31
    assert "first face, wood removed" in found
    assert flatwise("compare", "HEAD:jobs", "jobs", cwd=history).stdout == ""
    both = flatwise("compare", "v1:jobs/tray.flat", "HEAD:jobs/tray.flat", "--message", "json", cwd=history)
    assert both.stdout == run.stdout
    below = flatwise("compare", "v1:./tray.flat", "tray.flat", "--message", "json", cwd=history / "jobs")
    assert below.stdout == run.stdout


def test_nothing_is_written_into_the_repository(history: Path) -> None:
    flatwise("compare", "v1:jobs", "HEAD:jobs", cwd=history)
    status = subprocess.run(["git", "status", "--porcelain"], cwd=history, capture_output=True, check=True)
    assert status.stdout == b""


@pytest.mark.parametrize("given", ["v9:jobs", "v1:nothing.flat", "nothing.flat", "--upload-pack=x:jobs", ":jobs"])
def test_a_side_that_is_not_there_is_said(history: Path, given: str) -> None:
    run = flatwise("compare", "--", given, "jobs", cwd=history)
    assert run.returncode in (1, 2) and "Traceback" not in run.stderr
    assert ("FW004 error" if run.returncode == 1 else "neither a file nor a path at a revision") in run.stderr
    assert run.stdout == ""


def test_a_file_that_can_not_be_read_is_said_and_the_rest_is_compared(shop: Path) -> None:
    (shop / "jobs" / "bytes.flat").write_bytes(b"\xff")
    run = compared(shop, JOB, JOB.replace("29mm", "28.6mm"))
    assert run.returncode == 1 and "FW004 error" in run.stderr and run.stdout.startswith("tray: changed\n")


@pytest.mark.nightly
def test_many_jobs_by_several_processes_are_told_in_their_order(shop: Path) -> None:
    for number in range(5):
        for folder, depth in (("old", "0.5mm"), ("jobs", f"0.{number + 1}mm")):
            (shop / folder).mkdir(exist_ok=True)
            text = JOB.replace("job tray", f"job tray_{number}").replace("depth 0.5mm", f"depth {depth}")
            (shop / folder / f"{number}.flat").write_text(text)
    runs = [flatwise("compare", "old", "jobs", "--workers", workers, cwd=shop).stdout for workers in ("1", "2")]
    assert runs[0] == runs[1]
    assert re.findall(r"^(\w+):", runs[0], re.M) == ["tray_0", "tray_1", "tray_2", "tray_3"]


# -- what a review is told -----------------------------------------------------------------------------------------

TYPICAL = {
    # what somebody edits → what is said of it, the figures that matter first
    "stepover": (
        JOB.replace("depth 0.5mm", "depth 0.5mm; stepover 50%"),
        ["machine time", "first face, ridge", "second face, ridge"],
    ),
    "thickness": (
        JOB.replace("29mm", "28.6mm"),
        [
            "target",
            "thickness left",
            "machine time",
            "minimum clearance",
            "second face, wood removed",
            "second face, passes",
        ],
    ),
    "too deep": (JOB.replace("depth 0.5mm", "depth 0.7mm"), ["job", "FW701 error"]),
}


@pytest.mark.parametrize("edit", TYPICAL)
def test_a_typical_edit_is_told_in_a_few_lines(shop: Path, edit: str) -> None:
    text, rows = TYPICAL[edit]
    said = compared(shop, JOB, text, "--message", "markdown").stdout
    assert re.findall(r"^\| ([^|]+) \|", said, re.M) == rows
    assert len(said.splitlines()) <= 12


def test_readings_that_change_all_leaves_name_them_in_one_line(shop: Path) -> None:
    gaps = "survey { gap front_left 0.9mm, front 0.45mm, left 0.45mm, back 0mm, right 0mm }"
    lifts = {"front_left": 0.85, "front": 0.4, "left": 0.4, "centre": 0.2}
    by_hand = f"supports {{ {'; '.join(f'shim {lift}mm under {at}' for at, lift in lifts.items())} }}"
    other = re.sub(r"supports \{.*\}", by_hand, re.sub(r"survey \{.*\}", gaps, JOB))
    found = changes(shop, JOB, other)
    leaves = [what for what in found if what.startswith("leaves at ")]
    assert len(leaves) > compare_show.MOST_CHANGES_IN_A_LINE
    said = compared(shop, JOB, other, "--message", "markdown").stdout
    assert "leaves at front" not in said and f"leaves at {len(leaves)} places.\n" in said
    assert compared(shop, JOB, other).stdout.count("leaves at ") == len(leaves)  # in a terminal each is shown
    headings = [what for what in found if not what.startswith("leaves")]
    assert headings == sorted(headings, key=lambda what: what.startswith(("first", "second")))


def test_many_jobs_have_a_line_each_the_worse_ones_first(shop: Path) -> None:
    shop_file = shop / "shared" / "shop.flat"
    for number in range(5):
        (shop / "jobs" / f"{number}.flat").write_text(JOB.replace("job tray", f"job tray_{number}"))
    shutil.copytree(shop / "shared", shop / "before" / "shared")
    shutil.copytree(shop / "jobs", shop / "before" / "jobs")
    shop_file.write_text(shop_file.read_text().replace("at most 0.6mm", "at most 0.4mm"))
    said = flatwise("compare", "before/jobs", "jobs", "--message", "markdown", cwd=shop).stdout
    lines = said.splitlines()
    assert lines[0] == "This changes 5 jobs; worse: 5." and len(lines) == 9
    assert lines[4].startswith(
        "| tray_0 | **worse** | job compiles → does not compile; FW701 error: The depth of 0.5mm"
    )
    assert all(line.count("|") == 4 for line in lines[2:])


def test_hundreds_of_jobs_are_a_comment_that_can_be_read() -> None:
    longer = Difference("machine time", "3 min", "4 min", "worse")
    many = [
        JobComparison(f"tray_{n}", (longer if n % 9 == 0 else longer._replace(verdict="changed"),)) for n in range(500)
    ]
    said = compare_show.markdown(many)
    assert said.startswith("This changes 500 jobs; worse: 56.\n\n| job |") and said.count("**worse**") == 40
    assert said.endswith("\n\n460 more are not shown; `flatwise compare` in a terminal lists all.\n")
    assert len(said) < 5000


# -- how it is shown -----------------------------------------------------------------------------------------------


def test_a_cell_of_a_review_comment_stays_a_cell() -> None:
    bad = 'a | b <img src="x"> @somebody [link](x) `code`\n# title _it_ snake_case \x1b[31m'
    told = compare_show.markdown([JobComparison("tray", (Difference("waived: depth", "-", bad, "worse"),))])
    row = told.splitlines()[-1]
    assert row.count("|") == 5 and "snake_case" in row
    assert not set("<@[`\x1b") & set(row.replace("**worse**", ""))
    assert told.startswith("This changes 1 job; worse: `tray`.\n\n**tray** · worse\n\n|")
