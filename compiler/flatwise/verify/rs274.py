"""A reader of RS274/NGC: program text → blocks of words.

Written from Kramer, Proctor and Messina, *The NIST RS274/NGC Interpreter – Version 3*, NISTIR 6556 (2000);
section and table numbers below are that report's.  It knows the whole standard's words, so that it can say of
each what is wrong with it: not a word at all, or a word that a flattening program has no use for.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

#: Letters that begin a word (table 3).
LETTERS = frozenset("ABCDFGHIJKLMNPQRSTXYZ")

#: G codes ten times over, by modal group (table 4); group 0 is not modal.
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
#: M codes by group (table 4).  M7 and M8 may both be on, but only one of the group stands in a line.
M_GROUPS: dict[int, str] = {
    **dict.fromkeys((0, 1, 2, 30, 60), "stopping"),
    **dict.fromkeys((3, 4, 5), "spindle"),
    **dict.fromkeys((7, 8, 9), "coolant"),
    **dict.fromkeys((48, 49), "override"),
    6: "tool change",
}
#: No number of a program is larger.
_LARGEST = 1e7
#: What a flattening program may use; all else of the standard is read and refused.
G_SET = frozenset({0, 10, 40, 170, 200, 210, 400, 490, 530, 800, 900, 910, 930, 940}) | {
    code for code, group in G_GROUPS.items() if group == "coordinate system"
}
M_SET = frozenset({0, 1, 2, 3, 4, 5, 7, 8, 9, 30})
LETTER_SET = frozenset("FGMNPSXYZ")


@dataclass(frozen=True, slots=True)
class Word:
    """A letter and its number; `start` and `end` are characters from 0 in the program's text."""

    letter: str
    value: float
    start: int
    end: int

    @property
    def tenths(self) -> int:
        """The number of a G code ten times over (G59.3: 593), or -1 where it is no code."""
        code = round(self.value * 10)
        return code if abs(code - self.value * 10) < 1e-3 else -1

    @property
    def text(self) -> str:
        """As a person writes it: G1, X-3.5."""
        return f"{self.letter}{self.value:.6f}".rstrip("0").rstrip(".")


@dataclass(frozen=True, slots=True)
class Block:
    """One line: its number from 1, its words without N, its comments, whether `/` stands before it."""

    line: int
    start: int
    end: int
    words: tuple[Word, ...]
    comments: tuple[str, ...] = ()
    number: int | None = None
    skip: bool = False

    def first(self, letter: str) -> Word | None:
        """The word of a letter, if the line has one."""
        return next((word for word in self.words if word.letter == letter), None)


class Refusal(NamedTuple):
    """Something that the standard or this machine's set does not allow, and why, in words."""

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
            reason = f"byte {ord(line[odd])} is no ASCII character"
            at = start + odd
            refusals.append(Refusal(number, odd + 1, at, at + 1, reason, "Write plain ASCII, in comments too."))
        start += len(line) + 1
    return text, refusals


