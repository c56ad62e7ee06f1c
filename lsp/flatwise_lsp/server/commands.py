"""The commands: build a job, open its sheet or a preview, explain a code, move a holder.  Users start each of them."""

from __future__ import annotations

import asyncio
import hashlib
import os
import re
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcInvalidParams

from flatwise.findings import pages
from flatwise.sources.paths import below_root
from flatwise.sources.project import read_project, root_of
from flatwise_lsp.features import code_actions, sheet_preview
from flatwise_lsp.server.actions import parse_move
from flatwise_lsp.server.requests import workspace_edit
from flatwise_lsp.workspace.documents import path_of, uri_of

if TYPE_CHECKING:
    from flatwise_lsp.server.language_server import Server


#: an error in the output of `flatwise build`: its code and its message
_ERRORS = re.compile(r"^(FW\d{3}) error.*\n\n  (.*)$", re.MULTILINE)

#: the most lines of a build's output in a message
MOST_LINES = 3


def register(server: Server) -> None:
    """Register the commands; their first argument is the URI of the file, their second the job.

    `flatwise.preview` also takes a line, counted from 0, for the job or batch in which it is.
    """

    @server.command("flatwise.build")
    async def build(uri: str, job: str = "") -> str:
        before = _sheet(server, uri, job)
        text, built = await _build(server, uri, job)
        _show_message(server, text, lsp.MessageType.Info if built else lsp.MessageType.Error)
        after = _sheet(server, uri, job)
        if built and after is not None and after != before:
            await _open(server, uri_of(after[0]), external=True)
        return text

    @server.command("flatwise.sheet")
    async def sheet(uri: str, job: str) -> str:
        found = _sheet(server, uri, job)
        if found is None:
            _show_message(server, f"There is no sheet of {job} yet; build it first.", lsp.MessageType.Warning)
            return ""
        await _open(server, uri_of(found[0]), external=True)
        return str(found[0])

    @server.command("flatwise.preview")
    async def preview(uri: str, job: Any) -> str:
        await server.settled(uri)
        view = server.view(uri)
        if view is None:
            return ""
        if isinstance(job, int):
            start = server.offset(view.text, lsp.Position(job, 0))
            job = await server.read(lambda: sheet_preview.find_name(view, start))
        checked = server.checking.whole.get(view.path)
        if checked is None or str(job) not in checked.jobs:
            _show_message(server, "There is no job here. Put the cursor into a job or batch.", lsp.MessageType.Warning)
            return ""
        try:
            page = await server.previews.show(view.path, job, view.root)
        except (OSError, RuntimeError) as error:
            _show_message(server, f"The preview can't be written: {error}.", lsp.MessageType.Error)
            return ""
        await _open(server, uri_of(page), external=True)
        return str(page)

    @server.command("flatwise.explain")
    async def explain(code: str) -> str:
        page = pages.page(code)
        if page is None:
            return ""
        uri = server.explanations.uri(page.code)
        if uri:
            await _open(server, uri, external=False)
        return page.text

    @server.command("flatwise.move")
    async def move(arguments: dict[str, Any]) -> None:
        found = parse_move(arguments)
        if found is None:
            raise JsonRpcInvalidParams("this command takes uri, code and at")
        view = server.view(found[0])
        if view is None:
            return
        edits = await asyncio.to_thread(code_actions.resolve_move, view, *found[1:])
        if edits:
            edit = workspace_edit(server, view, edits, view.meaning)
            await server.workspace_apply_edit_async(lsp.ApplyWorkspaceEditParams(edit))
        else:
            _show_message(server, "No other place on this edge is clear.", lsp.MessageType.Info)


def _show_message(server: Server, text: str, kind: lsp.MessageType) -> None:
    server.window_show_message(lsp.ShowMessageParams(kind, text))


async def _open(server: Server, uri: str, external: bool) -> None:
    """Show a file in the editor, or its path where the editor can't."""
    support = server.capability("window.show_document")
    if support is not None and support.support:
        await server.window_show_document_async(lsp.ShowDocumentParams(uri, external=external, take_focus=True))
    else:
        _show_message(server, f"The file is {path_of(uri)}.", lsp.MessageType.Info)


def find_sheet(path: Path, job: str, working: Path) -> Path | None:
    """The sheet of a job, where it has been built; never a file outside the project."""
    project, _ = read_project(root_of(path.parent, working), working)
    sheet = below_root(project.root, f"{project.out}/{job}/sheet.html", project.root)
    return sheet if sheet is not None and os.path.isfile(sheet) else None


def _sheet(server: Server, uri: str, job: str) -> tuple[Path, str] | None:
    """The sheet of a job and the hash of its text; None where it has not been built."""
    path = path_of(uri)
    found = find_sheet(path, job, server.store.snapshot().working(path)) if path is not None and job else None
    return (found, hashlib.sha256(found.read_bytes()).hexdigest()) if found is not None else None


async def _build(server: Server, uri: str, job: str) -> tuple[str, bool]:
    """Build a job, or all of a file, with `flatwise build` in a process of its own: its output, and whether it built.

    Unsaved files are refused, since the sheet names the files that it was built from.
    """
    path = path_of(uri)
    if path is None:
        return "This buffer is not a file yet; save it first.", False
    whole = server.checking.whole.get(path)
    used = {path, *(whole.texts if whole is not None else ())}
    for document in server.store.documents.values():
        if document.path in used and not _is_saved(document.path, document.text.text):
            return f"{document.path.name} has changes that are not saved; save it, then build.", False
    working = server.store.snapshot().working(path)
    # -P: modules in the job's folder are never imported
    process = await asyncio.create_subprocess_exec(
        *(sys.executable, "-P", "-m", "flatwise", "build", f"{path}:{job}" if job else str(path)),
        cwd=root_of(path.parent, working),
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.STDOUT,
    )
    output, _ = await process.communicate()
    text = output.decode("utf-8", "replace").strip()
    errors = [f"{code}: {message}" for code, message in _ERRORS.findall(text)]
    # the results come last
    shown = errors[:MOST_LINES] if errors else text.splitlines()[-MOST_LINES:]
    left = len(errors) - MOST_LINES
    more = f"{left} more error{'s' * (left != 1)}" if left > 0 else ""
    built = process.returncode == 0
    return "\n".join(("Built." if built else "Not built.", *shown, *([more] if more else []))), built


def _is_saved(path: Path, text: str) -> bool:
    try:
        return path.read_bytes().decode("utf-8") == text
    except (OSError, UnicodeDecodeError):
        return False
