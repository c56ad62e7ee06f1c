"""FW901 · the program uses a word outside RS274/NGC or this machine's set

Before a program may run, it is read back as a controller would read it. This line can't be read, breaks a rule of
RS274/NGC (NISTIR 6556), or uses a word that a flattening program does not need: arcs, canned cycles, tool changes,
parameters, offsets set by the program. A measuring program may not use M3, M4, M7, M8 or S either: its spindle is
isolated and must stay still.

## Why it hurts
Controllers do not agree on what to do with a line that they do not know. Some stop in the middle of a cut with the
spindle turning; some skip the line, and every later move starts from the wrong place.

## Fails
```nc
G17 G21 G40 G49 G61 G80 G90 G94
G57
G0 Z40.
G2 X50. Y50. I25. J0.
M30
```

## Mended
```nc
G17 G21 G40 G49 G61 G80 G90 G94
G57
G0 Z40.
G0 X50. Y50.
M30
```
"""

from __future__ import annotations

from flatwise.core.finding import Finding
from flatwise_grammar.nodes import Span

CODE = "FW901"


def refused(line: int, column: int, reason: str, span: Span, help: str = "") -> Finding:
    """A line of a program that is not understood or not allowed; line and column count from 1."""
    way_out = help or "Correct the line, or build the program again from its job."
    return Finding(CODE, f"Line {line}, column {column} of the program: {reason}.", span, help=way_out)
