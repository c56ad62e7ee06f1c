"""Flaws of text that is not the language, in words, with the correction where that is certain."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Sequence
from itertools import pairwise

from flatwise_grammar.lines import LONGEST_NUMBER, Lexeme
from flatwise_grammar.nodes import Flaw, Span

NUMBERS = "Write numbers like 3, 0.5, 3/4 or 1 1/8, with the unit right after: 0.5mm, 1 1/8in."
_NAMES = "Names have lower-case letters, digits and underscores, like front_left."
_LETTERS = {"\u2212": "-", "\u00d7": "x", "\u00b1": "+/-", "\u00a0": " ", "\u2013": "-"}
_QUOTES = "\u201c\u201d\u201e\u201f\u00ab\u00bb"
#: marks after a number that stand for a unit on paper
_MARKS = {"\u2033": "in", "\u201c": "in", "\u201d": "in", "''": "in", "\u2032": "ft", "\u2019": "ft", "'": "ft"}
_VALUE = r"-?(?:[0-9]+(?: [0-9]+)?/[0-9]+|[0-9]+(?:\.[0-9]+)?)"


def of_lexeme(line: Sequence[Lexeme], at: int, path: str) -> Flaw:
    """The flaw of `line[at]`, a lexeme under one of the BAD terminals or STRAY."""
    lexeme = line[at]
    span = Span(path, lexeme.start, lexeme.end)
    text = shown(lexeme.text)
    before = line[at - 1] if at else None
    number = before if before is not None and before.type == "NUMBER" else None
    if lexeme.type in ("BAD_NUMBER", "BAD_MIXED", "BAD_WORD"):
        signs = _signs(lexeme.text, text, span, number)
        if signs is not None:
            return signs
    if before is not None and lexeme.type == "BAD_NUMBER":
        cut_off = _cut_off(before, lexeme, path)
        if cut_off is not None:
            return cut_off
    if lexeme.type in ("BAD_NUMBER", "BAD_MIXED"):
        return _number(lexeme.text, text, span)
    if lexeme.type == "BAD_STRING":
        return _string(lexeme, number, line, span)
    if lexeme.type == "BAD_WORD":
        return _word(lexeme.text, text, span)
    if before is not None and lexeme.type == "STRAY":
        beside = _beside(lexeme, at, line, span)
        if beside is not None:
            return beside
    return _stray(lexeme.text, span)


def of_comment(first: Lexeme, path: str) -> Flaw:
    """The flaw of a comment that begins with //; `first` is its first stroke."""
    span = Span(path, first.start, first.start + 2)
    help = "Write # before the comment."
    return Flaw("FW001", "A comment begins with #, not with //.", span, help, fix=(span, "#", "Write #"))


def of_inch_marks(line: Sequence[Lexeme], path: str) -> Flaw | None:
    """The flaw of inch marks that are read as the ends of a text, as in 27" x 18"; its fix writes all of them as in."""
    marks: list[Span] = []
    number = ""
    for before, one in pairwise(line):
        if one.type not in ("STRING", "BAD_STRING"):
            continue
        if before.type != "NUMBER" or before.end != one.start:
            return None
        if one.type == "STRING" and not re.fullmatch(r'".*[0-9]"', one.text):
            return None
        number = number or before.text
        ends = (one.start, one.end - 1) if one.type == "STRING" else (one.start,)
        marks += [Span(path, at, at + 1) for at in ends]
    if not marks or (len(marks) == 1 and line[-1].text == '"'):
        return None  # a single mark at the end is read as corrected
    return Flaw(
        "FW003",
        f'The mark " after {shown(number)} is not a unit; it begins a text.',
        marks[0],
        f"Write inches as in: {shown(number)}in.",
        fix=(marks[0], "in", "Write in"),
        also=tuple((mark, "in") for mark in marks[1:]),
    )


def _string(lexeme: Lexeme, number: Lexeme | None, line: Sequence[Lexeme], span: Span) -> Flaw:
    """An inch mark after a number, a string with a stray backslash, or one that is not closed."""
    if number is not None and number.end == lexeme.start:
        certain = lexeme.text == '"' and all(one.type != "STRING" for one in line)
        return Flaw(
            "FW003",
            f'The mark " after {shown(number.text)} is not a unit; it begins a text.',
            span,
            f"Write inches as in: {shown(number.text)}in.",
            fix=(span, "in", "Write in") if certain else None,
        )
    if len(lexeme.text) > 1 and re.fullmatch(r'"(?:\\.|[^"\\])*"', lexeme.text):
        return Flaw(
            "FW001",
            f"The text {shown(lexeme.text)} has a backslash that is not before a quotation mark or another backslash.",
            span,
            "Write each backslash twice, or use / between folders.",
        )
    return Flaw(
        "FW001",
        f"The quotation mark before {shown(lexeme.text[1:]) or 'the end of the line'} is not closed on its line.",
        span,
        'Close the text with " on the same line.',
    )


