"""FW103 · declared twice

A word appears twice in a block that takes it once, the same kind and name is declared twice in a file and the files
that it uses, or two jobs of one build, or a job and a batch, have the same name.

## Why it hurts
Only one of the two can count, and chance should not decide which.

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
    """A word that appears again in a block that takes it once."""
    return _twice(f"`{word}` appears twice in {owner}.", span, first, "Keep one of the two.")


def declaration(kind: str, name: str, span: Span, first: Span) -> Finding:
    """The same kind and name in a file and the files that it uses."""
    where = "" if first.path == span.path else f" in {first.path}"
    return _twice(f"The {kind} `{name}` is already declared{where}.", span, first, "Rename one of the two.")


def job_and_batch(name: str, span: Span, first: Span) -> Finding:
    """A batch with the name of a job: both would write to one folder."""
    return _twice(f"A job and a batch are both called `{name}`.", span, first, "Rename one of the two.")


def job(name: str, span: Span, first: Span) -> Finding:
    """The same job twice in a batch."""
    hint = "Keep one of the two; a panel that is made twice is two jobs."
    return _twice(f"The job `{name}` is already in the batch.", span, first, hint)


def reading(what: str, place: str, span: Span, first: Span) -> Finding:
    """The same place in two readings or two shims."""
    hint = "Keep one of the two." if what == "shim" else "Keep the reading that you trust."
    return _twice(f"The {what} at {place} is given twice.", span, first, hint)


def _twice(message: str, span: Span, first: Span, hint: str) -> Finding:
    return Finding("FW103", message, span, related=(Related("the first one", first),), help=hint)
