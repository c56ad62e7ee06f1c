"""Rounds leave nothing on faces of any ratio of length to width, judged by the shapes of a library."""

from __future__ import annotations

from math import sqrt

import numpy as np
import pytest
from compiler.shop import machine, mm, q
from compiler.works import cut, work
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples
from shapely import LineString, box

from flatwise.core.surface import Surface
from flatwise.model.shop import Controller, Rounded
from flatwise.model.stages import Leg
from flatwise.plan.path import Kinematics, Path
from flatwise.plan.rounds import ROUND_SHARE, box_of, rounds
from flatwise.plan.rows import rows
from flatwise.plan.standing_wood import StandingWood

KINEMATICS = Kinematics(80.0, 8000.0, 2000.0, 12000.0, 500.0, hop=3.0)


def all_round(
    length: float, width: float, stepover: str = "90%", rounding: float = 0.0
) -> tuple[list[list[Leg]], float, float]:
    """The ways round a whole face under a cutter of 64 mm, the radius that is sure to cut, and the widest bite, mm."""
    corners = {"controller": Controller(corners=Rounded(by=mm(rounding)))} if rounding else {}
    of = work(length, width, machine=machine(**corners), job={"cut": cut(stepover=q(stepover))})
    laid = rows(of, 6.0, rough=True)
    wood = StandingWood(laid, Surface.flat(length, width, 32.0))
    path = Path(laid, 31.0, 32.0, KINEMATICS)
    ways = [legs for _, _, ways in rounds(path, box_of(wood, np.ones_like(wood.inner))) for legs in ways()]
    return ways, laid.sure_radius, laid.bite


def line(legs: list[Leg]) -> LineString:
    """The way of the cutter's centre in the plane of a pass."""
    return LineString([(leg.x, leg.y) for leg in legs if leg.z == 31.0])


@given(
    st.floats(70.0, 2400.0),
    st.floats(0.03, 1.0),
    st.sampled_from(("35%", "65%", "83%", "90%", "100%")),
    st.sampled_from((0.0, 1.0, 3.0)),
)
@examples(40, 2000)
def test_rounds_leave_nothing_of_a_face_of_any_ratio(
    length: float, ratio: float, stepover: str, rounding: float
) -> None:
    width = max(70.0, ratio * length)
    ways, radius, _ = all_round(length, width, stepover, rounding)
    assert ways
    for legs in ways:
        left = box(0.0, 0.0, length, width).difference(line(legs).buffer(radius, quad_segs=64))
        assert left.area < 1e-6


def test_rounds_lie_so_far_apart_that_their_corners_leave_nothing() -> None:
    """Between two rounds s apart the corner lies √2·(s − R) from the inner one: nothing is left up to (1 + √½)·R."""
    radius, most = 32.0, (1.0 + sqrt(0.5)) * 32.0
    assert ROUND_SHARE * 64.0 < most == pytest.approx(0.8536 * 64.0, abs=0.01)
    for apart, leaves in ((ROUND_SHARE * 64.0, False), (most - 0.1, False), (most + 0.1, True)):
        outer, inner = box(0, 0, 900, 500).buffer(-22).exterior, box(0, 0, 900, 500).buffer(-22 - apart).exterior
        between = box(0, 0, 900, 500).difference(outer.union(inner).buffer(radius, quad_segs=256))
        between = between.difference(box(0, 0, 900, 500).buffer(-22 - apart - radius + 0.01))
        assert (between.area > 1e-3) == leaves


def test_no_two_rounds_lie_farther_apart_than_asked_and_a_run_down_the_middle_takes_the_rest() -> None:
    # (250 - 32 - 28.5 - 22.127) / 53.12 is 3.15: four steps of 41.84 mm to 189.5 mm, and 57 mm are left for a run
    ways, _, bite = all_round(900.0, 500.0)
    assert bite == 58.0
    straight = [sorted({round(leg.y, 2) for leg in legs if leg.z == 31.0}) for legs in ways]
    assert straight[0][:6] == pytest.approx([22.13, 63.97, 105.81, 147.66, 189.5, 250.0], abs=0.01)
    # or four steps of 49.16 mm to 218.75 mm and no run: the sides of the last round overlap by 1.5 mm
    assert any(ys[:5] == pytest.approx([22.13, 71.28, 120.44, 169.59, 218.75], abs=0.01) for ys in straight)
