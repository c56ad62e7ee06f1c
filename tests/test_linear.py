"""Time grows with the length of a text and not with its square, whatever stands in it.

Every measure is processor time, the least of three, of a length and of four times that length.  A reader whose
time grows with the square takes sixteen times as long; eight is allowed.  A machine that is busy can stretch one
measure, so what looks too long is measured anew: a square is too long each time.
"""

from __future__ import annotations

import ast
import re
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from flatwise_grammar import format_text, parse
from flatwise_grammar.chunks import chunks
from flatwise_grammar.lines import lexemes
from flatwise_grammar.tables import PATTERN

ROOT = Path(__file__).resolve().parent.parent
MOST = 8.0
TRIES = 4

#: what a text is made of, n times; with what stands before and behind
HOSTILE: dict[str, Callable[[int], str]] = {
    "quotation marks": lambda n: '"' * n,
    "a quotation mark in each line": lambda n: '"\n' * n,
    "quotation marks behind backslashes": lambda n: '"' + '\\"' * n,
    "backslashes": lambda n: 'a { b "' + "\\" * n,
    "strange escapes": lambda n: "a { b " + '"\\x' * n,
    "digits": lambda n: "a { b " + "9" * n + " }",
    "digits and points": lambda n: "a { b " + "9." * n,
    "fractions": lambda n: "a { b " + "1/" * n,
    "whole numbers and a fraction": lambda n: "a { b " + "1 " * n + "/2",
    "a unit without end": lambda n: "a { b 1" + "m" * n + "!",
    "units upon units": lambda n: "a { b 1" + "m/m2" * n,
    "slashes": lambda n: "/" * n,
    "blanks": lambda n: "a { b 1" + " " * n + "mm }",
    "blanks before a unit that is none": lambda n: "a { b " + ("1" + " " * 50 + "mM! ") * (n // 50),
    "small letters": lambda n: "a" * n + "\u00e9",
    "capitals": lambda n: "A" * n + "-",
    "signs between letters": lambda n: "a-" * n,
    "opening braces": lambda n: "a {" * n,
    "bare opening braces": lambda n: "{" * n,
    "closing braces": lambda n: "}" * n,
    "braces in pairs": lambda n: "a { }\n" * n,
    "braces nested and closed": lambda n: "a {\n" * n + "}\n" * n,
    "brackets": lambda n: "a { b " + "(" * n + ")" * n,
    "brackets in lines": lambda n: "a {\n" + "b (1mm,\n" * n,
    "commas": lambda n: "a { b " + "," * n,
    "commas and lines": lambda n: "a {\n" + "b 1,\n\n" * n,
    "semicolons": lambda n: "a { " + ";" * n,
    "comments": lambda n: "#\n" * n,
    "a comment": lambda n: "#" * n,
    "comments in an open block before headers": lambda n: "a {\n" + "#\n" * n + "b {\n" * n,
    "headers in an open block before comments": lambda n: "a {\n" + "b {\n" * n + "#\n" * n,
    "open blocks and comments": lambda n: "a {\n" + "b {\n#\n" * n,
    "open blocks, indented": lambda n: "a {\n" + "  b {\n    c 1\n" * n,
    "stairs of blocks": lambda n: "".join(" " * (k % 60) + "b {\n" for k in range(n)),
    "lines outside blocks": lambda n: "b 1\n" * n,
    "uses": lambda n: 'use "a.flat"\n' * n,
    "uses without quotation marks": lambda n: "use a.flat\n" * n,
    "a use in pieces": lambda n: "use " + "a/" * n + "b.flat",
    "empty lines": lambda n: "\n" * n,
    "line ends of two kinds": lambda n: "\r\n\r" * n,
    "strange characters in a line": lambda n: "a { b " + "?" * n,
    "signs between words and values": lambda n: "a {\n" + "b = 1mm\n" * n,
    "signs in one line": lambda n: "a { b " + "= " * n,
    "stars": lambda n: "a { b " + "1mm * " * n,
    "inch marks": lambda n: "a { b " + '1" ' * n,
    "inch marks of other kinds": lambda n: "a { b " + "1\u2033 " * n,
    "fractions in one character": lambda n: "a { b " + "\u00bd" * n,
    "plus signs": lambda n: "a { b " + "+-" * n,
    "nothing but a mark": lambda n: "\ufeff" * n,
    "combining marks": lambda n: "a { b a" + "\u0301" * n,
    "byte zero": lambda n: "\0" * n,
}  # fmt: skip


def least(work: Callable[[], object]) -> float:
    """The least processor time of three runs, in s."""
    found = []
    for _ in range(3):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def grows(of: Callable[[int], Callable[[], object]], n: int, enough: float = 0.002) -> float:
    """How many times longer four times the length takes, from a length on that takes long enough to be measured.

    Where that is much, the next step is asked too: beyond a certain size Python gets its working space anew from the
    system in each run, which makes one step of a straight line higher.  A square takes sixteen times at each.
    """
    first = least(of(n))
    while first < enough and n < 400_000:
        n *= 2
        first = least(of(n))
    if first < enough:
        return 0.0  # nothing to speak of for the longest text that is read
    second = least(of(4 * n))
    if second <= MOST * first:
        return second / first
    return min(second / first, least(of(16 * n)) / second)


def judged(of: Callable[[int], Callable[[], object]], n: int = 500) -> None:
    ratio = grows(of, n)
    for _ in range(TRIES):
        if ratio <= MOST:
            break
        ratio = min(ratio, grows(of, n))
    assert ratio <= MOST, f"four times the length takes {ratio:.1f} times as long"


def fresh(text: str) -> str:
    """The text as one that no reader has kept."""
    fresh.count += 1  # type: ignore[attr-defined]
    return f"{text}\n# {fresh.count}\n"  # type: ignore[attr-defined]


fresh.count = 0  # type: ignore[attr-defined]


@pytest.mark.parametrize("name", HOSTILE)
def test_a_text_is_read_in_time_by_its_length(name: str) -> None:
    make = HOSTILE[name]

    def of(n: int) -> Callable[[], object]:
        text = make(n)
        return lambda: parse(fresh(text), "x")

    judged(of)


@pytest.mark.parametrize("name", HOSTILE)
def test_a_text_is_laid_out_in_time_by_its_length(name: str) -> None:
    make = HOSTILE[name]

    def of(n: int) -> Callable[[], object]:
        text = make(n)
        return lambda: format_text(fresh(text))

    judged(of, 300)


@pytest.mark.parametrize(
    "name", ["blanks", "digits", "opening braces", "comments", "strange characters in a line", "uses"]
)
def test_lexemes_and_pieces_are_told_in_time_by_the_length(name: str) -> None:
    make = HOSTILE[name]
    judged(lambda n: lambda: lexemes(make(n), "x", 0))
    judged(lambda n: lambda: chunks(make(n)))


POINTS: dict[str, Callable[[int], str]] = {
    "rows": lambda n: "1,2,3\n" * n,
    "rows that are none": lambda n: "a;b\n" * n,
    "headers": lambda n: "x,y,z\n" * n,
    "commas": lambda n: "," * n,
    "empty lines": lambda n: "\n" * n,
    "comments": lambda n: "#\n" * n,
    "digits": lambda n: "9" * n,
    "a long row": lambda n: "1," * n,
    "blanks": lambda n: "1" + " " * n + "2 3\n",
    "quotation marks": lambda n: '"' * n + "\n",
    "points off the panel": lambda n: "-1,-1,0\n" * n,
}


@pytest.mark.parametrize("name", POINTS)
def test_points_are_read_in_time_by_their_length(name: str) -> None:
    from flatwise.points import read_points
    from flatwise_grammar import Span

    make = POINTS[name]

    def of(n: int) -> Callable[[], object]:
        data = make(n).encode()
        return lambda: read_points(data, "p.csv", Span("x", 0, 1), 100.0, 100.0)

    judged(of)


PROGRAMS: dict[str, Callable[[int], str]] = {
    "moves": lambda n: "G1 X1.0 Y2.0\n" * n,
    "words in a line": lambda n: "X1 " * n,
    "comments": lambda n: "(a)" * n,
    "open comments": lambda n: "(" * n,
    "closed comments": lambda n: ")" * n,
    "digits": lambda n: "X" + "1" * n,
    "points": lambda n: "X" + "." * n,
    "letters": lambda n: "G" * n,
    "blanks": lambda n: "G1" + " " * n + "X1",
    "empty lines": lambda n: "\n" * n,
    "strange characters": lambda n: "\u00fc" * n,
    "headers": lambda n: "(job " * n + "(face first)",
}


@pytest.mark.parametrize("name", PROGRAMS)
def test_a_program_is_read_in_time_by_its_length(name: str) -> None:
    from flatwise.verify import header, rs274

    make = PROGRAMS[name]

    def of(n: int) -> Callable[[], object]:
        data = make(n).encode()

        def work() -> None:
            header(data)
            rs274.read(rs274.decode(data)[0])

        return work

    judged(of)


@pytest.mark.parametrize(
    "name",
    ["strange characters in a line", "quotation marks", "digits", "lines outside blocks", "uses", "opening braces"],
)
def test_findings_are_said_in_time_by_the_length(name: str) -> None:
    """All the way: from the text to what is printed."""
    from flatwise.check.fw001_text import flaw
    from flatwise.report import messages
    from flatwise.report.sarif import sarif

    make = HOSTILE[name]

    def of(n: int) -> Callable[[], object]:
        text = make(n)

        def work() -> None:
            findings = tuple(flaw(each) for each in parse(fresh(text), "x")[1])
            messages.text(findings, {"x": text + "\n# 1000000\n"})
            messages.json_lines(findings, {"x": text + "\n# 1000000\n"})
            sarif(findings, {"x": text + "\n# 1000000\n"})

        return work

    judged(of, 4000)  # beyond the most flaws that are told


# -- patterns -------------------------------------------------------------------------------------------------------

#: patterns that see only what a person gave as an option, or a word that is short already
SHORT = {
    r"\s*x\s*": "a size in `new --size`",
    r"([0-9][0-9./ ]*?)\s*([a-z]*)": "a size in `new --size`",
    r"(.*?)([a-z]+)": "a length in `new --size`",
    r"[0-9][0-9./ ]*\s*(mm|in|thou|cm|m|ft)": "a length in `new --left`",
    r"{(.*?)}": "a phrase of the model",
    r"(\\*)([ \t#:])": "a path, of at most some thousand characters",
}


def patterns() -> list[tuple[str, str, bool]]:
    """Every pattern that stands in the tree as a text: its place, itself, whether a whole text is searched for it."""
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
    """Short pieces of which a long text might take long: what the pattern names, and pairs of them."""
    plain = re.sub(r"\\.|[\^$*+?()\[\]{}|]", "", pattern)
    letters = sorted({*plain, *' \t\n"\\/#{[`_-.', "a", "A", "0"})[:40]
    return [*letters, *re.findall(r"[a-z]{3,}", pattern)[:6], *("\n" + one for one in letters)]


def test_no_pattern_takes_time_by_the_square() -> None:
    slow = []
    seen = patterns()
    assert len(seen) > 40 and sum(searched for _, _, searched in seen) > 20
    for place, text, searched in seen:
        if text in SHORT:
            continue
        pattern = re.compile(text, re.M)
        for piece in attacks(text):
            for start in ("", *re.findall(r"[a-z]{3,}", text)[:1], '"', "0"):
                short, long = (start + piece * (n // len(piece)) + "\u00a1" for n in (500, 4000))
                # of eight times the length a square takes 64 times, a straight line 8
                if all(
                    (first := _once(pattern, short, searched)) > 0.0002 and _once(pattern, long, searched) > 25 * first
                    for _ in range(TRIES)
                ):
                    slow.append(f"{place} {text!r} on {start!r} and {piece!r}")
                    break
    assert slow == []


def _once(pattern: re.Pattern[str], text: str, searched: bool) -> float:
    def all_of_it() -> None:
        if searched:
            for _ in pattern.finditer(text):
                pass
        else:
            pattern.match(text)
            pattern.fullmatch(text)

    return least(all_of_it)


@pytest.mark.parametrize(("pattern", "piece"), [(r"^\s*tool", "\n"), (r"a*a*b", "a"), (r"^\s*use\s+", "\n")])
def test_a_pattern_that_takes_time_by_the_square_would_be_found(pattern: str, piece: str) -> None:
    made = re.compile(pattern, re.M)
    assert piece in attacks(pattern)
    short, long = (piece * n + "\u00a1" for n in (250, 1000))
    assert any(_once(made, long, searched=True) > 10 * _once(made, short, searched=True) for _ in range(TRIES))
