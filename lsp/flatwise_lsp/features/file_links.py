"""Quoted texts that name a file: links, where they lead, and what a used file declares."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import NamedTuple

from flatwise.sources.paths import below_root
from flatwise_grammar.nodes import Block, Span, String
from flatwise_lsp.workspace.view import View


class FileLink(NamedTuple):
    """A quoted text without its quotation marks, and the file that it names."""

    span: Span
    target: Path


def find_links(view: View) -> list[FileLink]:
    """The files that `use`, `probe` and `thickness` name, if they exist below the project's root."""
    found = []
    for text in (*(use.target for use in view.tree.uses), *_quoted_texts(view.tree.blocks)):
        target = below_root(view.path.parent, text.text, view.root) if text.text.strip() else None
        # other texts in quotes, such as reasons, name no file
        if target is not None and os.path.isfile(target):
            found.append(FileLink(Span(text.span.path, text.span.start + 1, text.span.end - 1), target))
    return found


def find_link(view: View, offset: int) -> FileLink | None:
    """The text at an offset that names a file."""
    return next((link for link in find_links(view) if link.span.start - 1 <= offset <= link.span.end + 1), None)


def find_linked_file(view: View, offset: int) -> Span | None:
    """The start of the file that the text at an offset names."""
    link = find_link(view, offset)
    return Span(view.meaning.name(link.target), 0, 0) if link is not None else None


def used_file_page(view: View, link: FileLink) -> str:
    """What a used file declares, in Markdown: a line for each kind."""
    name = view.meaning.name(link.target)
    names_by_kind: dict[str, list[str]] = {}
    for one in view.meaning.linked.declarations:
        if one.path == name:
            names_by_kind.setdefault(one.kind, []).append(f"`{one.name}`")
    rows = [f"- {kind} {', '.join(names)}" for kind, names in names_by_kind.items()]
    return "\n".join([f"{name} declares:\n", *rows]) if rows else f"{name} declares nothing."


def _quoted_texts(blocks: tuple[Block, ...]) -> Iterator[String]:
    for block in blocks:
        for part in block.body:
            if isinstance(part, Block):
                yield from _quoted_texts((part,))
            else:
                yield from (item for item in part.items if isinstance(item, String))
