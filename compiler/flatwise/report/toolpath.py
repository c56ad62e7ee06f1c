"""The toolpath of each pass: in the plan, one at a time, and as small pictures side by side."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

from flatwise.model.stages import Pass, Setup
from flatwise.report.display import DisplayUnit, duration
from flatwise.report.svg import Anchor, Lettering, Pen, Point, tip

#: the most small pictures; of more toolpaths, the first and the last ones are shown
PICTURES = 6


def describe_pass(number: int, one: Pass, total: int, unit: DisplayUnit) -> str:
    """A pass in a sentence."""
    where = "over the whole face" if one.whole else "only where there is wood"
    return (
        f"Pass {number} of {total}{', finish' if one.finish else ''}: down to {unit(one.plane)} above the bed, "
        f"bite {unit(one.depth)}, {_rows(one)} {where}, {duration(one.time)}."
    )


def over_the_plan(setup: Setup, radius: float, letters: Lettering, unit: DisplayUnit) -> Iterable[str]:
    """A group for each pass, with its toolpath and a ring where it starts; the page shows one of them."""
    pen, size = letters.pen, letters.pen.size
    for number, one in enumerate(setup.passes, 1):
        x, y = one.path[0].x, one.path[0].y
        aside = radius + 0.6 * size
        anchors = [Anchor(x, y), Anchor(x - aside, y), Anchor(x + aside, y), Anchor(x, y - aside), Anchor(x, y + aside)]
        ring = pen.circle(x, y, radius, "cutter")
        mark = letters.put(str(number), anchors, "number", bold=True, stays=False)
        words = describe_pass(number, one, len(setup.passes), unit)
        yield tip(words, *_way(one, pen), ring, mark, kind="pass", data=f' data-pass="{number}"')


def reach(setup: Setup) -> tuple[float, float, float, float] | None:
    """The limits of the cutter's centre in all passes: left, front, right, back in the setup frame, mm."""
    legs = [leg for one in setup.passes for leg in one.path]
    if not legs:
        return None
    xs, ys = [leg.x for leg in legs], [leg.y for leg in legs]
    return min(xs), min(ys), max(xs), max(ys)


def side_by_side(setup: Setup, radius: float) -> list[tuple[str, str]]:
    """Each different toolpath once: (its passes in words, `<svg>`)."""
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
    # the cutter at its start is drawn with a line of some width
    room = 1.2 * radius
    pen = Pen(
        min(0.0, left - room), max(setup.top.length, right + room),
        min(0.0, front - room), max(setup.top.width, back + room),
    )  # fmt: skip
    found = []
    for indices in chosen:
        one = setup.passes[indices[0]]
        said = _numbers([index + 1 for index in indices])
        many = len(indices) != 1
        words = f"Pass{'es' * many} {said}: {_rows(one)}{' each' * (many and bool(one.rows or one.rounds))}"
        start = pen.circle(one.path[0].x, one.path[0].y, radius, "start")
        panel = pen.box(0.0, 0.0, setup.top.length, setup.top.width, "panel")
        found.append((words, pen.picture("way", words, [panel, *_way(one, pen), start])))
    return found


def _numbers(passes: list[int]) -> str:
    """`1, 3`, or `3 to 8` for a run of three or more."""
    if len(passes) > 2 and passes[-1] - passes[0] == len(passes) - 1:
        return f"{passes[0]} to {passes[-1]}"
    return ", ".join(map(str, passes))


def _rows(one: Pass) -> str:
    if one.rounds:
        return f"{one.rounds} round{'s' * (one.rounds != 1)} from the edge inward"
    if not one.rows:
        return "around the edge"
    return f"{len(one.rows)} row{'s' * (len(one.rows) != 1)} along {one.along.upper()}"


def _way(one: Pass, pen: Pen) -> list[str]:
    """Solid at feed, dashed in the air, with an arrow on the first feed move."""
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
    """An arrowhead a third of the way along a move."""
    length = ((end[0] - start[0]) ** 2 + (end[1] - start[1]) ** 2) ** 0.5
    dx, dy = (end[0] - start[0]) / length, (end[1] - start[1]) / length
    x, y, size = start[0] + 0.33 * length * dx, start[1] + 0.33 * length * dy, 0.45 * pen.size
    corners = [(x + size * dx, y + size * dy)]
    corners += [(x - size * dx - side * size * dy, y - size * dy + side * size * dx) for side in (0.7, -0.7)]
    return pen.path(corners, "arrow", closed=True)
