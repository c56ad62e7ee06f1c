"""The files of a git revision, `REV:path`, copied to a folder where they can be compiled."""

from __future__ import annotations

import os
import re
import subprocess
from pathlib import Path

from flatwise.sources.paths import POINTS_LIMIT

PROJECT_FILES = ("flatwise.toml", "pyproject.toml")


class NoRevision(Exception):
    """A revision can't be read; the text says why, for a person."""


def checked_out(given: str, folder: Path) -> Path:
    """The path that an argument names: itself, or for `REV:path` that path in a copy below `folder`.

    The copy holds the files of the whole revision that can take part in a job.  Raises NoRevision.
    """
    revision, colon, path = given.partition(":")
    if not colon or not revision or Path(given).exists():
        return Path(given)
    top = Path(_git("rev-parse", "--show-toplevel", of=given).decode().rstrip("\n"))
    tree = _git("rev-parse", "--verify", "--quiet", "--end-of-options", f"{revision}^{{tree}}", of=given)
    _write(_listed(tree.decode().strip(), top, given), top, folder, given)
    from_here = path.startswith(("./", "../")) or path in (".", "..")
    inside = Path(os.path.relpath(Path.cwd().resolve() / path, top)) if from_here else Path(path)
    return folder / inside


def _listed(tree: str, top: Path, given: str) -> dict[str, str]:
    """Path → object of the plain files of a tree; links and files too large to be read are left out."""
    found = {}
    for entry in _git("-C", str(top), "ls-tree", "-r", "-l", "-z", tree, of=given).split(b"\0"):
        head, _, name = entry.partition(b"\t")
        # a tree made by hand may hold names that no checkout would write
        strange = {b"", b".", b"..", b".git"}.intersection(name.lower().split(b"/")) or b"\\" in name
        plain = head[:6] in (b"100644", b"100755")
        if name and plain and not strange:
            _, _, blob, size = head.decode().split()
            # a missing object has no size; `_take` reports it if it is needed
            if not size.isdecimal() or int(size) <= POINTS_LIMIT:
                found[os.fsdecode(name)] = blob
    return found


def _write(files: dict[str, str], top: Path, folder: Path, given: str) -> None:
    """Write the files that can take part in a job below `folder`, which becomes a project root."""
    folder.mkdir()
    (folder / ".git").mkdir()
    texts = {name for name in files if name.endswith(".flat") or Path(name).name in PROJECT_FILES}
    _take(files, texts, top, folder, given)
    # point files: those whose name is quoted in a job file
    quoted = {
        Path(os.fsdecode(each)).name
        for name in texts
        for each in re.findall(rb'"([^"\n]+)"', (folder / name).read_bytes())
    }
    _take(files, {name for name in files if Path(name).name in quoted} - texts, top, folder, given)


def _take(files: dict[str, str], names: set[str], top: Path, folder: Path, given: str) -> None:
    asked = "".join(f"{files[name]}\n" for name in sorted(names)).encode()
    out = _git("-C", str(top), "cat-file", "--batch", of=given, asked=asked)
    at = 0
    for name in sorted(names):  # each answer: `object blob size`, a line break, the bytes, a line break
        end = out.index(b"\n", at)
        if out[at:end].endswith(b" missing"):
            raise NoRevision(f"{given} is incomplete: git does not have {name} here. Fetch it, then compare.")
        size = int(out[at:end].split()[2])
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(out[end + 1 : end + 1 + size])
        at = end + 1 + size + 1


def _git(*arguments: str, of: str, asked: bytes = b"") -> bytes:
    # a repository's settings may name programs that fetch missing objects: none is run
    offline = {**os.environ, "GIT_ALLOW_PROTOCOL": "", "GIT_NO_LAZY_FETCH": "1", "GIT_OPTIONAL_LOCKS": "0"}
    try:
        run = subprocess.run(["git", *arguments], input=asked, capture_output=True, check=False, env=offline)
    except FileNotFoundError:
        raise NoRevision(f"{of} names a revision, but git is not installed. Install it, or compare files.") from None
    if run.returncode != 0:
        raise NoRevision(
            f"{of} is neither a file nor a path at a revision of this repository. "
            "Write REV:path with the path from the repository's top, or REV:./path from here."
        )
    return run.stdout
