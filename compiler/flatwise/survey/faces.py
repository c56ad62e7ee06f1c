"""From readings to the two faces of the panel as it lay free, and the bound of each.

A bound is the plain sum of what can be off: the reading error, the largest residual, for each shape that no
reading decides `unseen` × its side, and half of what bow and cup differ by where they can't be told apart.
The top of a panel read by feelers and calipers is a sum of two readings, so its bound has both errors in it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np

from flatwise.core.finding import Finding, Findings
from flatwise.core.surface import Array, Surface, distinct
from flatwise.findings import fw202_contradiction as fw202
from flatwise.findings import fw205_unseen as fw205
from flatwise.model.job import Survey
from flatwise.model.stages import Panel, Work
from flatwise.survey.estimate import Field, Known, fitted_known, probed_known
from flatwise.survey.forms import TERMS, Form, fit
from flatwise.survey.probes import Probed, through
from flatwise.survey.readings import Steps, faults, gap_points, good_steps, smooth, thickness_points, words

#: Bound of a face that nobody surveyed, and of the nominal thickness under a probe (mm).
NO_SURVEY = 1.0
NOMINAL = 0.5
#: From so many points of a file on, a thickness is interpolated and no longer a form.
MANY = 12


def survey(work: Work) -> tuple[Panel | None, Findings]:
    """The faces as forecast from the job's survey, in the pose in which the panel lay.

    Findings: FW202 readings that contradict each other or the stock, FW205 what no reading shows, FW105 a probe
    of the lower face that nothing ties to the upper one.  Goes on with what is whole; always gives a Panel.
    """
    if work.job.stock.is_bed:
        return _bed(work), ()
    block = work.job.survey
    if block is None or not _has_readings(block):
        flat = Surface.flat(work.length, work.width, 0.0)
        top = Surface.flat(work.length, work.width, work.thickness)
        panel = Panel(flat, top, NO_SURVEY, NO_SURVEY, 2 * NO_SURVEY, False, False)
        return panel, (fw205.no_survey(work, NO_SURVEY),)
    steps, found = good_steps(work, block)
    found += faults(work, block)
    lower, upper, thickness, posed, more = _known(work, block, steps)
    found += more
    panel = _panel(work, steps, lower, upper, thickness, posed)
    return panel, tuple(found) + _unseen(work, block, lower, upper, thickness)


def _has_readings(block: Survey) -> bool:
    return bool(block.thickness or block.gap or block.step or block.probe or block.cup or block.bow or block.twist)


def _bed(work: Work) -> Panel:
    """The machine's own spoilboard: Z 0 before the cut, off by half of what the bed is flat within."""
    lower = Surface.flat(work.length, work.width, -work.thickness)
    upper = Surface.flat(work.length, work.width, 0.0)
    return Panel(lower, upper, 0.0, float(work.machine.bed) / 2.0, float(work.machine.bed) / 2.0, False, True)


def _known(work: Work, block: Survey, steps: Steps) -> tuple[Known, Known, Known, bool, list[Finding]]:
    """Lower face, upper face and thickness, steps left out; whether the pose is known."""
    length, width, grain = work.length, work.width, work.job.stock.grain
    within = float(block.within)
    said = words(work, block)
    spoken = {name for name, word in (("twist", block.twist), ("cup", block.cup), ("bow", block.bow)) if word}
    found: list[Finding] = []
    gaps = smooth(gap_points(work, block), steps, "lower")
    thick = _thickness(work, block, steps, within)
    top = _probed(work, block, steps, within)
    under: Known | None = None
    if any(probe.face == "under" for probe in block.probe):
        from flatwise.survey.probe_under import turned_probe

        under, tied = turned_probe(work, block, steps, top, within)
        found += tied
    said_known = Known(((1.0, said),), 0.0, frozenset())
    if top is not None:
        if under is not None:
            lower, thick = under, top.minus(under)
        elif len(gaps) and not block.thickness:
            lower = fitted_known(fit(gaps, length, width, grain), within, float(work.rules.unseen))
            thick = top.minus(lower)
        else:
            lower = top.minus(thick)
        if block.thickness and under is None:
            found += _unlike_gaps(work, block, steps, lower)
        # words bend both faces alike and so do not touch the thickness
        return lower.plus(said_known), top.plus(said_known), thick, True, found
    if under is not None:
        lower = under
    elif len(gaps):
        fitted = fit(gaps, length, width, grain)
        lower = fitted_known(fitted, within, float(work.rules.unseen))
        as_read = _sampled(work, steps, Known(((1.0, fitted.form),), 0.0, frozenset()), "lower", ())
        if (lowest := as_read.lowest) < -lower.off:
            found.append(fw202.below_bed(work, block, -lowest, lower.off))
    else:
        unknown = frozenset(TERMS[3:]) - spoken
        lower = Known((), within if spoken else 0.0, unknown)
    lower = replace(lower, undecided=lower.undecided - spoken).plus(said_known)
    return lower, lower.plus(thick), thick, bool(len(gaps)) or under is not None, found


