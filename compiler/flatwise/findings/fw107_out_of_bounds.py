"""FW107 · value outside its bounds

A value is too small or too large, is negative where that has no meaning, or a range runs backwards.

## Why it hurts
A diameter of 0, a negative depth or a stepover of 900 % is a typing error, and everything after it would be worked
out from it.

## Fails
```flat
job demo from plain_top {
    cut { depth -0.4mm }
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

from flatwise.core.finding import Finding, relate
from flatwise.core.units import show
from flatwise.model.words import Of
from flatwise_grammar.nodes import Span


def judge(value: float, unit: str, written: str, span: Span, label: str, of: Of) -> Finding | None:
    """FW107 for a value (base units) outside its bounds, None for one within them."""
    for bound, fails, spoken in (
        (of.above, of.above is not None and value <= of.above, "more than"),
        (of.least, of.least is not None and value < of.least, "at least"),
        (of.below, of.below is not None and value >= of.below, "less than"),
        (of.most, of.most is not None and value > of.most, "at most"),
    ):
        if fails and bound is not None:
            limit = show(bound, unit)
            return Finding(
                "FW107",
                f"`{written}` at {label} must be {spoken} {limit}.",
                span,
                help=f"Write {spoken} {limit}.",
                value=value,
                limit=bound,
            )
    return None


def backwards(least: str, most: str, span: Span, label: str) -> Finding:
    """A range whose lower end is above its upper end."""
    return Finding(
        "FW107",
        f"The range {least} to {most} at {label} runs backwards.",
        span,
        help=f"Write `{most} to {least}`.",
    )


def code(written: str, span: Span, label: str, spoken: str) -> Finding:
    """A code that the word does not take."""
    return Finding("FW107", f"`{written}` at {label} is not one of its codes.", span, help=f"Write {spoken}.")


def beyond(
    message: str,
    span: Span,
    hint: str,
    other: Span | None = None,
    why: str = "",
    *,
    value: float | None = None,
    limit: float | None = None,
) -> Finding:
    """A value beyond what another value, `other`, allows."""
    return Finding("FW107", message, span, related=relate(why, other), help=hint, value=value, limit=limit)
