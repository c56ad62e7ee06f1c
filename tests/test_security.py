"""A project folder can neither make flatwise read or write outside it nor run anything in it; attempts are reported."""

from __future__ import annotations

import asyncio
import json
import os
import re
import subprocess
import sys
import tempfile
import tomllib
from pathlib import Path
from typing import Any

import hostile
import pytest
from compiler.tool.in_process import flatwise
from hostile import JOB, job
from hypothesis_profile import NIGHTLY

from flatwise.pipeline import read_works
from flatwise.sources import load
from flatwise.sources.plain_file import read_plain_file

ROOT = Path(__file__).resolve().parent.parent
linux = pytest.mark.skipif(sys.platform != "linux", reason="needs links, pipes and devices as Linux has them")


def outside_actions(log: Path, root: Path) -> list[tuple[str, str]]:
    """The recorded actions, except reading below `root` and in Python's own folders."""
    own = [root, ROOT, Path(sys.prefix).resolve(), Path(sys.base_prefix).resolve(), Path("/proc"), Path("/usr/lib")]
    fine = {"/dev/null", "/etc/localtime", "/usr/share/zoneinfo"}
    found = []
    for what, given in hostile.notes(log):
        path = Path(os.path.realpath(root / given)) if what == "read" else None
        if path is None or not (any(path.is_relative_to(each) for each in own) or given in fine):
            found.append((what, given))
    return found


# -- a hostile folder -----------------------------------------------------------------------------------------------


@linux
def test_a_hostile_folder_is_checked_without_running_or_reading_anything_else(tmp_path: Path) -> None:
    root, _ = hostile.make(tmp_path)
    log = tmp_path / "log"
    run = subprocess.run(
        [*hostile.watched(log), "check", "."], cwd=root, capture_output=True, encoding="utf-8", timeout=60, check=False
    )
    assert run.returncode == 1 and run.stderr == ""
    assert outside_actions(log, root) == []
    assert ("read", str(root / "jobs" / "hostile.flat")) in hostile.notes(log)  # the recording works
    assert not (root / "ran").exists()
    assert not {"root:", "77.77", "travel 1mm"} & set(re.findall(r"root:|77\.77|travel 1mm", run.stdout))
    # every link of the folder is reported, and none is followed
    for name in ("leads_out", "passwords", "endless", "circle", "round", "about"):
        assert f"jobs/{name}.flat" in run.stdout
    assert "\x1b" not in run.stdout and "\x07" not in run.stdout
    assert all(len(line) < 400 for line in run.stdout.splitlines())


