"""The stacks that a set of leaves gives, each thickness at most once in a stack."""

from __future__ import annotations

from bisect import bisect_left
from functools import lru_cache
from itertools import combinations
from math import comb

from flatwise.model.shop import Shims
from flatwise.model.stages import Stack
from flatwise.seat.rest import SAME

#: A set that would give more stacks than this gives only those of fewer leaves.
MOST_STACKS = 300_000
#: A place without leaves.
BARE = Stack(0.0, ())


class Stacks:
    """All stacks that a set of leaves gives, by height; of equal heights the fewest leaves, then the thickest."""

    def __init__(self, leaves: tuple[float, ...], most: int) -> None:
        thick = sorted(set(leaves), reverse=True)
        found: dict[int, Stack] = {0: BARE}
        total = 0
        for count in range(1, min(most, len(thick)) + 1):
            total += comb(len(thick), count)
            if total > MOST_STACKS and count > 1:
                break
            # fewer leaves come first, then thicker ones, so the first stack of a height is the one to keep
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
        """The highest stack that goes into a gap (mm) without lifting the panel."""
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
