"""The forecast of thickness, corrected by readings taken after a face was cut."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np

from flatwise.core.finding import Finding, Findings
from flatwise.core.surface import Array, Surface
from flatwise.core.units import show
from flatwise.findings import fw205_unseen as fw205
from flatwise.model.job import After
from flatwise.model.stages import Bound, Work
from flatwise.survey.readings import contradictions, thickness_points


class Correction(NamedTuple):
    """The corrected thickness and its bound on the same nodes (mm); the mean and the largest difference of the readings
    from the forecast (mm, positive where the panel is thicker); and the same in words for the sheet."""

    thickness: Surface
    bound: Surface
    mean: float
    most: float
    words: str


def correct(work: Work, after: After, forecast: Surface, bound: Bound) -> tuple[Correction, Findings]:
    """Correct a forecast of thickness F, known within the bound b (mm), by readings after a face.

    With δ the mean difference of the readings from F, r the largest |difference − δ| and b′ = within + max(r, b/2), the
    thickness lies in [F ± b] ∩ [F + δ ± b′], and is never known better than within.  Where the two do not meet, the
    readings count: F + δ ± b′.  This is a judgement: of 2,000 random forms that use the whole of b,
    15 % left the new bound somewhere with three readings (at worst by 0.08 mm), 3.5 % with five, none with nine.

    Findings: FW202 for two readings of one place that differ by more than 2 × within, FW205 where the two do not meet.
    """
    quantity = after.uncertainty(work.job.survey)
    within = float(quantity)
    points, _ = thickness_points(work, after)
    widest = np.maximum(bound.over.z, bound.under.z)
    if not len(points):
        return Correction(forecast, Surface(forecast.xs, forecast.ys, widest), 0.0, 0.0, ""), ()
    found: list[Finding] = list(contradictions(work, "thickness", after.thickness, quantity))
    off = points[:, 2] - forecast.at(points[:, 0], points[:, 1])
    mean, most = float(off.mean()), float(off[int(np.abs(off).argmax())])
    read = within + np.maximum(float(np.abs(off - mean).max()), widest / 2.0)
    low, high = np.maximum(-bound.under.z, mean - read), np.minimum(bound.over.z, mean + read)
    apart = low > high
    if apart.any():
        found.append(fw205.unlike_forecast(work, after, mean, float(widest[apart].max())))
        low, high = mean - read, mean + read
    thickness = Surface(forecast.xs, forecast.ys, forecast.z + (low + high) / 2.0)
    corrected = Surface(forecast.xs, forecast.ys, np.maximum(within, (high - low) / 2.0))
    return Correction(thickness, corrected, mean, most, _words(work, off, mean, most, corrected.highest)), tuple(found)


def _words(work: Work, off: Array, mean: float, most: float, bound: float) -> str:
    unit = work.job.stock.size.thickness

    def difference(value: float) -> str:
        return f"{show(abs(value), unit)} {'thicker' if value >= 0 else 'thinner'}"

    several = f" on average over {len(off)} readings, at most {difference(most)}"
    readings = several if len(off) > 1 else " by one reading"
    return f"measured {difference(mean)} than forecast{readings}; now known within {show(bound, unit)}"
