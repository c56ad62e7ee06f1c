"""The lower face, probed from above with the panel turned over (`probe under`)."""

from __future__ import annotations

import numpy as np

from flatwise.core.finding import Finding
from flatwise.core.surface import Array
from flatwise.model.job import Survey
from flatwise.model.stages import Work
from flatwise.survey.estimate import Estimate, probed_estimate
from flatwise.survey.forms import Form
from flatwise.survey.probes import interpolate
from flatwise.survey.readings import Steps, gap_points, smooth, thickness_points


def turned_estimate(
    work: Work, block: Survey, steps: Steps, top: Estimate | None, within: float
) -> tuple[Estimate | None, list[Finding]]:
    """The lower face B from heights z probed on it while the panel lay turned over, as the flip says.

    B = a·x + b·y + c − z.  The plane a·x + b·y + c ties the turned pose to the surveyed one by least squares: where the
    top T was probed, B = T − t at every thickness reading t; else B meets the gaps; without gaps B lies level.

    Finding: FW105 for fewer than three thickness readings, or readings that all lie on one line.
    """
    points = np.concatenate([work.points[probe.file.span] for probe in block.probe if probe.face == "under"])
    if work.turn == "x":
        points = np.column_stack((points[:, 0], work.width - points[:, 1], -points[:, 2]))
    else:
        points = np.column_stack((work.length - points[:, 0], points[:, 1], -points[:, 2]))
    shape = interpolate(smooth(points, steps, "lower"), work.length, work.width, work.job.stock.grain)
    ties = smooth(thickness_points(work, block)[0], steps, "thickness")
    if _on_a_line(ties, work):
        return None, [_untied(block, len(ties))]
    if top is not None:
        heights = _values(top, ties) - ties[:, 2]
    elif len(gaps := smooth(gap_points(work, block), steps, "lower")):
        ties, heights = gaps, gaps[:, 2]
    else:
        ties, heights = points, np.zeros(len(points))
    wanted = heights - shape.at(ties)
    table = np.column_stack((np.ones(len(ties)), ties[:, 0] / work.length - 0.5, ties[:, 1] / work.width - 0.5))
    plane = np.linalg.lstsq(table, wanted, rcond=None)[0]
    pose = Form(np.array([*plane, 0.0, 0.0, 0.0]), work.length, work.width, work.job.stock.grain)
    level = top is None and not block.gap
    weights = np.linalg.pinv(table)

    def error(xs: Array, ys: Array) -> Array:
        """The effect of errors of the probes, the thickness readings and the probed top on the plane."""
        places = np.meshgrid(xs / work.length - 0.5, ys / work.width - 0.5)
        here = np.column_stack((np.ones(len(xs) * len(ys)), places[0].ravel(), places[1].ravel()))
        sources = 2.0 if top is None else 3.0
        return np.asarray(sources * within * np.abs(here @ weights).sum(axis=1).reshape(len(ys), len(xs)))

    residual = 0.0 if level else float(np.abs(wanted - table @ plane).max())
    tied = Estimate(((1.0, pose),), residual, frozenset(), () if level else (error,))
    return probed_estimate(shape, within, float(work.rules.unseen)).plus(tied), []


def _values(estimate: Estimate, points: Array) -> Array:
    """(n,) heights at points (n, 2+), mm."""
    return np.array([float(estimate.on(np.array([x]), np.array([y]))[0, 0]) for x, y in points[:, :2]])


def _on_a_line(points: Array, work: Work) -> bool:
    """Whether points (n, 2+) in mm lie so nearly on one line that they fix no plane."""
    if len(points) < 3:
        return True
    spread = (points[:, :2] - points[:, :2].mean(axis=0)) / max(work.length, work.width)
    return bool(np.linalg.svd(spread, compute_uv=False)[-1] < 0.02)


def _untied(block: Survey, count: int) -> Finding:
    have = ("none is given", "one is given", "two are given", f"the {count} given lie on one line")[min(count, 3)]
    probe = next(probe for probe in block.probe if probe.face == "under")
    return Finding(
        "FW105",
        f"The probe of the lower face needs three thickness readings that are not on one line, but {have}.",
        probe.span,
        help="Measure the thickness at three corners, so that the turned panel can be related to the panel as it lay.",
    )
