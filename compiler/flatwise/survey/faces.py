"""From the readings to both faces of the panel as it lay free, each with its bound.

A bound is the plain sum of what can be off: the reading error, the largest residual, `unseen` × the side for each
shape that no reading decides, and half the difference between bow and cup where the readings can't tell them apart.
The top of a panel measured by feelers and calipers is a sum of two readings, so its bound holds both errors.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from flatwise.core.finding import Finding, Findings
from flatwise.core.surface import Array, Surface, distinct
from flatwise.findings import fw202_contradiction as fw202
from flatwise.findings import fw205_unseen as fw205
from flatwise.model.job import Survey
from flatwise.model.stages import Panel, Work
from flatwise.survey.estimate import Estimate, SmoothField, fitted_estimate, probed_estimate
from flatwise.survey.forms import TERMS, Form, fit
from flatwise.survey.probe_under import turned_estimate
from flatwise.survey.probes import interpolate
from flatwise.survey.readings import Steps, faults, gap_points, good_steps, smooth, thickness_points, words

#: Bound of each face without a survey, and of the nominal thickness below a probed top (mm).
NO_SURVEY = 1.0
NOMINAL = 0.5
#: From this many points on, a thickness file is interpolated instead of fitted by a form.
MANY = 12


@dataclass(frozen=True)
class Estimates:
    """Lower face, top and thickness without their steps; `posed` says whether readings fix the pose."""

    lower: Estimate
    upper: Estimate
    thickness: Estimate
    posed: bool


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
        panel = Panel(lower, upper, NO_SURVEY, NO_SURVEY, 2 * NO_SURVEY, False, False)
        return panel, (fw205.no_survey(work, NO_SURVEY),)
    steps, found = good_steps(work, block)
    found += faults(work, block)
    made, more = _estimates(work, block, steps)
    return _panel(work, steps, made), (*found, *more, *_unseen(work, block, made))


def _has_readings(block: Survey) -> bool:
    return bool(block.thickness or block.gap or block.step or block.probe or block.cup or block.bow or block.twist)


def _bed(work: Work) -> Panel:
    """The machine's own spoilboard: Z 0 before the cut, known within half the flatness of the bed."""
    lower = Surface.flat(work.length, work.width, -work.thickness)
    upper = Surface.flat(work.length, work.width, 0.0)
    return Panel(lower, upper, 0.0, float(work.machine.bed) / 2.0, float(work.machine.bed) / 2.0, False, True)


def _estimates(work: Work, block: Survey, steps: Steps) -> tuple[Estimates, list[Finding]]:
    within = float(block.within)
    top, thickness = _probed_top(work, block, steps), _thickness(work, block, steps)
    under: Estimate | None = None
    found: list[Finding] = []
    if any(probe.face == "under" for probe in block.probe):
        under, found = turned_estimate(work, block, steps, top, within)
    gaps = smooth(gap_points(work, block), steps, "lower")
    # the words bend both faces alike and leave the thickness as it is
    spoken = Estimate(((1.0, words(work, block)),), 0.0, frozenset())
    if top is not None:
        if under is not None:
            lower, thickness = under, top.minus(under)
        elif len(gaps) and not block.thickness:
            lower = _fitted(work, gaps, within)
            thickness = top.minus(lower)
        else:
            lower = top.minus(thickness)
        if block.thickness and under is None:
            found += _unlike_gaps(work, block, steps, lower)
        return Estimates(lower.plus(spoken), top.plus(spoken), thickness, True), found
    named = {name for name, word in (("twist", block.twist), ("cup", block.cup), ("bow", block.bow)) if word}
    if under is not None:
        lower = under
    elif len(gaps):
        lower = _fitted(work, gaps, within)
        lowest = _sampled(work, steps, lower, "lower", ()).lowest
        if lowest < -lower.bound:
            found.append(fw202.below_bed(work, block, -lowest, lower.bound))
    else:
        lower = Estimate((), within if named else 0.0, frozenset(TERMS[3:]))
    lower = replace(lower, undecided=lower.undecided - named).plus(spoken)
    return Estimates(lower, lower.plus(thickness), thickness, bool(len(gaps)) or under is not None), found


def _fitted(work: Work, points: Array, within: float) -> Estimate:
    fitted = fit(points, work.length, work.width, work.job.stock.grain)
    return fitted_estimate(fitted, within, float(work.rules.unseen))


def _interpolated(work: Work, points: Array, within: float) -> Estimate:
    probed = interpolate(points, work.length, work.width, work.job.stock.grain)
    return probed_estimate(probed, within, float(work.rules.unseen))


def _thickness(work: Work, block: Survey, steps: Steps) -> Estimate:
    points, from_file = thickness_points(work, block)
    if not len(points):
        nominal = Form(np.array([work.thickness, 0, 0, 0, 0, 0.0]), work.length, work.width, work.job.stock.grain)
        return Estimate(((1.0, nominal),), NOMINAL, frozenset({"offset"}))
    points = smooth(points, steps, "thickness")
    estimate = _interpolated if from_file and len(points) >= MANY else _fitted
    return estimate(work, points, float(block.within))


def _probed_top(work: Work, block: Survey, steps: Steps) -> Estimate | None:
    """The top through all its probe files together; None without one."""
    files = [work.points[probe.file.span] for probe in block.probe if probe.face is None]
    if not files:
        return None
    return _interpolated(work, smooth(np.concatenate(files), steps, "top"), float(block.within))


def _panel(work: Work, steps: Steps, made: Estimates) -> Panel:
    lower, upper, thickness = made.lower, made.upper, made.thickness
    return Panel(
        lower=_sampled(work, steps, lower, "lower", upper.fields),
        upper=_sampled(work, steps, upper, "top", lower.fields),
        bound_lower=lower.bound + unseen_sum(work, lower.undecided & set(TERMS[3:])),
        bound_upper=upper.bound + unseen_sum(work, upper.undecided),
        bound_thickness=thickness.bound + unseen_sum(work, thickness.undecided),
        surveyed=True,
        posed=made.posed,
    )


def _sampled(
    work: Work, steps: Steps, estimate: Estimate, face: str, beside: tuple[tuple[float, SmoothField], ...]
) -> Surface:
    """A face with its steps, on its own nodes and those of the fields `beside` it."""
    fields = [field for _, field in (*estimate.fields, *beside)]
    xs = merged_nodes([field.xs for field in fields], steps.lines("x", work.length), work.length)
    ys = merged_nodes([field.ys for field in fields], steps.lines("y", work.width), work.width)
    return Surface(xs, ys, steps.on(face, xs, ys) + estimate.on(xs, ys))


def _unlike_gaps(work: Work, block: Survey, steps: Steps, lower: Estimate) -> list[Finding]:
    """FW202 for each gap that differs from probe minus thickness by more than the errors of all three together."""
    face = _sampled(work, steps, lower, "lower", ())
    bound = lower.bound + float(block.within) + unseen_sum(work, lower.undecided)
    found = []
    for gap in block.gap:
        forecast = float(face.at(*gap.place.on(work.length, work.width)))
        if abs(forecast - float(gap.value)) > bound:
            found.append(fw202.unlike_gap(work, block, gap, forecast, bound))
    return found


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
    found = []

    def add(what: str, names: tuple[str, ...], undecided: frozenset[str]) -> None:
        shapes = tuple(name for name in (*names, "either") if name in undecided)
        if shapes:
            found.append(fw205.unseen(work, block, what, shapes, unseen_sum(work, set(shapes))))

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
