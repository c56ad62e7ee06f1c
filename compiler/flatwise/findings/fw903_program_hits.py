"""FW903 · the program hits something

The program was read back and run in memory. Somewhere the cutter, its shank, the spindle's nose or the dust shoe meets
a clamp, a dog, a leaf or standing wood; or the program moves at rapid through wood, goes down into wood with a
cutter that can't plunge, or cuts while the spindle stands still, turns backward or is not yet up to speed.

In a measuring program only the gauge's tip may touch the wood, straight from above and at feed. No rapid may go where
the top may stand, and neither the gauge's body nor the nose may meet wood or a holder.

## Why it hurts
A cutter that hits steel throws its edges at more than forty metres a second. The machine pushes a cutter that stands
still, or one at rapid, through the wood: the panel leaves its dogs, or the shank bends.

## Fails
```nc
G17 G21 G40 G49 G61 G80 G90 G94
G57
G0 Z40.
S14000 M3
G4 P4.
G0 X450. Y250.
G0 Z-1.
M30
```

## Mended
```nc
G17 G21 G40 G49 G61 G80 G90 G94
G57
G0 Z40.
S14000 M3
G4 P4.
G0 X450. Y250.
M30
```

In the first program the cutter comes down at rapid in the middle of the panel.
"""

from __future__ import annotations

from flatwise.core.finding import Finding
from flatwise_grammar.nodes import Span

CODE = "FW903"


def hits(message: str, span: Span | None, help: str = "") -> Finding:
    """A move that hits something, or that meets wood in the wrong way."""
    return Finding(CODE, message, span, help=help or "Do not run this program; build it again from its job.")
