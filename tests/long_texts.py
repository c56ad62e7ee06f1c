"""Long texts, point files and programs that could make a parser slow, and the functions that read them."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from flatwise_grammar import format_text, parse
from flatwise_grammar.chunks import chunk_bounds
from flatwise_grammar.lines import lexemes
from flatwise_grammar.nodes import Span

#: gives, for a length, a function that does the work on a prepared text
Work = Callable[[int], Callable[[], object]]

#: texts with a repeated piece
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
    "blanks before something that is not a unit": lambda n: "a { b " + ("1" + " " * 50 + "mM! ") * (n // 50),
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


POINTS: dict[str, Callable[[int], str]] = {
    "rows": lambda n: "x mm,y mm,z mm\n" + "1,2,3\n" * n,
    "rows with decimal commas": lambda n: "x in;y in;z in\n" + "1,5;2,5;3,5\n" * n,
    "rows without a header": lambda n: "1,2,3\n" * n,
    "rows that are not points": lambda n: "x mm;y mm;z mm\n" + "a;b\n" * n,
    "headers": lambda n: "x mm,y mm,z mm\n" * n,
    "headers without units": lambda n: "x,y,z\n" * n,
    "a header of blanks": lambda n: "x" + " " * n + "mm y" + " " * n + "mm z" + " " * n,
    "a header of names": lambda n: "x " * n,
    "commas": lambda n: "," * n,
    "empty lines": lambda n: "\n" * n,
    "comments": lambda n: "#\n" * n,
    "digits": lambda n: "9" * n,
    "a long row": lambda n: "1," * n,
    "blanks": lambda n: "1" + " " * n + "2 3\n",
    "quotation marks": lambda n: '"' * n + "\n",
    "points off the panel": lambda n: "x mm,y mm,z mm\n" + "-1,-1,0\n" * n,
}


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


def _reading(make: Callable[[int], str]) -> Work:
    def of(n: int) -> Callable[[], object]:
        text = make(n)
        return lambda: parse(text, "x")

    return of


def _formatting(make: Callable[[int], str]) -> Work:
    def of(n: int) -> Callable[[], object]:
        text = make(n)
        return lambda: format_text(text)

    return of


def _cutting(make: Callable[[int], str]) -> Work:
    def of(n: int) -> Callable[[], object]:
        text = make(n)
        return lambda: (lexemes(text, "x", 0), chunk_bounds(text))

    return of


def _points(make: Callable[[int], str]) -> Work:
    from flatwise.sources.point_file import read_points

    def of(n: int) -> Callable[[], object]:
        data = make(n).encode()
        return lambda: read_points(data, "p.csv", Span("x", 0, 1), 100.0, 100.0)

    return of


def _program(make: Callable[[int], str]) -> Work:
    from flatwise.verify import header, rs274

    def of(n: int) -> Callable[[], object]:
        data = make(n).encode()
        return lambda: (header(data), rs274.read_program(rs274.decode(data)[0]))

    return of


def _findings(make: Callable[[int], str]) -> Work:
    """From the text to the printed messages."""
    from flatwise.findings.fw001_text import flaw
    from flatwise.report import messages
    from flatwise.report.sarif import sarif

    def of(n: int) -> Callable[[], object]:
        text = make(n)

        def work() -> None:
            findings = tuple(flaw(each) for each in parse(text, "x")[1])
            messages.text(findings, {"x": text})
            messages.json_lines(findings, {"x": text})
            sarif(findings, {"x": text})

        return work

    return of


def works() -> Iterator[tuple[str, Work, int]]:
    """(name of the work, work, a length to begin with)."""
    for name, make in HOSTILE.items():
        yield f"reading {name}", _reading(make), 500
        yield f"formatting {name}", _formatting(make), 300
    for name in ("blanks", "digits", "opening braces", "comments", "strange characters in a line", "uses"):
        yield f"cutting {name}", _cutting(HOSTILE[name]), 500
    for name, make in POINTS.items():
        yield f"points: {name}", _points(make), 500
    for name, make in PROGRAMS.items():
        yield f"a program: {name}", _program(make), 500
    for name in (
        *("strange characters in a line", "quotation marks", "digits"),
        *("lines outside blocks", "uses", "opening braces"),
    ):
        # more flaws than are reported
        yield f"findings of {name}", _findings(HOSTILE[name]), 4000
