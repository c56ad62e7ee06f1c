"""The forecast of thickness, corrected by readings taken after a face was cut."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flatwise.core.finding import Findings
from flatwise.core.surface import Array, Surface
from flatwise.core.units import show
from flatwise.model.job import After
from flatwise.model.stages import Work
from flatwise.survey.estimate import fitted_estimate
from flatwise.survey.faces import merged_nodes, unseen_sum
from flatwise.survey.forms import TERMS, fit
from flatwise.survey.readings import contradictions, thickness_points


@dataclass(frozen=True)
class Correction:
    """The corrected thickness (mm) and its bound (mm); the mean and the largest difference of the readings from the
    forecast (mm, positive where the panel is thicker); and the same in words for the sheet."""

    thickness: Surface
    bound: float
    mean: float
    most: float
    words: str


def correct(work: Work, after: After, forecast: Surface, bound: float) -> tuple[Correction, Findings]:
    """Correct a forecast of thickness (mm, known within `bound`) by readings taken after a face was cut.

    A form (offset, tilts, twist, cup and bow, as many as the readings decide) is fitted to the differences of the
    readings from the forecast and added to it.  The new bound is the reading error + the largest residual + `unseen`
    × the side for each undecided shape, but at most the old bound + the largest correction.  Where the mean
    difference alone gives a smaller bound (reading error + largest residual + old bound), only the mean is added.

    Finding: FW202 for two readings of one place that differ by more than 2 × within.
    """
    quantity = after.uncertainty(work.job.survey)
    within = float(quantity)
    points, _ = thickness_points(work, after)
    if not len(points):
        return Correction(forecast, bound, 0.0, 0.0, ""), ()
    off = points[:, 2] - forecast.at(points[:, 0], points[:, 1])
    fitted = fit(np.column_stack((points[:, :2], off)), work.length, work.width, work.job.stock.grain)
    estimate = fitted_estimate(fitted, within, float(work.rules.unseen))
    doubled_x = forecast.xs[1:][np.diff(forecast.xs) <= 1e-9]
    doubled_y = forecast.ys[1:][np.diff(forecast.ys) <= 1e-9]
    xs = merged_nodes([fitted.form.xs, forecast.xs], doubled_x, work.length)
    ys = merged_nodes([fitted.form.ys, forecast.ys], doubled_y, work.width)
    correction = fitted.form.on(xs, ys)
    thickness = Surface(xs, ys, _resampled(forecast, xs, ys) + correction)
    undecided = estimate.undecided & set(TERMS[1:])
    new = min(estimate.bound + unseen_sum(work, undecided), bound + float(np.abs(correction).max()))
    mean, most = float(off.mean()), float(off[int(np.abs(off).argmax())])
    # Few readings, close together or on a line, can give a tilt or twist that is far wrong elsewhere.  The cut plane
    # may well be off as a whole, but the shape below it is known within the old bound.  The smaller bound counts.
    level = within + float(np.abs(off - mean).max()) + bound
    if level < new:
        thickness, new = forecast.plus(0.0, 0.0, mean), level
    found = tuple(contradictions(work, "thickness", after.thickness, quantity))
    return Correction(thickness, new, mean, most, _words(work, off, mean, most, new)), found


def _words(work: Work, off: Array, mean: float, most: float, bound: float) -> str:
    unit = work.job.stock.size.thickness

    def difference(value: float) -> str:
        return f"{show(abs(value), unit)} {'thicker' if value >= 0 else 'thinner'}"

    several = f" on average over {len(off)} readings, at most {difference(most)}"
    readings = several if len(off) > 1 else " by one reading"
    return f"measured {difference(mean)} than forecast{readings}; now known within {show(bound, unit)}"


def _resampled(face: Surface, xs: Array, ys: Array) -> Array:
    """(ny, nx) heights at nodes that contain the face's own; at a doubled node both heights are kept (mm)."""
    eps = 1e-9
    x = np.where(np.append(np.diff(xs) <= eps, False), xs - 1e-7, xs)
    y = np.where(np.append(np.diff(ys) <= eps, False), ys - 1e-7, ys)
    return face.at(x[None, :], y[:, None])
