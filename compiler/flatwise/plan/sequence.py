"""Which setups a job needs, how the panel lies in each, and the plane that each must leave."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from flatwise.core.finding import Finding, Findings
from flatwise.core.surface import Surface
from flatwise.model.job import After, Balanced, FirstTo, SecondTo, Take
from flatwise.model.stages import Panel, Plan, Seating, Setup, Work
from flatwise.plan import planes as heights
from flatwise.plan import uncertainty as budget
from flatwise.plan.setup import Face, border, build, is_bed
from flatwise.survey.after import Measured, measured
from flatwise.survey.readings import thickness_points


@dataclass(frozen=True)
class _Ground:
    """What the planes are worked from: both faces as they lie for the first face, and how far each may be off."""

    work: Work
    upper: Surface
    lower: Surface
    bound_upper: float
    bound_lower: float

    @property
    def grid(self) -> heights.Grid:
        return heights.grid(self.work)


@dataclass(frozen=True)
class _Told:
    """What comes up on the way: notes for the sheet, and findings."""

    notes: list[str] = field(default_factory=list)
    findings: list[Finding] = field(default_factory=list)


def plan(work: Work, panel: Panel, seating: Seating | None) -> tuple[Plan | None, Findings]:
    """The plan of a job: its setups with every pass and move, what they leave, and how far that may be off.

    A Plan comes back even where a face can't come clean or a rule is broken: the checks say so.  None only
    where there is nothing to work from (a panel without a seating) or the cut would take absurdly many passes.
    """
    if is_bed(work):
        ground = _Ground(work, panel.upper, panel.lower, panel.bound_upper, panel.bound_lower)
    elif seating is None:
        return None, ()
    else:
        ground = _Ground(work, seating.upper, seating.lower, seating.bound_upper, seating.bound_lower)
    first_plane = _first_plane(ground)
    told = _Told()
    faces, thickness = _faces(ground, seating, first_plane, told)
    setups: list[Setup] = []
    found = told.findings
    for face in faces:
        made = build(work, face)
        if isinstance(made, Finding):
            found.append(made)
            # both faces have the same cut: one finding says it
            return None, tuple(found)
        setups.append(made)
    if is_bed(work):
        told.notes.extend(border(work))
    parts = budget.parts(work, seating, setups[-1], one_face=work.job.faces.second is None) if setups else ()
    return (
        Plan(
            work=work,
            panel=panel,
            seating=seating,
            setups=tuple(setups),
            target=target(work),
            forecast=thickness,
            plus_minus=budget.plus_minus(parts),
            parts=parts,
            most_left=most_left(ground, first_plane),
            notes=tuple(told.notes),
        ),
        tuple(found),
    )


def target(work: Work) -> float | None:
    """The thickness (or, for a first face alone, the height) that the job asks for, mm; None where it asks for none."""
    second, first = work.job.faces.second, work.job.faces.first
    if isinstance(second, SecondTo):
        return float(second.thickness)
    if second is None and isinstance(first, FirstTo):
        return float(first.height)
    return None


def _first_plane(ground: _Ground) -> float:
    """The plane that the first face leaves, mm above the bed, on the controller's last digit."""
    work, asked, grid = ground.work, ground.work.job.faces.first, ground.grid
    clean = grid.down(heights.clean_plane(work, ground.upper, ground.bound_upper))
    if isinstance(asked, FirstTo):
        return grid.near(float(asked.height))
    if isinstance(asked, Take):
        return grid.near(ground.upper.highest - float(asked.depth))
    second = work.job.faces.second
    if isinstance(asked, Balanced) and isinstance(second, SecondTo):
        bounds = (ground.bound_upper, ground.bound_lower)
        middle = heights.balanced_plane(work, ground.upper, ground.lower, bounds, float(second.thickness))
        return min(clean, grid.near(middle))
    return clean


def _second_plane(work: Work, top: Surface, bound: float, grid: heights.Grid) -> float:
    """The plane that the second face leaves: the thickness of the panel, mm."""
    asked = work.job.faces.second
    if isinstance(asked, SecondTo):
        return grid.near(float(asked.thickness))
    if isinstance(asked, Take):
        return grid.near(top.highest - float(asked.depth))
    return grid.down(heights.clean_plane(work, top, bound))


