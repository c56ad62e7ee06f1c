"""Skims as the trade does them: common practice, no source."""

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
    """Two boards; the back one stands higher by `step`."""
    half = width / 2.0
    z = np.array([[height] * 2, [height] * 2, [height + step] * 2, [height + step] * 2])
    return Surface(np.array([0.0, length]), np.array([0.0, half, half, width]), z)


def test_a_light_skim_clears_a_small_step_at_a_glue_line_in_one_pass() -> None:
    # common practice, no source: a light skim on hardwood takes about half a millimetre and clears a step of 0.4 mm
    take = Take(depth=q("0.5mm"))
    job = {"faces": faces(first=take, second=None), "cut": cut(depth=q("0.6mm"), finish=None)}
    of = work(job=job)
    plan = planned(of, stepped(of.length, of.width, 32.0, 0.4), bound=0.0)
    # the bed may lift the panel by 0.08 mm where the cutter was not touched off, so the bite may be 0.6
    (setup,) = plan.setups
    assert len(setup.passes) == 1 and setup.passes[0].whole
    assert setup.removed_least == pytest.approx(0.5 - 0.4, abs=5e-4)
    assert list(fw601_not_clean.check(plan)) == []


def test_a_thinner_skim_leaves_the_lower_board_uncut() -> None:
    take = Take(depth=q("0.3mm"))
    job = {"faces": faces(first=take, second=None), "cut": cut(depth=q("0.5mm"), finish=None)}
    of = work(job=job)
    plan = planned(of, stepped(of.length, of.width, 32.0, 0.4), bound=0.0)
    assert [finding.code for finding in fw601_not_clean.check(plan)] == ["FW601"]


def test_moves_in_the_air_clear_the_panel_by_the_machines_lift() -> None:
    # common practice, no source: after touching off the cutter is lifted well clear; the default here is 50 mm
    setup = planned(work()).setups[0]
    assert 50.0 <= setup.lift - setup.may_stand < 50.01


def test_holders_at_the_edges_stay_below_the_cut() -> None:
    # common practice, no source: panels are held from the edges, below the plane
    plan = planned(work())
    assert list(fw501_contact.check(plan)) == []
    assert all(holder.height < setup.plane for setup in plan.setups for holder in setup.holders)
    assert lay(plan.work)[1].upper.highest == pytest.approx(32.0)
