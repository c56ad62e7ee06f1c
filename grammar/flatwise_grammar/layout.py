"""The one style of a job file, for a text without flaws: `styled`.

Rows are built from the tree and from slices of the source, never from the source's spaces, and then aligned in
columns.  Two things of the writer's own layout are kept, because a reader sees meaning in them: a block on one line,
and columns (of values, of comments) that are already aligned.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from itertools import groupby
from typing import Any

from flatwise_grammar.nodes import Block, Comment, Field, File, Item, Mark, Name, NumberWithUnit, Point, Use
from flatwise_grammar.parser import parse

INDENT = 4
WIDTH = 120  # characters that a block on one line may have
GAP = 2  # spaces between columns
WIDEST_GAP = 4  # spaces after the longest word of a column that is already aligned


def styled(text: str, file: File) -> str:
    """A text without flaws, whose tree is `file`, in the style; unchanged if its tree or comments would change."""
    better = "".join(f"{line}\n" for line in _Layout(text, file).lines())
    read_back, flaws = parse(better)
    return text if flaws or bare(read_back) != bare(file) else better


def bare(node: Any) -> Any:
    """A tree without its spans, to compare."""
    if type(node) is tuple:
        return tuple([bare(one) for one in node])
    if isinstance(node, File):
        return bare(node.uses), bare(node.blocks), bare(node.comments)
    if isinstance(node, Block):
        return "block", bare(node.head), bare(node.body)
    if isinstance(node, Field):
        return "field", node.word.text, bare(node.items)
    if isinstance(node, Point):
        return "point", bare(node.x), bare(node.y)
    if isinstance(node, Use):
        return "use", node.target.text
    if isinstance(node, NumberWithUnit):
        return "quantity", node.number, node.unit
    return type(node).__name__, node.text.rstrip() if isinstance(node, Comment) else node.text


@dataclass
class _Row:
    """One line of the styled text: `word`, the rest in `cells` (to be aligned), and a comment."""

    kind: str  # field, more (the field continues), block (on one line), plain, comment, blank
    depth: int
    word: str = ""
    cells: list[str] = field(default_factory=list)
    #: how many of the cells are names before the first value; for fields only
    names: int = 0
    #: the column of the value as written, from the word's start; 0 where there is none
    written: int = 0
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
        self._add_body(parts, 0, len(self.text), 0)
        for run in _runs(self.rows):
            if all(row.kind == "block" for row in run):
                _align_blocks(run)
            else:
                _align_fields(run)
        for row in self.rows:
            row.code = " " * (INDENT * row.depth) + row.code
        _align_comments(self.rows)
        return [f"{row.code:{row.comment_column}}{row.comment}" if row.comment else row.code for row in self.rows]

    # -- rows

    def _line_number(self, at: int) -> int:
        return bisect_right(self.starts, at)

    def _column(self, at: int) -> int:
        return at - self.starts[self._line_number(at) - 1]

    def _comments_before(self, end: int) -> Iterator[Comment]:
        while self.next_comment < len(self.comments) and self.comments[self.next_comment].span.start < end:
            self.next_comment += 1
            yield self.comments[self.next_comment - 1]

    def _add_body(self, parts: Sequence[Field | Block | Use], start: int, end: int, depth: int) -> None:
        """Add the rows between two offsets: parts, comments, and one blank line where there were any."""
        before = start
        first = len(self.rows)
        for part in parts:
            before = self._add_comments(before, part.span.start, depth, first)
            self._add_blank_line(before, part.span.start, first)
            if isinstance(part, Field):
                self._add_field(part, depth)
            elif isinstance(part, Use):
                self.rows.append(_Row("plain", depth, code=f"use {self._item(part.target)}"))
            else:
                self._add_block(part, depth)
            before = part.span.end
        self._add_comments(before, end, depth, first)

    def _add_comments(self, before: int, end: int, depth: int, first: int) -> int:
        """Add the comments between two parts; returns where the last of them ends."""
        for comment in self._comments_before(end):
            text = comment.text.rstrip()
            if before and self.rows and self._line_number(before) == self._line_number(comment.span.start):
                self.rows[-1].comment = text
                self.rows[-1].comment_column = self._column(comment.span.start)
            else:
                self._add_blank_line(before, comment.span.start, first)
                self.rows.append(_Row("comment", depth, code=text))
            before = comment.span.end
        return before

    def _add_blank_line(self, before: int, start: int, first: int) -> None:
        if len(self.rows) > first and self._line_number(start) - self._line_number(before) > 1:
            self.rows.append(_Row("blank", 0))

    def _add_field(self, part: Field, depth: int) -> None:
        row = _Row("field", depth, part.word.text)
        self.rows.append(row)
        if part.items and self._line_number(part.items[0].span.start) == self._line_number(part.word.span.start):
            row.written = part.items[0].span.start - part.word.span.start
        line = self._line_number(part.span.start)
        before = part.word.span.end
        leading = True
        for item in part.items:
            if self._line_number(item.span.start) != line:
                line = self._line_number(item.span.start)
                self._add_comments(before, item.span.start, depth, len(self.rows))
                row = _Row("more", depth)
                self.rows.append(row)
            before = item.span.end
            if isinstance(item, Mark) and item.text == "," and row.cells:
                row.cells[-1] += ","
            else:
                row.cells.append(self._item(item))
            leading = leading and isinstance(item, Name)
            row.names += leading and row.kind == "field"

    def _add_block(self, part: Block, depth: int) -> None:
        head = self._phrase(part.head)
        brace = self.text.index("{", part.head_span.end)
        if self._line_number(part.span.start) == self._line_number(part.span.end - 1):
            body = self._body_on_one_line(part)
            if INDENT * depth + len(head) + 1 + len(body) <= WIDTH:
                name = self._phrase(part.head[1:])
                value = part.head[1].span.start if name else brace
                cells = [name, body] if name else [body]
                self.rows.append(_Row("block", depth, part.kind, cells, written=value - part.span.start))
                return
        self.rows.append(_Row("plain", depth, code=f"{head} {{"))
        self._add_body(part.body, brace + 1, part.span.end - 1, depth + 1)
        self.rows.append(_Row("plain", depth, code="}"))

    def _body_on_one_line(self, part: Block) -> str:
        inner = [
            f"{one.word.text} {self._phrase(one.items)}".rstrip()
            if isinstance(one, Field)
            else f"{self._phrase(one.head)} {self._body_on_one_line(one)}"
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
        if isinstance(item, NumberWithUnit):  # without a space before its unit
            return item.number + item.unit
        return self.text[item.span.start : item.span.end]


# -- columns ----------------------------------------------------------------------------------------------------


def _runs(rows: Sequence[_Row]) -> Iterator[list[_Row]]:
    """Rows that share their columns."""
    run: list[_Row] = []
    for row in rows:
        if row.kind == "comment":
            continue
        if run and not _joins(run, row):
            yield [one for one in run if one.kind != "blank"]
            run = []
        if row.kind != "plain" and (run or row.kind != "blank"):
            run.append(row)
    if run:
        yield [one for one in run if one.kind != "blank"]


def _joins(run: Sequence[_Row], row: _Row) -> bool:
    """Whether a row belongs to the run above it: of the same depth; after a blank line only blocks do."""
    if row.kind == "blank":
        return all(one.kind == "block" for one in run)
    if row.kind == "plain" or row.depth != run[0].depth:
        return False
    return run[-1].kind != "blank" or row.kind == "block"


def _align_blocks(run: Sequence[_Row]) -> None:
    """Align blocks on one line: their names, and their braces after them."""
    word_width = max(len(row.word) for row in run) + 1
    named = [row for row in run if len(row.cells) == 2]
    name_width = _column_width([row.cells[0] for row in named])
    for row in named:
        row.cells[0] = f"{row.cells[0]:{name_width}}"
    for row in run:
        row.code = f"{row.word:{word_width}}{''.join(row.cells)}"


def _align_fields(run: Sequence[_Row]) -> None:
    """Align the values of fields, and the names before values where lines say the same kind of thing."""
    fields = [row for row in run if row.kind == "field"]
    for _, group in groupby(fields, key=_pattern):
        _align_names(list(group))
    column = _value_column(run)
    for row in run:
        row.code = f"{row.word:{column}}{' '.join(row.cells)}".rstrip()


def _value_column(run: Sequence[_Row]) -> int:
    """Where the values of a run begin: as written, if they were aligned on purpose, else after the longest word."""
    longest = max(len(row.word) for row in run)
    valued = [row for row in run if row.kind != "more" and row.cells]
    written = {row.written for row in valued}
    if len(valued) > 1 and len(written) == 1:
        aligned = written.pop()
        # words of one length with one space after them are aligned by chance
        chance = aligned == longest + 1 and len({len(row.word) for row in valued}) == 1
        if longest < aligned <= longest + WIDEST_GAP and not chance:
            return aligned
    return longest + GAP


def _pattern(row: _Row) -> tuple[Any, ...]:
    """What neighbouring fields must share for their leading names to be aligned.

    As many names before a value, with the same last one (`low_dog left at 25%`); where there are only two, the word too
    (`waive depth because …`).
    """
    names = row.names
    if names < 2 or len(row.cells) == names or row.cells[names - 1].endswith(","):
        return (id(row),)
    return names, row.cells[names - 1], row.word if names == 2 else ""


def _align_names(rows: Sequence[_Row]) -> None:
    if len(rows) < 2:
        return
    for at in range(rows[0].names - 1):
        width = _column_width([row.cells[at] for row in rows]) - 1  # one more space joins the cells
        for row in rows:
            row.cells[at] = f"{row.cells[at]:{width}}"


def _column_width(cells: Sequence[str]) -> int:
    """The width of a column with the spaces after it: one space where all cells are equally long."""
    lengths = {len(cell) for cell in cells}
    return max(lengths, default=0) + (1 if len(lengths) < 2 else GAP)


def _align_comments(rows: Sequence[_Row]) -> None:
    """Set the column of each comment after code.

    A comment keeps its column if the code leaves room, and comments that shared a column still share one.  Comments
    that the code reaches share a column with neighbours that it reaches too.  A blank line or a line with a brace
    separates neighbours.
    """
    group: list[_Row] = []
    for row in [*rows, _Row("blank", 0)]:
        separate = row.kind in ("plain", "blank")
        if group and (separate or (row.comment and not _share_column(group[-1], row))):
            _set_comment_column(group)
            group = []
        if row.comment:
            group.append(row)


def _share_column(row: _Row, after: _Row) -> bool:
    same = row.comment_column == after.comment_column or (_reached(row) and _reached(after))
    return same and row.kind != "plain"


def _reached(row: _Row) -> bool:
    """Whether the code leaves no room before its comment."""
    return row.comment_column <= len(row.code) + GAP


def _set_comment_column(group: Sequence[_Row]) -> None:
    room = [len(row.code) + GAP for row in group]
    kept = [row.comment_column for row in group if not _reached(row)]
    column = max(room + kept)
    for row in group:
        row.comment_column = column
