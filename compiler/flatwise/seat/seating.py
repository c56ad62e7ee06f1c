"""From a surveyed panel to the panel as it lies for the first face, on bed and leaves."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import NamedTuple

from flatwise.core.finding import Findings
from flatwise.core.surface import Surface
from flatwise.findings import fw203_rocks, fw204_no_stack
from flatwise.model.stages import OtherAim, Panel, Pose, Rock, Seating, Shim, Stack, Work
from flatwise.model.words import CORNERS, PLACES
from flatwise.seat.leaves import BARE, Stacks, improve, stacks
from flatwise.seat.rest import SAME, Rest, Slab, patch
from flatwise_grammar.nodes import Span

#: What the search for better leaves stops at: nobody measures a smaller loss (mm).
ENOUGH = 0.005
#: Tries of the search; fewer on a face of very many nodes, where each takes long.
TRIES = 120


class Spot(NamedTuple):
    """A place for leaves, mm: by hand (`set_by_hand` mm) or chosen from a set."""

    x: float
    y: float
    choice: Stacks | None
    set_by_hand: float = 0.0


class Written(NamedTuple):
    """How a job names a place for leaves, and where."""

    name: str
    span: Span


@dataclass(frozen=True)
class Outcome:
    """What one choice of leaves comes to."""

    aim: str
    chosen: tuple[Stack, ...]
    pose: Pose
    most: float
    rock: Rock


def seat(work: Work, panel: Panel) -> tuple[Seating | None, Findings]:
    """Lay the panel on the bed and its shims, choose leaves where the job lets the compiler choose.

    The result is what will happen with the real leaves, worked out again from the rest of a rigid body.
    Findings: FW203 it rocks, FW204 no stack fits, FW206 and FW207 it bends.  Always gives a Seating.
    """
    if work.job.stock.is_bed:
        return _level(panel), ()
    written = _spots(work)
    limit = float(work.rules.rock)
    seats = _seats(panel.lower, panel.upper, work.mass, limit, tuple(written))
    outcomes = seats.outcomes
    aim, other = "natural", ""
    if len(outcomes) > 1 and work.job.supports is not None:
        aim = str(work.job.supports.aim)
        other = "natural" if aim == "least_removal" else "least_removal"
        # filling the gaps of the natural pose can leave more than the leaves make of the best tilt
        if aim == "least_removal" and outcomes["natural"].most > outcomes[aim].most + SAME:
            aim, other = other, aim
    taken = outcomes[aim]
    names = tuple(written.values())
    shims = _shims(seats, taken, names)
    heights = seats.heights(taken.chosen)
    pose = taken.pose
    seating = Seating(
        lower=panel.lower.plus(pose.a, pose.b, pose.c),
        upper=panel.upper.plus(pose.a, pose.b, pose.c),
        pose=pose,
        shims=shims,
        touches=seats.rest.touches(pose, heights),
        rocks=taken.rock.move > limit,
        most_thickness=taken.most,
        best_thickness=max(seats.slab.best[2], taken.most),
        other=OtherAim(other, outcomes[other].most, _shims(seats, outcomes[other], names)) if other else None,
        bound_lower=panel.bound_lower,
        bound_upper=panel.bound_upper,
        bound_thickness=panel.bound_thickness,
        aim=aim if other else "",
    )
    if not _cuts_first(work):
        return seating, ()
    from flatwise.seat.bending import bends

    findings: Findings = tuple(
        fw204_no_stack.no_stack(work, shim, limit) for shim in shims if not shim.by_hand and shim.gap_left > limit
    )
    if seating.rocks:
        findings += (fw203_rocks.rocks(work, taken.rock, _mend(work, seats, taken)),)
    return seating, findings + bends(work, panel, seating)


def _cuts_first(work: Work) -> bool:
    """Whether the first face is still to be cut: its leaves and its rock are history afterwards."""
    job = work.job
    done = job.after_second is not None or (job.after_first is not None and job.after_first.marks is None)
    return job.faces.first is not None and not done


def _level(panel: Panel) -> Seating:
    """A spoilboard: it lies where it is."""
    length, width = panel.lower.length, panel.lower.width
    most = panel.upper.lowest - panel.lower.highest
    corners = ((0.0, 0.0), (length, 0.0), (0.0, width), (length, width))
    bounds = (panel.bound_lower, panel.bound_upper, panel.bound_thickness)
    return Seating(panel.lower, panel.upper, Pose(0.0, 0.0, 0.0), (), corners, False, most, most, None, *bounds)


def _spots(work: Work) -> dict[Spot, Written]:
    """Where the job puts or allows leaves; a place that it names twice counts once, by hand before chosen."""
    supports = work.job.supports
    if supports is None:
        return {}
    found: dict[tuple[float, float], tuple[Spot, Written]] = {}
    for shim in supports.shim:
        x, y = shim.place.on(work.length, work.width)
        found.setdefault((x, y), (Spot(x, y, None, float(shim.height)), Written(shim.place.name, shim.place.span)))
    for under in supports.shims:
        choice = stacks(work.sets[str(under.set)])
        for place in under.places:
            x, y = place.on(work.length, work.width)
            found.setdefault((x, y), (Spot(x, y, choice), Written(place.name, place.span)))
    return dict(found.values())


class _Seats:
    """One panel over one set of places for leaves; `mass` in kg, `rock` in mm: how far it may move when pressed."""

    def __init__(self, lower: Surface, upper: Surface, mass: float, rock: float, spots: tuple[Spot, ...]) -> None:
        self.face, self.mass, self.limit, self.spots = lower, mass, rock, spots
        self.rest = Rest(lower, [patch(spot.x, spot.y, lower.length, lower.width) for spot in spots])
        self.slab = Slab(lower, upper)
        self.free = [k for k, spot in enumerate(spots) if spot.choice is not None]
        self.sets = [spot.choice for spot in spots if spot.choice is not None]
        self.tries = min(TRIES, max(6, 2_000_000 // max(1, len(self.rest.points))))

    @cached_property
    def outcomes(self) -> dict[str, Outcome]:
        """What each aim comes to; where there is nothing to choose only what the panel does by itself."""
        natural = self._natural()
        return (
            {"natural": natural, "least_removal": self._least_removal(natural)} if self.free else {"natural": natural}
        )

    def heights(self, chosen: tuple[Stack, ...] | list[Stack]) -> list[float]:
        """Heights of all stacks, those set by hand among them (mm)."""
        heights = [spot.set_by_hand for spot in self.spots]
        for k, stack in zip(self.free, chosen, strict=True):
            heights[k] = stack.height
        return heights

    def _bare(self) -> Pose:
        """The pose without leaves but those set by hand."""
        return self.rest.natural(self.heights([BARE] * len(self.free)))

    def _fill(self, pose: Pose) -> list[Stack]:
        """The stack nearest to the gap at each place that is free, unless it lifts the panel by more than `rock`."""
        gaps = self.rest.gaps(pose, [0.0] * len(self.spots))
        chosen = []
        for k, choice in zip(self.free, self.sets, strict=True):
            gap = max(0.0, gaps[k])
            stack = choice.nearest(gap)
            lifts = stack.height - gap > self.limit
            chosen.append(choice.under(gap) if lifts else stack)
        return chosen

    def _outcome(self, aim: str, chosen: list[Stack]) -> Outcome:
        heights = self.heights(chosen)
        pose = self.rest.natural(heights)
        rock = self.rest.rocks(pose, heights, self.mass, self.face)[0]
        return Outcome(aim, tuple(chosen), pose, self.slab.left(pose.a, pose.b), rock)

    def _steady(self, chosen: list[Stack]) -> float:
        """Worth of a choice that must not rock: what is left, less ten times the rock beyond the limit (mm)."""
        outcome = self._outcome("", chosen)
        return outcome.most - 10.0 * max(0.0, outcome.rock.move - self.limit)

    def _natural(self) -> Outcome:
        """Leaves that only fill the gaps of the pose that the panel takes by itself."""
        bare = self._bare()
        chosen = self._fill(bare)
        outcome = self._outcome("natural", chosen)
        if outcome.rock.move > self.limit and self._can_lie_still(bare):
            # rounding up under one place can lift another: try the heights beside, for steadiness alone
            def still(trial: list[Stack]) -> float:
                return -max(0.0, self._outcome("", trial).rock.move - self.limit)

            steady = self._outcome("natural", improve(chosen, self.sets, still, 0.0, self.tries // 3))
            if steady.rock.move <= self.limit:
                outcome = steady
        return self._topped_up(outcome)

    def _can_lie_still(self, pose: Pose) -> bool:
        """Whether leaves of just the right heights under the free places would stop the rock of a pose."""
        if not self.free:
            return False
        exact = self.heights([BARE] * len(self.free))
        gaps = self.rest.gaps(pose, [0.0] * len(self.spots))
        for k in self.free:
            exact[k] = max(0.0, gaps[k])
        return self.rest.rocks(pose, exact, self.mass, self.face)[0].move <= self.limit

    def _topped_up(self, outcome: Outcome) -> Outcome:
        """Where a place is left with more than `rock` under it, the highest stack that goes in without lifting."""
        gaps = self.rest.gaps(outcome.pose, self.heights(outcome.chosen))
        chosen = list(outcome.chosen)
        for n, (k, choice) in enumerate(zip(self.free, self.sets, strict=True)):
            if gaps[k] > self.limit:
                chosen[n] = choice.under(chosen[n].height + gaps[k])
        return self._outcome(outcome.aim, chosen) if tuple(chosen) != outcome.chosen else outcome

    def _least_removal(self, natural: Outcome) -> Outcome:
        """Leaves that bring the panel to the tilt in which the thickest slab can be left."""
        a, b = self.slab.nearest_best(natural.pose.a, natural.pose.b)
        # of all lifts that give the tilt the lowest: the panel just clear of the bed
        lift = -float((self.rest.points @ [a, b, 1.0]).min())
        chosen = self._fill(Pose(a, b, lift))
        bare = self._bare()
        floor = self.slab.left(bare.a, bare.b)
        enough = max(self.slab.best[2] - ENOUGH, floor)
        outcome = self._outcome("least_removal", chosen)

        def kept(trial: list[Stack]) -> float:
            pose = self.rest.natural(self.heights(trial))
            return self.slab.left(pose.a, pose.b)

        if outcome.most < enough:
            outcome = self._outcome("least_removal", improve(chosen, self.sets, kept, enough, self.tries))
        if outcome.most < floor:
            # the natural pose is hard to better: leaves that lift nothing keep it, and changes start from there
            gaps = self.rest.gaps(bare, [0.0] * len(self.spots))
            filled = [one.under(max(0.0, gaps[k])) for k, one in zip(self.free, self.sets, strict=True)]
            outcome = self._outcome("least_removal", improve(filled, self.sets, kept, enough, self.tries))
        outcome = self._topped_up(outcome)
        if outcome.rock.move > self.limit and self._can_lie_still(outcome.pose):
            steady = improve(list(outcome.chosen), self.sets, self._steady, enough, self.tries // 3)
            outcome = self._topped_up(self._outcome("least_removal", steady))
        return outcome


@lru_cache(maxsize=4)
def _seats(lower: Surface, upper: Surface, mass: float, rock: float, spots: tuple[Spot, ...]) -> _Seats:
    """The same for the same panel: most edits of a job change neither its readings nor its leaves."""
    return _Seats(lower, upper, mass, rock, spots)


def _shims(seats: _Seats, outcome: Outcome, names: tuple[Written, ...]) -> tuple[Shim, ...]:
    """The stacks that are really laid, in the order of the job."""
    heights = seats.heights(outcome.chosen)
    gaps = seats.rest.gaps(outcome.pose, heights)
    laid: list[tuple[float, ...]] = [(spot.set_by_hand,) for spot in seats.spots]
    for k, stack in zip(seats.free, outcome.chosen, strict=True):
        laid[k] = stack.leaves
    return tuple(
        Shim(name, spot.x, spot.y, laid[k], heights[k], max(0.0, gaps[k]), spot.choice is None, span)
        for k, (spot, (name, span)) in enumerate(zip(seats.spots, names, strict=True))
        if heights[k] > 0.0 or gaps[k] > seats.limit
    )


def _mend(work: Work, seats: _Seats, outcome: Outcome) -> tuple[str, Stack, bool] | None:
    """A place, the stack to put there, and whether the panel then lies still: the way out of a rock."""
    sets = [stacks(shims) for shims in work.sets.values()]
    best: tuple[str, Stack, bool] | None = None
    for name in dict.fromkeys((outcome.rock.place, *CORNERS)):
        spot = Spot(*_at(name, work), None)
        if any((other.x, other.y) == (spot.x, spot.y) for other in seats.spots):
            continue
        rest = Rest(seats.face, [patch(one.x, one.y, work.length, work.width) for one in (*seats.spots, spot)])
        heights = [*seats.heights(outcome.chosen), 0.0]
        gap = rest.gaps(outcome.pose, heights)[-1]
        if gap <= SAME:
            continue
        fitting = [choice.nearest(gap) for choice in sets] or [Stack(round(gap / 0.05) * 0.05, ())]
        stack = min(fitting, key=lambda one: abs(one.height - gap))
        if stack.height <= 0.0:
            continue
        heights[-1] = stack.height
        pose = rest.natural(heights)
        still = rest.rocks(pose, heights, work.mass, seats.face)[0].move <= seats.limit
        if still:
            return name, stack, True
        if best is None:
            best = (name, stack, False)
    return best


def _at(name: str, work: Work) -> tuple[float, float]:
    return PLACES[name][0] * work.length, PLACES[name][1] * work.width
