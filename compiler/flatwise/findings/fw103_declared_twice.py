"""FW103 · declared twice

The same word stands twice in a block that takes it once, or the same kind and name is declared twice among a
file and those that it uses, or two jobs of one build have the same name.

## Why it hurts
Only one of the two can count, and it should not be chance which.

## Fails
```flat
job demo from plain_top {
    cut { depth 0.4mm; depth 0.5mm }
}
```

## Mended
```flat
job demo from plain_top {
    cut { depth 0.4mm }
}
```
"""

from __future__ import annotations

from flatwise.core.finding import Finding, Related
from flatwise_grammar.nodes import Span


def word(word: str, owner: str, span: Span, first: Span) -> Finding:
    """A word that stands again in a block that takes it once."""
    return _twice(f"`{word}` stands twice in {owner}.", span, first, "Keep one of the two.")


def declaration(kind: str, name: str, span: Span, first: Span) -> Finding:
    """The same kind and name among a file and those that it uses."""
    where = "" if first.path == span.path else f" in {first.path}"
    return _twice(f"The {kind} `{name}` is already declared{where}.", span, first, "Give one of the two another name.")


def reading(what: str, place: str, span: Span, first: Span) -> Finding:
    """The same place in two lines of readings, or of shims."""
    hint = "Keep one of the two." if what == "shim" else "Keep the reading that you trust."
    return _twice(f"The {what} at {place} is given twice.", span, first, hint)


def _twice(message: str, span: Span, first: Span, hint: str) -> Finding:
    return Finding("FW103", message, span, related=(Related("first here", first),), help=hint)
