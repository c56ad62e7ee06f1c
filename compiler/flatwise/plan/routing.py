"""Which way each pass of a face goes: the order of its patches and rows, and the end at which each begins."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache
from itertools import accumulate, pairwise
from math import hypot

from flatwise.core.surface import Surface
from flatwise.model.stages import Leg
from flatwise.plan.path import Pace, Path, Run, ramp, ring, sweep
from flatwise.plan.rows import Rows
from flatwise.plan.standing_wood import RUN_IN, Part, Patch, Standing, Stretch, patches, standing
from flatwise.plan.timing import Move, cut_length, duration, straight

#: s by which a way through a patch may look longer than the best and still be tried
WORTH = 1.0
#: patches up to which every order of them is looked at
FEW = 3

#: x, y, z in mm
Place = tuple[float, float, float]
#: the moves of patch after patch
Turns = list[list[Move]]


@dataclass(frozen=True)
class Way:
    """The way of one pass: its legs, the rows that it runs (mm across), whether those are all rows from end to end,
    and how long it takes from where the pass before ended: s, and mm at feed."""

    legs: tuple[Leg, ...]
    rows: tuple[float, ...]
    whole: bool
    time: float
    cut_length: float


@lru_cache(maxsize=8)
def ways(
    rows: Rows, top: Surface, planes: tuple[float, ...], margin: float, pace: Pace, skip_air: bool
) -> tuple[Way | None, ...]:
    """The way of every pass at `planes` (mm above the bed, from the top), None where nothing stands over it.

    The top may stand `margin` mm higher than forecast.  The last pass goes over the whole face, and without
    `skip_air` all do.  The last faces are kept, since most edits of a job change no move.
    """
    wood = standing(rows, top) if skip_air and len(planes) > 1 and not rows.reach_short else None
    found: list[Way | None] = []
    where: Place | None = None
    above = top.highest + margin
    for number, plane in enumerate(planes, 1):
        path = Path(rows, plane, pace)
        cut: Sequence[int] = range(len(rows.at))
        whole = True
        if rows.reach_short:
            ramp(path, min(pace.lift, above))
        elif wood is None or number == len(planes):
            if rows.perimeter:
                ring(path, _uv(rows, where))
            _all_rows(path, _end(path.moves) if path.moves else where)
        else:
            cut, whole = _best(path, wood, plane - margin, where)
        above = plane
        moves = path.moves
        if not moves:
            found.append(None)
            continue
        start = where if where is not None else (moves[0][1], moves[0][2], pace.lift)
        found.append(
            Way(
                legs=tuple([Leg(*move) for move in moves]),
                rows=tuple(rows.at[row] for row in cut),
                whole=whole,
                time=_timed(pace, moves, start),
                cut_length=cut_length(start, moves),
            )
        )
        where = _end(moves)
    return tuple(found)


def _timed(pace: Pace, moves: Sequence[Move], start: Place | None = None) -> float:
    """s for moves, from `start` or from over the place where they begin."""
    begin = start if start is not None else (moves[0][1], moves[0][2], pace.lift)
    return duration(begin, moves, pace.feed, pace.rapid, pace.acceleration)


def _end(moves: Sequence[Move]) -> Place:
    return moves[-1][1:]


def _uv(rows: Rows, where: Place | None) -> tuple[float, float] | None:
    """(u, v) of a place, along and across the rows."""
    return rows.point(where[0], where[1]) if where is not None else None


def _best(path: Path, wood: Standing, plane: float, where: Place | None) -> tuple[Sequence[int], bool]:
    """The quickest way that cuts all wood above `plane` (as forecast), put into `path`: which rows, and if all whole.

    Nothing is put there where nothing stands.
    """
    rows, everything = path.rows, range(len(path.rows.at))
    ringed = rows.perimeter and wood.at_edge(plane)
    if ringed:
        ring(path, _uv(rows, where))
        where = _end(path.moves)
    parts = wood.parts(plane, ringed)
    if parts is None:
        _all_rows(path, where)
        return everything, True
    if not parts:
        return (), False
    tried: list[list[Move]] = []
    may_be_whole = len(parts) == len(rows.at) and not ringed
    if may_be_whole:
        # all of it after all may be quicker
        over = Path(rows, path.plane, path.pace)
        _all_rows(over, where)
        tried.append(over.moves)
    tried.append(_in_turn(path, patches(rows, parts), where))
    times = [_timed(path.pace, moves, where) for moves in tried]
    best = times.index(min(times))
    path.moves += tried[best]
    if may_be_whole and best == 0:
        return everything, True
    places = [rows.point(x, y) for _, x, y, _ in tried[best]]
    run = {v for (u, v), (to, w) in pairwise(places) if u != to and v == w}
    return [row for row in everything if rows.at[row] in run], False


def _all_rows(path: Path, where: Place | None) -> None:
    """All rows from end to end, beginning at the corner nearest to `where`."""
    rows = path.rows
    order, forward = list(range(len(rows.at))), True
    near = _uv(rows, where)
    if near is not None:
        u, v = near
        if abs(v - rows.at[-1]) < abs(v - rows.at[0]):
            order.reverse()
        forward = abs(u - rows.start) <= abs(u - rows.end)
    sweep(path, [Run(row, ((rows.start, rows.end),), order[0] <= order[-1]) for row in order], forward)


def _in_turn(path: Path, group: Sequence[Patch], where: Place | None) -> list[Move]:
    """Moves through patch after patch in the order, and each by the way, that takes least from where the cutter is."""
    tries = [[(_timed(path.pace, moves), moves) for moves in _tries(path, patch)] for patch in group]
    joined: list[Move] = []
    for moves in _quickest(path, tries, where):
        if joined and _between(path, _end(joined), moves, False)[1]:
            # beside the panel from one to the next, down all the time: no lift behind the one or before the other
            joined[-1] = (False, moves[0][1], moves[0][2], path.plane)
            joined += moves[next(k for k, move in enumerate(moves) if not move[0]) + 1 :]
        else:
            joined += moves
    return joined


def _between(path: Path, here: Place | None, moves: Sequence[Move], first: bool) -> tuple[float, bool]:
    """s from a place to where moves begin, and whether the cutter stays down on the way.

    Where it does, both lifts are left out, so that the time may be less than nothing.  To the `first` patch of a
    pass it comes from another height.
    """
    if here is None:
        return 0.0, False
    pace = path.pace
    far = hypot(moves[0][1] - here[0], moves[0][2] - here[1])
    lifted = straight(far, pace.rapid, pace.acceleration)
    down = straight(far, pace.feed, pace.acceleration) - path.by_lift
    stays = not first and down < lifted and _along_end(path.rows, here, moves)
    return (down if stays else lifted), stays


def _quickest(path: Path, tries: Sequence[Sequence[tuple[float, list[Move]]]], where: Place | None) -> Turns:
    """One try (s, moves) of every patch, in the order that takes least from `where`.

    For a few patches that is searched through; for more the next is always the one that costs least.
    """
    # (s, moves of every patch in turn) by the patches that are done (bits), the last of them, and which try it was:
    # how it goes on depends on these alone
    found: dict[tuple[int, int, int], tuple[float, Turns]] = {(0, -1, -1): (0.0, [])}
    few = len(tries) <= FEW
    for _ in tries:
        longer: dict[tuple[int, int, int], tuple[float, Turns]] = {}
        for (done, _, _), (spent, turns) in found.items():
            here = _end(turns[-1]) if turns else where
            for n, through in enumerate(tries):
                if done >> n & 1:
                    continue
                # the next of many is chosen by the way to it, and by how much its try takes over its best
                least = 0.0 if few else min(one for one, _ in through)
                for k, (one, moves) in enumerate(through):
                    total = spent + _between(path, here, moves, not turns)[0] + one - least
                    key = (done | 1 << n, n, k)
                    if key not in longer or total < longer[key][0]:
                        longer[key] = (total, [*turns, moves])
        found = longer
        if not few:
            key = min(found, key=lambda one: (found[one][0], one))
            found = {key: (0.0, found[key][1])}
    return min(found.values(), key=lambda one: one[0])[1]


def _along_end(rows: Rows, here: Place, moves: Sequence[Move]) -> bool:
    """Whether the way to where moves begin lies beside the panel, at the ends of the rows."""
    (u, _), (to, _) = rows.point(here[0], here[1]), rows.point(moves[0][1], moves[0][2])
    return u == to and (u == rows.start or u == rows.end)


def _tries(path: Path, patch: Patch) -> Iterator[list[Move]]:
    """The ways through one patch that are worth trying."""
    for runs in _orders(path, patch):
        for forward in (True,) if path.rows.one_way else (True, False):
            through = Path(path.rows, path.plane, path.pace)
            sweep(through, runs, forward)
            yield through.moves


def _orders(path: Path, patch: Patch) -> list[list[Run]]:
    """Orders of a patch's rows: up, down, or from a row in between to both sides, if that leaves less in the way."""

    def spent(stretches: Sequence[Stretch]) -> float:
        return sum(b - a for a, b in stretches) / path.feed * 60.0

    def rising(parts: Sequence[Part]) -> list[Run]:
        return [Run(part.row, part.up, True) for part in parts if part.up]

    def falling(parts: Sequence[Part]) -> list[Run]:
        return [Run(part.row, part.down, False) for part in reversed(parts) if part.down]

    # what the rows before one take on the way down, and those from one on the way up
    down = list(accumulate((spent(part.down) for part in patch), initial=0.0))
    up = list(accumulate((spent(part.up) for part in reversed(patch)), initial=0.0))[::-1]
    orders = [(up[0], rising(patch)), (down[-1], falling(patch))]
    # a row in between takes the whole cutter, and power may be planned for less
    inner = range(1, len(patch) - 1) if path.rows.bite >= path.rows.diameter - 1e-9 else ()
    if inner:
        outward = [down[m] + spent(patch[m].fresh) + up[m + 1] + path.by_lift for m in inner]
        cost = min(outward)
        m = inner[outward.index(cost)]
        above, below = rising(patch[m + 1 :]), falling(patch[:m])
        orders += [
            (cost, [Run(patch[m].row, patch[m].fresh, True), *above, *_elsewhere(below)]),
            (cost, [Run(patch[m].row, patch[m].fresh, False), *below, *_elsewhere(above)]),
        ]
    least = min(cost for cost, _ in orders)
    found = [runs for cost, runs in orders if cost < least + WORTH]
    return [*found, *(_branches(path.rows, runs) for runs in found if any(len(run.stretches) > 1 for run in runs))]


def _branches(rows: Rows, runs: Sequence[Run]) -> list[Run]:
    """The same stretches, where they fork or meet branch after branch: none before all that it takes as cut."""
    branches: list[list[Run]] = []
    #: (stretch, row, branch) of all that came before
    before: list[tuple[Stretch, int, int]] = []
    for run in runs:
        near = [one for one in before if abs(rows.at[one[1]] - rows.at[run.row]) < rows.diameter + RUN_IN]
        for one in run.stretches:
            beside = {branch for (a, b), _, branch in near if a < one[1] and one[0] < b}
            branch = max(beside, default=-1)
            last = branches[branch][-1] if len(beside) == 1 else run
            (a, b), *_ = last.stretches
            # it goes on from the only one beside it, unless that has gone on already
            if last.row == run.row or not (a < one[1] and one[0] < b):
                branch = len(branches)
                branches.append([])
            branches[branch].append(Run(run.row, (one,), run.upward, not branches[branch] and branch > 0))
            before.append((one, run.row, branch))
    return [run for branch in branches for run in branch]


def _elsewhere(runs: Sequence[Run]) -> list[Run]:
    """Runs that are come to by a lift."""
    return [Run(run.row, run.stretches, run.upward, k == 0) for k, run in enumerate(runs)]
