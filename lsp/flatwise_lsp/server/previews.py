"""Previews: pages in the user's cache folder that show the sheet of a job or batch while it is typed.

A page is worked out in a thread of its own once the typing rests, and only if the sheet is another one.  Pages are
removed when their file is closed and at the end of the session.
"""

from __future__ import annotations

import asyncio
import logging
import os
import shutil
import sys
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from dataclasses import dataclass, field
from hashlib import sha256
from pathlib import Path
from typing import TypeVar

from flatwise.sources.plain_file import put_all
from flatwise_lsp.features.sheet_preview import SheetPreview, find_preview
from flatwise_lsp.workspace.checking import Checking, without_stop_iteration
from flatwise_lsp.workspace.typed_word import PAUSE

logger = logging.getLogger(__name__)
T = TypeVar("T")

#: s without an edit before a sheet is shown; errors wait as long as those of the word under the cursor
REST = 0.3
#: s after which the folder of a session that could not remove it is removed
OLD = 7 * 24 * 3600

#: by platform: the variable with the user's cache folder, and that folder without it, below the home folder
_CACHES = {"darwin": ("", "Library/Caches"), "win32": ("LOCALAPPDATA", "AppData/Local")}


def cache_folder() -> Path:
    """The user's folder for what can be made again (XDG Base Directory Specification 0.8: relative paths are ignored).

    Raises RuntimeError where there is no home folder.
    """
    name, usual = _CACHES.get(sys.platform, ("XDG_CACHE_HOME", ".cache"))
    given = os.environ.get(name, "")
    return Path(given) if os.path.isabs(given) else Path.home() / usual


@dataclass
class _Preview:
    """The preview of one job or batch: its page, the version of that on the disk, and what this shows."""

    path: Path
    name: str
    page: Path
    version: str = ""
    shown: SheetPreview | None = None
    task: asyncio.Task[None] | None = field(default=None, repr=False)

    @property
    def files(self) -> tuple[Path, Path]:
        """The page and its state."""
        return self.page, self.page.with_suffix(".js")


class Previews:
    """The open previews.  Everything here belongs to the event loop, except what is given to the worker."""

    def __init__(self, checking: Checking) -> None:
        self._checking = checking
        self._open: dict[tuple[Path, str], _Preview] = {}
        self._worker = ThreadPoolExecutor(1, thread_name_prefix="flatwise-preview")

    async def show(self, path: Path, name: str, root: Path) -> Path:
        """The page of a job or batch of a file that has been checked; from now on it follows the text.

        Raises OSError if it can't be written, and RuntimeError where there is no home folder.
        """
        preview = self._open.get((path, name))
        if preview is None:
            all_projects = cache_folder() / "flatwise" / "previews"
            folder, mark = (sha256(os.fsencode(one)).hexdigest()[:16] for one in (root, path))
            preview = _Preview(path, name, all_projects / folder / f"{name[:100]}-{mark}.html")
            await self._work(lambda: _remove_old(all_projects))
        await self._write(preview, stale=lambda: False)
        self._open[path, name] = preview
        return preview.page

    def checked(self, path: Path) -> None:
        """A file has been checked: bring its previews up to date once the typing rests."""
        for preview in self._open.values():
            if preview.path == path:
                if preview.task is not None:
                    preview.task.cancel()
                preview.task = asyncio.get_running_loop().create_task(self._follow(preview))

    def close(self, path: Path) -> None:
        """End the previews of a file."""
        for key in [key for key in self._open if key[0] == path]:
            preview = self._open.pop(key)
            if preview.task is not None:
                preview.task.cancel()
            # after what the worker is writing
            self._worker.submit(_remove, [preview])

    def shutdown(self) -> None:
        """End all previews."""
        for preview in self._open.values():
            if preview.task is not None:
                preview.task.cancel()
        self._worker.shutdown(wait=True, cancel_futures=True)
        _remove(self._open.values())
        self._open.clear()

    async def _follow(self, preview: _Preview) -> None:
        analysis = self._checking.whole.get(preview.path)

        def stale() -> bool:
            waits = preview.path in self._checking.waiting
            return waits or self._checking.whole.get(preview.path) is not analysis

        if analysis is None:
            return
        await asyncio.sleep(PAUSE if find_preview(analysis, preview.name).errors else REST)
        try:
            await self._write(preview, stale)
        except Exception:
            # a bug in the sheet, or a full disk, must not end the editor's session
            logger.exception("the preview of %s can't be written", preview.name)

    async def _write(self, preview: _Preview, stale: Callable[[], bool]) -> None:
        """Write the page, if its sheet is new, and its state; nothing if the text has changed meanwhile."""
        from flatwise.report.preview import preview as page
        from flatwise.report.preview import state

        analysis = self._checking.whole.get(preview.path)
        if stale() or analysis is None:
            return
        shown = find_preview(analysis, preview.name)
        version, contents = preview.version, dict[Path, bytes]()
        if not version or (not shown.errors and not shown.same_sheet(preview.shown)):
            built = None if shown.errors else shown.built
            html, version = await self._work(lambda: page(built, preview.name))
            contents[preview.page] = html.encode("utf-8", "backslashreplace")
        if stale():
            return
        contents[preview.files[1]] = state(version, shown.said, shown.errors).encode()
        await self._work(lambda: _put(contents))
        preview.version = version
        if not shown.errors:
            preview.shown = shown

    async def _work(self, work: Callable[[], T]) -> T:
        return await asyncio.get_running_loop().run_in_executor(self._worker, without_stop_iteration(work))


def _put(contents: dict[Path, bytes]) -> None:
    """Replace the files one after the other, the page before its state."""
    next(iter(contents)).parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    put_all(contents)


def _remove(previews: Iterable[_Preview]) -> None:
    """Remove the files of previews, and their folders when these are empty."""
    for preview in previews:
        for file in preview.files:
            with suppress(OSError):
                file.unlink()
        with suppress(OSError):
            preview.page.parent.rmdir()


def _remove_old(folder: Path) -> None:
    """Remove the folders of sessions that were killed."""
    with suppress(OSError):
        for each in folder.iterdir():
            if each.stat().st_mtime < time.time() - OLD:
                shutil.rmtree(each, ignore_errors=True)
