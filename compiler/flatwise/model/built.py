"""The result of a build: programs, their proofs, and what other choices would have cost."""

from __future__ import annotations

from collections.abc import Mapping
from typing import NamedTuple

from flatwise.core.finding import Findings
from flatwise.model.bed import BatchPlan
from flatwise.model.stages import FaceName, Plan, SeatingChoice


class Waived(NamedTuple):
    """A rule that the job breaks under a waiver."""

    rule: str
    because: str
    value: float
    limit: float


class Proof(NamedTuple):
    """Results of cutting the program in memory; lengths in mm."""

    program_moves: int
    deepest_bite: float
    collisions: int
    left_above_plane: float
    flatness: float


class Choice(NamedTuple):
    """A line of `cut` that would save machine time instead of the one written for its word, with nothing else changed.

    `saves` is over all programs (s), `plan` the plan of the job with that line.
    """

    word: str
    line: str
    saves: float
    plan: Plan


class Built(NamedTuple):
    """A job after its build: the plan, programs by file name, proofs by face, and all findings."""

    plan: Plan | None
    programs: Mapping[str, bytes]
    proofs: Mapping[FaceName, Proof]
    findings: Findings
    waived: tuple[Waived, ...] = ()
    #: the lines that would save machine time, and what more stacks or fewer would have cost
    choices: tuple[Choice, ...] = ()
    seating_choices: tuple[SeatingChoice, ...] = ()


class BuiltBatch(NamedTuple):
    """A batch after its build: the plan of the bed, programs by file name, and all findings.

    `panels` in the order of the jobs, each with its own findings and proofs, and the programs that cut it.
    """

    plan: BatchPlan | None
    programs: Mapping[str, bytes]
    panels: tuple[Built, ...]
    findings: Findings
