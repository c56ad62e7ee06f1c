"""Builds that are killed, run at the same time, lose a source while they run, or must not write their folder."""

from __future__ import annotations

import hashlib
import json
import os
import random
import shutil
import signal
import tempfile
import time
from pathlib import Path

import pytest
from hypothesis_profile import NIGHTLY

from flatwise import pipeline
from flatwise.sources import load
from flatwise.tool import cli
from flatwise.tool.outputs import OWN

JOB = """
use "../shared/shop.flat"
use "../shared/sample.flat"

job tray from plain_top {{
    stock {{ size 300mm x 220mm x 32mm }}
    hold {{
        dog    low_dog   left   at 50%
        dog    low_dog   front  at 25%, 75%
        clamp  side_cam  right  at 50%
        clamp  side_cam  back   at 50%
    }}
    faces {{ first until clean; second to {thick}mm; flip over long_edge }}
    {more}
}}
"""
linux = pytest.mark.skipif(not hasattr(os, "fork"), reason="the system has no fork")


def write(shop: Path, thick: float, more: str = "") -> Path:
    path = shop / "jobs" / "tray.flat"
    path.write_text(JOB.format(thick=thick, more=more), encoding="utf-8")
    return path


def build(out: Path, *more: str) -> int:
    """A build in this process."""
    return cli.main(["build", "jobs/tray.flat", "--out", str(out), *more])


def started(out: Path) -> int:
    """Start a build in a process of its own, with everything loaded already, and return its id."""
    child = os.fork()
    if child == 0:
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        os._exit(build(out))
    return child


def folder(out: Path) -> dict[str, bytes]:
    """The files of the job."""
    return {path.name: path.read_bytes() for path in (out / "tray").iterdir()} if (out / "tray").exists() else {}


def whole(shop: Path, thick: float) -> dict[str, bytes]:
    """The files of an undisturbed build."""
    write(shop, thick)
    out = shop / f"whole_{thick}"
    assert build(out) == 0
    made = folder(out)
    assert sorted(made) == sorted(OWN)
    return made


@linux
def test_a_build_that_is_killed_at_any_moment_leaves_one_whole_build(shop: Path) -> None:
    older, newer = whole(shop, 29.5), whole(shop, 29.0)
    out, chance = shop / "out", random.Random(3)
    start = time.monotonic()
    write(shop, 29.0)
    assert os.waitpid(started(out), 0)[1] == 0
    takes = time.monotonic() - start
    killed = 0
    moments = 20 if NIGHTLY else 4
    for moment in range(moments):
        thick = 29.5 if folder(out) == newer else 29.0
        write(shop, thick)
        child = started(out)
        # half of the moments lie in the last quarter, when files are written
        time.sleep(takes * chance.uniform(0.0 if moment % 2 else 0.75, 1.0))
        os.kill(child, signal.SIGKILL)
        if os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == -signal.SIGKILL:
            killed += 1
        else:
            takes *= 0.8  # the build had ended: the system has become quicker
        now = folder(out)
        # between the two renames the folder is missing for a moment; the next build restores it
        assert now in (older, newer) or not now
    assert killed >= moments / 4, "most builds ended before they were killed"
    assert os.waitstatus_to_exitcode(os.waitpid(started(out), 0)[1]) == 0
    assert folder(out) == (older if thick == 29.5 else newer)
    assert [path.name for path in out.iterdir()] == ["tray"]


@linux
def test_builds_at_once_in_one_folder_take_turns(shop: Path) -> None:
    older, newer = whole(shop, 29.5), whole(shop, 29.0)
    out = shop / "out"
    write(shop, 29.5)
    assert build(out) == 0
    (out / "tray" / "photo.jpg").write_bytes(b"mine")
    for _ in range(3 if NIGHTLY else 1):
        children = []
        for thick in (29.5, 29.0, 29.5, 29.0):
            # each child reads its text when it starts
            text = write(shop, thick).read_text("utf-8")
            children.append(_with_text(out, shop, text))
        assert [os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) for child in children] == [0, 0, 0, 0]
        now = folder(out)
        assert now.pop("photo.jpg") == b"mine"
        assert now in (older, newer)
        assert [path.name for path in out.iterdir()] == ["tray"]


def _with_text(out: Path, shop: Path, text: str) -> int:
    """Start a build, in a process of its own, of a text that is not on the disk."""
    child = os.fork()
    if child:
        return child
    os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
    real = pipeline.read_works
    path = (shop / "jobs" / "tray.flat").resolve()
    pipeline.read_works = lambda paths: real(paths, {path: text})
    os._exit(build(out))


