"""Walks made without a text: a job of the small shop whose survey names a gauge."""

from __future__ import annotations

from typing import Any

from compiler.plan.plans import panel_of
from compiler.shop import length_of, written

from compiler import works
from flatwise.core.surface import Surface
from flatwise.gcode.walk_program import write_walk
from flatwise.model.job import Survey, WalkGrid
from flatwise.model.measuring import Walk
from flatwise.model.shop import Gauge
from flatwise.model.stages import Panel, Work
from flatwise.model.words import DeclaredName, Whole
from flatwise.plan.walk import plan_walk

L, W, T = 900.0, 500.0, 32.0


def gauge(reach: str = "60mm", travel: str = "10mm", across: str = "58mm") -> Gauge:
    return written(Gauge(reach=length_of(reach), travel=length_of(travel), across=length_of(across)), "dial_10")


def walking(
    nx: int = 5, ny: int = 3, *, of: Gauge | None = None, job: dict[str, Any] | None = None, **changed: Any
) -> Work:
    """A job whose survey has a walk and nothing else."""
    grid = WalkGrid(gauge=DeclaredName("dial_10"), nx=Whole(nx), ny=Whole(ny))
    survey = written(Survey(walk=grid), "", ["walk"])
    size = {name: changed.pop(name) for name in ("length", "width", "thickness") if name in changed}
    return works.work(**size, job={"survey": survey, **(job or {})}, gauge=of or gauge(), **changed)


def bare_panel(length: float = L, width: float = W, thickness: float = T, bound: float = 1.0) -> Panel:
    """A flat panel of nominal thickness, as without any reading."""
    flat = Surface.flat(length, width, 0.0)
    panel = panel_of(flat, Surface.flat(length, width, thickness), (bound, bound, 2 * bound), surveyed=False)
    return panel


def walk_of(of: Work, panel: Panel | None = None, *, under: bool = False) -> Walk:
    made = plan_walk(of, panel or bare_panel(of.length, of.width, of.thickness), under=under)
    assert made is not None
    return made


def program(of: Work, walk: Walk) -> list[str]:
    """The program's lines."""
    return write_walk(of, walk).decode("ascii").splitlines()
