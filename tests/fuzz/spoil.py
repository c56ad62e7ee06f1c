"""Spoil texts and bytes as typing errors, bad transfers and attackers do; one seed gives one result."""

from __future__ import annotations

import random
import re
from collections.abc import Sequence

#: Pieces for job texts: forms that parsers get wrong.
JOB_PIECES = (
    "{", "}", "}}}}", "{{{{", "(", ")", ",", ";", "\n", "\r\n", "\r", "\t", "#", '"', '\\"', "\\", "x", "+/-", "at",
    "to", "in", "up to", "from", "like", "because", "under", "0mm", "-1mm", "1/0in", "0/0mm", "1e9mm", "9999999999mm",
    "0.0000000001mm", "1 1/8in", "1-1/8in", "3/", "/4", "..", "1.2.3mm", "mm", "%", "0%", "1000%", "0rpm", "NaN",
    "inf", "é", "\u2028", "\ufeff", "\x00", "\x0c", "\u202e", "𝄞", "( 1mm, 2mm )", "(9mm,", "corners", "centre",
    "auto", "yes",
    "no", "bed", 'use "../shared/shop.flat"', 'use "../../../etc/passwd"', 'use "/etc/hostname"', 'use "."', 'use ""',
    'probe "../../x.csv"', 'probe "/dev/zero"', 'thickness "t.csv"', "job j from j {", "recipe r { takes r, r }",
    "wood ash { }", "stock bed { }", "after first { marks left }", "after second { }", 'waive rock because ""',
    "ER99", "G54", "M8", "until clean", "balanced", "take 0.1mm",
    "rough same", "corners within 1mm", "rows along grain, edge first", "block_delete yes", "walk dial_10 at 50 x 50",
    "unseen 0mm per m", "step through 1mm at y 1mm", "gap 0mm; from front_left at 0mm, 0mm", "aim natural",
    "stepover auto", "shoe 1mm across, 0mm above edge", "decimals 1", "hop 999mm", "line 40", "batch b { jobs a, b }",
    "2 x 0.1mm",
    "A" * 300, "9" * 400, "_", "__init__", "None", "true",
)  # fmt: skip
POINT_PIECES = (
    b",", b";", b"\t", b" ", b"\n", b"\r", b"#", b'"', b"nan", b"inf", b"-inf", b"1e400", b"1e-400", b"1_0", b"0x1p3",
    b"--1", b"+-1", b".", b"-", b"", b"x,y,z\n", b"z,y,x\n", b"x,y,t\n",
    b"x in,y mm,t thou\n", b"x mm y mm z mm\n", b"x mm;y mm;z mm\n",
    b"\xff\xfe", b"\xef\xbb\xbf",
    b"\x00", b"9" * 400,
    "٣".encode(), "−1".encode(), b"1,2,3,4\n", b"1,2\n", b"0,0,0\n" * 20, b"1j", b"1.5mm", b"=1+1", b"\xc3", b"\x1a",
)  # fmt: skip
PROGRAM_PIECES = (
    b"G0", b"G1", b"G2", b"G53", b"G91", b"G93", b"G20", b"G92", b"M3", b"M30", b"M6", b"F", b"S", b"X", b"Y", b"Z",
    b"N",
    b"P", b"-", b"+", b".", b"0", b"1e9", b"9" * 12, b"1e400", b"(", b")", b"((", b"()", b"%", b"/", b"#1=2", b"[1+2]",
    b"o100 call", b"\n", b"\r", b"\r\n", b"\xff", b"\x00", b";", b"*", b" " * 300, b"G0G1", b"X1X2", b"G53X0", b"Z-",
    b"X-.", b"\x1a",
    b"(face second)", b"(job x)", b"N99999", b"N100000", b"G59.3", b"G59.4", b"g0x+0. 12 34y 7",
)  # fmt: skip


def text(chance: random.Random, whole: str, others: Sequence[str]) -> str:
    """A job text with a few changes; lines may come from `others`."""
    for _ in range(chance.choice((1, 1, 2, 3, 6, 20))):
        whole = _one(chance, whole, others)
    return whole


def _one(chance: random.Random, whole: str, others: Sequence[str]) -> str:
    lines = whole.split("\n")
    i, k = chance.randrange(len(lines)), chance.randrange(len(lines))
    at = chance.randrange(len(whole) + 1)
    match chance.randrange(12):
        case 0:
            del lines[i]
        case 1:
            lines.insert(i, lines[k])
        case 2:
            lines[i], lines[k] = lines[k], lines[i]
        case 3:
            lines.insert(i, chance.choice(chance.choice(others).split("\n")))
        case 4:
            return whole[:at] + chance.choice(JOB_PIECES) + whole[at:]
        case 5:
            return whole[:at] + whole[at + chance.randrange(1, 12) :]
        case 6:
            return whole[:at]
        case 7:
            return whole[:at] + chr(chance.choice((chance.randrange(128), chance.randrange(0xD800)))) + whole[at + 1 :]
        case 8:
            lines[i] = _numbers(chance, lines[i])
        case 9:
            words = lines[i].split(" ")
            words[chance.randrange(len(words))] = chance.choice(JOB_PIECES)
            lines[i] = " ".join(words)
        case 10:
            start, stop = sorted((i, min(len(lines), i + chance.randrange(1, 15))))
            lines[k:k] = lines[start:stop] * chance.choice((1, 1, 2, 30))
        case _:
            return whole.replace(*(chance.choice(pair) for pair in _WORDS))
    return "\n".join(lines) or "\n"


#: words of the language, and words that may take their place
_WORDS = (
    ("mm", "clamp", "first", "left", "x", "until clean", "job", "{", "}", "standard", "leaf_set", "fly_64", "top"),
    ("in", "dog", "second", "right", "y", "balanced", "recipe", "{ {", "} }", "machine", "stock", "bed", "mm", "m", ""),
)


def _numbers(chance: random.Random, line: str) -> str:
    """The line with its numbers made larger, smaller, negative, zero or absurd."""

    def other(match: re.Match[str]) -> str:
        value = float(match[0])
        return chance.choice(
            (
                f"{value * 10:g}",
                f"{value / 10:.4f}",
                f"-{match[0]}",
                "0",
                f"{value + 1:g}",
                match[0] + "0" * 9,
                match[0],
            )
        )

    return re.sub(r"\d+(?:\.\d+)?", other, line)


def data(chance: random.Random, whole: bytes, pieces: Sequence[bytes]) -> bytes:
    """Bytes with a few changes."""
    for _ in range(chance.choice((1, 1, 2, 4, 12))):
        at = chance.randrange(len(whole) + 1)
        match chance.randrange(6):
            case 0 | 1:
                whole = whole[:at] + chance.choice(pieces) + whole[at + chance.choice((0, 0, 1, 5)) :]
            case 2:
                whole = whole[:at] + whole[at + chance.randrange(1, 40) :]
            case 3:
                whole = whole[:at] + bytes([chance.randrange(256)]) + whole[at + 1 :]
            case 4:
                stop = min(len(whole), at + chance.randrange(1, 200))
                whole = whole[:stop] + whole[at:stop] * chance.choice((1, 3, 40)) + whole[stop:]
            case _:
                whole = whole[:at] if chance.random() < 0.3 else whole
    return whole
