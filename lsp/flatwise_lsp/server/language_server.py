"""The language server's state, and what changes it: documents, files, folders, findings."""

from __future__ import annotations

import asyncio
import logging
import os
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any, TypeVar, cast

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException
from pygls.lsp.server import LanguageServer

from flatwise import __version__
from flatwise_lsp.features.results import Results, find_results
from flatwise_lsp.server.conversion import Converter
from flatwise_lsp.server.explanation_files import ExplanationFiles
from flatwise_lsp.server.previews import Previews
from flatwise_lsp.server.protocol import MessageRefusal, Protocol, make_converter
from flatwise_lsp.server.shown import REFRESH, Shown
from flatwise_lsp.workspace.analysis import Meaning, find_job_files, load_meaning
from flatwise_lsp.workspace.checking import Checking, without_stop_iteration
from flatwise_lsp.workspace.document_text import DocumentText, Position, Range, TextChange
from flatwise_lsp.workspace.documents import Snapshot, Store, path_of, uri_of
from flatwise_lsp.workspace.shifted_findings import EditShift
from flatwise_lsp.workspace.typed_word import Typing
from flatwise_lsp.workspace.view import View

logger = logging.getLogger(__name__)
T = TypeVar("T")

WATCHED = ("**/*.flat", "**/*.csv", "**/flatwise.toml", "**/pyproject.toml")


