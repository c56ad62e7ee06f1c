"""How much slower this machine is than the one on which the limits in seconds were set."""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from time import perf_counter

#: Load the libraries and nothing else.  Pydantic loads most of itself with the first model, so one is built and used.
LIBRARIES = (
    sys.executable,
    "-c",
    """
import lark, numpy
from pydantic import BaseModel, Field
class Sample(BaseModel):
    size: float = Field(gt=0)
    marks: list[str] = []
Sample.model_validate({"size": 1.0, "marks": ["a"]})
""",
)
#: Seconds that loading the libraries took on that machine.
LOADING = 0.19


@cache
def slower() -> float:
    """How many times as long as there this machine takes to load the libraries (the least of five), at least 1."""
    took = []
    for _ in range(5):
        start = perf_counter()
        subprocess.run(LIBRARIES, check=True)
        took.append(perf_counter() - start)
    return max(1.0, min(took) / LOADING)
