"""Which readings narrow the forecast most: the order is held against trying them one by one."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest
from example_jobs import ROOT

from flatwise.core.units import NOWHERE, Quantity
from flatwise.model.job import Reading, Survey
from flatwise.model.stages import Work
from flatwise.model.words import PLACES, Place
from flatwise.pipeline import read_works
from flatwise.survey import survey
from flatwise.survey.next_readings import next_readings


def bare() -> Work:
    """The sample panel before anybody has measured it."""
    (work,) = read_works([ROOT / "jobs" / "reading_table.flat"]).works
    return work._replace(job=work.job.model_copy(update={"survey": None}))


def with_readings(work: Work, given: list[tuple[str, str]]) -> Work:
    values = {"thickness": work.thickness, "gap": 0.0}
    made: dict[str, list[Reading]] = {"thickness": [], "gap": []}
    for word, name in given:
        made[word].append(Reading(place=Place(name, 0.0, 0.0, NOWHERE), value=Quantity(values[word], "mm")))
    block = Survey(thickness=tuple(made["thickness"]), gap=tuple(made["gap"]))
    return work._replace(job=work.job.model_copy(update={"survey": block}))


def test_the_bounds_are_those_of_a_survey_with_these_readings() -> None:
    work = bare()
    found = next_readings(work)
    for count in (1, 2, len(found)):
        panel = survey(with_readings(work, [(each.word, each.place) for each in found[:count]]))[0]
        assert (found[count - 1].top, found[count - 1].thickness) == pytest.approx(
            (panel.bound_upper.highest, panel.bound_thickness.highest), abs=1e-9
        )
    # together they narrow both far below what is assumed without a survey
    assert found[-1].top < 0.5 and found[-1].thickness < 0.2


def test_no_other_first_gap_or_pair_of_gaps_narrows_more() -> None:
    work = bare()
    edges = ("front", "left", "right", "back")
    found = [each for each in next_readings(work) if each.word == "gap"]

    def top(names: tuple[str, ...]) -> float:
        return survey(with_readings(work, [("gap", name) for name in names]))[0].bound_upper.highest

    assert found[0].top == pytest.approx(min(top((name,)) for name in edges), abs=1e-3)
    assert found[1].top == pytest.approx(min(map(top, combinations(edges, 2))), abs=1e-3)


def test_beside_a_walk_only_the_thickness_is_worth_reading() -> None:
    work = bare()
    points = np.array([(x, y, 31.5) for y in (15.0, 305.0, 595.0) for x in (15.0, 287.5, 560.0, 832.5, 1105.0)])
    found = next_readings(work, points)
    # the top is the dial's; the gaps would be a second way to the lower face
    assert {each.word for each in found} == {"thickness"} and {each.place for each in found} == set(PLACES)
    assert found[0].top == pytest.approx(found[-1].top)


def test_a_measured_panel_needs_no_further_reading() -> None:
    (work,) = read_works([ROOT / "jobs" / "reading_table.flat"]).works
    assert next_readings(work) == ()