def test_a_source_that_changes_during_a_build_does_not_mix(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    expected = whole(shop, 29.0)
    path = write(shop, 29.0)
    before = path.read_bytes()
    real = pipeline.build

    def changed(work: object) -> object:
        write(shop, 29.5)
        return real(work)  # type: ignore[arg-type]

    monkeypatch.setattr(pipeline, "build", changed)
    assert build(shop / "out") == 0
    made = folder(shop / "out")
    assert made == expected
    sources = {each["path"]: each["sha256"] for each in json.loads(made["summary.json"])["sources"]}
    assert sources["jobs/tray.flat"] == hashlib.sha256(before).hexdigest()
    assert sources["jobs/tray.flat"] != hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.mark.parametrize("name", ["jobs/t.csv", "jobs/tray.flat", "shared/sample.flat"])
def test_a_file_that_vanishes_between_look_and_read_is_a_finding(
    name: str, shop: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    write(shop, 29.0, 'survey { probe "t.csv" }')
    (shop / "jobs" / "t.csv").write_text("x mm,y mm,z mm\n0,0,32\n300,0,32\n0,220,32\n300,220,32\n150,110,32\n")
    real = load.unreadable

    def looked(path: Path, *given: object, **more: object) -> object:
        problem = real(path, *given, **more)  # type: ignore[arg-type]
        if path == (shop / name).resolve():
            path.unlink()
        return problem

    monkeypatch.setattr(load, "unreadable", looked)
    assert build(shop / "out") == 1
    said = capsys.readouterr()
    assert "FW004" in said.out and Path(name).name in said.out and "Traceback" not in said.out + said.err
    assert not (shop / "out").exists()


def test_an_out_folder_without_write_permission(
    shop: Path, repository: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    whole(shop, 29.5)  # load everything now: another user cannot read this Python's own files
    with tempfile.TemporaryDirectory() as name:
        place = Path(name)
        place.chmod(0o755)
        shutil.copytree(repository / "shared", place / "shared")
        (place / "jobs").mkdir()
        write(place, 29.0)
        (place / "flatwise.toml").write_text("")
        (place / "out").mkdir()
        (place / "out").chmod(0o555)
        monkeypatch.chdir(place)
        root = hasattr(os, "seteuid") and os.geteuid() == 0
        if root:
            os.seteuid(65534)  # root may write anywhere
        try:
            code = build(place / "out")
        finally:
            if root:
                os.seteuid(0)
        said = capsys.readouterr().err
        assert code == 2 and "Traceback" not in said
        assert "job tray was not written: you have no permission to read or write here" in said
        assert list((place / "out").iterdir()) == []
        monkeypatch.chdir(shop)


def test_an_out_folder_that_is_a_link(shop: Path, capsys: pytest.CaptureFixture[str]) -> None:
    write(shop, 29.0)
    elsewhere = shop.parent / f"{shop.name}_elsewhere"
    elsewhere.mkdir()
    (shop / "out").symlink_to(elsewhere)
    # the project's own out folder must stay in the project ...
    assert cli.main(["build", "jobs/tray.flat"]) == 2
    assert "lies outside the project" in capsys.readouterr().err
    assert list(elsewhere.iterdir()) == []
    # ... a folder named by a person may be anywhere
    assert build(shop / "out") == 0
    assert sorted(folder(elsewhere)) == sorted(OWN)
    # and a broken link is reported
    (shop / "nowhere").symlink_to(shop / "missing" / "deep")
    assert build(shop / "nowhere") in (0, 2)
    assert "Traceback" not in capsys.readouterr().err


@pytest.mark.nightly
def test_a_clock_that_was_set_back_changes_nothing(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Files from the future, and a clock that runs backwards: only texts decide, never times."""
    older, newer = whole(shop, 29.5), whole(shop, 29.0)
    out = shop / "out"
    write(shop, 29.5)
    assert build(out) == 0 and folder(out) == older
    later = time.time() + 10 * 365 * 86400
    for path in (*shop.rglob("*.flat"), *out.rglob("*"), out):
        os.utime(path, (later, later))
    now = [later]

    def backwards() -> float:
        now[0] -= 3600.0
        return now[0]

    monkeypatch.setattr(time, "time", backwards)
    path = write(shop, 29.0)
    os.utime(path, (1.0, 1.0))  # the changed text is by far the oldest file
    assert build(out) == 0 and folder(out) == newer
    assert [path.name for path in out.iterdir()] == ["tray"]
    # and a project file whose modification time stays the same is read again
    pyproject = shop / "pyproject.toml"
    (shop / "flatwise.toml").unlink()
    for name in ("one", "two"):
        pyproject.write_text(f"[tool.flatwise]\nout = '{name}'\n")
        os.utime(pyproject, (1.0, 1.0))
        assert cli.main(["build", "jobs/tray.flat"]) == 0 and folder(shop / name) == newer
    pyproject.write_text("[tool.another]\n")
    os.utime(pyproject, (1.0, 1.0))
    assert cli.main(["build", "jobs/tray.flat"]) == 0 and folder(shop / "out") == newer


@linux
def test_an_out_folder_on_a_disk_that_is_full_keeps_the_older_build(
    shop: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """On a real disk of 200 kB, where the system allows one to be mounted."""
    import subprocess

    older = whole(shop, 29.5)
    disk = shop / "disk"
    disk.mkdir()
    size = sum(map(len, older.values())) * 3 // 2
    mount = ["mount", "-t", "tmpfs", "-o", f"size={size // 4096 * 4096}", "tmpfs", str(disk)]
    if os.geteuid() != 0 or subprocess.run(mount, capture_output=True, check=False).returncode != 0:
        pytest.skip("no disk can be mounted here")
    try:
        write(shop, 29.5)
        assert build(disk) == 0 and folder(disk) == older
        write(shop, 29.0)
        capsys.readouterr()
        assert build(disk) == 2
        said = capsys.readouterr().err
        assert "the disk is full; free some space and try again" in said and "an older build of it remains" in said
        assert folder(disk) == older and [path.name for path in disk.iterdir()] == ["tray"]
    finally:
        subprocess.run(["umount", str(disk)], check=True)
