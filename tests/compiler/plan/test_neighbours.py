"""How far panels must lie apart: by an own reader of the programs of each panel alone, and by shapely."""

from __future__ import annotations

import random
import re
from math import ceil, floor
from pathlib import Path

import numpy as np
import pytest
from compiler.reading import read_text
from outside.true_cuts import steps
from shapely import Point, box

from flatwise.core.units import NOWHERE
from flatwise.gcode.write import write
from flatwise.model.stages import Holder, Plan
from flatwise.pipeline import work_out, work_out_batch
from flatwise.plan.neighbours import Part, meets, spacing, ways

#: of the shop's cutter and nose: radius, height above the edge, and what keeps clear over and beside a thing, mm (0.01
#: more than nothing for all but the cutter); and of a shoe, but for its height
PARTS = ((32.0, 0.0, 2.0, 2.0), (6.0, 9.0, 0.01, 0.01), (31.5, 38.0, 0.01, 0.01))
SHOE = 70.0, 0.01, 0.01
TRAYS = """
machine low_shoe like bench_router { shoe 140mm across, 2mm above edge }
job tray_a from plain_top {
    machine low_shoe; zero { corner front_left at 100mm, 100mm; z bed }
    stock { size 400mm x 300mm x 32mm; wood ash; grain along x }
}
job tray_b from plain_top {
    machine low_shoe; zero { corner front_left at 700mm, 700mm; z bed }
    stock { size 300mm x 350mm x 34mm; wood ash; grain along x }
}
"""


def way_of(plan: Plan, axis: int, face: int) -> list[tuple[float, float, float]]:
    """From where to where each move of a face goes along an axis, and how low, above the bed."""
    setup = plan.setups[face]
    return [
        (*sorted((step.start[axis], step.end[axis])), min(step.start[2], step.end[2]) + setup.touch.zero)  # type: ignore[misc]
        for step in steps(write(plan, setup).decode())
    ]


def needed(one: Plan, other: Plan, axis: int, shoe: float = 2.0) -> float:
    """What spacing says: the tool's reach over one, or over the other, and all that stands on the bed."""
    outlines = [(0.0, each.work.length, 0.0, each.work.width) for each in (one, other)]
    stands = [
        [(*outlines[k], 0.0), *((h.x0, h.x1, h.y0, h.y1, h.height) for h in each.work.holders)]
        for k, each in enumerate((one, other))
    ]
    parts = (*PARTS, (SHOE[0], shoe, *SHOE[1:]))
    low, high = 2 * axis, 2 * axis + 1
    found = [max(each[high] for each in stands[0]) - min(each[low] for each in stands[1])]
    for face in (0, 1):
        tops = [each.setups[face].may_stand for each in (one, other)]
        for thing in stands[1]:
            for radius, above, over, beside in parts:
                under = max(thing[4], tops[1] * (thing == stands[1][0])) + over - above
                ends = [end for _, end, z in way_of(one, axis, face) if z < under]
                found += [max(ends) + radius + beside - thing[low]] if ends else []
        for thing in stands[0]:
            for radius, above, over, beside in parts:
                under = max(thing[4], tops[0] * (thing == stands[0][0])) + over - above
                ends = [begin for begin, _, z in way_of(other, axis, face) if z < under]
                found += [thing[high] + radius + beside - min(ends)] if ends else []
    return max(found)


@pytest.mark.parametrize(("axis", "shoe"), [(0, 2.0), (1, 2.0), (0, 3.0)])
def test_panels_lie_as_far_apart_as_the_programs_of_both_need(shop: Path, axis: int, shoe: float) -> None:
    """The second face is cut to 29 mm; the other's top then stands at 31.8 mm, and at 32.3 mm before the first face."""
    text = TRAYS.replace("2mm above edge", f"{shoe}mm above edge")
    one, other = (work_out(work)[0] for work in read_text(shop, text).works)
    assert one is not None and other is not None
    for near, far in ((one, other), (other, one)):
        assert spacing(near, far, axis, 0.0) == pytest.approx(needed(near, far, axis, shoe), abs=2e-3)
        assert spacing(near, far, axis, 500.0) == pytest.approx(needed_outlines(near, far, axis) + 500.0, abs=1e-6)


