"""FW703 · waived

The job breaks a rule of the shop's standard, and a waiver in the job allows it. The build goes on; this warning, the
sheet and the summary give the rule, the figures and the reason.

## Why it hurts
A waived rule is a risk that somebody took on purpose. Whoever stands at the machine must see that it was taken, and
why.

## Fails
```flat
job demo from plain_top {
    waive depth because "two passes of this depth went well on an offcut of the same boards"
    cut { depth 0.8mm }
}
```

## Mended
```flat
job demo from plain_top {
    cut { depth 0.6mm }
}
```
"""

from __future__ import annotations

from flatwise.core.finding import Finding, Related
from flatwise.model.job import Waive


def waived(finding: Finding, waiver: Waive) -> Finding:
    """The warning that replaces a breach of a rule when a waiver allows it."""
    reason = str(waiver.reason or "").strip()
    return finding._replace(
        code="FW703",
        severity="warning",
        message=f"The rule {waiver.rule} is waived: {finding.message}",
        related=(Related(f"waived here: {reason}", waiver.span), *finding.related),
        help=f"Reason given: {reason}",
        fix=None,
    )
