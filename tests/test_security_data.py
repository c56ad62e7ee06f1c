"""A repository's history, settings, texts and file names are only data; and our own code never runs data."""

from __future__ import annotations

import ast
import json
import re
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest
from compiler.tool.in_process import flatwise
from hostile import job
from our_modules import ROOT, modules, tree

linux = pytest.mark.skipif(sys.platform != "linux", reason="needs links, pipes and devices as Linux has them")


# -- revisions ------------------------------------------------------------------------------------------------------


def git(*arguments: str, cwd: Path, given: bytes = b"") -> str:
    run = subprocess.run(
        ["git", "-c", "user.name=x", "-c", "user.email=x@example.org", *arguments],
        cwd=cwd, input=given, capture_output=True, check=True,
    )  # fmt: skip
    return run.stdout.decode().strip()


@pytest.fixture
def history(shop: Path) -> Path:
    try:
        git("init", "-q", cwd=shop)
    except FileNotFoundError:
        pytest.skip("git is not installed")
    job(shop)
    git("add", ".", cwd=shop)
    git("commit", "-q", "-m", "first", cwd=shop)
    return shop


@pytest.mark.parametrize(
    "revision",
    [
        "--upload-pack=touch ran",
        "--output=ran",
        "-h",
        "--help",
        "--exec-path=.",
        "@{-1}",
        "HEAD^{/x}",
        "HEAD..HEAD",
        "$(touch ran)",
        "\n",
        "HEAD\n--all",
    ],
)
def test_a_revision_is_never_taken_for_an_option(revision: str, history: Path) -> None:
    before = sorted(history.rglob("*"))
    run = flatwise("compare", "--", f"{revision}:jobs", "jobs", cwd=history)
    assert run.returncode == 2 and "neither a file nor a path at a revision" in run.stderr
    assert sorted(history.rglob("*")) == before