def read(text: str, longest: int = 256) -> tuple[list[Block], list[Refusal]]:
    """Blocks of a program's text, up to its end, and all refusals.

    `longest` is how many characters a line may have (3.3: 256).  Blank lines give no block.  What follows the
    second `%`, or a block with M2 or M30, is not part of the program (3.1, 3.6.1).  Never raises.
    """
    blocks: list[Block] = []
    refusals: list[Refusal] = []
    marked, closed, ended, start = False, False, False, 0
    first = True
    lines = text.split("\n")
    for number, raw in enumerate(lines, 1):
        line = raw.removesuffix("\r")
        begin, start = start, start + len(raw) + 1
        if closed:
            break
        bare = line.strip(" \t")
        if bare == "%":
            if first:
                marked = True
            elif marked:
                closed = True
            elif not ended:
                reason = "a `%` stands here, but none stands before the first line"
                refusals.append(Refusal(number, line.index("%") + 1, begin, begin + len(line), reason))
            first = False
            continue
        if ended or (not bare and len(line) <= longest):
            continue
        first = first and not bare
        try:
            if len(line) > longest:
                reason = f"the line has {len(line)} characters and may have {longest}"
                raise _Stop(begin + longest, begin + len(line), reason, "Break it into two lines.")
            block = _block(line, number, begin)
            _judge(block)
        except _Stop as stop:
            column = stop.start - begin + 1
            refusals.append(Refusal(number, column, stop.start, stop.end, stop.reason, stop.help))
            continue
        blocks.append(block)
        ended = any(word.letter == "M" and word.value in (2.0, 30.0) for word in block.words)
    size = len(text)
    if marked and not closed:
        reason = "the program begins with `%` and no second `%` closes it"
        refusals.append(Refusal(1, 1, 0, min(1, size), reason, "Put a line with `%` after the last one."))
    elif not marked and not ended:
        reason = "the program does not end with M2 or M30"
        last = max(0, len(text.rstrip()) - 1)
        line_number = text.count("\n", 0, last) + 1
        column = last - (text.rfind("\n", 0, last) + 1) + 1
        refusals.append(Refusal(line_number, column, last, min(last + 1, size), reason, "It may have been cut short."))
    return blocks, refusals


def _block(line: str, number: int, begin: int) -> Block:
    """The words of one line (3.3)."""
    letters, comments = _without_comments(line, begin)
    at = 0
    skip = False
    if letters and letters[0][0] == "/":
        skip, at = True, 1
    words: list[Word] = []
    n: int | None = None
    while at < len(letters):
        letter, start = letters[at]
        if letter not in LETTERS:
            raise _Stop(start, start + 1, _odd(letter), _odd_help(letter))
        stop = at + 1
        while stop < len(letters) and letters[stop][0] in "+-.0123456789":
            stop += 1
        digits = "".join(ch for ch, _ in letters[at + 1 : stop])
        end = letters[stop - 1][1] + 1
        if stop < len(letters) and letters[stop][0] in "#[" and not digits:
            raise _Stop(start, letters[stop][1] + 1, _odd(letters[stop][0]), _odd_help("#"))
        word = Word(letter, _number(letter, digits, start, end), start, end)
        if letter == "N":
            if words or n is not None:
                raise _Stop(start, end, "a line number N stands after other words", "N comes first in its line.")
            if not digits.isdigit() or len(digits) > 5:
                reason = f"N{digits} is no line number: it is a whole number of at most five digits"
                raise _Stop(start, end, reason)
            n = int(digits)
        else:
            words.append(word)
        at = stop
    return Block(number, begin, begin + len(line), tuple(words), tuple(comments), n, skip)


def _without_comments(line: str, begin: int) -> tuple[list[tuple[str, int]], list[str]]:
    """Characters that count, in capitals, each with its place; and the comments (3.3.4)."""
    odd = next((i for i, ch in enumerate(line) if ch != "\t" and (ch < " " or ch == "\x7f")), None)
    if odd is not None:
        # comments hold printable characters and blanks (3.3.4): a controller may take another for the end of the line
        raise _Stop(begin + odd, begin + odd + 1, "a control character stands here", "Take it out.")
    letters: list[tuple[str, int]] = []
    comments: list[str] = []
    at = 0
    while at < len(line):
        ch = line[at]
        if ch == "(":
            close = line.find(")", at)
            if close < 0:
                reason = "a comment is opened with `(` and not closed on its line"
                raise _Stop(begin + at, begin + len(line), reason, "Close it with `)`.")
            nested = line.find("(", at + 1, close)
            if nested >= 0:
                raise _Stop(begin + nested, begin + nested + 1, "a `(` stands inside a comment")
            comments.append(line[at + 1 : close].strip())
            at = close
        elif ch not in " \t":
            letters.append((ch.upper(), begin + at))
        at += 1
    return letters, comments


