"""Bounds added up by hand: reading errors, residuals, and `unseen` × the side for each undecided shape."""

from __future__ import annotations

import time
from typing import Any

import numpy as np
import pytest
from compiler.shop import mm
from compiler.survey.surveys import arch, free_work, readings, step, survey, twist
from compiler.survey.test_survey import CORNERS, EVEN, SIZE, L, T, W, codes, forecast, probe

from flatwise.core.surface import Surface
from flatwise.model import job as j
from flatwise.model.shop_rules import Rules
from flatwise.model.stages import Bound
from flatwise.model.words import PLACES
from flatwise.survey import correct
from flatwise.survey.faces import merged_nodes, unseen_side, unseen_sum
from flatwise.survey.forms import Form, fit, term_table
from flatwise.survey.readings import contradictions

CORNERS_EVEN = dict.fromkeys(CORNERS, T)
FELT = dict.fromkeys(PLACES, 0.0)


@pytest.mark.parametrize(
    ("blocks", "bounds"),
    [
        # 0.05 mm a reading; 0.5 mm per m: a cup across 600 mm may hide 0.3, a bow along 1000 or a twist 0.5
        ({"survey": survey(EVEN, FELT)}, (0.05, 0.10, 0.05)),
        # corners alone show no arch in the thickness; the gap at the front shows the bow of the lower face
        ({"survey": survey(CORNERS_EVEN, {"front": 0.0})}, (0.35, 0.10 + 0.8, 0.05 + 0.8)),
        ({"survey": survey(CORNERS_EVEN, {"front": 0.0}), "grain": "y"}, (0.35, 0.10 + 0.8, 0.05 + 0.8)),
        ({"survey": survey(CORNERS_EVEN, {"left": 0.0})}, (0.55, 0.10 + 0.8, 0.05 + 0.8)),
        # one thickness leaves tilts over 1000 and 600 mm, twist, cup and bow undecided
        ({"survey": survey({"centre": T}, FELT)}, (0.05, 0.10 + 2.1, 0.05 + 2.1)),
        # without gaps the shape of the lower face is unknown, and there is no reading error in it
        ({"survey": survey(EVEN)}, (1.3, 0.05 + 1.3, 0.05)),
        # words are right to within one reading error
        ({"survey": survey(EVEN, twist=twist(0.5))}, (0.05 + 0.8, 0.10 + 0.8, 0.05)),
        (
            {"survey": survey(EVEN, twist=twist(0.5), cup=arch(0.3, "hollow"), bow=arch(0.3, "crown"))},
            (0.05, 0.10, 0.05),
        ),
        # without a thickness: the nominal one, known within 0.5 mm
        ({"survey": survey(None, FELT)}, (0.05, 0.55, 0.50)),
        ({"survey": survey(EVEN, FELT), "rules": Rules(unseen=0.002)}, (0.05, 0.10, 0.05)),
        ({"survey": survey(CORNERS_EVEN, FELT), "rules": Rules(unseen=0.002)}, (0.05, 0.10 + 3.2, 0.05 + 3.2)),
        # no survey: a millimetre for each face
        ({"survey": None}, (1.0, 1.0, 2.0)),
    ],
)
def test_bounds_are_plain_sums(blocks: dict[str, Any], bounds: tuple[float, float, float]) -> None:
    panel, _ = forecast(**blocks)
    # where a reading was taken, or inside them: there no reading's error grows
    least = (panel.bound_lower.over.lowest, panel.bound_upper.over.lowest, panel.bound_thickness.lowest)
    assert least == pytest.approx(bounds, abs=1e-9)


@pytest.mark.parametrize("places", [("front_left", "front", "front_right", "left", "back_left", "back"), tuple(PLACES)])
def test_the_error_of_a_reading_grows_by_its_weight_in_the_fitted_value(places: tuple[str, ...]) -> None:
    """Weights by numpy's own least squares: each reading moved by 1 mm, and the form followed over the panel."""
    points = np.array([[PLACES[name][0] * L, PLACES[name][1] * W, 0.0] for name in places])
    fitted = fit(points, L, W, "x")
    rng = np.random.default_rng(1)
    on = np.column_stack((rng.uniform(0, L, 40), rng.uniform(0, W, 40)))
    terms = [k for k in range(6) if ("offset", "tilt_x", "tilt_y", "twist", "cup", "bow")[k] not in fitted.undecided]
    table, here = (term_table(each, L, W, "x")[:, terms] for each in (points, on))
    weights = here @ np.linalg.lstsq(table, np.eye(len(points)), rcond=None)[0]
    assert fitted.error_factor(term_table(on, L, W, "x")) == pytest.approx(np.abs(weights).sum(axis=1))
    # and no errors inside `within` throw the form farther off than the bound says
    errors = rng.uniform(-0.05, 0.05, (500, len(points)))
    worst = np.abs(errors @ weights.T).max(axis=0)
    assert (worst <= 0.05 * np.maximum(1.0, np.abs(weights).sum(axis=1)) + 1e-12).all()


