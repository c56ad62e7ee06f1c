"""A job's files are written together or not at all, and nothing else is touched."""

from __future__ import annotations

import errno
import os
import subprocess
import sys
import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from flatwise.tool import outputs
from flatwise.tool.errors import system_error
from flatwise.tool.outputs import write_all

OLD = {"first.nc": b"old 1\n", "second.nc": b"old 2\n", "sheet.html": b"old\n", "summary.json": b"{}\n"}
NEW = {"second.nc": b"new 2\n", "sheet.html": b"new\n", "summary.json": b"{1}\n"}


def found(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir() if path.is_file()}


def names(folder: Path) -> list[str]:
    return sorted(path.name for path in folder.iterdir())


def test_all_files_stand_and_nothing_beside_them(tmp_path: Path) -> None:
    assert write_all(tmp_path / "out", "table", OLD) == tmp_path / "out" / "table"
    assert found(tmp_path / "out" / "table") == OLD
    assert names(tmp_path / "out") == ["table"]


def test_an_earlier_program_goes_and_what_a_person_keeps_there_stays(tmp_path: Path) -> None:
    folder = write_all(tmp_path, "table", OLD)
    (folder / "photo.jpg").write_bytes(b"mine")
    (folder / "third.nc").write_bytes(b"mine too")
    (folder / "notes").mkdir()
    (folder / "notes" / "a.txt").write_bytes(b"kept")
    (tmp_path / "other").mkdir()
    write_all(tmp_path, "table", NEW)
    assert found(folder) == {**NEW, "photo.jpg": b"mine", "third.nc": b"mine too"}
    assert (folder / "notes" / "a.txt").read_bytes() == b"kept"
    assert names(tmp_path) == ["other", "table"]


def times(folder: Path) -> dict[str, int]:
    return {path.name: path.stat().st_mtime_ns for path in folder.iterdir()}


def test_a_file_that_stays_the_same_keeps_its_time(tmp_path: Path) -> None:
    folder = write_all(tmp_path, "table", OLD)
    for number, name in enumerate(OLD):
        os.utime(folder / name, ns=(0, 10**18 + number))
    before, inode = times(folder), folder.stat().st_ino
    write_all(tmp_path, "table", OLD)
    assert times(folder) == before and folder.stat().st_ino == inode and names(tmp_path) == ["table"]
    changed = {**OLD, "sheet.html": b"new\n"}
    write_all(tmp_path, "table", changed)
    assert found(folder) == changed
    assert {name for name, time in times(folder).items() if time != before[name]} == {"sheet.html"}
    # a program that is no longer written goes, though all the others stay
    fewer = {name: content for name, content in changed.items() if name != "first.nc"}
    before = times(folder)
    write_all(tmp_path, "table", fewer)
    assert found(folder) == fewer and {**times(folder), "first.nc": before["first.nc"]} == before
    # a link is no file of ours, whatever it leads to
    (folder / "second.nc").rename(tmp_path / "elsewhere")
    (folder / "second.nc").symlink_to(tmp_path / "elsewhere")
    write_all(tmp_path, "table", fewer)
    assert not (folder / "second.nc").is_symlink() and found(folder) == fewer


@pytest.mark.parametrize("nth", [1, 2, 3])
def test_a_full_disk_leaves_the_older_build(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, nth: int) -> None:
    folder = write_all(tmp_path, "table", OLD)
    real, calls = outputs._write, []

    def full(path: Path, content: bytes) -> None:
        calls.append(path)
        if len(calls) == nth:
            path.write_bytes(content[:2])
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC), str(path))
        real(path, content)

    monkeypatch.setattr(outputs, "_write", full)
    with pytest.raises(OSError, match="No space"):
        write_all(tmp_path, "table", NEW)
    assert found(folder) == OLD
    assert names(tmp_path) == ["table"]


@pytest.mark.parametrize("nth", [1, 2, 3, 4])
def test_a_rename_that_fails_is_undone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, nth: int) -> None:
    folder = write_all(tmp_path, "table", OLD)
    for name in ("a.txt", "b.txt"):
        (folder / name).write_bytes(b"mine")
    real: Callable[[Path, Path], Path] = Path.rename
    calls = []

    def refuse(self: Path, target: Path) -> Path:
        calls.append(self)
        if len(calls) == nth:
            raise OSError(errno.EIO, "input/output error", str(self))
        return real(self, target)

    monkeypatch.setattr(Path, "rename", refuse)
    with pytest.raises(OSError, match="input/output"):
        write_all(tmp_path, "table", NEW)
    assert len(calls) >= nth, "the fault was met"
    assert found(folder) == {**OLD, "a.txt": b"mine", "b.txt": b"mine"}
    assert names(tmp_path) == ["table"]


