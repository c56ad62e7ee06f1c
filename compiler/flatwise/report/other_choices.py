"""The machine time that lines of a job's `cut` cost, and what more stacks of leaves or fewer would have cost."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import floor, log10
from typing import NamedTuple

from flatwise.core.finding import has_errors
from flatwise.core.units import UNITS, Quantity, quantity, show
from flatwise.language.description import value as written_text
from flatwise.model.built import Built, Choice
from flatwise.model.job import RowsLine
from flatwise.model.stages import Plan
from flatwise.report.display import DisplayUnit, display_unit, duration, machine_time

#: the words of `cut` whose cost is worked out
WORDS = ("depth", "stepover", "finish", "rows", "rough")
#: share of the machine time that another line must save to be named
WORTH_NAMING = 0.05


def other_choices(plan: Plan, words: Iterable[str] = WORDS) -> tuple[Choice, ...]:
    """The lines that would save more than WORTH_NAMING of the machine time, what saves most first.

    For each of `words` that the job or its recipe writes, the plan is worked out again with what the limits allow
    instead, on the same leaves.  A line that gives an error is left out, unless the job waives it.  No check depends on
    this: it takes the time of some plans.
    """
    found = (_choice(plan, word, value) for word in words for value in _other_values(plan, word))
    return tuple(sorted((each for each in found if each is not None), key=lambda each: -each.saves))


def _choice(plan: Plan, word: str, value: object) -> Choice | None:
    """The choice of another value; None where it is not allowed or not worth naming."""
    from flatwise import check

    other = _planned_with(plan, word, value)
    saves = machine_time(plan) - machine_time(other) if other is not None else 0.0
    if other is None or saves <= WORTH_NAMING * machine_time(plan):
        return None
    findings, _ = check.waive(other.work, check.run(other), whole=True)
    return None if has_errors(findings) else Choice(word, f"{word} {written_text(value)}", saves, other)


def _planned_with(plan: Plan, word: str, value: object) -> Plan | None:
    """The plan with another value of a word of `cut`; None where it would take absurdly many passes."""
    from flatwise.plan import plan as work_out

    job = plan.work.job
    other = job.model_copy(update={"cut": job.cut.model_copy(update={word: value})})
    return work_out(plan.work._replace(job=other), plan.panel, plan.seating)[0]


def _other_values(plan: Plan, word: str) -> Iterator[object]:
    """The values that the limits might allow instead of what is written."""
    cut = plan.work.job.cut
    if not cut.wrote(word) or not plan.setups:
        return
    if word == "depth" and cut.depth is not None:
        yield from _deeper(_planned_with(plan, "depth", None), cut.depth)
    elif word == "finish" and cut.finish is not None:
        # a line can't take back a recipe's finish; one as deep as the other passes is no light pass
        yield from (cut.depth,) if cut.depth is not None else _deeper(plan, cut.finish)
    elif word in ("stepover", "rough") and getattr(cut, word) != "auto":
        yield "auto"
    elif word == "rows":
        yield from _other_rows(cut.rows)


def _deeper(plan: Plan | None, written: Quantity) -> Iterator[Quantity]:
    """The depth that a plan allows, rounded down to two digits in the unit of what is written; none if no deeper."""
    limits = [each.limit for setup in plan.setups for each in setup.passes] if plan is not None else []
    if not limits:
        return
    unit = written.unit or "mm"
    shown = min(limits) / UNITS[unit].worth
    digit = 10.0 ** (floor(log10(shown)) - 1)
    text = show(floor(shown / digit + 1e-6) * digit * UNITS[unit].worth, unit)
    depth = quantity(text.removesuffix(unit), unit, written.span)
    if depth > written:
        yield depth


def _other_rows(rows: RowsLine) -> Iterator[RowsLine]:
    """The rows turned, not one way, and without the round along the edge: one change each."""
    yield rows.model_copy(update={"direction": "across" if rows.direction == "along" else "along"})
    if rows.one_way:
        yield rows.model_copy(update={"one_way": None, "way": None})
    if rows.edge:
        yield rows.model_copy(update={"edge": None})


# -- in words for the sheet --------------------------------------------------------------------------------------------


class ChoiceRow(NamedTuple):
    """A line to write, the machine time that it saves, and what it changes, in words."""

    line: str
    saves: str
    changes: str


def as_planned(plan: Plan) -> str:
    """The machine time of a plan, the wood that it leaves and removes, and what the pose allows, in words."""
    unit, seating = display_unit(plan.work), plan.seating
    removed = " and ".join(unit(setup.removed_mean) for setup in plan.setups)
    said = (
        f"As planned: about {duration(machine_time(plan))}, {unit(plan.forecast)} left, {removed} removed on average."
    )
    if seating is not None and not plan.work.job.stock.is_bed:
        said += f" At most {unit(seating.most_thickness)} could be left in this pose; the best tilt would allow "
        said += f"{unit(seating.best_thickness)}."
    return said


def choice_rows(built: Built) -> list[ChoiceRow]:
    """The other choices in words."""
    plan = built.plan
    assert plan is not None
    return [ChoiceRow(each.line, duration(each.saves), _changes(plan, each)) for each in built.choices]


def _changes(plan: Plan, choice: Choice) -> str:
    """The changes of a choice: first those that only the owner can judge, then figures."""
    unit = display_unit(plan.work)
    figures = zip(_figures(plan, unit), _figures(choice.plan, unit), strict=True)
    changed = [f"{name}: {then} instead of {now}." for (name, now), (_, then) in figures if now != then]
    return " ".join([*_for_the_owner(plan, choice), *changed])


def _for_the_owner(plan: Plan, choice: Choice) -> Iterator[str]:
    before, after = plan.work.job.cut.rows, choice.plan.work.job.cut.rows
    if choice.word == "finish":
        yield "No light last pass."
    if choice.word == "rough":
        yield "The passes before the last go the quickest way."
    if before.direction != after.direction:
        yield f"The tool marks run {after.direction} the grain."
    if before.one_way != after.one_way:
        yield "The rows run to and fro."
    if before.edge != after.edge:
        yield "The cutter does not go round the edge first: wood may break out where rows leave it."


def _figures(plan: Plan, unit: DisplayUnit) -> tuple[tuple[str, str], ...]:
    """Passes, rows, ridge and feed of a plan: name and figure."""
    rows = max((len(setup.passes[-1].rows) for setup in plan.setups if setup.passes), default=0)
    return (
        ("Passes", str(sum(len(setup.passes) for setup in plan.setups))),
        ("Rows in the last pass", str(rows)),
        ("Ridge", unit(max(setup.ridge for setup in plan.setups))),
        ("Feed", " and ".join(dict.fromkeys(unit.feed(setup.feed) for setup in plan.setups))),
    )


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
