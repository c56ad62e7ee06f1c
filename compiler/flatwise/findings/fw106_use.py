"""FW106 · `use` not found or outside the root

A `use` line names a file that does not exist, a file outside the project's folder, or the file that the line stands
in. Paths are relative to the folder of that file.

## Why it hurts
A job that depends on a file elsewhere on one computer gives a different program, or none, on the next.

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


def not_found(target: str, span: Span, near: str, reason: str = "does not exist") -> Finding:
    """A file that does not exist; `near` is a target that is spelt like it."""
    fix = Fix(f'Write "{near}"', (Edit(span, f'"{near}"'),)) if near else None
    return Finding(
        "FW106",
        f'The `use` line names "{target}", which {reason}.',
        span,
        help=f'Did you mean "{near}"?' if near else "The path is relative to the folder of this file.",
        fix=fix,
    )


def itself(target: str, span: Span) -> Finding:
    """A file that names itself: harmless in a longer circle, but here it can only be a slip."""
    return Finding(
        "FW106",
        f'The file uses itself: "{target}".',
        span,
        help="Its own declarations are visible anyway: name the file that you meant, or remove the line.",
    )


def outside(target: str, span: Span, root: str) -> Finding:
    """A file above or beside the project's folder, perhaps through a link."""
    return Finding(
        "FW106",
        f'The `use` line names "{target}", which lies outside the project\'s folder {root}.',
        span,
        help="Copy it into the project's folder, or put an empty flatwise.toml in a folder that contains both.",
    )
