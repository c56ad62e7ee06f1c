"""The language server: what an editor says and hears.  `stdio` runs it."""

from __future__ import annotations

import asyncio
import logging
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, TypeVar

from lsprotocol import types as lsp
from pygls.lsp.server import LanguageServer

from flatwise import __version__
from flatwise_lsp.features.pages import Pages
from flatwise_lsp.server.protocol import Converter
from flatwise_lsp.server.rpc import Protocol
from flatwise_lsp.workspace.analysis import Meaning, files_below, meaning_of
from flatwise_lsp.workspace.checking import Checking, ended
from flatwise_lsp.workspace.documents import Snapshot, Store, path_of
from flatwise_lsp.workspace.text import Change, Position, Range, Text
from flatwise_lsp.workspace.view import View

logger = logging.getLogger(__name__)
T = TypeVar("T")

WATCHED = ("**/*.flat", "**/*.csv", "**/flatwise.toml", "**/pyproject.toml")


class Server(LanguageServer):
    """State and upkeep; the answers to requests are in `requests`, the commands in `commands`."""

    def __init__(self) -> None:
        super().__init__("flatwise", __version__, protocol_cls=Protocol, max_workers=4)
        self.store = Store()
        self.pages = Pages()
        self.checking = Checking(self.store, self.tell)
        self.convert = Converter("utf-16", self.store.uri)
        self.told: dict[Path, tuple[int | None, list[lsp.Diagnostic]]] = {}
        #: the last answer about the colours of each open document, which a delta is counted from
        self.coloured: dict[str, tuple[str, list[int]]] = {}
        self._meanings: dict[tuple[int, Path | None], Meaning] = {}
        self._readers = ThreadPoolExecutor(1, thread_name_prefix="flatwise-read")

    # -- life ---------------------------------------------------------------------------------------------------

    def initialized_from(self, params: lsp.InitializeParams) -> None:
        """What the editor can do, and where it works."""
        encoding = str(getattr(self.workspace.position_encoding, "value", self.workspace.position_encoding))
        self.store.encoding = "utf-8" if encoding == "utf-8" else "utf-32" if encoding == "utf-32" else "utf-16"
        uris = [folder.uri for folder in params.workspace_folders or []]
        if not uris and params.root_uri:
            uris = [params.root_uri]
        self.store.root_uris = {path: uri for uri in uris if (path := path_of(uri)) is not None}
        self.store.roots = tuple(self.store.root_uris)
        item = self.ability("text_document.completion.completion_item")
        formats = self.ability("text_document.hover.content_format")
        self.convert = Converter(
            self.store.encoding,
            self.store.uri,
            snippets=bool(item and item.snippet_support),
            plain=formats is not None and lsp.MarkupKind.Markdown not in formats,
        )

    def ability(self, path: str) -> Any:
        """What the editor said of one of its abilities, by the path to it; None where it said nothing."""
        found: Any = self.client_capabilities
        for name in path.split("."):
            found = getattr(found, name, None)
            if found is None:
                return None
        return found

    @property
    def pulls(self) -> bool:
        """Whether the editor asks for findings itself: it is then not told, or it would show each twice."""
        return self.ability("text_document.diagnostic") is not None

    async def begin(self) -> None:
        """After the greeting: watch files, check the workspace."""
        if self.ability("workspace.did_change_watched_files.dynamic_registration"):
            watchers = [lsp.FileSystemWatcher(pattern) for pattern in WATCHED]
            registration = lsp.Registration(
                "flatwise-files",
                lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES,
                lsp.DidChangeWatchedFilesRegistrationOptions(watchers),
            )
            try:
                await self.client_register_capability_async(lsp.RegistrationParams([registration]))
            except Exception:
                logger.warning("the editor does not watch files for us")
        await self.check_workspace(self.store.roots)

    async def check_workspace(self, roots: tuple[Path, ...]) -> None:
        """Check every job file below the folders, with progress."""
        files = await self.read(lambda: list(dict.fromkeys(path for root in roots for path in files_below(root))))
        if not files:
            return
        token = "flatwise-check"
        shown = bool(self.ability("window.work_done_progress"))
        if shown:
            try:
                await self.work_done_progress.create_async(token)
            except Exception:
                shown = False
        self.checking.ask(path for path in files if path not in self.checking.whole)
        if not shown:
            return
        progress = self.work_done_progress
        progress.begin(token, lsp.WorkDoneProgressBegin("Checking jobs", percentage=0, cancellable=False))
        for number, path in enumerate(files, 1):
            await self.checking.settled(path)
            progress.report(
                token, lsp.WorkDoneProgressReport(message=path.name, percentage=round(100 * number / len(files)))
            )
        progress.end(token, lsp.WorkDoneProgressEnd(message=f"{len(files)} files checked"))
        # else it could not be made again when a folder is added
        progress.tokens.pop(token, None)

    @property
    def said_goodbye(self) -> bool:
        """Whether the editor asked for the end before it left."""
        return bool(self.protocol._shutdown)

    def shutdown(self) -> None:
        self.checking.close()
        self._readers.shutdown(wait=False, cancel_futures=True)
        self.pages.close()
        super().shutdown()  # type: ignore[no-untyped-call]

    def report_server_error(self, error: Exception, source: Any) -> None:
        """A fault of ours is logged; the editor's user is not stopped by a window."""
        logger.error("%s: %s", getattr(source, "__name__", source), error, exc_info=error)

    # -- documents ------------------------------------------------------------------------------------------------

    def opened(self, params: lsp.DidOpenTextDocumentParams) -> None:
        given = params.text_document
        document = self.store.open(given.uri, given.version, given.text)
        self.checking.touched(document.path)

    def changed(self, params: lsp.DidChangeTextDocumentParams) -> None:
        changes = [_change(change) for change in params.content_changes]
        document = self.store.change(params.text_document.uri, params.text_document.version, changes)
        if document is not None:
            self.checking.touched(document.path)

    def closed(self, params: lsp.DidCloseTextDocumentParams) -> None:
        self.coloured.pop(params.text_document.uri, None)
        path = self.store.close(params.text_document.uri)
        if path is None:
            return
        self.told.pop(path, None)
        if path in self.store.documents:  # another buffer holds it
            self.checking.touched(path)
            return
        below = any(path.is_relative_to(root) for root in self.store.roots)
        readers = self.checking.readers(path)
        if below and os.path.isfile(path):
            self.checking.touched(path)
        else:
            self.checking.forget(path)
            self.publish(path, None, [], uri=params.text_document.uri)
            self.checking.ask(readers)

    def files_changed(self, params: lsp.DidChangeWatchedFilesParams) -> None:
        """Files changed on the disk: what read them is checked again."""
        self.store.touched()
        for event in params.changes:
            path = path_of(event.uri)
            if path is None:
                continue
            if path.name in ("flatwise.toml", "pyproject.toml"):
                self.checking.ask(list(self.checking.latest))
            elif path.suffix == ".flat" and (os.path.isfile(path) or path in self.store.documents):
                self.checking.touched(path)
            else:
                readers = self.checking.readers(path)
                self.checking.forget(path)
                self.checking.ask(readers)

    def folders_changed(self, event: lsp.WorkspaceFoldersChangeEvent) -> tuple[Path, ...]:
        """Take folders in, and let go of others with all that was said of their files; the folders that are new."""
        added = {path: folder.uri for folder in event.added if (path := path_of(folder.uri)) is not None}
        gone = {path for folder in event.removed if (path := path_of(folder.uri)) is not None}
        kept = {path: uri for path, uri in self.store.root_uris.items() if path not in gone}
        self.store.root_uris = kept | added
        self.store.roots = tuple(self.store.root_uris)
        self.store.touched()
        for path in [*self.checking.latest, *self.checking.asked]:
            below = any(path.is_relative_to(root) for root in self.store.roots)
            if not below and path not in self.store.documents and any(path.is_relative_to(root) for root in gone):
                self.checking.forget(path)
        self.checking.ask(list(self.store.documents))
        return tuple(added)

    # -- findings -------------------------------------------------------------------------------------------------

    def diagnostics(self, path: Path) -> list[lsp.Diagnostic] | None:
        """The findings of a file as the protocol has them; None while they are not known."""
        found = self.checking.findings(path)
        if found is None:
            return None
        convert, page = self.convert.diagnostic, self.pages.uri
        made = [convert(finding, analysis, path, page(finding.code)) for finding, analysis in found]
        return [one for one in made if one is not None]

    def tell(self, path: Path) -> None:
        """Send the findings of a file, if they or its version are new."""
        document = self.store.documents.get(path)
        found = self.diagnostics(path)
        if found is None:
            return
        if document is not None and self.pulls:
            self._refresh(path, document.version, found)
            return
        version = document.version if document is not None else None
        before = self.told.get(path)
        if before == (version, found) or (before is None and document is None and not found):
            return
        self.publish(path, version, found, uri=self.store.uri(path))

    def _refresh(self, path: Path, version: int, found: list[lsp.Diagnostic]) -> None:
        """Ask an editor that pulls to pull again, where what it has was said of the same text and no longer holds."""
        before = self.told.get(path)
        if before is None or before[0] != version or before[1] == found or path in self.checking.asked:
            return
        self.told.pop(path)
        if self.ability("workspace.diagnostics.refresh_support"):
            self.workspace_diagnostic_refresh(None, lambda answer: None)

    def publish(self, path: Path, version: int | None, found: list[lsp.Diagnostic], uri: str) -> None:
        if found or path in self.store.documents:
            self.told[path] = (version, found)
        else:
            self.told.pop(path, None)
        self.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(uri, found, version))

    # -- views ----------------------------------------------------------------------------------------------------

    async def read(self, work: Callable[[], T]) -> T:
        """Do something with texts beside the event loop, one thing at a time."""
        return await asyncio.get_running_loop().run_in_executor(self._readers, ended(work))

    def view(self, uri: str) -> View | None:
        """A document as it is now; None where it is not open."""
        document = self.store.get(uri)
        if document is None:
            return None
        path, snapshot = document.path, self.store.snapshot()
        whole = self.checking.whole.get(path)
        # what it said of the others holds for their texts as well
        read = {path, *(whole.texts if whole is not None else ())} & set(snapshot.documents)
        fresh = whole is not None and all(whole.texts.get(one) == snapshot.documents[one].text.text for one in read)
        return View(
            path,
            document.text,
            lambda: self._meaning(snapshot, path),
            lambda: self._everything(snapshot, path),
            whole if fresh else None,
            {one: open_document.version for one, open_document in snapshot.documents.items()},
        )

    def any_view(self) -> View | None:
        """A view of the workspace where no document is named: by any open document, else by a file of the disk."""
        for document in self.store.documents.values():
            return self.view(document.uri)
        snapshot = self.store.snapshot()
        if not snapshot.roots:
            return None
        path = snapshot.roots[0] / "workspace.flat"
        return View(
            path, Text(""), lambda: self._meaning(snapshot, path), lambda: self._everything(snapshot, path), None
        )

    async def settled(self, uri: str) -> None:
        """Until the document has been checked as it is now."""
        document = self.store.get(uri)
        if document is not None:
            await self.checking.settled(document.path)

    def has_read(self, path: Path) -> bool:
        """Whether the meaning of a file as it is now is at hand."""
        newest = self.checking.newest.get(path)
        return newest is not None and newest.number == self.store.number

    def _meaning(self, snapshot: Snapshot, path: Path) -> Meaning:
        newest = self.checking.newest.get(path)
        if newest is not None and newest.number == snapshot.number:
            return newest.meaning
        return self._kept((snapshot.number, path), lambda: meaning_of([path], snapshot, snapshot.working(path)))

    def _everything(self, snapshot: Snapshot, path: Path) -> Meaning:
        def load_all() -> Meaning:
            files = {one: None for root in snapshot.roots for one in files_below(root)}
            return meaning_of(
                [*files, *(one for one in snapshot.documents if one not in files)], snapshot, snapshot.working(path)
            )

        return self._kept((snapshot.number, snapshot.working(path) / "*"), load_all)

    def _kept(self, key: tuple[int, Path | None], make: Callable[[], Meaning]) -> Meaning:
        """A meaning, worked out once for each change."""
        # another thread may be at it: nothing here counts on what was in it a moment ago
        found = self._meanings.get(key)
        if found is None:
            found = make()
            for old in list(self._meanings):
                if old[0] != key[0]:
                    self._meanings.pop(old, None)
            self._meanings[key] = found
        return found

    def offset(self, text: Text, position: lsp.Position) -> int:
        return text.offset(Position(position.line, position.character), self.store.encoding)


def _change(change: lsp.TextDocumentContentChangeEvent) -> Change:
    place = getattr(change, "range", None)
    if place is None:
        return Change(None, change.text)
    start, end = place.start, place.end
    return Change(Range(Position(start.line, start.character), Position(end.line, end.character)), change.text)
