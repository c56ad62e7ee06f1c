"""Write a walk as a program: the gauge goes to one point after another, and the program waits there for the reading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

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
from flatwise.model.bed import BatchWork
from flatwise.model.measuring import BedWalk, Walk
from flatwise.model.stages import Work


def write_walk(work: Work, walk: Walk) -> bytes:
    """The program of a walk, ASCII with LF line ends; the same walk gives the same bytes.

    Program Z counts from the bed, where the gauge is set to 0 pressed by half its travel.  The spindle never turns:
    there is no M3, M7, M8 or S.
    """
    return _write([(work, walk)], work, None)


def write_bed_walk(bed: BedWalk) -> bytes:
    """The program of a walk over all panels of a batch."""
    return _write(bed.panels, bed.first, bed.batch)


def _write(panels: Sequence[tuple[Work, Walk]], first: Work, batch: BatchWork | None) -> bytes:
    """The program of one walk over panels; `first` has the zero, and `batch` is that of all panels."""
    controller, walk = first.machine.controller, panels[0][1]
    limit = int(controller.line)
    visited = [each for each in panels if each[1].stops]
    count = sum(len(each.stops) for _, each in panels)
    moves = Moves(controller, walk.origin, 0.0, walk.lift, walk.feed, walk.feed)
    lines = list(_header(first, walk, batch))
    lines += modes(controller)
    for check in _checks(walk, [work for work, _ in panels]):
        lines += comment(f"check: {check}", limit)
    lines += [*comment("stop here: continue only when all of this is done", limit), "M0"]
    lines += [*to_top(controller), *moves.lift()]
    for number, (work, own) in enumerate(visited, 1):
        if batch is not None:
            lines += comment(f"panel {number} of {len(visited)}: {work.name}", limit)
        moves.turn_to(own.origin, own.feed, own.feed)
        for stop in own.stops:
            lines += moves.go(True, stop.x, stop.y, own.lift)
            lines += moves.go(True, stop.x, stop.y, own.over)
            lines += moves.go(False, stop.x, stop.y, stop.expected)
            lines += comment(f"stop {stop.number} of {count}: read the dial", limit)
            lines += ["M0", *moves.lift()]
    lines += [*to_top(controller), *park_and_end(controller)]
    return ("\n".join(lines) + "\n").encode("ascii")


def _header(work: Work, walk: Walk, batch: BatchWork | None) -> Iterator[str]:
    controller, gauge = work.machine.controller, walk.gauge
    limit = int(controller.line)

    def say(text: str) -> list[str]:
        return comment(text, limit)

    yield from say("flatwise program")
    if batch is None:
        yield from names(work, f"job {work.name}", f"measure {walk.face}", limit)
    else:
        yield from names(batch, f"batch {batch.name}", f"measure {walk.face}", limit)
        yield from say(f"jobs {', '.join(each.name for each in batch.works)}")
    panel = "panel" if batch is None else f"panel {work.name}"
    yield from say(f"gauge {walk.gauge_name}, reach {gauge.reach}, travel {gauge.travel}, across {gauge.across}")
    yield from say(f"lengths in {controller.units}, work offset {controller.offset}")
    yield from say(zero_corner(work, walk.origin_machine, panel))
    x, y = (coordinate(at - corner, controller) for at, corner in zip(walk.zero_at, walk.origin, strict=True))
    yield from say(
        f"zero Z: on the bed beside the {panel} at X {x} Y {y}: lower the gauge until it is pressed "
        f"{length_text(walk.press, controller)}, set Z 0 there and note the dial"
    )
    yield from say("height of the top: program Z + dial - dial on the bed, where more pressed is more")
    yield from say("the manuals of machine and gauge, local rules and trained practice come first")


def _checks(walk: Walk, works: Sequence[Work]) -> Iterator[str]:
    """The operator's checks before the machine moves, with the panels of `works` on the bed."""
    controller, one = works[0].machine.controller, len(works) == 1
    panel = "the panel" if one else "each panel"
    if controller.top is not None or controller.park is not None:
        yield "the machine was referenced since its power was switched on"
    yield "the spindle is isolated, so that nothing can start it, and stays so during all of this"
    yield "the gauge is in the collet instead of the cutter, and the dust shoe is off"
    yield f"{panel} lies free on the bed against its dogs, with no leaves under it and the clamps loose"
    if walk.under:
        for work in works:
            flip = work.job.faces.flip
            edge = (flip.edge if flip is not None else "long_edge").replace("_", " ")
            yield f"{'the panel' if one else f'panel {work.name}'} is turned over its {edge}"
    yield f"Z is set to 0 with the gauge pressed {length_text(walk.press, controller)} on the bed"
    if controller.top is None:
        yield f"Z is jogged up until it is above {coordinate(walk.lift, controller)}"
    yield "bed and paths are clear, and hands stay away while the machine moves"
