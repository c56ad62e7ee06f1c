"""The command line as a person or a script meets it: exit codes, what goes where, and what is left on the disk."""

from __future__ import annotations

import json
import os
import resource
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from compiler.tool.in_process import flatwise
from example_jobs import page_examples

from flatwise import __version__
from flatwise.findings import pages
from flatwise.tool import cli

JOB = """\
use "../shared/shop.flat"
use "../shared/sample.flat"

job {name} from plain_top {{ survey {{ twist 0mm; cup 0mm hollow; bow 0mm hollow }}; {more} }}
"""


def run_process(*arguments: str, cwd: Path, **more: object) -> subprocess.CompletedProcess[str]:
    """A run in a process of its own."""
    environment = {key: value for key, value in os.environ.items() if key not in ("NO_COLOR", "FORCE_COLOR")}
    return subprocess.run(
        [sys.executable, "-m", "flatwise", *arguments],
        cwd=cwd,
        env=environment,
        capture_output=True,
        encoding="utf-8",
        timeout=120,
        check=False,
        **more,  # type: ignore[call-overload]
    )


def job(shop: Path, name: str = "tray", more: str = "") -> Path:
    path = shop / "jobs" / f"{name}.flat"
    path.write_text(JOB.format(name=name, more=more), encoding="utf-8")
    return path


def noted(shop: Path) -> None:
    """The job of FW207's page, whose only finding is that note."""
    page = pages.page("FW207")
    assert page is not None
    (shop / "jobs" / "demo.flat").write_text(page_examples(page.text)[0], encoding="utf-8")


DEEP = "cut { depth 5mm }"
WAIVED = 'waive depth because "tried on an offcut"; cut { depth 0.8mm }'


def test_check_says_nothing_is_wrong_and_writes_nothing(shop: Path) -> None:
    job(shop)
    run = run_process("check", "jobs", cwd=shop)
    assert (run.returncode, run.stdout, run.stderr) == (0, "1 job checked, no problems.\n", "")
    assert not (shop / "out").exists()


def test_findings_are_exit_1_with_the_source_and_no_colour_in_a_pipe(shop: Path) -> None:
    job(shop, more=DEEP)
    run = run_process("check", "jobs/tray.flat", cwd=shop)
    assert run.returncode == 1 and run.stderr == ""
    assert "FW401 error  jobs/tray.flat:4:" in run.stdout
    assert "depth 5mm" in run.stdout and "^^^" in run.stdout and "\x1b" not in run.stdout


def test_json_is_one_object_a_line_and_nothing_else(shop: Path) -> None:
    job(shop, more=DEEP)
    for command in (["check"], ["build", "--out", "o"]):
        run = flatwise(*command, "--message", "json", "jobs", cwd=shop)
        found = [json.loads(line) for line in run.stdout.splitlines()]
        assert run.returncode == 1 and "FW401" in {each["code"] for each in found}
        assert all(
            list(each)
            == [
                "code",
                "severity",
                "message",
                "path",
                "line",
                "column",
                "end_line",
                "end_column",
                "related",
                "help",
                "fix",
            ]
            for each in found
        )
    assert not (shop / "o").exists()


def test_sarif_is_one_log_on_standard_output(shop: Path) -> None:
    job(shop, more=DEEP)
    run = flatwise("check", "--message", "sarif", "jobs", cwd=shop)
    log = json.loads(run.stdout)
    assert run.returncode == 1 and log["version"] == "2.1.0"
    assert "FW401" in {result["ruleId"] for result in log["runs"][0]["results"]}
    job(shop)
    assert json.loads(flatwise("check", "--message", "sarif", "jobs", cwd=shop).stdout)["runs"][0]["results"] == []


