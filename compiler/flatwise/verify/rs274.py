"""A reader of RS274/NGC: program text → lines of words.

Written from Kramer, Proctor and Messina, *The NIST RS274/NGC Interpreter – Version 3*, NISTIR 6556 (2000); the
sections and tables named below are those of this report.  It knows all words of the standard, so it can tell what is
no word at all from a word that a flattening program has no use for.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import NamedTuple

#: Letters that begin a word (table 3).
LETTERS = frozenset("ABCDFGHIJKLMNPQRSTXYZ")

#: The modal group of each G code (table 4), with the codes multiplied by ten; group 0 is not modal.
G_GROUPS: dict[int, str] = {
    **dict.fromkeys((0, 10, 20, 30, 382, 800, 810, 820, 830, 840, 850, 860, 870, 880, 890), "motion"),
    **dict.fromkeys((170, 180, 190), "plane"),
    **dict.fromkeys((900, 910), "distance"),
    **dict.fromkeys((930, 940), "feed mode"),
    **dict.fromkeys((200, 210), "units"),
    **dict.fromkeys((400, 410, 420), "cutter radius"),
    **dict.fromkeys((430, 490), "tool length"),
    **dict.fromkeys((980, 990), "return"),
    **dict.fromkeys((540, 550, 560, 570, 580, 590, 591, 592, 593), "coordinate system"),
    **dict.fromkeys((610, 611, 640), "path"),
    **dict.fromkeys((40, 100, 280, 300, 530, 920, 921, 922, 923), "non-modal"),
}
#: The group of each M code (table 4).  M7 and M8 may both be on, but a line has only one code of the group.
M_GROUPS: dict[int, str] = {
    **dict.fromkeys((0, 1, 2, 30, 60), "stopping"),
    **dict.fromkeys((3, 4, 5), "spindle"),
    **dict.fromkeys((7, 8, 9), "coolant"),
    **dict.fromkeys((48, 49), "override"),
    6: "tool change",
}
#: The largest number that a program may hold.
_LARGEST = 1e7
#: What a flattening program may use; everything else in the standard is read and refused.
G_SET = frozenset({0, 10, 40, 170, 200, 210, 400, 490, 530, 610, 640, 800, 900, 910, 930, 940}) | {
    code for code, group in G_GROUPS.items() if group == "coordinate system"
}
M_SET = frozenset({0, 1, 2, 3, 4, 5, 7, 8, 9, 30})
LETTER_SET = frozenset("FGMNPSXYZ")


class Word(NamedTuple):
    """A letter and its number; `start` and `end` count characters of the program's text from 0."""

    letter: str
    value: float
    start: int
    end: int

    @property
    def tenths(self) -> int:
        """The number of a G code multiplied by ten (G59.3: 593), or -1 where it is no code."""
        code = round(self.value * 10)
        return code if abs(code - self.value * 10) < 1e-3 else -1

    @property
    def text(self) -> str:
        """The word as a person writes it: G1, X-3.5."""
        return f"{self.letter}{self.value:.6f}".rstrip("0").rstrip(".")


class ProgramLine(NamedTuple):
    """A line that has words: its number from 1 (not its N), and its words without N.

    `marked`: it begins with the block delete character `/` (3.3), so that a switch on the machine can skip it.
    """

    number: int
    start: int
    end: int
    words: tuple[Word, ...]
    marked: bool = False

    def first(self, letter: str) -> Word | None:
        """The word of a letter, if the line has one."""
        return next((word for word in self.words if word.letter == letter), None)


class Refusal(NamedTuple):
    """A place that breaks the standard or this machine's set, and the reason."""

    line: int
    column: int
    start: int
    end: int
    reason: str
    help: str = ""


class _Stop(Exception):
    def __init__(self, start: int, end: int, reason: str, help: str = "") -> None:
        self.start, self.end, self.reason, self.help = start, end, reason, help


def decode(program: bytes) -> tuple[str, list[Refusal]]:
    """The program's text, one character a byte, and a refusal for the first byte of each line beyond ASCII."""
    text = program.decode("latin-1")
    if text.isascii():
        return text, []
    refusals = []
    start = 0
    for number, line in enumerate(text.split("\n"), 1):
        odd = next((i for i, ch in enumerate(line) if ord(ch) > 127), None)
        if odd is not None:
            reason = f"byte {ord(line[odd])} is not an ASCII character"
            at = start + odd
            refusals.append(Refusal(number, odd + 1, at, at + 1, reason, "Use plain ASCII, also in comments."))
        start += len(line) + 1
    return text, refusals


