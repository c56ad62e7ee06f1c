"""Write `tables.py`: the pattern of all terminals and the LALR table of lines, computed from `flatwise.lark`.

Run it after every change to the grammar: `python -m flatwise_grammar.make_tables`.  Nothing else imports Lark, because
loading it and building the table would cost each start more than all reading does.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lark import Lark

HERE = Path(__file__).parent
_DOCSTRING = '''"""Made by `python -m flatwise_grammar.make_tables` from `flatwise.lark`; do not edit.

`PATTERN` has each terminal as a named group.  `RULES` are (what the rule makes, how many parts it takes).  `ACTIONS`
gives for each state the action at a terminal or after a rule: a state to go to if it is not negative, else the rule
`~action` to reduce by.  Reading begins in `START` and ends in `END`.
"""'''


def grammar() -> Lark:
    """The grammar of `flatwise.lark` as Lark reads it; its parser is fed lexemes that `lines` has made."""
    from lark import Lark
    from lark.lexer import Lexer

    class NoLexer(Lexer):
        """Lark asks for one; nothing calls it."""

        def __init__(self, conf: object) -> None:
            pass

        def lex(self, lexer_state: object, parser_state: object) -> Iterator[Any]:
            return iter(())

    text = (HERE / "flatwise.lark").read_text("utf-8")
    return Lark(text, parser="lalr", lexer=NoLexer, start=["line", "between"], maybe_placeholders=False)


def tables() -> str:
    """The text of `tables.py`; the same grammar gives the same text."""
    from lark.parsers.lalr_analysis import Shift

    lark = grammar()
    terminals = sorted(lark.terminals, key=lambda terminal: -terminal.priority)
    pattern = "|".join(f"(?P<{one.name}>{one.pattern.to_regexp()})" for one in terminals)
    reader: Any = lark.parse_interactive(start="line")
    table = reader.parser_state.parse_conf.parse_table
    numbers = _state_numbers(table)

    def made(rule: Any) -> tuple[str, int]:
        return (str(rule.origin.name), len(rule.expansion))

    steps = [step for state in numbers for step in table.states[state].values()]
    rules = sorted({made(to) for kind, to in steps if kind is not Shift})
    actions = [
        {
            str(name): numbers[to] if kind is Shift else ~rules.index(made(to))
            for name, (kind, to) in sorted(table.states[state].items())
        }
        for state in numbers
    ]
    lines = [
        *(_DOCSTRING, "", "# ruff: noqa", "# fmt: off", ""),
        *(f"PATTERN = {pattern!r}", ""),
        *("RULES: tuple[tuple[str, int], ...] = (", *(f"    {rule}," for rule in rules), ")", ""),
        *("ACTIONS: tuple[dict[str, int], ...] = (", *(f"    {row}," for row in actions), ")", ""),
        *("START = 0", f"END = {numbers[table.end_states['line']]}", ""),
    ]
    return "\n".join(lines)


def _state_numbers(table: Any) -> dict[Any, int]:
    """A number for each state of Lark's table, in order: a walk by name, since Lark's own differ between processes."""
    from lark.parsers.lalr_analysis import Shift

    numbers = {table.start_states["line"]: 0}
    waiting = list(numbers)
    while waiting:
        state = waiting.pop(0)
        for _, (kind, to) in sorted(table.states[state].items()):
            if kind is Shift and to not in numbers:
                numbers[to] = len(numbers)
                waiting.append(to)
    return numbers


if __name__ == "__main__":
    (HERE / "tables.py").write_text(tables(), "utf-8")
