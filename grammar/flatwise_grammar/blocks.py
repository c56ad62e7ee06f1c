"""One chunk of a text into blocks: its lines by the grammar, each for itself, and its braces by a stack.

A line that cannot be read costs that line and no other; a brace that is missing is put where the indentation has it.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import NamedTuple

from flatwise_grammar import flaws
from flatwise_grammar.lines import Lexeme, Line, NotALine, lexemes, read_line
from flatwise_grammar.nodes import Block, Comment, Field, Flaw, Item, Name, Span, Text, Use

DEEPEST = 50  # blocks within blocks; the language has three
AHEAD = 32  # pieces of text to look past for where a line goes on
MOST_GUESSES = 20  # braces that the indentation of one chunk may stand for


class Part(NamedTuple):
    """What one chunk holds."""

    uses: tuple[Use, ...]
    blocks: tuple[Block, ...]
    comments: tuple[Comment, ...]
    flaws: tuple[Flaw, ...]


@dataclass
class _Open:
    """A block whose brace is not closed yet.  `column` is where its header's line begins, -1 inside a line."""

    head: tuple[Item, ...]
    head_span: Span
    brace: Span
    column: int
    body: list[Field | Block] = field(default_factory=list)


def read_chunk(text: str, path: str, base: int) -> Part:
    """Everything in one chunk of a file; `base` is where it begins there."""
    pieces = lexemes(text, path, base)
    plain = _Reader(pieces, path, base)
    if not plain.left_open and not plain.outside:
        return plain.part
    # a brace is missing somewhere: the indentation may say where
    guessed = _Reader(pieces, path, base, by_indent=plain.left_open, opening=not plain.left_open)
    return guessed.part if len(guessed.part.flaws) <= len(plain.part.flaws) else plain.part