def most_left(ground: _Ground, first_plane: float) -> float:
    """The thickest that both faces can still be clean at in this pose, every bound taken off, mm.

    Worked from the first plane that is planned, or from the clean one where that would not come clean.  For a
    spoilboard or a first face alone: what the clean plane leaves.
    """
    work, grid = ground.work, ground.grid
    clean = heights.clean_plane(work, ground.upper, ground.bound_upper)
    if work.job.faces.second is None:
        return grid.down(clean) - (ground.lower.mean if not is_bed(work) else ground.lower.highest)
    asked = work.job.faces.first
    base = min(clean, first_plane) if isinstance(asked, FirstTo | Take) else clean
    return grid.down(grid.down(base) - ground.lower.highest - ground.bound_lower - heights.allowance(work))


def _faces(ground: _Ground, seating: Seating | None, first_plane: float, told: _Told) -> tuple[list[Face], float]:
    """The faces to cut now, and the thickness that will be left (mm)."""
    work, job = ground.work, ground.work.job
    shims = seating.shims if seating is not None else ()
    first = Face("first", ground.upper, ground.lower, ground.bound_upper, first_plane, shims)
    if job.after_first is not None and job.after_first.marks is not None and job.after_second is None:
        again = _once_more(work, first, told)
        return [again], again.final - ground.lower.mean
    measured_already = job.after_first is not None or job.after_second is not None
    faces = [first] if job.faces.first is not None and not measured_already else []
    if job.faces.second is None:
        return faces, first_plane - (ground.lower.highest if is_bed(work) else ground.lower.mean)
    thickness, bound = ground.lower.under(first_plane), ground.bound_lower
    if job.after_first is not None and job.after_first.thickness:
        found = _corrected(work, thickness, bound, job.after_first, "first", told)
        thickness, bound = found.thickness, found.bound
    top = thickness.turned(work.turn)
    final = _second_plane(work, top, bound, ground.grid)
    second = Face("second", top, Surface.flat(work.length, work.width, 0.0), bound, final)
    if job.after_second is None:
        return [*faces, second], final
    return _after_second(work, second, job.after_second, told)


def _after_second(work: Work, second: Face, after: After, told: _Told) -> tuple[list[Face], float]:
    """The second face again where the panel is still too thick, or no face at all; and what will be left."""
    if after.marks is not None:
        again = _once_more(work, second, told)
        return [again], again.final
    bound = heights.allowance(work) + float(work.machine.repeat)
    found = _corrected(work, Surface.flat(work.length, work.width, second.final), bound, after, "second", told)
    asked = work.job.faces.second
    readings, _ = thickness_points(work, after)
    if not isinstance(asked, SecondTo) or not len(readings):
        return [], found.thickness.mean
    tolerance = float(asked.within) if asked.within is not None else 0.0
    if float(readings[:, 2].max()) <= float(asked.thickness) + tolerance + 1e-9:
        told.notes.append("The readings after the second face lie within the tolerance: nothing more is cut.")
        return [], found.thickness.mean
    top = found.thickness.turned(work.turn)
    final = heights.grid(work).near(float(asked.thickness))
    return [replace(second, top=top, bound=found.bound, final=final, again=True)], final


def _once_more(work: Work, face: Face, told: _Told) -> Face:
    """The same face one light pass lower, because pencil marks are still there."""
    finish, depth = work.job.cut.finish, work.job.cut.depth
    if finish is not None:
        skim = float(finish)
    elif depth is not None:
        skim = float(depth) / 2.0
    else:
        rule = work.rules.depth
        skim = min(float(work.cutter.depth), rule if rule is not None else float(work.cutter.depth)) / 2.0
    skim = heights.grid(work).step(skim)
    told.notes.append(f"Pencil marks are left on the {face.name} face: one more pass, {skim:g} mm lower.")
    top = Surface.flat(work.length, work.width, face.final)
    bound = heights.allowance(work) + float(work.machine.repeat)
    return replace(face, top=top, bound=bound, final=round(face.final - skim, 9), again=True)


def _corrected(work: Work, thickness: Surface, bound: float, after: After, face: str, told: _Told) -> Measured:
    """The forecast of thickness (panel frame) put right by readings; what they say goes to the sheet."""
    found, findings = measured(work, after, thickness, bound)
    told.findings.extend(findings)
    if found.words:
        told.notes.append(f"After the {face} face: {found.words}.")
    return found
