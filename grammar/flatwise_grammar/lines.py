"""Reading: a text falls into lexemes, and the lexemes of one line into a header or a field.

Both are told by `flatwise.lark`: its terminals, joined into one pattern, cut the text (every character
falls under one of them, so cutting cannot fail), and its LALR table reads each line.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator, Sequence
from functools import lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple, cast

from flatwise_grammar.nodes import Code, Item, Mark, Name, Number, Point, Quantity, Span, Text

if TYPE_CHECKING:
    from lark import Lark

LONGEST_NUMBER = 40  # characters; no quantity of a workshop comes near
BYTE_ORDER_MARK = "\ufeff"  # some editors put it before a text


class Lexeme(NamedTuple):
    """A piece of text under one terminal; `node` is its leaf of the tree, or None for punctuation and flaws."""

    type: str
    node: Item | None
    start: int
    end: int
    text: str


class Line(NamedTuple):
    """One line as read: the items of a header up to its brace, or the word and the items of a field."""

    opens: bool
    items: tuple[Item, ...]


class NotALine(Exception):
    """The lexemes are not a line; `at` is the first that does not fit, or None where more is due."""

    def __init__(self, at: Lexeme | None) -> None:
        super().__init__(at)
        self.at = at


def _by_zero(text: str) -> bool:
    return "/0" in text and re.search(r"/0+(?![0-9])", text) is not None


def _quantity(text: str, span: Span) -> Quantity:
    unit = text.lstrip("-0123456789./ \t")
    return Quantity(text[: len(text) - len(unit)].rstrip(), unit, span)


def _text(text: str, span: Span) -> Text:
    return Text(re.sub(r"\\(.)", r"\1", text[1:-1]) if "\\" in text else text[1:-1], span)


_LEAVES: dict[str, Callable[[str, Span], Item]] = {
    "NAME": Name,
    "CODE": Code,
    "NUMBER": Number,
    "QUANTITY": _quantity,
    "STRING": _text,
    "COMMA": Mark,
    "PLUS_MINUS": Mark,
}


def lexemes(text: str, path: str, base: int) -> list[Lexeme]:
    """The lexemes of a text, blanks left out; their places count from `base`, where the text begins in its file."""
    pattern, _ = _reader()
    leaves = _LEAVES
    found: list[Lexeme] = []
    add = found.append
    for match in pattern.finditer(text, 1 if base == 0 and text.startswith(BYTE_ORDER_MARK) else 0):
        kind = cast(str, match.lastgroup)
        if kind == "BLANKS":
            continue
        start, end = match.span()
        piece = match.group()
        if kind in ("NUMBER", "QUANTITY") and (end - start > LONGEST_NUMBER or _by_zero(piece)):
            kind = "BAD_NUMBER"
        make = leaves.get(kind)
        node = make(piece, Span(path, base + start, base + end)) if make else None
        add(Lexeme(kind, node, base + start, base + end, piece))
    return found


def read_line(line: Sequence[Lexeme]) -> Line:
    """What one line says.  Raises NotALine where the grammar has no such line."""
    from lark.exceptions import UnexpectedToken

    _, grammar = _reader()
    try:
        reader: Any = grammar.parse_interactive(start="line")
        for lexeme in line:
            reader.feed_token(lexeme)
        return cast(Line, reader.feed_eof())
    except UnexpectedToken as wrong:
        token: Any = wrong.token
        raise NotALine(token if isinstance(token, Lexeme) else None) from None


@lru_cache(maxsize=1)
def _reader() -> tuple[re.Pattern[str], Lark]:
    """The pattern of all terminals and the LALR reader of lines; built on first use."""
    from lark import Lark, Transformer
    from lark.lexer import Lexer

    class Fed(Lexer):
        """None of its own: `read_line` feeds the lexemes."""

        def __init__(self, conf: object) -> None:
            pass

        def lex(self, lexer_state: object, parser_state: object) -> Iterator[Any]:
            return iter(())

    class Build(Transformer[Any, Any]):
        """Rules to nodes, as the table reduces them."""

        def line(self, parts: list[Any]) -> Line:
            return cast(Line, parts[0])

        def header(self, parts: list[Any]) -> Line:
            return Line(True, tuple([part if type(part) is Point else part.node for part in parts]))

        def field(self, parts: list[Any]) -> Line:
            return Line(False, tuple([part if type(part) is Point else part.node for part in parts]))

        def coordinate(self, parts: list[Any]) -> list[Any]:
            return parts

        def point(self, parts: list[Any]) -> Point:
            first, x, _, y, last = parts
            place = Span(x[0].node.span.path, first.start, last.end)
            return Point(tuple([part.node for part in x]), tuple([part.node for part in y]), place)

    grammar = Lark(
        Path(__file__).with_name("flatwise.lark").read_text("utf-8"),
        parser="lalr",
        lexer=Fed,
        start=["line", "between"],
        transformer=Build(),
        maybe_placeholders=False,
        keep_all_tokens=False,
    )
    ordered = sorted(grammar.terminals, key=lambda terminal: -terminal.priority)
    pattern = re.compile("|".join(f"(?P<{one.name}>{one.pattern.to_regexp()})" for one in ordered))
    return pattern, grammar
