"""Programs of all kinds of plan pass their proof: the verifier raises no false alarm about the planner's work."""

from __future__ import annotations

import random
from pathlib import Path

import numpy as np
import pytest
from compiler.plan import plans
from hypothesis_profile import NIGHTLY

from compiler import shop, works
from flatwise import check
from flatwise.gcode.write import write
from flatwise.model.job import RowsLine
from flatwise.model.shop import Controller
from flatwise.model.stages import Plan, Work
from flatwise.model.words import CodeWord
from flatwise.verify import verify


def made(chance: random.Random) -> Work:
    """A small panel with a random cutter, pattern and controller."""
    words: dict[str, object] = {"direction": chance.choice(["along", "across"])}
    if chance.random() < 0.4:
        words |= {"one_way": "one_way", "way": chance.choice(["climb", "conventional"])}
    if chance.random() < 0.3:
        words["edge"] = "edge"
    controller = Controller(
        units=chance.choice(["mm", "in"]),
        offset=CodeWord(chance.choice(["G54", "G55", "G59.3"])),
        dwell=chance.choice(["seconds", "milliseconds"]),
        extraction=chance.choice([CodeWord("M7"), CodeWord("M8"), "by hand"]),
        top=chance.choice([None, shop.q("0mm")]),
        ending=CodeWord(chance.choice(["M2", "M30"])),
    )
    cut = works.cut(
        rows=RowsLine(**words),
        stepover=shop.q(f"{chance.choice([40, 65, 99, 100])}%"),
        overrun=shop.q(f"{chance.choice([4, 6, 12])}mm"),
        skip_air=chance.choice(["yes", "no"]),
    )
    return works.work(
        round(chance.uniform(60.0, 400.0), 1),
        round(chance.uniform(60.0, 300.0), 1),
        job={"cut": cut, "faces": works.faces(second=works.second_to("30.2mm"))},
        machine=shop.machine(controller=controller),
        cutter=shop.cutter(diameter=shop.q(f"{chance.choice([25, 40, 64])}mm")),
    )


def sound(seed: int) -> Plan:
    """The first plan from this seed in which no check finds an error."""
    chance = random.Random(seed)
    for _ in range(50):
        work = made(chance)
        top = plans.bumpy(work.length, work.width, 32.0, seed=seed, rough=chance.uniform(0.0, 1.0))
        plan = plans.planned(work, top, bound=chance.choice([0.0, 0.05]))
        if not any(finding.severity == "error" for finding in check.run(plan)):
            return plan
    raise AssertionError("fifty plans in a row have errors")


@pytest.mark.parametrize("seed", range(160 if NIGHTLY else 8))
def test_programs_of_random_plans_are_proven(seed: int) -> None:
    plan = sound(seed)
    work = plan.work
    for setup in plan.setups:
        proof, findings = verify(write(plan, setup), plan, setup)
        assert findings == (), findings
        assert proof.left_above_plane == 0.0
        x, y = np.meshgrid(np.linspace(0.0, work.length, 301), np.linspace(0.0, work.width, 301))
        assert setup.removed_mean == pytest.approx((setup.top.at(x, y) - setup.plane).mean(), rel=5e-3, abs=1e-3)
        assert proof.deepest_bite <= max(sweep.limit for sweep in setup.passes) + 1e-6


BOARD = """
use "../shared/shop.flat"

job skim {{
    machine bench_router
    stock bed {{ size {size}mm x {size}mm x 18mm; wood mdf; grain along x }}
    zero  {{ corner front_left at {corner}mm, {corner}mm; z top by paper 0.05mm }}
    cut   {{ cutter fly_64; stepover 65%; depth 0.5mm; speed 14000rpm }}
    faces {{ first take 0.8mm }}
}}
"""


@pytest.mark.parametrize(("size", "corner"), [(500, 100), (1400, -40)])
def test_a_spoilboard_is_proven_to_the_edge_of_the_travel(size: int, corner: int, shop: Path) -> None:
    from flatwise.pipeline import read_works, work_out

    path = shop / "jobs" / "skim.flat"
    path.write_text(BOARD.format(size=size, corner=corner), encoding="utf-8")
    plan, _, _ = work_out(read_works([path]).works[0])
    assert plan is not None
    proof, findings = verify(write(plan, plan.setups[0]), plan, plan.setups[0])
    assert findings == (), findings
    assert proof.deepest_bite == pytest.approx(0.5) and proof.left_above_plane == 0.0