class Server(LanguageServer):
    """State and its upkeep; requests are answered in `requests`, commands in `commands`."""

    def __init__(self) -> None:
        super().__init__(
            "flatwise", __version__, protocol_cls=Protocol, converter_factory=make_converter, max_workers=4
        )
        self.store = Store()
        self.explanations = ExplanationFiles()
        self.checking = Checking(self.store, self.report, self.refresh)
        self.previews = Previews(self.checking)
        self.convert = Converter("utf-16", self.store.uri)
        #: the version and findings that the editor last got of each file
        self.published: dict[Path, tuple[int | None, list[lsp.Diagnostic]]] = {}
        #: the version of each open file and what it showed when its check was last finished
        self.shown: dict[Path, Shown] = {}
        self.typing = Typing(self._judge)
        #: the result id and the last semantic tokens of each open document, for deltas
        self.tokens: dict[str, tuple[str, list[int]]] = {}
        self._meanings: dict[tuple[int, Path], Meaning] = {}
        self._readers = ThreadPoolExecutor(1, thread_name_prefix="flatwise-read")

    # -- start and end

    def initialized_from(self, params: lsp.InitializeParams) -> None:
        """Take over the editor's capabilities and folders."""
        encoding = str(getattr(self.workspace.position_encoding, "value", self.workspace.position_encoding))
        self.store.encoding = "utf-8" if encoding == "utf-8" else "utf-32" if encoding == "utf-32" else "utf-16"
        uris = [folder.uri for folder in params.workspace_folders or []]
        if not uris and params.root_uri:
            uris = [params.root_uri]
        elif not uris and params.root_path:
            uris = [uri_of(Path(params.root_path).absolute())]
        self.store.root_uris = {path: uri for uri in uris if (path := path_of(uri)) is not None}
        self.store.roots = tuple(self.store.root_uris)
        item = self.capability("text_document.completion.completion_item")
        formats = self.capability("text_document.hover.content_format")
        self.convert = Converter(
            self.store.encoding,
            self.store.uri,
            snippets=bool(item and item.snippet_support),
            plain=formats is not None and lsp.MarkupKind.Markdown not in formats,
        )

    def capability(self, path: str) -> Any:
        """One of the editor's capabilities, by its path; None where the editor does not state it."""
        found: Any = self.client_capabilities
        for name in path.split("."):
            found = getattr(found, name, None)
            if found is None:
                return None
        return found

    @property
    def pulls(self) -> bool:
        """Whether the editor requests findings itself: if they were published as well, it would show each twice."""
        return self.capability("text_document.diagnostic") is not None

    async def begin(self) -> None:
        """Watch files and check the workspace, once the editor is initialized."""
        if self.capability("workspace.did_change_watched_files.dynamic_registration"):
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
        """Check every job file below some folders, and show the progress."""
        files = await self.read(lambda: list(dict.fromkeys(path for root in roots for path in find_job_files(root))))
        if not files:
            return
        token = "flatwise-check"
        shown = bool(self.capability("window.work_done_progress"))
        if shown:
            try:
                await self.work_done_progress.create_async(token)
            except Exception:
                shown = False
        self.checking.request(path for path in files if path not in self.checking.whole)
        if not shown:
            return
        progress = self.work_done_progress
        progress.begin(token, lsp.WorkDoneProgressBegin("Checking jobs", percentage=0, cancellable=False))
        for number, path in enumerate(files, 1):
            await self.checking.settled(path)
            percentage = round(100 * number / len(files))
            progress.report(token, lsp.WorkDoneProgressReport(message=path.name, percentage=percentage))
        progress.end(token, lsp.WorkDoneProgressEnd(message=f"{len(files)} files checked"))
        # otherwise the token could not be created again when a folder is added
        progress.tokens.pop(token, None)

    @property
    def was_shut_down(self) -> bool:
        """Whether the editor sent `shutdown` before it left."""
        return bool(self.protocol._shutdown)

    def shutdown(self) -> None:
        self.checking.close()
        self.typing.close()
        self.previews.shutdown()
        self._readers.shutdown(wait=False, cancel_futures=True)
        self.explanations.close()
        super().shutdown()  # type: ignore[no-untyped-call]

    def report_server_error(self, error: Exception, source: Any) -> None:
        """Log an error of ours instead of interrupting the editor's user; answer a body that is not JSON."""
        if source is JsonRpcException:  # pygls' loop could not read a message
            refusal = MessageRefusal(lsp.ErrorCodes.ParseError, f"Parse error: {error}")
            cast(Protocol, self.protocol).refuse(None, refusal)
            return
        logger.error("%s: %s", getattr(source, "__name__", source), error, exc_info=error)

    # -- documents and files

    def opened(self, params: lsp.DidOpenTextDocumentParams) -> None:
        given = params.text_document
        document = self.store.open(given.uri, given.version, given.text)
        if self.pulls and document.path in self.published:
            # what was published before the file was open would stand beside what the editor now pulls
            self.published.pop(document.path)
            self._send(document.uri, [], None)
        self.checking.touched(document.path)

    def changed(self, params: lsp.DidChangeTextDocumentParams) -> None:
        changes = [_text_change(change) for change in params.content_changes]
        before = self.store.get(params.text_document.uri)
        document = self.store.change(params.text_document.uri, params.text_document.version, changes)
        if before is not None and document is not None:
            self._edited(document.path, before.text.text, document.text.text)
            self.checking.touched(document.path)

    def _edited(self, path: Path, old: str, new: str) -> None:
        """Move what the file shows with an edit, and leave the word that is being typed until the typing pauses."""
        shown = self.shown.get(path)
        if shown is not None and old != new:
            shift = EditShift(old, new)
            moved = (job.shifted(shift, new) for job in shown.results)
            self.shown[path] = shown._replace(results=[job for job in moved if job is not None])
        waits = not self.pulls or bool(self.capability(REFRESH["findings"][0]))
        self.typing.edited(path, old, new, waits=waits)

    def _judge(self, path: Path) -> None:
        """The typing has paused: report what is wrong with the last word."""
        self.report(path)
        self._show(path)

    def closed(self, params: lsp.DidCloseTextDocumentParams) -> None:
        self.tokens.pop(params.text_document.uri, None)
        path = self.store.close(params.text_document.uri)
        if path is None:
            return
        self.published.pop(path, None)
        self.shown.pop(path, None)
        self.typing.stop(path)
        self.previews.close(path)
        if path in self.store.documents:  # another buffer has it open
            self.checking.touched(path)
            return
        below = any(path.is_relative_to(root) for root in self.store.roots)
        readers = self.checking.readers(path)
        if below and os.path.isfile(path):
            self.checking.touched(path)
        else:
            self.checking.forget(path)
            self.publish(path, None, [], uri=params.text_document.uri)
            self.checking.request(readers)

    def files_changed(self, params: lsp.DidChangeWatchedFilesParams) -> None:
        """Check the files again that depend on files changed on disk."""
        self.store.touched()
        for event in params.changes:
            path = path_of(event.uri)
            if path is None:
                continue
            if path.name in ("flatwise.toml", "pyproject.toml"):
                self.checking.request(list(self.checking.latest))
            elif path.suffix == ".flat" and (os.path.isfile(path) or path in self.store.documents):
                self.checking.touched(path)
            else:
                readers = self.checking.readers(path)
                self.checking.forget(path)
                self.checking.request(readers)

    def folders_changed(self, event: lsp.WorkspaceFoldersChangeEvent) -> tuple[Path, ...]:
        """Add folders, and remove others with the findings of their files.  Returns the added folders."""
        added = {path: folder.uri for folder in event.added if (path := path_of(folder.uri)) is not None}
        gone = {path for folder in event.removed if (path := path_of(folder.uri)) is not None}
        kept = {path: uri for path, uri in self.store.root_uris.items() if path not in gone}
        self.store.root_uris = kept | added
        self.store.roots = tuple(self.store.root_uris)
        self.store.touched()
        for path in [*self.checking.latest, *self.checking.waiting]:
            below = any(path.is_relative_to(root) for root in self.store.roots)
            if not below and path not in self.store.documents and any(path.is_relative_to(root) for root in gone):
                self.checking.forget(path)
        self.checking.request(list(self.store.documents))
        return tuple(added)

    # -- findings

    def diagnostics(self, path: Path) -> list[lsp.Diagnostic] | None:
        """The findings of a file; None while they are unknown."""
        found = self.checking.findings(path)
        if found is None:
            return None
        convert, page_uri = self.convert.diagnostic, self.explanations.uri
        tree = found[0][1].meaning.tree(path) if found else None
        shown = self.typing.let_through(path, found, tree)
        made = [convert(finding, analysis, path, page_uri(finding.code)) for finding, analysis in shown]
        return [one for one in made if one is not None]

    def report(self, path: Path) -> None:
        """Publish the findings of a file, if they or its version are new."""
        document = self.store.documents.get(path)
        if document is not None and self.pulls:
            return
        found = self.diagnostics(path)
        if found is None:
            return
        version = document.version if document is not None else None
        before = self.published.get(path)
        if before == (version, found) or (before is None and document is None and not found):
            return
        self.publish(path, version, found, uri=self.store.uri(path))

    def refresh(self, path: Path) -> None:
        """A file has been checked: renew its previews; ask the editor to ask again for what changed in open files.

        The editor itself asks again only for a text that it has changed.
        """
        self.previews.checked(path)
        checked = self.checking.whole.get(path)
        for one in {path, *(checked.texts if checked is not None else ())} & set(self.store.documents):
            self._show(one)

    def _show(self, path: Path) -> None:
        """Note what an open file shows now; what has changed without an edit, the editor must ask for again."""
        document, before = self.store.documents.get(path), self.shown.get(path)
        view = self.view(document.uri) if document is not None else None
        if document is None or view is None or path in self.checking.waiting:
            return
        now = Shown(document.version, self.diagnostics(path) or [], find_results(view, self.results(path)))
        self.shown[path] = now
        if before is not None and before.version == now.version:
            self._ask_to_ask_again(before, now)

    def results(self, path: Path) -> list[Results]:
        """The results of the jobs of an open file, at their places in its present text."""
        shown = self.shown.get(path)
        return shown.results if shown is not None else []

    def _ask_to_ask_again(self, before: Shown, now: Shown) -> None:
        for part, (capability, request) in REFRESH.items():
            wanted = self.pulls or part != "findings"
            if wanted and self.capability(capability) and getattr(before, part) != getattr(now, part):
                getattr(self, request)(None, lambda answer: None)

    def publish(self, path: Path, version: int | None, found: list[lsp.Diagnostic], uri: str) -> None:
        if found or path in self.store.documents:
            self.published[path] = (version, found)
        else:
            self.published.pop(path, None)
        self._send(uri, found, version)

    def _send(self, uri: str, found: list[lsp.Diagnostic], version: int | None) -> None:
        self.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(uri, found, version))

    # -- views

    async def read(self, work: Callable[[], T]) -> T:
        """Do work that reads texts in a thread of its own, one piece at a time."""
        return await asyncio.get_running_loop().run_in_executor(self._readers, without_stop_iteration(work))

    def view(self, uri: str) -> View | None:
        """A document as it is now; None where it is not open."""
        document = self.store.get(uri)
        if document is None:
            return None
        path, snapshot = document.path, self.store.snapshot()
        whole = self.checking.whole.get(path)
        # the check must have read the present text of every open document that it used
        read = {path, *(whole.texts if whole is not None else ())} & set(snapshot.documents)
        current = whole is not None and all(whole.texts.get(one) == snapshot.documents[one].text.text for one in read)
        return View(
            path,
            document.text,
            lambda: self._meaning(snapshot, path),
            lambda: self._everything(snapshot, path),
            whole if current else None,
            {one: open_document.version for one, open_document in snapshot.documents.items()},
        )

    def any_view(self) -> View | None:
        """A view for a request that names no document: of any open document, else of an empty one in a folder."""
        for document in self.store.documents.values():
            return self.view(document.uri)
        snapshot = self.store.snapshot()
        if not snapshot.roots:
            return None
        path, empty = snapshot.roots[0] / "workspace.flat", DocumentText("")
        return View(path, empty, lambda: self._meaning(snapshot, path), lambda: self._everything(snapshot, path), None)

    async def settled(self, uri: str) -> None:
        """Wait until the document has been checked as it is now."""
        document = self.store.get(uri)
        if document is not None:
            await self.checking.settled(document.path)

    def has_read(self, path: Path) -> bool:
        """Whether the meaning of a file as it is now is already known."""
        newest = self.checking.newest.get(path)
        return newest is not None and newest.number == self.store.number

    def _meaning(self, snapshot: Snapshot, path: Path) -> Meaning:
        newest = self.checking.newest.get(path)
        if newest is not None and newest.number == snapshot.number:
            return newest.meaning
        return self._cached((snapshot.number, path), lambda: load_meaning([path], snapshot, snapshot.working(path)))

    def _everything(self, snapshot: Snapshot, path: Path) -> Meaning:
        def load_all() -> Meaning:
            files = dict.fromkeys(one for root in snapshot.roots for one in find_job_files(root))
            return load_meaning(list(files | dict.fromkeys(snapshot.documents)), snapshot, snapshot.working(path))

        return self._cached((snapshot.number, snapshot.working(path) / "*"), load_all)

    def _cached(self, key: tuple[int, Path], load: Callable[[], Meaning]) -> Meaning:
        """A meaning, loaded once for each snapshot."""
        # another thread may change the cache at any time
        found = self._meanings.get(key)
        if found is None:
            found = load()
            for old in list(self._meanings):
                if old[0] != key[0]:
                    self._meanings.pop(old, None)
            self._meanings[key] = found
        return found

    def offset(self, text: DocumentText, position: lsp.Position) -> int:
        """The offset of a position in a text."""
        return text.offset(Position(position.line, position.character), self.store.encoding)


def _text_change(change: lsp.TextDocumentContentChangeEvent) -> TextChange:
    place = getattr(change, "range", None)
    if place is None:
        return TextChange(None, change.text)
    start, end = Position(place.start.line, place.start.character), Position(place.end.line, place.end.character)
    return TextChange(Range(start, end), change.text)
