"""Ways through one patch: in which order its rows are run, and at which end the first begins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import accumulate

from flatwise.model.stages import Leg
from flatwise.plan.path import Path, RowRun, Stretch, sweep
from flatwise.plan.standing_wood import RUN_IN
from flatwise.plan.stretches import Patch, RowStretches

#: an order that seems longer than the shortest by up to this is tried too (s)
WORTH = 1.0


def ways_through(path: Path, patch: Patch) -> Iterator[list[Leg]]:
    """The ways through one patch that are worth trying, from the air into the air."""
    for runs in _orders(path, patch):
        for forward in (True,) if path.rows.one_way else (True, False):
            through = path.fresh()
            sweep(through, runs, forward)
            yield through.legs


def _orders(path: Path, patch: Patch) -> list[list[RowRun]]:
    """The orders of a patch's rows that run least at feed, and each branch by branch where the patch forks."""

    def seconds(stretches: Sequence[Stretch]) -> float:
        return sum(one.last - one.first for one in stretches) / path.kinematics.feed * 60.0

    # seconds that the rows before each one take on the way down, and that those from it on take on the way up
    down = list(accumulate((seconds(one.down) for one in patch), initial=0.0))
    up = list(accumulate((seconds(one.up) for one in reversed(patch)), initial=0.0))[::-1]
    orders = [(up[0], _rising(patch)), (down[-1], _falling(patch))]
    # a row begun in the middle takes the whole cutter, and power may be planned for less
    inner = range(1, len(patch) - 1) if path.rows.bite >= path.rows.diameter - 1e-9 else ()
    if inner:
        outward = [down[m] + seconds(patch[m].fresh) + up[m + 1] + path.lift_time for m in inner]
        cost = min(outward)
        m = inner[outward.index(cost)]
        below, middle, above = _falling(patch[:m]), patch[m], _rising(patch[m + 1 :])
        orders += [
            (cost, [RowRun(middle.row, middle.fresh, True), *above, *_apart(below)]),
            (cost, [RowRun(middle.row, middle.fresh, False), *below, *_apart(above)]),
        ]
    least = min(cost for cost, _ in orders)
    found = [runs for cost, runs in orders if cost < least + WORTH]
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
