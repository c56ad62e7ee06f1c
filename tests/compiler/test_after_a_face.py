"""Jobs that go on from what was found after a face: the programs that are written, their heights, and FW602."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from compiler.pages import page
from compiler.reading import read_text, under

from flatwise.core.finding import Finding
from flatwise.model.built import Built
from flatwise.pipeline import write_programs
from flatwise.report.sheet import sheet
from flatwise.report.summary import summary
from flatwise.verify import verify

TOP, BED = "z top by paper 0.05mm", "z bed"


def built(
    shop: Path, after: str, zero: str = TOP, cut: str = "finish 0.2mm", more: str = ""
) -> tuple[Built, list[str]]:
    """A top of ash to 29 mm +/- 0.5 mm, built, and what each finding underlines."""
    front = read_text(
        shop,
        f"job demo from plain_top {{\n zero {{ {zero} }}\n cut {{ {cut} }}\n"
        f" faces {{ second to 29mm +/- 0.5mm }}\n {after}\n {more}\n}}\n",
    )
    (work,) = front.works
    done = write_programs(work)
    assert not [each for each in front.findings if each.severity == "error"], front.findings
    return done, [under(front, each) for each in done.findings if each.code == "FW602"]


def thin(done: Built) -> list[Finding]:
    return [each for each in done.findings if each.code == "FW602"]


def cutting_heights(program: bytes) -> list[float]:
    """Every Z that a G1 goes down to, in the order of the program (mm), read with no help of the compiler."""
    motion, found = "", []
    for line in re.sub(r"\(.*?\)", "", program.decode()).splitlines():
        motion = (re.findall(r"\bG0?([01])\b", line) or [motion])[-1]
        found += [float(z) for z in re.findall(r"Z(-?[0-9.]+)", line) if motion == "1"]
    return found


@pytest.mark.parametrize("zero", [TOP, BED])
@pytest.mark.parametrize(("cut", "skim"), [("finish 0.2mm", 0.2), ("depth 0.6mm; finish 0.6mm", 0.6)])
def test_marks_left_give_one_pass_below_the_plane_for_the_zero_that_is_still_set(
    shop: Path, zero: str, cut: str, skim: float
) -> None:
    before, _ = built(shop, "", zero, cut)
    after, _ = built(shop, "after first { marks left }", zero, cut)
    assert before.plan is not None and after.plan is not None and sorted(after.programs) == ["first.nc"]
    plane = cutting_heights(before.programs["first.nc"])[-1]
    # one height in all feed moves: no pass in the air before it, and the zero is that of the first program
    assert {round(z, 6) for z in cutting_heights(after.programs["first.nc"])} == {round(plane - skim, 6)}
    (setup,) = after.plan.setups
    assert [one.depth for one in setup.passes] == [pytest.approx(skim)] and setup.again
    assert summary(after)["setups"][0]["again"] is True
    # touched with the paper, the cutter stands that much above the cut face
    sheet_words = " ".join(" ".join(page(sheet(after)).words).split())
    paper = 0.05 if zero == TOP else 0.0
    (lost,) = re.findall(r"Set Z (-?[0-9.]+) mm there", sheet_words)
    assert float(lost) == pytest.approx(plane + paper) and "Keep the Z that is still set." in sheet_words
    assert "Stop if the difference" not in sheet_words
    assert "in place of marks left and build again" in sheet_words
    program = after.programs["first.nc"]
    assert f"set Z {lost} there)" in program.decode()
    # a program edited by hand may not say another height
    spoiled = program.replace(f"set Z {lost} there".encode(), f"set Z {float(lost) - 0.1:.3f} there".encode())
    (wrong,) = verify(spoiled, after.plan, setup)[1]
    assert wrong.code == "FW902" and "Z to set" in wrong.message


def test_marks_left_on_the_second_face_are_cut_in_the_same_way(shop: Path) -> None:
    before, _ = built(shop, "")
    after, _ = built(shop, "after second { marks left }")
    assert sorted(after.programs) == ["second.nc"]
    plane = cutting_heights(before.programs["second.nc"])[-1]
    assert {round(z, 6) for z in cutting_heights(after.programs["second.nc"])} == {round(plane - 0.2, 6)}


FIVE = "front_left {0}mm, front_right {0}mm, back_left {0}mm, back_right {0}mm"


@pytest.mark.parametrize("zero", [TOP, BED])
def test_a_panel_that_is_still_too_thick_is_cut_again_from_what_was_measured(shop: Path, zero: str) -> None:
    done, _ = built(shop, f"after second {{ thickness centre 29.8mm, {FIVE.format(29.8)} }}", zero)
    assert sorted(done.programs) == ["second.nc"] and done.plan is not None
    (setup,) = done.plan.setups
    assert setup.again and setup.top.mean == pytest.approx(29.8) and setup.plane == 29.0
    words = " ".join(" ".join(page(sheet(done)).words).split())
    # with the zero of the cut before, a program to 29 mm would cut nothing: Z is set on the face itself
    if zero == BED:
        assert "Set Z anew on the cut face" in words and "Set Z 29.8 mm there" in words
    else:
        assert "Set Z 0 there" in words
    assert cutting_heights(done.programs["second.nc"])[-1] == pytest.approx(29.0 - setup.touch.zero)


@pytest.mark.parametrize(
    ("face", "readings", "thinnest", "words"),
    [
        ("first", "centre 29.9mm, back_right 28.4mm", "back_right 28.4mm", "28.4mm is left at back right, 0.1mm less"),
        ("second", "centre 28.45mm, left 29.6mm", "centre 28.45mm", "28.45mm is left at centre, 0.05mm less"),
        ("second", "(100mm, 50mm) 28.49mm", "(100mm, 50mm) 28.49mm", "is left at (100mm, 50mm), 0.01mm less"),
    ],
)
@pytest.mark.parametrize("more", ["", 'waive leave because "an offcut"'])
def test_a_reading_below_the_tolerance_is_an_error_that_no_waiver_lifts(
    shop: Path, face: str, readings: str, thinnest: str, words: str, more: str
) -> None:
    done, spans = built(shop, f"after {face} {{ thickness {readings} }}", more=more)
    (found,) = thin(done)
    assert found.severity == "error" and spans == [thinnest]
    assert found.message.startswith(f"After the {face} face only ") and words in found.message
    assert found.message.endswith(" than 29mm +/- 0.5mm allows.")
    assert not done.programs and done.plan is not None
    assert not any("within the tolerance" in note for note in done.plan.notes)


@pytest.mark.parametrize("reading", ["28.5mm", "29mm", "29.5mm"])
def test_readings_within_the_tolerance_leave_nothing_to_cut(shop: Path, reading: str) -> None:
    done, _ = built(shop, f"after second {{ thickness centre {reading} }}")
    assert done.programs == {} and thin(done) == [] and done.plan is not None
    assert any("within the tolerance" in note for note in done.plan.notes)


def test_the_sheet_asks_for_five_places_that_are_not_on_one_line(shop: Path) -> None:
    done, _ = built(shop, "")
    text = sheet(done)
    (line,) = re.findall(r"after first \{ thickness (.*?) \}", text)
    places = [part.split()[0] for part in line.split(", ")]
    assert places == ["front_left", "front_right", "centre", "back_left", "back_right"]
