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
from flatwise.core.units import Quantity, show
from flatwise.model.words import CodeWord, Whole
from flatwise_grammar.nodes import Span

#: what a bound asks for, by the name that pydantic gives to its error
RELATIONS = {
    "greater_than": "more than",
    "greater_than_equal": "at least",
    "less_than": "less than",
    "less_than_equal": "at most",
}


def bound(value: Quantity | Whole, label: str, relation: str, limit: float) -> Finding:
    """A value beyond a limit in base units; `relation` is a key of `RELATIONS`."""
    shown = f"{RELATIONS[relation]} {show(limit, value if isinstance(value, Quantity) else '')}"
    return Finding(
        "FW107",
        f"`{value}` at {label} must be {shown}.",
        value.span,
        help=f"Write {shown}.",
        value=float(value),
        limit=limit,
    )


def backwards(least: Quantity, most: Quantity, label: str) -> Finding:
    """A range whose lower end is above its upper end."""
    return Finding(
        "FW107",
        f"The range {least} to {most} at {label} runs backwards.",
        least.span.to(most.span),
        help=f"Write `{most} to {least}`.",
    )


def code(written: CodeWord, label: str, spoken: str) -> Finding:
    """A code that the word does not take."""
    return Finding("FW107", f"`{written}` at {label} is not one of its codes.", written.span, help=f"Write {spoken}.")


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
