"""What the trade knows of a skim.  Common practice, no source."""

from __future__ import annotations

import numpy as np
import pytest
from compiler.plan.plans import lay, planned
from compiler.shop import q
from compiler.works import cut, faces, work

from flatwise.check import fw501_contact, fw601_not_clean
from flatwise.core.surface import Surface
from flatwise.model.job import Take


def stepped(length: float, width: float, height: float, step: float) -> Surface:
    """Two boards; the back one stands higher by `step` from the middle on."""
    half = width / 2.0
    z = np.array([[height] * 2, [height] * 2, [height + step] * 2, [height + step] * 2])
    return Surface(np.array([0.0, length]), np.array([0.0, half, half, width]), z)


def test_a_skim_of_20_thou_clears_a_glue_line_step_of_a_64th_in_one_pass() -> None:
    # common practice, no source: a light skim on hardwood is about 0.020 in and clears a step of 1/64 in
    take = Take(depth=q("20thou"))
    job = {"faces": faces(first=take, second=None), "cut": cut(depth=q("20thou"), finish=None)}
    of = work(job=job)
    plan = planned(of, stepped(of.length, of.width, 32.0, float(q("1/64in"))), bound=0.0)
    (setup,) = plan.setups
    assert len(setup.passes) == 1 and setup.passes[0].whole
    assert setup.removed_least == pytest.approx(0.508 - 0.396875, abs=5e-4)
    assert list(fw601_not_clean.check(plan)) == []


def test_a_skim_of_10_thou_does_not() -> None:
    take = Take(depth=q("10thou"))
    job = {"faces": faces(first=take, second=None), "cut": cut(depth=q("20thou"), finish=None)}
    of = work(job=job)
    plan = planned(of, stepped(of.length, of.width, 32.0, float(q("1/64in"))), bound=0.0)
    assert [finding.code for finding in fw601_not_clean.check(plan)] == ["FW601"]


def test_the_lift_is_two_inches_when_the_machine_says_so() -> None:
    # common practice, no source: after touch-off the cutter is lifted 2 in; the default here is 50 mm
    setup = planned(work()).setups[0]
    assert 50.0 <= setup.lift - (setup.highest + setup.bound) < 50.01


def test_low_clamps_from_the_edge_stay_below_the_cut() -> None:
    # common practice, no source: panels are held from the edges, below the plane
    plan = planned(work())
    assert list(fw501_contact.check(plan)) == []
    assert all(holder.height < setup.plane for setup in plan.setups for holder in setup.holders)
    assert lay(plan.work)[1].upper.highest == pytest.approx(32.0)
