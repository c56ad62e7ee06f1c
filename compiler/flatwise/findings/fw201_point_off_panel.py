"""FW201 · survey point off the panel

A reading, a probed point or a place for leaves lies outside the outline that `stock` gives. Positions are measured
from the panel's front-left corner: x to the right along the length, y away from you along the width.

## Why it hurts
A height beside the panel says nothing about it. The usual causes are x and y exchanged, inches written as
millimetres, or points measured from the machine's zero instead of the panel's corner; then all the other points are
wrong too.

## Fails
```flat
job demo from plain_top {
    survey { gap (500mm, 900mm) 0.1mm, back 0.1mm, left 0.05mm, right 0.05mm }
}
```

## Mended
```flat
job demo from plain_top {
    survey { gap (900mm, 500mm) 0mm, front 0.1mm, back 0.1mm, left 0.05mm, right 0.05mm }
}
```
"""

from __future__ import annotations

from flatwise.core.finding import Finding
from flatwise.core.units import Quantity, show
from flatwise_grammar.nodes import Span


def off(
    span: Span,
    x: float,
    y: float,
    length: float | Quantity,
    width: float | Quantity,
    row: int | None = None,
) -> Finding:
    """A point (x, y) that is not on a panel of length × width (mm); `row` is its line in a file of points."""
    unit = length if isinstance(length, Quantity) else "mm"
    point = f"The point ({show(x, unit)}, {show(y, unit)})" + (f" in row {row} of the file" if row is not None else "")
    size = f"{show(float(length), unit)} by {show(float(width), unit)}"
    swapped = 0 <= y <= float(length) and 0 <= x <= float(width)
    help_ = "Measure x and y from the panel's front-left corner, x along its length and y along its width."
    if swapped:
        help_ += " With x and y exchanged, it would lie on the panel."
    return Finding("FW201", f"{point} does not lie on the panel, which is {size}.", span, help=help_)
