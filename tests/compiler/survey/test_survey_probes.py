"""Surfaces through probes against known planes: grids short of the edge, two rows, jitter, holes, and scipy."""

from __future__ import annotations

import numpy as np
import pytest
from compiler.survey.surveys import free_work, survey
from compiler.survey.test_survey import forecast, probe
from scipy.interpolate import RegularGridInterpolator

from flatwise.core.surface import Array
from flatwise.survey.probe_under import _on_a_line
from flatwise.survey.probes import FINEST, interpolate

L, W = 1000.0, 600.0


def grid(xs: list[float], ys: list[float], a: float = 2e-3, b: float = -1e-3) -> Array:
    x, y = np.meshgrid(xs, ys)
    return np.column_stack((x.ravel(), y.ravel(), 30.0 + a * x.ravel() + b * y.ravel()))


@pytest.mark.parametrize(
    ("xs", "ys"),
    [
        ([100.0, 500.0, 900.0], [50.0, 300.0, 550.0]),
        ([10.0, 400.0, 700.0], [20.0, 590.0]),
        ([300.0, 400.0], [0.0, 600.0]),
        ([0.0, 1000.0], [200.0, 250.0, 400.0]),
        ([0.0, 500.0, 1000.0], [0.0, 300.0, 600.0]),
    ],
)
def test_a_plane_continues_to_the_outline_and_its_error_grows_there(xs: list[float], ys: list[float]) -> None:
    points = grid(xs, ys)
    found = interpolate(points, L, W, "x")
    places = np.array([(0.0, 0.0), (L, 0.0), (0.0, W), (L, W), (333.0, 222.0)])
    assert found.at(places) == pytest.approx(30.0 + 2e-3 * places[:, 0] - 1e-3 * places[:, 1], abs=1e-9)
    assert found.missed == 0.0 and found.hidden.highest == pytest.approx(0.0, abs=1e-9)
    assert (found.rest.xs[0], found.rest.xs[-1], found.rest.ys[0], found.rest.ys[-1]) == (0.0, L, 0.0, W)
    # each probe moved by 1 mm, one after the other: by how much the surface can move where all are off at their worst
    every = np.linspace(0.0, L, 9), np.linspace(0.0, W, 7)
    moved = np.zeros((7, 9))
    for k in range(len(points)):
        lifted = points.copy()
        lifted[k, 2] += 1.0
        moved += np.abs(interpolate(lifted, L, W, "x").on(*every) - found.on(*every))
    assert (moved <= found.error_factor(*every) + 1e-9).all()


def test_a_full_grid_is_scipys_bilinear_interpolation() -> None:
    rng = np.random.default_rng(3)
    xs, ys = np.array([0.0, 130.0, 420.0, 800.0, L]), np.array([0.0, 210.0, 333.0, W])
    z = rng.normal(30.0, 0.3, (len(ys), len(xs)))
    x, y = np.meshgrid(xs, ys)
    points = np.column_stack((x.ravel(), y.ravel(), z.ravel()))
    found = interpolate(points[rng.permutation(len(points))], L, W, "x")
    at = np.column_stack((rng.uniform(0, L, 300), rng.uniform(0, W, 300)))
    judge = RegularGridInterpolator((ys, xs), z)
    # of what the form leaves: the form itself bends between the probes
    rest = RegularGridInterpolator((ys, xs), z - found.shape.form.on(xs, ys))
    assert found.at(at) == pytest.approx(rest(at[:, ::-1]) + found.shape.form.at(at), abs=1e-9)
    nodes = np.column_stack((x.ravel(), y.ravel()))
    assert found.at(nodes) == pytest.approx(judge(nodes[:, ::-1]), abs=1e-9) and found.missed == 0.0


@pytest.mark.parametrize(("jitter", "nodes"), [(0.004, 3), (0.04, None)])
def test_places_are_rounded_to_a_hundredth_of_a_millimetre(jitter: float, nodes: int | None) -> None:
    points = grid([100.0, 500.0, 900.0], [50.0, 300.0, 550.0])
    points[:, 0] += jitter * np.array([1, -1, 0, 0, 1, -1, -1, 0, 1])
    found = interpolate(points, L, W, "x")
    assert (len(found.rest.xs) == 5) == (nodes is not None)  # three probed and the outline's two
    missed = np.abs(found.at(points) - points[:, 2]).max()
    assert missed <= found.missed + 1e-3


