"""Formatting: the grammar's one style, as edits of whole lines so that an editor keeps its marks and cursor."""

from __future__ import annotations

from collections.abc import Iterator
from difflib import SequenceMatcher
from typing import NamedTuple

from flatwise.sources.load import SOURCE_LIMIT
from flatwise_grammar import format_text
from flatwise_lsp.workspace.text import Text


class Replacement(NamedTuple):
    """`text` takes the place of the characters from `start` to `end`."""

    start: int
    end: int
    text: str


def document(text: Text) -> list[Replacement]:
    """The edits that lay a document out; none where it has a flaw, which the style must not touch."""
    return _edits(text, 0, len(text.starts))


def lines(text: Text, first: int, last: int) -> list[Replacement]:
    """The edits that touch only the lines from `first` to `last` (from 0, both taken in)."""
    return _edits(text, first, last + 1)


def typed(text: Text, line: int) -> list[Replacement]:
    """Behind a `}` or a line break: the lines of the block that ends there, or the line before.

    An edit only where it leaves the cursor's own line alone, unless a brace closes on it.
    """
    closes = text.line(line).strip().startswith("}") if line < len(text.starts) else False
    first = _opening(text, line) if closes else max(0, line - 1)
    return lines(text, first, line if closes else max(0, line - 1))


def _opening(text: Text, line: int) -> int:
    """The line on which the block that closes on `line` was opened."""
    depth = 0
    for number in range(line, -1, -1):
        bare = text.line(number).split("#")[0]
        depth += bare.count("}") - bare.count("{")
        if depth <= 0:
            return number
    return 0


def _edits(text: Text, first: int, end: int) -> list[Replacement]:
    if len(text.text) > SOURCE_LIMIT:
        return []
    tidy = format_text(text.text)
    if tidy == text.text:
        return []
    old, new = _split(text), _split(Text(tidy))
    found: list[Replacement] = []
    for tag, a, b, c, d in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
        if tag == "equal":
            continue
        if first <= a and b <= end and (a < b or a > first or first == 0):
            start = text.starts[a] if a < len(text.starts) else len(text.text)
            stop = text.starts[b] if b < len(text.starts) else len(text.text)
            found.append(Replacement(start, stop, "".join(new[c:d])))
        else:
            found.extend(_line_by_line(text, old, new[c:d], range(max(a, first), min(b, end))))
    return found


def _line_by_line(text: Text, old: list[str], new: list[str], numbers: range) -> Iterator[Replacement]:
    """Of a stretch that is only partly asked for: the lines that say the same in the new layout, one by one."""
    left = [("".join(line.split()), line) for line in new]
    for number in numbers:
        said = "".join(old[number].split())
        same = next((index for index, (squeezed, _) in enumerate(left) if squeezed == said), None)
        if same is None or not said:
            continue
        line = left[same][1]
        del left[: same + 1]
        if line != old[number]:
            yield Replacement(text.starts[number], text.starts[number] + len(old[number]), line)


def _split(text: Text) -> list[str]:
    """The lines of a text with their breaks."""
    pieces = [text.text[a:b] for a, b in zip(text.starts, [*text.starts[1:], len(text.text)], strict=True)]
    return pieces if pieces[-1] else pieces[:-1]
