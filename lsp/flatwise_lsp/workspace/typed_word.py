"""The word that is being typed: its findings wait until the typing pauses."""

from __future__ import annotations

import asyncio
import re
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import NamedTuple, TypeVar

from flatwise.core.finding import Finding
from flatwise_grammar.nodes import Block, File, Span
from flatwise_lsp.workspace.shifted_findings import EditShift
from flatwise_lsp.workspace.tree_search import contains, node_at

T = TypeVar("T")

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
    """The words that were typed last, by file.  Only the event loop uses it."""

    def __init__(self, paused: Callable[[Path], None]) -> None:
        """`paused(path)` is called when a word may be judged."""
        self._paused = paused
        self._words: dict[Path, TypedWord] = {}
        #: for the words that are not judged yet
        self._timers: dict[Path, asyncio.TimerHandle] = {}

    def edited(self, path: Path, old: str, new: str, *, waits: bool) -> None:
        """An edit has made a new text of an old one; `waits` says whether its word is judged only after a pause."""
        self.stop(path)
        self._words[path] = typed_word(old, new)
        if waits:
            self._timers[path] = asyncio.get_running_loop().call_later(PAUSE, self._pause, path)

    def let_through(self, path: Path, found: Sequence[tuple[Finding, T]], tree: File | None) -> list[tuple[Finding, T]]:
        """The findings of a file that are shown now.

        Until the typing pauses, those about the typed word wait, and so does what the blocks around it lack.  Of the
        errors in the line that was typed last, and of what the blocks around it lack, one is shown at a time.
        """
        word = self._words.get(path)
        if word is None or tree is None:
            return list(found)
        if path in self._timers:
            found = [each for each in found if not (word.holds(each[0].span) or _is_lacking(each[0], tree, word))]
        turns = {k: turn for k, (one, _) in enumerate(found) if (turn := _turn(one, tree, word)) is not None}
        first = min(turns, key=lambda k: turns[k], default=None)
        return [each for k, each in enumerate(found) if k == first or k not in turns]

    def stop(self, path: Path) -> None:
        """Nobody types in the file any more."""
        self._words.pop(path, None)
        timer = self._timers.pop(path, None)
        if timer is not None:
            timer.cancel()

    def close(self) -> None:
        for path in list(self._words):
            self.stop(path)

    def _pause(self, path: Path) -> None:
        del self._timers[path]
        self._paused(path)


def _is_lacking(finding: Finding, tree: File, word: TypedWord) -> bool:
    """Whether a finding is about what a block around the word lacks."""
    if finding.code != "FW105" or finding.span is None:
        return False
    lacking = node_at(tree, finding.span.start)
    return lacking is not None and contains(lacking.open_blocks[-1].span, word.start)


def _turn(finding: Finding, tree: File, word: TypedWord) -> tuple[int, int] | None:
    """The turn of an error about the word's line: those in the line, then what the blocks around it lack, from the
    inside out, then blocks that are not closed.  None for other findings.
    """
    at = node_at(tree, word.start)
    if finding.severity != "error" or finding.span is None or at is None:
        return None
    if finding.code == "FW002":
        return 2, 0
    if _is_lacking(finding, tree, word):
        return 1, -finding.span.start
    line = at.node.head_span if isinstance(at.node, Block) else at.node.span
    return (0, finding.span.start) if contains(line, finding.span.start) else None
