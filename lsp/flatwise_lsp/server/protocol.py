"""From plain data to the protocol's types.  Places become ranges here, in the encoding that was agreed on."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Mapping
from functools import lru_cache
from pathlib import Path

from lsprotocol import types as lsp

from flatwise.core.finding import Edit, Finding
from flatwise_grammar.nodes import Span
from flatwise_lsp.features import completion
from flatwise_lsp.features.completion import Offer
from flatwise_lsp.features.hints import Hint
from flatwise_lsp.features.hover import Page, Signature
from flatwise_lsp.features.symbols import Fold, Symbol
from flatwise_lsp.features.word_pages import escaped
from flatwise_lsp.workspace.analysis import Analysis, Meaning
from flatwise_lsp.workspace.text import Encoding, Text

SOURCE = "flatwise"

_SYMBOL_KINDS = {
    "job": lsp.SymbolKind.Class,
    "recipe": lsp.SymbolKind.Interface,
    "machine": lsp.SymbolKind.Module,
    "cutter": lsp.SymbolKind.Object,
    "dog": lsp.SymbolKind.Object,
    "clamp": lsp.SymbolKind.Object,
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
def indexed(text: str) -> Text:
    """A text with its line index; kept, since the same few files are asked for again and again."""
    return Text(text)


def markup(markdown: str, plain: bool = False) -> lsp.MarkupContent:
    """Markdown, or the same without its marks for an editor that shows none."""
    if not plain:
        return lsp.MarkupContent(lsp.MarkupKind.Markdown, markdown)
    bare = re.sub(r"```\w*\n?|\*\*|`|(?<!\w)\*(?=\w)|(?<=[\w:])\*(?!\w)", "", markdown)
    return lsp.MarkupContent(lsp.MarkupKind.PlainText, bare)


class Converter:
    """Turns plain data into the protocol's, for one encoding and one editor's abilities."""

    def __init__(
        self, encoding: Encoding, uri: Callable[[Path], str], snippets: bool = True, plain: bool = False
    ) -> None:
        self.encoding = encoding
        self.uri = uri
        self.snippets = snippets
        self.plain = plain

    def range(self, text: Text, start: int, end: int) -> lsp.Range:
        first, last = text.range(start, end, self.encoding)
        return lsp.Range(lsp.Position(*first), lsp.Position(*last))

    def span(self, texts: Mapping[Path, str], path: Path, span: Span) -> lsp.Range | None:
        text = texts.get(path)
        return self.range(indexed(text), span.start, span.end) if text is not None else None

    def location(self, meaning: Meaning, span: Span) -> lsp.Location | None:
        text = meaning.linked.loaded.texts.get(span.path)
        if text is None:
            return None
        return lsp.Location(self.uri(meaning.file(span.path)), self.range(indexed(text), span.start, span.end))

    # -- findings

    def diagnostic(self, finding: Finding, analysis: Analysis, path: Path, page: str) -> lsp.Diagnostic | None:
        """A finding in a file; `page` is the address of its code's page ("" for none)."""
        if finding.span is None:
            place: lsp.Range | None = lsp.Range(lsp.Position(0, 0), lsp.Position(0, 0))
        else:
            place = self.span(analysis.texts, path, finding.span)
        if place is None:
            return None
        related = []
        for one in finding.related:
            where = analysis.meaning.file(one.span.path)
            there = self.span(analysis.texts, where, one.span)
            if there is not None:
                related.append(lsp.DiagnosticRelatedInformation(lsp.Location(self.uri(where), there), one.message))
        message = f"{finding.message}\n{finding.help}" if finding.help else finding.message
        return lsp.Diagnostic(
            range=place,
            severity=lsp.DiagnosticSeverity.Error if finding.severity == "error" else lsp.DiagnosticSeverity.Warning,
            code=finding.code,
            code_description=lsp.CodeDescription(page) if page else None,
            source=SOURCE,
            message=message,
            tags=[lsp.DiagnosticTag.Unnecessary] if unnecessary(finding) else None,
            related_information=related or None,
        )

    # -- features

    def offer(self, offer: Offer, text: Text, order: int) -> lsp.CompletionItem:
        snippet = self.snippets and offer.snippet != escaped(offer.label)
        new = offer.snippet if snippet else bare(offer.snippet)
        return lsp.CompletionItem(
            label=offer.label,
            kind=_OFFER_KINDS[offer.sort.rstrip("0123456789")],
            detail=offer.detail or None,
            documentation=markup(offer.documentation, self.plain) if offer.documentation else None,
            sort_text=f"{order:04}",
            filter_text=text.text[offer.start : offer.start + 1] + offer.label
            if offer.label[:1] == '"' and text.text[offer.start : offer.start + 1] not in ('"', "")
            else None,
            insert_text_format=lsp.InsertTextFormat.Snippet if snippet else lsp.InsertTextFormat.PlainText,
            text_edit=lsp.TextEdit(self.range(text, offer.start, offer.end), new),
        )

    def hover(self, page: Page, text: Text) -> lsp.Hover:
        return lsp.Hover(markup(page.markdown, self.plain), self.range(text, page.span.start, page.span.end))

    def signature(self, shown: Signature) -> lsp.SignatureHelp:
        # parameters as parts of the label: every editor can do that, and the label has no letter twice over
        holes = [lsp.ParameterInformation(shown.label[start:end]) for start, end in shown.holes]
        information = lsp.SignatureInformation(
            shown.label, markup(shown.documentation, self.plain), holes, active_parameter=shown.active
        )
        return lsp.SignatureHelp([information], active_signature=0, active_parameter=shown.active)

    def symbol(self, symbol: Symbol, text: Text) -> lsp.DocumentSymbol:
        return lsp.DocumentSymbol(
            name=symbol.name,
            kind=_SYMBOL_KINDS[symbol.kind],
            range=self.range(text, symbol.span.start, symbol.span.end),
            selection_range=self.range(text, symbol.name_span.start, symbol.name_span.end),
            detail=symbol.detail or None,
            children=[self.symbol(inner, text) for inner in symbol.inner] or None,
        )

    def flat_symbols(
        self, symbols: Iterable[Symbol], text: Text, uri: str, inside: str = ""
    ) -> list[lsp.SymbolInformation]:
        """Symbols for an editor that takes no tree of them."""
        found = []
        for one in symbols:
            place = lsp.Location(uri, self.range(text, one.span.start, one.span.end))
            found.append(lsp.SymbolInformation(place, one.name, _SYMBOL_KINDS[one.kind], container_name=inside or None))
            found.extend(self.flat_symbols(one.inner, text, uri, one.name))
        return found

    def workspace_symbol(self, symbol: Symbol, meaning: Meaning) -> lsp.WorkspaceSymbol | None:
        place = self.location(meaning, symbol.name_span)
        if place is None:
            return None
        return lsp.WorkspaceSymbol(place, symbol.name, _SYMBOL_KINDS[symbol.kind], container_name=symbol.detail)

    def fold(self, fold: Fold) -> lsp.FoldingRange:
        return lsp.FoldingRange(fold.first, fold.last, kind=fold.kind)

    def hint(self, hint: Hint, text: Text) -> lsp.InlayHint:
        return lsp.InlayHint(
            lsp.Position(*text.position(hint.offset, self.encoding)),
            hint.label,
            tooltip=hint.tooltip,
            padding_left=True,
        )

    def selection(self, spans: list[Span], text: Text) -> lsp.SelectionRange:
        grown: lsp.SelectionRange | None = None
        for span in reversed(spans):
            grown = lsp.SelectionRange(self.range(text, span.start, span.end), grown)
        assert grown is not None
        return grown

    def workspace_edit(
        self, edits: Iterable[Edit], meaning: Meaning, versions: Mapping[Path, int], versioned: bool
    ) -> lsp.WorkspaceEdit:
        """Edits of several files; with the versions they were worked out for, where the editor takes them."""
        by_file: dict[Path, list[lsp.TextEdit]] = {}
        for edit in edits:
            path = meaning.file(edit.span.path)
            place = self.location(meaning, edit.span)
            if place is not None:
                by_file.setdefault(path, []).append(lsp.TextEdit(place.range, edit.text))
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


def unnecessary(finding: Finding) -> bool:
    """Whether the text that a finding marks could as well be left out: a waiver without need."""
    return finding.code == "FW702" and finding.severity == "warning"


def bare(snippet: str) -> str:
    """A snippet as plain text: its stops give way to what they hold."""
    text = re.sub(r"\$\{\d+:((?:\\.|[^\\}])*)\}", r"\1", snippet)
    text = re.sub(r"(?<!\\)\$\d+", "", text)
    return re.sub(r"\\([\\$}])", r"\1", text)
