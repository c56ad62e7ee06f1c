"""FW202 · readings that contradict each other or the stock

These can't all be true:

- two readings of one place, or two probed heights, that differ by more than twice `within`
- a thickness more than a tenth from the nominal one, or a probed height that no such panel has
- a gap below 0, or gaps that together put the lower face inside the bed
- a step that is not at a glue line, or one of the top where the panel is equally thick on both sides
- a word for the free shape (twist, cup or bow) that differs from the readings by more than the panel's own weight and
  the reading errors explain

## Why it hurts
The forecast of the panel, and with it every depth in the program, rests on these numbers. If two of them can't both
be true, one was misread or mistyped, and only you can find out which.

## Fails
```flat
job demo from plain_top {
    survey {
        thickness  front_left 32.0mm, front_left 32.6mm, front_right 32.1mm, back_left 32.1mm, back_right 32.0mm
        thickness  centre 31.9mm, front 32.0mm, back 32.0mm, left 32.0mm, right 32.0mm
        cup        1mm crown      # the gaps under the edges show nearly none
    }
}
```

```flat
job demo from plain_top {
    stock { glue_lines y 125mm, 250mm, 375mm }
    survey {
        thickness  front_left 32.0mm, front_right 32.05mm, back_left 32.05mm, back_right 32.0mm, centre 32.0mm
        step       0.3mm at y 375mm              # of the top alone, but the panel is no thicker beyond this line
    }
}
```

## Mended
```flat
job demo from plain_top {
    survey {
        thickness  front_left 32.0mm, front_right 32.1mm, back_left 32.1mm, back_right 32.0mm
        thickness  centre 31.9mm, front 32.0mm, back 32.0mm, left 32.0mm, right 32.0mm
        cup        0.1mm crown
    }
}
```

```flat
job demo from plain_top {
    stock { glue_lines y 125mm, 250mm, 375mm }
    survey {
        thickness  front_left 32.0mm, front_right 32.05mm, back_left 32.05mm, back_right 32.0mm, centre 32.0mm
        step       through 0.3mm at y 375mm
    }
}
```
"""

from __future__ import annotations

from flatwise.core.finding import Edit, Finding, Fix, Related, relate
from flatwise.core.surface import Array
from flatwise.core.units import UNITS, Quantity, show, show_apart
from flatwise.core.wording import place_name, shape_text
from flatwise.model.job import ProbeFile, Reading, ReadingFile, Step, Survey
from flatwise.model.stages import Work
from flatwise_grammar.nodes import Span


def two_readings(work: Work, kind: str, first: Reading, second: Reading, within: Quantity) -> Finding:
    """Two readings of one place that differ by more than 2 × within."""
    return Finding(
        "FW202",
        f"The {kind} at {_where(work, second)} is given as {first.value} and as {second.value}; two"
        f" readings that are each within {within} can't differ by that much.",
        second.value.span,
        related=(Related(f"the first {kind} at this place", first.value.span),),
        help="Measure this place again and keep one of the two.",
    )


def far_from_nominal(work: Work, reading: Reading) -> Finding:
    """A thickness that differs by more than a tenth from the nominal one."""
    size = work.job.stock.size
    return Finding(
        "FW202",
        f"The thickness of {reading.value} at {_where(work, reading)} differs by more than a"
        f" tenth from the stock's nominal {size.thickness}.",
        reading.value.span,
        related=(Related("the nominal thickness", size.thickness.span),),
        help="Measure again, or correct the thickness in the stock's size.",
    )


def far_in_file(work: Work, reading: ReadingFile, point: Array) -> Finding:
    """The thickness (x, y, t) in a file that differs most from the nominal one, and by more than a tenth."""
    size = work.job.stock.size
    x, y = (show(float(value), size.thickness) for value in point[:2])
    return Finding(
        "FW202",
        f'The thickness of {_reading(float(point[2]), size.thickness)} at ({x}, {y}) in "{reading.file}" differs by'
        f" more than a tenth from the stock's nominal {size.thickness}.",
        reading.file.span,
        related=(Related("the nominal thickness", size.thickness.span),),
        help="Check the file's column `t` and its unit, or correct the thickness in the stock's size.",
    )


def negative_gap(work: Work, gap: Reading) -> Finding:
    """A gap below zero."""
    return Finding(
        "FW202",
        f"The gap under {_where(work, gap)} is given as {gap.value}, but a gap can't be below 0.",
        gap.value.span,
        help="Write 0mm where the panel touches the bed, otherwise the thickest feeler that goes in.",
    )


