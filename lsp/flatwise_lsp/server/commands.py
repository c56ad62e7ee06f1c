"""The commands: build a job, open its sheet, explain a code.  Each runs only because a person chose it."""

from __future__ import annotations

import asyncio
import os
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcInvalidParams

from flatwise.findings import pages
from flatwise.sources.load import below_root
from flatwise.sources.project import read_project, root_of
from flatwise_lsp.features import actions
from flatwise_lsp.server.requests import search_of, workspace_edit
from flatwise_lsp.workspace.documents import path_of, uri_of

if TYPE_CHECKING:
    from flatwise_lsp.server.language_server import Server


def register(server: Server) -> None:
    """What an editor can ask for by name; the first argument names the file, the second the job."""

    @server.command("flatwise.build")
    async def build(uri: str, job: str = "") -> str:
        said, good = await _build(server, uri)
        server.window_show_message(lsp.ShowMessageParams(lsp.MessageType.Info if good else lsp.MessageType.Error, said))
        return said

    @server.command("flatwise.sheet")
    async def sheet(uri: str, job: str) -> str:
        path = path_of(uri)
        made = sheet_of(path, job, server.store.snapshot().working(path)) if path is not None else None
        if made is None:
            said = f"There is no sheet of {job} yet; build it first."
            server.window_show_message(lsp.ShowMessageParams(lsp.MessageType.Warning, said))
            return ""
        await _open(server, uri_of(made), external=True)
        return str(made)

    @server.command("flatwise.explain")
    async def explain(code: str) -> str:
        page = pages.page(code)
        if page is None:
            return ""
        uri = server.pages.uri(page.code)
        if uri:
            await _open(server, uri, external=False)
        return page.text

    @server.command("flatwise.move")
    async def move(place: dict[str, Any]) -> None:
        found = search_of(place)
        if found is None:
            raise JsonRpcInvalidParams("this command takes a place of uri, code and at")
        view = server.view(found[0])
        if view is None:
            return
        edits = await asyncio.to_thread(actions.resolved, view, *found[1:])
        if edits:
            edit = workspace_edit(server, view, edits, view.meaning)
            await server.workspace_apply_edit_async(lsp.ApplyWorkspaceEditParams(edit))
        else:
            said = "No place along this edge mends it."
            server.window_show_message(lsp.ShowMessageParams(lsp.MessageType.Info, said))


async def _open(server: Server, uri: str, external: bool) -> None:
    """Show a file in the editor, or say where it is."""
    able = server.ability("window.show_document")
    if able is not None and able.support:
        await server.window_show_document_async(lsp.ShowDocumentParams(uri, external=external, take_focus=True))
    else:
        path = path_of(uri)
        server.window_show_message(lsp.ShowMessageParams(lsp.MessageType.Info, f"It is in {path}."))


def sheet_of(path: Path, job: str, working: Path) -> Path | None:
    """The sheet of a job, where it has been built; never one outside the project."""
    project, _ = read_project(root_of(path.parent, working), working)
    made = below_root(project.root, f"{project.out}/{job}/sheet.html", project.root)
    return made if made is not None and os.path.isfile(made) else None


async def _build(server: Server, uri: str) -> tuple[str, bool]:
    """Build the jobs of a file as `flatwise build` does, in a process of its own; what it said, and whether it built.

    Only what is saved is built, since the sheet names the files by what is on the disk.
    """
    path = path_of(uri)
    if path is None:
        return "This buffer is no file yet; save it first.", False
    for document in server.store.documents.values():
        read = server.checking.whole.get(path)
        concerns = document.path == path or (read is not None and document.path in read.texts)
        if concerns and not _saved(document.path, document.text.text):
            return f"{document.path.name} has changes that are not saved; save it, then build.", False
    working = server.store.snapshot().working(path)
    # -P: no module is taken from the folder that is worked in
    process = await asyncio.create_subprocess_exec(
        sys.executable,
        "-P",
        "-m",
        "flatwise",
        "build",
        str(path),
        cwd=root_of(path.parent, working),
        stdin=asyncio.subprocess.DEVNULL,
        stdout=asyncio.subprocess.PIPE,
        stderr=asyncio.subprocess.STDOUT,
    )
    output, _ = await process.communicate()
    text = output.decode("utf-8", "replace").strip()
    last = "\n".join(text.splitlines()[-3:])
    if process.returncode == 0:
        return f"Built. {last}", True
    return f"Not built. {last}", False


def _saved(path: Path, text: str) -> bool:
    try:
        return path.read_bytes().decode("utf-8") == text
    except (OSError, UnicodeDecodeError):
        return False
