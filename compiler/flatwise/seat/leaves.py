"""Which leaves go where: every thickness at most once in a stack, as near as can be to what is wanted."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable
from functools import lru_cache
from itertools import combinations
from math import comb

from flatwise.model.shop import Shims
from flatwise.model.stages import Stack
from flatwise.seat.rest import SAME

#: Stacks of more leaves are left out where a set would give more stacks than this.
MOST_STACKS = 300_000
#: A change of leaves that gains less is not worth the hand's while (mm).
LEAST_GAIN = 0.001


BARE = Stack(0.0, ())


class Stacks:
    """All stacks that a set of leaves gives, by height."""

    def __init__(self, leaves: tuple[float, ...], most: int) -> None:
        thick = sorted(set(leaves), reverse=True)
        found: dict[int, Stack] = {0: BARE}
        total = 0
        for count in range(1, min(most, len(thick)) + 1):
            total += comb(len(thick), count)
            if total > MOST_STACKS and count > 1:
                break
            # the fewest leaves come first, and among as many the thickest: the first of a height is the one to keep
            for chosen in combinations(thick, count):
                height = sum(chosen)
                found.setdefault(round(height / SAME), Stack(height, chosen))
        self.all = sorted(found.values(), key=lambda stack: stack.height)
        self._heights = [stack.height for stack in self.all]

    def nearest(self, height: float) -> Stack:
        """The stack nearest to a height (mm); of equals (within 1e-6 mm) the fewest leaves, then the thickest."""
        at = bisect_left(self._heights, height)
        near = self.all[max(0, at - 2) : at + 2]
        off = min(abs(stack.height - height) for stack in near)
        equal = [stack for stack in near if abs(stack.height - height) <= off + SAME]
        return min(equal, key=lambda stack: (len(stack.leaves), tuple(-leaf for leaf in stack.leaves)))

    def under(self, height: float) -> Stack:
        """The highest stack that fits under a height (mm) without lifting anything."""
        return self.all[max(0, bisect_left(self._heights, height + SAME) - 1)]

    def beside(self, stack: Stack) -> tuple[Stack, ...]:
        """The next lower and the next higher stack."""
        at = bisect_left(self._heights, stack.height - SAME)
        return tuple(self.all[k] for k in (at - 1, at + 1) if 0 <= k < len(self.all))


def stacks(shims: Shims) -> Stacks:
    """All stacks of a set of leaves."""
    return _stacks(tuple(float(leaf) for leaf in shims.leaves), int(shims.stack))


@lru_cache(maxsize=32)
def _stacks(leaves: tuple[float, ...], most: int) -> Stacks:
    return Stacks(leaves, most)


def improve(
    chosen: list[Stack],
    sets: list[Stacks],
    worth: Callable[[list[Stack]], float],
    enough: float,
    tries: int,
) -> list[Stack]:
    """Change single stacks, then pairs, by one height at a time, while the worth of the whole rises.

    A panel bears on three of its stacks; rounding each to the nearest height by itself can lose what rounding
    them together would keep.  `worth` (mm, more is better) works the rest out again for each try; the search
    ends when it reaches `enough`, when no change helps by LEAST_GAIN, or after `tries`.
    """
    best, value = chosen, worth(chosen)
    while value < enough and tries > 0:
        single = [(k, stack) for k in range(len(best)) for stack in sets[k].beside(best[k])]
        changes = [(one,) for one in single]
        pairs = [(one, two) for one in single for two in single if one[0] < two[0]]
        step: list[Stack] | None = None
        for group in (changes, pairs):
            top = value + LEAST_GAIN
            for change in group:
                if tries <= 0:
                    break
                tries -= 1
                trial = list(best)
                for k, stack in change:
                    trial[k] = stack
                gained = worth(trial)
                if gained > top:
                    step, top = trial, gained
            if step is not None:
                best, value = step, top
                break
        if step is None:
            break
    return best
