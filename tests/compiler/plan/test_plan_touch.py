"""Where zero is touched off: windows against numpy's, discs against closed forms, places worked out by hand."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest
from compiler.shop import clamp_in, dog, machine, mm, q
from compiler.works import work, zero

from flatwise.core.surface import Surface
from flatwise.model.shop import Travel
from flatwise.model.stages import Bound
from flatwise.plan.touch import _disc, _slide, _windows, touch

L, W = 900.0, 500.0


@pytest.mark.parametrize("deep", [1, 2, 3])
@pytest.mark.parametrize("wide", range(1, 12))
def test_sliding_extremes_are_those_of_numpys_windows(deep: int, wide: int) -> None:
    values = np.random.default_rng(wide).random((5, 12))
    windows = np.lib.stride_tricks.sliding_window_view(values, (deep, wide))
    assert np.array_equal(_slide(values, deep, wide, np.maximum), windows.max(axis=(2, 3)))
    assert np.array_equal(_slide(values, deep, wide, np.minimum), windows.min(axis=(2, 3)))


@pytest.mark.parametrize(
    ("side", "radius", "cells", "window"),
    [
        (900.0, 42.0, 90, 9),  # 10 mm each; nine of them cover 84 mm
        (905.0, 42.0, 91, 9),  # a little less if they don't divide the side
        (100.0, 10.0, 20, 4),  # half a radius if that is less: 5 mm; four make exactly 20 mm
        (2000.0, 42.0, 120, 6),  # at most 120
        (30.0, 42.0, 4, 4),  # at least four; the window stays inside the side
    ],
)
def test_cells_are_at_most_a_centimetre_or_half_a_radius_and_a_window_covers_the_disc(
    side: float, radius: float, cells: int, window: int
) -> None:
    edges, wide = _windows(side, radius)
    assert np.allclose(edges, np.linspace(0.0, side, cells + 1)) and wide == window


@pytest.mark.parametrize(("radius", "a", "b"), [(32.0, 0.01, 0.02), (10.0, -0.02, 0.005), (42.0, 0.0, -0.01)])
def test_extremes_under_a_disc_on_a_slope_lie_at_its_rim(radius: float, a: float, b: float) -> None:
    xs, ys = np.array([0.0, L]), np.array([0.0, W])
    top = Surface(xs, ys, 30.0 + a * xs[None, :] + b * ys[:, None])
    low, high = _disc(top, 400.0, 200.0, radius)
    middle, rim = 30.0 + 400.0 * a + 200.0 * b, radius * float(np.hypot(a, b))
    # cells of a sixteenth of the radius count whole
    more = radius / 16.0 * (abs(a) + abs(b))
    assert middle + rim <= high + 1e-9 and high <= middle + rim + more
    assert middle - rim >= low - 1e-9 and low >= middle - rim - more


@pytest.mark.parametrize("turned", [False, True])
def test_a_disc_covers_a_lip_at_the_edge(turned: bool) -> None:
    # a lip along an edge, 0.4 mm wide and 1 mm high, under the last 1.5 mm of the disc
    y = np.array([0.0, 0.4, 0.4, W])
    z = np.array([[31.0, 31.0], [31.0, 31.0], [30.0, 30.0], [30.0, 30.0]])
    top = Surface(np.array([0.0, L]), y, z)
    far = 30.5
    if turned:
        top, far = top.turned("x"), W - far
    assert _disc(top, 450.0, far, 32.0) == pytest.approx((30.0, 31.0), abs=1e-9)
    across = Surface(y * (L / W), np.array([0.0, W]), z.T)
    assert _disc(across, 30.5, 250.0, 32.0) == pytest.approx((30.0, 31.0), abs=1e-9)


@pytest.mark.parametrize("face", ["first", "second"])
def test_the_touched_place_has_room_for_the_cutter_and_a_centimetre_around_it(face: Any) -> None:
    # a slope with a flat pit and a nearly flat plateau at the front edge: the pit has room for a disc of 50 mm at most,
    # the plateau for the 84 mm needed
    xs = np.array([0.0, 100.0, 100.0, 170.0, 170.0, 600.0, 600.0, 720.0, 720.0, L])
    ys = np.array([0.0, 60.0, 60.0, 120.0, 120.0, W])
    z = np.repeat(32.0 + 0.01 * xs[None, :], 6, axis=0)
    z[:2, 2:4] = 30.0
    z[:4, 6:8] = 38.0 + 0.0005 * xs[6:8]
    top = Surface(xs, ys, z)
    found = touch(work(holders=()), face, top, Bound.even(top.level(0.05)))
    # nine cells of 10 mm inside the plateau: from 610 mm along, up to 110 mm across on the first face
    assert (found.x, found.y) == (655.0, 65.0 if face == "first" else 0.0)
    # the highest within 32 mm (to a digit), the lowest within 42 mm (in cells of 2.7 mm) less the bound
    assert found.height == pytest.approx(38.0 + 0.0005 * 687.0, abs=0.6e-3)
    assert found.lowest == pytest.approx(38.0 + 0.0005 * 613.0 - 0.05, abs=1e-3)


def test_the_second_face_is_touched_off_on_the_outline_clear_of_holders() -> None:
    flat = Surface.flat(L, W, 30.0)
    # the middle of nine cells of 10 mm from the corner: 45 mm, the first of equals
    found = touch(work(holders=()), "second", flat, Bound.even(flat.level(0.05)))
    assert (found.x, found.y, found.height) == (0.0, 45.0, pytest.approx(30.0, abs=5e-4))
    # a dog from 35.5 mm to 54.5 mm; 32 mm of cutter, 10 mm and 2 mm of clearance from it make 98.5 mm
    blocked = (dog("left", 45.0, L, W), dog("right", 45.0, L, W), dog("front", 45.0, L, W), dog("back", 45.0, L, W))
    found = touch(work(holders=blocked), "second", flat, Bound.even(flat.level(0.05)))
    assert (found.x, found.y) == (0.0, 105.0)


def beside(x: tuple[float, float], y: tuple[float, float], holders: Any = ()) -> tuple[float, float]:
    """Where `z bed` is touched off if the travel lets the centre go from x[0] to x[1] and from y[0] to y[1]."""
    travel = Travel(x=mm(x[1] - x[0]), y=mm(y[1] - y[0]), z=q("160mm"))
    at = zero(-x[0], -y[0], on="bed")
    of = work(machine=machine(travel=travel), job={"zero": at}, holders=holders)
    found = touch(of, "first", Surface.flat(L, W, 32.0), 0.05)
    assert (found.on, found.height) == ("bed", 0.0)
    return found.x, found.y


def test_a_zero_on_the_bed_is_touched_off_within_the_travel() -> None:
    # 32 mm of cutter and 10 mm off the panel
    wide, deep, none = (-60.0, 960.0), (-60.0, 560.0), (-30.0, 930.0)
    assert beside(wide, deep) == (-42.0, -42.0)
    assert beside((-30.0, 960.0), deep) == (942.0, -42.0)
    assert beside((-60.0, 930.0), (-30.0, 560.0)) == (-42.0, 542.0)
    assert beside((-30.0, 960.0), (-30.0, 560.0)) == (942.0, 542.0)
    # the middles of the edges if no corner can be reached
    assert beside(none, deep) == (450.0, -42.0) and beside(none, (-30.0, 560.0)) == (450.0, 542.0)
    assert beside(wide, (-30.0, 530.0)) == (-42.0, 250.0)
    assert beside((-30.0, 960.0), (-30.0, 530.0)) == (942.0, 250.0)


def test_a_zero_on_the_bed_is_touched_off_clear_of_the_holders() -> None:
    front = ((-30.0, 930.0), (-60.0, 530.0))
    shares = (0.5, 0.35, 0.65, 0.2, 0.8, 0.05, 0.95)
    for k, share in enumerate(shares):
        in_the_way = tuple(dog("front", one * L, L, W) for one in shares[:k])
        assert beside(*front, holders=in_the_way) == (pytest.approx(share * L), -42.0)
    # a clamp just 42 mm away is far enough, and one at 41.9 mm is not
    assert beside(*front, holders=(clamp_in((492.0, -60.0, 560.0, 0.0), 13.0),)) == (450.0, -42.0)
    assert beside(*front, holders=(clamp_in((491.9, -60.0, 560.0, 0.0), 13.0),)) == (315.0, -42.0)
    assert beside(*front, holders=(clamp_in((340.0, -60.0, 408.0, 0.0), 13.0),)) == (450.0, -42.0)
    assert beside(*front, holders=(clamp_in((440.0, -120.0, 460.0, -84.0), 13.0),)) == (450.0, -42.0)
    assert beside(*front, holders=(clamp_in((440.0, -120.0, 460.0, -83.9), 13.0),)) == (315.0, -42.0)
    # if all of these are taken, the first free place between them
    taken = tuple(dog("front", one * L, L, W) for one in shares)
    assert beside(*front, holders=taken) == (0.0, -42.0)
    along = clamp_in((-90.0, -60.0, 100.0, 0.0), 13.0)
    assert beside(*front, holders=(*taken, along)) == (0.25 * L, -42.0)
