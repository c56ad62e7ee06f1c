"""Which faces a job still has to cut, how the panel lies for each, and the plane that each must leave."""

from __future__ import annotations

from typing import NamedTuple

from flatwise.core.finding import Finding, Findings
from flatwise.core.surface import Surface
from flatwise.core.units import show
from flatwise.model.job import After, Balanced, FirstTo, SecondTo, Take
from flatwise.model.stages import Bound, Panel, Plan, Seating, Setup, Work
from flatwise.plan.cutting import deepest_allowed
from flatwise.plan.planes import allowance, balanced_plane, clean_plane, height_grid
from flatwise.plan.rows import widest_bite
from flatwise.plan.setup import FaceToCut, border, overrun_of, plan_setup
from flatwise.plan.touch import bound_near, shared_place, touch
from flatwise.plan.uncertainty import thickness_of_both, uncertainty_parts
from flatwise.survey import Correction, correct
from flatwise.survey.readings import thickness_points


class CutsAhead(NamedTuple):
    """The faces to cut now, the thickness that will be left (mm), notes for the sheet, and findings of readings."""

    faces: tuple[FaceToCut, ...]
    thickness: float
    notes: tuple[str, ...] = ()
    findings: Findings = ()
    #: what the survey adds to the ±, if that is not the bound at the last place touched, mm
    survey_part: float | None = None


def plan(
    work: Work, panel: Panel, seating: Seating, *, moves: bool = True, least_lift: float = 0.0
) -> tuple[Plan | None, Findings]:
    """The plan of a job: its setups with every pass and move, the thickness that they leave, and its ±.

    Without `moves` its setups have planes and figures but no passes.  Moves in the air go at `least_lift` (mm above the
    bed) or higher.

    There is a Plan even where a face can't come clean or a rule is broken, because the checks report that.  It is None
    only for a cut of absurdly many passes or rows.

    Findings: FW107 for such a cut, FW202 for contradictory readings after a face.
    """
    first_plane = _first_plane(work, seating)
    ahead = _cuts_ahead(work, seating, first_plane)
    setups: list[Setup] = []
    for face in ahead.faces:
        made = plan_setup(work, face, moves=moves, least_lift=least_lift)
        if isinstance(made, Finding):
            # the other face would only give the same finding
            return None, (*ahead.findings, made)
        setups.append(made)
    parts = uncertainty_parts(work, seating, setups[-1], ahead.survey_part) if setups else ()
    planned = Plan(
        work=work,
        panel=panel,
        seating=seating,
        setups=tuple(setups),
        target=target(work),
        forecast=ahead.thickness,
        plus_minus=sum(part.value for part in parts),
        parts=parts,
        most_left=most_left(work, seating, first_plane),
        notes=(*ahead.notes, *(border(work) if work.job.stock.is_bed else ())),
    )
    return planned, ahead.findings


def falls_short(work: Work, seating: Seating) -> bool:
    """Whether the faces certainly can't both come clean at the thickness asked for.

    Needs neither touch places nor passes.  False also where only the plan can decide.
    """
    asked = thickness_of_both(work)
    if asked is None:
        return False
    left = most_left(work, seating, _first_plane(work, seating))
    return left < float(asked.thickness) - 2.0 * work.machine.controller.digit


def target(work: Work) -> float | None:
    """The thickness (for a first face alone, the height) that the job asks for, mm; None if it asks for none."""
    second, first = work.job.faces.second, work.job.faces.first
    if isinstance(second, SecondTo):
        return float(second.thickness)
    if second is None and isinstance(first, FirstTo):
        return float(first.height)
    return None


def _first_plane(work: Work, seating: Seating) -> float:
    """The plane that the first face leaves, mm above the bed, on the controller's last digit."""
    asked, grid = work.job.faces.first, height_grid(work)
    if isinstance(asked, FirstTo):
        return grid.near(float(asked.height))
    if isinstance(asked, Take):
        return grid.near(seating.upper.highest - float(asked.depth))
    clean = grid.down(clean_plane(work, seating.upper, seating.bound_upper))
    second = work.job.faces.second
    if isinstance(asked, Balanced) and isinstance(second, SecondTo):
        bounds = (seating.bound_upper, seating.bound_lower)
        middle = balanced_plane(work, seating.upper, seating.lower, bounds, float(second.thickness))
        return min(clean, grid.near(middle))
    return clean


def _second_plane(work: Work, top: Surface, bound: Bound) -> float:
    """The plane that the second face leaves, which is the thickness of the panel, mm."""
    asked, grid = work.job.faces.second, height_grid(work)
    if isinstance(asked, SecondTo):
        return grid.near(float(asked.thickness))
    if isinstance(asked, Take):
        return grid.near(top.highest - float(asked.depth))
    return grid.down(clean_plane(work, top, bound))


def most_left(work: Work, seating: Seating, first_plane: float) -> float:
    """The greatest thickness at which both faces still come clean in this pose, with every bound taken off, mm.

    It counts from the first plane as planned, or from the clean plane if that lies lower.  For a spoilboard or a first
    face alone, it is what the clean plane leaves.
    """
    grid = height_grid(work)
    clean = clean_plane(work, seating.upper, seating.bound_upper)
    if work.job.faces.second is None:
        return grid.down(clean) - _underside(work, seating)
    base = min(clean, first_plane) if isinstance(work.job.faces.first, FirstTo | Take) else clean
    return grid.down(grid.down(base) - seating.lower.raised(seating.bound_lower.over).highest - allowance(work))


def _underside(work: Work, seating: Seating) -> float:
    """The height that the thickness counts from where one face is cut, mm above the bed."""
    return seating.lower.highest if work.job.stock.is_bed else seating.lower.mean


