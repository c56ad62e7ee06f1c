"""From the readings to both faces of the panel as it lay free, each with its bound.

A bound is the plain sum of what can be off: the readings' errors by their weights, what the readings miss beyond them,
`unseen` × the side for each shape that no reading decides, and half the difference between bow and cup where the
readings can't tell them apart.  No lower face lies below the bed, which bounds a face downward that was surveyed there.
The top of a panel measured by feelers and calipers is a sum of two readings, so its bound holds both errors.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from types import MappingProxyType
from typing import NamedTuple

import numpy as np

from flatwise.core.finding import Finding, Findings
from flatwise.core.surface import Array, Surface, distinct
from flatwise.findings import fw202_contradiction as fw202
from flatwise.findings import fw205_unseen as fw205
from flatwise.model.job import Survey
from flatwise.model.stages import Bound, Panel, Work
from flatwise.survey.estimate import Estimate, Misfit, bound_nodes, fitted_estimate, probed_estimate
from flatwise.survey.forms import TERMS, Form, fit
from flatwise.survey.probe_under import turned_estimate
from flatwise.survey.probes import interpolate
from flatwise.survey.readings import (
    Steps,
    faults,
    gap_points,
    good_steps,
    smooth,
    thickness_points,
    words,
)

#: Bound of each face without a survey, and of the nominal thickness below a probed top (mm).
NO_SURVEY = 1.0
NOMINAL = 0.5
#: Readings may put the lower face this far below the bed beside their errors (mm): the bed is not flat, nor the panel.
BELOW_BED = 0.2
#: From this many points on, a thickness file is interpolated instead of fitted by a form.
MANY = 12


class Estimates(NamedTuple):
    """Lower face, top and thickness without their steps; `posed` says whether readings fix the pose.

    `shapes` are the heights of twist, cup and bow that readings decide (mm).
    """

    lower: Estimate
    upper: Estimate
    thickness: Estimate
    posed: bool
    shapes: Mapping[str, float] = {}


def survey(work: Work) -> tuple[Panel, Findings]:
    """Both faces from the job's survey, in the pose in which the panel lay.  It uses whatever readings are sound.

    Findings: FW202 for readings that contradict each other or the stock, FW205 for what no reading shows, FW105 for a
    probe of the lower face that nothing ties to the top.
    """
    if work.job.stock.is_bed:
        return _bed(work), ()
    block = work.job.survey
    if block is None or not _has_readings(block):
        lower = Surface.flat(work.length, work.width, 0.0)
        upper = Surface.flat(work.length, work.width, work.thickness)
        bound = lower.level(NO_SURVEY)
        panel = Panel(lower, upper, Bound.even(bound), Bound.even(bound), lower.level(2 * NO_SURVEY), False, False)
        return panel, (fw205.no_survey(work, NO_SURVEY),)
    steps, found = good_steps(work, block)
    found += faults(work, block)
    made, more = _estimates(work, block, steps)
    return _panel(work, block, steps, made), (*found, *more, *_unseen(work, block, made))


def _has_readings(block: Survey) -> bool:
    return bool(block.thickness or block.gap or block.step or block.probe or block.cup or block.bow or block.twist)


def _bed(work: Work) -> Panel:
    """The machine's own spoilboard: Z 0 before the cut, known within the flatness of the bed."""
    lower = Surface.flat(work.length, work.width, -work.thickness)
    upper = Surface.flat(work.length, work.width, 0.0)
    bound = upper.level(float(work.machine.bed))
    return Panel(lower, upper, Bound.even(lower.level(0.0)), Bound.even(bound), bound, False, True)


def _estimates(work: Work, block: Survey, steps: Steps) -> tuple[Estimates, list[Finding]]:
    within = float(block.within)
    said = words(work, block)
    top, thickness = _probed_top(work, block, steps, said), _thickness(work, block, steps)
    gaps = smooth(gap_points(work, block), steps, "lower")
    found: list[Finding] = []
    under: Estimate | None = None
    if any(probe.face == "under" for probe in block.probe):
        under, found = turned_estimate(work, block, steps, top, within)
    fitted = _fitted(work, gaps, within, said) if len(gaps) else None
    if top is not None:
        if under is not None:
            lower, thickness = under, top.minus(under)
        elif fitted is not None and not block.thickness:
            lower, thickness = fitted, top.minus(fitted)
        else:
            lower = _reconciled(work, block, steps, top.minus(thickness))
        return Estimates(lower, top, thickness, True, (fitted or top).shapes), found
    if under is not None:
        lower = under
    elif fitted is not None:
        lower = fitted
        found += _below_bed(work, block, steps, lower)
    else:
        undecided = frozenset(TERMS[3:]) - said.keys()
        lower = Estimate(((1.0, _said(work, said)),), within if said else 0.0, undecided)
    posed = bool(len(gaps)) or under is not None
    return Estimates(lower, lower.plus(thickness), thickness, posed, lower.shapes), found


