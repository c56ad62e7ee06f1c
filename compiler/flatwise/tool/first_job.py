"""The text of a first job, and the figures that it is written with."""

from __future__ import annotations

JOB = """\
# {name}: change the figures to those of your panel, then: flatwise check jobs/{name}.flat
{uses}

job {name} {{
    machine   {machine}
    standard  {standard}

    stock {{
        size   {length} x {width} x {thickness}    # length x width x nominal thickness, cut to finished outline
        wood   {wood}
        grain  along x
    }}

    survey {{  # what calipers and feelers said, the panel lying free on the bed
        thickness  front_left {t0}, front_right {t1}, back_left {t1}, back_right {t0}
        thickness  centre {t9}, front {t0}, back {t0}, left {t0}, right {t0}
        gap        front {g1}, back {g1}, left {g0}, right {g0}  # feeler under the edge; other corners touch
        twist      {zero}  # its free shape, seen on edge: winding sticks, straightedge
        cup        {zero} hollow
        bow        {zero} hollow
        within     {g0}  # how far any reading may be off
    }}

    supports {{
        shims  {shims} under corners, front, back, left, right, centre  # the compiler picks the leaves
    }}

    hold {{  # dogs opposite the clamps; all lower than what is left
        dog    {dog} left at 25%, 75%
        dog    {dog} front at 15%, 85%
        clamp  {clamp} right at 50%
        clamp  {clamp} back at 20%, 80%
    }}

    zero {{
        corner  front_left at {corner}  # where the panel's corner lies, from machine zero
        z       top by paper {paper}  # or: z bed
    }}

    cut {{
        cutter    {cutter}
        stepover  65%
{depth}        overrun   {overrun}
    }}

    faces {{
        first   balanced  # both faces lose the same; or: until clean
        second  to {left} +/- {within}
        flip    over long_edge
    }}
}}
"""

DEPTH = """\
        depth     {depth}  # at most, per pass
        finish    {finish}  # a last light pass
"""

NO_DEPTH = """\
        # no depth: as deep in a pass as the cutter, the standard and the spindle allow
"""

#: what a job is written with, by the unit of its size
FIGURES = {
    "mm": {
        "zero": "0mm",
        "g0": "0.05mm",
        "g1": "0.1mm",
        "paper": "0.05mm",
        "overrun": "6mm",
        "within": "0.5mm",
        "depth": "0.5mm",
        "finish": "0.2mm",
    },
    "in": {
        "zero": "0in",
        "g0": "0.002in",
        "g1": "0.004in",
        "paper": "0.003in",
        "overrun": "1/4in",
        "within": "0.020in",
        "depth": "0.020in",
        "finish": "0.008in",
    },
}
#: what comes off both faces together unless it is said, and how far readings of the example lie apart
OFF = {"mm": (3.0, 0.1, 1), "in": (0.125, 0.004, 3)}
#: places of the corner, tried in turn until the cut stays within the travel
CORNERS = {"mm": ("120mm", "80mm", "50mm", "10mm"), "in": ("5in", "3in", "2in", "1/2in")}
