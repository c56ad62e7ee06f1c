"""The answers to an editor's requests: a feature gets a view and an offset, and its plain data is converted."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from itertools import count
from typing import TYPE_CHECKING, Any, TypeVar

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcContentModified, JsonRpcInvalidParams

from flatwise_lsp.features import (
    completion,
    declared_names,
    file_links,
    file_renames,
    folding,
    formatting,
    hover,
    results,
    selection,
    semantic_tokens,
    signature_help,
    symbols,
)
from flatwise_lsp.workspace.document_text import DocumentText
from flatwise_lsp.workspace.documents import path_of
from flatwise_lsp.workspace.view import View

if TYPE_CHECKING:
    from flatwise.core.finding import Edit
    from flatwise_grammar.nodes import Span
    from flatwise_lsp.server.language_server import Server
    from flatwise_lsp.workspace.analysis import Meaning

T = TypeVar("T")

#: the most symbols of the workspace that one answer lists
MOST_SYMBOLS = 500


def register(server: Server) -> None:
    """Register everything that an editor can request."""
    _register_diagnostics(server)
    _register_writing_help(server)
    _register_names(server)
    _register_files(server)
    _register_structure(server)
    _register_tokens(server)
    _register_plan_results(server)
    _register_formatting(server)


async def _ask_at(server: Server, params: Any, feature: Callable[[View, int], T]) -> tuple[View, T] | None:
    """Ask a feature about the position of a request; None where the document is not open."""
    view = server.view(params.text_document.uri)
    if view is None:
        return None
    offset = server.offset(view.text, params.position)
    return view, await server.read(lambda: feature(view, offset))


async def _ask_quickly_at(
    server: Server,
    params: Any,
    feature: Callable[[View, int], T],
    takes_time: Callable[[View, int], bool] = lambda view, offset: False,
) -> tuple[View, T] | None:
    """The same for a quick feature: in the event loop if the text has been read, since a thread would take longer."""
    view = server.view(params.text_document.uri)
    if view is None or not server.has_read(view.path):
        return await _ask_at(server, params, feature)
    offset = server.offset(view.text, params.position)
    if takes_time(view, offset):
        return await _ask_at(server, params, feature)
    return view, feature(view, offset)


async def _ask(server: Server, params: Any, feature: Callable[[View], T]) -> tuple[View, T] | None:
    """Ask a feature about a whole document."""
    view = server.view(params.text_document.uri)
    return None if view is None else (view, await server.read(lambda: feature(view)))


def ends(server: Server, view: View, range: lsp.Range) -> tuple[int, int]:
    """The offsets of the two ends of a range."""
    return server.offset(view.text, range.start), server.offset(view.text, range.end)


def _register_diagnostics(server: Server) -> None:
    options = lsp.DiagnosticOptions(inter_file_dependencies=True, workspace_diagnostics=False, identifier="flatwise")

    @server.feature(lsp.TEXT_DOCUMENT_DIAGNOSTIC, options)
    async def diagnostic(params: lsp.DocumentDiagnosticParams) -> lsp.DocumentDiagnosticReport:
        document = server.store.get(params.text_document.uri)
        if document is None:
            return lsp.RelatedFullDocumentDiagnosticReport(items=[])
        await server.checking.settled(document.path)
        found = server.diagnostics(document.path) or []
        result_id = f"{hash(repr(found)) & 0xFFFFFFFFFFFF:x}"
        if params.previous_result_id == result_id:
            return lsp.RelatedUnchangedDocumentDiagnosticReport(result_id=result_id)
        return lsp.RelatedFullDocumentDiagnosticReport(items=found, result_id=result_id)


def _register_writing_help(server: Server) -> None:
    triggers = lsp.CompletionOptions(trigger_characters=[" ", '"', "/", ","], resolve_provider=False)

    @server.feature(lsp.TEXT_DOCUMENT_COMPLETION, triggers)
    async def complete(params: lsp.CompletionParams) -> lsp.CompletionList | None:
        found = await _ask_quickly_at(server, params, completion.complete)
        if found is None:
            return None
        view, offers = found
        items = [server.convert.offer(offer, view.text, order) for order, offer in enumerate(offers)]
        # offers with units contain the typed digits, so they must be requested again with the next digit
        return lsp.CompletionList(is_incomplete=any(o.sort.startswith(completion.UNIT) for o in offers), items=items)

    @server.feature(lsp.TEXT_DOCUMENT_HOVER)
    async def hovered(params: lsp.HoverParams) -> lsp.Hover | None:
        found = await _ask_quickly_at(server, params, hover.hover, hover.takes_time)
        return server.convert.hover(found[1], found[0].text) if found and found[1] else None

    @server.feature(lsp.TEXT_DOCUMENT_SIGNATURE_HELP, lsp.SignatureHelpOptions(trigger_characters=[" ", ","]))
    async def signature(params: lsp.SignatureHelpParams) -> lsp.SignatureHelp | None:
        found = await _ask_quickly_at(server, params, signature_help.find_signature)
        return server.convert.signature(found[1]) if found and found[1] else None


def _register_names(server: Server) -> None:
    @server.feature(lsp.TEXT_DOCUMENT_DEFINITION)
    async def definition(params: lsp.DefinitionParams) -> lsp.Location | None:
        def declared_or_named(view: View, offset: int) -> Span | None:
            return declared_names.find_definition(view, offset) or file_links.find_linked_file(view, offset)

        found = await _ask_at(server, params, declared_or_named)
        return server.convert.location(found[0].meaning, found[1]) if found and found[1] else None

    @server.feature(lsp.TEXT_DOCUMENT_REFERENCES)
    async def references(params: lsp.ReferenceParams) -> list[lsp.Location] | None:
        found = await _ask_at(server, params, declared_names.find_references)
        if found is None:
            return None
        view, mentions = found
        kept = [one for one in mentions if params.context.include_declaration or not one.declares]
        places = [server.convert.location(view.everything, one.span) for one in kept]
        return [place for place in places if place is not None]

    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_HIGHLIGHT)
    async def highlight(params: lsp.DocumentHighlightParams) -> list[lsp.DocumentHighlight] | None:
        found = await _ask_quickly_at(server, params, declared_names.find_highlights)
        if found is None:
            return None
        view, mentions = found
        kinds = {True: lsp.DocumentHighlightKind.Write, False: lsp.DocumentHighlightKind.Read}
        return [
            lsp.DocumentHighlight(server.convert.span(view.text, one.span), kinds[one.declares]) for one in mentions
        ]

    @server.feature(lsp.TEXT_DOCUMENT_PREPARE_RENAME)
    async def prepare(params: lsp.PrepareRenameParams) -> lsp.PrepareRenamePlaceholder | None:
        try:
            found = await _ask_at(server, params, declared_names.renamable_at)
        except declared_names.RenameRefused as refused:
            raise JsonRpcInvalidParams(str(refused)) from None
        if found is None:
            return None
        view, mention = found
        return lsp.PrepareRenamePlaceholder(server.convert.span(view.text, mention.span), mention.declared.name)

    @server.feature(lsp.TEXT_DOCUMENT_RENAME)
    async def rename(params: lsp.RenameParams) -> lsp.WorkspaceEdit | None:
        def edits_at(view: View, offset: int) -> list[Edit]:
            return declared_names.rename(view, offset, params.new_name)

        try:
            found = await _ask_at(server, params, edits_at)
        except declared_names.RenameRefused as refused:
            raise JsonRpcInvalidParams(str(refused)) from None
        if found is None:
            return None
        view, edits = found
        now = {path: document.version for path, document in server.store.documents.items()}
        if not _supports_versions(server) and any(view.versions.get(path) != version for path, version in now.items()):
            # without versions an editor would apply the edits to a newer text than they are for
            raise JsonRpcContentModified("The text has changed meanwhile; rename again.")
        return workspace_edit(server, view, edits, view.everything)


def _supports_versions(server: Server) -> bool:
    """Whether the editor refuses edits that are for another version of the text."""
    return bool(server.capability("workspace.workspace_edit.document_changes"))


def workspace_edit(server: Server, view: View, edits: Iterable[Edit], meaning: Meaning) -> lsp.WorkspaceEdit:
    """Edits made for a view, in the form that the editor supports; `meaning` has the texts of all their files."""
    return server.convert.workspace_edit(edits, meaning, view.versions, _supports_versions(server))


def _register_files(server: Server) -> None:
    kinds = {"**/*.{flat,csv}": lsp.FileOperationPatternKind.File, "**/*": lsp.FileOperationPatternKind.Folder}
    filters = [lsp.FileOperationFilter(lsp.FileOperationPattern(glob, kind), "file") for glob, kind in kinds.items()]

    @server.feature(lsp.WORKSPACE_WILL_RENAME_FILES, lsp.FileOperationRegistrationOptions(filters))
    async def will_rename(params: lsp.RenameFilesParams) -> lsp.WorkspaceEdit | None:
        view = server.any_view()
        paths = ((path_of(one.old_uri), path_of(one.new_uri)) for one in params.files)
        renamings = [file_renames.Renaming(old, new) for old, new in paths if old is not None and new is not None]
        if view is None or not renamings:
            return None
        edits = await server.read(lambda: file_renames.rename_files(view.everything, renamings))
        return workspace_edit(server, view, edits, view.everything)


def _register_structure(server: Server) -> None:
    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    async def document_symbols(
        params: lsp.DocumentSymbolParams,
    ) -> list[lsp.DocumentSymbol] | list[lsp.SymbolInformation] | None:
        found = await _ask(server, params, symbols.find_document_symbols)
        if found is None:
            return None
        view, made = found
        if server.capability("text_document.document_symbol.hierarchical_document_symbol_support"):
            return [server.convert.symbol(one, view.text) for one in made]
        return server.convert.flat_symbols(made, view.text, params.text_document.uri)

    @server.feature(lsp.WORKSPACE_SYMBOL)
    async def workspace_symbols(params: lsp.WorkspaceSymbolParams) -> list[lsp.WorkspaceSymbol]:
        view = server.any_view()
        if view is None:
            return []
        found = await server.read(lambda: symbols.find_workspace_symbols(view, params.query))
        made = [server.convert.workspace_symbol(symbol, view.everything) for symbol in found[:MOST_SYMBOLS]]
        return [one for one in made if one is not None]

    @server.feature(lsp.TEXT_DOCUMENT_FOLDING_RANGE)
    async def folds(params: lsp.FoldingRangeParams) -> list[lsp.FoldingRange] | None:
        found = await _ask(server, params, folding.find_folds)
        return [server.convert.fold(one) for one in found[1]] if found else None

    @server.feature(lsp.TEXT_DOCUMENT_SELECTION_RANGE)
    async def selection_ranges(params: lsp.SelectionRangeParams) -> list[lsp.SelectionRange] | None:
        view = server.view(params.text_document.uri)
        if view is None:
            return None
        offsets = [server.offset(view.text, position) for position in params.positions]
        found = await server.read(lambda: [selection.grow_selection(view, offset) for offset in offsets])
        return [server.convert.selection(spans, view.text) for spans in found]

    @server.feature(lsp.TEXT_DOCUMENT_DOCUMENT_LINK)
    async def links(params: lsp.DocumentLinkParams) -> list[lsp.DocumentLink] | None:
        found = await _ask(server, params, file_links.find_links)
        if found is None:
            return None
        view, made = found
        return [
            lsp.DocumentLink(server.convert.span(view.text, one.span), server.store.uri(one.target)) for one in made
        ]


def _register_tokens(server: Server) -> None:
    legend = lsp.SemanticTokensLegend(list(semantic_tokens.TYPES), list(semantic_tokens.MODIFIERS))
    numbers = count(1)

    def remember(uri: str, data: list[int]) -> str:
        result_id = str(next(numbers))
        if server.store.get(uri) is not None:  # it may have been closed meanwhile
            server.tokens[uri] = (result_id, data)
        return result_id

    async def all_tokens(params: Any) -> list[int] | None:
        found = await _ask(server, params, semantic_tokens.find_tokens)
        return semantic_tokens.encode(found[1], found[0].text, server.store.encoding) if found else None

    @server.feature(lsp.TEXT_DOCUMENT_SEMANTIC_TOKENS_FULL, legend)
    async def full(params: lsp.SemanticTokensParams) -> lsp.SemanticTokens | None:
        data = await all_tokens(params)
        if data is None:
            return None
        return lsp.SemanticTokens(data, remember(params.text_document.uri, data))

    @server.feature(lsp.TEXT_DOCUMENT_SEMANTIC_TOKENS_FULL_DELTA, legend)
    async def changed(params: lsp.SemanticTokensDeltaParams) -> lsp.SemanticTokens | lsp.SemanticTokensDelta | None:
        uri = params.text_document.uri
        before = server.tokens.get(uri)
        data = await all_tokens(params)
        if data is None:
            return None
        result_id = remember(uri, data)
        if before is None or before[0] != params.previous_result_id:
            return lsp.SemanticTokens(data, result_id)
        edit = semantic_tokens.find_edit(before[1], data)
        edits = [] if edit is None else [lsp.SemanticTokensEdit(edit.start, edit.deleted, edit.data)]
        return lsp.SemanticTokensDelta(edits, result_id)

    @server.feature(lsp.TEXT_DOCUMENT_SEMANTIC_TOKENS_RANGE, legend)
    async def some(params: lsp.SemanticTokensRangeParams) -> lsp.SemanticTokens | None:
        view = server.view(params.text_document.uri)
        if view is None:
            return None
        first, last = ends(server, view, params.range)
        made = await server.read(lambda: semantic_tokens.find_tokens(view))
        return lsp.SemanticTokens(semantic_tokens.encode(made, view.text, server.store.encoding, first, last))


def _register_plan_results(server: Server) -> None:
    @server.feature(lsp.TEXT_DOCUMENT_INLAY_HINT)
    async def inlay(params: lsp.InlayHintParams) -> list[lsp.InlayHint] | None:
        await server.settled(params.text_document.uri)
        document = server.store.get(params.text_document.uri)
        if document is None:
            return None
        first, last = server.offset(document.text, params.range.start), server.offset(document.text, params.range.end)
        made = (hint for job in server.results(document.path) for hint in job.hints if first <= hint.offset <= last)
        return [server.convert.hint(one, document.text) for one in made]

    @server.feature(lsp.TEXT_DOCUMENT_CODE_LENS)
    async def lens(params: lsp.CodeLensParams) -> list[lsp.CodeLens] | None:
        await server.settled(params.text_document.uri)
        document = server.store.get(params.text_document.uri)
        if document is None:
            return None
        made = (lens for job in server.results(document.path) for lens in job.lenses)
        return [_lens(server, document.text, one, params.text_document.uri) for one in made]


def _lens(server: Server, text: DocumentText, lens: results.Lens, uri: str) -> lsp.CodeLens:
    command = lsp.Command(lens.title, "")
    if lens.command:
        command = lsp.Command(lens.title, f"flatwise.{lens.command}", arguments=[uri, lens.job])
    return lsp.CodeLens(server.convert.range(text, lens.offset, lens.offset), command)


def _register_formatting(server: Server) -> None:
    def edits(view: View, made: list[formatting.Replacement]) -> list[lsp.TextEdit]:
        return [lsp.TextEdit(server.convert.range(view.text, one.start, one.end), one.text) for one in made]

    @server.feature(lsp.TEXT_DOCUMENT_FORMATTING)
    async def whole(params: lsp.DocumentFormattingParams) -> list[lsp.TextEdit] | None:
        found = await _ask(server, params, lambda view: formatting.format_document(view.text))
        return edits(*found) if found else None

    @server.feature(lsp.TEXT_DOCUMENT_RANGE_FORMATTING)
    async def some(params: lsp.DocumentRangeFormattingParams) -> list[lsp.TextEdit] | None:
        first, end = params.range.start.line, params.range.end
        last = end.line - (end.character == 0 and end.line > first)
        found = await _ask(server, params, lambda view: formatting.format_lines(view.text, first, last))
        return edits(*found) if found else None

    @server.feature(
        lsp.TEXT_DOCUMENT_ON_TYPE_FORMATTING, lsp.DocumentOnTypeFormattingOptions("}", more_trigger_character=["\n"])
    )
    async def typed(params: lsp.DocumentOnTypeFormattingParams) -> list[lsp.TextEdit] | None:
        found = await _ask(server, params, lambda view: formatting.format_typed(view.text, params.position.line))
        return edits(*found) if found else None
