"""Properties of every plan, for random panels, cutters, rows and holders; shapely judges the plane geometry."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

import numpy as np
import shapely
from compiler.plan.plans import bumpy, planned
from compiler.shop import clamp, cutter, dog, machine, q
from compiler.works import cut, work, zero
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples

from flatwise.check import fw301_travel
from flatwise.core.finding import has_errors
from flatwise.gcode.write import write
from flatwise.model.job import RowsLine
from flatwise.model.shop import Controller, Rounded
from flatwise.model.stages import Leg, Plan, Setup
from flatwise.verify import verify

#: chords of a circle with 4 × 64 sides lie inside it by 0.0003 of the radius; 0.02 mm covers a 64 mm cutter
SIDES = 64
SLACK = 0.02


@st.composite
def plans(draw: Any) -> Plan:
    length = draw(st.floats(120.0, 1050.0).map(lambda v: round(v, 1)))
    width = draw(st.floats(30.0, 600.0).map(lambda v: round(v, 1)))
    diameter = draw(st.sampled_from((20.0, 64.0, 80.0)))
    lines = RowsLine(
        direction=draw(st.sampled_from(("along", "across"))),
        one_way=draw(st.sampled_from((None, None, "one_way"))),
        way=draw(st.sampled_from((None, "climb", "conventional"))),
        edge=draw(st.sampled_from((None, "edge"))),
    )
    how = cut(
        rows=lines,
        stepover=q(draw(st.sampled_from(("35%", "65%", "95%")))),
        depth=draw(st.sampled_from((None, q("0.5mm"), q("1/64in")))),
        finish=draw(st.sampled_from((None, q("0.2mm")))),
        overrun=q(draw(st.sampled_from(("4mm", "9mm")))),
        skip_air=draw(st.sampled_from(("yes", "yes", "no"))),
    )
    corner = draw(st.sampled_from(("front_left", "front_right", "back_left", "back_right")))
    x = 110.0 + (length if "right" in corner else 0.0)
    y = 110.0 + (width if corner.startswith("back") else 0.0)
    on, paper = draw(st.sampled_from(("top", "bed"))), draw(st.sampled_from((None, "0.05mm")))
    origin = zero(f"{x:.3f}mm", f"{y:.3f}mm", paper, on=on, corner=corner)
    height = draw(st.floats(8.0, 25.9))
    corners: Any = draw(st.sampled_from(("exact", "exact", *(Rounded(by=q(by)) for by in ("0.3mm", "1mm", "5mm")))))
    shares = draw(st.lists(st.floats(0.05, 0.95), min_size=2, max_size=2))
    held = (
        dog("left", shares[0] * width, length, width, height=height),
        dog("front", shares[1] * length, length, width, height=height),
        clamp("right", 0.5 * width, length, width, height=height),
        clamp("back", 0.5 * length, length, width, height=height),
    )
    of = work(
        length,
        width,
        job={"cut": how, "zero": origin},
        machine=machine(controller=Controller(units=draw(st.sampled_from(("mm", "in"))), corners=corners)),
        cutter=cutter(diameter=q(f"{diameter:g}mm")),
        holders=held,
    )
    seed = draw(st.integers(0, 10_000))
    nodes = draw(st.sampled_from((2, 6, 17)))
    upper = bumpy(length, width, 32.0, seed=seed, rough=draw(st.sampled_from((0.0, 0.4, 1.5))), nodes=nodes)
    lower = bumpy(length, width, 0.2, seed=seed + 1, rough=0.4, nodes=5)
    return planned(of, upper, lower, bound=draw(st.sampled_from((0.02, 0.1, 0.4))))


def runs(path: Sequence[Leg], plane: float) -> list[shapely.Geometry]:
    """The feed moves at the plane itself, seen from above."""
    return [
        shapely.LineString([(a.x, a.y), (b.x, b.y)]) if (a.x, a.y) != (b.x, b.y) else shapely.Point(b.x, b.y)
        for a, b in pairwise(path)
        if not b.rapid and a.z <= plane + 1e-9 and b.z <= plane + 1e-9
    ]


def covers(path: Sequence[Leg], plane: float, radius: float, outline: shapely.Geometry) -> bool:
    """Whether the turning cutter has been all over an outline at the plane."""
    area = shapely.union_all(shapely.buffer(np.array(runs(path, plane)), radius + SLACK, quad_segs=SIDES))
    return bool(shapely.covers(area, outline))


def meets_all(path: Sequence[Leg], plane: float, radius: float, places: Sequence[tuple[float, float]]) -> bool:
    """Whether the turning cutter has been at each place at the plane."""
    moves = shapely.union_all(runs(path, plane))
    shapely.prepare(moves)
    return bool(shapely.dwithin(moves, shapely.points(np.array(places).reshape(-1, 2)), radius + 1e-9).all())


def wood_over(setup: Setup, plane: float) -> list[tuple[float, float]]:
    """Points of a fine net where the top plus its bound stands above a plane."""
    x, y = np.meshgrid(np.linspace(0, setup.top.length, 60), np.linspace(0, setup.top.width, 40))
    over = setup.top.raised(setup.bound.over).at(x, y) > plane + 1e-6
    return list(zip(x[over], y[over], strict=True))


@examples(2, 480)
@given(plans())
def test_every_plan(plan: Plan) -> None:
    work_, radius = plan.work, float(plan.work.cutter.diameter) / 2.0
    # wherever the machine rounds its corners, its path has a point this near to each of the programmed one
    sure = radius - work_.machine.controller.rounding
    outline = shapely.box(0, 0, work_.length, work_.width)
    for setup in plan.setups:
        # the last pass has covered the whole face
        last = setup.passes[-1]
        assert last.plane == setup.plane and last.whole
        assert covers(last.path, last.plane, sure, outline)
        # every other pass has covered all places where wood may stand above it, so no bite is deeper than the step
        highest = setup.may_stand
        for one, plane in zip(setup.passes, (highest, *(p.plane for p in setup.passes)), strict=False):
            assert plane - one.plane <= one.limit + 1e-9
            assert meets_all(one.path, one.plane, sure, wood_over(setup, one.plane))
        written = work_.job.cut.depth
        most = float(written) if written is not None else min(float(work_.cutter.depth), work_.rules.depth or 9.0)
        assert all(one.limit <= most + 1e-9 for one in setup.passes)
        # it comes down where nothing stands, or where this pass has cut already
        for one in setup.passes:
            for number, (a, b) in enumerate(pairwise(one.path), 1):
                if (a.x, a.y) == (b.x, b.y) and b.z < a.z:
                    beside = shapely.distance(shapely.Point(b.x, b.y), outline) >= radius - 1e-6
                    stands = [] if beside else _standing(setup, b.x, b.y, radius, b.z)
                    if stands:
                        assert meets_all(one.path[:number], one.plane, sure, stands), (b, stands[0])
        # no holder stands above the plane
        for holder in setup.holders:
            assert holder.height + work_.rules.clearance <= setup.plane
    assert list(fw301_travel.check(plan)) == []


def _standing(setup: Setup, x: float, y: float, radius: float, plane: float) -> list[tuple[float, float]]:
    """Points of a fine net under the cutter at (x, y) where the top plus its bound stands above a plane."""
    angle, share = np.meshgrid(np.linspace(0, 2 * np.pi, 73), np.linspace(0, 1, 40))
    px, py = x + radius * share * np.cos(angle), y + radius * share * np.sin(angle)
    on = (px >= 0) & (px <= setup.top.length) & (py >= 0) & (py <= setup.top.width)
    px, py = px[on], py[on]
    over = setup.top.raised(setup.bound.over).at(px, py) > plane + 1e-9
    return list(zip(px[over], py[over], strict=True))


@examples(2, 480)
@given(plans())
def test_every_program_of_a_plan_is_proven(plan: Plan) -> None:
    for setup in plan.setups:
        proof, findings = verify(write(plan, setup), plan, setup)
        assert not has_errors(findings), findings[0].message
        assert proof.collisions == 0 and proof.left_above_plane == 0.0
