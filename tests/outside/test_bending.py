"""Bending against published beam formulas, and against a plate solved by Ritz's method with Legendre polynomials."""

from __future__ import annotations

import numpy as np
import pytest
from compiler.survey.surveys import free_work
from numpy.polynomial import legendre
from scipy.integrate import cumulative_trapezoid

from flatwise.seat.bending import CENTRE, UNIFORM, Bay, beam, clamp_bow, own_weight, sag

Point = tuple[float, float]
PANELS = [
    (1120, 610, 31.5),
    (1500, 400, 25),
    (600, 600, 20),
    *(pytest.param(size, marks=pytest.mark.nightly) for size in ((900, 500, 32), (2000, 900, 40), (800, 700, 18))),
]


def plate(
    size: tuple[float, float, float],
    moduli: tuple[float, float, float],
    supports: list[Point],
    at: Point,
    load: float = 0.0,
    pressure: float = 0.0,
    poisson: float = 0.3,
    terms: int = 12,
) -> float:
    """Deflection at a point (mm) of a thin orthotropic plate on point supports.

    Least strain energy over products of Legendre polynomials; supports are stiff springs.  Moduli E along x, E along
    y, G in MPa; load N at the same point, pressure N/mm².
    """
    length, width, thick = size
    ex, ey, g = moduli
    at_gauss, weight = legendre.leggauss(terms + 6)

    def table(t: np.ndarray, order: int) -> np.ndarray:
        unit = np.eye(terms)
        return np.array([legendre.legval(t, legendre.legder(unit[k], order)) for k in range(terms)])

    x = [table(at_gauss, order) * (2 / length) ** order for order in range(3)]
    y = [table(at_gauss, order) * (2 / width) ** order for order in range(3)]

    def mass(one: np.ndarray, other: np.ndarray) -> np.ndarray:
        return np.asarray((one * weight) @ other.T)

    inertia, minor = thick**3 / 12, poisson * min(ex, ey) / max(ex, ey)
    dx, dy = ex * inertia / (1 - poisson * minor), ey * inertia / (1 - poisson * minor)
    d1, dxy = minor * max(dx, dy), g * inertia
    cross = np.kron(mass(x[2], x[0]), mass(y[0], y[2]))
    stiff = dx * np.kron(mass(x[2], x[2]), mass(y[0], y[0])) + dy * np.kron(mass(x[0], x[0]), mass(y[2], y[2]))
    stiff += 4 * dxy * np.kron(mass(x[1], x[1]), mass(y[1], y[1])) + d1 * (cross + cross.T)
    stiff *= length * width / 4

    def shape(px: float, py: float) -> np.ndarray:
        return np.kron(table(np.array([2 * px / length - 1]), 0)[:, 0], table(np.array([2 * py / width - 1]), 0)[:, 0])

    for support in supports:
        stiff += 1e7 * np.outer(shape(*support), shape(*support))
    push = load * shape(*at) + pressure * length * width / 4 * np.kron(x[0] @ weight, y[0] @ weight)
    return float(np.linalg.solve(stiff, push) @ shape(*at))


def corners(length: float, width: float) -> list[Point]:
    return [(0, 0), (length, 0), (0, width), (length, width)]


def test_the_judge_on_a_square_plate_on_its_corners() -> None:
    """Isotropic, ν 0.3, uniform load: 0.0255·q·a⁴/D at the centre (plate handbooks; from memory)."""
    side, thick, modulus = 1000.0, 20.0, 10000.0
    stiffness = modulus * thick**3 / 12 / (1 - 0.09)
    found = plate(
        (side, side, thick),
        (modulus, modulus, modulus / 2.6),
        corners(side, side),
        (500, 500),
        pressure=1e-3,
    )
    assert found == pytest.approx(0.0255 * 1e-3 * side**4 / stiffness, rel=0.005)


@pytest.mark.parametrize("size", PANELS)
def test_panel_on_its_corners(size: tuple[float, float, float]) -> None:
    """The two strips × 1.1 lie up to 12 % above the plate and never below it, for push and weight."""
    length, width, thick = size
    made = free_work(size)
    moduli = (12000.0, 800.0, 12000.0 / 14)
    bay = Bay(0, length, 0, width, (False,) * 4)
    spots, middle = corners(length, width), (length / 2, width / 2)
    pushed = sag(made, bay, 50.0, CENTRE, thick) / plate(size, moduli, spots, middle, load=50.0)
    heavy = sag(made, bay, 1e-4 * length * width, UNIFORM, thick) / plate(size, moduli, spots, middle, pressure=1e-4)
    assert 1.0 <= pushed <= 1.12 and 1.0 <= heavy <= 1.12


