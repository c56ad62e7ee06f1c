"""Panels, seatings and setups made by hand, and their plans."""

from __future__ import annotations

from typing import Any

import numpy as np

from flatwise.core.surface import Surface
from flatwise.model.stages import Bound, Panel, Pass, Plan, Pose, Seating, Setup, Work
from flatwise.plan import plan
from flatwise.plan.rows import Rows
from flatwise.plan.standing_wood import StandingWood
from flatwise.plan.stretches import RowStretches, needed_stretches


def panel_of(
    lower: Surface, upper: Surface, bounds: tuple[float, float, float], *, surveyed: bool = True, posed: bool = True
) -> Panel:
    """A panel whose bounds (of lower face, top and thickness, mm) are the same everywhere."""
    of_lower, of_upper, of_thickness = bounds
    return Panel(
        lower,
        upper,
        Bound.even(lower.level(of_lower)),
        Bound.even(upper.level(of_upper)),
        upper.level(of_thickness),
        surveyed,
        posed,
    )


def lay(
    of: Work, upper: Surface | None = None, lower: Surface | None = None, bound: float = 0.05
) -> tuple[Panel, Seating]:
    """A panel and its seating: flat, or with the faces given."""
    low = lower if lower is not None else Surface.flat(of.length, of.width, 0.0)
    up = upper if upper is not None else Surface.flat(of.length, of.width, of.thickness)
    thick = up.mean - low.mean
    panel = panel_of(low, up, (bound, bound, bound))
    bounds = (panel.bound_lower, panel.bound_upper, panel.bound_thickness)
    return panel, Seating(low, up, Pose(0.0, 0.0, 0.0), (), (), False, thick, thick, *bounds)


def bumpy(length: float, width: float, height: float, *, seed: int = 1, rough: float = 0.8, nodes: int = 9) -> Surface:
    """A face with random heights at its nodes, mm."""
    z = height + rough * np.random.default_rng(seed).uniform(-0.5, 0.5, (nodes, nodes))
    return Surface(np.linspace(0, length, nodes), np.linspace(0, width, nodes), z)


def islands(*places: tuple[float, float, float, float], length: float = 900.0, width: float = 500.0) -> Surface:
    """Flat at 32 mm with islands (x0, x1, y0, y1) that stand 1.5 mm higher, their sides vertical."""
    xs = np.repeat(np.unique([0.0, length, *(x for one in places for x in one[:2])]), 2)[1:-1]
    ys = np.repeat(np.unique([0.0, width, *(y for one in places for y in one[2:])]), 2)[1:-1]
    x, y = xs.reshape(-1, 2).mean(axis=1), ys.reshape(-1, 2).mean(axis=1)
    z = np.full((len(y), len(x)), 32.0)
    for x0, x1, y0, y1 in places:
        z[np.ix_((y > y0) & (y < y1), (x > x0) & (x < x1))] += 1.5
    return Surface(xs, ys, np.repeat(np.repeat(z, 2, axis=0), 2, axis=1))


def needed(laid: Rows, top: Surface, run_in: float, *, plane: float = 32.5) -> list[RowStretches]:
    """What the rows must run where the top stands above a plane (mm)."""
    wood = StandingWood(laid, top)
    return needed_stretches(wood, wood.over(plane), run_in)


def planned(of: Work, upper: Surface | None = None, lower: Surface | None = None, bound: float = 0.05) -> Plan:
    made, findings = plan(of, *lay(of, upper, lower, bound))
    assert made is not None, findings
    return made


def first(of: Work, upper: Surface | None = None, bound: float = 0.05) -> Setup:
    return planned(of, upper, bound=bound).setups[0]


def flat_setup(top: Surface, passes: tuple[Pass, ...], **changed: Any) -> Setup:
    """The setup of one face of a panel that lies flat on the bed; the last pass leaves its plane.

    `changed` holds the fields without a default here: touch, origin_machine, lift and the figures of the cut; `bound`
    may be a number (mm).
    """
    plane = passes[-1].plane
    if isinstance(changed["bound"], float):
        changed["bound"] = Bound.even(top.level(changed["bound"]))
    words: dict[str, Any] = {
        "face": "first",
        "under": Surface.flat(top.length, top.width, 0.0),
        "plane": plane,
        "holders": (),
        "shims": (),
        "origin": (0.0, 0.0),
        "overrun": 6.0,
        "speed": 14000.0,
        "force": 2.0,
        **dict.fromkeys(("removed_least", "removed_mean", "removed_most"), top.mean - plane),
    }
    return Setup(top=top, passes=passes, **{**words, **changed})
