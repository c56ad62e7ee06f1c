"""FW202 · readings that contradict each other or the stock

Two readings of one place differ by more than their errors allow, a thickness is more than a tenth from the nominal
one, a gap is negative, a step is not at a glue line, or the readings together put the lower face inside the bed.

## Why it hurts
The forecast of the panel, and with it every depth in the program, rests on these numbers. If two of them can't both
be true, one was misread or mistyped, and only you can find out which.

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

from flatwise.core.finding import Finding, Related, relate
from flatwise.core.surface import Array
from flatwise.core.units import Quantity, show, show_apart
from flatwise.core.wording import place_name
from flatwise.model.job import ProbeFile, Reading, ReadingFile, Step, Survey
from flatwise.model.stages import Work


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
    x, y, t = (show(float(value), size.thickness) for value in point)
    return Finding(
        "FW202",
        f'The thickness of {t} at ({x}, {y}) in "{reading.file}" differs by more than a tenth from the stock\'s nominal'
        f" {size.thickness}.",
        reading.file.span,
        related=(Related("the nominal thickness", size.thickness.span),),
        help="Check the file's third column (thickness in mm), or correct the thickness in the stock's size.",
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
    there = "the stock has no glue lines"
    if lines is not None:
        there = f"the stock's glue lines are at {lines.axis} {', '.join(str(at) for at in lines.at)}"
    return Finding(
        "FW202",
        f"The step of {step.height} is at {step.axis} {step.line}, but {there}.",
        step.line.span,
        related=relate("the glue lines", lines.span if lines is not None else None),
        help="A step is where two boards meet: write the place of a glue line, or add this line to `glue_lines`.",
    )


def below_bed(work: Work, block: Survey, depth: float, bound: float) -> Finding:
    """Gaps whose fitted face passes below the bed by `depth` mm, more than `bound` mm."""
    below, most = show_apart(depth, bound, block.gap[0].value if block.gap else "mm")
    return Finding(
        "FW202",
        f"Together, the gaps put the lower face {below} below the bed; readings within {block.within} explain at most"
        f" {most} of that.",
        block.span("gap"),
        help="A corner without a gap counts as touching: check the corners again, and give a gap for each that does"
        " not touch.",
    )


def far_probe(work: Work, block: Survey, probe: ProbeFile, point: Array, near_zero: bool) -> Finding:
    """The probed height (x, y, z) that differs most from the expected top, by more than a tenth and 10 mm.

    `near_zero`: all heights of the file lie so near 0 that they seem to count from the panel.
    """
    size = work.job.stock.size
    x, y = (show(float(value), size.thickness) for value in point[:2])
    return Finding(
        "FW202",
        f'The height of {_height(float(point[2]), size.thickness)} at ({x}, {y}) in "{probe.file}" can\'t be right for'
        f" a panel {size.thickness} thick.",
        probe.file.span,
        related=(Related("the nominal thickness", size.thickness.span),),
        help="Heights count from the bed, not from the panel: add the height of the place where the probe read 0."
        if near_zero
        else "Check the file's third column and the unit in its first line.",
    )


def _height(value: float, unit: Quantity) -> str:
    return show(value, unit) if abs(value) < 1e6 else f"{value:.3g}mm"


def two_probes(work: Work, probe: ProbeFile, first: Array, second: Array, within: Quantity) -> Finding:
    """Two probed points (x, y, z) of one place that differ by more than 2 × within."""
    unit = work.job.stock.size.thickness
    x, y, z, other = (show(float(value), unit) for value in (*first, second[2]))
    return Finding(
        "FW202",
        f'"{probe.file}" has two heights at ({x}, {y}), {z} and {other}; two readings that are each within {within}'
        " can't differ by that much.",
        probe.file.span,
        help="Probe this place again and keep one of the two.",
    )


def unlike_word(work: Work, block: Survey, shape: str, said: float, read: float, hidden: float) -> Finding:
    """A word for the free shape that the readings contradict, all signed (mm).

    `said` is the height of the word, `read` what the readings show, `hidden` what the weight can press out of it.
    """
    unit, within = getattr(block, shape).height, block.within
    return Finding(
        "FW202",
        f"The survey says {shape_shown(shape, said, unit)}, but the readings show {shape_shown(shape, read, unit)}; the"
        f" panel's weight can press at most {show(abs(hidden), unit)} out of that shape, and the readings are right to"
        f" {within}.",
        block.span(shape),
        related=(Related("the readings", block.span("gap" if block.gap else "probe")),),
        help=f"Measure again, or leave out the line `{shape}`: the panel is planned as the readings say, and the word"
        " is for its free shape, seen on edge.",
    )


def shape_shown(shape: str, height: float, unit: Quantity) -> str:
    """A signed height of twist, cup or bow (mm) as the survey would write it."""
    ways = {"twist": ("", " other way")}.get(shape, (" crown", " hollow"))
    return f"{shape} {show(abs(height), unit)}{ways[height < 0]}"


def _where(work: Work, reading: Reading) -> str:
    return place_name(reading.place.name, *reading.place.on(work.length, work.width), reading.value)
