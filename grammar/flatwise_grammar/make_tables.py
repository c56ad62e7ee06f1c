"""Writes `tables.py`: the pattern of all terminals and the LALR table of lines, worked out from `flatwise.lark`.

Run after every change of the grammar: `python -m flatwise_grammar.make_tables`.  Nothing else imports Lark: to load
it and to build the table anew would cost each start more than all reading does.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from lark import Lark

HERE = Path(__file__).parent
_DOCSTRING = '''"""Made by `python -m flatwise_grammar.make_tables` from `flatwise.lark`; not to be changed by hand.

`PATTERN` has every terminal as a group of its name.  `RULES` are (what a rule makes, how many parts it takes).
`ACTIONS` has for each state what to do at a terminal, or where to go with what a rule made: a state to go to where
it is not negative, else the rule ~action to reduce by.  Reading begins in `START` and has ended in `END`.
"""'''


def grammar() -> Lark:
    """The grammar of `flatwise.lark`, as Lark understands it; it is fed lexemes of another's making."""
    from lark import Lark
    from lark.lexer import Lexer

    class Fed(Lexer):
        """None of its own."""

        def __init__(self, conf: object) -> None:
            pass

        def lex(self, lexer_state: object, parser_state: object) -> Iterator[Any]:
            return iter(())

    text = (HERE / "flatwise.lark").read_text("utf-8")
    return Lark(text, parser="lalr", lexer=Fed, start=["line", "between"], maybe_placeholders=False)


def tables() -> str:
    """The text of `tables.py`: the same for the same grammar."""
    from lark.parsers.lalr_analysis import Shift

    lark = grammar()
    ordered = sorted(lark.terminals, key=lambda terminal: -terminal.priority)
    pattern = "|".join(f"(?P<{one.name}>{one.pattern.to_regexp()})" for one in ordered)
    reader: Any = lark.parse_interactive(start="line")
    found = reader.parser_state.parse_conf.parse_table
    # Lark numbers its states anew in each process: here they are numbered as a walk by name meets them
    numbers = {found.start_states["line"]: 0}
    for state in (waiting := [found.start_states["line"]]):
        for name in sorted(found.states[state]):
            kind, to = found.states[state][name]
            if kind is Shift and to not in numbers:
                numbers[to] = len(numbers)
                waiting.append(to)

    def made(rule: Any) -> tuple[str, int]:
        return (str(rule.origin.name), len(rule.expansion))

    steps = [step for state in waiting for step in found.states[state].values()]
    rules = sorted({made(to) for kind, to in steps if kind is not Shift})
    lines = [
        _DOCSTRING,
        "",
        "# ruff: noqa",
        "# fmt: off",
        "",
        f"PATTERN = {pattern!r}",
        "",
        "RULES: tuple[tuple[str, int], ...] = (",
    ]
    lines += [f"    {rule}," for rule in rules]
    lines += [")", "", "ACTIONS: tuple[dict[str, int], ...] = ("]
    for state in waiting:
        row = {
            str(name): numbers[to] if kind is Shift else ~rules.index(made(to))
            for name, (kind, to) in sorted(found.states[state].items())
        }
        lines.append(f"    {row},")
    lines += [")", "", "START = 0", f"END = {numbers[found.end_states['line']]}", ""]
    return "\n".join(lines)


if __name__ == "__main__":
    (HERE / "tables.py").write_text(tables(), "utf-8")