def _number(letter: str, digits: str, start: int, end: int) -> float:
    """The value of a real number (3.3.2.1): an optional sign, digits, at most one point, no exponent."""
    body = digits[1:] if digits[:1] in ("+", "-") else digits
    if not body or not any(ch.isdigit() for ch in body) or body.count(".") > 1 or not set(body) <= set(".0123456789"):
        raise _Stop(start, end, f"{letter}{digits} has no number that can be read after its letter")
    value = float(digits)
    if abs(value) > _LARGEST:
        raise _Stop(start, end, f"the number after {letter} is too large for any machine")
    return value


def _odd(ch: str) -> str:
    if ch in "#[]=*":
        return f"`{ch}` begins a parameter or an expression, which is outside this machine's set"
    if ch == ")":
        return "a `)` closes a comment that was not opened"
    if ch == "/":
        return "a `/` stands inside the line"
    if ch.isalpha():
        return f"no word begins with the letter {ch}"
    return f"the character `{ch}` is not part of any word"


def _odd_help(ch: str) -> str:
    if ch in "#[]=*":
        return "Write the number itself."
    return "A comment stands in round brackets." if ch == ";" else ""


def _judge(block: Block) -> None:
    """Refuse repeats, two codes of one group, unknown codes, and what this machine's set leaves out (3.3.5)."""
    if block.skip:
        reason = "`/` lets a switch on the machine decide whether the line is run, so what it does cannot be proven"
        raise _Stop(block.start, block.end, reason, "Take out the `/`, or the line.")
    g_words = [word for word in block.words if word.letter == "G"]
    m_words = [word for word in block.words if word.letter == "M"]
    seen: set[str] = set()
    for word in block.words:
        if word.letter not in "GM" and word.letter in seen:
            raise _Stop(word.start, word.end, f"the letter {word.letter} stands twice in one line")
        seen.add(word.letter)
    _one_of_each(g_words, ((word.tenths, G_GROUPS) for word in g_words), G_SET)
    if len(m_words) > 4:
        raise _Stop(m_words[4].start, m_words[4].end, "more than four M codes stand in one line")
    _one_of_each(m_words, ((int(word.value) if word.value.is_integer() else -1, M_GROUPS) for word in m_words), M_SET)
    for word in block.words:
        if word.letter not in LETTER_SET:
            raise _Stop(word.start, word.end, f"the word {word.text} is outside this machine's set")
        if word.letter in "FS" and word.value < 0:
            raise _Stop(word.start, word.end, f"{word.text} is negative")
    _axes_and_dwell(block, {word.tenths for word in g_words})


def _one_of_each(words: list[Word], codes: Iterable[tuple[int, dict[int, str]]], allowed: frozenset[int]) -> None:
    groups: dict[str, Word] = {}
    for word, (code, table) in zip(words, codes, strict=True):
        group = table.get(code)
        if group is None:
            raise _Stop(word.start, word.end, f"{word.text} is no code of RS274/NGC")
        if code not in allowed:
            raise _Stop(word.start, word.end, f"{word.text} is outside this machine's set")
        if group in groups:
            other = groups[group].text
            reason = f"{other} and {word.text} are both of the {group} group, and one of a group may stand in a line"
            raise _Stop(word.start, word.end, reason, "Put them on two lines.")
        groups[group] = word


def _axes_and_dwell(block: Block, codes: set[int]) -> None:
    """Which words need which (3.5.1, 3.5.2, 3.5.4, 3.5.12)."""
    axes = [word for word in block.words if word.letter in "XYZ"]
    p = block.first("P")
    for word in block.words:
        if word.letter != "G":
            continue
        if word.tenths in (0, 10, 530) and not axes:
            raise _Stop(word.start, word.end, f"{word.text} needs X, Y or Z, and none stands in the line")
        if word.tenths == 40 and p is None:
            raise _Stop(word.start, word.end, "a dwell G4 needs P, and none stands in the line")
        if word.tenths == 800 and axes:
            raise _Stop(axes[0].start, axes[0].end, f"G80 ends the motion, so {axes[0].text} cannot stand beside it")
    if p is not None and 40 not in codes:
        raise _Stop(p.start, p.end, f"{p.text} has no use without a dwell G4")
    if p is not None and p.value < 0:
        raise _Stop(p.start, p.end, f"a dwell cannot be negative: {p.text}")