def test_a_tree_made_by_hand_writes_nothing_elsewhere(
    history: Path, tmp_path_factory: Any, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A git tree made by hand has names that no checkout would write, such as two dots."""
    place = tmp_path_factory.mktemp("temporary")
    monkeypatch.setattr(tempfile, "tempdir", str(place))
    blob = git("hash-object", "-w", "--stdin", cwd=history, given=b"dog stolen { across 19mm; height 9mm }\n")
    for names in (("..",), ("..", ".."), (".git",), (".",)):
        tree = _tree(history, "100644", "stolen.flat", blob)
        for name in reversed(names):
            tree = _tree(history, "40000", name, tree)
        run = flatwise("compare", f"{tree}:jobs", "jobs", cwd=history)
        assert "bug in flatwise" not in run.stderr
        assert list(place.rglob("stolen.flat")) == [] and list(place.iterdir()) == []


def _tree(history: Path, mode: str, name: str, to: str) -> str:
    """The id of a git tree with one entry of any name."""
    entry = f"{mode} {name}\0".encode() + bytes.fromhex(to)
    return git("hash-object", "-t", "tree", "-w", "--literally", "--stdin", cwd=history, given=entry)


def test_settings_of_a_repository_start_no_program(history: Path) -> None:
    """A copied folder brings its git settings, and those may name programs."""
    trap = history / "trap"
    trap.write_text(f"#!/bin/sh\ntouch {history / 'ran'}\n")
    trap.chmod(0o755)
    for key in ("core.fsmonitor", "core.sshCommand", "core.pager", "core.editor", "diff.external", "core.askPass"):
        git("config", key, str(trap), cwd=history)
    for hook in ("post-checkout", "post-index-change", "reference-transaction", "pre-auto-gc"):
        (history / ".git" / "hooks" / hook).symlink_to(trap)
    # git would fetch a missing object with the program that the settings name
    git("config", "extensions.partialClone", "origin", cwd=history)
    git("config", "core.repositoryFormatVersion", "1", cwd=history)
    git("config", "remote.origin.url", f"file://{history}/other", cwd=history)
    git("config", "remote.origin.promisor", "true", cwd=history)
    git("config", "remote.origin.uploadpack", str(trap), cwd=history)
    blob = git("rev-parse", "HEAD:jobs/tray.flat", cwd=history)
    (history / ".git" / "objects" / blob[:2] / blob[2:]).unlink()
    run = flatwise("compare", "HEAD:jobs", "jobs", cwd=history)
    assert run.returncode == 2 and "bug in flatwise" not in run.stderr, run.stderr
    assert not (history / "ran").exists()


# -- texts on their way out -----------------------------------------------------------------------------------------

NASTY = "x) M3 S24000 (y \x1b]0;z\x07 \u202e </script><script>alert(1)</script> {{ 7 * 7 }} %s \u2028"


def test_the_words_of_a_job_are_only_text_in_the_output(shop: Path) -> None:
    plain = flatwise_files(shop, "offcut")
    nasty = flatwise_files(shop, NASTY)

    def moves(program: bytes) -> list[str]:
        text = program.decode("ascii")  # ASCII only
        assert all(line.count("(") == line.count(")") <= 1 for line in text.splitlines())
        return [line for line in text.splitlines() if not line.startswith("(")]

    for name in ("first.nc", "second.nc"):
        assert moves(plain[name]) == moves(nasty[name])
    assert b"<script>alert" not in nasty["sheet.html"]
    assert b"49" in nasty["sheet.html"] or b"{{ 7 * 7 }}" in nasty["sheet.html"]
    assert json.loads(nasty["summary.json"])["waived"][0]["because"] == NASTY


def flatwise_files(shop: Path, reason: str) -> dict[str, bytes]:
    job(shop, more=f'cut {{ depth 0.8mm }}; waive depth because "{reason}"')
    run = flatwise("build", "jobs", "--out", "o", cwd=shop)
    assert run.returncode == 0, run.stdout
    assert "\x1b" not in run.stdout and "\x07" not in run.stdout and "\u202e" not in run.stdout
    return {path.name: path.read_bytes() for path in (shop / "o" / "tray").iterdir()}


@linux
@pytest.mark.parametrize(
    "name",
    [
        "a b#c?d%e.flat",
        "\x1b]0;z\x07.flat",
        "two\nlines.flat",
        *(pytest.param(name, marks=pytest.mark.nightly) for name in ("\u202etalf.flat", "<script>.flat", "-rf.flat")),
    ],
)
def test_a_file_name_is_only_text_in_the_output(name: str, shop: Path) -> None:
    path = job(shop, more="cut { depth 9mm }")
    path.rename(shop / "jobs" / name)
    run = flatwise("check", "jobs", cwd=shop)
    assert run.returncode == 1 and not {"\x1b", "\x07", "\u202e"} & set(run.stdout)
    for line in flatwise("check", "--message", "json", "jobs", cwd=shop).stdout.splitlines():
        assert json.loads(line)["path"] == f"jobs/{name}"
    log = json.loads(flatwise("check", "--message", "sarif", "jobs", cwd=shop).stdout)
    uri = log["runs"][0]["results"][0]["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
    # RFC 3986, 2.2 and 2.4: characters that are not part of the URI's syntax are percent-encoded
    assert re.fullmatch(r"(?:[A-Za-z0-9._~/-]|%[0-9A-F]{2})+", uri)
    job(shop)
    (shop / "jobs" / "tray.flat").rename(shop / "jobs" / name)
    run = flatwise("build", "jobs", "--depfile", "made.d", cwd=shop)
    if "\n" in name:
        assert run.returncode == 2 and "line break" in run.stderr and not (shop / "made.d").exists()
    else:
        assert run.returncode == 0 and (shop / "made.d").exists()


# -- the tree itself ------------------------------------------------------------------------------------------------

#: what runs data or uses a network
NEVER_CALLED = {
    "eval",
    "exec",
    "compile",
    "__import__",
    "system",
    "popen",
    "literal_eval",
    "unsafe_load",
    "load_module",
}
NEVER_IMPORTED = {
    *("pickle", "marshal", "shelve", "dill", "yaml", "ctypes", "imp", "runpy", "code", "pty", "telnetlib", "ftplib"),
    *(
        "socket",
        "ssl",
        "http",
        "urllib.request",
        "requests",
        "httpx",
        "smtplib",
        "webbrowser",
        "xmlrpc",
        "socketserver",
    ),
}
#: the files that start a process, and which one
STARTERS = {"compiler/flatwise/tool/revisions.py": "git", "lsp/flatwise_lsp/server/commands.py": "flatwise itself"}

#: jinja's own `compile`, which makes the committed template; no command runs it
MAKERS = ["compiler/flatwise/report/make_template.py: compile"]


def test_nothing_is_evaluated_unpickled_or_sent() -> None:
    called, imported, shells, starters = [], [], [], set()
    for _, path in modules():
        name = path.relative_to(ROOT).as_posix()
        for node in ast.walk(tree(path)):
            if isinstance(node, ast.Call):
                target = node.func
                word = target.id if isinstance(target, ast.Name) else getattr(target, "attr", "")
                of = target.value.id if isinstance(target, ast.Attribute) and isinstance(target.value, ast.Name) else ""
                if word in NEVER_CALLED and of not in ("re", "platform"):
                    called.append(f"{name}: {word}")
                if any(each.arg == "shell" for each in node.keywords) or word == "create_subprocess_shell":
                    shells.append(f"{name}:{node.lineno}")
                if of == "subprocess" or word.startswith("create_subprocess") or word.startswith(("spawn", "exec")):
                    starters.add(name)
                if word == "import_module":
                    first = node.args[0]
                    assert isinstance(first, ast.Constant) or ast.unparse(first) in (
                        "library",
                        "f'{__name__}.{name}'",
                    )
            elif isinstance(node, ast.Import):
                imported += [f"{name}: {each.name}" for each in node.names if _never(each.name)]
            elif isinstance(node, ast.ImportFrom) and node.module and not node.level:
                names = [node.module, *(f"{node.module}.{each.name}" for each in node.names)]
                imported += [f"{name}: {each}" for each in names if _never(each)]
    assert len(modules()) > 100
    assert called == MAKERS and imported == [] and shells == []
    assert starters == set(STARTERS)


def _never(module: str) -> bool:
    return any(module == one or module.startswith(one + ".") for one in NEVER_IMPORTED)


def test_the_search_finds_what_it_looks_for() -> None:
    found = ast.parse("import pickle\nfrom urllib import request\neval('1')\n")
    assert _never("pickle") and _never("urllib.request") and not _never("urllib.parse")
    assert [
        node.func.id for node in ast.walk(found) if isinstance(node, ast.Call) and isinstance(node.func, ast.Name)
    ] == ["eval"]
