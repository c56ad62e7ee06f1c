"""What was measured after a face was cut: the forecast put right by it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flatwise.core.finding import Findings
from flatwise.core.surface import Array, Surface
from flatwise.core.units import show
from flatwise.model.job import After
from flatwise.model.stages import Work
from flatwise.survey.estimate import fitted_known
from flatwise.survey.faces import merged_nodes, unseen_sum
from flatwise.survey.forms import TERMS, fit
from flatwise.survey.readings import contradictions, thickness_points


@dataclass(frozen=True)
class Measured:
    """The thickness after readings (mm), how far it may be off (mm), the mean and largest difference of the readings
    from the forecast (mm, with sign), and the same in words for the sheet."""

    thickness: Surface
    bound: float
    mean: float
    most: float
    words: str


def measured(work: Work, after: After, forecast: Surface, bound: float) -> tuple[Measured, Findings]:
    """Correct a forecast of thickness (mm, off by up to `bound`) by readings taken after a face was cut.

    The differences of the readings from the forecast are fitted as a form (offset, tilts, twist, cup, bow, as many
    as they decide) that is added to it.  The new bound is the reading error and the largest residual, and for
    shapes that they leave open `unseen` × the side, but never more than the old bound and the correction.  Where
    the mean difference alone leaves less (reading error, largest residual and the old bound), only that is added.
    FW202: two readings of one place that differ by more than 2 × within.
    """
    off_by = after.off(work.job.survey)
    within = float(off_by)
    points, _ = thickness_points(work, after)
    if not len(points):
        return Measured(forecast, bound, 0.0, 0.0, ""), ()
    off = points[:, 2] - forecast.at(points[:, 0], points[:, 1])
    fitted = fit(np.column_stack((points[:, :2], off)), work.length, work.width, work.job.stock.grain)
    known = fitted_known(fitted, within, float(work.rules.unseen))
    doubled_x = forecast.xs[1:][np.diff(forecast.xs) <= 1e-9]
    doubled_y = forecast.ys[1:][np.diff(forecast.ys) <= 1e-9]
    xs = merged_nodes([fitted.form.xs, forecast.xs], doubled_x, work.length)
    ys = merged_nodes([fitted.form.ys, forecast.ys], doubled_y, work.width)
    correction = fitted.form.on(xs, ys)
    thickness = Surface(xs, ys, _resampled(forecast, xs, ys) + correction)
    open_shapes = known.undecided & set(TERMS[1:])
    new = min(known.off + unseen_sum(work, open_shapes), bound + float(np.abs(correction).max()))
    most = float(off[int(np.abs(off).argmax())])
    mean = float(off.mean())
    # few readings, close together or on a line, throw a tilt or a twist far; the plane that was cut may well be off as
    # a whole, but the shape under it is known within the old bound: of both the one that says more is taken
    level = within + float(np.abs(off - mean).max()) + bound
    if level < new:
        thickness, new = forecast.plus(0.0, 0.0, mean), level
    unit = work.job.stock.size.thickness
    side = "thicker" if mean >= 0 else "thinner"
    mean_of = (
        f" in the mean of {len(off)} readings, at most {show(abs(most), unit)} {'thicker' if most >= 0 else 'thinner'}"
        if len(off) > 1
        else " by one reading"
    )
    words = f"measured {show(abs(mean), unit)} {side} than forecast{mean_of}; now known within {show(new, unit)}"
    found = tuple(contradictions(work, "thickness", after.thickness, off_by))
    return Measured(thickness, new, mean, most, words), found


def _resampled(face: Surface, xs: Array, ys: Array) -> Array:
    """Heights at nodes that contain the face's own, both of a doubled pair kept."""
    eps = 1e-9
    x = np.where(np.append(np.diff(xs) <= eps, False), xs - 1e-7, xs)
    y = np.where(np.append(np.diff(ys) <= eps, False), ys - 1e-7, ys)
    return face.at(x[None, :], y[:, None])
