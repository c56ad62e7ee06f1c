"""FW904 · the program leaves wood above the plane

The program was read back and run in memory. When it ends, part of the face still stands above the planned plane, or
the old face may still show because a place lies lower than the plane. The whole face must be swept at the final
height; a strip counts however narrow it is.

## Why it hurts
A strip between two rows, or a corner that was left out, is noticed when the panel is out of its clamps and its zero is
lost; the second face would then rest on it and come out tilted.

## Fails
```nc
G17 G21 G40 G49 G61 G80 G90 G94
G57
G0 Z40.
M30
```

This program cuts nothing, so the whole face is left.

## Mended
```sh
flatwise build jobs/example.flat
```

A program that sweeps the whole face is long; build it from the job.
"""

from __future__ import annotations

from flatwise.core.finding import Finding
from flatwise_grammar.nodes import Span

CODE = "FW904"


def left(message: str, span: Span | None, help: str = "") -> Finding:
    """Wood that still stands when the program has ended."""
    return Finding(CODE, message, span, help=help or "Build the program again from its job.")