def _below_bed(work: Work, block: Survey, steps: Steps, lower: Estimate) -> list[Finding]:
    """FW202 where the gaps put the lower face farther below the bed than reading errors can."""
    xs = merged_nodes([bound_nodes(work.length)], steps.lines("x", work.length), work.length)
    ys = merged_nodes([bound_nodes(work.width)], steps.lines("y", work.width), work.width)
    depth = -float((steps.on("lower", xs, ys) + lower.on(xs, ys)).min())
    most = BELOW_BED + 2 * float(block.within)
    return [fw202.below_bed(work, block, depth, most)] if depth > most + 1e-9 else []


def _reconciled(work: Work, block: Survey, steps: Steps, lower: Estimate) -> Estimate:
    """The lower face below a probed top, its bound grown by what gaps differ from it beyond all errors."""
    within, worst = float(block.within), Misfit((0.0, 0.0), 0.0, 0.0)
    for gap in block.gap:
        x, y = gap.place.on(work.length, work.width)
        at, on = np.array([x]), np.array([y])
        forecast = float(lower.on(at, on)[0, 0]) + float(steps.rise("lower", at, on)[0])
        bound = float(lower.bound_on(at, on)[0, 0]) + unseen_sum(work, lower.undecided)
        excess = abs(float(gap.value) - forecast) - bound - within
        if excess > worst.added:
            worst = Misfit((x, y), float(gap.value) - forecast, excess)
    if worst.added <= 0:
        return lower
    misfit = worst if worst.added > 2 * within else None
    return lower._replace(bound=lower.bound + worst.added, misfit=misfit)


def _said(work: Work, said: Mapping[str, float]) -> Form:
    """The form that words describe (mm)."""
    terms = np.array([said.get(name, 0.0) for name in TERMS])
    return Form(terms, work.length, work.width, work.job.stock.grain)


def _with_words(
    work: Work,
    points: Array,
    within: float,
    said: Mapping[str, float],
    made: Callable[[Array, Collection[str]], Estimate],
) -> Estimate:
    """The estimate that `made` gives from points, where words settle the shapes that the points leave undecided."""
    estimate = made(points, ())
    named = {name for name in said if name in estimate.undecided}
    if "either" in estimate.undecided:
        named |= said.keys() & {"cup", "bow"}
    if not named:
        return estimate
    spoken = _said(work, {name: said[name] for name in named})
    left = points[:, 2] - spoken.at(points)
    rest = made(np.column_stack((points[:, :2], left)), named)
    fields, undecided = (*rest.fields, (1.0, spoken)), rest.undecided - named
    return rest._replace(fields=fields, undecided=undecided, bound=rest.bound + within)


def _fitted(work: Work, points: Array, within: float, said: Mapping[str, float] = MappingProxyType({})) -> Estimate:
    def made(readings: Array, without: Collection[str]) -> Estimate:
        fitted = fit(readings, work.length, work.width, work.job.stock.grain, without)
        worst = int(np.abs(fitted.residuals).argmax())
        estimate = fitted_estimate(fitted, within, float(work.rules.unseen))
        if abs(fitted.residuals[worst]) <= 2 * within + 1e-9:
            return estimate
        x, y = readings[worst, :2]
        added = float(fitted.misfits(within).max())
        return estimate._replace(misfit=Misfit((float(x), float(y)), float(fitted.residuals[worst]), added))

    return _with_words(work, points, within, said, made)


def _interpolated(
    work: Work, points: Array, within: float, said: Mapping[str, float] = MappingProxyType({})
) -> Estimate:
    def made(readings: Array, without: Collection[str]) -> Estimate:
        probed = interpolate(readings, work.length, work.width, work.job.stock.grain, without)
        return probed_estimate(probed, within, float(work.rules.unseen))

    return _with_words(work, points, within, said, made)


def _thickness(work: Work, block: Survey, steps: Steps) -> Estimate:
    points, from_file = thickness_points(work, block)
    if not len(points):
        nominal = Form(np.array([work.thickness, 0, 0, 0, 0, 0.0]), work.length, work.width, work.job.stock.grain)
        return Estimate(((1.0, nominal),), NOMINAL, frozenset({"offset"}))
    points = smooth(points, steps, "thickness")
    estimate = _interpolated if from_file and len(points) >= MANY else _fitted
    return estimate(work, points, float(block.within))


