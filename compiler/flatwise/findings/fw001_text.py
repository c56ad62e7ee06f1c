"""FW001 · text not understood

This text is not a line, a block or a `use` of a job file. A job file is a list of `use "path"` lines and blocks
`kind name { … }`; inside a block each line is a word followed by its values.

## Why it hurts
A line that can't be read has not been checked. The rest of the file is still read, so one run shows every such
place.

## Fails
```flat
job demo from plain_top {
    cut { depth = 0.4mm }
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

from flatwise.core.finding import Edit, Finding, Fix, relate
from flatwise_grammar.nodes import Flaw, Span


def flaw(flaw: Flaw) -> Finding:
    """A flaw found by the parser, as FW001, FW002 or FW003."""
    fix = None
    if flaw.fix is not None:
        span, text, title = flaw.fix
        fix = Fix(title, (Edit(span, text), *(Edit(place, better) for place, better in flaw.also)))
    opened = relate("the block opens here", flaw.opened)
    return Finding(flaw.code, flaw.message, flaw.span, related=opened, help=flaw.help, fix=fix)


def header(kind: str, span: Span, problem: str, example: str) -> Finding:
    """A block's header that is not `kind name {`; `problem` is the message."""
    return Finding("FW001", problem, span, help=f"Write the header of a {kind} as `{example}`.")


def project(path: str, reason: str, span: Span) -> Finding:
    """A project file that is not valid TOML."""
    return Finding(
        "FW001",
        f"The project file {path} is not valid TOML: {reason}.",
        span,
        help='Each line is `key = value`, such as `standard = "solid_tops"`.',
    )
