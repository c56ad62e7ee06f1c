"""The answers to an editor's requests: a view and an offset go to a feature, plain data comes back."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterable
from itertools import count
from typing import TYPE_CHECKING, Any, TypeVar

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcContentModified, JsonRpcInvalidParams

from flatwise_lsp.features import actions, completion, formatting, hints, hover, names, symbols, tokens
from flatwise_lsp.workspace.view import View

if TYPE_CHECKING:
    from flatwise.core.finding import Edit
    from flatwise_lsp.server.language_server import Server
    from flatwise_lsp.workspace.analysis import Meaning

T = TypeVar("T")


def register(server: Server) -> None:
    """Everything that can be asked of a document."""
    _findings(server)
    _words(server)
    _names(server)
    _shape(server)
    _tokens(server)
    _results(server)
    _layout(server)


async def _at(server: Server, params: Any, feature: Callable[[View, int], T]) -> tuple[View, T] | None:
    """What a feature says of the place that a request names; None where its document is not open."""
    view = server.view(params.text_document.uri)
    if view is None:
        return None
    offset = server.offset(view.text, params.position)
    return view, await server.read(lambda: feature(view, offset))


async def _here(server: Server, params: Any, feature: Callable[[View, int], T]) -> tuple[View, T] | None:
    """The same for a feature that looks at little: at once where the text has been read, since the way to a thread
    and back would take longer.
    """
    view = server.view(params.text_document.uri)
    if view is None or not server.has_read(view.path):
        return await _at(server, params, feature)
    return view, feature(view, server.offset(view.text, params.position))


async def _of(server: Server, params: Any, feature: Callable[[View], T]) -> tuple[View, T] | None:
    """What a feature says of a whole document."""
    view = server.view(params.text_document.uri)
    return None if view is None else (view, await server.read(lambda: feature(view)))


def _ends(server: Server, view: View, range: lsp.Range) -> tuple[int, int]:
    """The offsets of the two ends of a range."""
    return server.offset(view.text, range.start), server.offset(view.text, range.end)


def _findings(server: Server) -> None:
    options = lsp.DiagnosticOptions(inter_file_dependencies=True, workspace_diagnostics=False, identifier="flatwise")

    @server.feature(lsp.TEXT_DOCUMENT_DIAGNOSTIC, options)
    async def diagnostic(params: lsp.DocumentDiagnosticParams) -> lsp.DocumentDiagnosticReport:
        document = server.store.get(params.text_document.uri)
        if document is None:
            return lsp.RelatedFullDocumentDiagnosticReport(items=[])
        await server.checking.settled(document.path)
        found = server.diagnostics(document.path) or []
        now = server.store.get(params.text_document.uri)
        if now is not None:
            server.told[document.path] = (now.version, found)
        mark = f"{hash(repr(found)) & 0xFFFFFFFFFFFF:x}"
        if params.previous_result_id == mark:
            return lsp.RelatedUnchangedDocumentDiagnosticReport(result_id=mark)
        return lsp.RelatedFullDocumentDiagnosticReport(items=found, result_id=mark)


def _words(server: Server) -> None:
    triggers = lsp.CompletionOptions(trigger_characters=[" ", '"', "/", ","], resolve_provider=False)

    @server.feature(lsp.TEXT_DOCUMENT_COMPLETION, triggers)
    async def complete(params: lsp.CompletionParams) -> lsp.CompletionList | None:
        found = await _here(server, params, completion.complete)
        if found is None:
            return None
        view, offers = found
        items = [server.convert.offer(offer, view.text, order) for order, offer in enumerate(offers)]
        # units follow the digits that are typed, so the list must be asked for again
        return lsp.CompletionList(is_incomplete=any(o.sort.startswith(completion.UNIT) for o in offers), items=items)

    @server.feature(lsp.TEXT_DOCUMENT_HOVER)
    async def hovered(params: lsp.HoverParams) -> lsp.Hover | None:
        found = await _here(server, params, hover.hover)
        return server.convert.hover(found[1], found[0].text) if found and found[1] else None

    @server.feature(lsp.TEXT_DOCUMENT_SIGNATURE_HELP, lsp.SignatureHelpOptions(trigger_characters=[" ", ","]))
    async def signature(params: lsp.SignatureHelpParams) -> lsp.SignatureHelp | None:
        found = await _here(server, params, hover.signature)
        return server.convert.signature(found[1]) if found and found[1] else None


def _names(server: Server) -> None:
    @server.feature(lsp.TEXT_DOCUMENT_DEFINITION)
    async def definition(params: lsp.DefinitionParams) -> lsp.Location | None:
        found = await _at(server, params, names.definition)
        return server.convert.location(found[0].meaning, found[1]) if found and found[1] else None

    @server.feature(lsp.TEXT_DOCUMENT_REFERENCES)
    async def references(params: lsp.ReferenceParams) -> list[lsp.Location] | None:
        found = await _at(server, params, names.references)
        if found is None:
            return None
        view, mentions = found
        kept = [one for one in mentions if params.context.include_declaration or not one.declares]
        places = [server.convert.location(view.everything, one.span) for one in kept]
        return [place for place in places if place is not None]

    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_HIGHLIGHT)
    async def highlight(params: lsp.DocumentHighlightParams) -> list[lsp.DocumentHighlight] | None:
        found = await _here(server, params, names.highlights)
        if found is None:
            return None
        view, mentions = found
        kinds = {True: lsp.DocumentHighlightKind.Write, False: lsp.DocumentHighlightKind.Read}
        return [
            lsp.DocumentHighlight(server.convert.range(view.text, one.span.start, one.span.end), kinds[one.declares])
            for one in mentions
        ]

    @server.feature(lsp.TEXT_DOCUMENT_PREPARE_RENAME)
    async def prepare(params: lsp.PrepareRenameParams) -> lsp.PrepareRenamePlaceholder | None:
        try:
            found = await _at(server, params, names.renamable)
        except names.Refused as refused:
            raise JsonRpcInvalidParams(str(refused)) from None
        if found is None:
            return None
        view, mention = found
        return lsp.PrepareRenamePlaceholder(
            server.convert.range(view.text, mention.span.start, mention.span.end), mention.meant.name
        )

    @server.feature(lsp.TEXT_DOCUMENT_RENAME)
    async def rename(params: lsp.RenameParams) -> lsp.WorkspaceEdit | None:
        try:
            found = await _at(server, params, lambda view, offset: names.rename(view, offset, params.new_name))
        except names.Refused as refused:
            raise JsonRpcInvalidParams(str(refused)) from None
        if found is None:
            return None
        view, edits = found
        if not _versioned(server) and any(
            view.versions.get(path) != document.version for path, document in server.store.documents.items()
        ):
            # an editor that takes no versions would put the edits into another text than they were made for
            raise JsonRpcContentModified("The text changed while the name was looked for; rename it again.")
        return workspace_edit(server, view, edits, view.everything)


def _versioned(server: Server) -> bool:
    """Whether the editor takes edits with the version that they were made for, and refuses them for another."""
    return bool(server.ability("workspace.workspace_edit.document_changes"))


def workspace_edit(server: Server, view: View, edits: Iterable[Edit], meaning: Meaning) -> lsp.WorkspaceEdit:
    """Edits of several files, made for a view, as this editor takes them; `meaning` has the texts of all of them."""
    return server.convert.workspace_edit(edits, meaning, view.versions, _versioned(server))


def _shape(server: Server) -> None:
    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    async def document_symbols(
        params: lsp.DocumentSymbolParams,
    ) -> list[lsp.DocumentSymbol] | list[lsp.SymbolInformation] | None:
        found = await _of(server, params, symbols.document_symbols)
        if found is None:
            return None
        view, made = found
        if server.ability("text_document.document_symbol.hierarchical_document_symbol_support"):
            return [server.convert.symbol(one, view.text) for one in made]
        return server.convert.flat_symbols(made, view.text, params.text_document.uri)

    @server.feature(lsp.WORKSPACE_SYMBOL)
    async def workspace_symbols(params: lsp.WorkspaceSymbolParams) -> list[lsp.WorkspaceSymbol]:
        view = server.any_view()
        if view is None:
            return []
        found = await server.read(lambda: symbols.workspace_symbols(view, params.query))
        made = [server.convert.workspace_symbol(symbol, view.everything) for symbol, _ in found[:500]]
        return [one for one in made if one is not None]

    @server.feature(lsp.TEXT_DOCUMENT_FOLDING_RANGE)
    async def folding(params: lsp.FoldingRangeParams) -> list[lsp.FoldingRange] | None:
        found = await _of(server, params, symbols.folds)
        return [server.convert.fold(one) for one in found[1]] if found else None

    @server.feature(lsp.TEXT_DOCUMENT_SELECTION_RANGE)
    async def selection(params: lsp.SelectionRangeParams) -> list[lsp.SelectionRange] | None:
        view = server.view(params.text_document.uri)
        if view is None:
            return None
        offsets = [server.offset(view.text, position) for position in params.positions]
        found = await server.read(lambda: [symbols.selections(view, offset) for offset in offsets])
        return [server.convert.selection(spans, view.text) for spans in found]

    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_LINK)
    async def links(params: lsp.DocumentLinkParams) -> list[lsp.DocumentLink] | None:
        found = await _of(server, params, symbols.links)
        if found is None:
            return None
        view, made = found
        return [
            lsp.DocumentLink(
                server.convert.range(view.text, one.span.start, one.span.end), server.store.uri(one.target)
            )
            for one in made
        ]


def _tokens(server: Server) -> None:
    legend = lsp.SemanticTokensLegend(list(tokens.TYPES), list(tokens.MODIFIERS))
    numbers = count(1)

    def remember(uri: str, data: list[int]) -> str:
        mark = str(next(numbers))
        if server.store.get(uri) is not None:  # it may have been closed meanwhile
            server.coloured[uri] = (mark, data)
        return mark

    async def all_of(params: Any) -> list[int] | None:
        encoding = server.store.encoding
        found = await _of(server, params, lambda view: tokens.encoded(tokens.tokens(view), view.text, encoding))
        return found[1] if found else None

    @server.feature(lsp.TEXT_DOCUMENT_SEMANTIC_TOKENS_FULL, legend)
    async def full(params: lsp.SemanticTokensParams) -> lsp.SemanticTokens | None:
        data = await all_of(params)
        if data is None:
            return None
        return lsp.SemanticTokens(data, remember(params.text_document.uri, data))

    @server.feature(lsp.TEXT_DOCUMENT_SEMANTIC_TOKENS_FULL_DELTA, legend)
    async def changed(params: lsp.SemanticTokensDeltaParams) -> lsp.SemanticTokens | lsp.SemanticTokensDelta | None:
        uri = params.text_document.uri
        before = server.coloured.get(uri)
        data = await all_of(params)
        if data is None:
            return None
        mark = remember(uri, data)
        if before is None or before[0] != params.previous_result_id:
            return lsp.SemanticTokens(data, mark)
        edit = tokens.delta(before[1], data)
        edits = [] if edit is None else [lsp.SemanticTokensEdit(edit.start, edit.gone, edit.data)]
        return lsp.SemanticTokensDelta(edits, mark)

    @server.feature(lsp.TEXT_DOCUMENT_SEMANTIC_TOKENS_RANGE, legend)
    async def some(params: lsp.SemanticTokensRangeParams) -> lsp.SemanticTokens | None:
        view = server.view(params.text_document.uri)
        if view is None:
            return None
        first, last = _ends(server, view, params.range)
        made = await server.read(lambda: tokens.tokens(view))
        return lsp.SemanticTokens(tokens.encoded(made, view.text, server.store.encoding, first, last))


def _results(server: Server) -> None:
    @server.feature(lsp.TEXT_DOCUMENT_INLAY_HINT)
    async def inlay(params: lsp.InlayHintParams) -> list[lsp.InlayHint] | None:
        await server.settled(params.text_document.uri)
        view = server.view(params.text_document.uri)
        if view is None:
            return None
        first, last = _ends(server, view, params.range)
        made = await server.read(lambda: hints.hints(view, first, last))
        return [server.convert.hint(one, view.text) for one in made]

    @server.feature(lsp.TEXT_DOCUMENT_CODE_LENS)
    async def lens(params: lsp.CodeLensParams) -> list[lsp.CodeLens] | None:
        await server.settled(params.text_document.uri)
        found = await _of(server, params, hints.lenses)
        if found is None:
            return None
        view, made = found
        return [
            lsp.CodeLens(
                server.convert.range(view.text, one.span.start, one.span.end),
                lsp.Command(
                    one.title,
                    f"flatwise.{one.command}" if one.command else "",
                    arguments=[params.text_document.uri, one.job] if one.command else None,
                ),
            )
            for one in made
        ]

    kinds = [lsp.CodeActionKind.QuickFix]

    @server.feature(
        lsp.TEXT_DOCUMENT_CODE_ACTION, lsp.CodeActionOptions(code_action_kinds=kinds, resolve_provider=True)
    )
    async def code_action(params: lsp.CodeActionParams) -> list[lsp.CodeAction] | None:
        await server.settled(params.text_document.uri)
        view = server.view(params.text_document.uri)
        wanted = params.context.only
        if view is None or (wanted and not any(str(kind).startswith("quickfix") or kind == "" for kind in wanted)):
            return None
        first, last = _ends(server, view, params.range)
        made = await server.read(lambda: actions.actions(view, first, last))
        return [_action(server, view, one, params.text_document.uri) for one in made]

    @server.feature(lsp.CODE_ACTION_RESOLVE)
    async def resolve(action: lsp.CodeAction) -> lsp.CodeAction:
        place = search_of(action.data)
        view = server.view(place[0]) if place is not None else None
        if place is None or view is None or action.edit is not None:
            return action
        edits = await asyncio.to_thread(actions.resolved, view, *place[1:])
        action.edit = workspace_edit(server, view, edits, view.meaning)
        return action


def search_of(data: Any) -> tuple[str, str, int] | None:
    """The document, code and place of an offered search, as the editor gives it back; None for another thing."""
    match data:
        case {"uri": str(uri), "code": str(code), "at": int(at)}:
            return uri, code, at
    return None


def _action(server: Server, view: View, action: actions.Action, uri: str) -> lsp.CodeAction:
    made = lsp.CodeAction(action.title, kind=lsp.CodeActionKind.QuickFix)
    finding = action.finding
    if finding is not None and finding.span is not None and view.analysis is not None:
        shown = server.convert.diagnostic(finding, view.analysis, view.path, server.pages.uri(finding.code))
        made.diagnostics = [shown] if shown is not None else None
        made.is_preferred = True if action.certain else None
        if action.search is not None:
            place = {"uri": uri, "code": finding.code, "at": action.search.start}
            if server.ability("text_document.code_action.resolve_support"):
                made.data = place
            else:
                made.command = lsp.Command(action.title, "flatwise.move", arguments=[place])
    if action.explain:
        made.command = lsp.Command(action.title, "flatwise.explain", arguments=[action.explain])
    elif action.edits:
        # what a check found is in what it read: no need to read the whole workspace
        made.edit = workspace_edit(server, view, action.edits, view.meaning)
    return made


def _layout(server: Server) -> None:
    def edits(view: View, made: list[formatting.Replacement]) -> list[lsp.TextEdit]:
        return [lsp.TextEdit(server.convert.range(view.text, one.start, one.end), one.text) for one in made]

    @server.feature(lsp.TEXT_DOCUMENT_FORMATTING)
    async def whole(params: lsp.DocumentFormattingParams) -> list[lsp.TextEdit] | None:
        found = await _of(server, params, lambda view: formatting.document(view.text))
        return edits(*found) if found else None

    @server.feature(lsp.TEXT_DOCUMENT_RANGE_FORMATTING)
    async def some(params: lsp.DocumentRangeFormattingParams) -> list[lsp.TextEdit] | None:
        first, end = params.range.start.line, params.range.end
        last = end.line - (end.character == 0 and end.line > first)
        found = await _of(server, params, lambda view: formatting.lines(view.text, first, last))
        return edits(*found) if found else None

    @server.feature(
        lsp.TEXT_DOCUMENT_ON_TYPE_FORMATTING, lsp.DocumentOnTypeFormattingOptions("}", more_trigger_character=["\n"])
    )
    async def typed(params: lsp.DocumentOnTypeFormattingParams) -> list[lsp.TextEdit] | None:
        found = await _of(server, params, lambda view: formatting.typed(view.text, params.position.line))
        return edits(*found) if found else None
