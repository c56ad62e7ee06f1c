"""FW105 · missing field

A block lacks lines or blocks that it must have. All of them are one finding, on the block's header. A block without its
closing brace is not checked for missing lines.

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

from collections.abc import Sequence
from typing import NamedTuple

from flatwise.core.finding import Finding, Related, relate
from flatwise.core.wording import capitalised, quoted
from flatwise_grammar.nodes import Span


class Missing(NamedTuple):
    """A required word or block, what it says, and a line that would do."""

    word: str
    explanation: str
    example: str
    #: another way out, as the end of a sentence
    otherwise: str = ""

    @property
    def line(self) -> str:
        """The example with its explanation."""
        said = self.explanation.rstrip(".")
        return f"`{self.example}` ({said[:1].lower()}{said[1:]})"


def missing(words: Sequence[Missing], owner: str, span: Span) -> Finding:
    """Missing lines of a block, as one finding on its header; several lines are shown as second places."""
    message = f"{capitalised(owner)} has no {quoted([one.word for one in words])}."
    if len(words) == 1:
        return Finding("FW105", message, span, help=f"Add a line such as {words[0].line}{words[0].otherwise}.")
    related = tuple(Related(f"a line such as {one.line}", span) for one in words)
    return Finding("FW105", message, span, related=related, help="Add a line for each, with your own values.")


def needed(message: str, span: Span, hint: str, other: Span | None = None, why: str = "") -> Finding:
    """Something that is required because of something else, `other`."""
    return Finding("FW105", message, span, related=relate(why, other), help=hint)
