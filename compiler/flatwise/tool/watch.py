"""`--watch`: check or build again after every change of the files that were named, and of those that they name."""

from __future__ import annotations

from collections.abc import Callable, Collection, Sequence
from pathlib import Path
from time import sleep, strftime
from typing import NoReturn

from flatwise.sources.load import load
from flatwise.sources.paths import folders_below, followed
from flatwise.tool.console import say

#: s between two looks at the files, and s without another change before a run
PAUSE, REST = 0.5, 0.2
#: the most changed files that a line names
MOST_NAMED = 3

#: time, size and number of each file that is there: a file that was replaced by an older one has another number
Stamps = dict[Path, tuple[int, int, int]]


def watch(paths: Sequence[Path], run: Callable[[], int]) -> NoReturn:
    """Run, then again after every change, until Ctrl-C."""
    while True:
        loaded, _ = load(paths)
        # before the run, so that a change during it is seen
        before = _stamps(paths, loaded.files)
        run()
        changed = _next_change(paths, loaded.files, before)
        say(f"{strftime('%H:%M:%S')} changed: {_named(changed)}")


def _next_change(paths: Sequence[Path], files: Collection[Path], before: Stamps) -> list[Path]:
    """Wait for a change that has come to rest: a file that is being saved may be empty or missing for a moment."""
    last = before
    while True:
        sleep(PAUSE if last == before else REST)
        now = _stamps(paths, files)
        changed = [path for path in sorted(before.keys() | now.keys()) if before.get(path) != now.get(path)]
        if changed and now == last:
            return changed
        last = now


def _stamps(paths: Sequence[Path], files: Collection[Path]) -> Stamps:
    """The files as they are now: those given, and all job files below the folders among `paths`."""
    found: Stamps = {}
    for path in {*files, *(file for each in paths for file in _job_files(each))}:
        try:
            status = path.stat()
        except OSError:
            continue
        found[path] = (status.st_mtime_ns, status.st_size, status.st_ino)
    return found


def _job_files(path: Path) -> list[Path]:
    """The job files below a folder, as `load` finds them; of a file itself alone."""
    real = followed(Path.cwd(), str(path))
    if real is None or not real.is_dir():
        return [real] if real is not None else []
    return [place / name for place, files in folders_below(real) for name in files if name.endswith(".flat")]


def _named(paths: Sequence[Path]) -> str:
    """The first few paths from the working folder."""
    from flatwise.tool.jobs import from_here

    names = [from_here(path) for path in paths[:MOST_NAMED]]
    more = len(paths) - len(names)
    return ", ".join(names) + (f" and {more} more" if more else "")