def read_program(text: str, longest: int = 256) -> tuple[list[ProgramLine], list[Refusal]]:
    """The lines of a program up to its end, and all refusals.  Never raises.

    `longest` is how many characters a line may have (3.3: 256).  Blank lines are left out.  What follows the second
    `%`, or a line with M2 or M30, is not part of the program (3.1, 3.6.1).
    """
    lines: list[ProgramLine] = []
    refusals: list[Refusal] = []
    opened, closed, ended, first = False, False, False, True
    begin = 0
    for number, raw in enumerate(text.split("\n"), 1):
        line, start = raw.removesuffix("\r"), begin
        begin += len(raw) + 1
        bare = line.strip(" \t")
        if bare == "%":
            closed = opened
            if not first and not opened and not ended:
                reason = "there is a `%` here, but none before the first line"
                refusals.append(Refusal(number, line.index("%") + 1, start, start + len(line), reason))
            opened |= first
            first = False
        elif not ended and (bare or len(line) > longest):
            first = False
            try:
                lines.append(_read_line(line, number, start, longest))
            except _Stop as stop:
                column = stop.start - start + 1
                refusals.append(Refusal(number, column, stop.start, stop.end, stop.reason, stop.help))
            else:
                ended = any(word.letter == "M" and word.value in (2.0, 30.0) for word in lines[-1].words)
        if closed:
            break
    if opened and not closed:
        reason = "the program begins with `%`, but no second `%` closes it"
        refusals.append(Refusal(1, 1, 0, min(1, len(text)), reason, "Add a line with `%` at the end."))
    elif not opened and not ended:
        refusals.append(_no_ending(text))
    return lines, refusals


def _no_ending(text: str) -> Refusal:
    last = max(0, len(text.rstrip()) - 1)
    line, column = text.count("\n", 0, last) + 1, last - text.rfind("\n", 0, last)
    reason = "the program does not end with M2 or M30"
    return Refusal(line, column, last, min(last + 1, len(text)), reason, "It may have been cut short.")


#: A comment, or a letter with the digits and blanks that follow it (3.3).
_TOKEN = re.compile(r"[ \t]*(?:\([^()]*\)|([A-Za-z])((?:[ \t]*[-+.0-9])*))")
#: Comments hold printable characters and blanks (3.3.4): a controller may take another for the end of the line.
_CONTROL = re.compile(r"[\x00-\x08\x0a-\x1f\x7f]")


def _read_line(line: str, number: int, begin: int, longest: int) -> ProgramLine:
    """The words of one line (3.3); raises _Stop where they are refused."""
    if len(line) > longest:
        reason = f"the line has {len(line)} characters; the limit is {longest}"
        raise _Stop(begin + longest, begin + len(line), reason, "Break it into two lines.")
    control = _CONTROL.search(line)
    if control:
        raise _Stop(begin + control.start(), begin + control.end(), "there is a control character here", "Remove it.")
    words: list[Word] = []
    marked = line.lstrip(" \t").startswith("/")
    numbered, at = False, line.index("/") + 1 if marked else 0
    while token := _TOKEN.match(line, at):
        at = token.end()
        if token[1] is None:
            continue  # a comment
        start, end = begin + token.start(1), begin + at
        letter, digits = token[1].upper(), token[2].replace(" ", "").replace("\t", "")
        if letter not in LETTERS:
            raise _Stop(start, start + 1, f"no word begins with the letter {letter}")
        if not digits and line[at:].lstrip(" \t")[:1] in ("#", "["):
            break
        value = _number(letter, digits, start, end)
        if letter != "N":
            words.append(Word(letter, value, start, end))
            continue
        if words or numbered:
            raise _Stop(start, end, "a line number N follows other words", "N comes first in its line.")
        if not digits.isdigit() or len(digits) > 5:
            raise _Stop(start, end, f"N{digits} is not a line number: those are whole numbers of at most five digits")
        numbered = True
    rest = line[at:].lstrip(" \t")
    if rest:
        raise _misfit(line, len(line) - len(rest), begin)
    read = ProgramLine(number, begin, begin + len(line), tuple(words), marked)
    _judge(read)
    return read