@linux
def test_a_hostile_folder_in_an_editor_runs_nothing(tmp_path: Path) -> None:
    pytest.importorskip("pytest_lsp", reason="pytest-lsp is not installed: pip install -e '.[test]'")
    from lsp.editor import session
    from lsprotocol import types as lsp

    root, _ = hostile.make(tmp_path)
    log = tmp_path / "log"
    name = "jobs/hostile.flat"

    async def play() -> None:
        async with session(root, command=[*hostile.watched(log), "serve"]) as editor:
            editor.open(name)
            found = await editor.findings(name, 1)
            assert found
            ask, document = editor.client, editor.document(name)
            whole = lsp.Range(lsp.Position(0, 0), lsp.Position(60, 0))
            await ask.text_document_document_link_async(lsp.DocumentLinkParams(document))
            await ask.text_document_code_lens_async(lsp.CodeLensParams(document))
            await ask.text_document_document_symbol_async(lsp.DocumentSymbolParams(document))
            await ask.text_document_formatting_async(
                lsp.DocumentFormattingParams(document, lsp.FormattingOptions(4, True))
            )
            await ask.text_document_code_action_async(
                lsp.CodeActionParams(document, whole, lsp.CodeActionContext(found))
            )
            for line in range(0, 60, 3 if NIGHTLY else 12):
                at = lsp.Position(line, 7)
                await ask.text_document_hover_async(lsp.HoverParams(document, at))
                await ask.text_document_completion_async(lsp.CompletionParams(document, at))
                await ask.text_document_definition_async(lsp.DefinitionParams(document, at))
            await ask.workspace_symbol_async(lsp.WorkspaceSymbolParams("secret"))
            for command, sheet in (
                *(("flatwise.sheet", each) for each in ("hostile", "../../beside", "x\0y")),
                *(("flatwise.preview", each) for each in ("nothing", "../../beside", "x\0y")),
            ):
                await ask.workspace_execute_command_async(lsp.ExecuteCommandParams(command, [editor.uri(name), sheet]))
            told = json.dumps([each.message for one in editor.told for each in one.diagnostics])
            assert "secret_of_another {" not in told and "77.77" not in told and "root:" not in told
            editor.replace(name, 'use "circle.flat"\nuse "leads_out.flat"\n')
            # the second of them when the typing pauses
            await editor.until(lambda: [one.code for one in editor.told[-1].diagnostics].count("FW106") == 2)
            assert editor.told[-1].version == 2

    asyncio.run(play())
    # the pages of the codes go into a temporary folder of the session; Python itself tries the parent folder first
    temporary = re.compile(
        re.escape(tempfile.gettempdir()) + r"/(?:[a-z0-9_]{8}|flatwise-pages-[^/]+(?:/FW[0-9]{3}\.md)?)"
    )
    rest = [
        (what, given)
        for what, given in outside_actions(log, root)
        if not (what in ("read", "write") and temporary.fullmatch(given))
        and not (
            what in ("os.mkdir", "os.remove", "os.rmdir")
            and re.search(r"flatwise-pages-|/[a-z0-9_]{8}'|'FW\d{3}\.md'", given)
        )
    ]
    assert rest == []
    assert not (root / "ran").exists()


def test_no_editor_setup_starts_a_program_of_the_workspace() -> None:
    editors = ROOT / "lsp" / "editors"
    helix = tomllib.loads((editors / "helix" / "languages.toml").read_text("utf-8"))["language-server"]["flatwise"]
    assert (helix["command"], helix["args"]) == ("flatwise", ["serve"])
    kate = json.loads((editors / "kate" / "servers.json").read_text("utf-8"))["servers"]["flatwise"]
    assert kate["command"] == ["flatwise", "serve"]
    package = json.loads((editors / "vscode" / "package.json").read_text("utf-8"))
    setting = package["contributes"]["configuration"]["properties"]["flatwise.command"]
    # an opened folder cannot change a setting with machine scope
    assert (setting["scope"], setting["default"]) == ("machine", "flatwise")
    started = {
        "vscode/extension.js": (
            'const server = { command, args: ["serve"] };',
            r"\bexec(File)?(Sync)?\(|spawn|child_process|eval\(",
        ),
        "neovim/ftplugin/flatwise.lua": ("cmd = { 'flatwise', 'serve' }", r"io\.popen|os\.execute|loadstring|dofile"),
        "vim/ftplugin/flatwise.vim": ("['flatwise', 'serve']", r"\bsystem\(|\bexecute\b|modeline|source "),
        "vim/compiler/flatwise.vim": ("makeprg=flatwise\\ check", r"\bsystem\(|\bexecute\b"),
        "emacs/flatwise-mode.el": (
            '(flatwise-mode . (flatwise-server "flatwise" "serve"))',
            r"shell-command|call-process|\(eval\b",
        ),
    }
    for name, (start, never) in started.items():
        text = (editors / name).read_text("utf-8")
        assert start in text and not re.search(never, text), name


# -- paths in texts, names and options ------------------------------------------------------------------------------


