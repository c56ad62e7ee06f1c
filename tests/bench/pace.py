"""How much slower this machine is than the one that the limits in seconds were set on."""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from time import perf_counter

#: loading the libraries and nothing else
LIBRARIES = (sys.executable, "-c", "import lark, numpy, pydantic")
#: s that loading the libraries took there
LOADING = 0.12


@cache
def slower() -> float:
    """Times as long as there that loading the libraries takes here, the least of five; 1 on a quicker machine."""
    took = []
    for _ in range(5):
        start = perf_counter()
        subprocess.run(LIBRARIES, check=True)
        took.append(perf_counter() - start)
    return max(1.0, min(took) / LOADING)
