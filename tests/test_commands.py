"""Run every command with every option, as README and reference write them."""

from __future__ import annotations

import argparse
import itertools
import json
import re
import shlex
import subprocess
from pathlib import Path
from typing import NamedTuple

import pytest
from compiler.tool.in_process import flatwise
from example_jobs import page_examples

from flatwise.findings import pages
from flatwise.tool.arguments import COMMANDS

ROOT = Path(__file__).resolve().parent.parent
JOB = """\
use "../shared/shop.flat"
use "../shared/sample.flat"

job tray from plain_top { survey { twist 0mm; cup 0mm hollow; bow 0mm hollow } }
"""
WARNED = JOB.replace(" }\n", '; cut { depth 0.8mm }; waive depth because "offcut" }\n')
DEEP = JOB.replace(" }\n", "; cut { depth 9mm } }\n")

#: the arguments, the exit code, and a part of the output
RUNS: list[tuple[str, int, str]] = [
    ("--version", 0, "flatwise "),
    ("--help", 0, "commands:"),
    *((f"{name} --help", 0, f"usage: flatwise {name}") for name in COMMANDS),
    ("check jobs/tray.flat", 0, "1 job checked, no problems."),
    ("check jobs shared", 1, "FW401 error"),
    ("check --message text jobs/deep.flat", 1, "FW401 error"),
    ("check --message json jobs/deep.flat", 1, '"code": "FW401"'),
    ("check --message sarif jobs/deep.flat", 1, '"ruleId": "FW401"'),
    ("check --message short jobs/deep.flat", 1, "jobs/deep.flat:4:"),
    ("check --message github jobs/deep.flat", 1, "::error file=jobs/deep.flat,line=4,"),
    ("check --message gitlab jobs/deep.flat", 1, '"check_name": "FW401"'),
    ("check --message junit jobs/deep.flat", 1, '<failure type="FW401"'),
    ("check -q jobs/deep.flat", 1, "FW401 error"),
    ("check --quiet jobs/warned.flat", 0, ""),
    ("check --notes jobs/noted.flat", 0, "FW207 note"),
    ("check jobs/warned.flat", 0, "FW703 warning"),
    ("check --strict jobs/warned.flat", 1, "FW703 warning"),
    ("check --workers 2 jobs/tray.flat jobs/warned.flat", 0, "2 jobs checked, 1 warning."),
    ("check --watch --message json jobs/tray.flat", 2, ""),
    ("check --watch jobs/tray.flat", 2, "changed: jobs/tray.flat"),
    ("build jobs/tray.flat", 0, "in out/tray"),
    ("build --watch jobs/tray.flat", 2, "changed: jobs/tray.flat"),
    ("build --notes --strict jobs/noted.flat", 0, "FW207 note"),
    ("build --strict jobs/warned.flat", 1, "warned: not written"),
    ("build --quiet --strict jobs/warned.flat", 1, "FW703 warning"),
    ("build -q --workers 1 jobs/warned.flat", 0, ""),
    ("build --workers 1 --message json jobs/warned.flat", 0, '"code": "FW703"'),
    ("build jobs/tray.flat --out here/deep --depfile made.d", 0, "in here/deep/tray"),
    ("verify here/deep/tray/first.nc --job jobs/tray.flat", 0, "does what tray plans"),
    ("verify here/deep/tray/first.nc --job jobs/tray.flat:tray --strict --message text", 0, "does what tray plans"),
    ("verify out/noted/first.nc --job jobs/noted.flat --notes", 0, "FW207 note"),
    ("verify here/deep/tray/first.nc --job jobs/deep.flat --message json", 1, '"code": "FW902"'),
    ("verify here/deep/tray/first.nc --job jobs/deep.flat -q", 1, "FW902 error"),
    ("verify here/deep/tray/first.nc --job jobs/tray.flat --quiet", 0, ""),
    ("check - --as jobs/typed.flat", 0, "0 jobs checked, no problems."),
    ("check -:tray --as jobs/typed.flat", 0, "1 job checked, no problems."),
    ("check jobs/tray.flat:tray", 0, "1 job checked, no problems."),
    ("build jobs/tray.flat:tray", 0, "in out/tray"),
    ("check --fix jobs/slip.flat", 0, "jobs/slip.flat: 1 fix applied."),
    ("format - --as jobs/typed.flat", 0, ""),
    ("format --diff jobs", 1, "--- jobs/"),
    ("format --check jobs", 1, "would be reformatted"),
    ("format -q --check jobs", 1, ""),
    ("format --quiet --check jobs", 1, ""),
    ("format --upgrade --diff jobs", 1, "--- jobs/"),
    ("format jobs", 0, ": reformatted"),
    ("format --check jobs shared", 0, ""),
    ("explain", 0, "FW501  "),
    ("explain FW501", 0, "FW501 · "),
    ("explain fw501", 0, "FW501 · "),
    ("explain FW999", 1, "FW9"),
    ("explain summary", 0, '"$defs"'),
    ("compare jobs/tray.flat jobs/thin.flat", 0, "tray"),
    ("compare --message markdown jobs/tray.flat jobs/thin.flat", 0, "|"),
    ("compare --message json --workers 1 jobs/tray.flat jobs/thin.flat", 0, '"tray"'),
    ("compare --fail-on change jobs/tray.flat jobs/thin.flat", 1, "tray"),
    ("compare --fail-on worse jobs/tray.flat jobs/tray.flat", 0, ""),
    ("compare --message markdown HEAD:jobs/tray.flat jobs/thin.flat", 0, "|"),
    ("measure jobs/walked.flat", 0, "walked: 15 points, "),
    ("measure --under --strict --notes --message text --out here jobs/walked.flat:walked", 0, "measure_under.nc"),
    ("measure -q jobs/walked.flat", 0, ""),
    ("measure --quiet jobs/walked.flat", 0, ""),
    ("verify out/walked/measure.nc --job jobs/walked.flat", 0, "measures walked at 15 points"),
    ("measure jobs/tray.flat", 0, "only the form; measure.html in out/tray"),
    ("new first_top", 0, "Wrote jobs/first_top.flat."),
    ("new second_top --size '600mm x 400mm x 27mm' --left 24mm --wood walnut", 0, "Wrote jobs/second_top.flat."),
    ("new third_top --machine bench_router --cutter fly_64 --standard solid_tops", 0, "Wrote jobs/third_top.flat."),
    ("new fourth_top --ask", 0, "Wrote jobs/fourth_top.flat."),
    ("new first_top", 1, "exists already"),
    ("check jobs/first_top.flat jobs/second_top.flat jobs/fourth_top.flat", 1, "3 jobs checked, 3 errors."),
    ("measure jobs/second_top.flat", 0, "second_top: 15 points, "),
]  # fmt: skip


