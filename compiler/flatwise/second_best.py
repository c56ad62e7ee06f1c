"""What the choice that was not taken would have cost: the same job with its rows in the other direction."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from flatwise.stages import OtherDirection, Plan


def other_direction(plan: Plan) -> OtherDirection | None:
    """The plan worked out again with rows across the grain instead of along it, or the other way round.

    None where nothing is cut, or where the other plan can't be worked out at all.  Only the build asks for this:
    it costs a plan, and no check rests on it.
    """
    from flatwise import check
    from flatwise.plan import plan as work_out

    if not plan.setups:
        return None
    work = plan.work
    pattern = work.job.cut.pattern
    direction: Literal["along", "across"] = "across" if pattern.direction == "along" else "along"
    turned = pattern.model_copy(update={"direction": direction})
    job = work.job.model_copy(update={"cut": work.job.cut.model_copy(update={"pattern": turned})})
    other, findings = work_out(replace(work, job=job), plan.panel, plan.seating)
    if other is None:
        return None
    findings, _ = check.waive(other.work, findings + check.run(other), whole=True)
    return OtherDirection(
        direction=direction,
        time=sum(setup.time for setup in other.setups),
        feeds=tuple(setup.feed for setup in other.setups),
        faults=tuple(
            sorted({each.code for each in findings if each.severity == "error" and each.rule not in work.waivers})
        ),
    )
