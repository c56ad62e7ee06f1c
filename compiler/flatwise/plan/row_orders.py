"""Ways through patches: in which order they are cut, and the rows of each, and at which end the first begins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate
from math import hypot
from typing import NamedTuple

from flatwise.core.stopping import may_stop
from flatwise.core.units import settled
from flatwise.model.stages import Leg
from flatwise.plan.path import Kinematics, Path, RowRun, Stretch, sweep
from flatwise.plan.rows import Rows
from flatwise.plan.standing_wood import RUN_IN
from flatwise.plan.stretches import Patch, RowStretches

#: an order that seems longer than the shortest by up to this is tried too (s)
WORTH = 1.0
#: up to this many patches, every order of them is looked at
FEW = 3

#: x, y, z in mm
XYZ = tuple[float, float, float]


class Through(NamedTuple):
    """A way through one patch, and how long it takes (s)."""

    time: float
    legs: list[Leg]


def time_of(legs: Sequence[Leg], kinematics: Kinematics, start: XYZ | None) -> float:
    """Seconds for legs from `start`, or else from the place in the air where they begin."""
    return kinematics.seconds(start if start is not None else begin(legs), legs)


def begin(legs: Sequence[Leg]) -> XYZ:
    return legs[0].x, legs[0].y, legs[0].z


def end(legs: Sequence[Leg]) -> XYZ:
    return legs[-1].x, legs[-1].y, legs[-1].z


def through_patches(path: Path, group: Sequence[Patch], where: XYZ | None) -> list[Leg]:
    """The legs through all patches, in the order and by the ways that take least from `where`."""
    tries = [
        [Through(time_of(legs, path.kinematics, None), legs) for legs in ways_through(path, each)] for each in group
    ]
    joined: list[Leg] = []
    for legs in (_of_all_orders if len(tries) <= FEW else _next_nearest)(path, tries, where):
        if joined and _between(path, end(joined), legs)[1]:
            # the cutter stays down on its way beside the panel: no lift behind the one patch or before the next
            joined[-1] = Leg(False, legs[0].x, legs[0].y, path.plane)
            joined += legs[next(k for k, leg in enumerate(legs) if not leg.rapid) + 1 :]
        else:
            joined += legs
    return joined


def _of_all_orders(path: Path, tries: Sequence[Sequence[Through]], where: XYZ | None) -> list[list[Leg]]:
    """One way through every patch, in the order that takes least of all orders."""
    # the best so far (s, ways) by the set of patches done (bits), the last of them and the way through it: what follows
    # depends on these alone
    found: dict[tuple[int, int, int], tuple[float, list[list[Leg]]]] = {(0, -1, -1): (0.0, [])}
    for _ in tries:
        longer: dict[tuple[int, int, int], tuple[float, list[list[Leg]]]] = {}
        for (done, _, _), (spent, turns) in found.items():
            for n, through in enumerate(tries):
                if done >> n & 1:
                    continue
                for k, (time, legs) in enumerate(through):
                    total = settled(spent + _approach(path, turns, legs, where) + time)
                    key = (done | 1 << n, n, k)
                    if key not in longer or total < longer[key][0]:
                        longer[key] = (total, [*turns, legs])
        found = longer
    return min(found.values(), key=lambda one: one[0])[1]


def _next_nearest(path: Path, tries: Sequence[Sequence[Through]], where: XYZ | None) -> list[list[Leg]]:
    """One way through every patch, the next always the one with the least time to it and over its own quickest way."""
    turns: list[list[Leg]] = []
    left = list(range(len(tries)))
    least = [min(time for time, _ in through) for through in tries]
    while left:
        may_stop()
        costs = [
            (settled(_approach(path, turns, legs, where) + time - least[n]), n, k)
            for n in left
            for k, (time, legs) in enumerate(tries[n])
        ]
        _, n, k = min(costs)
        turns.append(tries[n][k].legs)
        left.remove(n)
    return turns


def _approach(path: Path, turns: Sequence[Sequence[Leg]], legs: Sequence[Leg], where: XYZ | None) -> float:
    """Seconds from the end of the last way in `turns` to where legs begin; the first way begins from `where`."""
    if turns:
        return _between(path, end(turns[-1]), legs)[0]
    return path.kinematics.at_rapid(hypot(legs[0].x - where[0], legs[0].y - where[1])) if where is not None else 0.0


def _between(path: Path, here: XYZ, legs: Sequence[Leg]) -> tuple[float, bool]:
    """Seconds from the end of one patch to where legs begin, and whether the cutter stays down on the way.

    If it does, both lifts are saved, so that the time may be negative.
    """
    far = hypot(legs[0].x - here[0], legs[0].y - here[1])
    lifted = path.kinematics.at_rapid(far)
    down = path.kinematics.at_feed(far) - path.lift_time
    stays = settled(down - lifted) < 0.0 and beside_panel(path.rows, here, legs[0])
    return (down if stays else lifted), stays


def beside_panel(rows: Rows, here: XYZ, leg: Leg) -> bool:
    """Whether the way from a position to where a leg ends lies beside the panel, at the ends of the rows."""
    (u, _), (to, _) = rows.point(here[0], here[1]), rows.point(leg.x, leg.y)
    return u == to and (u == rows.start or u == rows.end)


def ways_through(path: Path, patch: Patch) -> Iterator[list[Leg]]:
    """The ways through one patch that are worth trying, from the air into the air."""
    for runs in _orders(path, patch):
        may_stop()
        for forward in (True,) if path.rows.one_way else (True, False):
            through = path.fresh()
            sweep(through, runs, forward)
            yield through.legs


def _orders(path: Path, patch: Patch) -> list[list[RowRun]]:
    """The orders of a patch's rows that run least at feed, and each branch by branch where the patch forks."""

    def seconds(stretches: Sequence[Stretch]) -> float:
        return settled(sum(one.last - one.first for one in stretches) / path.kinematics.feed * 60.0)

    # seconds that the rows before each one take on the way down, and that those from it on take on the way up
    down = list(accumulate((seconds(one.down) for one in patch), initial=0.0))
    up = list(accumulate((seconds(one.up) for one in reversed(patch)), initial=0.0))[::-1]
    orders = [(up[0], _rising(patch)), (down[-1], _falling(patch))]
    # a row begun in the middle takes the whole cutter, and power may be planned for less
    inner = range(1, len(patch) - 1) if path.rows.bite >= path.rows.diameter - 1e-9 else ()
    if inner:
        outward = [settled(down[m] + seconds(patch[m].fresh) + up[m + 1] + path.lift_time) for m in inner]
        cost = min(outward)
        m = inner[outward.index(cost)]
        below, middle, above = _falling(patch[:m]), patch[m], _rising(patch[m + 1 :])
        orders += [
            (cost, [RowRun(middle.row, middle.fresh, True), *above, *_apart(below)]),
            (cost, [RowRun(middle.row, middle.fresh, False), *below, *_apart(above)]),
        ]
    least = min(cost for cost, _ in orders)
    found = [runs for cost, runs in orders if settled(cost - least) < WORTH]
    forked = [runs for runs in found if any(len(run.stretches) > 1 for run in runs)]
    return [*found, *(_branch_by_branch(path, runs) for runs in forked)]


