"""Findings as text with the source underlined, and as JSON, one object per line.

Lines and columns count from 1, columns in characters.
"""

from __future__ import annotations

import unicodedata
from bisect import bisect_right
from collections.abc import Callable, Mapping
from typing import Any

from flatwise.core.finding import Finding, Findings, Severity
from flatwise_grammar.nodes import Span

Texts = Mapping[str, str]
_Painter = Callable[[str, str], str]

#: the most terminal cells of a source line; a longer one is clipped around the span
WIDTH = 96
_TAB = 4
_MOST_LINES = 3


class Lines:
    """The lines of a text: converts offsets to lines and columns."""

    def __init__(self, text: str) -> None:
        self.text = text
        self.starts = [0]
        at = text.find("\n")
        while at >= 0:
            self.starts.append(at + 1)
            at = text.find("\n", at + 1)

    def place(self, offset: int) -> tuple[int, int]:
        """Line and column, from 1, of a character offset (clipped to the text)."""
        offset = min(max(offset, 0), len(self.text))
        line = bisect_right(self.starts, offset)
        return line, offset - self.starts[line - 1] + 1

    def line(self, number: int) -> str:
        """The line with a number, from 1, without its line break."""
        start = self.starts[number - 1]
        end = self.starts[number] if number < len(self.starts) else len(self.text)
        return self.text[start:end].rstrip("\r\n")


class Sources:
    """The texts that spans point into, each split into lines once; `named` gives the path that readers see."""

    def __init__(self, texts: Texts, named: Callable[[str], str] = str) -> None:
        self._texts = texts
        self.named = named
        self._lines: dict[str, Lines] = {}

    def lines(self, path: str) -> Lines | None:
        """The lines of a source, or None if there is no text (a missing file, say)."""
        if path not in self._lines and path in self._texts:
            self._lines[path] = Lines(self._texts[path])
        return self._lines.get(path)

    def place(self, span: Span) -> tuple[int, int, int, int]:
        """Line, column, end line and end column of a span; the start of the file if there is no text."""
        lines = self.lines(span.path)
        return (1, 1, 1, 1) if lines is None else (*lines.place(span.start), *lines.place(span.end))


def in_order(findings: Findings) -> Findings:
    """Findings by file, in the order of their first findings, then by place; findings without a place last."""
    files: dict[str, int] = {}
    for finding in findings:
        if finding.span is not None:
            files.setdefault(finding.span.path, len(files))

    def key(finding: Finding) -> tuple[int, int]:
        return (len(files), 0) if finding.span is None else (files[finding.span.path], finding.span.start)

    return tuple(sorted(dict.fromkeys(findings), key=key))


# -- JSON --------------------------------------------------------------------------------------------------------


def as_json(finding: Finding, sources: Sources) -> dict[str, Any]:
    """One finding as an object: code severity message path line column end_line end_column related help fix.

    A finding without a place has nulls; `fix` is null, or has a title and edits, each a place with its new text.
    """
    return {
        "code": finding.code,
        "severity": finding.severity,
        "message": finding.message,
        **_range(finding.span, sources),
        "related": [{"message": other.message, **_start(other.span, sources)} for other in finding.related],
        "help": finding.help,
        "fix": None
        if finding.fix is None
        else {
            "title": finding.fix.title,
            "edits": [{**_range(edit.span, sources), "text": edit.text} for edit in finding.fix.edits],
        },
    }


def _start(span: Span, sources: Sources) -> dict[str, Any]:
    line, column, _, _ = sources.place(span)
    return {"path": sources.named(span.path), "line": line, "column": column}


def _range(span: Span | None, sources: Sources) -> dict[str, Any]:
    place = (None, None, None, None) if span is None else sources.place(span)
    path = None if span is None else sources.named(span.path)
    return {"path": path, "line": place[0], "column": place[1], "end_line": place[2], "end_column": place[3]}


def json_lines(findings: Findings, texts: Texts) -> str:
    """Every finding as JSON, one object per line, in the order of their places; ASCII, so that any pipe carries it."""
    import json  # imported here so that text does not wait for it

    sources = Sources(texts)
    return "".join(json.dumps(as_json(finding, sources)) + "\n" for finding in in_order(findings))


# -- text --------------------------------------------------------------------------------------------------------


def text(findings: Findings, texts: Texts, *, colour: bool = False) -> str:
    """Every finding with its source lines, for people; "" if there are none."""
    sources = Sources(texts)
    return "\n".join(_drawn(finding, sources, colour) for finding in in_order(findings))


def tally(findings: Findings) -> str:
    """`2 errors, 1 warning, 1 note`; "" if there are none."""
    counts: dict[Severity, int] = {}
    for finding in dict.fromkeys(findings):
        counts[finding.severity] = counts.get(finding.severity, 0) + 1
    return ", ".join(f"{counts[kind]} {kind}{'s' * (counts[kind] != 1)}" for kind in _TONES if kind in counts)