class _Reader:
    """Reads the lexemes of one chunk, line by line, into blocks.

    `by_indent` closes blocks where the indentation says that they end; `opening` takes words above deeper lines for a
    header that lacks its brace.
    """

    def __init__(
        self, pieces: Sequence[Lexeme], path: str, base: int, by_indent: bool = False, opening: bool = False
    ) -> None:
        self.path = path
        self.by_indent = by_indent
        self.opening = opening
        self.outside = False  # a line or a closing brace stands outside every block
        self.stack: list[_Open] = []
        self.too_deep = 0
        self.said_too_deep = False
        self.guesses = 0
        self.headless = False  # in a body whose header is missing: told once, up to its brace
        self.uses: list[Use] = []
        self.blocks: list[Block] = []
        self.comments: list[Comment] = []
        self.flaws: list[Flaw] = []
        self.line_start = base
        self.fresh = True  # nothing but blanks on this line so far
        self.end = base
        self._read(pieces)
        self.left_open = bool(self.stack)
        self._close_rest()
        self.flaws.sort(key=lambda flaw: flaw.span.start)
        self.part = Part(tuple(self.uses), tuple(self.blocks), tuple(self.comments), tuple(self.flaws))

    def _read(self, pieces: Sequence[Lexeme]) -> None:
        line: list[Lexeme] = []
        column = -1
        for number, piece in enumerate(pieces):
            kind = piece.type
            if kind == "NEWLINE":
                if line and not self._goes_on(line, pieces, number):
                    if self.opening and column >= 0 and self._lacks_brace(line, column, pieces, number):
                        line.append(self._brace_for(line))
                    self._line(line, column)
                    line = []
                self.line_start = piece.end
                self.fresh = True
            elif kind == "COMMENT":
                self.comments.append(Comment(piece.text, Span(self.path, piece.start, piece.end)))
            elif kind == "SEMICOLON":
                if line:
                    self._line(line, column)
                    line = []
                self.fresh = False
            elif kind == "RBRACE":
                if line:
                    self._line(line, column)
                    line = []
                self._close(piece, piece.start - self.line_start if self.fresh else -1)
                self.fresh = False
            else:
                if not line:
                    column = piece.start - self.line_start if self.fresh else -1
                self.fresh = False
                line.append(piece)
                if kind == "LBRACE":
                    self._line(line, column)
                    line = []
        if line:
            self._line(line, column)

    def _goes_on(self, line: list[Lexeme], pieces: Sequence[Lexeme], newline: int) -> bool:
        """Whether the line goes on behind this line break: after a comma, or before a misplaced brace."""
        after_comma = line[-1].type == "COMMA"
        for piece in pieces[newline + 1 : newline + AHEAD]:
            if piece.type not in ("NEWLINE", "COMMENT"):
                if piece.type == "LBRACE" and not after_comma:
                    # each blank line between them comes here: it is told once
                    if not self.flaws or self.flaws[-1].span.start != piece.start:
                        self._flaw(
                            "The opening brace of a block does not stand on its header's line.",
                            piece,
                            "Put the brace at the end of the header's line.",
                        )
                    return True
                return after_comma and piece.type != "RBRACE"
        return after_comma

    def _lacks_brace(self, line: list[Lexeme], column: int, pieces: Sequence[Lexeme], newline: int) -> bool:
        """Whether a line of words is the header of the deeper lines under it."""
        start = pieces[newline].end
        for piece in pieces[newline + 1 : newline + AHEAD]:
            if piece.type == "NEWLINE":
                start = piece.end
            elif piece.type != "COMMENT":
                deeper = piece.type != "RBRACE" and piece.start - start > column
                return deeper and self.guesses < MOST_GUESSES and all(isinstance(one.node, Name) for one in line)
        return False

    def _brace_for(self, line: Sequence[Lexeme]) -> Lexeme:
        """The brace that a header lacks."""
        self.guesses += 1
        end = line[-1].end
        name = flaws.shown(" ".join(one.text for one in line))
        place = Span(self.path, line[0].start, end)
        mend = (Span(self.path, end, end), " {", "Write {")
        help = "Write { at the end of its first line."
        self.flaws.append(Flaw("FW001", f"The block {name} has no opening brace.", place, help, mend=mend))
        return Lexeme("LBRACE", None, end, end, "{")

    def _flaw(self, message: str, piece: Lexeme, help: str) -> None:
        self.flaws.append(Flaw("FW001", message, Span(self.path, piece.start, piece.end), help))

    # -- lines

    def _line(self, line: list[Lexeme], column: int) -> None:
        opens = line[-1].type == "LBRACE"
        if self.too_deep:
            self.too_deep += opens
            return
        if self.by_indent and column >= 0:
            self._close_before(column)
        self.end = line[-1].end
        start = line[0].start
        if line[0].text == "use" and not self.stack and not opens:
            unquoted = flaws.of_use(line, self.path)
            if unquoted is not None and unquoted.mend is not None:
                self.flaws.append(unquoted)
                target = Text(unquoted.mend[1][1:-1], unquoted.span)
                self.uses.append(Use(target, Span(self.path, start, self.end)))
                return
        read = self._understood(line)
        if opens:
            if len(self.stack) == DEEPEST:
                self.too_deep = 1
                if not self.said_too_deep:
                    self.said_too_deep = True
                    self._flaw(
                        f"Blocks stand in one another more than {DEEPEST} deep.",
                        line[-1],
                        "Close the blocks before; the language needs three.",
                    )
                return
            head = read.items if read else tuple([one.node for one in line if one.node is not None])
            last = line[-2].end if len(line) > 1 else start
            brace = Span(self.path, line[-1].start, line[-1].end)
            self.stack.append(_Open(head, Span(self.path, start, last), brace, column))
            return
        if read is None:
            first = line[0].node
            if self.stack and isinstance(first, Name) and first.text != "use":
                place = Span(self.path, start, self.end)
                self.stack[-1].body.append(Field(first, (), place, broken=True))
            return
        word = read.items[0]
        if not isinstance(word, Name):
            return
        span = Span(self.path, start, read.items[-1].span.end)
        if self.stack and word.text != "use":
            self.stack[-1].body.append(Field(word, read.items[1:], span))
        elif word.text == "use":
            self._use(line, read, span)
        elif not self.headless:
            self.headless = self.outside = True
            self.flaws.append(
                Flaw(
                    "FW001",
                    f"The line {flaws.shown(' '.join(one.text for one in line))} stands outside every block.",
                    span,
                    "Put it between the braces of a block, or write the header that is missing before it.",
                )
            )

    def _use(self, line: list[Lexeme], read: Line, span: Span) -> None:
        if self.stack:
            self._flaw("A use line stands inside a block.", line[0], "Move it to the top of the file.")
            return
        target = read.items[1] if len(read.items) == 2 else None
        if isinstance(target, Text):
            self.uses.append(Use(target, span))
            return
        help = 'Write it like: use "../shared/shop.flat"'
        self.flaws.append(Flaw("FW001", "A use line does not name one file in quotes.", span, help))

    def _understood(self, line: list[Lexeme]) -> Line | None:
        """What the line says, read as mended where that is certain; None, and its first flaw, where it is not."""
        first: Flaw | None = None
        mended: list[Lexeme] = []
        lost = False
        for at, piece in enumerate(line):
            if piece.node is not None or piece.type in ("LBRACE", "LPAR", "RPAR"):
                mended.append(piece)
                continue
            flaw = flaws.of_lexeme(line, at, self.path)
            first = first or flaw
            if flaw.mend is None:
                lost = True
            else:
                mended.extend(_as_mended(piece, flaw.mend[1], self.path))
        if first is None:
            first = flaws.of_commas(line, self.path)
            if first is not None:
                mended = _without_idle_commas(line)
        if first is not None:
            self.flaws.append(first)
        if lost:
            return None
        try:
            return read_line(mended)
        except NotALine as wrong:
            if first is None:
                self.flaws.append(flaws.of_line(line, wrong.at, self.path))
            return None

    # -- braces

    def _close(self, brace: Lexeme, column: int) -> None:
        if self.too_deep:
            self.too_deep -= 1
            return
        if self.by_indent and column >= 0 and any(one.column == column for one in self.stack):
            while self.stack[-1].column > column:
                self._leave_open()
        self.end = brace.end
        if not self.stack and self.headless:
            self.headless = False
        elif not self.stack:
            self.outside = True
            self._flaw(
                "A closing brace stands here and no block is open.",
                brace,
                "Take it out, or look for a block that is closed too early above.",
            )
        else:
            self._keep(self.stack.pop(), brace.end, True)

    def _close_before(self, column: int) -> None:
        """By indentation: a line no deeper than the header of the open block cannot be in it."""
        while self.stack and self.stack[-1].column >= column and self.guesses < MOST_GUESSES:
            self._leave_open()

    def _leave_open(self) -> None:
        """The innermost block ends here without its brace."""
        self.guesses += 1
        block = self.stack.pop()
        self._not_closed([block], self.end)
        self._keep(block, self.end, False)

    def _close_rest(self) -> None:
        if self.stack:
            self._not_closed(self.stack, self.end)
        while self.stack:
            self._keep(self.stack.pop(), self.end, False)

    def _keep(self, block: _Open, end: int, closed: bool) -> None:
        span = Span(self.path, block.head_span.start, end)
        if not block.head or not isinstance(block.head[0], Name):
            return  # its flaw is told; nobody could say what it is
        node = Block(block.head, tuple(block.body), span, block.head_span, closed)
        if self.stack:
            self.stack[-1].body.append(node)
        else:
            self.blocks.append(node)

    def _not_closed(self, blocks: Sequence[_Open], end: int) -> None:
        names = [
            " ".join(one.text for one in block.head if isinstance(one, Name)) or "without a name" for block in blocks
        ]
        spoken = ", ".join(flaws.shown(name) for name in names[:3]) + ("…" if len(names) > 3 else "")
        one = len(blocks) == 1
        self.flaws.append(
            Flaw(
                "FW002",
                f"The block {spoken} is not closed." if one else f"The {len(blocks)} blocks {spoken} are not closed.",
                Span(self.path, end, end),
                "Write } on a line of its own behind the last line of " + ("the block." if one else "each."),
                opened=blocks[-1].brace,
            )
        )


def _as_mended(piece: Lexeme, better: str, path: str) -> list[Lexeme]:
    """The lexemes of the mended text, in the place of the piece that it mends."""
    found = []
    place = Span(path, piece.start, piece.end)
    for one in lexemes(better, path, 0):
        node = None if one.node is None else replace(one.node, span=place)
        found.append(Lexeme(one.type, node, piece.start, piece.end, one.text))
    return found


def _without_idle_commas(line: Sequence[Lexeme]) -> list[Lexeme]:
    kept: list[Lexeme] = []
    for number, piece in enumerate(line):
        behind = line[number + 1].type if number + 1 < len(line) else ""
        idle = piece.type == "COMMA" and (len(kept) == 1 or behind in ("COMMA", "LBRACE", ""))
        if not idle:
            kept.append(piece)
    return kept
