"""One setup: the planes, rows, passes, figures and every move for one face."""

from __future__ import annotations

from collections.abc import Callable
from math import inf
from typing import NamedTuple

from flatwise.core.finding import Finding
from flatwise.core.surface import Surface
from flatwise.core.units import Quantity, show
from flatwise.model.stages import Bound, FaceName, Pass, Setup, Shim, Touch, Work
from flatwise.plan.clearance import contact_gap
from flatwise.plan.cutting import cut_figures, deepest_allowed
from flatwise.plan.holding import tips, weakness
from flatwise.plan.path import Kinematics
from flatwise.plan.planes import MOST_PASSES, allowance, bites, height_grid, planes
from flatwise.plan.routing import Route, routes
from flatwise.plan.rows import BESIDE, MOST_ROWS, MOST_RUNS, row_choices
from flatwise.plan.touch import corner_of, reach, touch


class FaceToCut(NamedTuple):
    """A face about to be cut, in the setup frame: the top, what lies under it, and the bound of the top (mm).

    `final` is the plane to leave, mm above the bed, on the controller's last digit.  `kept` is the zero that is still
    set, where the face takes one pass more at `final` and its top was cut with that zero.
    """

    name: FaceName
    top: Surface
    under: Surface
    bound: Bound
    final: float
    shims: tuple[Shim, ...] = ()
    #: where to touch off, if that is settled already
    touched: tuple[float, float] | None = None
    again: bool = False
    kept: Touch | None = None


def overrun_of(work: Work) -> float:
    """How far the rim passes an edge, mm: as written, else as the standard requires, else 3 mm.

    Where the machine rounds corners it is at least a digit more than by how much.
    """
    written, controller = work.job.cut.overrun, work.machine.controller
    asked = work.rules.overrun if work.rules.overrun is not None else 3.0
    least = controller.rounding + controller.digit if controller.rounding else 0.0
    return max(least, float(written) if written is not None else asked)


def border(work: Work) -> tuple[str, ...]:
    """The borders of a spoilboard that the cutter can't reach and leaves as they are, one sentence for each side."""
    x0, x1, y0, y1 = reach(work)
    radius, unit = float(work.cutter.diameter) / 2.0, work.job.stock.size.length
    left = {
        "left": x0 - radius,
        "right": work.length - x1 - radius,
        "front": y0 - radius,
        "back": work.width - y1 - radius,
    }
    return tuple(
        f"The travel ends short of the {side} edge: a border of {show(short, unit)} stays uncut there."
        for side, short in left.items()
        if short > 1e-6
    )


def held(work: Work, plane: float) -> Callable[[float], bool]:
    """Whether the job's holders stand a load (N) at a plane (mm above the bed), as a function of the load.

    A spoilboard needs no holders.
    """
    if work.job.stock.is_bed:
        return lambda load: True
    panel = (work.holders, work.length, work.width, work.mass)
    return lambda load: weakness(*panel, load) is None and tips(*panel, load, plane) is None


