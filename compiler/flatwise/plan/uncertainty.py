"""The ± on the thickness that is left, part by part."""

from __future__ import annotations

from flatwise.core.units import settled
from flatwise.model.job import SecondTo
from flatwise.model.stages import Panel, Seating, Setup, UncertaintyPart, Work
from flatwise.plan.cutting import lean_part
from flatwise.plan.planes import bed_part, paper_part


def uncertainty_parts(
    work: Work, seating: Seating, last: Setup, survey_part: float | None
) -> tuple[UncertaintyPart, ...]:
    """The parts of the ± on thickness, mm, without those that are 0; the ± is their plain sum.

    0.2 × paper; with `z top` `survey_part`, or else the survey's bound at the place last touched; the flatness of the
    bed; ½·D·tan(lean); the repeatability of Z; and the largest gap left above leaves, in a job that cuts one face.
    """
    surveyed = 0.0 if last.touch.on == "bed" else last.touch.bound if survey_part is None else survey_part
    found = _always(work, surveyed)
    if work.job.faces.second is None and seating.shims:
        found.append(UncertaintyPart("gap left above the leaves", max(shim.gap_left for shim in seating.shims)))
    return tuple(part for part in found if settled(part.value) > 0.0)


def thickness_of_both(work: Work) -> SecondTo | None:
    """The thickness asked for, of a job that is still to cut both faces; None of any other."""
    job = work.job
    asked = job.faces.second
    to_cut = job.faces.first is not None and not (job.after_first or job.after_second)
    return asked if to_cut and isinstance(asked, SecondTo) else None


def never_within(work: Work, panel: Panel) -> bool:
    """Whether the job certainly can't keep its tolerance, wherever the panel lies and zero is touched off.

    False also where only the plan can decide.
    """
    asked = thickness_of_both(work)
    if asked is None or asked.within is None:
        return False
    surveyed = 0.0 if work.job.zero.z.on == "bed" else panel.bound_thickness.lowest
    return sum(part.value for part in _always(work, surveyed)) > float(asked.within) + 1e-6


def _always(work: Work, surveyed: float) -> list[UncertaintyPart]:
    """The parts that every job has; `surveyed` is what the survey adds, mm."""
    return [
        UncertaintyPart("touching off with paper", paper_part(work)),
        UncertaintyPart("survey at the touched place", surveyed),
        UncertaintyPart("bed", bed_part(work)),
        UncertaintyPart("lean of the spindle", lean_part(work)),
        UncertaintyPart("repeatability of Z", float(work.machine.repeat)),
    ]