@linux
@pytest.mark.parametrize("word", ["probe", "probe under", "thickness"])
@pytest.mark.parametrize(
    "by", ["../../{0}/secret.csv", "{1}/secret.csv", "link.csv", "down/secret.csv", "/dev/zero", "wait.csv"]
)
def test_points_come_from_plain_files_below_the_root(word: str, by: str, shop: Path, tmp_path_factory: Any) -> None:
    beside = tmp_path_factory.mktemp("beside")
    (beside / "secret.csv").write_text("x mm,y mm,z mm\n0,0,77.77\nnot a number\n")
    (shop / "jobs" / "link.csv").symlink_to(beside / "secret.csv")
    (shop / "jobs" / "down").symlink_to(beside)
    os.mkfifo(shop / "jobs" / "wait.csv")
    target = by.format(os.path.relpath(beside, shop.parent), beside)
    front = read_works([job(shop, f'{word} "{target}"')])
    assert [each.code for each in front.findings] == ["FW004"] and not front.works
    assert "77.77" not in front.findings[0].message and "not a number" not in front.findings[0].message


@linux
@pytest.mark.parametrize("what", ["link", "pipe", "other", "larger", "folder above"])
def test_a_file_that_is_replaced_after_its_check_is_not_read(
    what: str, shop: Path, tmp_path_factory: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    beside = tmp_path_factory.mktemp("beside")
    (beside / "p.csv").write_text("x mm,y mm,z mm\n0,0,77.77\nsecret\n")
    place = shop / "jobs" / "points"
    place.mkdir()
    points = place / "p.csv"
    points.write_text("x mm,y mm,z mm\n0,0,32\n900,0,32\n0,500,32\n")
    real = load.unreadable

    def looked(path: Path, *given: Any, **more: Any) -> Any:
        problem = real(path, *given, **more)
        if path == points and not problem:
            points.unlink()
            if what == "link":
                points.symlink_to(beside / "p.csv")
            elif what == "pipe":
                os.mkfifo(points)  # reading it would never end
            elif what == "larger":
                points.write_text("x mm,y mm,z mm\n" + "0,0,32\n" * 100)
            elif what == "folder above":
                place.rmdir()
                place.symlink_to(beside)
            else:
                points.symlink_to("/dev/zero")
        return problem

    monkeypatch.setattr(load, "unreadable", looked)
    if what == "larger":
        monkeypatch.setattr(load, "POINTS_LIMIT", 100)
    front = read_works([job(shop, 'probe "points/p.csv"')])
    assert [each.code for each in front.findings] == ["FW004"] and not front.works
    assert "secret" not in str(front.findings)


@linux
def test_contents_come_only_from_the_plain_file_itself(tmp_path: Path) -> None:
    place = tmp_path.resolve()
    (place / "a").write_bytes(b"abc")
    (place / "link").symlink_to(place / "a")
    (place / "down").symlink_to(place)
    os.mkfifo(place / "pipe")
    assert read_plain_file(place / "a", 3) == b"abc"
    for path, limit in (
        (place / "a", 2),
        (place / "link", 9),
        (place / "down" / "a", 9),
        (place / "pipe", 9),
        (place, 9),
    ):
        with pytest.raises(OSError) as refused:
            read_plain_file(path, limit)
        assert refused.value.strerror
    for device in ("/dev/zero", "/dev/null"):
        with pytest.raises(OSError, match="not a regular file"):
            read_plain_file(Path(device), 9)


@linux
@pytest.mark.parametrize("out", ["../out", "/tmp/out", "jobs/../../out", "link", "circle/x", "a\\u0000b", "x" * 4000])
def test_a_project_cannot_send_its_programs_elsewhere(out: str, shop: Path) -> None:
    job(shop)
    elsewhere = shop.parent / f"{shop.name}_elsewhere"
    elsewhere.mkdir()
    (shop / "link").symlink_to(elsewhere)
    (shop / "circle").symlink_to("circle")
    (shop / "flatwise.toml").write_text(f'out = "{out}"\n')
    before = sorted(shop.parent.iterdir())
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 2 and "bug in flatwise" not in run.stderr, run.stderr
    assert sorted(shop.parent.iterdir()) == before and list(elsewhere.iterdir()) == []


@linux
def test_a_project_file_that_is_a_link_or_a_pipe_is_not_followed(shop: Path, tmp_path_factory: Any) -> None:
    job(shop)
    beside = tmp_path_factory.mktemp("beside") / "other.toml"
    beside.write_text('standard = "secret_rules"\nbroken\n')
    (shop / "flatwise.toml").unlink()
    (shop / "flatwise.toml").symlink_to(beside)
    run = flatwise("check", "jobs", cwd=shop)
    assert run.returncode == 1 and "outside the project" in run.stdout and "secret_rules" not in run.stdout
    (shop / "flatwise.toml").unlink()
    os.mkfifo(shop / "flatwise.toml")
    os.mkfifo(shop / "pyproject.toml")
    assert flatwise("check", "jobs", cwd=shop).returncode == 0  # no waiting, and no sign of a project root
    for name in ("flatwise.toml", "pyproject.toml"):
        (shop / name).unlink()
    (shop / "flatwise.toml").write_text("standard_from = '../beside/rules.flat'\nstandard = 'x'\n")
    run = flatwise("check", "jobs", cwd=shop)
    assert run.returncode == 1 and "outside the project" in run.stdout


@linux
def test_no_link_in_a_folder_leads_out_of_the_project(shop: Path, tmp_path_factory: Any) -> None:
    beside = tmp_path_factory.mktemp("beside") / "theirs.flat"
    beside.write_text("cutter   x   {\n}")
    before = beside.read_bytes()
    job(shop)
    (shop / "jobs" / "theirs.flat").symlink_to(beside)
    (shop / "jobs" / "circle.flat").symlink_to("circle.flat")
    (shop / "jobs" / "inside.flat").symlink_to(shop / "shared" / "shop.flat")  # this link is allowed
    run = flatwise("format", "jobs", cwd=shop)
    assert beside.read_bytes() == before and run.returncode == 1
    run = flatwise("check", "jobs", cwd=shop)
    assert run.returncode == 1 and run.stdout.count("FW004 error") == 2
    assert '"jobs/theirs.flat" lies outside' in run.stdout and '"jobs/circle.flat" lies outside' in run.stdout


@pytest.mark.parametrize(
    "name",
    [
        "../up",
        "..",
        ".",
        "a/b",
        "a\\\\b",
        "C:x",
        "CON ",
        "tray.",
        "Tray",
        "-rf",
        "tr\u0430y",
        "\uff54ray",
        "tray\0x",
        '"tray"',
    ],
)
def test_the_name_of_a_job_cannot_be_a_path(name: str, shop: Path) -> None:
    path = job(shop)
    path.write_text(path.read_text("utf-8").replace("job tray", f"job {name}"), encoding="utf-8")
    before = sorted(shop.rglob("*"))
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 1 and "bug in flatwise" not in run.stderr
    assert sorted(shop.rglob("*")) == before, "a file was written"
    if "\0" not in name:  # no argument can contain it
        run = flatwise("new", "--", name, cwd=shop)
        assert run.returncode == 1 and sorted(shop.rglob("*")) == before


def test_names_that_are_too_long_are_reported(shop: Path) -> None:
    path = job(shop)
    path.write_text(path.read_text("utf-8").replace("job tray", f"job {'x' * 250}"), encoding="utf-8")
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 1 and "FW107" in run.stdout and "bug in flatwise" not in run.stderr
    path.write_text('use "' + "x" * 4000 + '.flat"\n', encoding="utf-8")
    run = flatwise("check", "jobs", cwd=shop)
    assert run.returncode == 1 and max(map(len, run.stdout.splitlines())) < 300
    run = flatwise("check", "x" * 5000, cwd=shop)
    assert run.returncode == 1 and max(map(len, run.stdout.splitlines())) < 300


def test_names_that_differ_only_in_case_are_not_two_jobs(shop: Path) -> None:
    """Some systems do not distinguish case, and both jobs would share one folder there."""
    job(shop)
    (shop / "jobs" / "TRAY.flat").write_text(JOB.format(readings="", more="").replace("job tray", "job Tray"))
    run = flatwise("build", "jobs", cwd=shop)
    assert run.returncode == 1 and not (shop / "out").exists()