def test_of_many_readings_the_error_grows_by_no_less_than_their_weights() -> None:
    """From 201 readings on, √n times the length of the weights stands for their sum: never less, and not twice it."""
    rng = np.random.default_rng(2)
    points, on = (np.column_stack((rng.uniform(0, L, n), rng.uniform(0, W, n), np.zeros(n))) for n in (201, 40))
    table, here = (term_table(each, L, W, "x") for each in (points, on))
    weights = np.abs(here @ np.linalg.lstsq(table, np.eye(len(points)), rcond=None)[0]).sum(axis=1)
    factor = fit(points, L, W, "x").error_factor(here)
    assert (weights <= factor + 1e-12).all() and (factor < 2.0 * weights).all()


def test_the_side_along_which_a_shape_runs() -> None:
    shapes = ("bow", "cup", "tilt_x", "tilt_y", "twist")
    assert [unseen_side(free_work(SIZE), shape) for shape in shapes] == [1000.0, 600.0, 1000.0, 600.0, 1000.0]
    assert [unseen_side(free_work(SIZE, grain="y"), shape) for shape in shapes] == [
        600.0,
        1000.0,
        1000.0,
        600.0,
        1000.0,
    ]
    assert unseen_sum(free_work(SIZE), {"bow", "cup", "offset", "either"}) == pytest.approx(0.8)


@pytest.mark.parametrize(("gap", "grown", "reported"), [(0.14, 0.0, False), (0.2, 0.05, False), (0.26, 0.11, True)])
def test_a_gap_that_probe_and_thickness_do_not_explain(gap: float, grown: float, reported: bool) -> None:
    """The errors of gap, probe and thickness, 0.05 mm each, add up; the excess widens the bound, and FW205 names it."""
    x, y = np.meshgrid(np.linspace(0, L, 6), np.linspace(0, W, 5))
    top, held = probe(np.column_stack((x.ravel(), y.ravel(), np.full(x.size, T))))
    panel, found = forecast(survey=survey(EVEN, {"front": gap}, probe=(top,)), points=held)
    assert codes(found) == ["FW205"] * reported
    # between the probes at 400 and 600 mm the form adds a little to the error of the top
    assert float(panel.bound_lower.over.at(L / 2, 0.0)) == pytest.approx(max(0.1045, 0.1 + grown), abs=1e-4)


def test_the_bed_below_spares_a_probed_top_nothing() -> None:
    """The thickness by calipers at the corners leaves the lower face in doubt, and that doubt is none of the top's."""
    x, y = np.meshgrid(np.linspace(0, L, 6), np.linspace(0, W, 5))
    top, held = probe(np.column_stack((x.ravel(), y.ravel(), np.full(x.size, T))))
    panel, _ = forecast(survey=survey(CORNERS_EVEN, probe=(top,)), points=held)
    assert (
        panel.bound_upper.under.z == pytest.approx(panel.bound_upper.over.z) and panel.bound_upper.under.lowest >= 0.05
    )
    # the lower face, 0 everywhere, may lie 0.05 + 0.8 mm higher than forecast, but no lower than the bed
    assert panel.bound_lower.over.lowest > 0.8 and panel.bound_lower.under.highest == 0.0


def test_merged_nodes_hold_steps_twice() -> None:
    fields = [np.array([0.0, 50.0, 100.0]), np.array([0.0, 50.0 + 5e-8, 75.0, 100.0])]
    assert merged_nodes(fields, np.array([75.0]), 100.0).tolist() == [0.0, 50.0, 75.0, 75.0, 100.0]
    assert merged_nodes([np.array([0.0, 100.0 - 1e-9])], np.array([]), 100.0).tolist() == [0.0, 100.0]


@pytest.mark.parametrize(("line", "reported"), [(200.0, False), (200.5, False), (199.5, False), (200.6, True)])
def test_a_step_lies_at_a_glue_line_within_half_a_millimetre(line: float, reported: bool) -> None:
    of = {"survey": survey(EVEN, FELT, step=(step(0.3, "y", line, "through"),)), "glue_lines": ("y", (200.0,))}
    assert ("FW202" in codes(forecast(**of)[1])) == reported
    # a glue line of the other direction does not count
    assert "FW202" in codes(forecast(**{**of, "glue_lines": ("x", (line,))})[1])


