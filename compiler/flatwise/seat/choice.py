"""Which leaves to lay: the best choices of 0, 1, 2 … stacks, and the one of them that the job's aim wants."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cached_property
from itertools import chain, combinations, product
from math import prod
from typing import NamedTuple

import numpy as np

from flatwise.core.surface import Surface
from flatwise.core.units import settled
from flatwise.model.stages import Pose, Rock, Stack
from flatwise.seat.leaves import BARE, Stacks, enough_leaves
from flatwise.seat.rest import PUSH, SAME, Rest, footprint
from flatwise.seat.slab import Slab

#: A choice is good if no pressed place moves by more than this share of the rule `rock` under the push, and by more
#: than all of it under twice the push.
GIVES = 0.4
#: Poses whose gaps are filled before the tilt between them is tried.
BOTH_ENDS = 2
#: Up to this many stacks, all places for them are tried; from there on one more place beside each of the best few.
ALL_PLACES = 2
BEST = 6
#: Where there are no more choices than this, each is tried.
ALL_TRIED = 2_500
#: Of many places, no more than so many get a stack.
MOST_LAID = 16
#: Heights are varied until a choice lies still and no change gains this much thickness (mm), at most this often.
LEAST_GAIN = 0.01
ROUNDS = 4


class LeafPlace(NamedTuple):
    """A place for leaves, mm: `stacks` to choose from, or None where the height is set by hand."""

    x: float
    y: float
    stacks: Stacks | None
    set_by_hand: float = 0.0


class LeafChoice(NamedTuple):
    """The stacks chosen at the free places, and what comes of them: the pose, the most thickness (mm), the worst rock.

    `excess` is how far pressed places move beyond what a good choice allows (mm), 0 if it lies still.
    """

    chosen: tuple[Stack, ...]
    pose: Pose
    most: float
    rock: Rock
    excess: float

    @property
    def stacks(self) -> int:
        return _stacks(self.chosen)

    @property
    def leaves(self) -> int:
        return _leaves(self.chosen)


class Trial(NamedTuple):
    """An estimate of a choice: by how much it moves too far, its leaves, and less the most thickness (mm)."""

    excess: float
    leaves: int
    lost: float
    chosen: tuple[Stack, ...]


class LeafSearch:
    """The search for leaves under one panel.

    `mass` in kg; `limit` is the rule `rock`, mm.
    """

    def __init__(
        self, lower: Surface, upper: Surface, mass: float, limit: float, places: tuple[LeafPlace, ...]
    ) -> None:
        self.mass, self.limit, self.places = mass, limit, places
        self.rest = Rest(lower, [footprint(place.x, place.y, lower.length, lower.width) for place in places])
        self.slab = Slab(lower, upper)
        self.free = [k for k, place in enumerate(places) if place.stacks is not None]
        self.sets = [place.stacks for place in places if place.stacks is not None]
        (self.bare,) = self._exact([(BARE,) * len(self.free)])
        #: for each pose of `_gaps`, the best places for so many stacks
        self._best_places: dict[int, list[list[tuple[int, ...]]]] = {0: [[()]] * 3}
        self._found: dict[int, tuple[LeafChoice, ...]] = {0: (self.bare,)}

    @property
    def counts(self) -> range:
        """The numbers of stacks that can be laid."""
        return range(min(len(self.free), MOST_LAID) + 1)

    @cached_property
    def still(self) -> bool:
        """Whether any choice lies still."""
        return any(not self.choices(count)[0].excess for count in self.counts if self.choices(count))

    def heights(self, chosen: Sequence[Stack]) -> list[float]:
        """Heights of all stacks, including those set by hand (mm)."""
        heights = [place.set_by_hand for place in self.places]
        for k, stack in zip(self.free, chosen, strict=True):
            heights[k] = stack.height
        return heights

    def fewest(self, good: Callable[[LeafChoice], bool]) -> LeafChoice | None:
        """The fewest stacks, then leaves, then the most thickness, that lie still and are `good`."""
        still = (choice for count in self.counts for choice in self.choices(count) if not choice.excess)
        return next(filter(good, still), None)

    def worth(self, good: Callable[[LeafChoice], bool], value: float) -> LeafChoice:
        """Each stack more gains more than `value` of thickness (mm).

        It is one of the good choices that lie still; if there are none, of those that lie still, or that rock least.
        """

        def key(one: LeafChoice) -> tuple[float, int, int]:
            return -round(one.most - one.stacks * value, 6), one.stacks, one.leaves

        every = [self.bare]
        for count, every in self._growing():
            first = min(every, key=key)
            # with more stacks none can be worth more, however thick
            if key(first)[0] < (count + 1) * value - self._most - SAME and good(first):
                return first
        by_worth = sorted(every, key=key)
        return next(filter(good, by_worth), by_worth[0])

    def thickest(self, good: Callable[[LeafChoice], bool], value: float) -> LeafChoice:
        """Within `value` (mm) of the most thickness of the same choices, the fewest stacks, then leaves."""

        def fewest(every: list[LeafChoice], most: float) -> list[LeafChoice]:
            return sorted(every, key=lambda one: (one.most < most - value, one.stacks, one.leaves, -one.most))

        every = [self.bare]
        for _, every in self._growing():
            thick = min(every, key=lambda one: -one.most)
            first, other = fewest(every, thick.most)[0], fewest(every, self._most)[0]
            # the same however thick a choice of more stacks may be
            if first == other and first.most >= self._most - value and good(thick) and good(first):
                return first
        by_thickness = sorted(every, key=lambda one: -one.most)
        most = next(filter(good, by_thickness), by_thickness[0]).most
        by_count = fewest(every, most)
        return next(filter(good, by_count), by_count[0])

    @cached_property
    def _most(self) -> float:
        """No choice leaves more than this thickness (mm)."""
        return self.slab.best[2] + SAME

    def _growing(self) -> Iterator[tuple[int, list[LeafChoice]]]:
        """All choices of no more than 0, 1, 2 … stacks that lie still; if none does, once those that rock least."""
        if not self.still:
            every = [choice for count in self.counts for choice in self.choices(count)]
            least = min(choice.excess for choice in every)
            yield len(self.free), [choice for choice in every if choice.excess <= least]
            return
        still: list[LeafChoice] = []
        for count in self.counts:
            still = [*still, *(choice for choice in self.choices(count) if not choice.excess)]
            if still:
                yield count, still

    def choices(self, count: int) -> tuple[LeafChoice, ...]:
        """The best choices of so many stacks, those of the fewest leaves first; they lie still if any does."""
        if count not in self._found:
            every = self._every
            trials = self._varied(self._filled_gaps(count)) if every is None else every.get(count, [])
            exact = set(self._exact([trial.chosen for trial in _best(trials, 2)]))
            least = min((choice.excess for choice in exact), default=0.0)
            still = (choice for choice in exact if choice.excess <= least)
            self._found[count] = tuple(sorted(still, key=lambda one: (one.leaves, -one.most, one.chosen)))
        return self._found[count]

    def _filled_gaps(self, count: int) -> list[Trial]:
        """For each pose, stacks that fill the gaps at so many places; keeps the best places for one stack more."""
        if count > 1:
            self.choices(count - 1)
        places, trials = range(len(self.free)), list[Trial]()
        self._best_places[count] = []
        kept = self._best_places[count]
        for gaps, before in zip(self._gaps, self._best_places[count - 1], strict=True):
            if len(kept) == BOTH_ENDS and trials and not min(trials).excess:
                # the tilt in between is for a panel that lies still at neither end
                kept.append(kept[-1])
                break
            every = combinations(places, count) if count <= ALL_PLACES else _one_more(before, places)
            laid = {chosen: each for each in every if (chosen := self._filled(gaps, each))}
            found = sorted(self._tried(laid))
            kept.append([laid[trial.chosen] for trial in found[:BEST]])
            trials += found
        return trials

    def _varied(self, trials: list[Trial]) -> list[Trial]:
        """The best of some trials and of what becomes of them where heights change."""
        seen = {trial.chosen for trial in trials}
        for _ in range(ROUNDS if trials else 0):
            best = _best(trials, BEST // 2)
            new = {each for trial in best for each in self._variants(trial.chosen)} - seen
            seen |= new
            trials = [*best, *self._tried(new)]
            gained = min(best, key=_thickest).lost - min(trials, key=_thickest).lost
            if not min(trials).excess and gained < LEAST_GAIN:
                break
        return trials

    @cached_property
    def _every(self) -> dict[int, list[Trial]] | None:
        """All choices by the number of stacks, if there are few enough to try each."""
        if prod(len(sets.all) for sets in self.sets) > ALL_TRIED:
            return None
        found = defaultdict[int, list[Trial]](list)
        every = product(*(sets.all for sets in self.sets))
        for trial in self._tried(one for one in every if enough_leaves(list(zip(self.sets, one, strict=True)))):
            found[_stacks(trial.chosen)].append(trial)
        return found

    @cached_property
    def _gaps(self) -> list[list[float]]:
        """Gaps down to the bed at the free places, mm: as the panel lies by itself, and just clear at two tilts.

        The best tilt, and the one in between.
        """
        own = self.bare.pose
        poses = [own]
        a, b = self.slab.nearest_best(own.a, own.b)
        for x, y in ((a, b), ((own.a + a) / 2.0, (own.b + b) / 2.0)):
            # of all lifts that give the tilt, the lowest
            poses.append(Pose(x, y, -float((self.rest.points @ [x, y, 1.0]).min())))
        gaps = [self.rest.gaps(pose, [0.0] * len(self.places)) for pose in poses]
        return [[max(0.0, settled(each[k])) for k in self.free] for each in gaps]

    def _filled(self, gaps: Sequence[float], places: Iterable[int]) -> tuple[Stack, ...] | None:
        """The stacks nearest to the gaps at some places, of leaves that are owned; None if one would be empty."""
        chosen, used = [BARE] * len(self.free), defaultdict[int, Counter[float]](Counter)
        for k in sorted(places, key=lambda k: -gaps[k]):
            left = used[id(self.sets[k])]
            chosen[k] = self.sets[k].nearest(gaps[k], used=left)
            left.update(chosen[k].leaves)
            if not chosen[k].leaves:
                return None
        return tuple(chosen)

    def _variants(self, chosen: tuple[Stack, ...]) -> Iterator[tuple[Stack, ...]]:
        """The same places with fewer leaves, or each stack the next one lower or higher."""
        ways = [
            (stack, sets.nearest(stack.height, 1), sets.nearest(stack.height, 2), *sets.beside(stack))
            if stack.leaves
            else (stack,) * 5
            for stack, sets in zip(chosen, self.sets, strict=True)
        ]
        laid = [k for k, stack in enumerate(chosen) if stack.leaves]
        tried: Iterable[tuple[Stack, ...]]
        if len(laid) <= ALL_PLACES:
            tried = product(*(ways[k] if k in laid else ways[k][:1] for k in range(len(chosen))))
        else:
            single = ((*chosen[:k], one, *chosen[k + 1 :]) for k in laid for one in ways[k])
            tried = chain(zip(*ways, strict=False), single)
        for trial in tried:
            if all(trial[k].leaves for k in laid) and enough_leaves(list(zip(self.sets, trial, strict=True))):
                yield trial

    def _tried(self, chosen: Iterable[tuple[Stack, ...]]) -> list[Trial]:
        """Estimates of what choices do."""
        every = list(chosen)
        if not every:
            return []
        poses, moves = self.rest.tried(np.array([self.heights(one) for one in every]), self.mass)
        allowed = np.array([GIVES, 1.0]) * self.limit
        excess = np.maximum(0.0, (moves.max(axis=2) - allowed).max(axis=1))
        return [
            Trial(_over(float(much)), _leaves(one), -settled(self.slab.left(a, b)), one)
            for one, much, (a, b, _) in zip(every, excess, poses.tolist(), strict=True)
        ]

    def _exact(self, every: Sequence[tuple[Stack, ...]]) -> list[LeafChoice]:
        """Lay the stacks of each choice and see what the panel does."""
        heights = [self.heights(chosen) for chosen in every]
        poses = [self.rest.natural(each) for each in heights]
        found = self.rest.all_rocks(poses, heights, self.mass, (PUSH, 2.0 * PUSH)) if every else []
        return [
            LeafChoice(chosen, pose, settled(self.slab.left(pose.a, pose.b)), rock, self._excess(rock, twice))
            for chosen, pose, ((rock, *_), (twice, *_)) in zip(every, poses, found, strict=True)
        ]

    def _excess(self, rock: Rock, twice: Rock) -> float:
        """How far the worst rocks under the push and under twice the push are beyond what is allowed (mm)."""
        return _over(max(0.0, rock.move - GIVES * self.limit, twice.move - self.limit))


def _stacks(chosen: Iterable[Stack]) -> int:
    return sum(1 for stack in chosen if stack.leaves)


def _leaves(chosen: Iterable[Stack]) -> int:
    return sum(len(stack.leaves) for stack in chosen)


def _best(trials: Iterable[Trial], thick: int) -> list[Trial]:
    """The trials that move least with the fewest leaves, and as many as `thick` of those that leave the most."""
    every = set(trials)
    return [*sorted(every)[: BEST // 2], *sorted(every, key=_thickest)[:thick]]


def _over(excess: float) -> float:
    """An excess (mm), 0 if nobody could measure it."""
    return settled(excess) if excess > SAME else 0.0


def _thickest(trial: Trial) -> tuple[float, float, int]:
    return trial.excess, trial.lost, trial.leaves


def _one_more(best: Iterable[tuple[int, ...]], places: range) -> list[tuple[int, ...]]:
    """The best places with one more beside them, each set once."""
    return sorted({tuple(sorted((*each, k))) for each in best for k in places if k not in each})
