"""Symbols: the outline of a document, and the declarations of the workspace."""

from __future__ import annotations

from typing import NamedTuple

from flatwise_grammar.nodes import Block, Field, Span
from flatwise_lsp.features.documentation import line_text
from flatwise_lsp.workspace.tree_search import block_words, owner_of
from flatwise_lsp.workspace.view import View


class Symbol(NamedTuple):
    """A declaration, an inner block, or a line; `kind` is the kind of declaration, "block" or "line"."""

    name: str
    detail: str
    kind: str
    span: Span
    name_span: Span
    inner: tuple[Symbol, ...] = ()


def find_document_symbols(view: View) -> list[Symbol]:
    """The declarations of a document with their blocks and lines."""
    return [_declaration_symbol(block) for block in view.tree.blocks if block.head]


def _declaration_symbol(block: Block) -> Symbol:
    own = owner_of(block)
    if own is None:
        return _block_symbol(block)
    detail = " ".join((block.kind, *block_words(block)[2:]))
    return Symbol(own.text, detail, block.kind, block.span, own.span, _inner_symbols(block))


def _block_symbol(block: Block) -> Symbol:
    words = " ".join(filter(None, block_words(block)))
    return Symbol(words or "?", "", "block", block.span, block.head_span, _inner_symbols(block))


def _inner_symbols(block: Block) -> tuple[Symbol, ...]:
    return tuple(_block_symbol(part) if isinstance(part, Block) else _line_symbol(part) for part in block.body)


def _line_symbol(line: Field) -> Symbol:
    detail = line_text(line).removeprefix(line.word.text).strip()
    return Symbol(line.word.text, detail[:80], "line", line.span, line.word.span)


def find_workspace_symbols(view: View, query: str) -> list[Symbol]:
    """The declarations of all files whose names contain the letters of the query in that order, the best first."""
    query = query.lower()
    found = []
    for source in view.everything.linked.loaded.sources.values():
        for block in source.tree.blocks:
            own = owner_of(block)
            if own is not None and _contains_letters(own.text, query):
                found.append(Symbol(own.text, block.kind, block.kind, block.span, own.span))
    return sorted(found, key=lambda symbol: (query not in symbol.name, symbol.name, symbol.span.path))


def _contains_letters(name: str, query: str) -> bool:
    letters = iter(name)
    return all(letter in letters for letter in query)