def test_a_warning_is_exit_0_unless_strict_and_strict_writes_nothing(shop: Path) -> None:
    job(shop, more=WAIVED)
    assert flatwise("check", "jobs", cwd=shop).returncode == 0
    run = flatwise("check", "--strict", "jobs", cwd=shop)
    assert run.returncode == 1 and "FW703 warning" in run.stdout
    run = flatwise("build", "--strict", "jobs", cwd=shop)
    assert run.returncode == 1 and "tray: not written." in run.stdout and not (shop / "out").exists()
    (shop / "flatwise.toml").write_text("strict = true\n")
    assert flatwise("check", "jobs", cwd=shop).returncode == 1


def test_a_note_is_counted_shown_when_asked_for_and_never_fails_a_run(shop: Path) -> None:
    noted(shop)
    for strict in ([], ["--strict"]):
        run = flatwise("check", *strict, "jobs", cwd=shop)
        assert (run.returncode, run.stdout) == (0, "1 job checked, no problems, 1 note (--notes shows it).\n")
        run = flatwise("check", "--notes", *strict, "jobs", cwd=shop)
        assert run.returncode == 0 and "FW207 note  jobs/demo.flat:" in run.stdout
        assert run.stdout.endswith("\n1 job checked, no problems, 1 note.\n")
    run = flatwise("build", "--strict", "jobs", cwd=shop)
    assert run.returncode == 0 and run.stdout.endswith("\n1 note (--notes shows it).\n") and "FW207" not in run.stdout
    assert [each["code"] for each in json.loads((shop / "out/demo/summary.json").read_text())["notes"]] == ["FW207"]
    for notes, shown in (([], "1 note (--notes shows it).\n"), (["--notes"], "1 note.\n")):
        run = flatwise("verify", "out/demo/first.nc", "--job", "jobs/demo.flat", "--strict", *notes, cwd=shop)
        assert run.returncode == 0 and run.stdout.endswith(shown) and ("FW207" in run.stdout) == bool(notes)
    job(shop, more=DEEP)
    run = flatwise("check", "jobs", cwd=shop)
    assert run.returncode == 1 and run.stdout.endswith("\n2 jobs checked, 3 errors, 1 note (--notes shows it).\n")
    (line,) = (line for line in run.stdout.splitlines() if line.startswith("demo "))
    assert line.split()[1] == "ok" and line.endswith("  1 note")


def test_json_and_sarif_always_have_the_notes(shop: Path) -> None:
    noted(shop)
    run = flatwise("check", "--strict", "--message", "json", "jobs", cwd=shop)
    (one,) = map(json.loads, run.stdout.splitlines())
    assert run.returncode == 0 and (one["code"], one["severity"]) == ("FW207", "note")
    run = flatwise("check", "--strict", "--message", "sarif", "jobs", cwd=shop)
    (result,) = json.loads(run.stdout)["runs"][0]["results"]
    assert run.returncode == 0 and (result["ruleId"], result["level"]) == ("FW207", "note")


def test_build_writes_all_four_files_where_it_is_told(shop: Path) -> None:
    job(shop, more=WAIVED)
    run = flatwise("build", "jobs", "--out", "elsewhere/deep", cwd=shop)
    assert run.returncode == 0, run.stdout
    folder = shop / "elsewhere" / "deep" / "tray"
    assert sorted(path.name for path in folder.iterdir()) == ["first.nc", "second.nc", "sheet.html", "summary.json"]
    told = json.loads((folder / "summary.json").read_text("utf-8"))
    assert told["waived"][0]["rule"] == "depth" and told["warnings"][0]["code"] == "FW703"
    assert "tray: 29mm" in run.stdout and "elsewhere/deep/tray" in run.stdout


def test_out_is_the_projects_or_below_the_root_and_never_outside_it(shop: Path) -> None:
    job(shop)
    assert flatwise("build", "tray.flat", cwd=shop / "jobs").returncode == 0
    assert (shop / "out" / "tray" / "first.nc").exists()
    (shop / "flatwise.toml").write_text('out = "made"\n')
    assert flatwise("build", "jobs", cwd=shop).returncode == 0
    assert (shop / "made" / "tray" / "first.nc").exists()
    (shop / "flatwise.toml").write_text('out = "../made"\n')
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 2 and "lies outside the project" in run.stderr
    assert not (shop.parent / "made").exists()


