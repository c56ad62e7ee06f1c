"""Reading: a text is cut into lexemes, and the lexemes of one line make a header or a field.

`flatwise.lark` defines both: its terminals, joined into one pattern, cut the text (every character belongs to one of
them, so cutting can't fail), and its LALR table reads each line.  Lark builds the table ahead of time (see
`make_tables.py`), so that no start waits for it.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Sequence
from functools import lru_cache
from typing import Any, NamedTuple, cast

from flatwise_grammar.nodes import Code, Item, Mark, Name, Number, NumberWithUnit, Point, Span, String
from flatwise_grammar.tables import ACTIONS, END, PATTERN, RULES, START

LONGEST_NUMBER = 40  # characters; no quantity in a workshop comes near it
BYTE_ORDER_MARK = "\ufeff"  # some editors write it at the start of a file


class Lexeme(NamedTuple):
    """A piece of text that belongs to one terminal; `node` is its leaf of the tree, None for punctuation and flaws."""

    type: str
    node: Item | None
    start: int
    end: int
    text: str


class Line(NamedTuple):
    """One line as read: the items of a header before its brace, or the word and the items of a field."""

    opens: bool
    items: tuple[Item, ...]


class NotALine(Exception):
    """The lexemes are not a line; `at` is the first that does not fit, None where something is missing at the end."""

    def __init__(self, at: Lexeme | None) -> None:
        super().__init__(at)
        self.at = at


def _by_zero(text: str) -> bool:
    return "/0" in text and re.search(r"/0+(?![0-9])", text) is not None


def _quantity(text: str, span: Span) -> NumberWithUnit:
    unit = text.lstrip("-0123456789./ \t")
    return NumberWithUnit(text[: len(text) - len(unit)].rstrip(), unit, span)


def _text(text: str, span: Span) -> String:
    return String(re.sub(r"\\(.)", r"\1", text[1:-1]) if "\\" in text else text[1:-1], span)


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
    """The lexemes of a text without its spaces; their offsets count from `base`, where the text begins in its file."""
    leaves = _LEAVES
    found: list[Lexeme] = []
    add = found.append
    for match in _terminals().finditer(text, 1 if base == 0 and text.startswith(BYTE_ORDER_MARK) else 0):
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
    """What one line says.  Raises NotALine where the grammar can't read it."""
    states = [START]
    values: list[list[Any]] = []  # what each state after the first has read
    for lexeme in (*line, None):
        kind = lexeme.type if lexeme is not None else "$END"
        while (action := ACTIONS[states[-1]].get(kind)) is not None and action < 0:
            made, size = RULES[~action]
            parts = values[-size:]
            del states[-size:], values[-size:]
            values.append(_made(made, parts))
            states.append(ACTIONS[states[-1]][made])
        if lexeme is None and states[-1] == END:
            break
        if lexeme is None or action is None:
            raise NotALine(lexeme)
        states.append(action)
        values.append([lexeme])
    return cast(Line, values[0][0])


def _made(rule: str, parts: list[list[Any]]) -> list[Any]:
    """What a rule makes of its parts: a line, a point, or one list of everything in them."""
    if rule in ("header", "field"):
        read: list[Any] = [one.node if type(one) is Lexeme else one for part in parts for one in part]
        return [Line(rule == "header", tuple(read[:-1] if rule == "header" else read))]  # without the brace
    if rule == "point":
        (first,), x, _, y, (last,) = parts
        place = Span(x[0].node.span.path, first.start, last.end)
        return [Point(tuple([one.node for one in x]), tuple([one.node for one in y]), place)]
    whole = parts[0]
    for part in parts[1:]:
        whole.extend(part)
    return whole


@lru_cache(maxsize=1)
def _terminals() -> re.Pattern[str]:
    return re.compile(PATTERN)