def _drawn(finding: Finding, sources: Sources, colour: bool) -> str:
    tone = _TONES[finding.severity]
    paint = _paint if colour else lambda string, _: string
    where = "" if finding.span is None else f"  {_where(finding.span, sources)}"
    out = [paint(f"{finding.code} {finding.severity}", tone) + paint(where, _FAINT)]
    out += ["", *(f"  {line}" for line in visible(finding.message).splitlines())]
    if finding.span is not None:
        out += _quoted(finding.span, sources, "^", paint, tone)
    for other in finding.related:
        if other.span == finding.span:  # quoted above
            out += ["", f"  {visible(other.message)}"]
            continue
        out += ["", f"  {visible(other.message)}" + paint(f"  ({_where(other.span, sources)})", _FAINT)]
        out += _quoted(other.span, sources, "-", paint, _BLUE)
    if finding.help:
        out += ["", "  " + visible(finding.help)]
    return "\n".join(out) + "\n"


def _where(span: Span, sources: Sources) -> str:
    path = visible(span.path)
    if sources.lines(span.path) is None:
        return path
    line, column, _, _ = sources.place(span)
    return f"{path}:{line}:{column}"


def _quoted(span: Span, sources: Sources, mark: str, paint: _Painter, tone: str) -> list[str]:
    """The numbered lines of a span, each with the span marked below it."""
    lines = sources.lines(span.path)
    if lines is None:
        return []
    first, column, last, end_column = sources.place(span)
    if last > first and end_column == 1:  # it ends with a line break: the next line does not belong to it
        last, end_column = last - 1, len(lines.line(last - 1)) + 1
    shown = list(range(first, last + 1))
    left_out = len(shown) - _MOST_LINES
    if left_out > 0:
        shown = shown[: _MOST_LINES - 1] + shown[-1:]
    digits = max(4, len(str(last)))
    out = [""]
    for number in shown:
        source = lines.line(number)
        start = column - 1 if number == first else len(source) - len(source.lstrip())
        end = end_column - 1 if number == last else len(source)
        if left_out > 0 and number == last:
            out.append(f"{'':{digits}} : {left_out} more line{'s' * (left_out != 1)}")
        drawn, offset, width = _clipped(source, min(start, len(source)), min(max(end, start), len(source)))
        out.append(paint(f"{number:{digits}} | ", _FAINT) + drawn)
        out.append(paint(f"{'':{digits}} | ", _FAINT) + " " * offset + paint(mark * width, tone))
    return out


def _clipped(source: str, start: int, end: int) -> tuple[str, int, int]:
    """A line clipped to the terminal: what to show, where its mark begins, and how wide it is (at least 1)."""
    # a window of characters first, so that a line of a megabyte takes no longer than a short one
    low = max(0, start - WIDTH)
    source, start, end = source[low : end + WIDTH], start - low, end - low
    before, marked, after = (_cells(part) for part in (source[:start], source[start:end], source[end:]))
    head = low > 0
    room = WIDTH - max(1, min(_width(marked), WIDTH // 2))
    if _width(before) > room * 2 // 3:
        before, head = _first_cells(before[::-1], room // 2)[::-1], True
    marked_shown = _first_cells(marked, WIDTH - min(_width(before), WIDTH // 2))
    rest = WIDTH - _width(before) - _width(marked_shown)
    after_shown = _first_cells(after, max(0, rest)) if marked_shown == marked else ""
    cut = marked_shown != marked or after_shown != after or end + WIDTH < len(source)
    shown = ("..." if head else "") + before + marked_shown + after_shown + ("..." if cut else "")
    return shown.rstrip() or shown, _width(before) + 3 * head, max(1, _width(marked_shown))


def visible(string: str) -> str:
    """`string` with control characters escaped, so that no source can control the terminal; line breaks stay."""
    return "".join(ch if ch == "\n" or not _is_control(ch) else f"\\x{ord(ch):02x}" for ch in string)


def _is_control(ch: str) -> bool:
    return unicodedata.category(ch) in ("Cc", "Cf", "Cs", "Co", "Zl", "Zp")


def _cells(string: str) -> str:
    return visible(string.replace("\t", " " * _TAB).replace("\f", " "))


def _width(string: str) -> int:
    """The terminal cells of a string: two for a wide character, none for a combining mark (Unicode TR 11)."""
    if string.isascii():
        return len(string)
    return sum(_cell(ch) for ch in string)


def _cell(ch: str) -> int:
    if unicodedata.combining(ch):
        return 0
    return 2 if unicodedata.east_asian_width(ch) in ("W", "F") else 1


def _first_cells(string: str, room: int) -> str:
    for at, ch in enumerate(string):
        room -= _cell(ch)
        if room < 0:
            return string[:at]
    return string


# -- colour ------------------------------------------------------------------------------------------------------

_BLUE, _FAINT = "34;1", "2"
#: the colour of each severity, the worst first
_TONES: dict[Severity, str] = {"error": "31;1", "warning": "33;1", "note": _BLUE}


def _paint(string: str, tone: str) -> str:
    return f"\x1b[{tone}m{string}\x1b[0m" if string else ""
