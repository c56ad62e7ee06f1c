"""FW106 · `use` not found or outside the root

A `use` line names a file that is not there, one that lies outside the project's folder, or the very file it stands
in.  Paths are relative to the file in which they stand.

## Why it hurts
A job that depends on a file elsewhere on one computer gives another program, or none, on the next.

## Fails
```flat
use "../shared/shops.flat"
use "../shared/sample.flat"

job demo from plain_top { }
```

## Mended
```flat
use "../shared/shop.flat"
use "../shared/sample.flat"

job demo from plain_top { }
```
"""

from __future__ import annotations

from flatwise.core.finding import Edit, Finding, Fix
from flatwise_grammar.nodes import Span


def not_found(target: str, span: Span, near: str, reason: str = "is not there") -> Finding:
    """A file that is not there; `near` is the target that is spelt like it."""
    fix = Fix(f'write "{near}"', (Edit(span, f'"{near}"'),)) if near else None
    return Finding(
        "FW106",
        f'The file that is used, "{target}", {reason}.',
        span,
        help=f'Did you mean "{near}"?' if near else "The path is relative to the folder of this file.",
        fix=fix,
    )


def itself(target: str, span: Span) -> Finding:
    """A file that names itself: harmless in a longer circle, but here it can only be a slip."""
    return Finding(
        "FW106",
        f'The file uses itself, "{target}".',
        span,
        help="Its own declarations are visible in it already: name the file that was meant, or take the line out.",
    )


def outside(target: str, span: Span, root: str) -> Finding:
    """A file above or beside the project's folder, be it through a link."""
    return Finding(
        "FW106",
        f'The file that is used, "{target}", lies outside the project\'s folder {root}.',
        span,
        help="Copy it below the project's folder, or put an empty flatwise.toml into a folder that holds both.",
    )
