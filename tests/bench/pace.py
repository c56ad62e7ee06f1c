"""How much slower this machine is than the one on which the limits in seconds were set."""

from __future__ import annotations

import subprocess
import sys
from functools import cache
from time import perf_counter

#: Load the libraries and nothing else.  Pydantic loads most of itself with the first model, so one is built and used,
#: with the kinds of validators that our models have.
LIBRARIES = (
    sys.executable,
    "-c",
    """
import lark, numpy
from typing import Annotated, Literal
from pydantic import AfterValidator, BaseModel, ConfigDict, Field, ValidationError, model_validator
from pydantic_core import PydanticCustomError, core_schema
class Part(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", defer_build=True)
    size: Annotated[float, AfterValidator(lambda size: size), Field(gt=0, le=9)]
    way: Literal["auto"] | None = None
    @model_validator(mode="after")
    def _checked(self):
        return self
class Sample(Part):
    parts: tuple[Part, ...] = ()
Sample(size=1.0, parts=(Part(size=2.0),))
try:
    Sample(size=-1.0)
except ValidationError as error:
    error.errors(include_url=False)
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
