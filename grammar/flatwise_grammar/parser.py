"""From text to tree, whatever state the text is in.

A file is cut into chunks, one top-level block each, and every chunk is read for itself and kept, so that an
edit costs its own chunk.
"""

from __future__ import annotations

from collections import OrderedDict
from threading import Lock

from flatwise_grammar.blocks import Part, read_chunk
from flatwise_grammar.chunks import chunks
from flatwise_grammar.nodes import File, Flaw, Span, moved

MOST_FLAWS = 1000  # of one file; a text with more is not a job file


def parse(text: str, path: str = "", *, again: bool = True) -> tuple[File, tuple[Flaw, ...]]:
    """The tree of a text and every flaw found, in the order of the text.

    `again` keeps what was read, for the next time that the file is read with an edit in it.

    Never raises for a text.  Spans are character offsets into `text`, with `path` as given.  Blocks that are
    whole are all there; a line with a flaw is there only where its mend is certain (read as mended).
    """
    part = _KEPT.part if again else read_chunk
    parts = [part(text[start:end], path, start) for start, end in chunks(text)]
    found = [flaw for part in parts for flaw in part.flaws]
    return (
        File(
            tuple([use for part in parts for use in part.uses]),
            tuple([block for part in parts for block in part.blocks]),
            tuple([comment for part in parts for comment in part.comments]),
            Span(path, 0, len(text)),
        ),
        tuple(found[:MOST_FLAWS]),
    )


# -- what is kept -----------------------------------------------------------------------------------------------


class _Kept:
    """The last chunks that were read, so that one edit does not read the whole file anew.  For threads.

    Bounded by the characters in them, since each keystroke of a day adds a chunk: a tree takes some 35 bytes for
    each.
    """

    MOST = 2_000_000  # characters in all: twice the longest file that the compiler takes
    LONGEST = 100_000
    APIECE = 200  # characters that a chunk counts for beside its own

    def __init__(self) -> None:
        self._parts: OrderedDict[tuple[str, str], tuple[int, Part]] = OrderedDict()
        self._size = 0
        self._lock = Lock()

    def part(self, text: str, path: str, base: int) -> Part:
        if len(text) > self.LONGEST:
            return read_chunk(text, path, base)
        with self._lock:
            kept = self._parts.get((path, text))
            if kept is not None:
                self._parts.move_to_end((path, text))
        if kept is None:
            part = read_chunk(text, path, base)
        elif kept[0] != base:
            part = _moved_part(kept[1], base - kept[0])
        else:
            return kept[1]
        with self._lock:
            if (path, text) not in self._parts:
                self._size += len(text) + self.APIECE
            self._parts[(path, text)] = (base, part)
            while self._size > self.MOST:
                (_, gone), _ = self._parts.popitem(last=False)
                self._size -= len(gone) + self.APIECE
        return part


def _moved_part(part: Part, by: int) -> Part:
    return Part(
        tuple([moved(use, by) for use in part.uses]),
        tuple([moved(block, by) for block in part.blocks]),
        tuple([moved(comment, by) for comment in part.comments]),
        tuple([moved(flaw, by) for flaw in part.flaws]),
    )


_KEPT = _Kept()