def _thickness(work: Work, block: Survey, steps: Steps, within: float) -> Known:
    points, from_file = thickness_points(work, block)
    if not len(points):
        nominal = Form(np.array([work.thickness, 0, 0, 0, 0, 0.0]), work.length, work.width, work.job.stock.grain)
        return Known(((1.0, nominal),), NOMINAL, frozenset({"offset"}))
    points = smooth(points, steps, "thickness")
    if from_file and len(points) >= MANY:
        probed = through(points, work.length, work.width, work.job.stock.grain)
        return probed_known(probed, within, float(work.rules.unseen))
    return fitted_known(fit(points, work.length, work.width, work.job.stock.grain), within, float(work.rules.unseen))


def _probed(work: Work, block: Survey, steps: Steps, within: float) -> Known | None:
    """The probed top, all its files together."""
    files = [work.points[probe.file.span] for probe in block.probe if probe.face is None]
    if not files:
        return None
    probed: Probed = through(smooth(np.concatenate(files), steps, "top"), work.length, work.width, work.job.stock.grain)
    return probed_known(probed, within, float(work.rules.unseen))


def _panel(work: Work, steps: Steps, lower: Known, upper: Known, thickness: Known, posed: bool) -> Panel:
    return Panel(
        lower=_sampled(work, steps, lower, "lower", upper.fields),
        upper=_sampled(work, steps, upper, "top", lower.fields),
        bound_lower=lower.off + unseen_sum(work, lower.undecided & set(TERMS[3:])),
        bound_upper=upper.off + unseen_sum(work, upper.undecided),
        bound_thickness=thickness.off + unseen_sum(work, thickness.undecided),
        surveyed=True,
        posed=posed,
    )


def _sampled(work: Work, steps: Steps, known: Known, face: str, beside: tuple[tuple[float, Field], ...]) -> Surface:
    """A face with its steps, on its own nodes and those of the fields beside it."""
    fields = [field for _, field in (*known.fields, *beside)]
    xs = merged_nodes([field.xs for field in fields], steps.lines("x", work.length), work.length)
    ys = merged_nodes([field.ys for field in fields], steps.lines("y", work.width), work.width)
    return Surface(xs, ys, steps.on(face, xs, ys) + known.on(xs, ys))


def _unlike_gaps(work: Work, block: Survey, steps: Steps, lower: Known) -> list[Finding]:
    """FW202 where a gap differs from what probe and thickness together say by more than all of them can be off."""
    face = _sampled(work, steps, lower, "lower", ())
    may = lower.off + float(block.within) + unseen_sum(work, lower.undecided)
    found = []
    for gap in block.gap:
        x, y = gap.place.on(work.length, work.width)
        forecast = float(face.at(x, y))
        if abs(forecast - float(gap.value)) > may:
            found.append(fw202.unlike_gap(work, block, gap, forecast, may))
    return found


def merged_nodes(lists: Sequence[Array], steps: Array, side: float) -> Array:
    """All nodes of all fields, ascending, those at steps twice."""
    nodes = distinct(np.concatenate((*lists, [0.0, side], steps)))
    apart = np.concatenate(([True], np.diff(nodes) > 1e-7))
    nodes = nodes[apart]
    nodes[-1] = side
    return np.sort(np.concatenate((nodes, steps)))


def unseen_side(work: Work, shape: str) -> float:
    """The side of the panel that a shape runs along (mm): a twist or a wedge either way takes the longer one."""
    along = work.length if work.job.stock.grain == "x" else work.width
    across = work.width if work.job.stock.grain == "x" else work.length
    sides = {"bow": along, "cup": across, "tilt_x": work.length, "tilt_y": work.width}
    return sides.get(shape, max(work.length, work.width))


def unseen_sum(work: Work, shapes: frozenset[str] | set[str]) -> float:
    return sum(float(work.rules.unseen) * unseen_side(work, shape) for shape in shapes if shape in TERMS[1:])


def _unseen(work: Work, block: Survey, lower: Known, upper: Known, thickness: Known) -> Findings:
    found = []

    def say(what: str, names: tuple[str, ...], undecided: frozenset[str]) -> None:
        shapes = tuple(name for name in (*names, "either") if name in undecided)
        if shapes:
            found.append(fw205.unseen(work, block, what, shapes, unseen_sum(work, set(shapes))))

    probed = any(probe.face is None for probe in block.probe)
    top = upper.undecided if probed else frozenset()
    say("top face", TERMS[1:], top)
    # under a probed top it is the thickness that the lower face is known by
    own = lower.undecided - top if not (probed and block.thickness) else frozenset()
    say("lower face", TERMS[3:], own)
    if "offset" in thickness.undecided:
        found.append(fw205.no_thickness(work, block, NOMINAL))
    else:
        say("thickness", TERMS[1:], thickness.undecided - own - top)
    return tuple(found)
