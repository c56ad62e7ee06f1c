"""FW107 · value outside its bounds

A value is too small or too large, is negative where that has no meaning, or a range runs backwards. `decimals` of a
controller is too small where its last digit is more than a tenth of a depth or tolerance: planes lie on whole digits.
The name of a job or batch is longer than a folder's may be. Or there is more of something than can be worked out in a
few seconds: passes, rows, places for leaves, jobs in a file.

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

from flatwise.core.finding import Edit, Finding, Fix, relate
from flatwise.core.units import Quantity, show, show_apart
from flatwise.model.shop import Machine
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
    _, text = show_apart(float(value), limit, value if isinstance(value, Quantity) else "")
    shown = f"{RELATIONS[relation]} {text}"
    return Finding(
        "FW107",
        f"`{value}` at {label} must be {shown}.",
        value.span,
        help=f"Write {shown}.",
        value=float(value),
        limit=limit,
    )


def long_name(kind: str, name: str, span: Span, limit: int) -> Finding:
    """A job or batch whose files would lie in a folder with too long a name."""
    return Finding(
        "FW107",
        f"The name of this {kind} has {len(name)} characters; the limit is {limit}.",
        span,
        help="Its files lie in a folder of that name. Write a shorter one.",
        value=len(name),
        limit=limit,
    )


def taken_over(name: str, base: str, span: Span) -> Finding:
    """A declaration with which its file takes over more of others than one file may."""
    return Finding(
        "FW107",
        f"With `{name}`, the declarations of this file take over more words and values from others (`like`, `from`) "
        f"than a file may: `{base}` is too long for so many.",
        span,
        help=f"Write fewer lines in `{base}`, or spread what starts from it over several files.",
    )


def many_jobs(count: int, span: Span, limit: int) -> Finding:
    """A file of more jobs than one file may have, the first beyond them at `span`."""
    return Finding(
        "FW107",
        f"This file has {count} jobs; {limit} are the most that one file may have.",
        span,
        help="Move those from this one on to another file, which can `use` this one for what they share.",
        value=count,
        limit=limit,
    )


def no_time(left: int, count: int, span: Span) -> Finding:
    """The note of an editor about jobs that a check has left out so far, the first of them at `span`."""
    return Finding(
        "FW107",
        f"This file takes long to check: {left} of {count} jobs, from this one on, have not been worked out yet.",
        span,
        "note",
        help="`flatwise check` works all of them out. Fewer jobs in a file are checked sooner.",
        value=left,
        limit=0.0,
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


def digits(machine: Machine, what: str, value: float, unit: str | Quantity, written: Span | None) -> Finding:
    """A controller whose last digit is more than a tenth of a `value` in mm, which is written at `written`.

    The fix writes the least decimals that do, if six or fewer do.
    """
    controller = machine.controller
    enough = next((places for places in range(1, 7) if controller.unit * 10.0**-places <= value / 10.0 + 1e-12), None)
    place = controller.decimals.span if controller.decimals is not None else controller.span("decimals")
    digit = show(controller.digit, controller.units, 6)
    if controller.units not in (unit, getattr(unit, "unit", unit)):
        digit += f" ({show(controller.digit, unit)})"
    return Finding(
        "FW107",
        f"With {controller.places} decimal{'s' * (controller.places != 1)}, machine `{machine.name}` moves in steps of "
        f"{digit}, more than a tenth of {what}, {show(value, unit)}.",
        place if place.path else machine.head,
        related=relate(f"{what} is set here", written),
        help=f"Write `decimals {enough}` in its controller." if enough else f"Make {what} larger.",
        fix=Fix(f"Write `decimals {enough}`", (Edit(controller.decimals.span, str(enough)),))
        if enough and controller.decimals is not None
        else None,
        value=controller.digit,
        limit=value / 10.0,
    )


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