def _signs(raw: str, text: str, span: Span, before: Lexeme | None) -> Flaw | None:
    """A number with an inch or foot mark, or a fraction in one character; `before` is a number in front of it."""
    if len(raw) > LONGEST_NUMBER:
        return None
    plain = _with_unit(_with_plain_fractions(raw))
    if plain == raw or not re.fullmatch(_VALUE + "[A-Za-z]*", plain):
        return None
    whole = f"{before.text} {plain}" if before is not None else plain
    strange = next(one for one in raw if not one.isascii() or one == "'")
    named = unicodedata.name(strange, "").lower()
    return Flaw(
        "FW003",
        f"The number {text} contains a character ({named}) that numbers can't contain.",
        span,
        f"Write {whole}.",
        fix=None if before is not None else (span, plain, f"Write {plain}"),
    )


def _with_plain_fractions(raw: str) -> str:
    """The text with 1/2 for ½ and so on, after a space where digits come before it."""
    plain = ""
    for one in raw:
        if unicodedata.decomposition(one).startswith("<fraction>"):
            plain += " " * plain[-1:].isdigit() + unicodedata.normalize("NFKC", one).replace("\u2044", "/")
        else:
            plain += one
    return plain


def _with_unit(raw: str) -> str:
    """The text with a unit in place of the mark at its end, if it has one."""
    for mark, unit in _MARKS.items():
        if raw.endswith(mark):
            return raw.removesuffix(mark) + unit
    return raw


def _beside(lexeme: Lexeme, at: int, line: Sequence[Lexeme], span: Span) -> Flaw | None:
    """A character whose neighbours show what is meant: a sign between a word and its value, or a star for x."""
    raw, before = lexeme.text, line[at - 1]
    after = line[at + 1] if at + 1 < len(line) else None
    if raw in "=:" and (at == 1 or (before.type == "NAME" and after is not None)):
        follows = "its brace" if after is not None and after.type == "LBRACE" else "its value"
        spaced = before.end < lexeme.start
        behind = after.start if after is not None else lexeme.end
        removed = Span(span.path, lexeme.start, behind if spaced else lexeme.end)
        space = not spaced and behind == lexeme.end
        return Flaw(
            "FW001",
            f"The character {raw} ({unicodedata.name(raw).lower()}) is between {shown(before.text)} and {follows}.",
            span,
            "Write only a space between them.",
            fix=(removed, " ", "Write a space") if space else (removed, "", f"Remove {raw}"),
        )
    if raw == "." and after is None and before.end == lexeme.start:
        return Flaw("FW001", "A line does not end with a full stop.", span, "Remove it.", fix=(span, "", "Remove ."))
    if raw == "*" and after is not None and {before.type, after.type} <= {"NUMBER", "QUANTITY"}:
        better = " " * (before.end == lexeme.start) + "x" + " " * (after.start == lexeme.end)
        return Flaw(
            "FW001",
            "The character * (asterisk) is used for x.",
            span,
            "Write x instead, with a space on both sides.",
            fix=(span, better, "Write x"),
        )
    if raw == "+" and after is not None and after.text.startswith("-"):
        both = Span(span.path, lexeme.start, after.end)
        better = f"+/- {after.text[1:]}".rstrip()
        help = "Write +/- instead."
        return Flaw("FW001", "The plus-or-minus sign is not written +/-.", span, help, fix=(both, better, "Write +/-"))
    return None


