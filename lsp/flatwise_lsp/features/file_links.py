"""Document links: quoted texts that name a file."""

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


def _quoted_texts(blocks: tuple[Block, ...]) -> Iterator[String]:
    for block in blocks:
        for part in block.body:
            if isinstance(part, Block):
                yield from _quoted_texts((part,))
            else:
                yield from (item for item in part.items if isinstance(item, String))