def test_the_same_sources_give_the_same_bytes_anywhere(shop: Path) -> None:
    job(shop)
    flatwise("build", "jobs", "--out", "a", cwd=shop)
    flatwise("build", str(shop / "jobs" / "tray.flat"), "--out", str(shop / "b"), cwd=shop.parent)
    for name in ("first.nc", "second.nc", "summary.json"):
        assert (shop / "a" / "tray" / name).read_bytes() == (shop / "b" / "tray" / name).read_bytes()


def test_a_sound_job_is_written_though_another_one_is_not(shop: Path) -> None:
    job(shop)
    job(shop, "shelf", DEEP)
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 1 and "shelf  not written" in run.stdout and "1 of 2 jobs written to out." in run.stdout
    assert [path.name for path in (shop / "out").iterdir()] == ["tray"]


def test_after_the_first_face_only_the_second_program_is_left(shop: Path) -> None:
    job(shop)
    flatwise("build", "jobs", cwd=shop)
    keep = shop / "out" / "tray" / "mine.txt"
    keep.write_text("kept")
    places = "front_left front_right back_left back_right centre left right front back"
    readings = ", ".join(f"{place} 31.2mm" for place in places.split())
    job(shop, more=f"after first {{ thickness {readings} }}")
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 0, run.stdout
    assert sorted(path.name for path in keep.parent.iterdir()) == [
        "mine.txt",
        "second.nc",
        "sheet.html",
        "summary.json",
    ]


def test_an_error_leaves_the_older_build_as_it_is(shop: Path) -> None:
    job(shop)
    flatwise("build", "jobs", cwd=shop)
    folder = shop / "out" / "tray"
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    job(shop, more=DEEP)
    assert flatwise("build", "jobs", cwd=shop).returncode == 1
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before


def test_a_file_that_may_not_grow_stops_the_build_and_leaves_the_older_one(shop: Path) -> None:
    job(shop)
    flatwise("build", "jobs", cwd=shop)
    folder = shop / "out" / "tray"
    before = {path.name: path.read_bytes() for path in folder.iterdir()}
    job(shop, more="cut { depth 0.4mm }")
    # a real refusal of the system in the middle of writing: setrlimit(2), RLIMIT_FSIZE
    run = run_process(
        "build", "jobs", cwd=shop, preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (3000, 3000))
    )
    assert run.returncode == 2
    assert "job tray was not written, an older build of it remains" in run.stderr and "Traceback" not in run.stderr
    assert {path.name: path.read_bytes() for path in folder.iterdir()} == before
    assert [path.name for path in (shop / "out").iterdir()] == ["tray"]


def test_a_file_in_the_way_of_the_out_folder_is_exit_2(shop: Path) -> None:
    job(shop)
    (shop / "out").write_text("a file")
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 2 and "a file is where a folder is needed" in run.stderr and "Traceback" not in run.stderr
    assert (shop / "out").read_text() == "a file"


