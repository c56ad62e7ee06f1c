"""What each row must run: it comes down clear of wood, takes all of it, and bites no wider than planned."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import pytest
from compiler.plan.plans import first, islands, needed
from compiler.shop import cutter, mm, q
from compiler.works import cut, work
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise.core.surface import Surface
from flatwise.plan.rows import Rows, rows
from flatwise.plan.standing_wood import StandingWood
from flatwise.plan.stretches import RowStretches, patches

L, W = 900.0, 500.0
#: the length of row that coming down takes, mm
RAMP = 60.0


def fresh(x0: float, x1: float, y0: float, y1: float) -> dict[float, tuple[tuple[float, float], ...]]:
    """The fresh stretches of every needed row, by its place across."""
    laid = rows(work(), 6.0)
    parts = needed(laid, islands((x0, x1, y0, y1)), 2.0)
    return {round(laid.at[part.row], 2): tuple((a, b) for a, b, _, _ in part.fresh) for part in parts}


def test_a_stretch_begins_and_ends_two_millimetres_clear_of_wood() -> None:
    # 32 mm of cutter and 2 mm of run-in: 34 mm from the wood, which stands in cells of 5 mm from 300 mm to 420 mm
    found = fresh(302.0, 418.0, 200.0, 260.0)
    # rows every 40.73 mm from 26 mm: three have wood in their band, 20.86 mm to either side
    assert list(found) == pytest.approx([188.91, 229.64, 270.36])
    assert found[229.64] == ((pytest.approx(266.0), pytest.approx(454.0)),)
    # 11.1 mm beside the wood (up to 0.5 mm less) it is clear a little sooner: √(34² − 11.1²) is 32.1 mm
    assert found[188.91] == ((pytest.approx(267.8, abs=0.1), pytest.approx(452.2, abs=0.1)),)
    # beyond the end of the panel it is clear by the overrun: 32 mm and 6 mm
    assert fresh(0.0, 418.0, 200.0, 260.0)[229.64] == ((-38.0, pytest.approx(454.0)),)
    assert fresh(302.0, 900.0, 200.0, 260.0)[229.64] == ((pytest.approx(266.0), 938.0),)
    assert set(fresh(0.0, 900.0, 200.0, 260.0).values()) == {((-38.0, 938.0),)}


def test_a_stretch_is_shorter_over_wood_beside_the_row() -> None:
    # the band of the row at 188.91 mm reaches to 209.77 mm, so it is needed; 0.5 mm beside a step counts as wood
    found = fresh(302.0, 418.0, 205.0, 209.0)
    half = float(np.sqrt(34.0**2 - (204.5 - 188.909) ** 2))
    ((begin, end),) = found[188.91]
    assert (begin, end) == (pytest.approx(300.0 - half, abs=0.01), pytest.approx(420.0 + half, abs=0.01))


#: where wood stands on a face of 720 x 200 mm, in cells of 60 x 5 mm
FIELDS = st.lists(
    st.tuples(st.integers(0, 11), st.integers(0, 39), st.integers(1, 4), st.integers(1, 14)), min_size=1, max_size=8
)
Lumps = list[tuple[int, int, int, int]]


def stepped(lumps: Lumps) -> tuple[Surface, Any]:
    """A face of plateaus at 32 mm and 33 mm, and (400, 360) where it is high, every 0.5 mm across and 2 mm along."""
    field = np.zeros((40, 12))
    for x, y, wide, deep in lumps:
        field[y : y + deep, x : x + wide] = 1.0
    xs, ys = np.repeat(np.arange(0.0, 721.0, 60.0), 2)[1:-1], np.repeat(np.arange(0.0, 201.0, 5.0), 2)[1:-1]
    high = np.repeat(np.repeat(field, 2, axis=0), 2, axis=1)
    return Surface(xs, ys, 32.0 + high), np.repeat(np.repeat(field > 0, 10, axis=0), 30, axis=1)


def small(stepover: str = "65%") -> Rows:
    """That face under a cutter of 40 mm."""
    of = work(720.0, 200.0, cutter=cutter(diameter=mm(40.0)), job={"cut": cut(stepover=q(stepover))})
    return rows(of, 5.0)


def swept(laid: Rows, row: int, stretches: Any, more: float) -> Any:
    """(400, 360): places under the cutter, `more` mm larger in radius, as it runs stretches of a row."""
    x, y = np.arange(1.0, 720.0, 2.0), np.arange(0.25, 200.0, 0.5)
    found = np.zeros((400, 360), dtype=bool)
    aside = (laid.diameter / 2.0 + more) ** 2 - (y - laid.at[row]) ** 2
    strip = aside > 0
    for a, b in stretches:
        along = np.maximum(np.maximum(a - x, x - b), 0.0)
        found[strip] |= along[None, :] ** 2 < aside[strip, None]
    return found


def run(laid: Rows, left: Any, turns: list[tuple[int, Any]]) -> Any:
    """What is left of the wood after rows have run in turn, ramps clear of it, no bite wider than planned."""
    for row, stretches in turns:
        for a, b, _, _ in stretches:
            before, after = (max(laid.start, a - RAMP), a), (b, min(laid.end, b + RAMP))
            assert not (left & swept(laid, row, [before, after], 0.5)).any()
        runs = [(first, last) for _, _, first, last in stretches]
        bite = (left & swept(laid, row, runs, 0.0)).sum(axis=0).max() / 2.0
        assert bite <= laid.bite + 1.0
        left = left & ~swept(laid, row, runs, -1.0)
    return left


@pytest.mark.parametrize("stepover", ["65%", "40%", "90%"])
@given(lumps=FIELDS)
@examples(15, 1200)
def test_rows_run_up_or_down_take_all_wood_and_no_bite_wider_than_planned(stepover: str, lumps: Lumps) -> None:
    laid = small(stepover)
    top, wood = stepped(lumps)
    parts = needed(laid, top, RAMP)
    assert not run(laid, wood, [(part.row, part.up) for part in parts]).any()
    assert not run(laid, wood, [(part.row, part.down) for part in reversed(parts)]).any()


@pytest.mark.parametrize("stepover", ["65%", "40%", "90%"])
@given(lumps=FIELDS)
@examples(15, 1200)
def test_rows_run_down_as_they_run_up_on_the_face_turned_over(stepover: str, lumps: Lumps) -> None:
    laid = small(stepover)
    top, _ = stepped(lumps)
    there, turned = (needed(laid, face, RAMP) for face in (top, top.turned("x")))
    last = len(laid.at) - 1
    assert [last - part.row for part in turned[::-1]] == [part.row for part in there]
    for part, other in zip(there, turned[::-1], strict=True):
        for one, two in ((part.fresh, other.fresh), (part.up, other.down), (part.down, other.up)):
            assert np.array(one).ravel() == pytest.approx(np.array(two).ravel())


@given(lumps=FIELDS)
@examples(15, 1200)
def test_patches_hold_every_stretch_once_and_can_be_cut_in_any_order(lumps: Lumps) -> None:
    laid = small()
    top, wood = stepped(lumps)
    parts = needed(laid, top, RAMP)
    groups = patches(laid, parts)

    def listed(some: Sequence[RowStretches], name: str) -> list[tuple[int, float, float]]:
        return sorted((one.row, *stretch) for one in some for stretch in getattr(one, name))

    for name in ("fresh", "up", "down"):
        assert listed([part for group in groups for part in group], name) == listed(parts, name)
    for order in (groups, groups[::-1]):
        assert not run(laid, wood, [(part.row, part.up) for group in order for part in group]).any()
        assert not run(laid, wood, [(part.row, part.down) for group in order for part in reversed(group)]).any()


def test_wood_that_is_in_the_way_of_coming_down_belongs_to_the_same_patch() -> None:
    # rows at 32, 94 and 156 mm; a fin in the band of the first (to 62.5 mm) alone, and wood in the band of the second
    of = work(720.0, 188.0, job={"cut": cut(stepover=q("97%"), overrun=q("0mm"))})
    laid = rows(of, 0.0)
    assert laid.at == pytest.approx((32.0, 94.0, 156.0), abs=0.01)
    xs = np.array([0.0, 200.0, 200.0, 300.0, 300.0, 332.0, 332.0, 420.0, 420.0, 720.0])
    ys = np.array([0.0, 61.4, 61.4, 61.9, 61.9, 90.0, 90.0, 98.0, 98.0, 188.0])
    z = np.full((10, 10), 32.0)
    z[2:4, 4:8] = z[6:8, 2:6] = 33.0
    parts = needed(laid, Surface(xs, ys, z), 2.0)
    assert [part.row for part in parts] == [0, 1]
    # after the first row, the second ends 34 mm past its cells of 5 mm, 32.1 mm beside where the fin stood
    ((_, end, _, _),) = parts[1].up
    assert end == pytest.approx(369.0) and 300.0 < end < 420.0 and 94.0 - 61.9 < 34.0
    assert len(patches(laid, parts)) == 1


def test_a_pass_comes_down_beside_the_wood() -> None:
    setup = first(work(), islands((300.0, 420.0, 200.0, 260.0)))
    for one in setup.passes:
        downs = [b for a, b in pairwise(one.path) if b.z < a.z]
        assert downs
        for leg in downs:
            aside = np.hypot(max(300.0 - leg.x, leg.x - 420.0, 0.0), max(200.0 - leg.y, leg.y - 260.0, 0.0))
            assert aside >= 34.0 - 1e-9


def test_long_rows_close_together_use_longer_cells() -> None:
    def cells(length: float, stepover: str) -> tuple[int, ...]:
        of = work(length, 200.0, cutter=cutter(diameter=mm(40.0)), job={"cut": cut(stepover=q(stepover))})
        standing = StandingWood(rows(of, 5.0), Surface.flat(length, 200.0, 32.0))
        return (*standing.high.shape, len(standing.edges) - 1)

    # five millimetres however long the row, if there are few rows
    assert cells(50_000.0, "65%")[1:] == (10_000, 10_000)
    slices, along, counted = cells(50_000.0, "0.8%")
    assert along == counted < 10_000 and 3_900_000 < slices * along <= 4_000_000
