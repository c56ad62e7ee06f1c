"""The readings of a survey as points, its steps, and the faults that readings show on their own."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import chain
from typing import NamedTuple

import numpy as np

from flatwise.core.finding import Finding
from flatwise.core.surface import Array
from flatwise.core.units import Quantity
from flatwise.findings import fw202_contradiction as fw202
from flatwise.model.job import After, ProbeFile, Reading, ReadingFile, Step, Survey
from flatwise.model.stages import Work
from flatwise.model.words import CORNERS, PLACES

#: Readings closer to each other than this are at one place (mm).
SAME_PLACE = 0.5


class Steps(NamedTuple):
    """The steps at glue lines, on the top and on the lower face."""

    steps: tuple[Step, ...]

    def rise(self, face: str, x: Array, y: Array) -> Array:
        """How far steps raise readings at x, y (broadcast together) of a face: "top", "lower" or "thickness" (mm).

        On a step's line calipers and a probe ride on the higher board, and a feeler stops at the lower one.
        """
        total = np.zeros(np.broadcast(x, y).shape)
        for step in self.steps:
            share, past = _share(step, face), (x if step.axis == "x" else y) - float(step.line)
            on_line = min(share, 0.0) if face == "lower" else max(share, 0.0)
            total = total + np.where(np.abs(past) <= SAME_PLACE, on_line, share * (past > 0))
        return np.asarray(total)

    def lines(self, axis: str, side: float) -> Array:
        """(n,) where the steps lie along an axis, inside the outline, ascending (mm)."""
        at = {float(step.line) for step in self.steps if step.axis == axis}
        return np.array(sorted(line for line in at if 0.0 < line < side))

    def on(self, face: str, xs: Array, ys: Array) -> Array:
        """(ny, nx) rise on a grid with doubled nodes at the steps; the second of each pair is beyond it (mm)."""
        total = np.zeros((len(ys), len(xs)))
        for step in self.steps:
            at = xs if step.axis == "x" else ys
            beyond = np.arange(len(at)) >= np.searchsorted(at, float(step.line) + 1e-9) - 1
            rise = _share(step, face) * beyond
            total = total + (rise[None, :] if step.axis == "x" else rise[:, None])
        return total


def _share(step: Step, face: str) -> float:
    """The rise of one step on a face, or in the thickness (mm)."""
    top = step.rise if step.face != "under" else 0.0
    lower = step.rise if step.face is not None else 0.0
    return {"top": top, "lower": lower, "thickness": top - lower}[face]


def good_steps(work: Work, survey: Survey) -> tuple[Steps, list[Finding]]:
    """The steps that lie at glue lines, and FW202 for the others and for those that thickness readings contradict."""
    lines = work.job.stock.glue_lines
    good, found = [], []
    for step in survey.step:
        near = [float(at) for at in lines.at] if lines is not None and lines.axis == step.axis else []
        if any(abs(at - float(step.line)) <= SAME_PLACE for at in near):
            good.append(step)
        else:
            found.append(fw202.no_such_line(work, step))
    steps = Steps(tuple(good))
    return steps, [*found, *_unlike_steps(work, survey, steps)]


def _unlike_steps(work: Work, survey: Survey, steps: Steps) -> Iterator[Finding]:
    """FW202 for each step of the top on both sides of which the readings give the same thickness.

    With the other steps taken off, all readings agree to 2 × within, and the rise differs from the mean difference of
    both sides by more than that.  Readings that differ more may show a taper that makes up for the step.
    """
    points, _ = thickness_points(work, survey)
    most = 2 * float(survey.within) + 1e-9
    level = smooth(points, steps, "thickness")[:, 2]
    for step in steps.steps:
        rise = Steps((step,)).rise("top", points[:, 0], points[:, 1])
        heights, beyond = level + rise, rise != 0.0
        if step.face is not None or beyond.all() or not beyond.any() or np.ptp(heights) > most:
            continue
        if abs(step.rise - float(heights[beyond].mean() - heights[~beyond].mean())) > most:
            yield fw202.unlike_step(work, survey, step)


def smooth(points: Array, steps: Steps, face: str) -> Array:
    """The points (n, 3) without the rise of the steps (mm)."""
    if not len(points) or not steps.steps:
        return points
    return np.column_stack((points[:, :2], points[:, 2] - steps.rise(face, points[:, 0], points[:, 1])))


def thickness_points(work: Work, block: Survey | After) -> tuple[Array, bool]:
    """(n, 3): every thickness reading of a block (mm), and whether some come from a file."""
    parts = [np.empty((0, 3))]
    from_file = False
    for reading in block.thickness:
        if isinstance(reading, ReadingFile):
            parts.append(work.points[reading.file.span])
            from_file = True
        else:
            x, y = reading.place.on(work.length, work.width)
            parts.append(np.array([[x, y, float(reading.value)]]))
    return np.concatenate(parts), from_file


def gap_points(work: Work, survey: Survey) -> Array:
    """(n, 3): every gap, and 0 at each corner without one, because it touches (mm); (0, 3) if no gap is given."""
    points = [(*gap.place.on(work.length, work.width), float(gap.value)) for gap in survey.gap]
    if points:
        for corner in CORNERS:
            x, y = PLACES[corner][0] * work.length, PLACES[corner][1] * work.width
            if all(max(abs(x - px), abs(y - py)) > SAME_PLACE for px, py, _ in points):
                points.append((x, y, 0.0))
    return np.array(points).reshape(-1, 3)


def words(work: Work, survey: Survey) -> dict[str, float]:
    """The signed heights of the shapes that the words twist, cup and bow name (mm), by their names."""
    said = {}
    if survey.twist is not None:
        said["twist"] = float(survey.twist.height) * (-1.0 if survey.twist.way else 1.0)
    if survey.cup is not None:
        said["cup"] = survey.cup.rise
    if survey.bow is not None:
        said["bow"] = survey.bow.rise
    return said


def faults(work: Work, survey: Survey) -> Iterator[Finding]:
    """FW202 for negative gaps, thicknesses far from the nominal one, and readings of one place that differ."""
    for gap in survey.gap:
        if float(gap.value) < 0:
            yield fw202.negative_gap(work, gap)
    for reading in survey.thickness:
        if isinstance(reading, ReadingFile):
            yield from _far_in_file(work, reading)
        elif abs(float(reading.value) - work.thickness) > 0.1 * work.thickness:
            yield fw202.far_from_nominal(work, reading)
    for probe in survey.probe:
        yield from _probe_faults(work, survey, probe)
    yield from contradictions(work, "gap", survey.gap, survey.within)
    yield from contradictions(work, "thickness", survey.thickness, survey.within)


def contradictions(
    work: Work, kind: str, readings: Iterable[Reading | ReadingFile], within: Quantity
) -> Iterator[Finding]:
    """FW202 for each reading that differs from an earlier one of its place by more than 2 × within; skips files."""
    # compares a reading only with those in the squares around it, so that thousands take no time
    squares: dict[tuple[int, int], list[tuple[float, float, Reading]]] = {}
    for reading in readings:
        if isinstance(reading, ReadingFile):
            continue
        x, y = reading.place.on(work.length, work.width)
        column, row = int(x // SAME_PLACE), int(y // SAME_PLACE)
        near = (squares.get((column + i, row + j), ()) for i in (-1, 0, 1) for j in (-1, 0, 1))
        for px, py, other in chain.from_iterable(near):
            same = max(abs(px - x), abs(py - y)) <= SAME_PLACE
            if same and abs(float(other.value) - float(reading.value)) > 2 * float(within) + 1e-9:
                yield fw202.two_readings(work, kind, other, reading, within)
                break
        squares.setdefault((column, row), []).append((x, y, reading))


def _far_in_file(work: Work, reading: ReadingFile) -> Iterator[Finding]:
    points = work.points[reading.file.span]
    off = np.abs(points[:, 2] - work.thickness)
    if off.max() > 0.1 * work.thickness:
        yield fw202.far_in_file(work, reading, points[int(off.argmax())])


def _probe_faults(work: Work, survey: Survey, probe: ProbeFile) -> Iterator[Finding]:
    """FW202 for a height that no such panel has, and for two heights of one place that differ."""
    points = work.points[probe.file.span]
    heights, most = points[:, 2], 0.1 * work.thickness + 10.0
    off = np.abs(heights - work.thickness)
    if not off.max() <= most:
        near_zero = bool(np.abs(heights).max() <= most)
        yield fw202.far_probe(work, probe, points[int(off.argmax())], near_zero)
        return
    # sorted by place, points of one place stand beside each other
    places = np.round(points[:, :2] / SAME_PLACE)
    order = np.lexsort((places[:, 1], places[:, 0]))
    same = (np.diff(places[order], axis=0) == 0).all(axis=1)
    differ = same & (np.abs(np.diff(heights[order])) > 2 * float(survey.within) + 1e-9)
    if differ.any():
        first = int(differ.argmax())
        yield fw202.two_probes(work, probe, points[order[first]], points[order[first + 1]], survey.within)
