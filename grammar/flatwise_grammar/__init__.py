"""The text of a job file and its tree: `parse`, `format_text` and the nodes.

Knows shapes only.  What a word means is the compiler's business, so nothing here imports it.
"""

from __future__ import annotations

from flatwise_grammar.chunks import chunks
from flatwise_grammar.nodes import (
    Block,
    Code,
    Comment,
    Field,
    File,
    Flaw,
    Item,
    Mark,
    Name,
    Number,
    Point,
    Quantity,
    Span,
    Text,
    Use,
)
from flatwise_grammar.parser import parse

__all__ = [
    "Block",
    "Code",
    "Comment",
    "Field",
    "File",
    "Flaw",
    "Item",
    "Mark",
    "Name",
    "Number",
    "Point",
    "Quantity",
    "Span",
    "Text",
    "Use",
    "chunks",
    "format_text",
    "parse",
]


def format_text(text: str) -> str:
    """The text in the language's one style; as it is where it has a flaw.  See `layout.format_text`."""
    from flatwise_grammar import layout  # only who formats pays for it

    return layout.format_text(text)
