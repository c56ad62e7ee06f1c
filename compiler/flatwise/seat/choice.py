"""Which leaves to lay for each aim."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from flatwise.core.surface import Surface
from flatwise.model.stages import Pose, Rock, Stack
from flatwise.seat.leaves import BARE, Stacks
from flatwise.seat.rest import Rest, footprint
from flatwise.seat.slab import Slab

#: A change of leaves must gain at least this much to be worth making (mm).
LEAST_GAIN = 0.001
#: The search for better leaves stops this close to the best: nobody measures a smaller loss (mm).
ENOUGH = 0.005
#: How many choices the search tries; on a face of very many nodes, where each takes long, it tries fewer.
TRIES = 120


class LeafPlace(NamedTuple):
    """A place for leaves, mm: `stacks` to choose from, or None where the height is set by hand."""

    x: float
    y: float
    stacks: Stacks | None
    set_by_hand: float = 0.0


@dataclass(frozen=True)
class LeafChoice:
    """The stacks chosen at the free places, and the result: the pose, the most thickness (mm), the worst rock."""

    chosen: tuple[Stack, ...]
    pose: Pose
    most: float
    rock: Rock


class LeafSearch:
    """The search for leaves under one panel.

    `mass` in kg; `limit` is how far the panel may move when pressed, mm.
    """

    def __init__(
        self, lower: Surface, upper: Surface, mass: float, limit: float, places: tuple[LeafPlace, ...]
    ) -> None:
        self.mass, self.limit, self.places = mass, limit, places
        self.rest = Rest(lower, [footprint(place.x, place.y, lower.length, lower.width) for place in places])
        self.slab = Slab(lower, upper)
        self.free = [k for k, place in enumerate(places) if place.stacks is not None]
        self.sets = [place.stacks for place in places if place.stacks is not None]
        self.tries = min(TRIES, max(6, 2_000_000 // max(1, len(self.rest.points))))

    @cached_property
    def choices(self) -> dict[str, LeafChoice]:
        """The choice for each aim; only "natural" if there is nothing to choose."""
        natural = self._natural()
        if not self.free:
            return {"natural": natural}
        return {"natural": natural, "least_removal": self._least_removal(natural)}

    def heights(self, chosen: Sequence[Stack]) -> list[float]:
        """Heights of all stacks, including those set by hand (mm)."""
        heights = [place.set_by_hand for place in self.places]
        for k, stack in zip(self.free, chosen, strict=True):
            heights[k] = stack.height
        return heights

    def _natural(self) -> LeafChoice:
        """Leaves that only fill the gaps of the pose that the panel takes by itself."""
        bare = self._bare()
        chosen = self._filled(bare)
        choice = self._try(chosen)
        if self._excess(choice) and self._can_lie_still(bare):
            # a stack rounded up at one place can lift the panel at another: steadiness alone counts in this search
            improved = improve(chosen, self.sets, lambda trial: -self._excess(self._try(trial)), 0.0, self.tries // 3)
            steady = self._try(improved)
            if not self._excess(steady):
                choice = steady
        return self._topped_up(choice)

    def _least_removal(self, natural: LeafChoice) -> LeafChoice:
        """Leaves that bring the panel to the tilt that leaves the thickest slab."""
        a, b = self.slab.nearest_best(natural.pose.a, natural.pose.b)
        # of all lifts that give the tilt, the lowest: the panel just clear of the bed
        lift = -float((self.rest.points @ [a, b, 1.0]).min())
        bare = self._bare()
        floor = self.slab.left(bare.a, bare.b)
        enough = max(self.slab.best[2] - ENOUGH, floor)

        def kept(trial: list[Stack]) -> float:
            pose = self.rest.natural(self.heights(trial))
            return self.slab.left(pose.a, pose.b)

        def kept_and_steady(trial: list[Stack]) -> float:
            choice = self._try(trial)
            return choice.most - 10.0 * self._excess(choice)

        chosen = self._filled(Pose(a, b, lift))
        choice = self._try(chosen)
        if choice.most < enough:
            choice = self._try(improve(chosen, self.sets, kept, enough, self.tries))
        if choice.most < floor:
            # the natural pose is hard to beat: start again from leaves that lift nothing and so keep it
            gaps = self._gaps(bare)
            filled = [one.under(max(0.0, gap)) for gap, one in zip(gaps, self.sets, strict=True)]
            choice = self._try(improve(filled, self.sets, kept, enough, self.tries))
        choice = self._topped_up(choice)
        if self._excess(choice) and self._can_lie_still(choice.pose):
            steady = improve(list(choice.chosen), self.sets, kept_and_steady, enough, self.tries // 3)
            choice = self._topped_up(self._try(steady))
        return choice

    def _try(self, chosen: Sequence[Stack]) -> LeafChoice:
        """Lay the stacks and see what the panel does."""
        heights = self.heights(chosen)
        pose = self.rest.natural(heights)
        rock = self.rest.rocks(pose, heights, self.mass)[0]
        return LeafChoice(tuple(chosen), pose, self.slab.left(pose.a, pose.b), rock)

    def _excess(self, choice: LeafChoice) -> float:
        """How far the panel rocks beyond the limit (mm)."""
        return max(0.0, choice.rock.move - self.limit)

    def _bare(self) -> Pose:
        """The pose with no leaves except those set by hand."""
        return self.rest.natural(self.heights([BARE] * len(self.free)))

    def _gaps(self, pose: Pose) -> list[float]:
        """The gaps down to the bed at the free places (mm)."""
        gaps = self.rest.gaps(pose, [0.0] * len(self.places))
        return [gaps[k] for k in self.free]

    def _filled(self, pose: Pose) -> list[Stack]:
        """The stack nearest to the gap at each free place; the next lower one where it would lift by over the limit."""
        chosen = []
        for gap, stacks in zip(self._gaps(pose), self.sets, strict=True):
            gap = max(0.0, gap)
            stack = stacks.nearest(gap)
            chosen.append(stacks.under(gap) if stack.height - gap > self.limit else stack)
        return chosen

    def _can_lie_still(self, pose: Pose) -> bool:
        """Whether stacks of exactly the right heights at the free places would stop the panel from rocking."""
        exact = [Stack(max(0.0, gap), ()) for gap in self._gaps(pose)]
        return bool(exact) and self.rest.rocks(pose, self.heights(exact), self.mass)[0].move <= self.limit

    def _topped_up(self, choice: LeafChoice) -> LeafChoice:
        """Where more than the limit is left under a place, the highest stack that goes in without lifting the panel."""
        gaps = self.rest.gaps(choice.pose, self.heights(choice.chosen))
        chosen = tuple(
            stacks.under(stack.height + gaps[k]) if gaps[k] > self.limit else stack
            for k, stack, stacks in zip(self.free, choice.chosen, self.sets, strict=True)
        )
        return self._try(chosen) if chosen != choice.chosen else choice


def improve(
    chosen: list[Stack], sets: list[Stacks], worth: Callable[[list[Stack]], float], enough: float, tries: int
) -> list[Stack]:
    """Change single stacks, then pairs, each by one height, while the worth of the whole rises.

    A panel bears on three of its stacks, and rounding each to the nearest height by itself can lose what rounding them
    together would keep.  `worth` (mm, more is better) judges each trial.  The search ends when it reaches `enough`,
    when no change gains LEAST_GAIN, or after `tries`.
    """
    best, value = chosen, worth(chosen)
    while value < enough and tries > 0:
        single = [(k, stack) for k in range(len(best)) for stack in sets[k].beside(best[k])]
        pairs = [(one, two) for one in single for two in single if one[0] < two[0]]
        step: list[Stack] | None = None
        for changes in ([(one,) for one in single], pairs):
            top = value + LEAST_GAIN
            for change in changes[:tries]:
                trial = list(best)
                for k, stack in change:
                    trial[k] = stack
                gained = worth(trial)
                if gained > top:
                    step, top = trial, gained
            tries -= min(tries, len(changes))
            if step is not None:
                best, value = step, top
                break
        if step is None:
            break
    return best
