"""From plain data to the protocol's types, spans to ranges in the negotiated encoding."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from pathlib import Path

from lsprotocol import types as lsp

from flatwise.core.finding import Edit, Finding, Severity
from flatwise_grammar.nodes import Span
from flatwise_lsp.features import completion
from flatwise_lsp.features.completion import Offer
from flatwise_lsp.features.folding import Fold
from flatwise_lsp.features.hover import HoverPage
from flatwise_lsp.features.plan_hints import Hint
from flatwise_lsp.features.signature_help import Signature
from flatwise_lsp.features.snippets import escape, plain_text
from flatwise_lsp.features.symbols import Symbol
from flatwise_lsp.workspace.analysis import Analysis, Meaning
from flatwise_lsp.workspace.document_text import DocumentText, Encoding

SOURCE = "flatwise"

_SEVERITIES: dict[Severity, lsp.DiagnosticSeverity] = {
    "error": lsp.DiagnosticSeverity.Error,
    "warning": lsp.DiagnosticSeverity.Warning,
    "note": lsp.DiagnosticSeverity.Information,
}

_SYMBOL_KINDS = {
    "job": lsp.SymbolKind.Class,
    "recipe": lsp.SymbolKind.Interface,
    "batch": lsp.SymbolKind.Package,
    "machine": lsp.SymbolKind.Module,
    "cutter": lsp.SymbolKind.Object,
    "dog": lsp.SymbolKind.Object,
    "clamp": lsp.SymbolKind.Object,
    "gauge": lsp.SymbolKind.Object,
    "shims": lsp.SymbolKind.Array,
    "wood": lsp.SymbolKind.Constant,
    "standard": lsp.SymbolKind.Enum,
    "block": lsp.SymbolKind.Namespace,
    "line": lsp.SymbolKind.Field,
}

_OFFER_KINDS = {
    completion.KEYWORD: lsp.CompletionItemKind.Keyword,
    completion.PROPERTY: lsp.CompletionItemKind.Property,
    completion.VALUE: lsp.CompletionItemKind.Value,
    completion.NAME: lsp.CompletionItemKind.Reference,
    completion.UNIT: lsp.CompletionItemKind.Unit,
    completion.FILE: lsp.CompletionItemKind.File,
    completion.KIND: lsp.CompletionItemKind.Class,
}


@lru_cache(maxsize=64)
def indexed(text: str) -> DocumentText:
    """A text with its line index, cached since the same few files are needed again and again."""
    return DocumentText(text)


def markup(markdown: str, plain: bool = False) -> lsp.MarkupContent:
    """Markdown, or the same without its marks for an editor that does not render it."""
    if not plain:
        return lsp.MarkupContent(lsp.MarkupKind.Markdown, markdown)
    text = re.sub(r"```\w*\n?|\*\*|`|(?<!\w)\*(?=\w)|(?<=[\w:])\*(?!\w)", "", markdown)
    return lsp.MarkupContent(lsp.MarkupKind.PlainText, text)


class Converter:
    """Converts plain data for one encoding and the capabilities of one editor."""

    def __init__(
        self, encoding: Encoding, uri: Callable[[Path], str], snippets: bool = True, plain: bool = False
    ) -> None:
        self.encoding = encoding
        self.uri = uri
        self.snippets = snippets
        self.plain = plain

    # -- places

    def range(self, text: DocumentText, start: int, end: int) -> lsp.Range:
        first, last = text.range(start, end, self.encoding)
        return lsp.Range(lsp.Position(*first), lsp.Position(*last))

    def span(self, text: DocumentText, span: Span) -> lsp.Range:
        return self.range(text, span.start, span.end)

    def location(self, meaning: Meaning, span: Span) -> lsp.Location | None:
        """The location of a span; None where its file was not loaded."""
        text = meaning.linked.loaded.texts.get(span.path)
        if text is None:
            return None
        return lsp.Location(self.uri(meaning.file(span.path)), self.span(indexed(text), span))

    # -- findings

    def diagnostic(self, finding: Finding, analysis: Analysis, path: Path, page_uri: str) -> lsp.Diagnostic | None:
        """A finding in a file; `page_uri` is that of its code's page, or ""."""
        place = lsp.Range(lsp.Position(0, 0), lsp.Position(0, 0))
        if finding.span is not None:
            text = analysis.texts.get(path)
            if text is None:
                return None
            place = self.span(indexed(text), finding.span)
        locations = [(self.location(analysis.meaning, one.span), one.message) for one in finding.related]
        related = [lsp.DiagnosticRelatedInformation(where, message) for where, message in locations if where]
        return lsp.Diagnostic(
            range=place,
            severity=_SEVERITIES[finding.severity],
            code=finding.code,
            code_description=lsp.CodeDescription(page_uri) if page_uri else None,
            source=SOURCE,
            message=f"{finding.message}\n{finding.help}" if finding.help else finding.message,
            # a waiver without need could be deleted
            tags=[lsp.DiagnosticTag.Unnecessary] if (finding.code, finding.severity) == ("FW702", "warning") else None,
            related_information=related or None,
        )

    def workspace_edit(
        self, edits: Iterable[Edit], meaning: Meaning, versions: Mapping[Path, int], versioned: bool
    ) -> lsp.WorkspaceEdit:
        """Edits of several files, with the versions that they are for where the editor supports that."""
        by_file: dict[Path, list[lsp.TextEdit]] = {}
        for edit in edits:
            place = self.location(meaning, edit.span)
            if place is not None:
                by_file.setdefault(meaning.file(edit.span.path), []).append(lsp.TextEdit(place.range, edit.text))
        if not versioned:
            return lsp.WorkspaceEdit(changes={self.uri(path): list(found) for path, found in by_file.items()})
        return lsp.WorkspaceEdit(
            document_changes=[
                lsp.TextDocumentEdit(
                    lsp.OptionalVersionedTextDocumentIdentifier(self.uri(path), versions.get(path)), list(found)
                )
                for path, found in by_file.items()
            ]
        )

    # -- features

    def offer(self, offer: Offer, text: DocumentText, order: int) -> lsp.CompletionItem:
        is_snippet = self.snippets and offer.snippet != escape(offer.label)
        plain = plain_text(offer.snippet)
        # without tab stops a block of several lines would only be in the way
        inserted = offer.snippet if is_snippet else offer.label if "\n" in plain else plain
        first = text.text[offer.start : offer.start + 1]
        # an editor compares the label with the replaced text, which need not begin with a quotation mark
        filter_text = first + offer.label if offer.label.startswith('"') and first not in ('"', "") else None
        return lsp.CompletionItem(
            label=offer.label,
            kind=_OFFER_KINDS[offer.sort.rstrip("0123456789")],
            detail=offer.detail or None,
            documentation=markup(offer.documentation, self.plain) if offer.documentation else None,
            sort_text=f"{order:04}",
            filter_text=filter_text,
            insert_text_format=lsp.InsertTextFormat.Snippet if is_snippet else lsp.InsertTextFormat.PlainText,
            text_edit=lsp.TextEdit(self.range(text, offer.start, offer.end), inserted),
            additional_text_edits=[
                lsp.TextEdit(self.range(text, edit.span.start, edit.span.end), edit.text) for edit in offer.also
            ]
            or None,
        )

    def hover(self, page: HoverPage, text: DocumentText) -> lsp.Hover:
        return lsp.Hover(markup(page.markdown, self.plain), self.span(text, page.span))

    def signature(self, found: Signature) -> lsp.SignatureHelp:
        # parameters as parts of the label: every editor supports that, and no two parts of a label are equal
        values = [lsp.ParameterInformation(found.label[start:end]) for start, end in found.values]
        information = lsp.SignatureInformation(
            found.label, markup(found.documentation, self.plain), values, active_parameter=found.active
        )
        return lsp.SignatureHelp([information], active_signature=0, active_parameter=found.active)

    def symbol(self, symbol: Symbol, text: DocumentText) -> lsp.DocumentSymbol:
        return lsp.DocumentSymbol(
            name=symbol.name,
            kind=_SYMBOL_KINDS[symbol.kind],
            range=self.span(text, symbol.span),
            selection_range=self.span(text, symbol.name_span),
            detail=symbol.detail or None,
            children=[self.symbol(inner, text) for inner in symbol.inner] or None,
        )

    def flat_symbols(
        self, symbols: Iterable[Symbol], text: DocumentText, uri: str, container: str = ""
    ) -> list[lsp.SymbolInformation]:
        """Symbols for an editor without support for a tree of them."""
        found = []
        for one in symbols:
            place, kind = lsp.Location(uri, self.span(text, one.span)), _SYMBOL_KINDS[one.kind]
            found.append(lsp.SymbolInformation(place, one.name, kind, container_name=container or None))
            found.extend(self.flat_symbols(one.inner, text, uri, one.name))
        return found

    def workspace_symbol(self, symbol: Symbol, meaning: Meaning) -> lsp.WorkspaceSymbol | None:
        place = self.location(meaning, symbol.name_span)
        if place is None:
            return None
        return lsp.WorkspaceSymbol(place, symbol.name, _SYMBOL_KINDS[symbol.kind], container_name=symbol.detail)

    def fold(self, fold: Fold) -> lsp.FoldingRange:
        return lsp.FoldingRange(fold.first, fold.last, kind=fold.kind)

    def hint(self, hint: Hint, text: DocumentText) -> lsp.InlayHint:
        position = lsp.Position(*text.position(hint.offset, self.encoding))
        return lsp.InlayHint(position, hint.label, tooltip=hint.tooltip, padding_left=True)

    def selection(self, spans: list[Span], text: DocumentText) -> lsp.SelectionRange:
        """Nested ranges from spans, innermost first."""
        found: lsp.SelectionRange | None = None
        for span in reversed(spans):
            found = lsp.SelectionRange(self.span(text, span), found)
        assert found is not None
        return found
