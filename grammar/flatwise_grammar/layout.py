"""The one style of a job file: `format_text`.

Rows are built from the tree and from slices of the source, never from the source's blanks, then put into
columns.  Two things of the writer's own layout are kept, because they carry meaning to the eye: a block that
stands on one line, and columns (of values, of comments) that already stand straight.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from flatwise_grammar.nodes import Block, Comment, Field, File, Item, Mark, Name, Point, Quantity, Use
from flatwise_grammar.parser import parse

INDENT = 4
WIDTH = 120  # characters that a block on one line may take
APART = 2  # blanks between columns
LOOSEST = 4  # blanks behind the longest word of a column that stands straight already


def format_text(text: str) -> str:
    """The text in the language's one style: the same tree and the same comments, `\\n` at the end of each line.

    A text with any flaw comes back as it is, and so does one whose tree or comments the style would change.
    """
    file, flaws = parse(text)
    if flaws:
        return text
    better = "".join(f"{line}\n" for line in _Layout(text, file).lines())
    again, flaws = parse(better)
    return text if flaws or _bare(again) != _bare(file) else better


def _bare(node: Any) -> Any:
    """A tree without its places, to compare."""
    if isinstance(node, tuple):
        return tuple([_bare(one) for one in node])
    if isinstance(node, File):
        return _bare(node.uses), _bare(node.blocks), _bare(node.comments)
    if isinstance(node, Block):
        return "block", _bare(node.head), _bare(node.body)
    if isinstance(node, Field):
        return "field", node.word.text, _bare(node.items)
    if isinstance(node, Point):
        return "point", _bare(node.x), _bare(node.y)
    if isinstance(node, Use):
        return "use", node.target.text
    if isinstance(node, Quantity):
        return "quantity", node.number, node.unit
    return type(node).__name__, node.text.rstrip() if isinstance(node, Comment) else node.text


@dataclass
class _Row:
    """One line to be: `word`, the rest in `cells` (joined by single blanks until columns are known), a comment."""

    kind: str  # field, more (the field goes on), block (on one line), plain, comment, blank
    depth: int
    word: str = ""
    cells: list[str] = field(default_factory=list)
    #: how many of the cells are names before the first value; for fields only
    names: int = 0
    #: the column of the value as written, from the word's start; 0 where there is none
    written: int = 0
    #: the column of the value, as decided
    column: int = 0
    code: str = ""
    comment: str = ""
    comment_column: int = 0


class _Layout:
    def __init__(self, text: str, file: File) -> None:
        self.text = text
        self.file = file
        self.rows: list[_Row] = []
        self.starts = [0, *[end.end() for end in re.finditer(r"\r\n?|\n", text)]]
        self.comments = list(file.comments)
        self.next_comment = 0

    def lines(self) -> list[str]:
        parts: list[Field | Block | Use] = sorted(
            [*self.file.uses, *self.file.blocks], key=lambda part: part.span.start
        )
        self._body(parts, 0, len(self.text), 0)
        for run in _runs(self.rows):
            _align(run)
        for row in self.rows:
            row.code = " " * (INDENT * row.depth) + row.code
        _align_comments(self.rows)
        return [f"{row.code:{row.comment_column}}{row.comment}" if row.comment else row.code for row in self.rows]

    # -- rows

    def _line(self, at: int) -> int:
        return bisect_right(self.starts, at)

    def _column(self, at: int) -> int:
        return at - self.starts[self._line(at) - 1]

    def _comments_before(self, end: int) -> Iterator[Comment]:
        while self.next_comment < len(self.comments) and self.comments[self.next_comment].span.start < end:
            self.next_comment += 1
            yield self.comments[self.next_comment - 1]

    def _body(self, parts: Sequence[Field | Block | Use], start: int, end: int, depth: int) -> None:
        """The rows of what stands between two offsets: parts, comments, and one blank line where there were some."""
        before = start
        first = len(self.rows)
        for part in parts:
            before = self._notes(before, part.span.start, depth, first)
            self._gap(before, part.span.start, first)
            if isinstance(part, Field):
                self._field(part, depth)
            elif isinstance(part, Use):
                self.rows.append(_Row("plain", depth, code=f"use {self._item(part.target)}"))
            else:
                self._block(part, depth)
            before = part.span.end
        self._notes(before, end, depth, first)

    def _notes(self, before: int, end: int, depth: int, first: int) -> int:
        """The comments between two parts; returns where the last of them ends."""
        for comment in self._comments_before(end):
            text = comment.text.rstrip()
            if before and self.rows and self._line(before) == self._line(comment.span.start):
                self.rows[-1].comment = text
                self.rows[-1].comment_column = self._column(comment.span.start)
            else:
                self._gap(before, comment.span.start, first)
                self.rows.append(_Row("comment", depth, code=text))
            before = comment.span.end
        return before

    def _gap(self, before: int, start: int, first: int) -> None:
        if len(self.rows) > first and self._line(start) - self._line(before) > 1:
            self.rows.append(_Row("blank", 0))

    def _field(self, part: Field, depth: int) -> None:
        row = _Row("field", depth, part.word.text)
        self.rows.append(row)
        if part.items and self._line(part.items[0].span.start) == self._line(part.word.span.start):
            row.written = part.items[0].span.start - part.word.span.start
        line = self._line(part.span.start)
        before = part.word.span.end
        leading = True
        for item in part.items:
            if self._line(item.span.start) != line:
                line = self._line(item.span.start)
                self._notes(before, item.span.start, depth, len(self.rows))
                row = _Row("more", depth)
                self.rows.append(row)
            before = item.span.end
            if isinstance(item, Mark) and item.text == "," and row.cells:
                row.cells[-1] += ","
            else:
                row.cells.append(self._item(item))
            leading = leading and isinstance(item, Name)
            row.names += leading and row.kind == "field"

    def _block(self, part: Block, depth: int) -> None:
        head = self._phrase(part.head)
        one_line = self._line(part.span.start) == self._line(part.span.end - 1)
        if one_line:
            inside = self._inside(part)
            if INDENT * depth + len(head) + 1 + len(inside) <= WIDTH:
                name = self._phrase(part.head[1:])
                row = _Row("block", depth, part.kind, [name, inside] if name else [inside])
                behind = part.head[1].span if name else None
                start = behind.start if behind else self.text.index("{", part.head_span.end)
                row.written = start - part.span.start
                self.rows.append(row)
                return
        self.rows.append(_Row("plain", depth, code=f"{head} {{"))
        brace = self.text.index("{", part.head_span.end)
        self._body(part.body, brace + 1, part.span.end - 1, depth + 1)
        self.rows.append(_Row("plain", depth, code="}"))

    def _inside(self, part: Block) -> str:
        inner = [
            f"{one.word.text} {self._phrase(one.items)}".rstrip()
            if isinstance(one, Field)
            else f"{self._phrase(one.head)} {self._inside(one)}"
            for one in part.body
        ]
        return f"{{ {'; '.join(inner)} }}" if inner else "{ }"

    def _phrase(self, items: Sequence[Item]) -> str:
        text = ""
        for item in items:
            joint = "" if not text or (isinstance(item, Mark) and item.text == ",") else " "
            text += joint + self._item(item)
        return text

    def _item(self, item: Item) -> str:
        if isinstance(item, Point):
            return f"({self._phrase(item.x)}, {self._phrase(item.y)})"
        if isinstance(item, Quantity):  # a blank before its unit goes
            return item.number + item.unit
        return self.text[item.span.start : item.span.end]


# -- columns ----------------------------------------------------------------------------------------------------


def _runs(rows: Sequence[_Row]) -> Iterator[list[_Row]]:
    """Rows that share their columns: neighbours of one depth; blank lines part them unless all are blocks."""
    run: list[_Row] = []
    for row in rows:
        if row.kind == "comment":
            continue
        if row.kind == "blank":
            if any(one.kind != "block" for one in run):
                yield run
                run = []
            elif run:
                run.append(row)
            continue
        if run and (row.kind == "plain" or row.depth != run[0].depth or (run[-1].kind, row.kind) == ("blank", "field")):
            yield run
            run = []
        if row.kind != "plain":
            run.append(row)
    yield run


def _align(run: list[_Row]) -> None:
    run = [row for row in run if row.kind != "blank"]
    if not run:
        return
    if all(row.kind == "block" for row in run):
        named = [row for row in run if len(row.cells) == 2]
        wide = max(len(row.word) for row in run) + 1
        for row, width in zip(named, _widths([row.cells[0] for row in named]), strict=True):
            row.cells[0] = f"{row.cells[0]:{width}}"
        for row in run:
            row.code = f"{row.word:{wide}}{''.join(row.cells)}"
        return
    fields = [row for row in run if row.kind == "field"]
    for _, group in groupby(fields, key=_pattern):
        _align_names(list(group))
    heads = [row for row in run if row.kind != "more" and row.cells]
    longest = max((len(row.word) for row in run), default=0)
    column = longest + APART
    written = {row.written for row in heads}
    if len(heads) > 1 and len(written) == 1:
        straight = next(iter(written))
        # words of one length with a blank behind them stand straight by chance
        chance = straight == longest + 1 and len({len(row.word) for row in heads}) == 1
        if longest < straight <= longest + LOOSEST and not chance:
            column = straight
    for row in run:
        row.code = f"{row.word:{column}}{' '.join(row.cells)}".rstrip()


def _pattern(row: _Row) -> tuple[Any, ...]:
    """What lines have in common whose leading names stand in columns: as many names before a value, the last one the
    same (`low_dog left at 25%`).  With just two of them the word is the same too (`waive depth because …`)."""
    names = row.names
    if names < 2 or len(row.cells) == names or row.cells[names - 1].endswith(","):
        return (id(row),)
    return names, row.cells[names - 1], row.word if names == 2 else ""


def _align_names(rows: list[_Row]) -> None:
    if len(rows) < 2:
        return
    for at in range(rows[0].names - 1):
        for row, width in zip(rows, _widths([row.cells[at] for row in rows]), strict=True):
            row.cells[at] = f"{row.cells[at]:{width - 1}}"


def _widths(cells: Sequence[str]) -> list[int]:
    """The width of a column, blanks behind it included: one blank where all cells are equally long."""
    lengths = {len(cell) for cell in cells}
    width = max(lengths, default=0) + (1 if len(lengths) < 2 else APART)
    return [width] * len(cells)


def _align_comments(rows: Sequence[_Row]) -> None:
    """A comment keeps its column if the code leaves room, and comments that shared a column still share one.

    Comments that the code reaches share a column with their neighbours of the same kind.  A blank line or a line
    with a brace parts neighbours.
    """

    def reached(row: _Row) -> bool:
        return row.comment_column <= len(row.code) + APART

    group: list[_Row] = []
    for row in [*rows, _Row("blank", 0)]:
        apart = row.kind in ("plain", "blank")
        if group and (row.comment or apart):
            last = group[-1]
            together = row.comment_column == last.comment_column or (reached(row) and reached(last))
            if apart or last.kind == "plain" or not together:
                room = [len(one.code) + APART for one in group]
                kept = [one.comment_column for one in group if not reached(one)]
                for one in group:
                    one.comment_column = max(room + kept)
                group = []
        if row.comment:
            group.append(row)
