"""FW702 · a waiver without a reason, or without need

A waiver lets one job break one rule of the shop's standard. It must say why, because the next person at the machine
has only that sentence to go by. It must also be needed: a waiver that is left in a file would hide the next breach of
that rule.

A waiver without a reason is an error. A waiver that is not needed is a warning.

## Why it hurts
A rule exists because somebody once lost a panel, a cutter or worse. Breaking it is sometimes right, but the reason has
to be on record.

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
    """The error for a waiver of `rule` with no reason or an empty one."""
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
        help="Remove the waiver, so that it can't hide a later breach.",
    )