def no_such_line(work: Work, step: Step) -> Finding:
    """A step that is not at a glue line of the stock."""
    lines = work.job.stock.glue_lines
    there, nearest = "the stock has no glue lines", ""
    if lines is not None:
        if lines.axis == step.axis:
            nearest = f"Did you mean `{min(lines.at, key=lambda at: abs(at - step.line))}`? "
        there = f"the stock's glue lines are at {lines.axis} {', '.join(str(at) for at in lines.at)}"
    return Finding(
        "FW202",
        f"The step of {step.height} is at {step.axis} {step.line}, but {there}.",
        step.line.span,
        related=relate("the glue lines", lines.span if lines is not None else None),
        help=f"{nearest}A step is where two boards meet: write the place of a glue line, or add this line to"
        " `glue_lines`.",
    )


def unlike_step(work: Work, block: Survey, step: Step) -> Finding:
    """A step of the top, although all readings of the thickness agree to 2 × within."""
    equal = show(2 * float(block.within), work.job.stock.size.thickness)
    first, start = block.span("step"), step.height.span.start
    # the height of another line may stand elsewhere: a recipe's parameter gives it
    inside = first.path == step.height.span.path and first.start <= start < first.end
    at = Span(first.path, start, start)
    return Finding(
        "FW202",
        f"The survey says that only the top steps {'down' if step.way else 'up'} by {step.height} at {step.axis}"
        f" {step.line}, but the panel is equally thick on both sides, to {equal}.",
        step.height.span,
        related=(Related("the thickness readings", block.span("thickness")),),
        help=f"Write `step through {step.height}` if the lower face steps as well; otherwise measure the thickness on"
        " both sides of the line again.",
        fix=Fix("Write `through`", (Edit(at, "through "),)) if inside else None,
    )


def below_bed(work: Work, block: Survey, depth: float, bound: float) -> Finding:
    """Gaps whose fitted face passes below the bed by `depth` mm, more than `bound` mm."""
    below, most = show_apart(depth, bound, work.job.stock.size.thickness)
    return Finding(
        "FW202",
        f"Together, the gaps put the lower face {below} below the bed; readings within {block.within} explain at most"
        f" {most} of that.",
        block.span("gap"),
        help="A corner without a gap counts as touching: check the corners again, and give a gap for each that does"
        " not touch.",
    )


def far_probe(work: Work, probe: ProbeFile, point: Array, near_zero: bool) -> Finding:
    """The probed height (x, y, z) that differs most from the expected top, by more than a tenth and 10 mm.

    `near_zero`: all heights of the file lie so near 0 that they seem to count from the panel.
    """
    size = work.job.stock.size
    x, y = (show(float(value), size.thickness) for value in point[:2])
    return Finding(
        "FW202",
        f'The height of {_reading(float(point[2]), size.thickness)} at ({x}, {y}) in "{probe.file}" can\'t be right for'
        f" a panel {size.thickness} thick.",
        probe.file.span,
        related=(Related("the nominal thickness", size.thickness.span),),
        help="Heights count from the bed, in the unit that the file's first line gives. If the probe read 0 on the"
        " panel, add the height of that place to all of them."
        if near_zero
        else "Check the file's column `z` and its unit; heights count from the bed.",
    )


def _reading(value: float, unit: Quantity) -> str:
    """A reading (mm) in a unit of length; one that no panel can have with an exponent instead of its many digits."""
    return show(value, unit) if abs(value) < 1e6 else f"{value / UNITS[unit.unit].worth:.3g}{unit.unit}"


def two_probes(work: Work, probe: ProbeFile, first: Array, second: Array, within: Quantity) -> Finding:
    """Two probed points (x, y, z) of one place that differ by more than 2 × within."""
    unit = work.job.stock.size.thickness
    x, y = (show(float(value), unit) for value in first[:2])
    one, other = show_apart(float(first[2]), float(second[2]), unit)
    return Finding(
        "FW202",
        f'"{probe.file}" has two heights at ({x}, {y}), {one} and {other}; two readings that are each within {within}'
        " can't differ by that much.",
        probe.file.span,
        help="Probe this place again and keep one of the two.",
    )


def unlike_word(work: Work, block: Survey, shape: str, said: float, read: float, hidden: float) -> Finding:
    """A word for the free shape that the readings contradict, all signed (mm).

    `said` is the height of the word, `read` what the readings show, `hidden` what the weight can press out of it.
    """
    unit = work.job.stock.size.thickness
    word, reading = show_apart(abs(said), abs(read), unit, 3)
    flatter = (said < read) == (read >= 0)
    weight = "only flattens a shape" if flatter else f"can press out at most {show(abs(hidden), unit, 2)} of it"
    return Finding(
        "FW202",
        f"The survey says {shape_text(shape, word, said)}, but the readings show {shape_text(shape, reading, read)};"
        f" the panel's weight {weight}, and the uncertainty of each reading is {block.within}.",
        block.span(shape),
        related=(Related("the readings", block.span("gap" if block.gap else "probe")),),
        help=f"Measure again, or leave out the line `{shape}`: the panel is planned as the readings say, and the word"
        " is for its free shape, seen on edge.",
    )


def _where(work: Work, reading: Reading) -> str:
    return place_name(reading.place.name, *reading.place.on(work.length, work.width), reading.value)
