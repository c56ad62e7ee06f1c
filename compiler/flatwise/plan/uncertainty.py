"""The ± on the thickness that is left, part by part."""

from __future__ import annotations

from flatwise.model.stages import Seating, Setup, UncertaintyPart, Work
from flatwise.plan.cutting import lean_part
from flatwise.plan.planes import paper_part


def uncertainty_parts(work: Work, seating: Seating, last: Setup, *, one_face: bool) -> tuple[UncertaintyPart, ...]:
    """The parts of the ± on thickness, mm, without those that are 0; the ± is their plain sum.

    0.2 × paper; the survey's bound at the touched place (with `z top`); half the flatness of the bed; ½·D·tan(lean);
    the repeatability of Z; and the largest gap left above leaves, in a job that cuts one face.
    """
    found = [
        UncertaintyPart("touching off with paper", paper_part(work)),
        UncertaintyPart("survey at the touched place", last.touch.bound if last.touch.on == "top" else 0.0),
        UncertaintyPart("bed", float(work.machine.bed) / 2.0),
        UncertaintyPart("lean of the spindle", lean_part(work)),
        UncertaintyPart("repeatability of Z", float(work.machine.repeat)),
    ]
    if one_face and seating.shims:
        found.append(UncertaintyPart("gap left above the leaves", max(shim.gap_left for shim in seating.shims)))
    return tuple(part for part in found if part.value > 0)
