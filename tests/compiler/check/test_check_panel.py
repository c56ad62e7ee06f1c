"""Messages of the findings about the panel as measured and as it lies: numbers, places, related places, severity."""

from __future__ import annotations

import re

import numpy as np
import pytest
from compiler.seat.test_seat import pushing
from compiler.shop import mm
from compiler.survey.surveys import file, free_work, survey

from flatwise.core.units import Quantity
from flatwise.findings import fw202_contradiction as fw202
from flatwise.findings import fw204_no_stack as fw204
from flatwise.findings import fw205_unseen as fw205
from flatwise.findings import fw206_bends as fw206
from flatwise.findings import fw207_own_weight as fw207
from flatwise.model import job as j
from flatwise.model.shop_rules import Rules
from flatwise.model.stages import Shim, Work
from flatwise.model.words import Place
from flatwise_grammar.nodes import Span

RULE = Span("shared/shop.flat", 5, 9)
SIZE = (1000.0, 600.0, 30.0)


def with_rule(rule: str, **rules: float | bool) -> Work:
    return free_work(SIZE, rules=Rules(spans={rule: RULE}, **rules))  # type: ignore[arg-type]


def test_a_missing_survey_is_an_error_where_the_standard_requires_one() -> None:
    error = fw205.no_survey(with_rule("survey", survey=True), 1.0)
    assert error.severity == "error" and "the shop's standard requires a survey" in error.message
    assert (error.rule, error.value, error.limit) == ("survey", 0.0, 1.0) and error.related[0].span == RULE
    assert "flat and 30mm thick, with an uncertainty of 1mm on each face" in error.message
    warning = fw205.no_survey(with_rule("survey"), 1.0)
    assert warning.severity == "warning" and "requires" not in warning.message
    assert (warning.rule, warning.value, warning.limit, warning.related) == ("", None, None, ())
    assert fw205.no_survey(free_work(SIZE, rules=Rules(survey=True)), 1.0).related == ()


@pytest.mark.parametrize(
    ("grain", "what", "shapes", "says", "way_out"),
    [
        ("x", "lower face", ("cup",), "is cupped across the grain", "Measure the gap at left and right"),
        ("y", "lower face", ("cup",), "is cupped across the grain", "Measure the gap at front and back"),
        ("x", "thickness", ("bow",), "is bowed along the grain", "Measure the thickness at front and back"),
        ("y", "thickness", ("bow",), "is bowed along the grain", "Measure the thickness at left and right"),
        ("x", "top face", ("twist",), "is twisted", "Probe the top face at all four corners"),
        (
            "x",
            "thickness",
            ("tilt_x", "tilt_y"),
            "tapers along its length or tapers along its width",
            "Measure the thickness at two places along the length and at two places along the width",
        ),
        (
            "x",
            "lower face",
            ("twist", "cup", "bow"),
            "is twisted, is cupped across the grain or is bowed along it",
            "Measure the gap at all four corners, at left and right and at front and back",
        ),
    ],
)
def test_the_reading_that_would_settle_a_shape(
    grain: str, what: str, shapes: tuple[str, ...], says: str, way_out: str
) -> None:
    block = survey({"centre": 30.0})
    of = free_work(SIZE, survey=block, grain=grain)
    one = fw205.unseen(of, block, what, shapes, 0.25)
    assert one.message == f"No reading shows whether the {what} {says}; 0.25mm is added to the uncertainty."
    assert one.help == f"{way_out}." and one.severity == "warning"


def test_readings_that_do_not_tell_cup_from_bow() -> None:
    block = survey({"centre": 30.0})
    one = fw205.unseen(free_work(SIZE, survey=block), block, "thickness", ("either",), 0.25)
    assert "can't tell cup across the grain from bow along it" in one.message and one.severity == "warning"
    assert one.help == "Measure the thickness at left and right as well, which tells the two apart."


def test_a_sag_is_at_a_named_place_or_a_point() -> None:
    of = with_rule("sag")
    pushed = fw206.pushed(of, 0.31, 0.2, (500.0, 300.0), 0.4)
    assert "sags by about 0.31mm at the centre, more than the 0.2mm allowed" in pushed.message
    assert pushed.help == "Put leaves of about 0.4mm under centre."
    assert pushed.related[0].span == RULE and (pushed.rule, pushed.value, pushed.limit) == ("sag", 0.31, 0.2)
    assert fw206.pushed(free_work(SIZE), 0.31, 0.2, (500.0, 300.0), 0.4).related == ()
    heavy = fw206.heavy(of, 0.31, 0.2, (500.0, 0.5))
    assert heavy.severity == "warning" and heavy.rule == "" and "at the middle of the front edge" in heavy.message
    assert heavy.help == "Put leaves under front as well."
    # one millimetre from a named place is a point
    for at in ((501.0, 300.0), (500.0, 301.0), (500.0, 299.0), (250.0, 300.0)):
        assert f"at ({at[0]:g}mm, {at[1]:g}mm)," in fw206.heavy(of, 0.31, 0.2, at).message


