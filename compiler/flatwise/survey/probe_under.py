"""A lower face that was probed with the panel turned over."""

from __future__ import annotations

import numpy as np

from flatwise.core.finding import Finding
from flatwise.core.surface import Array
from flatwise.model.job import Survey
from flatwise.model.stages import Work
from flatwise.survey.estimate import Known, probed_known
from flatwise.survey.forms import Form
from flatwise.survey.probes import through
from flatwise.survey.readings import Steps, gap_points, smooth, thickness_points


def turned_probe(
    work: Work, block: Survey, steps: Steps, top: Known | None, within: float
) -> tuple[Known | None, list[Finding]]:
    """The lower face B from heights z of it that were probed from above, the panel turned as the flip says.

    B = a·x + b·y + c − z: the plane is that of the turned pose, which thickness readings tie to the upper face by
    least squares, B = T − t where they were taken.  FW105 where fewer than three, or all on one line, do so.
    Where the upper face was not probed, the gaps (else the level of the face itself) give the plane.
    """
    files = [work.points[probe.file.span] for probe in block.probe if probe.face == "under"]
    points = np.concatenate(files)
    if work.turn == "x":
        points = np.column_stack((points[:, 0], work.width - points[:, 1], -points[:, 2]))
    else:
        points = np.column_stack((work.length - points[:, 0], points[:, 1], -points[:, 2]))
    shape = through(smooth(points, steps, "lower"), work.length, work.width, work.job.stock.grain)
    ties = smooth(thickness_points(work, block)[0], steps, "thickness")
    if _on_a_line(ties, work):
        return None, [_untied(block, len(ties))]
    if top is not None:
        heights = _sampled(top, ties) - ties[:, 2]
    elif len(gaps := smooth(gap_points(work, block), steps, "lower")):
        ties, heights = gaps, gaps[:, 2]
    else:
        ties = points
        heights = np.zeros(len(points))
    wanted = heights - shape.surface.at(ties[:, 0], ties[:, 1])
    table = np.column_stack((np.ones(len(ties)), ties[:, 0] / work.length - 0.5, ties[:, 1] / work.width - 0.5))
    plane = np.linalg.lstsq(table, wanted, rcond=None)[0]
    level = top is None and not block.gap
    residual = 0.0 if level else float(np.abs(wanted - table @ plane).max())
    turned = Form(np.array([*plane, 0.0, 0.0, 0.0]), work.length, work.width, work.job.stock.grain)
    # the probe, and the readings that tie it, may each be off
    tied = Known(((1.0, turned),), 0.0 if level else within + residual, frozenset())
    return probed_known(shape, within, float(work.rules.unseen)).plus(tied), []


def _sampled(known: Known, points: Array) -> Array:
    return np.array([float(known.on(np.array([x]), np.array([y]))[0, 0]) for x, y in points[:, :2]])


def _on_a_line(points: Array, work: Work) -> bool:
    if len(points) < 3:
        return True
    spread = (points[:, :2] - points[:, :2].mean(axis=0)) / max(work.length, work.width)
    return bool(np.linalg.svd(spread, compute_uv=False)[-1] < 0.02)


def _untied(block: Survey, count: int) -> Finding:
    have = ("none is", "one is", "two are")[count] if count < 3 else f"the {count} that are given lie on one line"
    there = f"{have} given" if count < 3 else have
    probe = next(probe for probe in block.probe if probe.face == "under")
    return Finding(
        "FW105",
        f"The probe of the lower face needs three thickness readings that are not on one line, but {there}.",
        probe.span,
        help="Measure the thickness at three corners: they tie the turned panel to the panel as it lay before.",
    )
