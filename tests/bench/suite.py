"""Forty random panels, seated by the compiler and in the everyday way: the thickness that each leaves.

    python tests/bench/suite.py

In the everyday way the panel rests as it likes, the whole gap under its worst corner is filled and the other three
touch; then both faces are cut level until clean.  Thicknesses are compared without subtracting uncertainty.  Machine
times are those of the compiler's own plans, with the same cutter, 0.5 mm a pass and 0.2 mm for the last; each
everyday pass covers the whole face.

Skipping air can save at most the area without wood above a pass's plane, as a share of the area of all passes; the last
pass of a face always covers it whole.  The table shows how much of that bound the plans reach, and how their time
compares with the least that the rows allow (`least_time.py`).
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

sys.path.insert(0, str(Path(__file__).parents[1]))

from bench.least_time import least_times
from compiler.plan.plans import panel_of
from compiler.shop import ash, machine, mm, q
from compiler.survey import surveys

from flatwise.core.surface import Surface
from flatwise.model import job
from flatwise.model.shop import Lean, Machine
from flatwise.model.stages import Panel, Plan, Pose, Seating, Work
from flatwise.model.words import CORNERS, PLACES
from flatwise.plan import plan
from flatwise.seat import seat
from flatwise.seat.rest import Rest, footprint
from flatwise.seat.slab import Slab
from flatwise.survey.forms import Form
from flatwise.survey.readings import Steps

COUNT = 40
SUPPORTS = ("front_left", "front_right", "back_left", "back_right", "front", "back", "left", "right", "centre")


@dataclass(frozen=True)
class Compared:
    """One panel: the thickness left when seated by the compiler, in the everyday way, and at most, mm."""

    name: str
    seated: float
    everyday: float
    best: float
    #: machine time of both faces, seated and everyday, s; 0 unless timed
    time: float = 0.0
    everyday_time: float = 0.0
    #: machine time of the same seating with every pass over the whole face, s, and the share of that area with wood
    whole_time: float = 0.0
    stands: float = 1.0
    #: time of all passes, and the least time, s
    passes_time: float = 0.0
    least_time: float = 0.0

    @property
    def saved(self) -> float:
        """The share that the leaves save of what the best tilt saves over the everyday way."""
        can = self.best - self.everyday
        return 1.0 if can < 1e-6 else (self.seated - self.everyday) / can


def plain_machine() -> Machine:
    """The shop's machine with the defaults of a block without optional words."""
    lean = Lean(out=mm(0.05), over=mm(200.0))
    return machine(rapid=None, acceleration=q("250mm/s2"), shoe=None, tram=lean, opening=None)


def panels(count: int = COUNT, seed: int = 20) -> Iterator[tuple[str, Work, Panel]]:
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


def planned(work: Work, panel: Panel, seating: Seating, skip_air: str) -> Plan:
    """The compiler's own plan of both faces until clean, with its own stepover, overrun and speed."""
    cut = job.Cut(cutter=work.job.cut.cutter, skip_air=skip_air, depth=mm(0.5), finish=mm(0.2))
    clean = job.UntilClean(until="until")
    faces = job.Faces(first=clean, second=clean, flip=work.job.faces.flip)
    again = replace(work, job=work.job.model_copy(update={"cut": cut, "faces": faces}))
    made, _ = plan(again, panel, seating)
    assert made is not None
    return made


def machine_time(made: Plan) -> float:
    """Machine time of both faces, s."""
    return sum(setup.time for setup in made.setups)


def standing(made: Plan) -> float:
    """The share of the area of all passes where wood may stand above the pass's plane."""
    shares = []
    for setup in made.setups:
        xs, ys = (np.linspace(0.0, side, 201) for side in (setup.top.length, setup.top.width))
        highest = setup.top.raised(setup.bound.over).cells(xs, ys)[1]
        for number, one in enumerate(setup.passes, 1):
            last = number == len(setup.passes)
            shares.append(1.0 if last else float((highest > one.plane).mean()))
    return float(np.mean(shares))


def compare(count: int = COUNT, seed: int = 20, timed: bool = False) -> list[Compared]:
    """Seat every panel both ways, and with `timed` plan both."""
    rows = []
    for name, work, panel in panels(count, seed):
        seating, _ = seat(work, panel)
        pose = everyday(panel)
        left = Slab(panel.lower, panel.upper).left(pose.a, pose.b)
        times = (0.0, 0.0, 0.0, 1.0, 0.0, 0.0)
        if timed:
            lower, upper = (face.plus(pose.a, pose.b, pose.c) for face in (panel.lower, panel.upper))
            filled = replace(seating, lower=lower, upper=upper, pose=pose, shims=())
            ours = planned(work, panel, seating, "yes")
            times = (
                machine_time(ours),
                machine_time(planned(work, panel, filled, "no")),
                machine_time(planned(work, panel, seating, "no")),
                standing(ours),
                sum(one.time for setup in ours.setups for one in setup.passes),
                sum(sum(least_times(ours, setup)) for setup in ours.setups),
            )
        rows.append(Compared(name, seating.most_thickness, left, seating.best_thickness, *times))
    return rows


def main() -> None:
    """Print the table."""
    rows = compare(timed=True)
    print(f"{'':42} {'everyday':>9} {'seated':>8} {'at most':>8} {'saved':>6} {'everyday':>9} {'seated':>8}")
    for row in rows:
        print(f"{row.name:42} {row.everyday:9.3f} {row.seated:8.3f} {row.best:8.3f} {row.saved:6.0%}", end=" ")
        print(f"{row.everyday_time:8.0f}s {row.time:7.0f}s")
    gained = np.array([row.seated - row.everyday for row in rows])
    share = np.array([row.saved for row in rows])
    time = np.array([row.time / row.everyday_time for row in rows])
    print(f"\nThickness gained over the everyday way: mean {gained.mean():.3f}mm, least {gained.min():.3f}mm,", end=" ")
    print(f"most {gained.max():.3f}mm.")
    print(f"Of what the best tilt saves: mean {share.mean():.1%}, least {share.min():.1%}.")
    print(
        f"Machine time against the everyday way: mean {time.mean():.0%}, least {time.min():.0%}, most {time.max():.0%}."
    )
    skipped = np.array([1.0 - row.time / row.whole_time for row in rows])
    air = np.array([1.0 - row.stands for row in rows])
    print(
        f"Time saved by skipping air: mean {skipped.mean():.1%}; the area bound allows {air.mean():.1%}; "
        f"reached {skipped.sum() / air.sum():.2f} of it."
    )
    ratio = np.array([row.passes_time / row.least_time for row in rows])
    print(f"Against the least that the rows allow: mean {ratio.mean():.3f}, most {ratio.max():.3f}.")


if __name__ == "__main__":
    main()
