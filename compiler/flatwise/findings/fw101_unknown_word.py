"""FW101 · unknown word

Flatwise does not know this word here: it is not a kind of block, not a word of this block, or not one of the choices
that the line takes.

## Why it hurts
A misspelt word would otherwise be a setting that is silently ignored.

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
from itertools import pairwise

from flatwise.core.finding import Edit, Finding, Fix
from flatwise.core.fixes import did_you_mean
from flatwise.core.wording import capitalised, quoted
from flatwise_grammar.nodes import Field, Mark, Name, Span


def in_block(word: str, span: Span, owner: str, known: Sequence[str], way: str = "", fix: Fix | None = None) -> Finding:
    """A word that a block does not take; `way` says what to write instead, where that is not one of the known words."""
    if not way:
        way, fix = did_you_mean(word, span, known)
    if not way:
        way = f"It takes {quoted(known, 'and')}." if known else "It takes nothing."
    return Finding("FW101", f"{capitalised(owner)} takes no `{word}`.", span, help=way, fix=fix)


#: words of 1.0, and what has replaced them
_FORMER = {"raster": "", "perimeter": "edge"}


def has_former_words(line: Field) -> bool:
    """Whether a line has a word of 1.0 that `rows` no longer takes."""
    return any(isinstance(item, Name) and item.text in _FORMER for item in line.items)


def former_rows(line: Field, owner: str) -> Finding:
    """The line `pattern raster …`, which `rows …` has replaced, or `rows` with words of that; the fix rewrites it."""
    items = [item.text if isinstance(item, Name | Mark) else "" for item in line.items]
    kept = [_FORMER.get(text, text) for text in items]
    written = " ".join(["rows", *filter(None, kept)]).replace(" ,", ",")
    certain = bool(kept) and all(isinstance(item, Name | Mark) for item in line.items)
    word = line.word.text
    edits = [Edit(line.word.span, "rows")] if word != "rows" else []
    for item, after in pairwise((*line.items, None)):
        if isinstance(item, Name) and item.text in _FORMER:
            new = _FORMER[item.text]
            # without the blank after a word that is left out
            end = item.span.end + (not new and after is not None and after.span.start > item.span.end)
            edits.append(Edit(item.span._replace(end=end), new))
    return Finding(
        "FW101",
        f"{capitalised(owner)} takes no `pattern`: the word is now `rows`, without `raster`."
        if word != "rows"
        else f"`rows` of {owner} no longer takes `raster`, and `perimeter first` is now `edge first`.",
        line.word.span,
        help=f"Write `{written if certain else 'rows along grain'}`.",
        fix=Fix(f"Write `{written}`", tuple(edits)) if certain else None,
    )


def in_phrase(
    word: str, span: Span, label: str, known: Sequence[str], others: Sequence[str], way: str, *, elsewhere: bool = False
) -> Finding:
    """A word that is not one of a line's choices; `others` say what else may stand there, `way` how to write the line.

    `elsewhere`: it is a word of the language in another place, so a similar word is not certain to be meant.
    """
    near, fix = did_you_mean(word, span, known)
    fix = None if elsewhere else fix
    names = quoted(list(dict.fromkeys(known)))
    either = f"{names}, or {', or '.join(others)}" if others else names
    message = f"{capitalised(label)} takes {either}, not `{word}`."
    return Finding("FW101", message, span, help=near or way, fix=fix)


def kind(word: str, span: Span, known: Sequence[str]) -> Finding:
    """A block of an unknown kind."""
    return _none_of(f"`{word}` is not a kind of block.", word, span, "kinds", known)


def key(word: str, span: Span, path: str, known: Sequence[str]) -> Finding:
    """A key of the project file that Flatwise does not know."""
    return _none_of(f"The project file {path} has an unknown key, `{word}`.", word, span, "keys", known)


def _none_of(message: str, word: str, span: Span, what: str, known: Sequence[str]) -> Finding:
    hint, fix = did_you_mean(word, span, known)
    return Finding("FW101", message, span, help=hint or f"The {what} are {quoted(known, 'and')}.", fix=fix)


def bed_only(word: str, span: Span) -> Finding:
    """A word that a job for the spoilboard does not take."""
    return Finding(
        "FW101",
        f"A job with `stock bed` takes no `{word}`: it skims the bed itself, and nothing lies on it.",
        span,
        help="It takes machine, standard, zero with corner and z top, cut, and faces with `first take 0.5mm`.",
    )
