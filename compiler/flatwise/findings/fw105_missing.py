"""FW105 · missing field

A block lacks a line or a block that it must have.

## Why it hurts
Flatwise does not guess the size of a panel, the diameter of a cutter or what holds the wood.

## Fails
```flat
cutter small_fly {
    diameter   40mm
    wings      3
    shank      12mm
    blade      9mm
    depth      up to 1mm
    speed      10000rpm to 18000rpm
    chip_load  0.10mm to 0.25mm
}
```

## Mended
```flat
cutter small_fly {
    diameter   40mm
    wings      3
    shank      12mm
    blade      9mm
    stick_out  38mm
    depth      up to 1mm
    speed      10000rpm to 18000rpm
    chip_load  0.10mm to 0.25mm
}
```
"""

from __future__ import annotations

from flatwise.core.finding import Finding, relate
from flatwise.core.wording import capitalised
from flatwise_grammar.nodes import Span


def missing(word: str, owner: str, span: Span, explanation: str, example: str) -> Finding:
    """A required word or block; `example` is a line that would do."""
    said = explanation.rstrip(".")
    return Finding(
        "FW105",
        f"{capitalised(owner)} has no `{word}`.",
        span,
        help=f"Add a line such as `{example}` ({said[:1].lower()}{said[1:]}).",
    )


def needed(message: str, span: Span, hint: str, other: Span | None = None, why: str = "") -> Finding:
    """Something that is required because of something else, `other`."""
    return Finding("FW105", message, span, related=relate(why, other), help=hint)