@pytest.mark.parametrize("nth", [1, 2, 3, 4])
def test_a_build_that_is_killed_between_two_renames_is_made_good_by_the_next(tmp_path: Path, nth: int) -> None:
    folder = write_all(tmp_path, "table", OLD)
    for name in ("a.txt", "b.txt"):
        (folder / name).write_bytes(b"mine")
    script = f"""
        import os
        from pathlib import Path
        from flatwise.tool.outputs import write_all
        real, calls = Path.rename, []
        def die(self, target):
            calls.append(self)
            if len(calls) == {nth}:
                os._exit(9)
            return real(self, target)
        Path.rename = die
        write_all(Path({str(tmp_path)!r}), "table", {NEW!r})
    """
    assert subprocess.run([sys.executable, "-c", textwrap.dedent(script)], check=False).returncode == 9
    # whatever is there now is one build's, whole
    if folder.exists():
        assert {name: content for name, content in found(folder).items() if name in outputs.OWN} == OLD
    write_all(tmp_path, "table", NEW)
    assert found(folder) == {**NEW, "a.txt": b"mine", "b.txt": b"mine"}
    assert names(tmp_path) == ["table"]


def test_a_folder_that_is_a_link_is_refused(tmp_path: Path) -> None:
    elsewhere = tmp_path / "elsewhere"
    elsewhere.mkdir()
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / "table").symlink_to(elsewhere)
    with pytest.raises(OSError, match="link"):
        write_all(tmp_path / "out", "table", NEW)
    assert names(elsewhere) == []


def test_a_program_that_is_a_link_is_replaced_and_not_written_through(tmp_path: Path) -> None:
    target = tmp_path / "precious.txt"
    target.write_bytes(b"precious")
    (tmp_path / "out" / "table").mkdir(parents=True)
    (tmp_path / "out" / "table" / "second.nc").symlink_to(target)
    folder = write_all(tmp_path / "out", "table", NEW)
    assert target.read_bytes() == b"precious"
    assert found(folder) == NEW and not (folder / "second.nc").is_symlink()


@pytest.mark.parametrize("trap", [".table.new", ".table.old"])
def test_a_trap_beside_the_folder_is_refused(tmp_path: Path, trap: str) -> None:
    precious = tmp_path / "precious"
    precious.mkdir()
    (precious / "a.txt").write_bytes(b"mine")
    (tmp_path / "out").mkdir()
    (tmp_path / "out" / trap).symlink_to(precious)
    with pytest.raises(OSError, match="in the way"):
        write_all(tmp_path / "out", "table", NEW)
    assert names(precious) == ["a.txt"]


@pytest.mark.parametrize("job", ["../up", "a/b", "", ".", "Table", "a b", "a\0b", "table\n"])
def test_a_name_that_leads_elsewhere_is_refused(tmp_path: Path, job: str) -> None:
    with pytest.raises(ValueError, match="not the name"):
        write_all(tmp_path / "out", job, NEW)
    assert not (tmp_path / "out").exists()


def test_a_name_that_no_folder_can_have_is_refused_in_words(tmp_path: Path) -> None:
    with pytest.raises(OSError, match="too long") as refused:
        write_all(tmp_path / "out", "x" * 300, NEW)
    assert "choose a shorter one" in system_error(refused.value)
    assert not list((tmp_path / "out").iterdir())


def test_a_file_that_a_build_does_not_write_is_refused(tmp_path: Path) -> None:
    with pytest.raises(ValueError, match="does not write"):
        write_all(tmp_path, "table", {"../first.nc": b""})


def test_a_folder_with_a_programs_name_is_refused(tmp_path: Path) -> None:
    (tmp_path / "table" / "first.nc").mkdir(parents=True)
    with pytest.raises(OSError, match="in the way"):
        write_all(tmp_path, "table", NEW)
    assert names(tmp_path / "table") == ["first.nc"]
