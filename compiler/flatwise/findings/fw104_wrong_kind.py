"""FW104 · wrong kind of value or dimension

A line has the wrong kind of value: a bare number where a unit is needed, a speed where a length is needed, a string
where a name is needed, or parts in the wrong order.

## Why it hurts
`0.4` may be millimetres or inches, and one is 25 times the other.

## Fails
```flat
job demo from plain_top {
    cut { depth 0.4 }
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

from collections.abc import Sequence

from flatwise.core.finding import Edit, Finding, Fix, relate
from flatwise.core.fixes import replacing
from flatwise.core.units import NAME_WITH_ARTICLE
from flatwise.core.wording import capitalised, listed, quoted
from flatwise_grammar.nodes import Name, Span


def bare(number: str, span: Span, label: str, spoken: str, likely: Sequence[str], how: str) -> Finding:
    """A number without its unit; with a fix where only one value is likely."""
    fix = replacing(span, likely[0]) if len(likely) == 1 else None
    return Finding(
        "FW104",
        f"`{number}` at {label} has no unit; {spoken.partition(',')[0]} is expected.",
        span,
        help=f"Write {quoted(likely)}." if likely else f"Write it like {how}.",
        fix=fix,
    )


def comma(written: str, digits: int, span: Span, label: str) -> Finding:
    """A number with a comma and `digits` after it; three digits may mean thousands."""
    point = written.replace(",", ".")
    thousands = f", or `{written.replace(',', '')}`; in a list, each value needs its unit" if digits == 3 else ""
    fix = None if thousands else replacing(span, point)
    return Finding(
        "FW104",
        f"`{written}` at {label} has a comma, which separates two values.",
        span,
        help=f"Write `{point}`, with a decimal point{thousands}.",
        fix=fix,
    )


def dimension(written: str, span: Span, label: str, has: str, due: str, how: str) -> Finding:
    """A value of another dimension than the expected one, `due`."""
    return Finding(
        "FW104",
        f"`{written}` at {label} is {NAME_WITH_ARTICLE[has]}; {NAME_WITH_ARTICLE[due]} is expected.",
        span,
        help=f"Write it like {how}.",
    )


def phrase(label: str, span: Span, before: str, wants: Sequence[str], found: str, hint: str) -> Finding:
    """A line whose parts are not those that its word takes; `before` is what it has before them."""
    if wants:
        long = any("," in want or " or " in want for want in wants)
        wanted = f"{'; '.join(wants[:-1])}; or {wants[-1]}" if long and len(wants) > 1 else listed(wants)
        instead = f"not `{found}`" if found else "but the line ends there"
        subject = f"After `{before}`, {label}" if before else capitalised(label)
        message = f"{subject} takes {wanted}, {instead}."
    else:
        message = f"After `{before}`, the line of {label} should end, but `{found}` follows."
    return Finding("FW104", message, span, help=hint)


def kind_before(name: Name, kind: Name, label: str) -> Finding:
    """A name with its kind before it: `walk gauge dial_10`."""
    drop = Edit(Span(kind.span.path, kind.span.start, name.span.start), "")
    return Finding(
        "FW104",
        f"{capitalised(label)} takes the name alone, without `{kind.text}` before it.",
        kind.span,
        help=f"Write `{name.text}`.",
        fix=Fix(f"Remove `{kind.text}`", (drop,)),
    )


def line_of_its_own(label: str, word: Name, example: str, *, certain: bool) -> Finding:
    """A word of the block in the middle of another word's line."""
    edit = Edit(Span(word.span.path, word.span.start, word.span.start), "; ")
    return Finding(
        "FW104",
        f"The line of {label} should end before `{word.text}`, which begins a line of its own.",
        word.span,
        help=f"Begin a new line there, such as `{example}`, or write `;` before it.",
        fix=Fix(f"Write `;` before `{word.text}`", (edit,)) if certain else None,
    )


def continued(before: str, comma: Span, label: str, after: str) -> Finding:
    """A comma at the end of a line, so that the next line, which begins with `after`, is read as part of it."""
    return Finding(
        "FW104",
        f"The comma after `{before}` continues the line of {label}, but `{after}` begins another one.",
        comma,
        help="Remove the comma.",
        fix=Fix("Remove the comma", (Edit(comma, ""),)),
    )


def not_whole(written: str, span: Span, label: str) -> Finding:
    return Finding(
        "FW104", f"`{written}` at {label} is not a whole number.", span, help="Write a whole number such as `3`."
    )


def point(written: str, span: Span, label: str) -> Finding:
    return Finding(
        "FW104",
        f"`{written}` at {label} is not a point of two lengths.",
        span,
        help="Write a point as `(120mm, 45mm)`: to the right of the front-left corner, then away from the front edge.",
    )


def block_expected(word: str, owner: str, span: Span) -> Finding:
    """A line in place of a block."""
    return Finding("FW104", f"`{word}` in {owner} is a block, not a line.", span, help=f"Write it as `{word} {{ … }}`.")


def line_expected(word: str, owner: str, span: Span, example: str) -> Finding:
    """A block in place of a line."""
    return Finding(
        "FW104", f"`{word}` in {owner} is a line, not a block.", span, help=f"Write it like `{word} {example}`."
    )


def reserved(name: str, span: Span, why: str) -> Finding:
    """The name of a parameter that would be read as something else."""
    return Finding("FW104", f"`{name}` can't be the name of a parameter: {why}.", span, help="Choose another name.")


def balanced(span: Span, message: str, other: Span | None = None) -> Finding:
    """`balanced` where it can't be worked out."""
    help = "Write `second to` and the thickness, such as `second to 29mm`."
    return Finding("FW104", message, span, related=relate("the second face", other), help=help)


def few_points(file: str, span: Span, rows: int) -> Finding:
    return Finding(
        "FW104",
        f'"{file}" has {rows} row{"" if rows == 1 else "s"} of points; at least 3 are needed.',
        span,
        help="Probe at least three places that are not on one line.",
    )


def key(word: str, span: Span, path: str, due: str) -> Finding:
    """A key of the project file with the wrong kind of value."""
    return Finding("FW104", f"The key `{word}` of {path} takes {due}.", span, help=f"Write {due} after `{word} =`.")
