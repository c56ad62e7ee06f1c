"""The stacks that a set of leaves gives, each thickness at most once in a stack."""

from __future__ import annotations

from bisect import bisect_left
from collections import Counter
from functools import lru_cache
from itertools import combinations
from math import comb

from flatwise.core.units import settled
from flatwise.model.shop import Shims
from flatwise.model.stages import Stack
from flatwise.seat.rest import SAME

#: A set that would give more stacks than this gives only those of fewer leaves.
MOST_STACKS = 300_000
#: A place without leaves.
BARE = Stack(0.0, ())


class Stacks:
    """All stacks that a set of leaves gives, by height; of equal heights the fewest leaves, then the thickest.

    `owned` are the thicknesses (mm) with the number of leaves of each, None for any number; `most` leaves go in a
    stack.
    """

    def __init__(self, owned: tuple[tuple[float, int | None], ...], most: int) -> None:
        self.owned = dict(owned)
        self.limited = any(number is not None for number in self.owned.values())
        thick = sorted(self.owned, reverse=True)
        found: dict[int, Stack] = {0: BARE}
        total = 0
        for count in range(1, min(most, len(thick)) + 1):
            total += comb(len(thick), count)
            if total > MOST_STACKS and count > 1:
                break
            # fewer leaves come first, then thicker ones, so the first stack of a height is the one to keep
            for chosen in combinations(thick, count):
                height = settled(sum(chosen))
                found.setdefault(round(height / SAME), Stack(height, chosen))
        self.all = sorted(found.values(), key=lambda stack: stack.height)
        self._heights = [stack.height for stack in self.all]
        #: `_nearest`, which the search asks for the same height again and again
        self._kept = lru_cache(maxsize=8192)(self._nearest)

    def nearest(self, height: float, most: int | None = None, used: Counter[float] | None = None) -> Stack:
        """The stack nearest to a height (mm); of equals (within 1e-6 mm) the fewest leaves, then the thickest.

        It has at most `most` leaves, and only leaves of which some are left beside those `used` in other stacks.
        """
        owned = ((leaf, number, self.owned.get(leaf)) for leaf, number in (used or {}).items())
        return self._kept(height, most, frozenset(leaf for leaf, number, own in owned if own and number >= own))

    def _nearest(self, height: float, most: int | None, gone: frozenset[float]) -> Stack:
        """The same without the leaves that are gone."""
        at = bisect_left(self._heights, height)
        found: list[Stack] = []
        for side in (reversed(self.all[:at]), self.all[at:]):
            fitting = (one for one in side if (most is None or len(one.leaves) <= most) and gone.isdisjoint(one.leaves))
            found += [one for one, _ in zip(fitting, range(2), strict=False)]
        off = min(abs(stack.height - height) for stack in found)
        equal = [stack for stack in found if abs(stack.height - height) <= off + SAME]
        return min(equal, key=lambda stack: (len(stack.leaves), tuple(-leaf for leaf in stack.leaves)))

    def beside(self, stack: Stack) -> tuple[Stack, ...]:
        """The next lower and the next higher stack."""
        at = bisect_left(self._heights, stack.height - SAME)
        return tuple(self.all[k] for k in (at - 1, at + 1) if 0 <= k < len(self.all))


def enough_leaves(stacks: list[tuple[Stacks, Stack]]) -> bool:
    """Whether as many leaves are owned as stacks of their sets use."""
    used: dict[tuple[Stacks, float], int] = {}
    for one, stack in stacks:
        for leaf in stack.leaves if one.limited else ():
            number = one.owned[leaf]
            used[one, leaf] = count = used.get((one, leaf), 0) + 1
            if number is not None and count > number:
                return False
    return True


def stacks(shims: Shims, thinnest: float = 0.0) -> Stacks:
    """All stacks of a set's leaves, those thinner than `thinnest` (mm) left out."""
    owned: dict[float, int | None] = {}
    for leaf in shims.leaves:
        number, before = leaf.owned or shims.count, owned.get(float(leaf.thickness), 0)
        owned[float(leaf.thickness)] = None if number is None or before is None else before + int(number)
    kept = tuple((leaf, number) for leaf, number in owned.items() if leaf >= thinnest - SAME)
    return _stacks(kept, int(shims.stack))


@lru_cache(maxsize=32)
def _stacks(owned: tuple[tuple[float, int | None], ...], most: int) -> Stacks:
    return Stacks(owned, most)