def test_a_bow_names_the_clamp_and_the_middle() -> None:
    one = fw206.bowed(with_rule("sag"), 0.31, 0.2, pushing("back", 900.0, 8.0), 15.25)
    assert "on the back edge push at 8mm, but the middle of the thickness is at 15.2mm" in one.message
    assert one.related[0].span == RULE and (one.rule, one.value, one.limit) == ("sag", 0.31, 0.2)


@pytest.mark.parametrize(
    ("shapes", "listed"),
    [
        ({"twist": 0.4}, "about 0.4mm of twist flat"),
        ({"twist": 0.4, "bow": 0.3}, "about 0.4mm of twist and 0.3mm of bow flat"),
        ({"twist": 0.4, "cup": 0.1, "bow": 0.3}, "about 0.4mm of twist, 0.1mm of cup and 0.3mm of bow flat"),
    ],
)
def test_shapes_that_the_weight_hides_are_listed(shapes: dict[str, float], listed: str) -> None:
    block = survey({"centre": 30.0})
    (one,) = fw207.hidden(free_work(SIZE, survey=block), block, shapes)
    assert listed in one.message and one.severity == "note"
    assert re.findall("twist|cup|bow", one.help.partition(" to the survey: ")[2]) == list(shapes)


def written_in(unit: str) -> Work:
    """A panel whose thickness is written in a unit."""
    panel = free_work(SIZE)
    size = j.PanelSize(length=mm(1000.0), width=mm(600.0), thickness=Quantity(30.0, unit))
    return panel._replace(job=panel.job.model_copy(update={"stock": panel.job.stock.model_copy(update={"size": size})}))


def test_figures_in_inches_are_told_apart_from_their_limits() -> None:
    """Each pair is the same to the tenth of a thou, which is 0.00254 mm."""
    panel, at = written_in("in"), (500.0, 300.0)
    gap = j.Reading(place=Place("front", 0.0, 0.0, RULE), value=Quantity(0.1003, "in"))
    shim = Shim("front", 500.0, 0.0, (0.1,), 0.1, 0.0504, True, RULE)
    messages = (
        fw202.below_bed(panel, survey({"centre": 30.0}).model_copy(update={"gap": (gap,)}), 0.1003, 0.1002).message,
        fw204.no_stack(panel, shim, 0.05).message.partition("leaves a gap")[2],
        fw206.pushed(panel, 0.2003, 0.2, at, 1.0).message,
        fw206.heavy(panel, 0.2003, 0.2, at).message,
    )
    for message in messages:
        figure, limit = (float(each) for each in re.findall(r"([\d.]+)in\b", message))
        assert figure > limit > 0.0, message


@pytest.mark.parametrize("unit", ["mm", "in"])
def test_nothing_is_said_of_a_hidden_shape_that_rounds_to_zero(unit: str) -> None:
    block, panel = survey({"centre": 30.0}), written_in(unit)
    (one,) = fw207.hidden(panel, block, {"twist": 0.004, "bow": 0.2})
    assert "about 0.2mm of bow flat" in one.message if unit == "mm" else "about 0.008in of bow flat" in one.message
    assert "twist" not in one.message + one.help
    assert fw207.hidden(panel, block, {"twist": 0.004}) == ()


def test_a_step_away_from_the_glue_lines() -> None:
    step = j.Step(face=None, height=mm(0.3), way=None, axis="y", line=mm(250.0))
    bare = fw202.no_such_line(free_work(SIZE), step)
    assert bare.message.endswith("at y 250mm, but the stock has no glue lines.") and bare.related == ()
    lines = free_work(SIZE, glue_lines=("y", (200.0, 400.0)))
    near = fw202.no_such_line(lines, step)
    assert near.message.endswith("but the stock's glue lines are at y 200mm, 400mm.") and len(near.related) == 1


def test_a_thickness_in_a_file_far_from_the_nominal() -> None:
    name, points = file([(10.0, 20.0, 40.0)])
    of = free_work(SIZE)._replace(points=points)
    one = fw202.far_in_file(of, j.ReadingFile(file=name), np.array([10.0, 20.0, 40.0]))
    assert 'The thickness of 40mm at (10mm, 20mm) in "points.csv" differs by more than a tenth from' in (one.message)
