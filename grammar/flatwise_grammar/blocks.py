"""One chunk of a text into blocks: each line by the grammar, by itself, and the braces by a stack.

A line that can't be read costs that line and no other.  Where a brace is missing, the indentation says where it
belongs.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

from flatwise_grammar import corrections, flaws
from flatwise_grammar.lines import Lexeme, Line, NotALine, lexemes, read_line
from flatwise_grammar.nodes import Block, Comment, Field, Flaw, Item, Name, Span, String, Use

DEEPEST = 50  # blocks within blocks; the language has three
AHEAD = 32  # lexemes to look past to see where a line continues
MOST_GUESSES = 20  # missing braces of one chunk that are placed by indentation


class Chunk(NamedTuple):
    """What one chunk of a text holds."""

    uses: tuple[Use, ...]
    blocks: tuple[Block, ...]
    comments: tuple[Comment, ...]
    flaws: tuple[Flaw, ...]


class _OpenBlock(NamedTuple):
    """A block whose closing brace has not come yet.  `column` is where its header's line begins, -1 inside a line."""

    head: tuple[Item, ...]
    head_span: Span
    brace: Span
    column: int
    body: list[Field | Block]


def read_chunk(text: str, path: str, base: int) -> Chunk:
    """Everything in one chunk of a file; `base` is the offset at which it begins there."""
    found = lexemes(text, path, base)
    plain = _ChunkReader(found, path, base)
    if not plain.left_open and not plain.outside:
        return plain.chunk
    # a brace is missing or too many: the indentation may say where
    guessed = _ChunkReader(found, path, base, by_indent=plain.left_open, opening=not plain.left_open)
    readings = [guessed] if guessed.guesses else []
    if plain.outside:
        readings.append(_ChunkReader(found, path, base, dropping=True))
    return min((*readings, plain), key=lambda reading: len(reading.flaws)).chunk


