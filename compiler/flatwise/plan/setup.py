"""One setup: its planes, rows, passes, figures and every move."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from flatwise.core.finding import Finding
from flatwise.core.surface import Surface
from flatwise.core.units import show
from flatwise.model.stages import FaceName, Pass, Setup, Shim, Work
from flatwise.plan import planes as heights
from flatwise.plan.cutting import Cutting, cutting, deepest_allowed
from flatwise.plan.holding import weakness
from flatwise.plan.path import Pace
from flatwise.plan.routing import ways
from flatwise.plan.rows import BESIDE, MOST_ROWS, MOST_RUNS, Rows, rows
from flatwise.plan.timing import straight
from flatwise.plan.touch import corner_of, reach, touch


@dataclass(frozen=True)
class Face:
    """A face as it is about to be cut, setup frame: what lies up, what under it, how far the top may be off.

    `final` is the plane that must be left, mm above the bed, already on the controller's last digit.
    """

    name: FaceName
    top: Surface
    under: Surface
    bound: float
    final: float
    shims: tuple[Shim, ...] = ()
    again: bool = False


def overrun_of(work: Work) -> float:
    """How far the rim passes an edge, mm: as written, else the standard's, else 3 mm."""
    written = work.job.cut.overrun
    if written is not None:
        return float(written)
    return work.rules.overrun if work.rules.overrun is not None else 3.0


def is_bed(work: Work) -> bool:
    """Whether the job skims the machine's own spoilboard."""
    return work.job.stock.is_bed


def border(work: Work) -> tuple[str, ...]:
    """What of a spoilboard the cutter can't reach, one sentence a side: it stays as it is."""
    x0, x1, y0, y1 = reach(work)
    radius = float(work.cutter.diameter) / 2.0
    left = {
        "left": x0 - radius,
        "right": work.length - x1 - radius,
        "front": y0 - radius,
        "back": work.width - y1 - radius,
    }
    return tuple(
        f"The travel ends short of the {side} edge: a border of {show(short)} stays uncut there."
        for side, short in left.items()
        if short > 1e-6
    )


def held(work: Work) -> Callable[[float], bool]:
    """A judge of loads (N) for the job's holders; the spoilboard needs none."""
    if is_bed(work):
        return lambda load: True
    return lambda load: weakness(work.holders, work.length, work.width, work.mass, load) is None


def build(work: Work, face: Face) -> Setup | Finding:
    """Passes and moves for one face, or the finding that there would be absurdly many."""
    grid = heights.grid(work)
    overrun = overrun_of(work)
    laid = rows(work, overrun, reach(work) if is_bed(work) else None)
    if len(laid.at) > MOST_ROWS:
        return _absurd(work, "stepover", f"more than {MOST_ROWS} rows")
    place = touch(work, face.name, face.top, face.bound)
    # the top may stand higher than forecast by its bound, and all planes lie lower by as much as the touch does
    margin = face.bound + place.sink
    highest = face.top.highest + margin
    allowed = grid.step(deepest_allowed(work, laid.bite))
    finish = float(work.job.cut.finish) if work.job.cut.finish is not None else None
    levels = heights.planes(face.final, highest, allowed, finish, grid)
    if len(levels) > heights.MOST_PASSES:
        return _absurd(work, "depth", f"more than {heights.MOST_PASSES} passes")
    if len(levels) * len(laid.at) > MOST_RUNS:
        return _absurd(work, "stepover", f"more than {MOST_RUNS} rows in its {len(levels)} passes")
    bites = heights.bites(levels, highest)
    figures = cutting(work, laid.bite, max(bites), held(work))
    lift = _lift(work, face, place.sink)
    passes, spent = _passes(work, face, laid, levels, bites, margin, allowed, lift, figures)
    return Setup(
        face=face.name,
        top=face.top,
        under=face.under,
        bound=face.bound,
        plane=face.final,
        passes=passes,
        holders=work.holders,
        shims=face.shims,
        touch=place,
        origin=corner_of(work),
        origin_machine=(float(work.job.zero.corner.x), float(work.job.zero.corner.y)),
        lift=lift,
        overrun=overrun,
        stepover=laid.step,
        speed=figures.speed,
        feed=figures.feed,
        feed_limit=figures.feed_limit,
        chip_load=figures.chip_load,
        rim_speed=figures.rim_speed,
        power=figures.power,
        force=figures.force,
        holding_load=figures.load,
        ridge=laid.step * work.machine.tram.tangent,
        removed_least=face.top.lowest - face.final,
        removed_mean=face.top.mean - face.final,
        removed_most=face.top.highest - face.final,
        time=spent,
        again=face.again,
    )


def _lift(work: Work, face: Face, sink: float) -> float:
    """Height of moves in the air, mm: the machine's lift above the highest that stands on the bed.

    Or more, where the touch may set all heights lower by `sink` mm, and that is more than a small lift.
    """
    stands = [face.top.highest + face.bound, *(holder.height for holder in work.holders)]
    return heights.grid(work).up(max(stands) + max(float(work.machine.lift), sink + BESIDE))


def _passes(
    work: Work,
    face: Face,
    laid: Rows,
    levels: tuple[float, ...],
    bites: tuple[float, ...],
    margin: float,
    allowed: float,
    lift: float,
    figures: Cutting,
) -> tuple[tuple[Pass, ...], float]:
    """Every pass from the topmost down, and the seconds that the whole program takes."""
    machine = work.machine
    pace = Pace(lift, figures.feed, machine.rapid_feed, float(machine.acceleration))
    found = ways(laid, face.top, levels, margin, pace, work.job.cut.skip_air == "yes")
    last = len(levels) - 1
    made = [
        Pass(
            plane=plane,
            depth=max(0.0, min(bite, face.top.highest - plane)),
            limit=max(allowed, bite),
            finish=index == last and work.job.cut.finish is not None,
            whole=way.whole,
            rows=way.rows,
            path=way.legs,
            cut_length=way.cut_length,
            time=way.time,
        )
        for index, (plane, bite, way) in enumerate(zip(levels, bites, found, strict=True))
        if way is not None
    ]
    rise = straight(lift, machine.rapid_feed, float(machine.acceleration))
    total = sum(one.time for one in made) + float(machine.controller.spin_up) + 2.0 * rise
    return tuple(made), total


def _absurd(work: Work, word: str, much: str) -> Finding:
    cut = work.job.cut
    written = getattr(cut, word)
    said = f"With a {word} of {show(float(written), written)} " if written is not None else f"As the {word} stands "
    return Finding(
        "FW107",
        f"{said}a face would take {much}.",
        written.span if written is not None and cut.wrote(word) else cut.head,
        help=f"Write a larger {word}, or a larger cutter.",
    )
