"""Passes that cut only air by the forecast, and when the machine's block delete switch may skip them."""

from __future__ import annotations

from math import floor
from typing import NamedTuple

from flatwise.model.stages import Setup, Work


class BlockDelete(NamedTuple):
    """The first `passes` of a setup are marked `/`; the switch may be on only while the face is low enough.

    `highest_z` is the most that the program's Z may show, mm, where the face is highest and the cutter touches it as it
    touched the zero; `height` is the same above the bed, as planned.
    """

    passes: int
    highest_z: float
    height: float


def block_delete(work: Work, setup: Setup) -> BlockDelete | None:
    """The passes of a setup that block delete may skip; None if nothing is marked.

    A pass is marked where the forecast's top has no wood above its plane, so that it is there for the bound alone; the
    last pass never is.  Skipping changes nothing where the true top stands no higher than the last plane that is
    skipped.  The height by two touches, of zero and of the highest place, is off by no more than 2 × (0.2 × paper +
    repeat + ½·D·tan(lean)), which is taken off.
    """
    controller, touch = work.machine.controller, setup.touch
    air = [one for one in setup.passes[:-1] if one.plane >= setup.highest]
    if controller.block_delete == "no" or not air:
        return None
    lean = float(work.cutter.diameter) / 2.0 * work.machine.tram.tangent
    off = 2.0 * (0.2 * touch.paper + float(work.machine.repeat) + lean)
    digits = floor((air[-1].plane - off - touch.height) / controller.digit + 1e-6)
    highest_z = digits * controller.digit
    return BlockDelete(len(air), highest_z, highest_z + touch.height)
