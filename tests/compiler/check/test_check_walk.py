"""FW301, FW302 and FW501 of a measuring walk, at their limits; figures by hand."""

from __future__ import annotations

import numpy as np
import pytest
from compiler.plan.plans import panel_of
from compiler.shop import clamp_in, dog, holders, length_of, machine, q
from compiler.walks import L, T, W, bare_panel, gauge, walk_of, walking
from compiler.works import zero

from flatwise import check
from flatwise.core.finding import Findings
from flatwise.core.surface import Surface
from flatwise.model.shop import Controller, Park, Travel
from flatwise.model.stages import Panel, Work


def found(work: Work, panel: Panel | None = None) -> Findings:
    return check.run_walk(work, walk_of(work, panel))


def test_the_walk_of_the_shop_has_nothing_against_it() -> None:
    assert found(walking()) == ()


@pytest.mark.parametrize(("corner", "over"), [("435mm", False), ("435.1mm", True)])
def test_the_points_stay_within_the_travel(corner: str, over: bool) -> None:
    """The last points lie 885 mm from the corner, and X ends at 1320 mm."""
    work = walking(job={"zero": zero(corner, "120mm")})
    assert [(each.code, each.message) for each in found(work)] == [
        ("FW301", "The gauge would go 0.1mm past the right end of the X travel.")
    ] * over


def test_the_place_of_zero_stays_within_the_travel() -> None:
    """With 5 mm left and in front, the only room beside the panel is at the right and at the back."""
    near = zero("5mm", "5mm")
    assert found(walking(job={"zero": near})) == ()
    tight = machine(travel=Travel(x=q("910mm"), y=q("510mm"), z=q("160mm")))
    assert {each.code for each in found(walking(job={"zero": near}, machine=tight))} == {"FW301"}


def test_a_park_position_outside_the_travel() -> None:
    park = Controller(park=Park(x=q("1400mm"), y=q("0mm")))
    (one,) = found(walking(machine=machine(controller=park)))
    assert one.code == "FW301" and "park at X 1400mm" in one.message


@pytest.mark.parametrize(("lift", "count"), [("66.9mm", 0), ("66.95mm", 1)])
def test_the_tip_reaches_the_lift_height(lift: str, count: int) -> None:
    """Collet 160 mm above the bed, tip at rest 60 mm below it; the top may stand 33.08 mm: 66.92 mm are left."""
    findings = found(walking(machine=machine(lift=q(lift))))
    assert [each.code for each in findings] == ["FW302"] * count
    assert not count or findings[0].message.endswith("but it reaches only 100mm.")


@pytest.mark.parametrize(("travel", "count"), [("105mm", 0), ("104.9mm", 1)])
def test_the_gauge_reaches_the_bed(travel: str, count: int) -> None:
    """Pressed by half its travel, the tip is 55 mm below the collet's face, 105 mm above the bed at the top."""
    short = machine(travel=Travel(x=q("1320mm"), y=q("1320mm"), z=q(travel)))
    findings = found(walking(machine=short))
    assert [each.code for each in findings] == ["FW302"] * count
    assert not count or "still lacks 0.1mm" in findings[0].message


@pytest.mark.parametrize(("bound", "count"), [(4.92, 0), (4.93, 1)])
def test_the_top_may_be_off_by_half_the_gauges_travel(bound: float, count: int) -> None:
    """The bed's 0.08 mm counts as well."""
    findings = found(walking(), bare_panel(bound=bound))
    assert [each.code for each in findings] == ["FW302"] * count
    assert not count or "may stand 5.01mm higher or lower than forecast, but the gauge gives way by only 5mm" in (
        findings[0].message
    )


def test_wood_beside_a_point_may_not_reach_the_gauges_body() -> None:
    """A lip of 5.2 mm from 25 mm beside a row of points on: 58 mm of gauge meet it, 40 mm do not."""
    ys = [0.0, 40.0, 40.0, W]
    top = Surface(np.array([0.0, L]), np.array(ys), np.array([[T, T], [T, T], [T + 5.2] * 2, [T + 5.2] * 2]))
    panel = panel_of(Surface.flat(L, W, 0.0), top, (0.05, 0.1, 0.05))
    (one,) = found(walking(holders=()), panel)
    assert one.code == "FW302" and one.message.startswith("Beside stop ") and "5.38mm higher" in one.message
    assert found(walking(holders=(), of=gauge(across="40mm")), panel) == ()


def test_some_point_must_be_free_of_holders() -> None:
    """Four posts at the corners of a small panel cover its 2 × 2 points."""
    posts = tuple(
        dog(edge, along, 300.0, 200.0, height=45.0)
        for edge, along in (("left", 15.0), ("left", 185.0), ("right", 15.0), ("right", 185.0))
    )
    covered = walking(2, 2, length=300.0, width=200.0, holders=posts)
    (one,) = found(covered)
    assert one.code == "FW501" and "cover all 4 points" in one.message
    assert found(walking(3, 2, length=300.0, width=200.0, holders=posts)) == ()


def test_the_gauge_needs_a_free_place_on_the_bed() -> None:
    """Feet all round the panel leave no room for zero."""
    ring = tuple(
        clamp_in(box, 13.0)
        for box in (
            (-200.0, -200.0, 0.0, W + 200.0),
            (L, -200.0, L + 200.0, W + 200.0),
            (0.0, -200.0, L, 0.0),
            (0.0, W, L, W + 200.0),
        )
    )
    (one,) = found(walking(holders=ring))
    assert one.code == "FW501" and "can't be lowered to the bed anywhere" in one.message
    assert found(walking(holders=holders(L, W))) == ()


def test_a_gauge_in_inches_is_judged_in_inches() -> None:
    work = walking(of=gauge("2 1/2in", "1/4in", "2 1/4in"), machine=machine(bed=length_of("0mm")))
    (one,) = found(work, bare_panel(bound=3.2))
    assert "0.126in higher or lower" in one.message and "only 0.125in" in one.message
