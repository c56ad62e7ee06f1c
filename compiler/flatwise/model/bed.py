"""The data of a batch as stages hand it on: its jobs, and the plans of all panels in their places on one bed."""

from __future__ import annotations

from typing import NamedTuple

from flatwise.model.job import Corner
from flatwise.model.stages import FaceName, Plan, Setup, Work
from flatwise.model.words import DeclaredName
from flatwise_grammar.nodes import Span


class BatchWork(NamedTuple):
    """A batch with the works of its jobs, in the order written."""

    name: str
    path: str
    span: Span
    works: tuple[Work, ...]
    #: the jobs' names where the batch lists them
    names: tuple[DeclaredName, ...]
    #: with `start`: mm between what belongs to two panels
    gap: float
    #: where the corner of the first panel lies, if the panels are laid in rows
    start: Corner | None

    @property
    def sources(self) -> tuple[tuple[str, str], ...]:
        """(path relative to the root, sha256) of every file that was used, the first job's own first."""
        return tuple(dict.fromkeys(source for work in self.works for source in work.sources))


class BatchFace(NamedTuple):
    """One program: the panels that it cuts in their order, and its machine time (s).

    X 0, Y 0 of all setups is the first job's corner; they have one lift, one speed and one place to touch off.
    """

    face: FaceName
    panels: tuple[tuple[Plan, Setup], ...]
    time: float


class BatchPlan(NamedTuple):
    """Everything that will happen to the panels of a batch; `plans` in the order of the jobs."""

    batch: BatchWork
    plans: tuple[Plan, ...]
    faces: tuple[BatchFace, ...]
