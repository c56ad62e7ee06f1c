"""FW902 · the program cuts deeper or elsewhere than the plan

The program was read back and cut in memory through the panel as it lies. It bites deeper than a pass may, goes
below the plane that is to be left, leaves the machine's travel, or sets another unit, work offset, speed or feed
than the job was worked out with. It may also be the program of another job or of the other face.

## Why it hurts
A bite that is too deep stalls the spindle or throws the panel; a cut below the plane is thickness that nobody
can put back; a wrong unit or offset sends the cutter to a place that nothing was checked for.

## Fails
```nc
G17 G21 G40 G49 G80 G90 G94
G54
G0 Z40.
M30
```

## Mended
```nc
G17 G21 G40 G49 G80 G90 G94
G55
G0 Z40.
M30
```

The job's machine has its work offset in G55; the first program would move in another one.
"""

from __future__ import annotations

from flatwise.core.finding import Finding, Severity
from flatwise_grammar.nodes import Span

CODE = "FW902"


def departs(message: str, span: Span | None, help: str = "", severity: Severity = "error") -> Finding:
    """A program that does something else than was planned."""
    return Finding(CODE, message, span, severity, help=help or "Build the program again from its job.")
