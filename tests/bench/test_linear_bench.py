"""Time grows with the length of a text, never with its square, whatever the text contains; regular expressions too.

Run with: pytest tests/bench/test_linear_bench.py --benchmark-only

Each measure is processor time, the least of three, for a length and for four times that length.  Quadratic work takes
sixteen times as long; eight is allowed.  A busy machine can stretch a measure, so a long one is repeated; quadratic
work is too long each time.
"""

from __future__ import annotations

import ast
import re
import time
from collections.abc import Callable
from pathlib import Path

from long_texts import Work, works

from flatwise_grammar.tables import PATTERN

ROOT = Path(__file__).resolve().parents[2]
MOST = 8.0
TRIES = 4


def least(work: Callable[[], object]) -> float:
    """The least processor time of three runs, in s."""
    found = []
    for _ in range(3):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def grows(of: Work, n: int, enough: float = 0.002) -> float:
    """How many times as long four times the length takes, from a length that takes long enough to be measured.

    Where the ratio is large, measure the next step too: above a certain size Python asks the system for memory in each
    run, which makes one step of linear work higher.  Quadratic work takes sixteen times at each step.
    """
    first = least(of(n))
    while first < enough and n < 400_000:
        n *= 2
        first = least(of(n))
    if first < enough:
        return 0.0  # too quick to measure even for the longest text that is accepted
    second = least(of(4 * n))
    if second <= MOST * first:
        return second / first
    return min(second / first, least(of(16 * n)) / second)


def test_time_grows_with_the_length_of_a_text(benchmark) -> None:  # type: ignore[no-untyped-def]
    def slow() -> dict[str, float]:
        found = {}
        for name, of, n in works():
            ratio = grows(of, n)
            for _ in range(TRIES):
                if ratio <= MOST:
                    break
                ratio = min(ratio, grows(of, n))
            found[name] = ratio
        return {name: ratio for name, ratio in found.items() if ratio > MOST}

    assert benchmark.pedantic(slow, rounds=1) == {}


# -- patterns -------------------------------------------------------------------------------------------------------

#: patterns that only see a command-line option, or a text that is short already
SHORT = {
    r"\s*x\s*": "a size in `new --size`",
    r"([0-9][0-9./ ]*?)\s*([a-z]*)": "a size in `new --size`",
    r"(.*?)([a-z]+)": "a length in `new --size`",
    r"[0-9][0-9./ ]*\s*(mm|in|thou|cm|m|ft)": "a length in `new --left`",
    r"(\\*)([ \t#:])": "a path, of at most some thousand characters",
}


def patterns() -> list[tuple[str, str, bool]]:
    """Every regular expression in the code: its place, its text, and whether it searches a whole text."""
    found = [("the grammar's terminals", PATTERN, True)]
    for package in ("grammar/flatwise_grammar", "compiler/flatwise", "lsp/flatwise_lsp"):
        for path in sorted((ROOT / package).rglob("*.py")):
            source = path.read_text("utf-8")
            for node in ast.walk(ast.parse(source)):
                if (
                    isinstance(node, ast.Call)
                    and isinstance(node.func, ast.Attribute)
                    and isinstance(node.func.value, ast.Name)
                    and node.func.value.id == "re"
                    and node.args
                    and isinstance(node.args[0], ast.Constant)
                ):
                    pattern = node.args[0].value
                    text = pattern.decode() if isinstance(pattern, bytes) else str(pattern)
                    ways = {node.func.attr}
                    if ways == {"compile"}:
                        name = re.search(r"^(\w+).*= *re\.compile\(.*", source.splitlines()[node.lineno - 1])
                        ways = set(re.findall(rf"\b{name[1]}\.(\w+)\(", source)) if name else {"search"}
                    found.append((f"{path.relative_to(ROOT)}:{node.lineno}", text, not ways <= {"match", "fullmatch"}))
    return found


def attacks(pattern: str) -> list[str]:
    """Short pieces that could make a pattern slow when repeated: its own characters and words, and pairs."""
    plain = re.sub(r"\\.|[\^$*+?()\[\]{}|]", "", pattern)
    letters = sorted({*plain, *' \t\n"\\/#{[`_-.', "a", "A", "0"})[:40]
    return [*letters, *re.findall(r"[a-z]{3,}", pattern)[:6], *("\n" + one for one in letters)]


def slow_patterns() -> list[str]:
    """Every regular expression that takes more than linear time, with its place and the text."""
    slow = []
    for place, text, searched in patterns():
        if text in SHORT:
            continue
        pattern = re.compile(text, re.M)
        for piece in attacks(text):
            for start in ("", *re.findall(r"[a-z]{3,}", text)[:1], '"', "0"):
                short, long = (start + piece * (n // len(piece)) + "\u00a1" for n in (500, 4000))
                # for eight times the length quadratic work takes 64 times as long, linear work 8
                if all(
                    (first := _once(pattern, short, searched)) > 0.0002 and _once(pattern, long, searched) > 25 * first
                    for _ in range(TRIES)
                ):
                    slow.append(f"{place} {text!r} on {start!r} and {piece!r}")
                    break
    return slow


def test_no_pattern_takes_quadratic_time(benchmark) -> None:  # type: ignore[no-untyped-def]
    seen = patterns()
    assert len(seen) > 40 and sum(searched for _, _, searched in seen) > 20
    assert benchmark.pedantic(slow_patterns, rounds=1) == []


def _once(pattern: re.Pattern[str], text: str, searched: bool) -> float:
    def all_of_it() -> None:
        if searched:
            for _ in pattern.finditer(text):
                pass
        else:
            pattern.match(text)
            pattern.fullmatch(text)

    return least(all_of_it)


def test_a_pattern_that_takes_quadratic_time_would_be_found(benchmark) -> None:  # type: ignore[no-untyped-def]
    def found() -> list[bool]:
        each = []
        for pattern, piece in ((r"^\s*tool", "\n"), (r"a*a*b", "a"), (r"^\s*use\s+", "\n")):
            made = re.compile(pattern, re.M)
            assert piece in attacks(pattern)
            short, long = (piece * n + "\u00a1" for n in (250, 1000))
            each.append(any(_once(made, long, True) > 10 * _once(made, short, True) for _ in range(TRIES)))
        return each

    assert benchmark.pedantic(found, rounds=1) == [True] * 3
