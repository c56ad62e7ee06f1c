"""The way of the cutter's centre: over the plan one pass at a time, and small for all of them side by side."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from flatwise.model.stages import Pass, Setup
from flatwise.report.job_text import minutes
from flatwise.report.measures import Measures
from flatwise.report.pen import Lettering, Pen, Point, Spot, tip

#: Small pictures that are shown at most; of more ways the first and the last ones.
PICTURES = 6


def pass_words(number: int, one: Pass, total: int, unit: Measures) -> str:
    """What one pass does, in a sentence."""
    where = "over the whole face" if one.whole else "only where wood stands"
    return (
        f"Pass {number} of {total}{', finish' if one.finish else ''}: down to {unit(one.plane)} above the bed, "
        f"bite {unit(one.depth)}, {_rows(one)} {where}, {minutes(one.time)}."
    )


def over_the_plan(setup: Setup, radius: float, letters: Lettering, unit: Measures) -> Iterable[str]:
    """A group for each pass, of which the page shows the chosen one: its way, and a ring where it starts."""
    pen, size = letters.pen, letters.pen.size
    for number, one in enumerate(setup.passes, 1):
        x, y = one.path[0].x, one.path[0].y
        aside = radius + 0.6 * size
        spots = [Spot(x, y), Spot(x - aside, y), Spot(x + aside, y), Spot(x, y - aside), Spot(x, y + aside)]
        ring = pen.circle(x, y, radius, "cutter")
        mark = letters.put(str(number), spots, "number", bold=True, stays=False)
        words = pass_words(number, one, len(setup.passes), unit)
        yield tip(words, *_way(one, pen), ring, mark, kind="pass", data=f' data-pass="{number}"')


def reach(setup: Setup) -> tuple[float, float, float, float] | None:
    """How far the cutter's centre goes in any pass: left, front, right, back in the setup frame, mm."""
    legs = [leg for one in setup.passes for leg in one.path]
    if not legs:
        return None
    xs, ys = [leg.x for leg in legs], [leg.y for leg in legs]
    return min(xs), min(ys), max(xs), max(ys)


def side_by_side(setup: Setup, radius: float) -> list[tuple[str, str]]:
    """Every way that differs once: (its passes and what they do, `<svg>`)."""
    ways: dict[tuple[tuple[bool, float, float], ...], list[int]] = {}
    for index, one in enumerate(setup.passes):
        ways.setdefault(tuple((leg.rapid, leg.x, leg.y) for leg in one.path), []).append(index)
    chosen = list(ways.values())
    if len(chosen) > PICTURES:
        chosen = chosen[: PICTURES - 2] + chosen[-2:]
    reached = reach(setup)
    if reached is None:
        return []
    left, front, right, back = reached
    pen = Pen(
        min(0.0, left - radius), max(setup.top.length, right + radius),
        min(0.0, front - radius), max(setup.top.width, back + radius),
    )  # fmt: skip
    found = []
    for indices in chosen:
        one = setup.passes[indices[0]]
        said = _numbers([index + 1 for index in indices])
        many = len(indices) != 1
        words = f"Pass{'es' * many} {said}: {_rows(one)}{' each' * (many and bool(one.rows))}"
        start = pen.circle(one.path[0].x, one.path[0].y, radius, "start")
        panel = pen.box(0.0, 0.0, setup.top.length, setup.top.width, "panel")
        found.append((words, pen.picture("way", words, [panel, *_way(one, pen), start])))
    return found


def _numbers(passes: list[int]) -> str:
    """`1, 3`, and `3 to 8` for a run of three or more."""
    if len(passes) > 2 and passes[-1] - passes[0] == len(passes) - 1:
        return f"{passes[0]} to {passes[-1]}"
    return ", ".join(map(str, passes))


def _rows(one: Pass) -> str:
    if not one.rows:
        return "round the edge"
    return f"{len(one.rows)} row{'s' * (len(one.rows) != 1)}"


def _way(one: Pass, pen: Pen) -> list[str]:
    """Solid at feed, dashed in the air, with an arrow on the first run in the cut."""
    runs: list[tuple[bool, list[Point]]] = []
    for before, leg in pairwise(one.path):
        if (leg.x, leg.y) == (before.x, before.y):
            continue
        if not runs or runs[-1][0] != leg.rapid:
            runs.append((leg.rapid, [(before.x, before.y)]))
        runs[-1][1].append((leg.x, leg.y))
    drawn = [pen.path(points, "air" if rapid else "row") for rapid, points in runs]
    cutting = next((points for rapid, points in runs if not rapid), None)
    if cutting is not None:
        drawn.append(_arrow(cutting[0], cutting[1], pen))
    return drawn


def _arrow(start: Point, end: Point, pen: Pen) -> str:
    """A head a third of the way along the first run."""
    length = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
    dx, dy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    x, y, size = start[0] + 0.33 * length * dx, start[1] + 0.33 * length * dy, 0.45 * pen.size
    corners = [(x + size * dx, y + size * dy)]
    corners += [(x - size * dx - side * size * dy, y - size * dy + side * size * dx) for side in (0.7, -0.7)]
    return pen.path(corners, "arrow", closed=True)
