"""Write a walk as a program: the gauge goes to one point after another, and the program waits there for the reading."""

from __future__ import annotations

from collections.abc import Iterator

from flatwise.gcode.write import (
    Moves,
    comment,
    coordinate,
    length_text,
    modes,
    names,
    park_and_end,
    to_top,
    zero_corner,
)
from flatwise.model.measuring import Walk
from flatwise.model.stages import Work


def write_walk(work: Work, walk: Walk) -> bytes:
    """The program of a walk, ASCII with LF line ends; the same walk gives the same bytes.

    Program Z counts from the bed, where the gauge is set to 0 pressed by half its travel.  The spindle never turns:
    there is no M3, M7, M8 or S.
    """
    controller = work.machine.controller
    limit = int(controller.line)
    moves = Moves(controller, walk.origin, 0.0, walk.lift, walk.feed, walk.feed)
    lines = list(_header(work, walk))
    lines += modes(controller)
    for check in _checks(work, walk):
        lines += comment(f"check: {check}", limit)
    lines += [*comment("stop here: continue only when all of this is done", limit), "M0"]
    lines += [*to_top(controller), *moves.lift()]
    for stop in walk.stops:
        lines += moves.go(True, stop.x, stop.y, walk.lift)
        lines += moves.go(True, stop.x, stop.y, walk.over)
        lines += moves.go(False, stop.x, stop.y, stop.expected)
        lines += comment(f"stop {stop.number} of {len(walk.stops)}: read the dial", limit)
        lines += ["M0", *moves.lift()]
    lines += [*to_top(controller), *park_and_end(controller)]
    return ("\n".join(lines) + "\n").encode("ascii")


def _header(work: Work, walk: Walk) -> Iterator[str]:
    controller, gauge = work.machine.controller, walk.gauge
    limit = int(controller.line)

    def say(text: str) -> list[str]:
        return comment(text, limit)

    yield from say("flatwise program")
    yield from names(work, f"job {work.name}", f"measure {walk.face}", limit)
    yield from say(f"gauge {walk.gauge_name}, reach {gauge.reach}, travel {gauge.travel}, across {gauge.across}")
    yield from say(f"lengths in {controller.units}, work offset {controller.offset}")
    yield from say(zero_corner(work, walk.origin_machine))
    x, y = (coordinate(at - corner, controller) for at, corner in zip(walk.zero_at, walk.origin, strict=True))
    yield from say(
        f"zero Z: on the bed beside the panel at X {x} Y {y}: lower the gauge until it is pressed "
        f"{length_text(walk.press, controller)}, set Z 0 there and note the dial"
    )
    yield from say("height of the top: program Z + dial - dial on the bed, where more pressed is more")
    yield from say("the manuals of machine and gauge, local rules and trained practice come first")


def _checks(work: Work, walk: Walk) -> Iterator[str]:
    """What the operator makes sure of before the machine moves."""
    controller = work.machine.controller
    if controller.top is not None or controller.park is not None:
        yield "the machine was referenced since its power was switched on"
    yield "the spindle is isolated, so that nothing can start it, and stays so during all of this"
    yield "the gauge is in the collet instead of the cutter, and the dust shoe is off"
    yield "the panel lies free on the bed against its dogs, with no leaves under it and the clamps loose"
    if walk.under:
        flip = work.job.faces.flip
        yield f"the panel is turned over its {(flip.edge if flip is not None else 'long_edge').replace('_', ' ')}"
    yield f"Z is set to 0 with the gauge pressed {length_text(walk.press, controller)} on the bed"
    if controller.top is None:
        yield f"Z is jogged up until it is above {coordinate(walk.lift, controller)}"
    yield "bed and paths are clear, and hands stay away while the machine moves"
