"""FW902 · the program cuts deeper or elsewhere than the plan

The program was read back and run in memory on the panel as it lies. It bites deeper than a pass may, cuts below the
planned plane, leaves the machine's travel, or sets a unit, work offset, speed or feed that is not the job's. It cuts
without dust extraction, or goes on after its end. It may also be the program of another job or of the other face, or
its header may name another cutter, unit, corner or touched place.

It moves sideways at rapid below the lift height, or within a pass lower than the machine's hop above wood and holders.
It goes down at rapid to less than a hop above the wood, or beside the panel above the plane, or down at feed faster
than the z feed. Or a cutter that can't plunge comes nearer than a hop to the wood straight down, or on a ramp steeper
than 1 in 20.

It goes to a place in machine coordinates, where the spindle parks, while the spindle still turns: before M5, or before
the dwell of `spin_up` after it. Or it goes there below the `top` that the machine's file gives.

It lets the machine round corners (G64) where they must be exact, or has exact corners (G61) in a cut where the shop
file says `corners within`.

It marks lines with `/`, which a machine skips while its block delete switch is on, although the shop file says
`block_delete no`, or lines that cut wood by the forecast. Or the marked lines begin or end below the lift height, or
set what a later line uses.

A program that was built from other sources is a warning: the job has changed since.

A measuring program has to wait for the operator's checks before it moves, and then at each numbered point of the walk,
in its order and nowhere else, with the gauge pressed by half its travel where the top stands as forecast.

## Why it hurts
Too deep a bite stalls the spindle or throws the panel. Thickness that is cut away below the plane can't be put back. A
wrong unit or offset sends the cutter to a place that was never checked.

## Fails
```nc
G17 G21 G40 G49 G61 G80 G90 G94
G54
G0 Z40.
M30
```

## Mended
```nc
G17 G21 G40 G49 G61 G80 G90 G94
G57
G0 Z40.
M30
```

The job's machine uses the work offset G57; the first program would move in a different one.
"""

from __future__ import annotations

from flatwise.core.finding import Finding, Severity
from flatwise_grammar.nodes import Span

CODE = "FW902"


def departs(message: str, span: Span | None, help: str = "", severity: Severity = "error") -> Finding:
    """A program that does not do what was planned."""
    return Finding(CODE, message, span, severity, help=help or "Build the program again from its job.")