def test_verify_takes_job_and_face_from_the_header_and_finds_an_edit(shop: Path) -> None:
    path = job(shop)
    flatwise("build", "jobs", cwd=shop)
    program = shop / "out" / "tray" / "first.nc"
    run = flatwise("verify", str(program), "--job", "jobs/tray.flat", cwd=shop)
    assert run.returncode == 0 and "does what tray plans" in run.stdout
    assert flatwise("verify", str(program), "--job", "jobs/tray.flat:tray", cwd=shop).returncode == 0
    text = program.read_text("ascii")
    edited = shop / "edited.nc"
    lines = text.splitlines(keepends=True)
    at = next(index for index, line in enumerate(lines) if line.startswith("G1 Z") or line.startswith("Z-"))
    lines[at] = lines[at].partition("Z")[0] + "Z-5.0\n"
    edited.write_text("".join(lines), "ascii")
    run = flatwise("verify", "edited.nc", "--job", "jobs/tray.flat", cwd=shop)
    assert run.returncode == 1 and "FW90" in run.stdout and "edited.nc:" in run.stdout
    job(shop, "shelf")
    run = flatwise("verify", str(program), "--job", "jobs/shelf.flat", cwd=shop)
    assert run.returncode == 1 and "is for job `tray`" in run.stdout
    path.unlink()
    run = flatwise("verify", "no.nc", "--job", "jobs/shelf.flat", cwd=shop)
    assert run.returncode == 1 and "FW004" in run.stdout


def test_format_lays_out_once_and_check_only_says_so(shop: Path) -> None:
    path = job(shop, more="cut   {   depth   0.4mm   }")
    before = path.read_text()
    run = flatwise("format", "--check", "jobs", cwd=shop)
    assert run.returncode == 1 and "jobs/tray.flat" in run.stdout and path.read_text() == before
    path.chmod(0o640)
    assert flatwise("format", "jobs", cwd=shop).returncode == 0
    assert path.read_text() != before and path.stat().st_mode & 0o777 == 0o640
    run = flatwise("format", "--check", "jobs", cwd=shop)
    assert (run.returncode, run.stdout) == (0, "")
    path.write_text("job tray { cut {")
    run = flatwise("format", "jobs", cwd=shop)
    assert run.returncode == 1 and "FW002" in run.stdout and path.read_text() == "job tray { cut {"
    assert [each.name for each in path.parent.iterdir()] == ["tray.flat"]


def test_new_writes_a_job_to_measure_and_never_overwrites(tmp_path: Path) -> None:
    run = flatwise("new", "oak_tray", cwd=tmp_path)
    assert run.returncode == 0 and "jobs/oak_tray.flat" in run.stdout and "shared/shop.flat" in run.stdout
    run = flatwise("check", "jobs", cwd=tmp_path)
    assert run.returncode == 1 and "FW205 error" in run.stdout and "1 job checked, 1 error" in run.stdout
    path = tmp_path / "jobs" / "oak_tray.flat"
    path.write_text("mine")
    run = flatwise("new", "oak_tray", cwd=tmp_path)
    assert run.returncode == 1 and path.read_text() == "mine"
    run = flatwise("new", "Oak-Tray!", cwd=tmp_path)
    assert run.returncode == 1 and "Try oak_tray." in run.stdout
    assert [each.name for each in path.parent.iterdir()] == ["oak_tray.flat"]


def test_new_uses_the_shop_that_is_there(shop: Path) -> None:
    before = (shop / "shared" / "shop.flat").read_text()
    run = flatwise("new", "oak_tray", cwd=shop)
    assert run.stdout.startswith("Wrote jobs/oak_tray.flat.\n") and "shared/" not in run.stdout
    assert (shop / "shared" / "shop.flat").read_text() == before
    run = flatwise("measure", "jobs/oak_tray.flat", cwd=shop)
    assert run.returncode == 0, run.stdout
    assert flatwise("format", "--check", "jobs", cwd=shop).returncode == 0


def test_explain_prints_a_page_lists_all_and_helps_with_a_slip(tmp_path: Path) -> None:
    run = flatwise("explain", "fw703", cwd=tmp_path)
    assert run.returncode == 0 and run.stdout.startswith("FW703 · waived\n") and "\nWhy it hurts\n" in run.stdout
    assert '    waive depth because "' in run.stdout and "```" not in run.stdout
    run = flatwise("explain", cwd=tmp_path)
    assert run.returncode == 0 and run.stdout.count("\n") >= 40 and "FW501  " in run.stdout
    run = flatwise("explain", "FW5O1", cwd=tmp_path)
    assert run.returncode == 1 and "Did you mean FW501?" in run.stdout


