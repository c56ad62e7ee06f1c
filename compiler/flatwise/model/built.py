"""The result of a build: programs, their proofs, and what other choices would have cost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from flatwise.core.finding import Findings
from flatwise.model.stages import FaceName, Plan, SeatingChoice


@dataclass(frozen=True)
class Waived:
    """A rule that the job breaks under a waiver."""

    rule: str
    because: str
    value: float
    limit: float


@dataclass(frozen=True)
class Proof:
    """What cutting the program in memory has shown; lengths in mm."""

    program_moves: int
    deepest_bite: float
    collisions: int
    left_above_plane: float
    flatness: float


@dataclass(frozen=True)
class OtherDirection:
    """The same job with its rows in the other direction: machine time of all programs (s), the feed of each (mm/min),
    and the codes that forbid it.

    `line` is the line of the job that would choose it, "" where that is not allowed or not clearly quicker.
    """

    direction: Literal["along", "across"]
    time: float
    feeds: tuple[float, ...]
    faults: tuple[str, ...] = ()
    line: str = ""


@dataclass(frozen=True)
class Built:
    """A job after its build: the plan, programs by file name, proofs by face, and all findings."""

    plan: Plan | None
    programs: Mapping[str, bytes]
    proofs: Mapping[FaceName, Proof]
    findings: Findings
    waived: tuple[Waived, ...] = ()
    #: what rows in the other direction, and more stacks or fewer, would have cost
    other_direction: OtherDirection | None = None
    seating_choices: tuple[SeatingChoice, ...] = ()
