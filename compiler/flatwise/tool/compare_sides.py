"""The two sides of a comparison: files, folders, or either as it stood at a revision (`REV:path`)."""

from __future__ import annotations

import os
import re
import subprocess
from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path
from tempfile import TemporaryDirectory

from flatwise.core.finding import Findings, has_errors
from flatwise.model.stages import Work
from flatwise.pipeline import Front, read_works
from flatwise.sources.load import POINTS_LIMIT
from flatwise.tool.compare import Side
from flatwise.tool.runs import by_path

PROJECT_FILES = ("flatwise.toml", "pyproject.toml")


class NoRevision(Exception):
    """A revision can't be read; the text says why, for a person."""


def sides(old: str, new: str) -> tuple[list[Side], list[Side], Findings]:
    """The jobs of both sides, and what keeps a file of them from being read at all.

    A job whose sources and rules are the same on both sides is on neither.  Raises NoRevision.
    """
    with TemporaryDirectory(prefix="flatwise-") as folder:
        paths = [_path(given, Path(folder) / name) for given, name in ((old, "old"), (new, "new"))]
        fronts = [read_works([path]) for path in paths]
        lost = tuple(finding for front in fronts for finding in front.findings if finding.span is None)
        same = _same(*(front.works for front in fronts))
        if not all(front.texts for front in fronts):
            return [], [], lost  # a side is not there at all: nothing can be compared with it
        hidden = [f"{Path(folder).resolve() / name}/" for name in ("old", "new")]
        before, after = (list(_sides(front, same, start)) for front, start in zip(fronts, hidden, strict=True))
    return before, after, lost


def _same(old: Sequence[Work], new: Sequence[Work]) -> set[str]:
    """The names of jobs that are the same on both sides: the same text of all their files, the same rules."""

    def key(work: Work) -> tuple[object, ...]:
        return (work.name, *sorted(digest for _, digest in work.sources), replace(work.rules, spans={}))

    known = {work.name: key(work) for work in old}
    return {work.name for work in new if known.get(work.name) == key(work)}


def _sides(front: Front, same: set[str], hidden: str) -> Iterator[Side]:
    """Every job that a side declares in the files that were asked for, those that are the same on both left out."""
    works = {work.name: work for work in front.works}
    placed = by_path(front.findings)
    for name, block in front.jobs.items():
        work = works.get(name)
        found = placed.get(block.path, ())
        if work is None and not has_errors(found):
            # something that it uses is at fault
            found = tuple(each for each in front.findings if each.span is not None)
        if name in same and not has_errors(found):
            continue
        yield Side(name, work, found, hidden)


# -- revisions -----------------------------------------------------------------------------------------------------


def _path(given: str, folder: Path) -> Path:
    """The file or folder that an argument means; what it means at a revision is written below `folder`."""
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
    """Path → object of the plain files of a tree that are not larger than any that is read; links are left out."""
    found = {}
    for entry in _git("-C", str(top), "ls-tree", "-r", "-l", "-z", tree, of=given).split(b"\0"):
        head, _, name = entry.partition(b"\t")
        # a tree made by hand may hold names that no checkout would write
        strange = {b"", b".", b"..", b".git"}.intersection(name.lower().split(b"/")) or b"\\" in name
        plain = head[:6] in (b"100644", b"100755")
        if name and plain and not strange:
            _, _, blob, size = head.decode().split()
            # one that is missing has no size; it is told where it is needed
            if not size.isdecimal() or int(size) <= POINTS_LIMIT:
                found[os.fsdecode(name)] = blob
    return found


def _write(files: dict[str, str], top: Path, folder: Path, given: str) -> None:
    """What can take part in a job, below `folder`, which becomes a root of its own."""
    folder.mkdir()
    (folder / ".git").mkdir()
    texts = {name for name in files if name.endswith(".flat") or Path(name).name in PROJECT_FILES}
    _take(files, texts, top, folder, given)
    # files of points: those whose name stands in quotes in a job file
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
    for name in sorted(names):  # each answer is `object blob size`, a line break, the bytes, a line break
        end = out.index(b"\n", at)
        if out[at:end].endswith(b" missing"):
            raise NoRevision(f"{given} is not whole here: {name} is missing. Fetch it with git, then compare.")
        size = int(out[at:end].split()[2])
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_bytes(out[end + 1 : end + 1 + size])
        at = end + 1 + size + 1


def _git(*arguments: str, of: str, asked: bytes = b"") -> bytes:
    # only what is there is read: a repository's settings may name programs that fetch what is missing
    alone = {**os.environ, "GIT_ALLOW_PROTOCOL": "", "GIT_NO_LAZY_FETCH": "1", "GIT_OPTIONAL_LOCKS": "0"}
    try:
        run = subprocess.run(["git", *arguments], input=asked, capture_output=True, check=False, env=alone)
    except FileNotFoundError:
        raise NoRevision(f"{of} names a revision, and git is not installed. Install it, or name files.") from None
    if run.returncode != 0:
        raise NoRevision(
            f"{of} is neither a file nor a path at a revision of this folder's repository. "
            "Write REV:path, the path from the repository's top or with ./ from here."
        )
    return run.stdout
