"""What was measured after a face had been cut, against what was forecast."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from flatwise.model.job import After, Reading
from flatwise.stages import Work
from flatwise.surface import Surface


@dataclass(frozen=True)
class Measured:
    """The remaining thickness as corrected from readings (setup frame of the second face), mm."""

    top: Surface
    bound: float
    highest_reading: float
    words: str


def measured(work: Work, forecast: Surface, bound: float, after: After) -> Measured:
    """Move a forecast of thickness (second face up) by the mean difference that readings show.

    The bound becomes what a reading may be off and the largest residual, never more than it was plus the
    difference; without readings nothing changes.
    """
    length, width = work.length, work.width
    places: list[tuple[float, float, float]] = []
    for reading in after.thickness:
        if isinstance(reading, Reading):
            x, y = reading.place.on(length, width)
            places.append((x, y, float(reading.value)))
        else:
            rows = work.points.get(reading.file.span)
            if rows is not None:
                places.extend((float(x), float(y), float(t)) for x, y, t in rows)
    if not places:
        return Measured(forecast, bound, forecast.highest, "")
    x, y, t = np.array(places).T
    x, y = (x, width - y) if work.turn == "x" else (length - x, y)
    off = t - forecast.at(x, y)
    shift = float(off.mean())
    within = after.within if after.within is not None else (work.job.survey.within if work.job.survey else 0.1)
    residual = float(np.abs(off - shift).max())
    way = "thicker" if shift >= 0 else "thinner"
    words = f"{abs(shift):.2f} mm {way} than forecast on average, the readings {residual:.2f} mm off that at most."
    return Measured(forecast.plus(0.0, 0.0, shift), float(within) + residual, float(t.max()), words)