def _probed_top(work: Work, block: Survey, steps: Steps, said: Mapping[str, float]) -> Estimate | None:
    """The top through all its probe files together; None without one."""
    files = [work.points[probe.file.span] for probe in block.probe if probe.face is None]
    if not files:
        return None
    return _interpolated(work, smooth(np.concatenate(files), steps, "top"), float(block.within), said)


def _panel(work: Work, block: Survey, steps: Steps, made: Estimates) -> Panel:
    fields = [field for _, field in (*made.lower.fields, *made.upper.fields)]
    xs = merged_nodes(
        [*(field.xs for field in fields), bound_nodes(work.length)], steps.lines("x", work.length), work.length
    )
    ys = merged_nodes(
        [*(field.ys for field in fields), bound_nodes(work.width)], steps.lines("y", work.width), work.width
    )

    def face(estimate: Estimate, name: str, unseen: frozenset[str]) -> tuple[Surface, Surface]:
        heights = Surface(xs, ys, steps.on(name, xs, ys) + estimate.on(xs, ys))
        return heights, Surface(xs, ys, estimate.bound_on(xs, ys) + unseen_sum(work, unseen))

    lower, bound_lower = face(made.lower, "lower", made.lower.undecided & set(TERMS[3:]))
    upper, bound_upper = face(made.upper, "top", made.upper.undecided)
    # no lower face lies below the bed, so where it was surveyed lying there, it is off downward by so much less; so is
    # a top that was worked out from it
    spared = np.maximum(bound_lower.z - np.maximum(lower.z, 0.0), 0.0) if made.posed else np.zeros_like(lower.z)
    top_spared = 0.0 if any(probe.face is None for probe in block.probe) else spared
    said = words(work, block)
    bound_thickness = face(made.thickness, "thickness", made.thickness.undecided)[1]
    of_lower = Bound(bound_lower, Surface(xs, ys, bound_lower.z - spared))
    of_upper = Bound(bound_upper, Surface(xs, ys, bound_upper.z - top_spared))
    return Panel(lower, upper, of_lower, of_upper, bound_thickness, True, made.posed, made.shapes, said)


def merged_nodes(lists: Sequence[Array], steps: Array, side: float) -> Array:
    """(n,) all nodes of the lists, 0 and the side, ascending, and each step twice (mm)."""
    nodes = distinct(np.concatenate((*lists, [0.0, side], steps)))
    apart = np.concatenate(([True], np.diff(nodes) > 1e-7))
    nodes = nodes[apart]
    nodes[-1] = side
    return np.sort(np.concatenate((nodes, steps)))


def unseen_side(work: Work, shape: str) -> float:
    """The side of the panel along which a shape runs (mm): the longer one for a twist."""
    along, across = (work.length, work.width) if work.job.stock.grain == "x" else (work.width, work.length)
    sides = {"bow": along, "cup": across, "tilt_x": work.length, "tilt_y": work.width}
    return sides.get(shape, max(work.length, work.width))


def unseen_sum(work: Work, shapes: frozenset[str] | set[str]) -> float:
    """The standard's `unseen` × the side, summed over the shapes (mm); "offset" and "either" add nothing."""
    return sum(float(work.rules.unseen) * unseen_side(work, shape) for shape in TERMS[1:] if shape in shapes)


def _unseen(work: Work, block: Survey, made: Estimates) -> Findings:
    """FW205 for the shapes of either face and of the thickness that no reading decides, each named once."""
    found: list[Finding] = []

    def add(what: str, names: tuple[str, ...], undecided: frozenset[str]) -> None:
        shapes = tuple(name for name in (*names, "either") if name in undecided)
        if shapes:
            found.append(fw205.unseen(work, block, what, shapes, unseen_sum(work, set(shapes))))

    for what, estimate in (("gap", made.lower), ("thickness", made.thickness)):
        if estimate.misfit is not None:
            found.append(fw205.misfit(work, block, what, *estimate.misfit))
    probed = any(probe.face is None for probe in block.probe)
    top = made.upper.undecided if probed else frozenset()
    add("top face", TERMS[1:], top)
    # below a probed top, the lower face is known only from the thickness
    lower = made.lower.undecided - top if not (probed and block.thickness) else frozenset()
    add("lower face", TERMS[3:], lower)
    if "offset" in made.thickness.undecided:
        found.append(fw205.no_thickness(work, block, NOMINAL))
    else:
        add("thickness", TERMS[1:], made.thickness.undecided - lower - top)
    return tuple(found)
