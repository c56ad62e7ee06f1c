"""Edits of whole lines: one more in a block or at the top of a file, and one less."""

from __future__ import annotations

import os
from pathlib import Path

from flatwise.core.finding import Edit
from flatwise_grammar.nodes import Block, Field, Span
from flatwise_lsp.workspace.view import View


def insert_line(view: View, block: Block, line: str, behind: Field | Block | None = None) -> Edit:
    """Insert a line into a block: behind one of its parts, with its values in the same column, else as its first."""
    text, path = view.text, block.span.path
    if behind is not None:
        start = behind.span.end
        end = text.line_end(text.line_of(start))
        rest = text.text[start:end].strip()
        if rest and not rest.startswith("#"):
            return Edit(Span(path, start, start), f"; {line}")
        word, _, values = line.partition(" ")
        if isinstance(behind, Field) and behind.items and not line.endswith("}"):
            word = word.ljust(behind.items[0].span.start - behind.word.span.start - 1)
        return Edit(Span(path, end, end), f"\n{indent_at(view, behind.span.start)}{word} {values}")
    brace = text.text.find("{", block.head_span.end, block.span.end) + 1
    if not brace:  # the header has something else in its place
        end = text.line_end(text.line_of(block.head_span.end))
        return Edit(Span(path, end, end), f"\n{indent_at(view, block.head_span.start)}    {line}")
    if text.line_of(block.head_span.start) == text.line_of(block.span.end):
        return Edit(Span(path, brace, brace), f" {line};" if block.body else f" {line}")
    return Edit(Span(path, brace, brace), f"\n{indent_at(view, block.head_span.start)}    {line}")


def without_line(view: View, line: Field) -> Edit:
    """Leave out a line of a block, with the `;` or the line break behind it; a comment at its end stays."""
    text, span = view.text, line.span
    number = text.line_of(span.start)
    start, end = span.start, text.line_end(text.line_of(span.end))
    rest = text.text[span.end : end]
    if not text.text[text.starts[number] : start].strip() and not rest.strip():
        last = text.line_of(span.end) + 1
        return Edit(Span(span.path, text.starts[number], text.starts[last] if last < len(text.starts) else end), "")
    if rest.lstrip().startswith(";"):
        behind = span.end + rest.index(";") + 1
        behind += len(text.text[behind:end]) - len(text.text[behind:end].lstrip())
        return Edit(Span(span.path, start, behind), "")
    before = text.text[text.starts[number] : start]
    kept = before.rstrip().removesuffix(";").rstrip() if before.rstrip().endswith(";") else before
    return Edit(Span(span.path, text.starts[number] + len(kept), span.end), "")


def use_line(view: View, file: Path) -> Edit:
    """A `use` line for a file, behind those that are there, else behind the comments at the top."""
    relative = os.path.relpath(file, view.path.parent).replace(os.sep, "/")
    line = f'use "{relative}"\n'
    if view.tree.uses:
        after = view.text.line_of(view.tree.uses[-1].span.end) + 1
    else:
        after = 0
        while after < len(view.text.starts) and view.text.line(after).startswith("#"):
            after += 1
        line += "" if after < len(view.text.starts) and not view.text.line(after).strip() else "\n"
    if after < len(view.text.starts):
        at = view.text.starts[after]
        return Edit(Span(view.name, at, at), line)
    end = len(view.text.text)
    return Edit(Span(view.name, end, end), "\n" + line)


def indent_at(view: View, offset: int) -> str:
    """The blanks at the start of the line at an offset."""
    line = view.text.line(view.text.line_of(offset))
    return line[: len(line) - len(line.lstrip(" \t"))]
