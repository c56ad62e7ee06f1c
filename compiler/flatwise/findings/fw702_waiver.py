"""FW702 · a waiver without a reason, or without need

A waiver lets one rule of the shop's standard through for one job. It must say why, because the next person at
the machine has only that sentence to go by; and it must be needed, because a waiver that lies about in a file
would let the next breach of that rule through unseen.

Without a reason it is an error. A waiver that nothing needs is a warning.

## Why it hurts
A rule is there because somebody once lost a panel, a cutter or worse. Breaking it is sometimes right, but never
without a thought that can be read later.

## Fails
```flat
job demo from plain_top {
    waive depth because ""
    cut { depth 0.8mm }
}
```

## Mended
```flat
job demo from plain_top {
    waive depth because "two passes of this depth went well on an offcut of the same boards"
    cut { depth 0.8mm }
}
```
"""

from __future__ import annotations

from flatwise.core.finding import Finding
from flatwise.model.job import Waive
from flatwise_grammar.nodes import Span


def no_reason(span: Span, rule: str) -> Finding:
    """The error for a waiver of `rule` that says no reason, or an empty one."""
    return Finding(
        "FW702",
        f"The rule {rule} is waived without a reason.",
        span,
        help=f'Say why in a sentence that the next person can judge: waive {rule} because "tried on an offcut".',
    )


def without_need(waive: Waive) -> Finding:
    """The warning for a waiver that no finding needed."""
    return Finding(
        "FW702",
        f"The rule {waive.rule} is waived, but the job does not break it.",
        waive.span,
        severity="warning",
        help="Take the waiver out, so that it cannot let a later breach through unseen.",
    )