@pytest.fixture
def written(shop: Path) -> Path:
    page = pages.page("FW207")
    assert page is not None
    texts = {
        "tray": JOB,
        "warned": WARNED.replace("job tray", "job warned"),
        "deep": DEEP.replace("job tray", "job deep"),
        "noted": page_examples(page.text)[0].replace("job demo", "job noted"),
        "walked": JOB.replace("job tray", "job walked").replace("twist 0mm", "walk dial_10; twist 0mm"),
        "slip": DEEP.replace("job tray", "job slip").replace("depth 9mm", "dpeth 0.4mm"),
        "thin": JOB.replace(" }\n", "; cut { depth 0.3mm } }\n"),
    }
    for name, text in texts.items():
        (shop / "jobs" / f"{name}.flat").write_text(text)
    git = ("git", "-c", "user.name=shop", "-c", "user.email=shop@example.invalid")
    for arguments in (("init",), ("add", "jobs", "shared"), ("commit", "-m", "one")):
        subprocess.run([*git, *arguments], cwd=shop, check=True, capture_output=True)
    return shop


def test_every_command_with_every_option_does_what_it_is_for(written: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    looks = itertools.count(1)

    def look_again(seconds: float) -> None:
        # one look sees a change, the next one that it rests, then comes Ctrl-C
        match next(looks) % 3:
            case 1:
                (written / "jobs" / "tray.flat").touch()
            case 0:
                raise KeyboardInterrupt

    monkeypatch.setattr("builtins.input", lambda *given: "")
    monkeypatch.setattr("flatwise.tool.watch.sleep", look_again)
    for typed, code, said in RUNS:
        if typed == "check jobs shared":
            (written / "jobs" / "thin.flat").rename(written / "thin")  # its job has the name of another one
        given = b"" if " - " in typed else JOB.encode() if " -:" in typed else None
        run = flatwise(*shlex.split(typed), cwd=written, given=given)
        assert run.returncode == code, (typed, run.stdout, run.stderr)
        assert said in run.stdout if said else not run.stdout, (typed, run.stdout)
        assert "bug in flatwise" not in run.stderr
        if (written / "thin").exists():
            (written / "thin").rename(written / "jobs" / "thin.flat")
    assert (written / "made.d").read_text().startswith("here/deep/tray/first.nc ")


def options() -> set[tuple[str, str]]:
    """Every option of every command, from the argument parser itself."""
    found = set()
    for name, (_, fill) in COMMANDS.items():
        parser = argparse.ArgumentParser(add_help=False)
        fill(parser)
        found |= {(name, option) for action in parser._actions for option in action.option_strings}
    return found


def test_the_runs_leave_no_option_out() -> None:
    run = {(typed.split()[0], word) for typed, _, _ in RUNS for word in typed.split()[1:] if word.startswith("-")}
    assert len(options()) > 15 and options() <= run
    for name, words in (("check", "text short json sarif github gitlab junit"), ("compare", "text json markdown")):
        for word in words.split():
            assert word == "text" or any(
                typed.startswith(name) and f"--message {word}" in typed for typed, _, _ in RUNS
            )


class Form(NamedTuple):
    """A command with some of its options, and the sorts of its other arguments."""

    command: str
    words: frozenset[str]


def form(typed: str) -> Form:
    command, *words = shlex.split(typed)
    return Form(command, frozenset(map(sort, words)))


def sort(word: str) -> str:
    """An option as it is, and for another argument what counts: `-`, `-:`, `summary`, CODE or FILE:NAME."""
    if word.startswith("-:"):
        return "-:"
    if word.startswith("-") or word == "summary":
        return word.partition("=")[0]
    if re.fullmatch("(?i)fw[0-9]{3}|CODE", word):
        return "CODE"
    return "FILE:NAME" if re.search(r"\w(\[?:)", word) else ""


def written_forms() -> set[Form]:
    """Every command that README, reference, the read-mes for editors and `--help` write with an argument."""
    pages = ("README.md", "compiler/REFERENCE.md", "lsp/editors/README.md", "lsp/editors/vscode/README.md")
    texts = [(ROOT / page).read_text("utf-8") for page in pages]
    found = {form(" ".join(span.split())) for text in texts for span in re.findall(COMMAND, text)}
    found |= {
        form(line) for text in texts for line in re.findall(r"^(?:\$ |  - run: \S*/)flatwise ([^>\n]+)", text, re.M)
    }
    for name, (_, fill) in COMMANDS.items():
        parser = argparse.ArgumentParser(add_help=False)
        fill(parser)
        for action in parser._actions:
            more = "" if action.option_strings else str(action.help)
            shown = str(action.metavar or ""), *re.findall(r"(?<!\S)`?([A-Z]+:\w+|-:NAME|summary|-(?!\S))", more)
            found |= {Form(name, frozenset({sort(word), *action.option_strings[:1]})) for word in shown}
    return found


#: a command in a text, between backticks
COMMAND = rf"`(?:flatwise )?((?:{'|'.join(COMMANDS)})(?: [^`]+)?)`"


def test_every_form_of_a_command_that_a_page_writes_is_run() -> None:
    run = [form(typed) for typed, _, _ in RUNS]
    wanted = written_forms()
    assert len(wanted) > 40
    missing = [
        each
        for each in wanted
        if not any(each.command == one.command and each.words - {""} <= one.words for one in run)
    ]
    # the server speaks with editors: tests/lsp/server
    assert [each for each in missing if each.command != "serve"] == [], missing


@pytest.mark.parametrize("page", ["README.md", "compiler/REFERENCE.md"])
def test_a_page_names_only_commands_and_options_that_exist(page: str) -> None:
    text = (ROOT / page).read_text("utf-8")
    for command in re.findall(r"(?:^|[`$ /])flatwise ([a-z]+)", text, re.M):
        assert command in COMMANDS or command in ("is", "takes", "program"), command
    known = {option for _, option in options()}
    named = set(re.findall(r"(?<![-\w])--[a-z][a-z-]*", text))
    # --shell belongs to the command that registers completion
    assert named <= known | {"--help", "--version", "--shell"}, named - known


def test_the_reference_names_every_option() -> None:
    text = (ROOT / "compiler" / "REFERENCE.md").read_text("utf-8")
    told = text[text.index("### Commands, messages and exit codes") :]
    assert {option for _, option in options() if option not in told} == set()
    assert {name for name in COMMANDS if f"`{name}" not in told} == set()


def test_the_readmes_steps_for_measured_thickness_and_new_work(shop: Path) -> None:
    """The line of step 6 of the tour, which the README shows without a prompt, and a job of its own."""
    import shutil

    readme = (ROOT / "README.md").read_text("utf-8")
    found = re.search(r"```\n( +after first \{.*?\})\n```", readme, re.S)
    assert found is not None
    path = shop / "jobs" / "lamp_table.flat"
    shutil.copy(ROOT / "jobs" / "lamp_table.flat", path)
    path.write_text(path.read_text().rstrip().removesuffix("}") + f"\n{found[1]}\n}}\n")
    run = flatwise("build", "jobs/lamp_table.flat", cwd=shop)
    assert run.returncode == 0, run.stdout
    assert sorted(each.name for each in (shop / "out" / "lamp_table").iterdir()) == [
        "second.nc",
        "sheet.html",
        "summary.json",
    ]
    assert flatwise("new", "my_top", cwd=shop).returncode == 0
    run = flatwise("check", "--message", "sarif", "jobs/my_top.flat", cwd=shop)
    assert [each["ruleId"] for each in json.loads(run.stdout)["runs"][0]["results"]] == ["FW205"]
