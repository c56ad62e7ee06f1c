"""What the choices that were not taken would have cost: rows in the other direction, leaves of the other aim."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from flatwise.core.finding import Findings
from flatwise.language.description import phrase
from flatwise.model.built import OtherDirection, OtherPose
from flatwise.model.stages import Plan

#: share of the machine time that another direction must save to be pointed out
CLEARLY = 0.03


def other_direction(plan: Plan) -> OtherDirection | None:
    """The plan worked out again with rows across the grain instead of along it, or the other way round.

    None where nothing is cut, or where the other plan can't be worked out at all.  Only the build asks for this:
    it costs a plan, and no check rests on it.
    """
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
    faults = _faults(other, findings)
    now, then = (sum(setup.time for setup in each.setups) for each in (plan, other))
    return OtherDirection(
        direction=direction,
        time=then,
        feeds=tuple(setup.feed for setup in other.setups),
        faults=faults,
        line=f"pattern {phrase(turned)}" if not faults and then < (1.0 - CLEARLY) * now else "",
    )


def other_aim(plan: Plan) -> OtherPose | None:
    """The plan worked out again with the leaves that the other aim would lay.

    None where there is nothing to choose, or where those leaves leave less than natural ones and would not be laid.
    """
    from flatwise.plan import plan as work_out
    from flatwise.seat import seat

    seating, supports = plan.seating, plan.work.job.supports
    if not plan.setups or seating is None or seating.other is None or supports is None:
        return None
    aimed = supports.model_copy(update={"aim": seating.other.aim})
    work = replace(plan.work, job=plan.work.job.model_copy(update={"supports": aimed}))
    posed, seat_findings = seat(work, plan.panel)
    if posed is None or posed.aim != seating.other.aim:
        return None
    other, findings = work_out(work, plan.panel, posed)
    if other is None:
        return None
    return OtherPose(
        aim=posed.aim,
        forecast=other.forecast,
        removed=tuple(setup.removed_mean for setup in other.setups),
        time=sum(setup.time for setup in other.setups),
        faults=_faults(other, seat_findings + findings),
    )


def _faults(plan: Plan, findings: Findings) -> tuple[str, ...]:
    """The codes that forbid a plan, beside those that the job waives."""
    from flatwise import check

    findings, _ = check.waive(plan.work, findings + check.run(plan), whole=True)
    errors = (each for each in findings if each.severity == "error")
    return tuple(sorted({each.code for each in errors if each.rule not in plan.work.waivers}))
