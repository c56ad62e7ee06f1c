"""Lines marked with `/`: proven with them and, up to the measured height in the header, without them.

A program made by hand on a flat panel 30 mm high that may stand 0.3 mm higher: its first pass, at 30.1 mm, is air by
the forecast.  Touch-off has a paper of 0.05 mm, repeat 0.02 mm, and a lean of 0.02 in 200 mm under a radius of 32 mm,
so two touches are off by up to 2 × (0.01 + 0.02 + 0.0032) = 0.0664 mm.
"""

from __future__ import annotations

import re
from collections.abc import Callable

import pytest
from compiler.verify.verify_programs import HIGH, lines, machine, one, proof, setup, work

from flatwise.model.stages import Setup, Work

PLANES = (30.1, 29.6, 29.1)
Z = 30.1 - 0.0664 - HIGH
SAYS = "(block delete: off unless you measured. On only if Z shows at most {:.4f} where the face is highest, touched)"
Lines = list[str]


def marks() -> Work:
    return work(machine=machine(block_delete="yes"))


def face(bound: float = 0.3) -> Setup:
    return setup(planes=PLANES, bound=bound)


def first_pass(text: Lines) -> tuple[int, int]:
    """First line of the first pass, and one past its last."""
    start = next(i for i, line in enumerate(text) if line.startswith("G0 X"))
    return start, next(i for i in range(start + 1, len(text)) if text[i].startswith("G0 X"))


def marked(z: float = Z) -> Lines:
    text = lines(PLANES)
    start, end = first_pass(text)
    return [SAYS.format(z), *text[:start], *("/" + line for line in text[start:end]), *text[end:]]


def where(text: Lines, pattern: str, which: int = 0) -> int:
    return [i for i, line in enumerate(text) if re.search(pattern, line)][which]


def changed(pattern: str, new: str, which: int = 0) -> Callable[[Lines], Lines]:
    def spoil(text: Lines) -> Lines:
        i = where(text, pattern, which)
        return [*text[:i], *re.sub(pattern, new, text[i]).split("\n"), *text[i + 1 :]]

    return spoil


def test_a_marked_pass_of_air_is_proven_with_and_without() -> None:
    shown, found = proof(marked(), face(), marks())
    assert found == [] and shown.deepest_bite == 0.5
    # a slash may stand before a line number (NISTIR 6556, 3.3)
    assert proof([line.replace("/", "/N7 ") for line in marked()], face(), marks())[1] == []


def test_marks_need_a_shop_file_that_says_yes() -> None:
    _, found = proof(marked(), face(), work())
    one(found, "FW902", "is marked with `/`, but the shop file says `block_delete no`")


def test_the_header_says_when_the_switch_may_be_on() -> None:
    _, found = proof(marked()[1:], face(), marks())
    one(found, "FW902", "the header does not say when block delete may be on")


def test_a_height_in_the_header_that_lets_a_bite_be_too_deep() -> None:
    """The second pass may bite 0.5 mm: to 30.1 mm, less what two touches may be off."""
    assert proof(marked(Z + 0.0004), face(), marks())[1] == []
    for much, bites in ((0.05, "0.55mm"), (1.0, "0.7mm")):
        _, found = proof(marked(Z + much), face(), marks())
        one(found, "FW902", f"With block delete on, line 28 bites {bites}", "the limit there is 0.5mm")
        assert len(found) == 1


def next_marked(text: Lines) -> Lines:
    """The second pass is marked as well."""
    start, end = first_pass(text)
    return [*text[:start], *("/" + line for line in text[start:end]), *text[end:]]


def both(*spoils: Callable[[Lines], Lines]) -> Callable[[Lines], Lines]:
    def spoil(text: Lines) -> Lines:
        for each in spoils:
            text = each(text)
        return text

    return spoil


UP, NEXT = r"^/G0 Z39.95.*", r"^G0 (X)"
#: how the marks are spoilt, and a part of the message of the finding that they must get
SPOILT: list[tuple[str, Callable[[Lines], Lines], str]] = [
    ("the way up is not marked", changed(UP, "G0 Z39.95"), "end 30.1mm above the bed, at line 22; the lift height is"),
    ("a line of the next pass is marked", changed(NEXT, r"/G0 \1"), "takes X, Y or Z from lines marked with `/`"),
    ("the whole next pass is marked", next_marked, "goes 29.6mm above the bed, but by the forecast the top stands"),
    ("it begins low", both(changed(r"^G0 Z39.95", "G0 Z9."), changed(UP, "/G0 Z9.")), "begin 39.05mm above the bed"),
    ("it ends low", changed(UP, "/G0 Z20."), "end 50.05mm above the bed"),
    ("the feed is not said again", changed(r"^G1 (.*) F2000", r"G1 \1"), "takes F from lines marked with `/`"),
    (
        "the mode is not said again",
        both(changed(UP, "/G0 Z39.95\n/G1 X-30."), changed(NEXT, r"\1")),
        "takes G0 or G1 from lines marked with `/`",
    ),
    ("one axis is not said again", changed(r"^(G0 X\S+) Y.*", r"\1"), "takes X, Y or Z from lines marked with `/`"),
    ("rounded corners inside", changed(UP, "/G0 Z39.95\n/G64"), "takes G61 or G64 from lines marked with `/`"),
    ("relative inside", changed(UP, "/G0 Z39.95\n/G91"), "takes X, Y or Z from lines marked with `/`"),
    ("inches inside", changed(UP, "/G0 Z39.95\n/G20"), "takes X, Y or Z from lines marked with `/`"),
    ("all modes inside", changed(r"^G17", "/G17"), "moves before the program has set its"),
    ("the dwell is marked", changed(r"^G4", "/G4"), "holds P4; only moves may be marked"),
    ("the ending is marked", changed(r"^M30", "/M30"), "holds M30; only moves may be marked"),
]


@pytest.mark.parametrize(("spoil", "said"), [each[1:] for each in SPOILT], ids=[each[0] for each in SPOILT])
def test_spoilt_marks_are_found_out(spoil: Callable[[Lines], Lines], said: str) -> None:
    _, found = proof(spoil(marked()), face(), marks())
    assert any(said in each for each in found), found
