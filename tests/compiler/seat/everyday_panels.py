"""Random panels, seated by the compiler and in the everyday way: the thickness that each leaves.

In the everyday way the panel rests as it likes, the whole gap under its worst corner is filled and the other three
touch; then both faces are cut level until clean.  Thicknesses are compared without subtracting uncertainty.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from compiler.plan.plans import panel_of
from compiler.shop import ash, machine, mm, q
from compiler.survey import surveys

from flatwise.core.surface import Surface
from flatwise.model.shop import Lean, Machine
from flatwise.model.stages import Panel, Pose, Work
from flatwise.model.words import CORNERS, PLACES
from flatwise.seat import seat
from flatwise.seat.rest import Rest, footprint
from flatwise.seat.slab import Slab
from flatwise.survey.forms import Form
from flatwise.survey.readings import Steps

SUPPORTS = ("front_left", "front_right", "back_left", "back_right", "front", "back", "left", "right", "centre")


@dataclass(frozen=True)
class Compared:
    """One panel: the thickness left when seated by the compiler, in the everyday way, and at most, mm."""

    name: str
    seated: float
    everyday: float
    best: float


def plain_machine() -> Machine:
    """The shop's machine with the defaults of a block without optional words."""
    lean = Lean(out=mm(0.05), over=mm(200.0))
    return machine(rapid=None, acceleration=q("250mm/s2"), shoe=None, tram=lean, opening=None)


def panels(count: int, seed: int = 20) -> Iterator[tuple[str, Work, Panel]]:
    """Panels of a joinery shop: twisted, cupped, bowed, tapered, with steps at glue lines."""
    rng = np.random.default_rng(seed)
    for k in range(count):
        length = float(rng.integers(60, 180) * 10)
        width = float(rng.integers(30, min(90, int(length / 10))) * 10)
        thick = float(rng.integers(20, 45))
        lines = [width * share for share in (0.25, 0.5, 0.75)]
        steps = tuple(
            surveys.step(float(rng.choice([0.1, 0.2, 0.3, 0.4])), "y", line, rng.choice([None, "through", "under"]))
            for line in lines
            if rng.random() < 0.4
        )
        twist = float(rng.normal(0.0, 0.7))
        lower = np.array([0.0, *rng.normal(0.0, 0.2, 2), twist, rng.normal(0, 0.4), rng.normal(0, 0.4)])
        taper = np.array([thick, *rng.normal(0.0, 0.2, 3), *rng.normal(0.0, 0.15, 2)])
        work = surveys.free_work(
            (length, width, thick),
            supports=surveys.supports(SUPPORTS, aim="least_removal"),
            machine=plain_machine(),
            wood=ash(cutting_energy=q("50N/mm2")),
        )
        b, t = Form(lower, length, width, "x"), Form(taper, length, width, "x")
        whole = Steps(steps)
        xs, ys = np.linspace(0.0, length, 33), np.sort(np.concatenate((np.linspace(0.0, width, 33), lines)))
        ys = np.sort(np.concatenate((np.unique(ys), lines)))
        bottom = b.on(xs, ys) + whole.on("lower", xs, ys)
        top = b.on(xs, ys) + t.on(xs, ys) + whole.on("top", xs, ys)
        rested = Rest(Surface(xs, ys, bottom)).natural([])
        lower = Surface(xs, ys, bottom).plus(rested.a, rested.b, rested.c)
        upper = Surface(xs, ys, top).plus(rested.a, rested.b, rested.c)
        panel = panel_of(lower, upper, (0.05, 0.1, 0.05))
        yield f"panel {k + 1:2d}  {length:.0f} × {width:.0f} × {thick:.0f}, twist {twist:+.2f}", work, panel


def everyday(panel: Panel) -> Pose:
    """The pose with the whole gap filled under the worst corner."""
    length, width = panel.lower.length, panel.lower.width
    at = [(PLACES[name][0] * length, PLACES[name][1] * width) for name in CORNERS]
    rest = Rest(panel.lower, [footprint(x, y, length, width) for x, y in at])
    gaps = rest.gaps(rest.natural([0.0] * 4), [0.0] * 4)
    worst = int(np.argmax(gaps))
    return rest.natural([gaps[k] if k == worst else 0.0 for k in range(4)])


def compare(count: int, seed: int = 20) -> list[Compared]:
    """Seat so many panels both ways."""
    rows = []
    for name, work, panel in panels(count, seed):
        seating, _ = seat(work, panel)
        pose = everyday(panel)
        left = Slab(panel.lower, panel.upper).left(pose.a, pose.b)
        rows.append(Compared(name, seating.most_thickness, left, seating.best_thickness))
    return rows