def test_a_grid_with_a_hole_is_a_scatter_and_its_points_are_still_met() -> None:
    points = np.delete(grid([0.0, 250.0, 500.0, 750.0, L], [0.0, 300.0, W]), 7, axis=0)
    points[3, 2] += 0.4
    found = interpolate(points, L, W, "x")
    assert np.abs(found.at(points) - points[:, 2]).max() <= max(found.missed, 1e-3) + 1e-9
    assert found.missed <= 1e-3 and len(found.rest.xs) <= FINEST + 1


def test_two_rows_of_points_show_no_arch_across_them() -> None:
    found = interpolate(grid([100.0, 500.0, 900.0], [0.0, 600.0]), L, W, "x")
    assert "cup" in found.shape.undecided and "bow" not in found.shape.undecided


def test_a_curve_between_probes_joins_what_they_hide() -> None:
    """Waves of 0.2 mm, eight cells long, which no form explains."""
    xs, ys = np.linspace(0.0, L, 21), np.linspace(0.0, W, 13)
    x, y = np.meshgrid(xs, ys)

    def wave(at_x: Array, at_y: Array) -> Array:
        return np.asarray(30.0 + 0.2 * np.sin(2 * np.pi * at_x / 400.0) * np.sin(2 * np.pi * at_y / 300.0))

    found = interpolate(np.column_stack((x.ravel(), y.ravel(), wave(x, y).ravel())), L, W, "x")
    fine_x, fine_y = np.linspace(0.0, L, 201), np.linspace(0.0, W, 121)
    missed = np.abs(found.on(fine_x, fine_y) - wave(*np.meshgrid(fine_x, fine_y)))
    assert missed.max() > 0.01 and (missed <= found.hidden.grid(fine_x, fine_y) + 1e-9).all()


def test_points_on_one_line_are_no_grid() -> None:
    points = np.array([[500.0, 100.0, 30.0], [500.0, 300.0, 30.2], [500.0, 500.0, 30.4]])
    found = interpolate(points, L, W, "x")
    assert found.at(points) == pytest.approx(points[:, 2], abs=2e-3)
    assert "tilt_x" in found.shape.undecided


@pytest.mark.parametrize(
    ("points", "line"),
    [
        ([(0, 0), (500, 0), (1000, 0)], True),
        ([(0, 0), (500, 300), (1000, 600)], True),
        # three points, one of them d mm off the line, spread by d·√(1/6): 49 mm give 2 % of the longer side
        ([(0, 0), (500, 0), (1000, 48)], True),
        ([(0, 0), (500, 0), (1000, 50)], False),
        ([(0, 0), (0, 600), (48, 300)], False),
        ([(0, 0), (1000, 600)], True),
        ([(0, 0), (1000, 0), (0, 600)], False),
    ],
)
def test_thicknesses_on_one_line_fix_no_plane(points: list[tuple[float, float]], line: bool) -> None:
    ties = np.array([(x, y, 30.0) for x, y in points])
    assert _on_a_line(ties, free_work((L, W, 30.0))) is line


@pytest.mark.parametrize(
    ("places", "says"),
    [
        ({}, "but none is given."),
        ({"front": 30.0}, "but one is given."),
        ({"front": 30.0, "back": 30.0}, "but two are given."),
        ({"left": 30.0, "centre": 30.0, "right": 30.0}, "but the 3 given lie on one line."),
        ({"left": 30.0, "centre": 30.0, "front": 30.0}, ""),
    ],
)
def test_an_untied_probe_of_the_lower_face_says_how_many_readings_there_are(
    places: dict[str, float], says: str
) -> None:
    above, held = probe(grid([0.0, 500.0, L], [0.0, 300.0, W], 0.0, 0.0))
    under, more = probe(grid([0.0, 500.0, L], [0.0, 300.0, W], 0.0, 0.0), "under", at=200)
    _, found = forecast(survey=survey(places, probe=(above, under)), points={**held, **more})
    reported = [one.message for one in found if one.code == "FW105"]
    assert len(reported) == bool(says) and all(message.endswith(says) for message in reported)