def test_version_and_wrong_use(tmp_path: Path) -> None:
    assert run_process("--version", cwd=tmp_path).stdout == f"flatwise {__version__}\n"
    for wrong in ([], ["check"], ["new"], ["build", "a", "--workers", "0"], ["verify", "a.nc"]):
        run = flatwise(*wrong, cwd=tmp_path)
        assert run.returncode == 2 and "usage: flatwise" in run.stderr and run.stdout == ""


@pytest.mark.parametrize("path", ["no.flat", ".", "/dev/null"])
def test_a_path_that_gives_no_job_is_a_finding(tmp_path: Path, path: str) -> None:
    run = flatwise("check", path, cwd=tmp_path)
    assert run.returncode == 1 and run.stdout.startswith("FW004 error") and run.stderr == ""


def test_a_reader_that_goes_away_is_no_fault(shop: Path) -> None:
    job(shop, more=DEEP)
    command = f'set -o pipefail; "{sys.executable}" -m flatwise explain | true'
    run = subprocess.run(["bash", "-c", command], cwd=shop, capture_output=True, encoding="utf-8", check=False)
    assert "Traceback" not in run.stderr and "Exception" not in run.stderr


def test_a_terminal_that_knows_ascii_only_gets_codes_and_no_fault(tmp_path: Path) -> None:
    run = subprocess.run(
        [sys.executable, "-m", "flatwise", "explain", "FW703"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONIOENCODING": "ascii", "PYTHONUTF8": "0"},
        capture_output=True,
        encoding="ascii",
        check=False,
    )
    assert run.returncode == 0 and run.stdout.startswith("FW703 \\xb7 waived")


def test_the_keyboard_stops_it_plainly(
    shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from flatwise import pipeline

    def interrupted(*given: object) -> None:
        os.kill(os.getpid(), signal.SIGINT)

    monkeypatch.setattr(pipeline, "read_works", interrupted)
    # a shell that started the tests in the background has the keyboard ignored
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    try:
        assert cli.main(["check", str(shop)]) == 2
    finally:
        signal.signal(signal.SIGINT, before)
    assert capsys.readouterr().err.startswith("flatwise: stopped by Ctrl-C")


def test_a_fault_in_flatwise_is_a_short_report(
    shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from flatwise import pipeline

    path = job(shop)

    def broken(work: object) -> None:
        raise KeyError("nothing of the kind")

    monkeypatch.setattr(pipeline, "work_out", broken)
    assert cli.main(["check", str(path)]) == 2
    said = capsys.readouterr().err
    assert (
        "a bug in flatwise, not an error in job tray; nothing was written for it." in said
        and "KeyError: 'nothing of the kind'" in said
    )
    assert f"flatwise {__version__}" in said and len(said.splitlines()) == 5 and str(shop) not in said


def test_the_server_is_missed_plainly(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> None:
    monkeypatch.setitem(sys.modules, "flatwise_lsp.server.stdio", None)
    assert cli.main(["serve"]) == 2
    assert "language server can't start" in capsys.readouterr().err


def test_a_file_whose_name_is_no_text_is_built_and_told_of(shop: Path) -> None:
    name = os.fsdecode(b"tr\xe4y\xff.flat")
    (shop / "jobs" / name).write_text(JOB.format(name="tray", more=WAIVED), encoding="utf-8")
    run = run_process("build", "jobs", cwd=shop)
    assert run.returncode == 0, run.stderr
    told = json.loads((shop / "out" / "tray" / "summary.json").read_text("utf-8"))
    assert told["sources"][0]["path"] == f"jobs/{name}"
    run = flatwise("check", "--message", "json", "jobs", cwd=shop)
    assert json.loads(run.stdout.splitlines()[0])["path"] == f"jobs/{name}"
