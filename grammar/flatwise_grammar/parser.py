"""From text to tree, whatever state the text is in.

A file is cut into chunks, one top-level block each, and each chunk is read by itself.  So an error stays within its
chunk, and an edit in the editor costs only the chunk that it is in.
"""

from __future__ import annotations

from functools import lru_cache

from flatwise_grammar.blocks import Chunk, read_chunk
from flatwise_grammar.chunks import chunk_bounds
from flatwise_grammar.nodes import File, Flaw, Span, moved

MOST_FLAWS = 1000  # of one file; a text with more is not a job file
MOST_FILES = 500  # whose chunks are kept


def parse(text: str, path: str = "", *, keep: bool = False) -> tuple[File, tuple[Flaw, ...]]:
    """The tree of a text and all its flaws, in the order of the text.

    With `keep`, the chunks that have not changed since the last call with this `path` are not read again: for an
    editor, where each keystroke is a call.

    Never raises for a text.  Spans are character offsets into `text`, with `path` as given.  Every whole block is in
    the tree; a line with a flaw is in it only where its correction is certain (read as corrected).
    """
    chunks = _kept_chunks(text, path) if keep else [read_chunk(text[a:b], path, a) for a, b in chunk_bounds(text)]
    flaws = [flaw for chunk in chunks for flaw in chunk.flaws]
    return (
        File(
            tuple([use for chunk in chunks for use in chunk.uses]),
            tuple([block for chunk in chunks for block in chunk.blocks]),
            tuple([comment for chunk in chunks for comment in chunk.comments]),
            Span(path, 0, len(text)),
        ),
        tuple(flaws[:MOST_FLAWS]),
    )


def _kept_chunks(text: str, path: str) -> list[Chunk]:
    """The chunks of a text; those that the last version of the file had too are only moved to their new places."""
    last = _last_version(path)
    now: dict[str, tuple[int, Chunk]] = {}
    chunks = []
    for start, end in chunk_bounds(text):
        piece = text[start:end]
        base, chunk = last.get(piece) or (start, read_chunk(piece, path, start))
        if base != start:
            chunk = _moved_chunk(chunk, start - base)
        now[piece] = start, chunk
        chunks.append(chunk)
    last.clear()
    last.update(now)
    return chunks


@lru_cache(maxsize=MOST_FILES)
def _last_version(path: str) -> dict[str, tuple[int, Chunk]]:
    """The chunks of a file's last version by their text, each with its offset; `_kept_chunks` fills it.

    Threads may share it: one that misses a chunk reads it itself.
    """
    return {}


def _moved_chunk(chunk: Chunk, by: int) -> Chunk:
    return Chunk(
        tuple([moved(use, by) for use in chunk.uses]),
        tuple([moved(block, by) for block in chunk.blocks]),
        tuple([moved(comment, by) for comment in chunk.comments]),
        tuple([moved(flaw, by) for flaw in chunk.flaws]),
    )
