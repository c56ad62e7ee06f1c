"""The planes that are cut: the last as the job asks, the others from there upward.

All planes lie on the controller's last digit, so that a written Z needs no rounding and no step between two planes is
deeper than allowed.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, floor
from typing import NamedTuple

from flatwise.core.surface import Surface
from flatwise.core.units import settled
from flatwise.model.stages import Bound, Work
from flatwise.plan.cutting import lean_part

#: a face that takes more passes than this is refused, since nobody can mean it
MOST_PASSES = 200


class HeightGrid(NamedTuple):
    """The heights above the bed that a program can write: `base` plus whole multiples of the last `digit`, mm.

    With `z top` program zero itself is put on a multiple, so `base` is 0; with `z bed` it is the paper.
    """

    digit: float
    base: float

    def down(self, value: float) -> float:
        """The height at or just below `value`."""
        return self._at(floor((value - self.base) / self.digit + 1e-6))

    def up(self, value: float) -> float:
        """The height at or just above `value`."""
        return self._at(ceil((value - self.base) / self.digit - 1e-6))

    def near(self, value: float) -> float:
        """The height nearest to `value`."""
        return self._at(floor(settled((value - self.base) / self.digit) + 0.5))

    def step(self, depth: float) -> float:
        """The deepest step between two heights that is at most `depth`, but at least one digit."""
        return round(max(1, floor(depth / self.digit + 1e-6)) * self.digit, 9)

    def _at(self, digits: int) -> float:
        return round(self.base + digits * self.digit, 9)


def height_grid(work: Work) -> HeightGrid:
    """The heights that a job's programs can write."""
    paper = work.job.zero.z.paper
    on_bed = work.job.zero.z.on == "bed" and paper is not None
    return HeightGrid(work.machine.controller.digit, float(paper) if on_bed and paper is not None else 0.0)


def paper_part(work: Work) -> float:
    """Uncertainty of touching off by paper: 0.2 × paper, mm (common practice, no source)."""
    paper = work.job.zero.z.paper
    return 0.2 * float(paper) if paper is not None else 0.0


def bed_part(work: Work) -> float:
    """How far the bed may be from flat under the panel, mm; for a spoilboard the bound of its top says it already."""
    return 0.0 if work.job.stock.is_bed else float(work.machine.bed)


def allowance(work: Work) -> float:
    """How far a plane must lie below the lowest place, apart from the survey's bound, mm.

    Touch-off by paper + the flatness of the bed + ½·D·tan(lean).
    """
    return paper_part(work) + bed_part(work) + lean_part(work)


def clean_plane(work: Work, top: Surface, bound: Bound) -> float:
    """The highest plane that certainly comes clean over the whole face, mm above the bed, not yet rounded."""
    return top.raised(bound.under, -1.0).lowest - allowance(work)


def balanced_plane(work: Work, upper: Surface, lower: Surface, bounds: tuple[Bound, Bound], target: float) -> float:
    """The first plane at which both faces lose the same on average while the thickness `target` t is left, mm.

    mean T − (mean thickness − t)/2; but high enough for the second face and low enough for the first to come clean.
    `bounds` are those of the upper and the lower face.
    """
    mean = upper.mean
    middle = mean - ((mean - lower.mean) - target) / 2.0
    least = lower.raised(bounds[1].over).highest + target + allowance(work)
    return min(max(middle, least), clean_plane(work, upper, bounds[0]))


def planes(final: float, highest: float, step: float, finish: float | None, on: HeightGrid) -> tuple[float, ...]:
    """Planes from the topmost down to `final`, for wood that may stand up to `highest`, mm.

    Each lies at most `step` above the next, and the last but one at most `finish` above the last; the topmost takes the
    remainder.  The list ends one above MOST_PASSES, which the caller refuses.
    """
    full = on.step(step)
    last = min(full, on.step(finish)) if finish is not None else full
    rising = [final]
    gap = last
    while rising[-1] + gap < highest - 1e-9 and len(rising) <= MOST_PASSES:
        rising.append(round(rising[-1] + gap, 9))
        gap = full
    return tuple(reversed(rising))


def bites(heights: Sequence[float], highest: float) -> tuple[float, ...]:
    """The deepest bite of each pass, mm: the topmost counts from `highest`, each other from the plane before it."""
    above = (highest, *heights[:-1])
    return tuple(max(0.0, before - plane) for before, plane in zip(above, heights, strict=True))
