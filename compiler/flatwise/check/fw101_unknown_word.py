"""FW101 · unknown word

A word stands where Flatwise does not know it: a kind of block, a word of a block, or a word in a line that
takes one of a few.

## Why it hurts
A misspelt word would otherwise be a setting that silently does not count.

## Fails
```flat
use "../shared/shop.flat"
use "../shared/sample.flat"

job demo from plain_top {
    cut { stepovr 50% }
}
```

## Mended
```flat
use "../shared/shop.flat"
use "../shared/sample.flat"

job demo from plain_top {
    cut { stepover 50% }
}
```
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from flatwise.diagnostics import Diagnostic, Edit, Fix
from flatwise.wording import quoted, sentence
from flatwise_grammar.nodes import Span

MANY = 400


def close(word: str, known: Iterable[str]) -> list[str]:
    """The known words that are spelt like `word`, the closest first, then those that hold all its parts: at most 3."""
    from difflib import get_close_matches

    words = list(known)
    # no shop has so many of a kind; to compare them all for each misspelt one would take minutes
    if len(words) > MANY:
        return []
    parts = set(word[:60].split("_"))
    holding = [each for each in words if parts <= set(each.split("_"))]
    return list(dict.fromkeys([*get_close_matches(word[:60], words, n=3, cutoff=0.6), *holding]))[:3]


def certain(word: str, known: Iterable[str]) -> str:
    """The one word that is surely meant, or "": spelt much like `word`, and no other nearly as much."""
    from difflib import SequenceMatcher

    near = close(word, known)
    likeness = [SequenceMatcher(None, word[:60], each).ratio() for each in near]
    if likeness and likeness[0] >= 0.75 and (len(near) == 1 or likeness[0] - likeness[1] >= 0.1):
        return near[0]
    return ""


def mend(word: str, span: Span, known: Iterable[str]) -> tuple[str, Fix | None]:
    """ "Did you mean …?" for a word that is nearly one of those known, and a fix where it is certain which."""
    known = list(known)
    near = close(word, known)
    sure = certain(word, known)
    if sure:
        return f"Did you mean `{sure}`?", Fix(f"write `{sure}`", (Edit(span, sure),))
    return (f"Did you mean {quoted(near)}?" if near else ""), None


def in_block(word: str, span: Span, owner: str, known: Sequence[str], elsewhere: Sequence[str] = ()) -> Diagnostic:
    """A word that a block does not take; `elsewhere` are the blocks that do."""
    hint, fix = mend(word, span, known)
    if elsewhere:
        belongs = f"`{word}` belongs to {quoted(elsewhere)}."
        return Diagnostic("FW101", f"{sentence(owner)} takes no `{word}`.", span, help=belongs)
    if not hint:
        hint = f"It takes {quoted(known, 'and')}." if known else "It takes nothing."
    return Diagnostic("FW101", f"{sentence(owner)} takes no `{word}`.", span, help=hint, fix=fix)


def in_phrase(
    word: str, span: Span, label: str, known: Sequence[str], others: Sequence[str], how: str, *, elsewhere: bool = False
) -> Diagnostic:
    """A word where a line takes one of a few; `others` say what else may stand there.

    `elsewhere`: it is a word of the language, only not here, so nobody can be certain that another was meant.
    """
    hint, fix = mend(word, span, known)
    fix = None if elsewhere else fix
    names = quoted(list(dict.fromkeys(known)))
    either = f"{names}, or {', or '.join(others)}" if others else names
    message = f"{sentence(label)} takes {either}, and finds `{word}`."
    return Diagnostic("FW101", message, span, help=hint or f"Write it like {how}.", fix=fix)


def kind(word: str, span: Span, known: Sequence[str]) -> Diagnostic:
    """A block of a kind that there is not."""
    hint, fix = mend(word, span, known)
    return Diagnostic(
        "FW101",
        f"There is no kind of block called `{word}`.",
        span,
        help=hint or f"The kinds are {quoted(known, 'and')}.",
        fix=fix,
    )


def key(word: str, span: Span, path: str, known: Sequence[str]) -> Diagnostic:
    """A key of the project file that Flatwise does not know."""
    hint, fix = mend(word, span, known)
    return Diagnostic(
        "FW101",
        f"The project file {path} has no key `{word}`.",
        span,
        help=hint or f"The keys are {quoted(known, 'and')}.",
        fix=fix,
    )


def bed_only(word: str, span: Span) -> Diagnostic:
    """Something that a job over the spoilboard does not take."""
    return Diagnostic(
        "FW101",
        f"A job with `stock bed` takes no `{word}`: it skims the bed itself, and nothing lies on it.",
        span,
        help="It takes machine, standard, zero with corner and z top, cut, and faces with `first take 0.5mm`.",
    )
