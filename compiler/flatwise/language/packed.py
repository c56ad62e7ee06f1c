"""Many works: what was read of a job takes some 40 KB in its objects and 6 KB packed, and hundreds wait their turn."""

from __future__ import annotations

import pickle
import zlib
from collections.abc import Iterable, Iterator, Sequence
from typing import overload

from flatwise.model.stages import Work

#: so many are kept as they are: a run of few jobs, or one in an editor, packs nothing
FEW = 16


class Packed(Sequence[Work]):
    """Works in their order, each unpacked whenever it is asked for; the first `FEW` are kept as they are."""

    def __init__(self, works: Iterable[Work]) -> None:
        self._few: list[Work] = []
        self._packed: list[bytes] = []
        for work in works:
            if len(self._few) < FEW:
                self._few.append(work)
            else:
                self._packed.append(zlib.compress(pickle.dumps(work, pickle.HIGHEST_PROTOCOL), level=1))

    def __len__(self) -> int:
        return len(self._few) + len(self._packed)

    @overload
    def __getitem__(self, index: int) -> Work: ...
    @overload
    def __getitem__(self, index: slice) -> tuple[Work, ...]: ...
    def __getitem__(self, index: int | slice) -> Work | tuple[Work, ...]:
        if isinstance(index, slice):
            return tuple(self[each] for each in range(*index.indices(len(self))))
        at = range(len(self))[index]
        if at < FEW:
            return self._few[at]
        work: Work = pickle.loads(zlib.decompress(self._packed[at - FEW]))
        return work

    def __iter__(self) -> Iterator[Work]:
        return map(self.__getitem__, range(len(self)))
