"""`flatwise new NAME`: a first job to fill in, and a first shop where there is none."""

from __future__ import annotations

import re
from pathlib import Path

_JOB = """\
# {name}: change the figures to those of your panel, then: flatwise check jobs/{name}.flat
use "../shared/shop.flat"

job {name} {{
    machine   bench_router
    standard  solid_tops

    stock {{
        size   900mm x 500mm x 32mm              # length x width x nominal thickness, cut to finished outline
        wood   ash
        grain  along x
    }}

    survey {{                                    # what calipers and feelers said, the panel lying free on the bed
        thickness  front_left 32.0mm, front_right 32.1mm, back_left 32.1mm, back_right 32.0mm
        thickness  centre 31.9mm, front 32.0mm, back 32.0mm, left 32.0mm, right 32.0mm
        gap        front 0.1mm, back 0.1mm, left 0.05mm, right 0.05mm   # feeler under the edge; other corners touch
        twist      0mm                          # its free shape, on edge, by winding sticks and straightedge
        cup        0mm hollow
        bow        0mm hollow
        within     0.05mm                       # how far any reading may be off
    }}

    supports {{
        shims  leaf_set under corners, front, back, left, right, centre   # the compiler picks the leaves
    }}

    hold {{                                      # dogs opposite the clamps; all lower than what is left
        dog    low_dog   left   at 25%, 75%
        dog    low_dog   front  at 15%, 85%
        clamp  edge_cam  right  at 50%
        clamp  edge_cam  back   at 20%, 80%
    }}

    zero {{
        corner  front_left at 120mm, 120mm      # where the panel's corner lies, from machine zero
        z       top by paper 0.05mm             # or: z bed
    }}

    cut {{
        cutter    fly_64
        stepover  65%
        depth     0.5mm                         # at most, per pass
        finish    0.2mm                         # a last light pass
        overrun   6mm
    }}

    faces {{
        first   until clean
        second  to 29mm +/- 0.5mm
        flip    over long_edge
    }}
}}
"""

_SHOP = """\
# The shop: what is on the wall.  The figures are an invented example: put in those of your own machine's and
# cutter's manuals before anything is cut.
machine bench_router {
    travel   1320mm x 1320mm x 160mm
    feed     up to 8m/min
    spindle  2.2kW, 8000rpm to 24000rpm
    collet   ER20
    nose     63mm                               # widest turning part above the cutter
}

cutter fly_64 {
    diameter   64mm
    wings      3
    shank      12mm
    blade      9mm                              # height of the cutting edge
    stick_out  38mm                             # collet face to edge
    depth      up to 1.2mm
    speed      10000rpm to 16000rpm             # the range marked on the tool
    chip_load  0.10mm to 0.30mm
}

dog   low_dog  { across 19mm; height 11mm }
clamp edge_cam { foot 70mm x 32mm; height 13mm; force 450N; pushes at 8mm }
shims leaf_set { leaves 0.05mm, 0.10mm, 0.15mm, 0.20mm, 0.30mm, 0.50mm, 1.00mm }

standard solid_tops {                           # the shop's rules: a job that breaks one does not compile
    depth   at most 0.6mm
    leave   at least 15mm
    survey  required
}
"""


class NoJob(Exception):
    """The job file was not written; the text says why, for a person."""


def write_new(name: str, root: Path) -> str:
    """Write `jobs/NAME.flat` below `root`, never over a file that is there; gives what to say.

    The job uses `shared/shop.flat`; where there is none, an example of one is written too.

    Raises NoJob for a name that the language can't take and for a file that exists, OSError where the disk
    refuses.
    """
    if not re.fullmatch(r"[a-z][a-z0-9_]{0,99}", name):
        meant = re.sub(r"[^a-z0-9]+", "_", name.lower()).strip("_")
        likely = f" Try {meant}." if re.fullmatch(r"[a-z][a-z0-9_]{0,99}", meant) else ""
        raise NoJob(f"A job's name is small letters, digits and underscores, and begins with a letter.{likely}")
    path, shop = root / "jobs" / f"{name}.flat", root / "shared" / "shop.flat"
    if not _write_new(path, _JOB.format(name=name)):
        raise NoJob(f"jobs/{name}.flat is there already and was left as it is. Choose another name.")
    said = f"Wrote jobs/{name}.flat."
    if _write_new(shop, _SHOP):
        said += "\nWrote shared/shop.flat, an invented shop: put in the figures of your own machine and cutters."
    return said


def _write_new(path: Path, text: str) -> bool:
    """Write a file that is not there yet; False where it is."""
    path.parent.mkdir(parents=True, exist_ok=True)
    try:
        with path.open("x", encoding="utf-8", newline="\n") as file:
            file.write(text)
    except FileExistsError:
        return False
    return True
