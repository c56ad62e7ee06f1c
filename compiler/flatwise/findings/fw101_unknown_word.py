"""FW101 · unknown word

A word stands where Flatwise does not know it: a kind of block, a word of a block, or a word in a line that
takes one of a few.

## Why it hurts
A misspelt word would otherwise be a setting that silently does not count.

## Fails
```flat
job demo from plain_top {
    cut { stepovr 50% }
}
```

## Mended
```flat
job demo from plain_top {
    cut { stepover 50% }
}
```
"""

from __future__ import annotations

from collections.abc import Sequence

from flatwise.core.finding import Finding
from flatwise.core.fixes import did_you_mean
from flatwise.core.wording import quoted, sentence
from flatwise_grammar.nodes import Span


def in_block(word: str, span: Span, owner: str, known: Sequence[str], elsewhere: Sequence[str] = ()) -> Finding:
    """A word that a block does not take; `elsewhere` are the blocks that do."""
    hint, fix = did_you_mean(word, span, known)
    if elsewhere:
        belongs = f"`{word}` belongs to {quoted(elsewhere)}."
        return Finding("FW101", f"{sentence(owner)} takes no `{word}`.", span, help=belongs)
    if not hint:
        hint = f"It takes {quoted(known, 'and')}." if known else "It takes nothing."
    return Finding("FW101", f"{sentence(owner)} takes no `{word}`.", span, help=hint, fix=fix)


def in_phrase(
    word: str, span: Span, label: str, known: Sequence[str], others: Sequence[str], how: str, *, elsewhere: bool = False
) -> Finding:
    """A word where a line takes one of a few; `others` say what else may stand there.

    `elsewhere`: it is a word of the language, only not here, so nobody can be certain that another was meant.
    """
    hint, fix = did_you_mean(word, span, known)
    fix = None if elsewhere else fix
    names = quoted(list(dict.fromkeys(known)))
    either = f"{names}, or {', or '.join(others)}" if others else names
    message = f"{sentence(label)} takes {either}, and finds `{word}`."
    return Finding("FW101", message, span, help=hint or f"Write it like {how}.", fix=fix)


def kind(word: str, span: Span, known: Sequence[str]) -> Finding:
    """A block of a kind that there is not."""
    hint, fix = did_you_mean(word, span, known)
    return Finding(
        "FW101",
        f"There is no kind of block called `{word}`.",
        span,
        help=hint or f"The kinds are {quoted(known, 'and')}.",
        fix=fix,
    )


def key(word: str, span: Span, path: str, known: Sequence[str]) -> Finding:
    """A key of the project file that Flatwise does not know."""
    hint, fix = did_you_mean(word, span, known)
    return Finding(
        "FW101",
        f"The project file {path} has no key `{word}`.",
        span,
        help=hint or f"The keys are {quoted(known, 'and')}.",
        fix=fix,
    )


def bed_only(word: str, span: Span) -> Finding:
    """Something that a job over the spoilboard does not take."""
    return Finding(
        "FW101",
        f"A job with `stock bed` takes no `{word}`: it skims the bed itself, and nothing lies on it.",
        span,
        help="It takes machine, standard, zero with corner and z top, cut, and faces with `first take 0.5mm`.",
    )
