"""Panels, seatings and setups made by hand, and their plans."""

from __future__ import annotations

from typing import Any

import numpy as np

from flatwise.core.surface import Surface
from flatwise.model.stages import Panel, Pass, Plan, Pose, Seating, Setup, Work
from flatwise.plan import plan


def lay(
    of: Work, upper: Surface | None = None, lower: Surface | None = None, bound: float = 0.05
) -> tuple[Panel, Seating]:
    """A panel and its seating: flat, or with the faces given."""
    low = lower if lower is not None else Surface.flat(of.length, of.width, 0.0)
    up = upper if upper is not None else Surface.flat(of.length, of.width, of.thickness)
    thick = up.mean - low.mean
    return (
        Panel(low, up, bound, bound, bound, True, True),
        Seating(low, up, Pose(0.0, 0.0, 0.0), (), (), False, thick, thick, None, bound, bound, bound),
    )


def bumpy(length: float, width: float, height: float, *, seed: int = 1, rough: float = 0.8, nodes: int = 9) -> Surface:
    """A face with random heights at its nodes, mm."""
    z = height + rough * np.random.default_rng(seed).uniform(-0.5, 0.5, (nodes, nodes))
    return Surface(np.linspace(0, length, nodes), np.linspace(0, width, nodes), z)


def planned(of: Work, upper: Surface | None = None, lower: Surface | None = None, bound: float = 0.05) -> Plan:
    made, findings = plan(of, *lay(of, upper, lower, bound))
    assert made is not None, findings
    return made


def first(of: Work, upper: Surface | None = None, bound: float = 0.05) -> Setup:
    return planned(of, upper, bound=bound).setups[0]


def flat_setup(top: Surface, passes: tuple[Pass, ...], **changed: Any) -> Setup:
    """The setup of one face of a panel that lies flat on the bed; the last pass leaves its plane.

    `changed` holds the fields without a default here: touch, origin_machine, lift and the figures of the cut.
    """
    plane = passes[-1].plane
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
