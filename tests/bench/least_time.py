"""The least machine time that a job's pattern allows, pass by pass, to measure the plan's own time against.

It takes from the job and the rules: planes, feed, rapid, acceleration, lift and hop, the places of the rows, the
direction of `one_way` rows, and the round along the edge where the job asks for it.  Then

*   a row is run only where wood may stand above the pass's plane in the band that is nearer to it than to any other
    row (and that the round along the edge has not cut); the last pass is run whole;
*   a stretch begins and ends where the whole cutter is clear of that wood, by RUN_IN inside the face and by D/2 and
    the overrun beyond an edge; two stretches of a row are one where the cutter could not come down between them;
*   between stretches the cutter takes the quickest way possible: at feed, straight or along the rows and then across,
    ignoring wood in the way; or by a hop, straight down again.  With one_way only a hop leads back;
*   the stretches come in the best order: exactly for a few; for many a lower bound, the minimum spanning tree or the
    sum of the shortest ways to each;
*   a pass begins with the move down and ends with the move up, and moves from one pass to the next count nothing.

This is the least for rows that each cut their own band.  Where a row has cut part of its neighbour's band, the plan may
skip that part and be a little quicker in a pass.

It uses no moves of the plan, and of `flatwise.plan` only the places of rows, constants, and the time of one straight
move.  Wood counts where the whole of a small cell stands above the plane, so that the figure stays low.
"""

from __future__ import annotations

from itertools import pairwise

import numpy as np

from flatwise.core.surface import Array
from flatwise.model.stages import Plan, Setup
from flatwise.plan.rows import BESIDE, Rows, rows
from flatwise.plan.standing_wood import RUN_IN
from flatwise.plan.timing import straight
from flatwise.plan.touch import reach

#: length of a cell along a row, mm, and number of cells across a band
ALONG, ACROSS = 1.0, 8
#: number of stretches up to which the best order is searched exactly
EXACT = 9

Stretch = tuple[float, float, float]


class _Moves:
    """Times of moves from one place to the next, s."""

    def __init__(self, plan: Plan, setup: Setup, plane: float, above: float, laid: Rows) -> None:
        machine = plan.work.machine
        self.feed, self.rapid, self.acceleration = setup.feed, machine.rapid_feed, float(machine.acceleration)
        rise, hop = setup.lift - plane, float(machine.hop)
        last = straight(hop, min(machine.z_feed, self.feed), self.acceleration)
        self.up = self.at_rapid(rise)
        self.down = self.at_rapid(rise - hop) + last
        holders = [holder.height + plan.work.rules.clearance for holder in setup.holders]
        air = min(setup.lift, max([above, *holders]) + hop) - plane
        self.hop = self.at_rapid(air) + self.at_rapid(air - hop) + last
        self.one_way = laid.one_way

    def at_feed(self, length: float) -> float:
        return straight(length, self.feed, self.acceleration)

    def at_rapid(self, length: float) -> float:
        return straight(length, self.rapid, self.acceleration)

    def over(self, here: Stretch, there: Stretch, back: bool, next_back: bool) -> float:
        """The least time from the end of a stretch, run backwards or not, to the start of another, s."""
        u, v = here[1] if back else here[2], here[0]
        to, w = there[2] if next_back else there[1], there[0]
        far = ((to - u) ** 2 + (w - v) ** 2) ** 0.5
        by_hop = self.hop + self.at_rapid(far)
        if self.one_way and ((to > u) == back or v != w):
            return by_hop
        # a part along the rows only lengthens the run before or after it
        return min(by_hop, self.at_feed(far), abs(to - u) / self.feed * 60.0 + self.at_feed(abs(w - v)))


def _best_order(stretches: list[Stretch], moves: _Moves, forward: bool) -> float:
    """The least time for all moves between the stretches, s: in the best order, each run in the best direction."""
    ways = (False,) if moves.one_way and forward else (True,) if moves.one_way else (False, True)
    ends = [(k, back) for k in range(len(stretches)) for back in ways]
    cost = {
        (one, other): moves.over(stretches[one[0]], stretches[other[0]], one[1], other[1])
        for one in ends
        for other in ends
        if one[0] != other[0]
    }
    if len(stretches) > EXACT:
        between = np.full((len(stretches), len(stretches)), np.inf)
        for (one, other), spent in cost.items():
            between[one[0], other[0]] = min(between[one[0], other[0]], spent)
        nearest = between.min(axis=0)
        return max(float(nearest.sum() - nearest.max()), _least_tree(np.minimum(between, between.T)))
    best: dict[tuple[int, tuple[int, bool]], float] = {(1 << end[0], end): 0.0 for end in ends}
    for _ in stretches[1:]:
        longer: dict[tuple[int, tuple[int, bool]], float] = {}
        for (done, last), spent in best.items():
            for end in ends:
                if not done >> end[0] & 1:
                    key = (done | 1 << end[0], end)
                    longer[key] = min(longer.get(key, np.inf), spent + cost[last, end])
        best = longer
    return min(best.values())


