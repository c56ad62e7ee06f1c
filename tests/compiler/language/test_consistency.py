"""Lines that must go together, each at its limit: just allowed, and just not."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from compiler.reading import USES, mended, read_text, under

from flatwise.core.finding import Finding
from flatwise.language.consistency import MOST_HOLDERS, MOST_PLACES


def read(shop: Path, text: str) -> list[Finding]:
    return list(read_text(shop, text).findings)


@pytest.mark.parametrize(
    ("just", "over", "says"),
    [
        (
            "cutter c like fly_64 { depth up to 9mm }",
            "cutter c like fly_64 { depth up to 9.01mm }",
            "more than its `blade` of 9mm",
        ),
        ("cutter c like fly_64 { blade 38mm }", "cutter c like fly_64 { blade 38.1mm }", "its `stick_out` of 38mm"),
        ("clamp c like side_cam { pushes at 13mm }", "clamp c like side_cam { pushes at 13.1mm }", "`height` of 13mm"),
        (
            "machine m like bench_router { tram 199.9mm in 200mm }",
            "machine m like bench_router { tram 200mm in 200mm }",
            "would lean 200mm in 200mm, half over",
        ),
    ],
)
def test_the_shop(shop: Path, just: str, over: str, says: str) -> None:
    assert read(shop, just) == []
    (one,) = read(shop, over)
    assert one.code == "FW107" and says in one.message and one.value is not None and one.limit is not None
    assert one.value >= one.limit


JOB = "job demo from plain_top { %s }"
USE_MORE = 'use "../shared/more.flat"\n'
COARSE = "machine coarse like bench_router { controller { units %s; decimals %d; extraction M8 } }\n"


@pytest.mark.parametrize(
    ("units", "enough", "cut", "tolerance", "standard", "what"),
    [
        # an inch is 25.4 mm exactly: steps of 2.54, 0.254, 0.0254 and 0.00254 mm
        ("in", 3, "depth 0.5mm", "", "", "the job's `depth`, 0.5mm"),
        ("in", 4, "depth 0.5mm; finish 0.2mm", "", "", "the job's `finish`, 0.2mm"),
        ("mm", 2, "depth 0.5mm", "", "", "the job's `depth`, 0.5mm"),
        ("mm", 3, "depth 0.5mm; finish 0.01mm", "", "", "the job's `finish`, 0.01mm"),
        ("in", 4, "depth 0.5mm", "+/- 0.2mm", "", "the tolerance, 0.2mm"),
        ("in", 2, "cutter deep", "", "", "the cutter's `depth`, 3mm"),
        ("in", 3, "cutter deep", "", "depth at most 0.6mm", "the standard's `depth`, 0.6mm"),
    ],
)
def test_the_last_digit_is_at_most_a_tenth_of_each_depth(
    shop: Path, units: str, enough: int, cut: str, tolerance: str, standard: str, what: str
) -> None:
    sample = shop / "shared" / "sample.flat"
    text = sample.read_text().replace("depth 0.5mm; finish 0.2mm", cut).replace("+/- 0.5mm", tolerance)
    assert cut in text and "+/- 0.5mm" not in text
    sample.write_text(text.replace("cutter fly_64; ", "" if "cutter" in cut else "cutter fly_64; "))
    more = f"standard free {{ {standard} }}\ncutter deep like fly_64 {{ depth up to 3mm }}\n"
    (shop / "shared" / "more.flat").write_text('use "shop.flat"\n' + more)
    sample.write_text(sample.read_text().replace('use "shop.flat"', 'use "shop.flat"\nuse "more.flat"'))
    job = JOB % "machine coarse; standard free"
    front = read_text(shop, USES + USE_MORE + COARSE % (units, enough - 1) + job)
    (one,) = front.findings
    assert one.code == "FW107" and one.span is not None and one.value is not None and one.limit is not None
    assert what in one.message and one.value > one.limit and one.help == f"Write `decimals {enough}` in its controller."
    assert under(front, one) == str(enough - 1)
    assert read(shop, mended(front, one)) == []


@pytest.mark.parametrize(
    ("says", "limit"),
    [
        ("within 0mm", "must be more than 0mm"),
        ("within 5.1mm", "must be at most 5mm"),
        ("within 5mm", "more than a quarter of the diameter of cutter `narrow`, 19mm"),
        ("within 4.75mm", ""),
        ("exact", ""),
    ],
)
def test_a_machine_rounds_corners_by_at_most_5mm_and_a_quarter_of_the_cutter(shop: Path, says: str, limit: str) -> None:
    rounds = f"machine rounds like bench_router {{ controller {{ corners {says}; extraction M8 }} }}\n"
    narrow = "cutter narrow like fly_64 { diameter 19mm }\n"
    front = read_text(shop, USES + rounds + narrow + JOB % "machine rounds; cut { cutter narrow }")
    assert [each.code for each in front.findings] == ["FW107"] * bool(limit)
    assert all(limit in each.message and under(front, each) == says.split()[1] for each in front.findings)


def test_digits_that_no_controller_has_and_digits_by_default(shop: Path) -> None:
    (one,) = read(shop, JOB % "cut { finish 0.000001mm }")
    assert one.help == "Make the job's `finish` larger." and one.fix is None
    path = shop / "shared" / "shop.flat"
    path.write_text(path.read_text().replace("units      mm", "units      in").replace("decimals   3", ""))
    (one,) = read(shop, JOB % "cut { finish 0.02mm }")
    assert one.help == "Write `decimals 5` in its controller." and one.fix is None
    assert "With 4 decimals, machine `bench_router` moves in steps of 0.0001in (0.0025mm)" in one.message


@pytest.mark.parametrize(
    ("just", "over", "code"),
    [
        # a board of 900 x 500 mm
        ("stock { glue_lines y 0.1mm, 499.9mm }", "stock { glue_lines y 0mm }", "FW107"),
        ("stock { glue_lines x 899.9mm }", "stock { glue_lines y 500mm }", "FW107"),
        ("stock { glue_lines x 500mm }", "stock { glue_lines x 900mm }", "FW107"),
        ("survey { gap (900mm, 500mm) 0mm }", "survey { gap (900.1mm, 500mm) 0mm }", "FW201"),
        ("survey { thickness (0mm, 0mm) 32mm }", "survey { thickness (0mm, 500.1mm) 32mm }", "FW201"),
        (
            "supports { shims leaf_set under (0mm, 500mm) }",
            "supports { shims leaf_set under (-0.1mm, 500mm) }",
            "FW201",
        ),
        (
            "supports { shim 0.3mm under (900mm, 0mm) }",
            "supports { shim 0.3mm under (900mm, -0.1mm) }",
            "FW201",
        ),
        (
            "after first { thickness (900mm, 0mm) 30mm }",
            "after first { thickness (901mm, 0mm) 30mm }",
            "FW201",
        ),
        ("hold { dog low_dog left at 500mm }", "hold { dog low_dog left at 500.1mm }", "FW107"),
        ("hold { clamp side_cam back at 900mm }", "hold { clamp side_cam back at 900.1mm }", "FW107"),
        ("hold { dog low_dog front at 900mm }", "hold { dog low_dog right at 501mm }", "FW107"),
        ("after first { thickness centre 0.1mm }", "after first { thickness centre 0mm }", "FW107"),
        # readings of one place within 0.05 mm each: further apart they contradict, which the survey tells
        (
            "survey { thickness centre 31.9mm; thickness centre 32.01mm }",
            "survey { thickness centre 31.9mm; thickness centre 32mm }",
            "FW103",
        ),
        ("survey { gap left 0mm; gap right 0mm }", "survey { gap left 0mm; gap left 0.1mm }", "FW103"),
        (
            "survey { thickness (10mm, 20mm) 32mm; thickness (20mm, 10mm) 32mm }",
            "survey { thickness (10mm, 20mm) 32mm; thickness (10mm, 20mm) 32mm }",
            "FW103",
        ),
        (
            "after first { thickness centre 30mm; thickness left 30mm }",
            "after first { thickness centre 30mm; thickness centre 30.1mm }",
            "FW103",
        ),
        (
            "supports { shim 0.3mm under front; shim 0.3mm under back }",
            "supports { shim 0.3mm under front; shim 0.5mm under front }",
            "FW103",
        ),
        # faces
        ("faces { first balanced; second to 29mm }", "faces { first balanced; second until clean }", "FW104"),
        ("faces { first take 1mm; second to 29mm }", "faces { first until clean; second balanced }", "FW104"),
        ('waive depth because "an offcut"; waive leave because "an offcut"', 'waive depth because " "', "FW702"),
        (
            'waive ridge because "an offcut"',
            'waive ridge because "an offcut"; waive ridge because "again"',
            "FW103",
        ),
        ("after first { marks left }", "after first { }", "FW105"),
    ],
)
def test_the_job(shop: Path, just: str, over: str, code: str) -> None:
    assert [one.code for one in read(shop, JOB % just)] == []
    found = read(shop, JOB % over)
    assert [one.code for one in found] == [code], found


BARE = """job demo {
    machine bench_router
    stock { size 900mm x 500mm x 32mm; wood ash; grain along x }
    hold { dog low_dog left at 50%%; clamp side_cam right at 50%% }
    zero { corner front_left at 120mm, 120mm; z top }
    cut { cutter fly_64 }
    %s
}
"""


@pytest.mark.parametrize(
    ("faces", "says"),
    [
        ("faces { first until clean }", ""),
        ("faces { first until clean; second to 29mm; flip over long_edge }", ""),
        ("faces { second to 29mm; flip over long_edge }\n after first { thickness centre 30mm }", ""),
        ("faces { }", "name neither `first` nor `second`"),
        ("faces { flip over long_edge }", "name neither `first` nor `second`"),
        ("faces { first until clean; second to 29mm }", "no `flip` says how the panel is turned over"),
        ("faces { second to 29mm; flip over long_edge }", "cuts the second face without the first"),
        (
            "faces { second to 29mm; flip over long_edge }\n after first { marks left }",
            "cuts the second face without the first",
        ),
        ("faces { first balanced }", "needs the thickness that remains, and there is no `second`"),
        (
            "faces { first balanced; second until clean; flip over long_edge }",
            "and `second` gives none",
        ),
        ("faces { first until clean }\n after first { thickness centre 30mm }", "leads to a cut of the second face"),
        ("faces { first until clean }\n after first { marks left }", ""),
        ("faces { first until clean }\n after second { thickness centre 30mm }", "leads to a cut of the second face"),
    ],
)
def test_faces_and_readings_after_them(shop: Path, faces: str, says: str) -> None:
    found = read(shop, BARE % faces)
    assert any(says in one.message for one in found) if says else found == []


BED = "job board { machine bench_router; %s }"
ON_BED = (
    "stock bed { size 1300mm x 1300mm x 18mm; wood mdf; grain along x }; "
    "zero { corner front_left at 10mm, 10mm; z top }; "
    "cut { cutter fly_64 }; faces { first take 0.5mm }"
)


@pytest.mark.parametrize(
    ("old", "new", "word"),
    [
        ("", "", ""),
        ("z top", "z bed", "z bed"),
        ("first take 0.5mm", "first until clean", "first until clean"),
        ("first take 0.5mm", "first to 17mm", "first to"),
        ("first take 0.5mm }", "first take 0.5mm; second to 17mm }", "second"),
        ("first take 0.5mm }", "first take 0.5mm; flip over long_edge }", "flip"),
        ("grain along x }", "grain along x; glue_lines y 100mm }", "glue_lines"),
        ("cut {", "hold { dog low_dog left at 50% }; cut {", "hold"),
        ("cut {", "survey { within 0.1mm }; cut {", "survey"),
        ("cut {", "supports { shims leaf_set under corners }; cut {", "supports"),
        ("cut {", 'waive depth because "a test"; cut {', "waive"),
        ("cut {", "after first { marks left }; cut {", "after first"),
    ],
)
def test_a_spoilboard(shop: Path, old: str, new: str, word: str) -> None:
    found = read(shop, (BED % ON_BED).replace(old, new, 1) if old else BED % ON_BED)
    told = [one.message for one in found if one.code == "FW101"]
    assert told == (
        [f"A job with `stock bed` takes no `{word}`: it skims the bed itself, and nothing lies on it."] * bool(word)
    )
    assert word or found == []


def test_the_codes_of_a_whole_job_are_those_of_its_parts(codes_of: Callable[[str], tuple[set[str], set[str]]]) -> None:
    errors, _ = codes_of(USES + JOB % "stock { glue_lines y 500mm }; hold { dog low_dog left at 501mm }")
    assert errors == {"FW107"}


@pytest.mark.parametrize(
    ("edge", "at", "clamp", "dog", "pushes"),
    [
        # a board of 900 x 500 mm; a clamp's foot is 70 mm along the edge and 32 mm out, a dog is 19 mm across
        ("left", "25%", (-32.0, 90.0, 0.0, 160.0), (-19.0, 115.5, 0.0, 134.5), (1.0, 0.0)),
        ("right", "100mm", (900.0, 65.0, 932.0, 135.0), (900.0, 90.5, 919.0, 109.5), (-1.0, 0.0)),
        ("front", "50%", (415.0, -32.0, 485.0, 0.0), (440.5, -19.0, 459.5, 0.0), (0.0, 1.0)),
        ("back", "10%", (55.0, 500.0, 125.0, 532.0), (80.5, 500.0, 99.5, 519.0), (0.0, -1.0)),
    ],
)
def test_holders_touch_every_edge_from_outside(
    shop: Path, edge: str, at: str, clamp: tuple[float, ...], dog: tuple[float, ...], pushes: tuple[float, float]
) -> None:
    hold = f"hold {{ dog low_dog {edge} at {at}; clamp side_cam {edge} at {at} }}"
    (work,) = read_text(shop, JOB % hold).works
    boxes = {one.kind: (one.x0, one.y0, one.x1, one.y1) for one in work.holders}
    assert boxes == {"clamp": clamp, "dog": dog}
    assert {one.pushes for one in work.holders} == {pushes} and {one.edge for one in work.holders} == {edge}


@pytest.mark.parametrize(
    ("body", "code", "says"),
    [
        ("cut { feed 5 }", "FW104", "Write `5mm/min`, `5m/min` or `5in/min`."),
        ("cut { speed 14000 }", "FW104", "Write `14000rpm`."),
        ("cut { depth 1/64 }", "FW104", "Write `1/64in` or `1/64mm`."),
        ("cut { depth 0.4 }", "FW104", "Write `0.4mm` or `0.4in`."),
        ("hold { dog low_dog left at back }", "FW104", "Write it like"),
        ("hold { dog low_dog left at (1mm, 2mm) }", "FW104", "Write it like"),
    ],
)
def test_what_a_value_lacks(shop: Path, body: str, code: str, says: str) -> None:
    (one,) = read(shop, JOB % body)
    assert one.code == code and says in one.help


def test_no_more_places_for_leaves_than_can_be_tried_together(shop: Path) -> None:
    def text(count: int) -> str:
        places = ", ".join(f"({10 + 20 * k}mm, 20mm)" for k in range(count))
        return JOB % f"supports {{ shims leaf_set under {places} }}"

    assert not [finding for finding in read(shop, text(MOST_PLACES)) if finding.code == "FW107"]
    (one,) = (finding for finding in read(shop, text(MOST_PLACES + 1)) if finding.code == "FW107")
    assert "names 31 places for leaves; 30 are the most" in one.message


def test_no_more_holders_than_can_be_compared(shop: Path) -> None:
    def codes(count: int) -> list[str]:
        places = ", ".join(f"{k % 90 + 1}%" for k in range(count - 1))
        found = read(shop, JOB % f"hold {{ dog low_dog left at {places}; clamp side_cam right at 50% }}")
        return [finding.message for finding in found if finding.code == "FW107"]

    assert codes(MOST_HOLDERS) == []
    assert codes(MOST_HOLDERS + 1) == ["Job `demo` has 101 dogs and clamps; 100 are the most for one panel."]
