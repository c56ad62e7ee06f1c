"""A job worked out to the end: its programs, their proofs, and what other choices would have cost."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Literal

from flatwise.core.finding import Findings
from flatwise.model.stages import FaceName, Plan


@dataclass(frozen=True)
class Waived:
    """A rule that a waiver let through."""

    rule: str
    because: str
    value: float
    limit: float


@dataclass(frozen=True)
class Proof:
    """What cutting the program in memory showed."""

    program_moves: int
    deepest_bite: float
    collisions: int
    left_above_plane: float
    flatness: float


@dataclass(frozen=True)
class OtherDirection:
    """The same job with its rows in the other direction: s of all programs, mm/min of each, codes that forbid it.

    `line` is the field of the job that would choose it, where that is allowed and clearly quicker ("": it is not).
    """

    direction: Literal["along", "across"]
    time: float
    feeds: tuple[float, ...]
    faults: tuple[str, ...] = ()
    line: str = ""


@dataclass(frozen=True)
class OtherPose:
    """The same job on the leaves of the other aim: mm left, mm that each face loses in the mean, s of all programs,
    codes that forbid it."""

    aim: str
    forecast: float
    removed: tuple[float, ...]
    time: float
    faults: tuple[str, ...] = ()


@dataclass(frozen=True)
class Built:
    """A job worked out to the end: plan, programs by file name, proofs by face, and all findings."""

    plan: Plan | None
    programs: Mapping[str, bytes]
    proofs: Mapping[FaceName, Proof]
    findings: Findings
    waived: tuple[Waived, ...] = ()
    #: what rows in the other direction would have cost, and the leaves of the other aim
    other_direction: OtherDirection | None = None
    other_pose: OtherPose | None = None
