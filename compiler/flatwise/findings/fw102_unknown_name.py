"""FW102 · unknown name

A line names a machine, a cutter, a wood or another declaration that is neither in this file nor in a file that it
uses. `use` makes visible what a file itself declares, but not what that file uses in turn.

## Why it hurts
Without the declaration there is no size, speed or limit to work with.

## Fails
```flat
job demo from plain_top {
    cut { cutter fly_46 }
}
```

## Mended
```flat
job demo from plain_top {
    cut { cutter fly_64 }
}
```
"""

from __future__ import annotations

from collections.abc import Collection
from itertools import islice

from flatwise.core.finding import Finding, relate
from flatwise.core.fixes import MANY_WORDS, did_you_mean
from flatwise.core.wording import quoted
from flatwise_grammar.nodes import Span


def unknown(name: str, span: Span, kind: str, known: Collection[str], elsewhere: Span | None = None) -> Finding:
    """A name that is not visible in the file where it is written; `elsewhere` declares it in a file not used."""
    few = len(known) <= MANY_WORDS
    names = sorted(set(known)) if few else list(islice(known, 13))
    near, fix = did_you_mean(name, span, names) if few else ("", None)
    if elsewhere is not None:
        hint, fix = f'Add a `use "…"` line for the file that declares it, {elsewhere.path}.', None
    elif near:
        hint = near
    elif names:
        known_here = f"Known here: {quoted(names[:12], 'and')}{' and more' if len(names) > 12 else ''}"
        hint = f"{known_here}; declare another with `{kind} {name} {{ … }}`."
    else:
        hint = f'Declare it with `{kind} {name} {{ … }}`, or add a `use "…"` line for the file that does.'
    return Finding(
        "FW102",
        f"No {kind} called `{name}` is declared in this file or in a file that it uses.",
        span,
        related=relate("declared here, in a file that is not used", elsewhere),
        help=hint,
        fix=fix,
    )


def of_project(name: str, span: Span, path: str) -> Finding:
    """The project file's standard, which the file that it names does not declare."""
    return Finding(
        "FW102",
        f"No standard called `{name}` is declared in {path}.",
        span,
        help="Set `standard` to a standard of that file, or `standard_from` to the file that declares it.",
    )


def circle(kind: str, names: list[str], span: Span) -> Finding:
    """Declarations that start from each other in a circle."""
    shown = [*names[:4], "…", *names[-3:]]
    return Finding(
        "FW102",
        f"The {kind} `{names[0]}` starts from itself: {' → '.join(names if len(names) < 9 else shown)}.",
        span,
        help="Declare one of them without `like`.",
    )