@pytest.mark.parametrize("size", PANELS)
def test_the_estimate_never_overrates_supports_under_the_edges(size: tuple[float, float, float]) -> None:
    """With the middles of edges held too, the estimate is on the safe side of the plate, to 2 %."""
    length, width, thick = size
    made = free_work(size)
    moduli = (12000.0, 800.0, 12000.0 / 14)
    ends, sides = [(0, width / 2), (length, width / 2)], [(length / 2, 0), (length / 2, width)]
    for more, held in (
        (ends, (True, True, False, False)),
        (sides, (False, False, True, True)),
        (ends + sides, (True,) * 4),
    ):
        bay = Bay(0, length, 0, width, held)
        spots = corners(length, width) + more
        exact = plate(size, moduli, spots, (length / 2, width / 2), load=50.0)
        assert 0.98 * exact <= sag(made, bay, 50.0, CENTRE, thick) <= 2.1 * exact


def test_beam_constants_of_the_wood_handbook() -> None:
    """FPL-GTR-190 (2010), equation 9-2 and table 9-1: k_b 5/384 and 1/48, k_s 1/8 and 1/4 (constants read there)."""
    e, g, b, h, span, load = 12000.0, 857.0, 500.0, 30.0, 1000.0, 50.0
    inertia, area = b * h**3 / 12, 5 / 6 * b * h
    assert beam(load, span, b, h, e, g, UNIFORM) == pytest.approx(
        5 * load * span**3 / (384 * e * inertia) + load * span / (8 * g * area)
    )
    assert beam(load, span, b, h, e, g, CENTRE) == pytest.approx(
        load * span**3 / (48 * e * inertia) + load * span / (4 * g * area)
    )


def test_record_1914_beam_with_centre_load() -> None:
    """S. J. Record, The Mechanical Properties of Wood (1914): E = P·l³/(4·D·b·h³), without shear."""
    load, span, b, h, e = 450.0, 711.0, 50.8, 50.8, 11000.0
    deflection = beam(load, span, b, h, e, 1e12, CENTRE)
    assert load * span**3 / (4 * deflection * b * h**3) == pytest.approx(e, rel=1e-6)


def test_clamps_bow_a_beam_with_end_moments() -> None:
    """F·e·W²/(8·E·I) against the curvature M/(E·I) integrated twice."""
    force, below, span, depth, thick, e = 900.0, 8.0, 610.0, 1120.0, 31.5, 800.0
    s = np.linspace(0, span, 4001)
    slope = cumulative_trapezoid(np.full_like(s, force * below / (e * depth * thick**3 / 12)), s, initial=0)
    line = cumulative_trapezoid(slope, s, initial=0)
    line -= s / span * line[-1]
    assert clamp_bow(force, below, span, depth, thick, e) == pytest.approx(float(-line.min()), rel=1e-5)


def test_weight_that_flattens_a_twist() -> None:
    """(W/4)·3·L·B/(G·h³) against the plate: held at three corners, a quarter of the weight on the fourth."""
    size = (1120.0, 610.0, 31.5)
    made = free_work(size)
    quarter = made.mass * 9.80665 / 4
    spots = corners(size[0], size[1])
    exact = plate(size, (12000.0, 800.0, 12000.0 / 14), spots[:3], spots[3], load=quarter)
    assert own_weight(made, size[2])["twist"] == pytest.approx(exact, rel=0.01)


def test_weight_that_flattens_cup_and_bow() -> None:
    """Strips along and across the grain under the whole weight, equation 9-2 with a uniform load."""
    made = free_work((1120.0, 610.0, 31.5))
    weight = made.mass * 9.80665
    found = own_weight(made, 31.5)
    assert found["bow"] == pytest.approx(5 / 384 * weight * 1120**3 / (12000 * 610 * 31.5**3 / 12), rel=0.02)
    assert found["cup"] == pytest.approx(5 / 384 * weight * 610**3 / (800 * 1120 * 31.5**3 / 12), rel=0.02)
