"""How a program is matched to its job and face, and programs that a controller could not read."""

from __future__ import annotations

import pytest
from compiler.verify.verify_programs import (
    lines,
    machine,
    one,
    plan,
    proof,
    setup,
    swapped,
    work,
)

from flatwise.core.units import Quantity
from flatwise.model.job import Cut
from flatwise.model.shop import Controller
from flatwise.verify import header, judge, verify
from flatwise_grammar.nodes import Span

# -- which program it is ----------------------------------------------------------------------------------------


def test_the_header_is_read() -> None:
    assert header(b"(flatwise program)\n(job tray)\n(face second)\nG0 Z1\n") == {"job": "tray", "face": "second"}
    assert header(b"G0 Z1\n") == {}


def test_a_program_of_another_job_or_face_is_refused() -> None:
    one(proof(swapped(lines(), "tray", "bench"))[1], "FW902", "is for job `bench`", "for job `tray`")
    one(proof(swapped(lines(), "face first", "face second"))[1], "FW902", "for the second face")


def test_judge_finds_the_face_by_header_then_by_name() -> None:
    made = setup()
    good = "\n".join(lines()).encode()
    shown, found = judge(good, "out/tray/edited.nc", plan(made))
    assert shown is not None and found == ()
    nameless = good.replace(b"(face first)\n", b"")
    assert judge(nameless, "out/tray/First.NC", plan(made))[0] is not None
    shown, found = judge(good.replace(b"face first", b"face second"), "first.nc", plan(made))
    assert shown is None and found[0].code == "FW902" and "second face" in found[0].message


def test_the_thickness_must_be_the_forecasts() -> None:
    made = setup()._replace(face="second")
    text = swapped(lines(), "face first", "face second")
    _, findings = verify("\n".join(text).encode(), plan(made)._replace(forecast=29.3), made)
    assert [one.code for one in findings] == ["FW902"] and "instead of the forecast 29.3mm" in findings[0].message


# -- what cannot be read ------------------------------------------------------------------------------------------


def test_a_line_that_cannot_be_read_stops_the_proof_there() -> None:
    text = swapped(lines(), "G1 X", "G2 X", which=2)
    made = setup()
    program = "\n".join(text).encode()
    shown, findings = verify(program, plan(made), made, "bench/hand.nc")
    assert [finding.code for finding in findings] == ["FW901"]
    span = findings[0].span
    assert span is not None and span.path == "bench/hand.nc" and program[span.start : span.end] == b"G2"
    at = program[: span.start].count(b"\n") + 1
    assert findings[0].message.startswith(f"Line {at}, column 1 of the program: G2")
    assert shown.program_moves == 0 and shown.left_above_plane == 1.0


def test_bytes_beyond_ascii_are_refused() -> None:
    made = setup()
    _, findings = verify("\n".join(lines()).replace("tray", "trä").encode("latin-1"), plan(made), made)
    assert findings[0].code == "FW901" and "byte 228" in findings[0].message


def test_related_places_are_shown_where_the_sources_have_them() -> None:
    depth = Quantity(0.5, "mm", "0.5mm", Span("jobs/tray.flat", 40, 45))
    of = work()
    cut = Cut(cutter=of.job.cut.cutter, depth=depth).placed("", depth.span, {"depth": depth.span})
    of = of._replace(job=of.job.model_copy(update={"cut": cut}))
    made = setup()
    _, findings = verify("\n".join(lines((29.4, 29.0))).encode(), plan(made, of), made)
    assert [(other.message, other.span) for other in findings[0].related] == [
        ("the deepest bite of a pass is set here", depth.span)
    ]


@pytest.mark.parametrize("number", ["9" * 200, "12345678.9"])
def test_numbers_beyond_any_machine_are_refused(number: str) -> None:
    _, found = proof(swapped(lines(), "G0 Z", f"G0 X{number} Z"))
    one(found, "FW901", "too large")


@pytest.mark.parametrize("junk", [b"", b"\x00\xff\n", b"%", b"%\n%\n", b"(", b"\r\n\r\n", b"N1\nM30", b"G" * 300])
def test_junk_never_raises(junk: bytes) -> None:
    made = setup()
    _, findings = verify(junk, plan(made), made)
    assert findings and all(finding.code in ("FW901", "FW904") for finding in findings)


def test_crlf_and_small_letters_are_the_same_program() -> None:
    made = setup()
    text = "\r\n".join(line.lower() if not line.startswith("(") else line for line in lines())
    assert verify(text.encode(), plan(made), made)[1] == ()


def test_inches() -> None:
    of = work(machine=machine(units="in"))
    assert Controller(units="in").places == 4
    text = []
    for line in lines():
        words = [
            f"{word[0]}{float(word[1:]) / 25.4:.5f}" if word[0] in "XYZF" and not line.startswith("(") else word
            for word in line.split(" ")
        ]
        text.append(" ".join(words).replace("G21", "G20"))
    assert proof(text, of=of)[1] == []