def _least_tree(between: Array) -> float:
    """The length of the minimum spanning tree (Prim): no way through all of them is shorter."""
    reached, joined = between[0].copy(), 0.0
    reached[0] = -np.inf
    for _ in range(len(between) - 1):
        new = int(np.argmin(np.where(np.isneginf(reached), np.inf, reached)))
        joined += float(reached[new])
        reached = np.where(np.isneginf(reached), -np.inf, np.minimum(reached, between[new]))
        reached[new] = -np.inf
    return joined


def _stretches(setup: Setup, laid: Rows, plane: float, border: float) -> list[Stretch]:
    """(v, from, to) of every stretch with wood above `plane`; `border` mm along all edges are cut already."""
    margin = setup.may_stand - setup.highest + setup.touch.height - setup.touch.lowest
    edges = np.append(np.arange(0.0, laid.length, ALONG), laid.length)
    at = np.array(laid.at)
    middles = np.concatenate(([0.0], (at[1:] + at[:-1]) / 2.0, [laid.width]))
    radius = laid.diameter / 2.0 + RUN_IN
    past = laid.diameter / 2.0 + max(laid.overrun, BESIDE)
    found: list[Stretch] = []
    for v, low, high in zip(laid.at, middles, middles[1:], strict=False):
        cuts = np.linspace(max(low, border), min(high, laid.width - border), ACROSS + 1)
        if cuts[-1] <= cuts[0]:
            continue
        top = setup.top.cells(edges, cuts)[0] if laid.along == "x" else setup.top.cells(cuts, edges)[0].T
        stands = (top + margin > plane) & (edges[:-1] >= border) & (edges[1:] <= laid.length - border)
        spans: list[tuple[float, float]] = []
        for part, here in zip(pairwise(cuts), stands, strict=True):
            # distance of the nearest wood in this part of the band from the row
            aside = max(0.0, part[0] - v, v - part[1])
            half = (radius**2 - aside**2) ** 0.5 if aside < radius else 0.0
            flips = np.flatnonzero(np.diff(np.concatenate(([0], here.astype(np.int8), [0]))))
            for a, b in zip(flips[::2], flips[1::2], strict=True):
                begin = -past if a == 0 else edges[a] - half
                end = laid.length + past if b == len(edges) - 1 else edges[b] + half
                spans.append((float(max(begin, -past)), float(min(end, laid.length + past))))
        spans.sort()
        whole: list[list[float]] = []
        for begin, end in spans:
            if whole and begin < whole[-1][1]:
                whole[-1][1] = max(whole[-1][1], end)
            else:
                whole.append([begin, end])
        found += [(v, begin, end) for begin, end in whole]
    return found


def _ring(laid: Rows, moves: _Moves) -> float:
    """Time of the round along the edge, with its run-in and run-out, at the rows' overrun, s."""
    inset = laid.diameter / 2.0 - laid.overrun
    long, wide = laid.length - 2 * inset, laid.width - 2 * inset
    beside = inset + laid.diameter / 2.0 + max(laid.overrun, BESIDE)
    legs = (long + beside, wide, long, wide + beside)
    return sum(moves.at_feed(each) for each in legs)


def least_times(plan: Plan, setup: Setup) -> list[float]:
    """The least time of every pass of a setup, s, without the spin-up; compare with `Pass.time`."""
    work = plan.work
    laid = rows(work, setup.overrun, reach(work) if work.job.stock.is_bed else None)
    forward = laid.climb == (laid.along == "y")
    found = []
    above = setup.may_stand + setup.touch.sink
    for number, one in enumerate(setup.passes, 1):
        moves = _Moves(plan, setup, one.plane, above, laid)
        total, above = moves.down + moves.up, one.plane
        everything = [(v, laid.start, laid.end) for v in laid.at]
        last = number == len(setup.passes)
        if last or laid.reach_short:
            stretches = everything
            ringed = laid.edge_first
        else:
            stretches = _stretches(setup, laid, one.plane, 0.0)
            ringed = laid.edge_first and len(stretches) > 0
            if ringed:
                stretches = _stretches(setup, laid, one.plane, laid.diameter - laid.overrun)
        if ringed:
            total += _ring(laid, moves)
        if ringed and stretches:
            total += moves.hop
        if stretches:
            total += sum(moves.at_feed(b - a) for _, a, b in stretches)
            total += _best_order(stretches, moves, forward)
        found.append(total)
    return found
