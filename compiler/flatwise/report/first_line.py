"""The first line of a face: what one would say to a helper."""

from __future__ import annotations

from flatwise.core.wording import capitalised, listed, place_name
from flatwise.model.stages import Setup, Shim, Work
from flatwise.report.display import DisplayUnit, counted, leaf_stack, minutes, spaced


def first_line(work: Work, setup: Setup, unit: DisplayUnit) -> str:
    """A job in one line, as one would say it to a helper: leaves, where to touch off, how many passes and minutes."""
    touch, laid, long, wide = setup.touch, setup.shims, setup.top.length, setup.top.width
    if touch.kept or (touch.on == "bed" and setup.face == "second" and not setup.again):
        zero = "keep Z if the cutter stayed in"
    elif setup.zero_on_face:
        zero = "set Z on the cut face"
    elif touch.on == "bed":
        zero = "touch off on the bed beside the panel"
    else:
        zero = f"touch off {from_edges(touch.x, touch.y, long, wide, unit)}"
    cut = f"{zero}; {counted(len(setup.passes), 'pass', 'passes')}, {minutes(setup.time)}."
    if work.job.stock.is_bed:
        return f"Bare board; {cut}"
    if not laid:
        return f"No leaves. {capitalised(cut)}"
    if len(laid) > 2:
        leaves = counted(sum(len(each.leaves) for each in laid), "leaf", "leaves")
        said = f"{leaves} at {counted(len(laid), 'place')}"
    else:
        said = listed([_stack_words(work, each) for each in laid], "and")
    return f"{capitalised(said)}; {cut}"


def _stack_words(work: Work, shim: Shim) -> str:
    """`one 0.40 mm leaf under the back right corner`, `two leaves, 0.30 mm + 0.05 mm, under the centre`."""
    stack = spaced(leaf_stack(work, shim.leaves))
    spot = spaced(place_name(shim.place, shim.x, shim.y, work.job.stock.size.thickness))
    said = f"one {stack} leaf" if len(shim.leaves) == 1 else f"{counted(len(shim.leaves), 'leaf', 'leaves')}, {stack},"
    return f"{said} under {spot}"


def from_edges(x: float, y: float, long: float, wide: float, unit: DisplayUnit) -> str:
    """A place on a panel as it lies: `120 mm from the left, 40 mm from the front`, `over the left edge, …`."""
    found = []
    for at, side, near, far in ((x, long, "left", "right"), (y, wide, "front", "back")):
        on = near if abs(at) < 0.05 else far if abs(at - side) < 0.05 else ""
        found.append(f"over the {on} edge" if on else f"{unit.place(at)} from the {near}")
    return ", ".join(found)