def _number(raw: str, text: str, span: Span) -> Flaw:
    if len(raw) > LONGEST_NUMBER:
        return Flaw(
            "FW003",
            f"The number that begins with {text} has {len(raw)} characters; the limit is {LONGEST_NUMBER}.",
            span,
            "Round it: a few decimals are finer than any machine.",
        )
    if re.match(r"-?[0-9 ]*[0-9]/0+(?![0-9])", raw):
        return Flaw("FW003", f"The fraction {text} divides by zero.", span, NUMBERS)
    if re.match(r"[-+]?[0-9.]+[eE][-+]?[0-9]", raw):
        return Flaw("FW003", f"The number {text} has an exponent.", span, f"Write it out. {NUMBERS}")
    mixed = re.fullmatch(r"([0-9]+)(?:-|[ \t]+)([0-9]+/[0-9]+.*)", raw)
    if mixed:
        better = f"{mixed[1]} {mixed[2]}"
        return Flaw(
            "FW003",
            f"The mixed number {text} does not have exactly one space between the whole number and the fraction.",
            span,
            f"Write {better}.",
            fix=(span, better, f"Write {better}"),
        )
    if re.match(r"-?\.[0-9]", raw):
        better = raw.replace(".", "0.", 1)
        return Flaw(
            "FW003",
            f"The number {text} has no digit before its decimal point.",
            span,
            f"Write {shown(better)}.",
            fix=(span, better, f"Write {shown(better)}"),
        )
    if re.fullmatch(r"[0-9./]+[A-Za-z]*(?:[x×*][0-9./]+[A-Za-z]*){1,2}", raw):
        sizes = re.split("[x×*]", raw)
        better = " x ".join(sizes)
        certain = all(re.fullmatch(_VALUE + "[A-Za-z]+", size) for size in sizes)
        unit = sizes[-1].lstrip("0123456789./")
        spaced = " x ".join(size if size[-1].isalpha() else size + unit for size in sizes)
        # a bare whole number may also count what follows
        counted = f"{shown(better)}, or for two sizes " if unit and len(sizes) == 2 and sizes[0].isdigit() else ""
        return Flaw(
            "FW003",
            f"The numbers {text} are run together.",
            span,
            f"Put a space on both sides of each x: {counted}{shown(spaced)}.",
            fix=(span, better, f"Write {shown(better)}") if certain else None,
        )
    tolerance = re.fullmatch(rf"({_VALUE}[A-Za-z]*)(?:\+-|\u00b1)({_VALUE}[A-Za-z]*)", raw)
    if tolerance:
        better = f"{tolerance[1]} +/- {tolerance[2]}"
        help = f"Write {shown(better)}."
        fix = (span, better, f"Write {shown(better)}")
        return Flaw("FW003", f"The tolerance {text} is not written with +/-.", span, help, fix=fix)
    if raw.endswith(".") and re.fullmatch(_VALUE + "[A-Za-z%]*", raw[:-1]):
        help = f"Write {shown(raw[:-1])}."
        fix = (span, raw[:-1], f"Write {shown(raw[:-1])}")
        return Flaw("FW003", f"The number {text} has a full stop at its end.", span, help, fix=fix)
    return Flaw("FW003", f"The number {text} cannot be understood.", span, NUMBERS)


def _cut_off(before: Lexeme, lexeme: Lexeme, path: str) -> Flaw | None:
    """The flaw of a name that ends within a number: a unit before its number as in mm0.6, or x0.6mm without a space."""
    whole = re.fullmatch(r"([a-z]+)([0-9]+\.[0-9]+)([a-z]*)", before.text + lexeme.text)
    if before.type != "NAME" or before.end != lexeme.start or whole is None:
        return None
    name, number, unit = whole.groups()
    if name != "x" and unit:
        return None
    span = Span(path, before.start, lexeme.end)
    better = f"x {number}{unit}" if name == "x" else number + name
    text = shown(before.text + lexeme.text)
    message = (
        f"There is no space after the x of {text}."
        if name == "x"
        else f"The unit of {text} is written before its number."
    )
    return Flaw("FW003", message, span, f"Write {shown(better)}.", fix=(span, better, f"Write {shown(better)}"))


def _word(raw: str, text: str, span: Span) -> Flaw:
    lower = raw.lower().replace("-", "_")
    certain = (
        re.fullmatch(r"[a-z](?:[a-z0-9_]*[a-z0-9])?", lower)
        and (re.search(r"[a-z]", raw) or len(raw) == 1 or "_" in raw)
        and not re.match(r"[A-Z]+-?[0-9]", raw)
    )
    if certain:
        return Flaw(
            "FW001",
            f"The name {text} is not in lower-case letters with underscores.",
            span,
            f"Write {lower}. {_NAMES}",
            fix=(span, lower, f"Write {lower}"),
        )
    help = f"{_NAMES} Codes are like ER20 or G54."
    return Flaw("FW001", f"The word {text} is neither a name nor a code.", span, help)


