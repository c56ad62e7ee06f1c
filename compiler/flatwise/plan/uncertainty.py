"""How far the thickness that is left may be off, part by part."""

from __future__ import annotations

from flatwise.model.stages import Seating, Setup, UncertaintyPart, Work
from flatwise.plan.cutting import lean_part
from flatwise.plan.planes import paper_part


def parts(work: Work, seating: Seating | None, last: Setup, *, one_face: bool) -> tuple[UncertaintyPart, ...]:
    """The parts of the ± on thickness, mm; the ± is their plain sum.

    0.2 × paper, the survey's bound at the touched place (with `z top`), half of the bed's flatness, half the
    diameter times the lean, how well Z comes back, and what the leaves leave open where only one face is cut.
    """
    found = [
        UncertaintyPart("touching off with paper", paper_part(work)),
        UncertaintyPart("survey at the touched place", last.touch.bound if last.touch.on == "top" else 0.0),
        UncertaintyPart("bed", float(work.machine.bed) / 2.0),
        UncertaintyPart("lean of the spindle", lean_part(work)),
        UncertaintyPart("Z coming back", float(work.machine.repeat)),
    ]
    if one_face and seating is not None and seating.shims:
        found.append(UncertaintyPart("gap left over the leaves", max(0.0, *(shim.gap_left for shim in seating.shims))))
    return tuple(part for part in found if part.value > 0)


def plus_minus(found: tuple[UncertaintyPart, ...]) -> float:
    """The plain sum of the parts, mm."""
    return sum(part.value for part in found)