@pytest.mark.parametrize(
    ("start", "x"), [("front_left at 120mm, 120mm", 120.0), ("back_right at 1210mm, 1210mm", 810.0)]
)
def test_a_batch_lays_panels_of_two_sizes_out_so(shop: Path, start: str, x: float) -> None:
    """The second lies beyond the first, away from the start, at the next whole millimetre for its own corner."""
    text = re.sub("corner .*?; ", "", TRAYS) + f"batch trays {{ jobs tray_a, tray_b; gap 0mm; from {start} }}"
    plan, _ = work_out_batch(read_text(shop, text).batches[0])
    alone = [work_out(work)[0] for work in read_text(shop, TRAYS).works]
    assert plan is not None and alone[0] is not None and alone[1] is not None
    a, b = (float(each.work.job.zero.corner.x) for each in plan.plans)
    if start.startswith("front"):
        assert (a, b) == (x, x + ceil(needed(alone[0], alone[1], 0)))
    else:
        assert (a, b) == (x + 400.0, floor(x - needed(alone[1], alone[0], 0) + 300.0))


def needed_outlines(one: Plan, other: Plan, axis: int) -> float:
    """Without the tool: all that stands on the bed only."""
    size = (one.work.length, one.work.width)[axis]
    ends = [size, *((h.x1, h.y1)[axis] for h in one.work.holders)]
    begins = [0.0, *((h.x0, h.y0)[axis] for h in other.work.holders)]
    return max(ends) - min(begins)


def test_the_ways_are_those_of_the_program(shop: Path) -> None:
    """The boxes round all moves that end below the top, in the setup frame."""
    plan = work_out(read_text(shop, TRAYS).works[1])[0]
    assert plan is not None
    for face, setup in enumerate(plan.setups):
        (x0, x1, low), (y0, y1, _) = (zip(*way_of(plan, axis, face), strict=True) for axis in (0, 1))
        moves = np.array([x0, x1, y0, y1, low]).T
        ours, theirs = (found[found[:, 4] < setup.may_stand] for found in (ways(setup), moves))
        away = np.abs(ours[:, None, :] - theirs[None, :, :]).max(axis=2)
        assert len(ours) > 20 and away.min(axis=0).max() < 2e-3 and away.min(axis=1).max() < 2e-3


@pytest.mark.parametrize("seed", range(30))
def test_what_a_part_comes_too_near_by(seed: int) -> None:
    """The distance between boxes and a rectangle or a circle, by shapely; moves above the thing do not count."""
    chance = random.Random(seed)
    kind = chance.choice(("dog", "clamp"))
    x, y, a, b = (chance.uniform(-100.0, 100.0) for _ in range(4))
    thing = Holder(
        kind,
        "t",
        "left",
        0.0,
        "",
        x,
        y,
        x + 30.0,
        y + (30.0 if kind == "dog" else 50.0),
        20.0,
        (0.0, 0.0),
        0.0,
        0.0,
        NOWHERE,
    )
    area, radius = (Point(x + 15.0, y + 15.0), 15.0) if kind == "dog" else (box(x, y, x + 30.0, y + 50.0), 0.0)
    gone = [
        (a, a + chance.uniform(0.0, 80.0), b, b + chance.uniform(0.0, 80.0), chance.uniform(0.0, 30.0))
        for _ in range(3)
    ]
    part = Part("part", 12.0, 4.0, 2.0, 3.0)
    low = [box(x0, y0, x1, y1) for x0, x1, y0, y1, z in gone if z + 4.0 < 22.0]
    wanted = 12.0 + 3.0 + radius - min(each.distance(area) for each in low) if low else 0.0
    assert meets(np.array(gone), thing, part) == pytest.approx(wanted)