def _misfit(line: str, at: int, begin: int) -> _Stop:
    """Why the text from `at` on begins neither a word nor a comment."""
    start, ch = begin + at, line[at]
    if ch == "(":
        close, nested = line.find(")", at), line.find("(", at + 1)
        if close < 0:
            reason = "a comment opens with `(` and is not closed on its line"
            return _Stop(start, begin + len(line), reason, "Close it with `)`.")
        return _Stop(begin + nested, begin + nested + 1, "there is a `(` inside a comment")
    if ch in "#[]=*":
        reason = f"`{ch}` begins a parameter or an expression, which is outside this machine's set"
        letter = line[:at].rstrip(" \t")
        # a word whose value is one: from its letter on
        first = len(letter) - 1 if ch in "#[" and letter[-1:].upper() in LETTERS else at
        return _Stop(begin + first, start + 1, reason, "Write the number itself.")
    reason = {
        ")": "a `)` closes a comment that was not opened",
        "/": "there is a `/` inside the line",
    }.get(ch, f"the character `{ch}` is not part of any word")
    return _Stop(start, start + 1, reason, "Put comments in parentheses." if ch == ";" else "")


#: An optional sign, digits with at most one point, and no exponent (3.3.2.1).
_REAL = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)")


def _number(letter: str, digits: str, start: int, end: int) -> float:
    """The value of a real number."""
    if not _REAL.fullmatch(digits):
        raise _Stop(start, end, f"{letter}{digits} has no readable number after its letter")
    value = float(digits)
    if abs(value) > _LARGEST:
        raise _Stop(start, end, f"the number after {letter} is too large for any machine")
    return value


def _judge(line: ProgramLine) -> None:
    """Refuse repeats, two codes of one group, unknown codes, and what this machine's set leaves out (3.3.5)."""
    g_words = [word for word in line.words if word.letter == "G"]
    m_words = [word for word in line.words if word.letter == "M"]
    seen: set[str] = set()
    for word in line.words:
        if word.letter not in "GM" and word.letter in seen:
            raise _Stop(word.start, word.end, f"the letter {word.letter} appears twice in the line")
        seen.add(word.letter)
    _one_of_each(g_words, ((word.tenths, G_GROUPS) for word in g_words), G_SET)
    if len(m_words) > 4:
        raise _Stop(m_words[4].start, m_words[4].end, "the line has more than four M codes")
    _one_of_each(m_words, ((int(word.value) if word.value.is_integer() else -1, M_GROUPS) for word in m_words), M_SET)
    for word in line.words:
        if word.letter not in LETTER_SET:
            raise _Stop(word.start, word.end, f"the word {word.text} is outside this machine's set")
        if word.letter in "FS" and word.value < 0:
            raise _Stop(word.start, word.end, f"{word.text} is negative")
    _axes_and_dwell(line, {word.tenths for word in g_words})


def _one_of_each(words: list[Word], codes: Iterable[tuple[int, dict[int, str]]], allowed: frozenset[int]) -> None:
    groups: dict[str, Word] = {}
    for word, (code, table) in zip(words, codes, strict=True):
        group = table.get(code)
        if group is None:
            raise _Stop(word.start, word.end, f"{word.text} is not a code of RS274/NGC")
        if code not in allowed:
            raise _Stop(word.start, word.end, f"{word.text} is outside this machine's set")
        if group in groups:
            other = groups[group].text
            reason = (
                f"{other} and {word.text} are both in the {group} group; a line can have only one code of each group"
            )
            raise _Stop(word.start, word.end, reason, "Put them on two lines.")
        groups[group] = word


def _axes_and_dwell(line: ProgramLine, codes: set[int]) -> None:
    """Words that need others (3.5.1, 3.5.2, 3.5.4, 3.5.12)."""
    axes = [word for word in line.words if word.letter in "XYZ"]
    p = line.first("P")
    for word in line.words:
        if word.letter != "G":
            continue
        if word.tenths in (0, 10, 530) and not axes:
            raise _Stop(word.start, word.end, f"{word.text} needs X, Y or Z in its line")
        if word.tenths == 40 and p is None:
            raise _Stop(word.start, word.end, "a dwell G4 needs P in its line")
        if word.tenths == 800 and axes:
            raise _Stop(
                axes[0].start, axes[0].end, f"G80 ends the motion, so {axes[0].text} cannot be in the same line"
            )
    if p is not None and 40 not in codes:
        raise _Stop(p.start, p.end, f"{p.text} has no use without a dwell G4")
    if p is not None and p.value < 0:
        raise _Stop(p.start, p.end, f"a dwell cannot be negative: {p.text}")