class _ChunkReader:
    """Reads the lexemes of one chunk, line by line, into blocks.

    `by_indent` closes blocks where the indentation says that they end; `opening` takes words above deeper lines for a
    header that lacks its brace; `dropping` leaves out closing braces that end a block above deeper lines.
    """

    def __init__(
        self,
        found: Sequence[Lexeme],
        path: str,
        base: int,
        *,
        by_indent: bool = False,
        opening: bool = False,
        dropping: bool = False,
    ) -> None:
        self.path = path
        self.by_indent = by_indent
        self.opening = opening
        self.dropping = dropping
        self.outside = False  # a line or a closing brace is outside every block
        self.stack: list[_OpenBlock] = []
        self.too_deep = 0  # open blocks beyond the deepest
        self.reported_too_deep = False
        self.guesses = 0
        self.headless = False  # in a body without a header: reported once, up to its brace
        self.uses: list[Use] = []
        self.blocks: list[Block] = []
        self.comments: list[Comment] = []
        self.flaws: list[Flaw] = []
        self.line_start = base
        self.at_line_start = True  # nothing but spaces on this line so far
        self.end = base
        self._read(found)
        self.left_open = bool(self.stack)
        self._close_rest()
        self.flaws.sort(key=lambda flaw: flaw.span.start)
        self.chunk = Chunk(tuple(self.uses), tuple(self.blocks), tuple(self.comments), tuple(self.flaws))

    def _read(self, found: Sequence[Lexeme]) -> None:
        line: list[Lexeme] = []
        column = -1
        comment = False  # in one that begins with //
        for number, lexeme in enumerate(found):
            kind = lexeme.type
            if kind != "NEWLINE" and (comment or _is_stroked(found, number)):
                if not comment:
                    self.flaws.append(flaws.of_comment(lexeme, self.path))
                comment = True
                continue
            if kind == "NEWLINE":
                comment = False
                if line and not self._continues(line, found, number):
                    if self.opening and column >= 0 and self._lacks_brace(line, column, found, number):
                        line.append(self._missing_brace(line))
                    self._read_line(line, column)
                    line = []
                self.line_start = lexeme.end
                self.at_line_start = True
                continue
            if kind == "COMMENT":
                self.comments.append(Comment(lexeme.text, Span(self.path, lexeme.start, lexeme.end)))
                continue
            here = lexeme.start - self.line_start if self.at_line_start else -1
            self.at_line_start = False
            if kind not in ("SEMICOLON", "RBRACE"):
                if not line:
                    column = here
                line.append(lexeme)
            if line and kind in ("SEMICOLON", "RBRACE", "LBRACE"):
                self._read_line(line, column)
                line = []
            if kind == "RBRACE" and self.dropping and self._is_extra(here, found, number):
                self._report_extra(lexeme, here, _after(found, number))
            elif kind == "RBRACE":
                self._close(lexeme, here, _after(found, number))
        if line:
            self._read_line(line, column)

    def _continues(self, line: list[Lexeme], found: Sequence[Lexeme], newline: int) -> bool:
        """Whether the line continues after this line break: after a comma, or before a misplaced brace."""
        after_comma = line[-1].type == "COMMA"
        for lexeme in found[newline + 1 : newline + AHEAD]:
            if lexeme.type not in ("NEWLINE", "COMMENT"):
                if lexeme.type == "LBRACE" and not after_comma:
                    # each blank line between them comes here: report it once
                    if not self.flaws or self.flaws[-1].span.start != lexeme.start:
                        self._flaw(
                            "The opening brace of a block is not on the line of its header.",
                            lexeme,
                            "Put the brace at the end of the header's line.",
                        )
                    return True
                return after_comma and lexeme.type != "RBRACE"
        return after_comma

    def _lacks_brace(self, line: list[Lexeme], column: int, found: Sequence[Lexeme], newline: int) -> bool:
        """Whether a line of words is the header of the deeper lines under it."""
        start = found[newline].end
        for lexeme in found[newline + 1 : newline + AHEAD]:
            if lexeme.type == "NEWLINE":
                start = lexeme.end
            elif lexeme.type != "COMMENT":
                deeper = lexeme.type != "RBRACE" and lexeme.start - start > column
                return deeper and self.guesses < MOST_GUESSES and all(isinstance(one.node, Name) for one in line)
        return False

    def _missing_brace(self, line: Sequence[Lexeme]) -> Lexeme:
        """The brace that a header lacks, with its flaw."""
        self.guesses += 1
        end = line[-1].end
        name = flaws.shown(" ".join(one.text for one in line))
        place = Span(self.path, line[0].start, end)
        fix = (Span(self.path, end, end), " {", "Write {")
        help = "Write { at the end of its first line."
        self.flaws.append(Flaw("FW001", f"The block {name} has no opening brace.", place, help, fix=fix))
        return Lexeme("LBRACE", None, end, end, "{")

    def _flaw(self, message: str, lexeme: Lexeme, help: str) -> None:
        self.flaws.append(Flaw("FW001", message, Span(self.path, lexeme.start, lexeme.end), help))

    # -- lines

    def _read_line(self, line: list[Lexeme], column: int) -> None:
        opens = line[-1].type == "LBRACE"
        if self.too_deep:
            self.too_deep += opens
            return
        if self.by_indent and column >= 0:
            self._close_before(column)
        self.end = line[-1].end
        if not opens and not self.stack and line[0].text == "use" and self._use_without_quotes(line):
            return
        read = self._understood(line)
        if opens:
            self._open(line, read, column)
        elif read is None:
            self._add_broken_field(line)
        else:
            self._add_field_or_use(line, read)

    def _use_without_quotes(self, line: list[Lexeme]) -> bool:
        """Whether the line is a use of one file that only lacks its quotation marks; it is then read as corrected."""
        flaw = flaws.of_use(line, self.path)
        if flaw is None or flaw.fix is None:
            return False
        self.flaws.append(flaw)
        self.uses.append(Use(String(flaw.fix[1][1:-1], flaw.span), Span(self.path, line[0].start, self.end)))
        return True

    def _open(self, line: list[Lexeme], read: Line | None, column: int) -> None:
        """A block begins."""
        if len(self.stack) == DEEPEST:
            self.too_deep = 1
            if not self.reported_too_deep:
                self.reported_too_deep = True
                self._flaw(
                    f"Blocks are nested more than {DEEPEST} deep.",
                    line[-1],
                    "Close the blocks above; the language needs three levels.",
                )
            return
        head = read.items if read else tuple([one.node for one in line if one.node is not None])
        head_end = line[-2].end if len(line) > 1 else line[0].start
        brace = Span(self.path, line[-1].start, line[-1].end)
        self.stack.append(_OpenBlock(head, Span(self.path, line[0].start, head_end), brace, column, []))

    def _add_broken_field(self, line: list[Lexeme]) -> None:
        word = line[0].node
        if self.stack and isinstance(word, Name) and word.text != "use":
            self.stack[-1].body.append(Field(word, (), Span(self.path, line[0].start, self.end), broken=True))

    def _add_field_or_use(self, line: list[Lexeme], read: Line) -> None:
        word = read.items[0]
        if not isinstance(word, Name):
            return
        span = Span(self.path, line[0].start, read.items[-1].span.end)
        if word.text == "use":
            self._add_use(line, read, span)
        elif self.stack:
            self.stack[-1].body.append(Field(word, read.items[1:], span))
        elif not self.headless:
            self.headless = self.outside = True
            text = flaws.shown(" ".join(one.text for one in line))
            help = "Put it between the braces of a block, or write the missing header above it."
            self.flaws.append(Flaw("FW001", f"The line {text} is outside every block.", span, help))

    def _add_use(self, line: list[Lexeme], read: Line, span: Span) -> None:
        if self.stack:
            self._flaw("A use line is inside a block.", line[0], "Move it to the top of the file.")
            return
        target = read.items[1] if len(read.items) == 2 else None
        if isinstance(target, String):
            self.uses.append(Use(target, span))
            return
        help = 'Write, for example: use "../shared/shop.flat"'
        self.flaws.append(Flaw("FW001", "A use line does not name one file in quotes.", span, help))

    def _understood(self, line: list[Lexeme]) -> Line | None:
        """What the line says, read as corrected where that is certain; None where it is not.  Adds its first flaw."""
        first, corrected, lost = corrections.corrected(line, self.path)
        if first is not None:
            self.flaws.append(first)
        if lost:
            return None
        try:
            return read_line(corrected)
        except NotALine as wrong:
            if first is None:
                self.flaws.append(flaws.of_line(line, wrong.at, self.path))
            return None

    # -- braces

    def _close(self, brace: Lexeme, column: int, after: Lexeme | None) -> None:
        if self.too_deep:
            self.too_deep -= 1
            return
        if self.by_indent and column >= 0 and any(one.column == column for one in self.stack):
            while self.stack[-1].column > column:
                self._leave_open()
        self.end = brace.end
        if self.stack:
            self._keep(self.stack.pop(), brace.end, closed=True)
        elif self.headless:
            self.headless = False
        else:
            self.outside = True
            self._report_extra(brace, column, after)

    def _report_extra(self, brace: Lexeme, column: int, after: Lexeme | None) -> None:
        place = Span(self.path, brace.start, brace.end)
        end = after.end if after is not None and after.type == "NEWLINE" else brace.end
        removed = Span(self.path, self.line_start, end) if column >= 0 else place
        help = "Remove it, or look above for a block that is closed too early."
        self.flaws.append(
            Flaw("FW001", "A closing brace has no open block.", place, help, fix=(removed, "", "Remove }"))
        )

    def _is_extra(self, column: int, found: Sequence[Lexeme], number: int) -> bool:
        """Whether a brace that would close the open block is too early: its lines or a brace in its column follow."""
        if not self.stack or self.stack[-1].column < 0:
            return False
        block, start = self.stack[-1].column, -1
        in_place = column == block or self.stack[-1].brace.start >= self.line_start
        for lexeme in found[number + 1 : number + AHEAD]:
            if lexeme.type == "NEWLINE":
                start = lexeme.end
            elif lexeme.type == "RBRACE" and start < 0:
                return False  # one more on the same line: that one is judged
            elif lexeme.type != "COMMENT":
                after = lexeme.start - start if start >= 0 else -1
                return after > block or (lexeme.type == "RBRACE" and after == block and not in_place)
        return False

    def _close_before(self, column: int) -> None:
        """By indentation: a line no deeper than the header of the open block can't be in it."""
        while self.stack and self.stack[-1].column >= column and self.guesses < MOST_GUESSES:
            self._leave_open()

    def _leave_open(self) -> None:
        """The innermost block ends here without its brace."""
        self.guesses += 1
        block = self.stack.pop()
        self._report_not_closed([block])
        self._keep(block, self.end, closed=False)

    def _close_rest(self) -> None:
        if self.stack:
            self._report_not_closed(self.stack)
        while self.stack:
            self._keep(self.stack.pop(), self.end, closed=False)

    def _keep(self, block: _OpenBlock, end: int, closed: bool) -> None:
        span = Span(self.path, block.head_span.start, end)
        if not block.head or not isinstance(block.head[0], Name):
            return  # without a kind; its flaw is reported
        node = Block(block.head, tuple(block.body), span, block.head_span, closed)
        if self.stack:
            self.stack[-1].body.append(node)
        else:
            self.blocks.append(node)

    def _report_not_closed(self, blocks: Sequence[_OpenBlock]) -> None:
        names = [
            " ".join(one.text for one in block.head if isinstance(one, Name)) or "without a name" for block in blocks
        ]
        listed = ", ".join(flaws.shown(name) for name in names[:3]) + ("…" if len(names) > 3 else "")
        one = len(blocks) == 1
        self.flaws.append(
            Flaw(
                "FW002",
                f"The block {listed} is not closed." if one else f"The {len(blocks)} blocks {listed} are not closed.",
                Span(self.path, self.end, self.end),
                "Write } on a line of its own after the last line of " + ("the block." if one else "each block."),
                opened=blocks[-1].brace,
            )
        )


def _after(found: Sequence[Lexeme], number: int) -> Lexeme | None:
    return found[number + 1] if number + 1 < len(found) else None


def _is_stroked(found: Sequence[Lexeme], number: int) -> bool:
    """Whether a comment begins here with //."""
    return found[number].text == "/" and number + 1 < len(found) and found[number + 1].text == "/"