def _cuts_ahead(work: Work, seating: Seating, first_plane: float) -> CutsAhead:
    """The faces to cut now, from the job and its readings after a face."""
    job = work.job
    both = job.faces.first is not None and job.faces.second is not None
    place = shared_place(work, seating.upper, seating.lower, seating.bound_thickness) if both else None
    at_place = bound_near(work, seating.bound_thickness, place) if place is not None else None
    first = FaceToCut("first", seating.upper, seating.lower, seating.bound_upper, first_plane, seating.shims, place)
    if job.after_first is not None and job.after_first.marks is not None and job.after_second is None:
        again, note = _skimmed(work, first)
        return CutsAhead((again,), again.final - seating.lower.mean, (note,))
    cuts_first = job.faces.first is not None and job.after_first is None and job.after_second is None
    faces = (first,) if cuts_first else ()
    if job.faces.second is None:
        return CutsAhead(faces, first_plane - _underside(work, seating))
    thickness, bound = seating.lower.under(first_plane), seating.bound_lower.mirrored()
    notes: tuple[str, ...] = ()
    findings: Findings = ()
    if job.after_first is not None and job.after_first.thickness:
        found, findings = correct(work, job.after_first, thickness, bound)
        notes = _note(found, "first")
        if place is not None and at_place is not None:
            found, at_place = _met(work, found, place, float(thickness.at(*place)), at_place)
        thickness, bound = found.thickness, Bound.even(found.bound)
    top, bound = thickness.turned(work.turn), bound.turned(work.turn)
    final = _second_plane(work, top, bound)
    turned = work.turned(*place) if place is not None else None
    second = FaceToCut("second", top, Surface.flat(work.length, work.width, 0.0), bound, final, touched=turned)
    if job.after_second is None:
        return CutsAhead((*faces, second), final, notes, findings, at_place)
    after = _after_second(work, second, job.after_second)
    return after._replace(notes=notes + after.notes, findings=findings + after.findings)


def _met(
    work: Work, found: Correction, place: tuple[float, float], forecast: float, bound: float
) -> tuple[Correction, float]:
    """A correction that also meets what is known at the place that both faces are touched at, and its bound there, mm.

    There the thickness is `forecast` ± `bound`, since the first face was touched there.  Where the correction lies
    apart from that, the readings count.
    """
    corrected, known = float(found.thickness.at(*place)), bound_near(work, found.bound, place)
    low, high = max(forecast - bound, corrected - known), min(forecast + bound, corrected + known)
    if low > high:
        return found, known
    moved = (low + high) / 2.0 - corrected
    thickness, wider = found.thickness.plus(0.0, 0.0, moved), found.bound.plus(0.0, 0.0, abs(moved))
    return found._replace(thickness=thickness, bound=wider), (high - low) / 2.0


def _after_second(work: Work, second: FaceToCut, after: After) -> CutsAhead:
    """The second face again if the panel is still too thick or marks are left, else no face."""
    if after.marks is not None:
        again, note = _skimmed(work, second)
        return CutsAhead((again,), again.final, (note,))
    left = Surface.flat(work.length, work.width, second.final)
    found, findings = correct(work, after, left, Bound.even(left.level(allowance(work) + float(work.machine.repeat))))
    notes = _note(found, "second")
    asked = work.job.faces.second
    readings, _ = thickness_points(work, after)
    if not isinstance(asked, SecondTo) or not len(readings):
        return CutsAhead((), found.thickness.mean, notes, findings)
    least, most = accepted(work, after, asked)
    if readings[:, 2].min() < least:
        return CutsAhead((), found.thickness.mean, notes, findings)
    if readings[:, 2].max() <= most:
        enough = "The readings after the second face are within the tolerance, so nothing more is cut."
        return CutsAhead((), found.thickness.mean, (*notes, enough), findings)
    final = height_grid(work).near(float(asked.thickness))
    top, bound = found.thickness.turned(work.turn), Bound.even(found.bound.turned(work.turn))
    again = second._replace(top=top, bound=bound, final=final, again=True)
    return CutsAhead((again,), final, notes, findings)


def _skimmed(work: Work, face: FaceToCut) -> tuple[FaceToCut, str]:
    """The same face one light pass lower, because pencil marks are left, and the note that says so.

    The pass takes the finish depth, or else half the depth.  The zero is still set, so its top is known to a digit.
    """
    finish = work.job.cut.finish
    depth = float(finish) if finish is not None else deepest_allowed(work, widest_bite(work, overrun_of(work))) / 2.0
    skim = height_grid(work).step(depth)
    kept = touch(work, face.name, face.top, face.bound, face.touched)._replace(kept=True)
    top = Surface.flat(work.length, work.width, face.final)
    unit = finish if finish is not None else work.job.cut.depth or work.job.stock.size.thickness
    note = f"Pencil marks are left on the {face.name} face: one more pass, {show(skim, unit)} lower."
    again = face._replace(
        top=top, bound=Bound.even(top.level(0.0)), final=round(face.final - skim, 9), again=True, kept=kept
    )
    return again, note


def accepted(work: Work, after: After, asked: SecondTo) -> tuple[float, float]:
    """The least and the most that a reading after a face may be, mm: the thickness asked for and its tolerance.

    Where the job asks for no tolerance, the uncertainty of the readings counts.
    """
    tolerance = float(asked.within if asked.within is not None else after.uncertainty(work.job.survey)) + 1e-9
    return float(asked.thickness) - tolerance, float(asked.thickness) + tolerance


def _note(found: Correction, face: str) -> tuple[str, ...]:
    return (f"After the {face} face: {found.words}.",) if found.words else ()
