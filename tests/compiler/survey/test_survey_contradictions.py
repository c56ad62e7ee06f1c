"""Readings that can't all be true, as a job in millimetres and one in inches reports them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from compiler.reading import mended, read_text, under

from flatwise.core.finding import Finding
from flatwise.pipeline import Front, work_out
from flatwise.survey import survey

PLACES = "front_left front front_right left centre right back_left back back_right".split()  # noqa: SIM905
#: the panel of each job, its glue line and its unit
MM = "size 900mm x 500mm x 32mm; glue_lines y 125mm, 250mm, 375mm"
IN = "size 36in x 20in x 1.25in; glue_lines y 5in, 10in, 15in"


def job(stock: str, block: str) -> str:
    return f"job demo from plain_top {{ stock {{ {stock} }}; survey {{ {block} }} }}"


def surveyed(front: Front) -> list[Finding]:
    assert not front.findings
    return list(survey(front.works[0])[1])


def thick(value: float, unit: str, beyond: float = 0.0) -> str:
    """Thickness readings at all nine places; those in the middle and at the back differ by `beyond`."""
    values = [f"{place} {value + beyond * (k > 2):g}{unit}" for k, place in enumerate(PLACES)]
    return f"thickness {', '.join(values)}"


@pytest.mark.parametrize("way", ["", " lower"])
@pytest.mark.parametrize(
    ("stock", "even", "rest", "line"),
    [
        (MM, thick(32.0, "mm"), "within 0.05mm; step {}0.3mm{} at y 250mm", "0.3mm at y 250mm"),
        (IN, thick(1.25, "in"), "within 0.002in; step {}0.012in{} at y 10in", "0.012in at y 10in"),
    ],
)
def test_a_step_of_the_top_alone_that_equal_thicknesses_contradict(
    shop: Path, stock: str, even: str, rest: str, line: str, way: str
) -> None:
    front = read_text(shop, job(stock, f"{even}; {rest.format('', way)}"))
    (finding,) = surveyed(front)
    assert finding.code == "FW202" and under(front, finding) == line.split()[0]
    assert f"only the top steps {'down' if way else 'up'} by {line}, but" in finding.message
    assert finding.message.endswith("to 0.1mm." if stock is MM else "to 0.004in.")
    assert f"`step through {line.split()[0]}`" in finding.help
    # the fix makes it a step of both faces, with which the readings agree
    text = mended(front, finding)
    assert f"; {rest.format('through ', way)} }}" in text
    assert surveyed(read_text(shop, text)) == []


@pytest.mark.parametrize(
    "block",
    [
        # the readings beyond the line include the step
        f"{thick(32.0, 'mm', 0.3)}; step 0.3mm at y 250mm",
        f"{thick(32.0, 'mm', -0.3)}; step 0.3mm lower at y 250mm",
        f"{thick(32.0, 'mm', -0.3)}; step under 0.3mm at y 250mm",
        # as small a step as two readings can hide
        f"{thick(32.0, 'mm')}; step 0.1mm at y 250mm",
        f"{thick(32.0, 'mm', 0.1)}; step 0.2mm at y 250mm",
        # no reading beyond the line
        "thickness front_left 32mm, front 32mm, front_right 32mm; step 0.3mm at y 250mm",
        # a taper of 0.3 mm makes up for the step at the back; the readings in the middle show it
        "thickness front_left 32mm, front_right 32mm, left 32.15mm, right 32.15mm, back_left 32mm, back_right 32mm;"
        " step 0.3mm at y 250mm",
    ],
)
def test_a_step_that_the_thicknesses_allow(shop: Path, block: str) -> None:
    found = surveyed(read_text(shop, job(MM, f"{block}; within 0.05mm")))
    assert "FW202" not in [one.code for one in found]


def test_one_step_of_two_is_contradicted(shop: Path) -> None:
    more = "within 0.05mm; step 0.3mm at y 250mm; step 0.4mm at y 375mm"
    front = read_text(shop, job(MM, f"{thick(32.0, 'mm', 0.3)}; {more}"))
    (finding,) = surveyed(front)
    assert finding.code == "FW202" and under(front, finding) == "0.4mm"


def test_a_height_from_a_recipe_has_no_fix_there(shop: Path) -> None:
    text = f"""use "../shared/shop.flat"
    recipe stepped {{
        takes rise
        machine bench_router; standard solid_tops
        stock {{ {MM}; wood ash; grain along x }}
        survey {{ {thick(32.0, "mm")}; step rise at y 250mm }}
        hold {{
            dog low_dog left at 25%, 75%; dog low_dog front at 15%, 85%
            clamp side_cam right at 50%; clamp side_cam back at 20%, 80%
        }}
        zero {{ corner front_left at 120mm, 120mm; z top }}
        cut {{ cutter fly_64 }}
        faces {{ first until clean }}
    }}
    """
    front = read_text(shop, text + "job demo from stepped { rise 0.5mm }")
    (finding,) = (one for one in surveyed(front) if one.code == "FW202")
    assert finding.fix is None and under(front, finding) == "0.5mm"


GAPS_MM = f"{thick(32.0, 'mm')}; gap back_right 0.457mm, front 0mm, back 0.1mm, left 0mm, right 0mm; within 0.05mm"
GAPS_IN = f"{thick(1.25, 'in')}; gap back_right 0.018in, front 0in, back 0.004in, left 0in, right 0in; within 0.002in"


@pytest.mark.parametrize(
    ("stock", "block", "said"),
    [
        (MM, f"{GAPS_MM}; twist 1.9mm", ("twist 1.9mm,", "can press out at most 1.1mm of it", "0.05mm")),
        (IN, f"{GAPS_IN}; twist 0.09in", ("twist 0.09in,", "can press out at most 0.048in of it", "0.002in")),
        # a word in the other unit is shown in the job's
        (IN, f"{GAPS_IN}; twist 2.54mm other way", ("twist 0.1in other way,", "only flattens a shape", "0.002in")),
        (IN, f"{GAPS_IN}; twist 0mm", ("twist 0in,", "only flattens a shape", "0.002in")),
        (IN, f"{GAPS_IN}; cup 0.1in crown", ("cup 0.1in crown,", "the panel's weight ", "0.002in")),
    ],
)
def test_a_word_that_readings_contradict_is_shown_beside_them_in_the_jobs_unit(
    shop: Path, stock: str, block: str, said: tuple[str, str, str]
) -> None:
    front = read_text(shop, job(stock, block))
    (finding,) = (one for one in work_out(front.works[0])[1] if one.code == "FW202")
    assert f"The survey says {said[0]} but the readings show {said[0].split()[0]} " in finding.message
    end = f", and the uncertainty of each reading is {said[2]}."
    assert said[1] in finding.message and finding.message.endswith(end)
    other = "in" if stock is MM else "mm"
    assert f"{other} " not in finding.message and f"{other};" not in finding.message


def test_two_figures_that_round_alike_get_more_digits(shop: Path) -> None:
    rest = "gap back_right 0.0181in, back 0.0045in, front 0in, left 0in, right 0in; within 0.00001in; twist 0.0178in"
    front = read_text(shop, job(IN, f"{thick(1.25, 'in')}; {rest}"))
    found = [one.message for one in work_out(front.works[0])[1] if one.code == "FW202"]
    assert any("twist 0.0178in, but the readings show twist 0.0181in" in one for one in found), found


def table(height: Callable[[float, float], object], *more: str, unit: str = "mm") -> str:
    """A file of 3 × 3 points over the whole panel, and more rows."""
    length, width = (900, 500) if unit == "mm" else (36, 20)
    shares = (0.0, 0.5, 1.0)
    rows = [f"{u * length},{v * width},{height(u, v)}" for v in shares for u in shares]
    return "\n".join((f"x {unit},y {unit},z {unit}", *rows, *more, ""))


FROM_BED = "Heights count from the bed, in the unit that the file's first line gives."


@pytest.mark.parametrize(
    ("points", "message", "help_"),
    [
        # z in inches under a header of millimetres: 24 mm are 0.945 in
        (table(lambda u, v: 0.945 + 0.01 * u), "The height of 0.945mm at (0mm, 0mm)", FROM_BED),
        (table(lambda u, v: 0.4 * u - 0.2 * v), "The height of -0.2mm at (0mm, 500mm)", FROM_BED),
        (table(lambda u, v: -24 - u), "The height of -25mm at (900mm, 0mm)", "Check the file's column `z`"),
        (table(lambda u, v: 240), "The height of 240mm at (0mm, 0mm)", "Check the file's column `z`"),
        (table(lambda u, v: 1e300 if u * v == 1 else 24), "The height of 1e+300mm at (900mm, 500mm)", "Check"),
        (table(lambda u, v: 24, "900,500,24.11"), "two heights at (900mm, 500mm), 24mm and 24.11mm;", "Probe this"),
    ],
)
def test_a_probed_height_that_no_such_panel_has(shop: Path, points: str, message: str, help_: str) -> None:
    (shop / "jobs" / "top.csv").write_text(points)
    size = "size 900mm x 500mm x 24mm"
    even = thick(24.0, "mm")
    front = read_text(shop, job(size, f'{even}; probe "top.csv"; within 0.05mm'))
    _, found, _ = work_out(front.works[0])
    (finding,) = (one for one in found if one.code == "FW202")
    assert message in finding.message and finding.help.startswith(help_), finding
    assert finding.severity == "error"


def test_probed_heights_in_an_inch_job_are_shown_in_inches(shop: Path) -> None:
    size = "size 36in x 20in x 1in"
    far = table(lambda u, v: 1e30 if u * v == 1 else 1, unit="in")
    twice = table(lambda u, v: 1, "36,20,1.00004", unit="in")
    for points, shown in ((far, "The height of 1e+30in at (36in, 20in)"), (twice, "(36in, 20in), 1in and 1.00004in;")):
        (shop / "jobs" / "top.csv").write_text(points)
        block = f'{thick(1.0, "in")}; probe "top.csv"; within 0.00001in'
        found = surveyed(read_text(shop, job(size, block)))
        assert any(shown in one.message for one in found if one.code == "FW202"), found


def test_a_thickness_in_a_file_that_no_panel_has(shop: Path) -> None:
    text = table(lambda u, v: 1e300 if u * v == 1 else 24).replace("z mm", "t mm")
    (shop / "jobs" / "t.csv").write_text(text)
    (finding, *_) = surveyed(read_text(shop, job("size 900mm x 500mm x 24mm", 'thickness "t.csv"')))
    assert finding.code == "FW202" and "The thickness of 1e+300mm at (900mm, 500mm)" in finding.message


@pytest.mark.parametrize(
    ("stock", "block", "shown"),
    [
        (MM, thick(32.0, "mm").replace("front 32mm", "front 32.5mm") + "; within 0.05mm",
         "more than in the shape that fits all readings, but readings within 0.05mm explain only 0.1mm of that; 0."),
        (IN, thick(1.25, "in").replace("front 1.25in", "front 1.26in") + "; within 0.002in",
         "is 0.0044in more than in the shape that fits all readings, but readings within 0.002in explain only 0.004in"),
    ],
)  # fmt: skip
def test_a_reading_that_does_not_fit_is_told_apart_from_what_explains_it(
    shop: Path, stock: str, block: str, shown: str
) -> None:
    found = surveyed(read_text(shop, job(stock, block)))
    (finding,) = (one for one in found if "fits all" in one.message)
    assert (finding.code, finding.severity) == ("FW205", "warning") and shown in finding.message, finding.message


def test_readings_after_a_face_that_miss_the_forecast_in_the_jobs_unit(shop: Path) -> None:
    text = job(IN, f"{thick(1.25, 'in')}; within 0.002in").removesuffix("}")
    text += "after first { thickness front_left 1.15in, centre 1.15in, back_right 1.15in; within 0.001in } }"
    found = work_out(read_text(shop, text).works[0])[1]
    (finding,) = (one for one in found if "than forecast" in one.message)
    assert "in thinner than forecast on average, but the forecast is known within 0.0" in finding.message
    assert "mm" not in finding.message
