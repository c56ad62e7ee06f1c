"""Formatting: the grammar's style as edits of whole lines, so that an editor keeps its cursor and bookmarks."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import SequenceMatcher
from typing import NamedTuple

from flatwise.sources.paths import SOURCE_LIMIT
from flatwise_grammar import format_text
from flatwise_lsp.workspace.document_text import DocumentText


class Replacement(NamedTuple):
    """`text` replaces the characters from `start` to `end`."""

    start: int
    end: int
    text: str


def format_document(text: DocumentText) -> list[Replacement]:
    """The edits that format a document; blocks with a syntax error stay as they are."""
    return format_lines(text, 0, len(text.starts) - 1)


def format_lines(text: DocumentText, first: int, last: int) -> list[Replacement]:
    """The edits that change only the lines from `first` to `last` (from 0, both included)."""
    if len(text.text) > SOURCE_LIMIT:
        return []
    return changed_lines(text, format_text(text.text), first, last + 1)


def format_typed(text: DocumentText, line: int) -> list[Replacement]:
    """The edits after a `}` or a line break was typed: of the block that ends on this line, else of the line before.

    The cursor's own line is changed only where it closes a block.
    """
    if line < len(text.starts) and text.line(line).strip().startswith("}"):
        return format_lines(text, _opening_line(text, line), line)
    return format_lines(text, max(0, line - 1), max(0, line - 1))


def _opening_line(text: DocumentText, line: int) -> int:
    """The line on which the block that closes on `line` begins."""
    depth = 0
    for number in range(line, -1, -1):
        code = text.line(number).split("#")[0]
        depth += code.count("}") - code.count("{")
        if depth <= 0:
            return number
    return 0


def changed_lines(text: DocumentText, changed: str, first: int, end: int) -> list[Replacement]:
    """The edits of whole lines that make a text the changed one, of those from `first` to before `end`."""
    if changed == text.text:
        return []
    old, new = _lines(text), _lines(DocumentText(changed))
    starts = [*text.starts, len(text.text)]
    found: list[Replacement] = []
    for tag, a, b, c, d in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if tag == "equal":
            continue
        if first <= a and b <= end and (a < b or a > first or first == 0):
            found.append(Replacement(starts[a], starts[b], "".join(new[c:d])))
        else:
            found.extend(_equal_lines(text, old, new[c:d], range(max(a, first), min(b, end))))
    return found


def _equal_lines(text: DocumentText, old: list[str], new: list[str], numbers: range) -> Iterator[Replacement]:
    """Edits for part of a changed stretch: one for each line that differs from a new line only in its blanks."""
    left = [("".join(line.split()), line) for line in new]
    for number in numbers:
        squeezed = "".join(old[number].split())
        same = next((index for index, (other, _) in enumerate(left) if other == squeezed), None)
        if same is None or not squeezed:
            continue
        line = left[same][1]
        del left[: same + 1]
        if line != old[number]:
            yield Replacement(text.starts[number], text.starts[number] + len(old[number]), line)


def _lines(text: DocumentText) -> list[str]:
    """The lines of a text with their line breaks."""
    lines = [text.text[a:b] for a, b in zip(text.starts, [*text.starts[1:], len(text.text)], strict=True)]
    return lines if lines[-1] else lines[:-1]
