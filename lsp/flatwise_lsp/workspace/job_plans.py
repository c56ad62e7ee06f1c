"""The plans of jobs by themselves, from earlier checks: one that is checked again with another job needs no new one."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, NamedTuple

from flatwise.model.stages import Shim, Work
from flatwise_grammar.nodes import Span
from flatwise_lsp.workspace.file_jobs import FileJobs
from flatwise_lsp.workspace.shifted_findings import BlockShift, shift_finding

if TYPE_CHECKING:
    from flatwise.pipeline import Planned


class _Known(NamedTuple):
    depends_on: object
    starts: list[int]
    planned: Planned


class JobPlans:
    """The last plan of each job of each file."""

    def __init__(self) -> None:
        self._known: dict[Path, dict[str, _Known]] = {}
        #: how many jobs were planned anew
        self.made = 0

    def forget(self, path: Path) -> None:
        """Drop the plans of a file that is no longer checked."""
        self._known.pop(path, None)

    def planner(self, path: Path, jobs: FileJobs) -> Callable[[Work], Planned]:
        """Plan a job of a file, or recall its plan if nothing that it depends on has changed."""
        from flatwise import pipeline

        known = self._known.setdefault(path, {})
        for name in known.keys() - jobs.alone.keys():
            del known[name]

        def planned(work: Work) -> Planned:
            block = jobs.alone.get(work.name)
            if block is None:
                self.made += 1
                return pipeline.plan_job(work)
            corner = work.job.zero.corner  # which a batch may imply
            depends_on = jobs.context, jobs.own([block]), corner.corner, float(corner.x), float(corner.y)
            before, starts = known.get(work.name), jobs.starts([block])
            if before is not None and before.depends_on == depends_on:
                made = _moved(before.planned, work, BlockShift(before.starts, starts))
            else:
                self.made += 1
                made = pipeline.plan_job(work)
            known[work.name] = _Known(depends_on, starts, made)
            return made

        return planned


def _moved(planned: Planned, work: Work, shift: BlockShift) -> Planned:
    """The plan of a job with the places of a newer text, in which `work` was read."""

    def place(span: Span) -> Span | None:
        return shift.span(span) if span.path == work.path else span

    panel, seating, plan, findings = planned
    found = tuple(one for finding in findings if (one := shift_finding(finding, place)) is not None)
    if seating is None or plan is None:
        return panel, seating, plan, found

    def shims(laid: tuple[Shim, ...]) -> tuple[Shim, ...]:
        return tuple(shim._replace(span=place(shim.span) or shim.span) for shim in laid)

    seating = seating._replace(shims=shims(seating.shims))
    setups = (setup._replace(holders=work.holders, shims=shims(setup.shims)) for setup in plan.setups)
    return panel, seating, plan._replace(work=work, seating=seating, setups=tuple(setups)), found
