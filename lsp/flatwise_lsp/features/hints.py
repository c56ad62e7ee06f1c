"""Inlay hints and code lenses: what the compiler worked out, beside the line that asked for it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from flatwise.core.units import Quantity, show
from flatwise.core.wording import listed
from flatwise.model.stages import FaceName, Plan, Setup
from flatwise.report.job_text import minutes, stack
from flatwise_grammar.nodes import Block, Field, Name, Span
from flatwise_lsp.workspace.analysis import Outcome
from flatwise_lsp.workspace.view import View, block_words, owner_of


class Hint(NamedTuple):
    """A few words at the end of a line, and more for whoever points at them."""

    offset: int
    label: str
    tooltip: str


class Lens(NamedTuple):
    """A line above a job; `command` is build, sheet or "" for words alone."""

    span: Span
    title: str
    command: str
    job: str


def _jobs(view: View) -> Iterator[tuple[Block, Name, Outcome]]:
    """The jobs of a document that were worked out."""
    if view.analysis is None:
        return
    for block in view.tree.blocks:
        name = owner_of(block)
        if block.kind == "job" and name is not None and (outcome := view.analysis.outcomes.get(name.text)) is not None:
            yield block, name, outcome


def hints(view: View, start: int, end: int) -> list[Hint]:
    """The hints between two offsets."""
    found: list[Hint] = []
    for block, _, outcome in _jobs(view):
        if outcome.plan is not None and block.span.start < end and block.span.end > start:
            for part in block.blocks:
                found.extend(_block_hints(part, outcome.plan))
    return [hint for hint in found if start <= hint.offset <= end]


def _block_hints(block: Block, plan: Plan) -> Iterator[Hint]:
    words = block_words(block)
    for field in block.fields:
        key = (words[0], field.word.text)
        if key == ("supports", "shims"):
            yield from _leaves(field, plan)
        elif words[0] == "faces" and field.word.text in ("first", "second"):
            yield from _face(field, plan, "first" if field.word.text == "first" else "second")
        elif words[0] == "cut":
            yield from _cut(field, plan)


def _leaves(field: Field, plan: Plan) -> Iterator[Hint]:
    """The leaves chosen for the places of one line."""
    if plan.seating is None:
        return
    shims = [shim for shim in plan.seating.shims if _on(field, shim.span) and not shim.by_hand]
    laid = [shim for shim in shims if shim.leaves]
    if not shims:
        return
    unit = _unit(plan)
    said = [f"{shim.place} {stack(plan.work, shim.leaves)}" for shim in laid]
    rest = [f"{show(shim.gap_left, unit)} at {shim.place}" for shim in shims if shim.gap_left > 0.0005]
    aim = f"Aim: {plan.seating.aim.replace('_', ' ')}. " if plan.seating.aim else ""
    tooltip = f"{aim}At most {show(plan.seating.most_thickness, unit)} could be left in this pose. " + (
        f"A feeler will still find {listed(rest, 'and')}." if rest else "No gap is left under the leaves."
    )
    yield Hint(field.span.end, "; ".join(said) if said else "no leaf needed", tooltip)


def _on(field: Field, span: Span) -> bool:
    return span.path == field.span.path and field.span.start <= span.start <= field.span.end


def _unit(plan: Plan) -> str:
    """The unit in which the panel's size was written."""
    thickness = plan.work.job.stock.size.thickness
    return thickness.unit if isinstance(thickness, Quantity) else "mm"


def _face(field: Field, plan: Plan, face: FaceName) -> Iterator[Hint]:
    setup = next((one for one in plan.setups if one.face == face), None)
    if setup is None:
        return
    unit = _unit(plan)
    parts = [passes_shown(setup, unit), f"takes off {_off(setup, unit)}", minutes(setup.time)]
    if setup is plan.setups[-1] and not plan.work.job.stock.is_bed:
        parts.append(f"leaves {show(plan.forecast, unit)} ± {show(plan.plus_minus, unit, 2)}")
    tooltip = "\n".join(
        f"pass {number}: plane {show(one.plane, unit)} above the bed, bite {show(one.depth, unit)}"
        + (", finish" if one.finish else "")
        + f", {minutes(one.time)}"
        for number, one in enumerate(setup.passes, 1)
    )
    yield Hint(field.span.end, ", ".join(parts), tooltip)


def passes_shown(setup: Setup, unit: str) -> str:
    """`3 passes: 0.4 + 0.5 + 0.2mm`."""
    bites = [show(one.depth, unit).removesuffix(unit) for one in setup.passes]
    if not bites:
        return "no pass"
    return f"{len(bites)} pass{'es' * (len(bites) > 1)}: {' + '.join(bites)}{unit}"


def _off(setup: Setup, unit: str) -> str:
    least, most = show(setup.removed_least, unit, 3), show(setup.removed_most, unit, 3)
    return f"{least} to {most}" if least != most else most


def _cut(field: Field, plan: Plan) -> Iterator[Hint]:
    auto = len(field.items) == 1 and isinstance(field.items[0], Name) and field.items[0].text == "auto"
    if not auto or field.word.text not in ("feed", "speed"):
        return
    said = []
    for setup in plan.setups:
        if field.word.text == "speed":
            said.append(f"{setup.speed:.0f}rpm")
        else:
            said.append(f"{setup.feed:.0f}mm/min, stopped by {setup.feed_limit.replace('_', ' ')}")
    if said:
        each = "; ".join(f"{setup.face} {one}" for setup, one in zip(plan.setups, said, strict=True))
        label = said[0] if len(set(said)) == 1 else each
        yield Hint(field.span.end, label, "Worked out by the compiler.")


def lenses(view: View) -> list[Lens]:
    """Above each job: what it comes to, and what can be done with it."""
    found = []
    for block, name, outcome in _jobs(view):
        plan = outcome.plan
        if plan is None:
            continue
        unit = _unit(plan)
        count = sum(len(setup.passes) for setup in plan.setups)
        time = minutes(sum(setup.time for setup in plan.setups))
        left = f"{show(plan.forecast, unit)} ± {show(plan.plus_minus, unit, 2)} left"
        summary = f"{left} · {count} pass{'es' * (count != 1)} · {time}"
        found.append(Lens(block.head_span, summary, "", name.text))
        found.append(Lens(block.head_span, "build", "build", name.text))
        found.append(Lens(block.head_span, "open the sheet", "sheet", name.text))
    return found