def _rising(rows: Sequence[RowStretches]) -> list[RowRun]:
    return [RowRun(one.row, one.up, True) for one in rows if one.up]


def _falling(rows: Sequence[RowStretches]) -> list[RowRun]:
    return [RowRun(one.row, one.down, False) for one in reversed(rows) if one.down]


def _apart(runs: Sequence[RowRun]) -> list[RowRun]:
    """The same runs, the first reached by a hop."""
    return [RowRun(run.row, run.stretches, run.upward, k == 0) for k, run in enumerate(runs)]


def _branch_by_branch(path: Path, runs: Sequence[RowRun]) -> list[RowRun]:
    """The same stretches, one branch after another where they fork or meet.

    A stretch continues the branch of the only one beside it, unless that one is continued already; else it begins a new
    branch.  A branch comes after all those that its stretches, and coming down to them, take as cut.
    """
    rows, run_in = path.rows, path.kinematics.run_in
    across = rows.diameter + rows.rounding + RUN_IN
    branches: list[list[RowRun]] = []
    #: (stretch, row, branch) of all stretches so far
    before: list[tuple[Stretch, int, int]] = []
    for run in runs:
        near = [one for one in before if abs(rows.at[one[1]] - rows.at[run.row]) < across]
        for stretch in run.stretches:
            reach = stretch._replace(low=stretch.low - run_in, high=stretch.high + run_in)
            beside = {branch for other, _, branch in near if _overlap(reach, other)}
            branch = max(beside, default=-1)
            last = branches[branch][-1] if len(beside) == 1 else None
            if last is None or last.row == run.row or not _overlap(stretch, last.stretches[0]):
                branch = len(branches)
                branches.append([])
            first = not branches[branch] and branch > 0
            branches[branch].append(RowRun(run.row, (stretch,), run.upward, first))
            before.append((stretch, run.row, branch))
    return [run for branch in branches for run in branch]


def _overlap(one: Stretch, other: Stretch) -> bool:
    return one.low < other.high and other.low < one.high
