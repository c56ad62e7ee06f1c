"""FW202 · readings that contradict each other or the stock

Two readings of one place differ by more than both can be off, a thickness is more than a tenth from the nominal,
a gap is negative, a step is not at a glue line, or the readings together put the lower face inside the bed.

## Why it hurts
The forecast of the panel, and with it every depth of the program, stands on these numbers.  When two of them can't
both be true, one was misread or miswritten, and nobody but you can say which.

## Fails
```flat
job demo from plain_top {
    survey {
        thickness  front_left 32.0mm, front_left 32.6mm, front_right 32.1mm, back_left 32.1mm, back_right 32.0mm
        thickness  centre 31.9mm, front 32.0mm, back 32.0mm, left 32.0mm, right 32.0mm
    }
}
```

## Mended
```flat
job demo from plain_top {
    survey {
        thickness  front_left 32.0mm, front_right 32.1mm, back_left 32.1mm, back_right 32.0mm
        thickness  centre 31.9mm, front 32.0mm, back 32.0mm, left 32.0mm, right 32.0mm
    }
}
```
"""

from __future__ import annotations

from flatwise.core.finding import Finding, Related
from flatwise.core.surface import Array
from flatwise.core.units import Quantity, show
from flatwise.findings.fw201_point_off_panel import spoken
from flatwise.model.job import Reading, ReadingFile, Step, Survey
from flatwise.model.stages import Work


def two_readings(work: Work, kind: str, first: Reading, second: Reading, within: Quantity) -> Finding:
    """Two readings of one place that differ by more than 2 × within."""
    place = second.place
    x, y = place.on(work.length, work.width)
    return Finding(
        "FW202",
        f"The {kind} at {spoken(place.name, x, y, second.value)} is given as {first.value} and as {second.value}, which"
        f" differ by more than two readings can that are each within {within}.",
        second.value.span,
        related=(Related(f"the first {kind} of this place", first.value.span),),
        help="Measure this place again and keep one of the two.",
    )


def far_from_nominal(work: Work, reading: Reading) -> Finding:
    """A thickness more than a tenth from the nominal one."""
    x, y = reading.place.on(work.length, work.width)
    size = work.job.stock.size
    return Finding(
        "FW202",
        f"The thickness {reading.value} at {spoken(reading.place.name, x, y, reading.value)} is more than a tenth away"
        f" from the {size.thickness} that the stock is said to be.",
        reading.value.span,
        related=(Related("the nominal thickness", size.thickness.span),),
        help="Measure again, or correct the thickness in the stock's size.",
    )


def far_in_file(work: Work, reading: ReadingFile, point: Array) -> Finding:
    """The thickness (x, y, t) of a file that is furthest from the nominal one, more than a tenth."""
    size = work.job.stock.size
    x, y, t = (show(float(value), size.thickness) for value in point)
    return Finding(
        "FW202",
        f'The file "{reading.file}" has a thickness of {t} at ({x}, {y}), more than a tenth away from the'
        f" {size.thickness} that the stock is said to be.",
        reading.file.span,
        related=(Related("the nominal thickness", size.thickness.span),),
        help="Check the file's third column (thickness in mm), or correct the thickness in the stock's size.",
    )


def negative_gap(work: Work, gap: Reading) -> Finding:
    """A gap below nothing."""
    x, y = gap.place.on(work.length, work.width)
    return Finding(
        "FW202",
        f"The gap under {spoken(gap.place.name, x, y, gap.value)} is given as {gap.value}, and a gap can't be less than"
        " nothing.",
        gap.value.span,
        help="Write 0mm where the panel touches the bed, else the feeler that just goes in.",
    )


def no_such_line(work: Work, step: Step) -> Finding:
    """A step that is not at a glue line of the stock."""
    lines = work.job.stock.glue_lines
    related: tuple[Related, ...] = ()
    if lines is None:
        there = "the stock names no glue lines"
    else:
        there = f"the stock's glue lines are at {lines.axis} {', '.join(str(at) for at in lines.at)}"
        related = (Related("the glue lines", lines.span),)
    return Finding(
        "FW202",
        f"The step of {step.height} is said to be at {step.axis} {step.line}, but {there}.",
        step.line.span,
        related=related,
        help="A step is where two boards meet: give the place of the glue line, or add the line to glue_lines.",
    )


def below_bed(work: Work, block: Survey, depth: float, bound: float) -> Finding:
    """Gaps whose fitted face passes below the bed by `depth` mm, more than its bound."""
    unit = block.gap[0].value if block.gap else "mm"
    return Finding(
        "FW202",
        f"The gaps together put the lower face {show(depth, unit)} below the bed, more than the {show(bound, unit)}"
        " that they can be off.",
        block.span("gap"),
        help="Corners that no gap is given for count as touching: feel them again, and give a gap for each that does"
        " not touch.",
    )


def unlike_gap(work: Work, block: Survey, gap: Reading, forecast: float, bound: float) -> Finding:
    """A gap that probe and thickness together contradict."""
    x, y = gap.place.on(work.length, work.width)
    return Finding(
        "FW202",
        f"The gap under {spoken(gap.place.name, x, y, gap.value)} is given as {gap.value}, but the probed heights and"
        f" the thickness put the lower face {show(forecast, gap.value)} above the bed there, and they can be off by"
        f" {show(bound, gap.value)} together.",
        gap.value.span,
        related=(Related("the probed heights", block.span("probe")),),
        help="Make sure that the probe counts from the bed and that the panel lay the same way for both.",
    )
