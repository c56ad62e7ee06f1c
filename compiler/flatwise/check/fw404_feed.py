"""FW404 · feed beyond the machine

The job's feed is faster than the machine can feed in a cut.

## Why it hurts
The controller would slow the cut down without saying so, and chip load, time and power would not be as planned; or
the axes would lose their position.

## Fails
```flat
job demo from plain_top {
    cut { feed 9m/min }
}
```

## Mended
```flat
job demo from plain_top {
    cut { feed 8m/min }
}
```
"""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.core.finding import Finding
from flatwise.core.fixes import at_most, value_fix
from flatwise.core.units import Quantity
from flatwise.model.stages import Plan


def check(plan: Plan) -> Iterator[Finding]:
    """Compare a written feed with the machine's."""
    feed, most = plan.work.job.cut.feed, float(plan.work.machine.feed.most)
    if isinstance(feed, Quantity) and float(feed) > most + 1e-6:
        yield Finding(
            "FW404",
            f"The feed of {feed} is faster than the machine's limit of {at_most(most, feed)} in a cut.",
            feed.span,
            help=f"Write {at_most(most, feed)} or less, or auto.",
            fix=value_fix(feed, at_most(most, feed)),
            value=float(feed),
            limit=most,
        )