def plan_setup(work: Work, face: FaceToCut, *, moves: bool = True, least_lift: float = 0.0) -> Setup | Finding:
    """Passes and moves for one face, no passes without `moves`; FW107 if there would be absurdly many.

    Moves in the air go at `least_lift` (mm above the bed) or higher.
    """
    overrun = overrun_of(work)
    choices = row_choices(work, overrun, reach(work) if work.job.stock.is_bed else None, reach(work))
    laid, bite = choices.last, choices.bite
    if len(laid.at) > MOST_ROWS:
        return _absurd(work, "stepover", f"more than {MOST_ROWS} rows")
    place = face.kept or touch(work, face.name, face.top, face.bound, face.touched)
    # the top may stand higher than forecast by its bound, and bed, lean and touching off may put all planes lower
    upmost = face.top.raised(face.bound.over)
    margin = 0.0 if face.kept else place.sink + allowance(work)
    highest = upmost.highest + margin
    allowed = height_grid(work).step(deepest_allowed(work, bite))
    finish = float(work.job.cut.finish) if work.job.cut.finish is not None else None
    levels = (face.final,) if face.kept else planes(face.final, highest, allowed, finish, height_grid(work))
    if len(levels) > MOST_PASSES:
        return _absurd(work, "depth", f"more than {MOST_PASSES} passes")
    if len(levels) * len(laid.at) > MOST_RUNS:
        return _absurd(work, "stepover", f"more than {MOST_RUNS} rows in its {len(levels)} passes")
    depths = bites(levels, highest)
    figures = cut_figures(work, bite, max(depths), held(work, levels[0]))
    lift, machine = max(least_lift, _lift(work, upmost.highest, place.sink)), work.machine
    kinematics = Kinematics(
        lift=lift,
        feed=figures.feed,
        z_feed=min(machine.z_feed, figures.feed),
        rapid=machine.rapid_feed,
        acceleration=float(machine.acceleration),
        hop=float(machine.hop),
        holders=max((holder.height for holder in work.holders), default=-inf) + _over_holders(work, place.sink),
        plunges=work.cutter.plunge == "yes",
    )
    ways = routes(choices, upmost, levels, margin, kinematics, work.job.cut.skip_air == "yes") if moves else ()
    passes = _passes(work, face.top.highest, levels, depths, ways, allowed)
    rise = kinematics.at_rapid(lift)
    # the spindle starts, and stops before it parks
    dwells = float(machine.controller.spin_up) * (1 if machine.controller.park is None else 2)
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
        ridge=laid.step * machine.tram.tangent,
        removed_least=face.top.lowest - face.final,
        removed_mean=face.top.mean - face.final,
        removed_most=face.top.highest - face.final,
        time=sum(one.time for one in passes) + dwells + 2.0 * rise,
        again=face.again,
    )


def _lift(work: Work, highest: float, sink: float) -> float:
    """Height of moves in the air, mm above the bed: the machine's `lift` above the highest thing that stands there.

    The top may stand up to `highest` mm.  It is more than a small `lift` where touching off may put all heights lower
    by `sink` mm, and never below a hop.
    """
    heights = [holder.height for holder in work.holders]
    stands = max([highest, *heights]) + float(work.machine.lift)
    hop = max([highest + sink, *(height + _over_holders(work, sink) for height in heights)])
    return height_grid(work).up(max(stands, hop + max(float(work.machine.hop), BESIDE)))


def _over_holders(work: Work, sink: float) -> float:
    """The gap that moves in the air keep over holders, mm."""
    return max(work.rules.clearance, contact_gap(work, sink))


def _passes(
    work: Work,
    highest: float,
    levels: tuple[float, ...],
    depths: tuple[float, ...],
    ways: tuple[Route | None, ...],
    allowed: float,
) -> tuple[Pass, ...]:
    """Every pass that meets wood, from the topmost down; the forecast top stands up to `highest` mm."""
    last = len(levels) - 1
    return tuple(
        Pass(
            plane=plane,
            depth=max(0.0, min(depth, highest - plane)),
            limit=max(allowed, depth),
            finish=index == last and work.job.cut.finish is not None,
            whole=way.whole,
            along=way.along,
            rounds=way.rounds,
            rows=way.rows,
            path=way.legs,
            cut_length=way.cut_length,
            time=way.time,
        )
        for index, (plane, depth, way) in enumerate(zip(levels, depths, ways, strict=False))
        if way is not None
    )


def _absurd(work: Work, word: str, much: str) -> Finding:
    cut = work.job.cut
    written = getattr(cut, word)
    said = f"a {word} of {show(float(written), written)}" if isinstance(written, Quantity) else f"the {word} allowed"
    return Finding(
        "FW107",
        f"With {said}, one face would take {much}.",
        cut.span(word) if cut.wrote(word) else cut.head,
        help="Use a larger cutter." if written == "auto" else f"Write a larger {word}, or use a larger cutter.",
    )