@pytest.mark.parametrize(("value", "reported"), [(33.0, False), (33.01, True), (27.0, False), (26.99, True)])
def test_a_thickness_may_differ_from_nominal_by_a_tenth(value: float, reported: bool) -> None:
    found = forecast(survey=survey({"centre": value}, FELT))[1]
    assert (["FW202"] if reported else []) == [code for code in codes(found) if code == "FW202"]


def test_two_readings_within_half_a_millimetre_are_of_one_place() -> None:
    """All pairs of 200 places on a few millimetres, by their distances along x and y."""
    rng = np.random.default_rng(3)
    at = [tuple(each) for each in rng.uniform((100.0, 50.0), (104.0, 54.0), (200, 2)).round(3).tolist()]
    values = [round(float(value), 2) for value in rng.choice((1.0, 1.2), len(at))]
    given = readings(dict(zip(at, values, strict=True)))
    later = [
        k
        for k in range(len(at))
        if any(
            max(abs(at[k][0] - x), abs(at[k][1] - y)) <= 0.5 and v != values[k]
            for (x, y), v in zip(at[:k], values[:k], strict=True)
        )
    ]
    found = [each.span for each in contradictions(free_work(SIZE), "gap", given, mm(0.05))]
    assert len(found) == len(later) and 20 < len(later) < 190


@pytest.mark.parametrize(("other", "reported"), [(30.1, False), (30.11, True), (29.9, False), (29.89, True)])
def test_two_readings_of_one_place_may_differ_by_twice_within(other: float, reported: bool) -> None:
    for near, same in (((0.5, 0.4), True), ((0.6, 0.0), False)):
        pair = readings({"front_left": 30.0, near: other})
        block = survey({**EVEN}, FELT)
        block = block.model_copy(update={"thickness": pair})
        found = forecast(survey=block)[1]
        assert ("FW202" in codes(found)) == (reported and same)


# -- measured after a face was cut ----------------------------------------------------------------------------------


def after(values: dict[Any, float], within: float | None = None, bound: float = 0.3) -> Any:
    """Correct a forecast of 30 mm all over by readings after a face."""
    done = free_work(SIZE, survey=survey(EVEN, FELT))
    lines = j.After(thickness=readings(values), within=None if within is None else mm(within))
    flat = Surface.flat(L, W, T)
    return correct(done, lines, flat, Bound.even(flat.level(bound)))


@pytest.mark.parametrize(
    ("values", "known", "words"),
    [
        # b′ = within + max(r, b/2) = 0.05 + max(0, 0.15): 29.9 to 30.3 meets 29.7 to 30.3 all but its lower end
        ({"centre": 30.1}, (29.9, 30.3), "measured 0.1mm thicker than forecast by one reading; now known within 0.2mm"),
        # r = 0.1 is less than b/2: 29.8 ± 0.2 meets 29.7 to 30.3
        (
            {"left": 29.9, "right": 29.7},
            (29.7, 30.0),
            "measured 0.2mm thinner than forecast on average over 2 readings, at most 0.3mm thinner;"
            " now known within 0.15mm",
        ),
        # r = 0.2 is more than b/2: 29.9 ± 0.25 meets 29.7 to 30.3
        (
            {"left": 29.7, "centre": 29.9, "right": 30.1},
            (29.7, 30.15),
            "measured 0.1mm thinner than forecast on average over 3 readings, at most 0.3mm thinner;"
            " now known within 0.225mm",
        ),
        # the same everywhere, as forecast: never known better than half of the old bound and a reading's error
        (
            dict.fromkeys(PLACES, 30.0),
            (29.8, 30.2),
            "measured 0mm thicker than forecast on average over 9 readings, at most 0mm thicker;"
            " now known within 0.2mm",
        ),
    ],
)
def test_readings_after_a_face(values: dict[Any, float], known: tuple[float, float], words: str) -> None:
    found, wrong = after(values)
    assert wrong == () and found.words == words
    off = np.array(list(values.values())) - T
    assert found.mean == pytest.approx(off.mean()) and found.most == pytest.approx(off[np.abs(off).argmax()])
    low, high = found.thickness.z - found.bound.z, found.thickness.z + found.bound.z
    assert low == pytest.approx(np.full(low.shape, known[0])) and high == pytest.approx(np.full(high.shape, known[1]))


def test_readings_that_miss_the_forecast_count_and_are_named() -> None:
    # 30.6 ± (0.05 + 0.15) does not meet 30 ± 0.3
    found, wrong = after({"centre": 30.6})
    assert codes(wrong) == ["FW205"] and wrong[0].severity == "warning"
    assert found.thickness.mean == pytest.approx(30.6) and found.bound.highest == pytest.approx(0.2)


