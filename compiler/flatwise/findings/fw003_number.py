"""FW003 · number or unit not understood

A number is written `12`, `0.5`, `3/4` or `1 1/8`, followed by its unit: `12mm`, `1 1/8in`, `14000rpm`. Exponents,
two decimal points, a hyphen in a mixed number and unknown units are refused.

The first line of a file of points names its columns with their units: `x mm,y mm,z mm` or `x in,y in,z in` for
`probe`, with `t` instead of `z` for `thickness`. A file without such a header, one with `t` for `probe` or `z` for
`thickness`, and a row that is not three numbers, are refused.

## Why it hurts
A size that has to be guessed is a cut in the wrong place.

## Fails
```flat
job demo from plain_top {
    cut { depth 0.4mn }
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

from flatwise.core.finding import Finding, Fix
from flatwise.core.fixes import replacing, spoken_unit, sure_word
from flatwise.core.units import UNITS
from flatwise.core.wording import quoted
from flatwise_grammar.nodes import Span


def unknown_unit(unit: str, span: Span, written: str, label: str, likely: Sequence[str]) -> Finding:
    """An unknown unit; `likely` are the units of the expected dimension, the likeliest first.

    The fix is certain where it is spelt out (`inches`), where only capitals differ (`RPM`), or where one likely unit
    alone is spelt much like it.
    """
    same = [symbol for symbol in UNITS if symbol.lower() == unit.lower()]
    spoken = spoken_unit(unit)
    sure = spoken if spoken in likely else same[0] if len(same) == 1 else sure_word(unit, likely)
    return Finding(
        "FW003",
        f"`{written}` at {label} has an unknown unit, `{unit}`.",
        span,
        help=f"Did you mean `{sure}`?" if sure else f"Use {quoted(likely[:4])}.",
        fix=replacing(span, sure) if sure else None,
    )


def no_space(number: str, after: str, span: Span, label: str) -> Finding:
    """A number of things without a space before the x that follows, with or without another number after it."""
    better = f"{number} x {after}".rstrip()
    return Finding(
        "FW003",
        f"`{number}x{after}` at {label} has no space around its x.",
        span,
        help=f"Write `{better}`.",
        fix=replacing(span, better),
    )


def not_a_number(written: str, span: Span, label: str) -> Finding:
    """A number without a value: `1/0in`."""
    return Finding(
        "FW003",
        f"`{written}` at {label} is not a number.",
        span,
        help="Write a whole number, a decimal, a fraction or a mixed number: `3mm`, `0.5mm`, `3/4in`, `1 1/8in`.",
    )


def header(file: str, span: Span, found: str, wanted: str, fix: Fix | None) -> Finding:
    """A point file whose first line, `found`, does not name its columns with their units; "" where there is no header.

    `wanted` is the header that it probably needs.
    """
    other = wanted.replace(" mm", " in") if " mm" in wanted else wanted.replace(" in", " mm")
    begins = f'begins with "{found}", which does not name' if found else "has no header that names"
    return Finding(
        "FW003",
        f'"{file}" {begins} the columns with their units.',
        span,
        help=f"Write `{wanted}` as its first line, or `{other}` if its numbers are in "
        f"{'inches' if ' in' in other else 'millimetres'}.",
        fix=fix,
    )


def other_height(file: str, span: Span, height: str) -> Finding:
    """A point file with a column `t` where its word needs `z`, or the other way round; `height` is what it needs."""
    names = {"z": ("probe", "heights above the bed", "height"), "t": ("thickness", "thicknesses", "thickness")}
    other = "t" if height == "z" else "z"
    (word, reads, _), (other_word, _, means) = names[height], names[other]
    return Finding(
        "FW003",
        f'"{file}" has a column `{other}` ({means}), but `{word}` reads {reads} from a column `{height}`.',
        span,
        help=f'If the column is right, write `{other_word} "{file}"`; otherwise write `{height}` in the first line of'
        " the file.",
    )


def rows(file: str, span: Span, bad: Sequence[tuple[int, str]], count: int, columns: str) -> Finding:
    """Rows of a point file that are not numbers: the first few as (row, text), and how many there are in all."""
    first = "; ".join(f'row {row} is "{text}"' for row, text in bad)
    more = f"; and {count - len(bad)} more" if count > len(bad) else ""
    return Finding(
        "FW003",
        f'"{file}" has {"a row that is" if count == 1 else f"{count} rows that are"} not three numbers: {first}{more}.',
        span,
        help=f"Each row has three numbers, as the header `{columns}` says; a line that starts with # is a comment.",
    )