def _stray(raw: str, span: Span) -> Flaw:
    title = unicodedata.name(raw, "").lower() or f"number {ord(raw)}, without a name"
    named = f"{raw} ({title})" if raw.isprintable() and not raw.isspace() else f"({title})"
    better = _LETTERS.get(raw)
    if raw in _QUOTES:
        return Flaw(
            "FW001",
            f"The character {named} is used for a straight quotation mark.",
            span,
            'Write " at both ends of a text.',
        )
    if better is None:
        return Flaw(
            "FW001",
            f"The character {named} has no meaning here.",
            span,
            "Remove it; only quoted text and comments can contain any character.",
        )
    spoken = "a space" if better == " " else better
    return Flaw(
        "FW001",
        f"The character {named} is used for {spoken}.",
        span,
        f"Write {spoken} instead.",
        fix=(span, better, f"Write {spoken}"),
    )


def of_line(line: Sequence[Lexeme], at: Lexeme | None, path: str) -> Flaw:
    """The flaw of a line that the grammar can't read; `at` is the first lexeme that does not fit, None at the end."""
    place = at or line[-1]
    span = Span(path, place.start, place.end)
    if at is not line[0]:
        return _point(line, at, span)
    if at.type == "LBRACE":
        help = "Write the block's kind before it on the same line, for example: stock {"
        return Flaw("FW001", "An opening brace has no header.", span, help)
    return Flaw(
        "FW001",
        f"A line begins with {shown(at.text)} instead of a word.",
        span,
        "Every line begins with a lower-case word; a line continues on the next one only after a comma.",
    )


def _point(line: Sequence[Lexeme], at: Lexeme | None, span: Span) -> Flaw:
    """A bracket too many, a point that is not closed, or one that is not two distances."""
    if at is not None and at.type == "RPAR" and not any(one.type == "LPAR" and one.start < at.start for one in line):
        return Flaw("FW001", "A closing bracket has no opening one.", span, "Remove it.")
    if sum((one.type == "LPAR") - (one.type == "RPAR") for one in line) > 0:
        opened = next(one for one in reversed(line) if one.type == "LPAR")
        return Flaw(
            "FW001",
            f"The point that begins with {shown(_source(line, opened))} is not closed.",
            Span(span.path, opened.start, line[-1].end),
            "Write both distances in brackets: (120mm, 45mm).",
        )
    piece = shown(at.text) if at is not None else "the end of the line"
    return Flaw(
        "FW001",
        f"A point can't continue with {piece}.",
        span,
        "Write two distances in brackets with a comma between them: (120mm, 45mm).",
    )


def of_use(line: Sequence[Lexeme], path: str) -> Flaw | None:
    """The flaw of a `use` line that names a job file without straight quotation marks; its fix adds them."""
    rest = line[1:]
    name = "".join(one.text for one in rest).strip(_QUOTES + "\u2018\u2019'\"")
    whole = all(one.end == after.start for one, after in pairwise(rest))
    if not rest or rest[0].type == "STRING" or not whole or not re.fullmatch(r'[^"\\\s]+\.flat', name):
        return None
    return Flaw(
        "FW001",
        f"The file name {shown(name)} is not between straight quotation marks.",
        Span(path, rest[0].start, rest[-1].end),
        f'Write use "{name}".',
        fix=(Span(path, rest[0].start, rest[-1].end), f'"{name}"', f'Write "{name}"'),
    )


def of_commas(line: Sequence[Lexeme], path: str) -> Flaw | None:
    """The flaw of a comma with nothing before or after it, if the line has one."""
    before = line[0]
    for number, one in enumerate(line):
        if one.type == "COMMA" and (number == 1 or before.type == "COMMA"):
            return Flaw(
                "FW001",
                "There is nothing before this comma.",
                Span(path, one.start, one.end),
                "Remove the comma, or write what is missing.",
                fix=(Span(path, one.start, one.end), "", "Remove the comma"),
            )
        before = one
    closing = line[-2] if len(line) > 1 and line[-1].type == "LBRACE" else line[-1]
    if closing.type == "COMMA":
        return Flaw(
            "FW001",
            "The list ends with a comma.",
            Span(path, closing.start, closing.end),
            "Remove the comma, or write what is missing.",
            fix=(Span(path, closing.start, closing.end), "", "Remove the comma"),
        )
    return None


def shown(text: str) -> str:
    """Text for a message: on one line, without control characters, at most 24 characters of it."""
    clean = "".join(one if one.isprintable() else " " for one in text[:60]).strip()
    return clean if len(clean) <= 24 and len(text) <= 60 else f"{clean[:24]}…"


def _source(line: Sequence[Lexeme], first: Lexeme) -> str:
    return " ".join(one.text for one in line if one.start >= first.start)
