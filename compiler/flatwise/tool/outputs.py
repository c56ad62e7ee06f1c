"""Writing the files of a job in its folder below `--out`, completely or not at all.

The new folder is written beside the old one, synchronised to the disk, and swapped in by renaming.  Other files that
a person keeps in a job's folder are carried over; earlier files of the job that are no longer written are not.
"""

from __future__ import annotations

import os
import re
import shutil
import stat
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

#: the files that `build` may write in a job's folder, and so may remove there
OWN = ("first.nc", "second.nc", "sheet.html", "summary.json")
#: the same for `measure`, of either face; by what the names of its temporary folders add
_OWN = {
    "": re.compile("|".join(map(re.escape, OWN))),
    "measure.": re.compile(r"measure\.(nc|html)"),
    "under.": re.compile(r"measure_under\.(nc|html)"),
}

_JOB = re.compile(r"[a-z][a-z0-9_]*")


def write_all(out: Path, job: str, files: Mapping[str, bytes]) -> Path:
    """Write a job's `files` (name → bytes) to `out/job`, together or not at all, and return that folder.

    They are those of a build, or of measuring one face; the files of the other commands stay.  A file that has its
    content already keeps its time.

    `out` is created if it is missing.  Raises ValueError for a job or a file with a name that no build uses, and
    OSError with the reason if the files can't be written: the folder is then as it was.
    """
    if not _JOB.fullmatch(job):
        raise ValueError(f"{job!r} is not the name of a job")
    kind = next((kind for kind, own in _OWN.items() if all(map(own.fullmatch, files))), None)
    if kind is None:
        raise ValueError(f"flatwise does not write {', '.join(sorted(files))} together")
    out.mkdir(parents=True, exist_ok=True)
    folder, new, old = out / job, out / f".{job}.{kind}new", out / f".{job}.{kind}old"
    with _alone(out):
        for each, own in _OWN.items():
            _recover(folder, out / f".{job}.{each}new", out / f".{job}.{each}old", own)
        _must_be_own(folder, out, _OWN[kind])
        same = {name for name, content in files.items() if _contains(folder / name, content)}
        if same == _own_names(folder, _OWN[kind]) == set(files):
            return folder
        try:
            new.mkdir()
            for name, content in files.items():
                _write(new / name, content)
                if name in same:
                    before = (folder / name).stat()
                    os.utime(new / name, ns=(before.st_atime_ns, before.st_mtime_ns))
            _sync(new)
            _swap(folder, new, old, _OWN[kind])
        except BaseException:
            shutil.rmtree(new, ignore_errors=True)
            raise
    return folder


@contextmanager
def _alone(out: Path) -> Iterator[None]:
    """Lock `out` so that a second build waits, if the system has such locks."""
    try:
        import fcntl
    except ImportError:
        yield
        return
    handle = os.open(out, os.O_RDONLY)
    try:
        fcntl.flock(handle, fcntl.LOCK_EX)
        yield
    finally:
        os.close(handle)


def _own_names(folder: Path, own: re.Pattern[str]) -> set[str]:
    """The names in a folder, if there is one, that flatwise itself gives."""
    return {name for name in os.listdir(folder) if own.fullmatch(name)} if folder.exists() else set()


def _must_be_own(folder: Path, out: Path, own: re.Pattern[str]) -> None:
    """Refuse a folder that is a link, and folders with the names of our files."""
    try:
        mode = folder.lstat().st_mode
    except FileNotFoundError:
        return
    if stat.S_ISLNK(mode):
        raise OSError(f"{folder} is a link and may lead outside {out}")
    if not stat.S_ISDIR(mode):
        raise OSError(f"{folder} is in the way: it is not a folder")
    for name in sorted(_own_names(folder, own)):
        if (folder / name).is_dir() and not (folder / name).is_symlink():
            raise OSError(f"{folder / name} is in the way: it is a folder")


def _contains(path: Path, content: bytes) -> bool:
    """Whether a regular file has just this content; a file that can't be read is written anew."""
    try:
        return stat.S_ISREG(path.lstat().st_mode) and path.read_bytes() == content
    except OSError:
        return False


def _write(path: Path, content: bytes) -> None:
    with path.open("xb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())


def _sync(folder: Path) -> None:
    """Synchronise a folder's names to the disk, if the system can."""
    try:
        handle = os.open(folder, os.O_RDONLY)
    except OSError:  # a folder can't be opened on every system
        return
    try:
        os.fsync(handle)
    except OSError:
        pass
    finally:
        os.close(handle)


def _swap(folder: Path, new: Path, old: Path, own: re.Pattern[str]) -> None:
    """Replace `folder` by `new`; a failing step is undone."""
    if not folder.exists():
        new.rename(folder)
        _sync(folder.parent)
        return
    kept = [name for name in os.listdir(folder) if not own.fullmatch(name)]
    folder.rename(old)
    carried: list[str] = []
    try:
        for name in kept:
            (old / name).rename(new / name)
            carried.append(name)
        new.rename(folder)
    except BaseException:
        for name in carried:
            (new / name).rename(old / name)
        old.rename(folder)
        raise
    _sync(folder.parent)
    shutil.rmtree(old, ignore_errors=True)


def _recover(folder: Path, new: Path, old: Path, own: re.Pattern[str]) -> None:
    """Remove what an interrupted build left; if it was between its two renames, restore the older files first."""
    for path in (new, old):
        if path.is_symlink() or (path.exists() and not path.is_dir()):
            raise OSError(f"{path} is in the way: it is not a folder")
    if old.exists() and not folder.exists():
        if new.exists():
            for name in set(os.listdir(new)) - _own_names(new, own) - set(os.listdir(old)):
                (new / name).rename(old / name)
        old.rename(folder)
    for left in (new, old):
        if left.exists():
            shutil.rmtree(left)
