"""What the other choices would have cost: rows in the other direction, and more stacks of leaves or fewer."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Literal

from flatwise.core.finding import Findings
from flatwise.language.description import phrase
from flatwise.model.built import Built, OtherDirection
from flatwise.model.stages import Plan
from flatwise.report.display import DisplayUnit, display_unit, duration

#: share of the machine time that the other direction must save before the sheet proposes it
CLEARLY_FASTER = 0.03


def other_direction(plan: Plan) -> OtherDirection | None:
    """The plan worked out again with rows across the grain instead of along it, or the other way round.

    None where nothing is cut, or where the other plan can't be worked out.  Only a build does this: it takes the time
    of a plan, and no check depends on it.
    """
    from flatwise.plan import plan as work_out

    if not plan.setups:
        return None
    work = plan.work
    rows = work.job.cut.rows
    direction: Literal["along", "across"] = "across" if rows.direction == "along" else "along"
    turned = rows.model_copy(update={"direction": direction})
    job = work.job.model_copy(update={"cut": work.job.cut.model_copy(update={"rows": turned})})
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
        line=f"rows {phrase(turned)}" if not faults and then < (1.0 - CLEARLY_FASTER) * now else "",
    )


def _faults(plan: Plan, findings: Findings) -> tuple[str, ...]:
    """The codes of the errors of a plan, except those that the job waives."""
    from flatwise import check

    findings, _ = check.waive(plan.work, findings + check.run(plan), whole=True)
    errors = (each for each in findings if each.severity == "error")
    return tuple(sorted({each.code for each in errors if each.rule not in plan.work.waivers}))


# -- in words for the sheet --------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class ChoiceRow:
    """A choice, the wood that it leaves and removes, and its machine time, in words."""

    choice: str
    wood: str
    time: str


def choice_rows(built: Built) -> list[ChoiceRow]:
    """The plan and what the other choices would have cost; [] where there was no other choice."""
    plan = built.plan
    assert plan is not None
    row = _direction_row(built, plan)
    return [_plan_row(plan), row] if row is not None else []


def seating_rows(built: Built, unit: DisplayUnit) -> list[dict[str, str | bool]]:
    """The best choice of each number of stacks, in words; [] where the job leaves no choice."""
    plan = built.plan
    assert plan is not None
    laid = sum(1 for shim in plan.seating.shims if shim.leaves and not shim.by_hand)
    return [
        {
            "stacks": str(each.stacks),
            "leaves": str(each.leaves),
            "most": unit(each.most_thickness),
            "rocks": f"rocks, by {unit.coarse(each.gives)}" if each.rocks else f"gives {unit.coarse(each.gives)}",
            "chosen": each.stacks == laid,
        }
        for each in built.seating_choices
        if len(built.seating_choices) > 1
    ]


def _plan_row(plan: Plan) -> ChoiceRow:
    unit, seating = display_unit(plan.work), plan.seating
    wood = _left(plan.forecast, tuple(setup.removed_mean for setup in plan.setups), unit)
    if seating is not None and not plan.work.job.stock.is_bed:
        wood += f" {_maximum(seating.most_thickness, unit)}; the best tilt would allow {unit(seating.best_thickness)}."
    return ChoiceRow("As planned", wood, f"About {duration(_time(plan))}.")


def _direction_row(built: Built, plan: Plan) -> ChoiceRow | None:
    other = built.other_direction
    if other is None:
        return None
    unit = display_unit(plan.work)
    feeds = " and ".join(sorted({unit.feed(feed) for feed in other.feeds}))
    time = _compared_time(other.time, _time(plan), other.faults)
    # the direction is the owner's choice: only they know how tool marks across the grain may look
    hint = f" If the tool marks are acceptable, write: {other.line}." if other.line else ""
    return ChoiceRow(f"Rows {other.direction} the grain", "The same wood.", f"{time} Feed {feeds}.{hint}")


def _time(plan: Plan) -> float:
    return sum(setup.time for setup in plan.setups)


def _left(forecast: float, removed: tuple[float, ...], unit: DisplayUnit) -> str:
    return f"{unit(forecast)} left, {' and '.join(unit(each) for each in removed)} removed on average."


def _maximum(most: float, unit: DisplayUnit) -> str:
    return f"At most {unit(most)} could be left in this pose"


def _compared_time(time: float, planned: float, faults: tuple[str, ...]) -> str:
    if faults:
        from flatwise.findings.pages import page

        pages = ((code, page(code)) for code in faults)
        named = (f"{code}, {found.title}" if found is not None else code for code, found in pages)
        return f"Not allowed: {'; '.join(named)}."
    apart = time - planned
    if abs(apart) < 1:
        return f"Same time: {duration(time)}."
    return f"{duration(time)}: {duration(abs(apart))} {'slower' if apart > 0 else 'faster'}."
