"""Code actions over the protocol, and the commands of lenses for editors that have none."""

from __future__ import annotations

import asyncio
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from lsprotocol import types as lsp

from flatwise_lsp.features import code_actions, sheet_preview
from flatwise_lsp.server.requests import ends, workspace_edit
from flatwise_lsp.workspace.view import View

if TYPE_CHECKING:
    from flatwise_lsp.server.language_server import Server


#: a kind of its own, so that no editor takes it for a fix
PREVIEW = "source.preview.flatwise"


def register(server: Server) -> None:
    """Register code actions and their resolving."""
    kinds = [lsp.CodeActionKind.QuickFix, lsp.CodeActionKind.SourceFixAll, PREVIEW]
    options = lsp.CodeActionOptions(code_action_kinds=kinds, resolve_provider=True)

    @server.feature(lsp.TEXT_DOCUMENT_CODE_ACTION, options)
    async def code_action(params: lsp.CodeActionParams) -> list[lsp.CodeAction] | None:
        await server.settled(params.text_document.uri)
        view = server.view(params.text_document.uri)
        if view is None:
            return None
        wanted = [str(getattr(kind, "value", kind)) for kind in params.context.only or ("quickfix", PREVIEW)]
        offered: list[lsp.CodeAction] = []
        if any(kind == "" or kind.startswith("quickfix") for kind in wanted):
            first, last = ends(server, view, params.range)
            made = await server.read(lambda: code_actions.find_actions(view, first, last))
            offered += [_action(server, view, one, params.text_document.uri) for one in made]
            offered += _instead_of_lenses(server, view, first, last, params.text_document.uri)
        if any("source.fixAll.flatwise".startswith(kind) for kind in wanted):
            edits = await server.read(lambda: code_actions.fix_all(view))
            if edits:
                edit = workspace_edit(server, view, edits, view.meaning)
                offered.append(lsp.CodeAction("Fix all that is certain", lsp.CodeActionKind.SourceFixAll, edit=edit))
        # an editor that asks by itself would announce it on every line
        automatic = params.context.trigger_kind == lsp.CodeActionTriggerKind.Automatic
        if not automatic and any(PREVIEW.startswith(kind) for kind in wanted):
            first, _ = ends(server, view, params.range)
            job = await server.read(lambda: sheet_preview.find_name(view, first))
            if job:
                title, arguments = f"Preview the sheet of {job}", [params.text_document.uri, job]
                command = lsp.Command(title, "flatwise.preview", arguments=arguments)
                offered.append(lsp.CodeAction(title, kind=PREVIEW, command=command))
        return offered

    @server.feature(lsp.CODE_ACTION_RESOLVE)
    async def resolve(action: lsp.CodeAction) -> lsp.CodeAction:
        move = parse_move(action.data)
        view = server.view(move[0]) if move is not None else None
        if move is None or view is None or action.edit is not None:
            return action
        edits = await asyncio.to_thread(code_actions.resolve_move, view, *move[1:])
        action.edit = workspace_edit(server, view, edits, view.meaning)
        return action


def _instead_of_lenses(server: Server, view: View, first: int, last: int, uri: str) -> Iterator[lsp.CodeAction]:
    """The commands of the jobs and batches in whose headers something is selected, for an editor without lenses."""
    if server.capability("text_document.code_lens") is not None:
        return
    for one in server.results(view.path):
        if one.head <= last and first <= view.text.line_end(view.text.line_of(one.head)):
            for lens in one.lenses:
                if lens.command in ("build", "sheet"):  # the preview is offered everywhere in a job
                    title = f"{lens.title} of {lens.job}" if lens.command == "sheet" else f"{lens.title} {lens.job}"
                    made = lsp.Command(title, f"flatwise.{lens.command}", arguments=[uri, lens.job])
                    yield lsp.CodeAction(title, kind=lsp.CodeActionKind.QuickFix, command=made)


def parse_move(data: Any) -> tuple[str, str, int] | None:
    """The document, code and offset of an offered move, which the editor sends back; None for anything else."""
    match data:
        case {"uri": str(uri), "code": str(code), "at": int(at)}:
            return uri, code, at
    return None


def _action(server: Server, view: View, action: code_actions.Action, uri: str) -> lsp.CodeAction:
    made = lsp.CodeAction(action.title, kind=lsp.CodeActionKind.QuickFix)
    finding = action.finding
    if finding is not None and finding.span is not None and view.analysis is not None:
        shown = server.convert.diagnostic(finding, view.analysis, view.path, server.explanations.uri(finding.code))
        made.diagnostics = [shown] if shown is not None else None
        made.is_preferred = True if action.certain else None
        if action.holder is not None:
            move = {"uri": uri, "code": finding.code, "at": action.holder.start}
            if server.capability("text_document.code_action.resolve_support"):
                made.data = move
            else:
                made.command = lsp.Command(action.title, "flatwise.move", arguments=[move])
    if action.explain:
        made.command = lsp.Command(action.title, "flatwise.explain", arguments=[action.explain])
    elif action.edits:
        # the edits of a finding are in files that its check has read
        made.edit = workspace_edit(server, view, action.edits, view.meaning)
    return made
