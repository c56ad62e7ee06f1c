"""FW205 · no survey, or a shape that no reading shows

The panel was not measured, or not where its shape would show: twist, cup across the grain, bow along it, or taper.
The worst case is assumed and added to what must come off.

The same code warns of readings that say less than they seem to:

- a file of points that covers less than a fifth of the panel; often its header names the wrong unit
- a reading that differs from the shape that fits all readings by more than twice `within`; where that is more than the
  uncertainty there, the uncertainty grows by the rest
- readings after a face that differ from the forecast by more than all uncertainties explain; the plan follows them

## Why it hurts
The allowance comes off as wood. One more reading, a minute's work, often saves half a millimetre of thickness.

## Fails
```flat
job demo from plain_top {
    survey { thickness front_left 32.0mm, front_right 32.1mm, back_left 32.1mm, back_right 32.0mm }
}
```
```flat
job demo from plain_top {
    # by the readings around it, 32.0mm are expected in the middle of the front edge
    survey {
        thickness  front_left 32.0mm, front_right 32.1mm, back_left 32.1mm, back_right 32.0mm
        thickness  centre 31.9mm, front 32.5mm, back 32.0mm, left 32.0mm, right 32.0mm
    }
}
```

## Mended
```flat
job demo from plain_top {
    survey {
        thickness front_left 32.0mm, front_right 32.1mm, back_left 32.1mm, back_right 32.0mm
        thickness left 32.0mm, right 32.0mm, front 32.0mm, back 32.0mm
    }
}
```
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

from flatwise.core.finding import Finding, relate
from flatwise.core.units import show, show_apart
from flatwise.core.wording import listed, place_name
from flatwise.model.job import After, Survey
from flatwise.model.stages import Work
from flatwise.model.words import PLACES
from flatwise_grammar.nodes import Span


def no_survey(work: Work, bound: float) -> Finding:
    """A job without a single reading, each face uncertain by `bound` mm; an error where the standard wants a survey."""
    unit = work.job.stock.size.thickness
    required = work.rules.survey
    wants = ", and the shop's standard requires a survey" if required else ""
    return Finding(
        "FW205",
        f"The panel has not been measured{wants}; it is assumed flat and {unit} thick, with an uncertainty of"
        f" {show(bound, unit)} on each face.",
        work.job.survey.head if work.job.survey is not None else work.job.stock.head,
        "error" if required else "warning",
        related=relate("the rule", work.rules.spans.get("survey") if required else None),
        help="Add a survey: the thickness at the corners, the middles of the edges and the centre, and the gap under"
        " each edge that does not touch; `flatwise measure` writes a form for it.",
        rule="survey" if required else "",
        value=0.0 if required else None,
        limit=1.0 if required else None,
    )


def no_thickness(work: Work, block: Survey, bound: float) -> Finding:
    """No thickness was measured: the nominal one is assumed, uncertain by `bound` mm."""
    unit = work.job.stock.size.thickness
    return Finding(
        "FW205",
        f"No reading gives the panel's thickness; it is assumed {unit} thick all over, with an uncertainty of"
        f" {show(bound, unit)}.",
        block.head,
        "warning",
        help="Measure the thickness at the corners, the middles of the edges and the centre.",
    )


def small_area(file: str, span: Span, share: float, likely: str = "") -> Finding:
    """A file of points that covers only a share of the panel; in the unit `likely`, if given, it would cover more."""
    way_out = "Otherwise measure from edge to edge." if likely else "Measure from edge to edge."
    if likely:
        unit = "inches" if likely == "in" else "millimetres"
        way_out = f"If its numbers are in {unit}, write `{likely}` after the names in its first line. {way_out}"
    return Finding(
        "FW205",
        f'The points in "{file}" cover only {share * 100:.2g}% of the panel; its shape beyond them is a guess.',
        span,
        "warning",
        help=way_out,
    )


def unseen(work: Work, block: Survey, what: str, shapes: tuple[str, ...], amount: float) -> Finding:
    """Shapes of the top face, lower face or thickness that no reading decides; they add `amount` mm to the bound."""
    unit = work.job.stock.size.thickness
    kind = {"lower face": "gap", "top face": "probe", "thickness": "thickness"}[what]
    measure = "Probe the top face" if kind == "probe" else f"Measure the {kind}"
    grain_x = work.job.stock.grain == "x"
    ends, sides = ("left and right", "front and back") if grain_x else ("front and back", "left and right")
    where = {
        "tilt_x": "at two places along the length",
        "tilt_y": "at two places along the width",
        "twist": "at all four corners",
        "cup": f"at {ends}",
        "bow": f"at {sides}",
    }
    names = {"tilt_x": "tapers along its length", "tilt_y": "tapers along its width", "twist": "is twisted"}
    names |= {"cup": "is cupped across the grain", "bow": "is bowed along it"}
    if "cup" not in shapes:
        names["bow"] = "is bowed along the grain"
    real = [shape for shape in shapes if shape != "either"]
    if not real:
        return Finding(
            "FW205",
            f"The readings of the {what} can't tell cup across the grain from bow along it; the mean of both is used,"
            " and half the difference is added to the uncertainty.",
            block.span(kind),
            "warning",
            help=f"{measure} at {ends} as well, which tells the two apart.",
        )
    return Finding(
        "FW205",
        f"No reading shows whether the {what} {listed([names[shape] for shape in real])}; {show(amount, unit)} is"
        " added to the uncertainty.",
        block.span(kind),
        "warning",
        help=f"{measure} {listed([where[shape] for shape in real], 'and')}.",
    )


def misfit(work: Work, block: Survey, kind: str, place: tuple[float, float], amount: float, added: float) -> Finding:
    """A reading that lies `amount` mm from the shape that all readings give; it adds `added` mm to the bound."""
    unit = work.job.stock.size.thickness
    off, most = show_apart(abs(amount), 2 * float(block.within), unit, 3)
    widened = show(added, unit)
    more = f"; {widened} is added to the uncertainty" if widened != show(0.0, unit) else ""
    return Finding(
        "FW205",
        f"The {kind} at {place_at(work, place)} is {off} {'more' if amount > 0 else 'less'} than in the shape that fits"
        f" all readings, but readings within {block.within} explain only {most} of that{more}.",
        block.span("thickness" if kind == "thickness" else "gap"),
        "warning",
        help="Measure this place again. If the reading is right, the panel is wavy there: probe the face, or add"
        " readings around it.",
    )


def unlike_forecast(work: Work, after: After, mean: float, bound: float) -> Finding:
    """Readings after a face that lie farther from the forecast on average than its bound and their own (mm)."""
    off, known = show_apart(abs(mean), bound, work.job.stock.size.thickness, 3)
    return Finding(
        "FW205",
        f"After this face the panel is {off} {'thicker' if mean > 0 else 'thinner'} than forecast on average, but the"
        f" forecast is known within {known}; the plan follows the readings.",
        after.head,
        "warning",
        help="Measure again; if the readings are right, the panel is not the one surveyed, or zero was set elsewhere.",
    )


def place_at(work: Work, place: tuple[float, float]) -> str:
    """A point (mm) as people say it: the named place that it lies on, else its coordinates."""
    for name, (across, up) in PLACES.items():
        if max(abs(place[0] - across * work.length), abs(place[1] - up * work.width)) < 0.5:
            return place_name(name, *place, work.job.stock.size.thickness)
    return place_name("", *place, work.job.stock.size.thickness)
