"""The word that is being typed: its findings wait until the typing pauses."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable
from pathlib import Path
from typing import NamedTuple

from flatwise.core.finding import Finding
from flatwise_grammar.nodes import File, Span
from flatwise_lsp.workspace.shifted_findings import EditShift
from flatwise_lsp.workspace.tree_search import contains, node_at

_LAST = re.compile(r"\S*$")
_NEXT = re.compile(r"\S*")

#: s without an edit after which the word under the cursor is judged
PAUSE = 0.7


class TypedWord(NamedTuple):
    """The word at the cursor, by its offsets.  A text or a point that is not closed is one word."""

    start: int
    end: int

    def holds(self, span: Span | None) -> bool:
        """Whether a finding about `span` is about this word."""
        return span is not None and self.start <= span.start and span.end <= self.end


def typed_word(old: str, new: str) -> TypedWord:
    """The word under the cursor after an edit; without one there, the last word before it on its line."""
    caret = EditShift(old, new).caret
    line = new.rfind("\n", 0, caret) + 1
    before = new[line:caret].rstrip()
    starts = [len(before) - len(_LAST.findall(before)[0])]
    if before.count('"') % 2:
        starts.append(before.rfind('"'))
    if before.rfind("(") > before.rfind(")"):
        starts.append(before.rfind("("))
    end = line + len(before)
    return TypedWord(line + min(starts), _NEXT.match(new, end).end() if end == caret else end)  # type: ignore[union-attr]


class Typing:
    """The words that are being typed now, by file.  Only the event loop uses it."""

    def __init__(self, paused: Callable[[Path], None]) -> None:
        """`paused(path)` is called when a word may be judged."""
        self._paused = paused
        self._words: dict[Path, tuple[TypedWord, asyncio.TimerHandle]] = {}

    def edited(self, path: Path, old: str, new: str) -> None:
        """An edit has made a new text of an old one."""
        self.stop(path)
        timer = asyncio.get_running_loop().call_later(PAUSE, self._pause, path)
        self._words[path] = (typed_word(old, new), timer)

    def holds_back(self, path: Path, finding: Finding, tree: File | None) -> bool:
        """Whether a finding has to wait: about the typed word, or about what the block around it still lacks."""
        if path not in self._words or finding.span is None:
            return False
        word = self._words[path][0]
        if finding.code == "FW105" and tree is not None:
            lacking = node_at(tree, finding.span.start)
            if lacking is not None and contains(lacking.open_blocks[-1].span, word.start):
                return True
        return word.holds(finding.span)

    def stop(self, path: Path) -> None:
        """Nobody types in the file any more."""
        if path in self._words:
            self._words.pop(path)[1].cancel()

    def close(self) -> None:
        for path in list(self._words):
            self.stop(path)

    def _pause(self, path: Path) -> None:
        self.stop(path)
        self._paused(path)