def test_no_readings_are_known_better_than_one_reading() -> None:
    found, _ = after(dict.fromkeys(PLACES, 30.0), bound=0.02)
    assert found.bound.lowest == pytest.approx(0.05)


def test_no_readings_change_nothing() -> None:
    found, wrong = after({})
    assert (found.bound.highest, found.mean, found.most, found.words, wrong) == (0.3, 0.0, 0.0, "", ())


@pytest.mark.parametrize("seed", range(20))
def test_true_readings_never_widen_what_is_known_and_nine_hold(seed: int) -> None:
    """A true thickness that uses the whole of the forecast's bound, read with errors inside `within`."""
    rng = np.random.default_rng(seed)
    form = Form(rng.uniform(-0.08, 0.08, 6), L, W, "x")
    values = {}
    for name in rng.choice(list(PLACES), 9 if seed % 2 else 3, replace=False):
        x, y = PLACES[name]
        true = T + float(form.at(np.array([[x * L, y * W]]))[0])
        values[str(name)] = true + float(rng.uniform(-0.05, 0.05))
    xs, ys = np.linspace(0, L, 21), np.linspace(0, W, 13)
    bound = max(0.05, 1.05 * float(np.abs(form.on(xs, ys)).max()))
    found, _ = after(values, bound=bound)
    assert found.bound.highest <= bound + 1e-12
    missed = np.abs(T + form.on(xs, ys) - found.thickness.grid(xs, ys)) - found.bound.grid(xs, ys)
    assert len(values) < 9 or missed.max() <= 1e-9


@pytest.mark.parametrize(
    ("second", "within", "reported"), [(30.1, None, 0), (30.11, None, 1), (30.4, 0.2, 0), (30.41, 0.2, 1)]
)
def test_contradictory_readings_after_a_face(second: float, within: float | None, reported: int) -> None:
    _, wrong = after({"centre": 30.0, (500.4, 300.4): second}, within)
    assert len(wrong) == reported
    _, wrong = after({"centre": 30.0, (500.6, 300.0): second}, within)
    assert wrong == ()


@pytest.mark.parametrize(
    ("surveyed", "within", "second", "reported"),
    [
        (None, None, 30.2, 0),  # without a survey the default: 0.1 mm
        (None, None, 30.21, 1),
        (None, 0.2, 30.21, 0),
        (survey(EVEN, FELT), 0.0, 30.01, 1),  # the job writes 0 mm
        (survey(EVEN, FELT), 0.0, 30.0, 0),
    ],
)
def test_within_of_a_reading_after_a_face(surveyed: Any, within: float | None, second: float, reported: int) -> None:
    lines = j.After(
        thickness=readings({"centre": 30.0, (500.4, 300.4): second}), within=None if within is None else mm(within)
    )
    done = free_work(SIZE, survey=surveyed)
    _, wrong = correct(done, lines, Surface.flat(L, W, T), Bound.even(Surface.flat(L, W, 0.3)))
    assert codes(wrong) == ["FW202"] * reported


def test_thousands_of_readings_take_little_time() -> None:
    values = {(1.0 + k % 100 * 9.0, 1.0 + k // 100 * 9.0): 30.0 for k in range(6000)}
    pair = {(0.6, 0.6): 30.2}  # 0.4 mm from the first, in another square of half a millimetre
    block = survey({**EVEN}, FELT).model_copy(update={"thickness": readings({**values, **pair})})
    done = free_work(SIZE, survey=block)
    started = time.process_time()
    found = list(contradictions(done, "thickness", block.thickness, mm(0.05)))
    assert len(found) == 1 and time.process_time() - started < 2.0


def test_a_step_stays_where_it_was_after_a_face() -> None:
    stepped = Surface(
        np.array([0.0, L]), np.array([0.0, 200.0, 200.0, W]), np.array([[30.0] * 2] * 2 + [[30.3] * 2] * 2)
    )
    done = free_work(SIZE, survey=survey(EVEN, FELT))
    lines = j.After(
        thickness=readings(
            {name: float(stepped.at(PLACES[name][0] * L, PLACES[name][1] * W)) + 0.1 for name in PLACES}
        ),
        within=None,
    )
    found, _ = correct(done, lines, stepped, Bound.even(stepped.level(0.3)))
    assert found.thickness.both_at(500.0, 200.0) == pytest.approx((30.1, 30.4), abs=1e-6)
    assert found.bound.highest == pytest.approx(0.2)
