"""Inlay hints of a job: the results of its plan, at the ends of the lines that they follow from."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from flatwise.core.finding import has_errors
from flatwise.core.units import Quantity, feed_unit, fixed, show
from flatwise.core.wording import listed
from flatwise.model.stages import Plan, Setup, Shim
from flatwise.plan.rows import stepover
from flatwise.report.display import duration, leaf_stack
from flatwise_grammar.nodes import Block, Field, Name, Span
from flatwise_lsp.workspace.earlier_results import JobOutcome
from flatwise_lsp.workspace.tree_search import block_words

#: the most characters of a hint, so that the line it stands on stays in sight
MOST_LABEL = 40


class Hint(NamedTuple):
    """A few words at the end of a line, with more in a tooltip."""

    offset: int
    label: str
    tooltip: str


def short(first: str, *more: str) -> str:
    """The first part of a hint, and those after it for which it has room."""
    label = first
    for part in more:
        if len(label) + len(part) + 2 <= MOST_LABEL:
            label += f", {part}"
    return label


def unit_of(plan: Plan) -> str:
    """The unit in which the panel's thickness is written."""
    return plan.work.job.stock.size.thickness.unit or "mm"


def thickness(plan: Plan) -> str:
    """The thickness that a job leaves, with its ±."""
    unit = unit_of(plan)
    return f"{show(plan.forecast, unit)} ± {show(plan.plus_minus, unit, 2)} left"


def job_hints(block: Block, outcome: JobOutcome) -> Iterator[Hint] | None:
    """The hints of a job; None while it has no plan."""
    return _all_hints(block, outcome, outcome.plan) if outcome.plan is not None else None


def _all_hints(block: Block, outcome: JobOutcome, plan: Plan) -> Iterator[Hint]:
    yield from _leaf_hints(block, outcome, plan)
    for part in block.blocks:
        kind = block_words(part)[0]
        for line in part.fields:
            word = line.word.text
            if kind == "cut" and word in ("feed", "speed", "stepover"):
                yield from _auto_hints(line, plan)
    yield from _face_hints(block, outcome, plan)


def _leaf_hints(block: Block, outcome: JobOutcome, plan: Plan) -> Iterator[Hint]:
    """The leaves that the compiler has chosen, at the line that names their places.

    Those of places that only the recipe names are at the survey, from which they follow.
    """
    chosen = [(shim, outcome.place(shim.span)) for shim in plan.seating.shims if not shim.by_hand]
    for part in block.blocks:
        for line in part.fields:
            if (block_words(part)[0], line.word.text) == ("supports", "shims"):
                yield from _leaf_hint(line.span.end, [shim for shim, at in chosen if _is_in(line.span, at)], plan)
        if block_words(part)[0] == "survey":
            inherited = [shim for shim, at in chosen if not _is_in(block.span, at)]
            yield from _leaf_hint(part.head_span.end, inherited, plan)


def _leaf_hint(at: int, shims: Sequence[Shim], plan: Plan) -> Iterator[Hint]:
    if not shims:
        return
    unit = unit_of(plan)
    laid = [shim for shim in shims if shim.leaves]
    stacks = "; ".join(f"{shim.place} {leaf_stack(plan.work, shim.leaves)}" for shim in laid)
    label = stacks or "no leaves needed"
    if len(label) > MOST_LABEL:
        highest = show(max(shim.height for shim in laid), unit)
        label = f"leaves at {len(laid)} place{'s' * (len(laid) != 1)}, up to {highest}"
    gaps = [f"{show(shim.gap_left, unit)} at {shim.place}" for shim in shims if shim.gap_left > 0.0005]
    supports = plan.work.job.supports
    aim = f"Aim: {supports.aim.replace('_', ' ')}." if supports is not None else ""
    most = f"In this pose at most {show(plan.seating.most_thickness, unit)} can be left."
    gap = f"A feeler gauge will still find {listed(gaps, 'and')}." if gaps else "No gap remains at these places."
    yield Hint(at, label, " ".join(filter(None, (f"{stacks}." if stacks else "", aim, most, gap))))


def _is_in(around: Span, span: Span | None) -> bool:
    return span is not None and span.path == around.path and around.start <= span.start <= around.end


def _face_hints(block: Block, outcome: JobOutcome, plan: Plan) -> Iterator[Hint]:
    """What comes off each face, and what the last one leaves.

    A face that only the recipe writes has its hint where the job gives its thickness, else at the job's header.
    """
    faces = [part for part in block.blocks if block_words(part)[0] == "faces"]
    written = {line.word.text: line.span.end for part in faces for line in part.fields}
    at_header: list[Hint] = []
    for setup in plan.setups:
        hint = _face_hint(setup, outcome, plan)
        at = written.get(setup.face, _where_given(block, outcome, setup))
        if at is None:
            at_header.append(hint)
        else:
            yield hint._replace(offset=at)
    if at_header:
        tooltip = "\n".join(hint.tooltip for hint in at_header)
        yield Hint(block.head_span.end, at_header[-1].label, tooltip)


def _where_given(block: Block, outcome: JobOutcome, setup: Setup) -> int | None:
    """The end of the line that gives a recipe a value for a face."""
    asked = getattr(outcome.work.job.faces, setup.face)
    values = vars(asked).values() if asked is not None else ()
    places = [outcome.place(value.span) for value in values if isinstance(value, Quantity)]
    return next((line.span.end for line in block.fields if any(_is_in(line.span, at) for at in places)), None)


def _face_hint(setup: Setup, outcome: JobOutcome, plan: Plan) -> Hint:
    unit = unit_of(plan)
    removes, left = f"removes {_removal_text(setup, unit)}", ""
    if setup is plan.setups[-1] and not plan.work.job.stock.is_bed and not has_errors(outcome.findings):
        left = thickness(plan)
    passes = f"{len(setup.passes)} pass{'es' * (len(setup.passes) != 1)}" if setup.passes else "no pass"
    whole = f"{setup.face} face: " + ", ".join(filter(None, (left, removes, duration(setup.time), passes)))
    each = (
        f"pass {number}: plane {show(one.plane, unit)} above the bed, bite {show(one.depth, unit)}"
        + (", finish" if one.finish else "")
        + f", {duration(one.time)}"
        for number, one in enumerate(setup.passes, 1)
    )
    return Hint(0, short(left or removes, duration(setup.time), passes), "\n".join((whole, *each)))


def _removal_text(setup: Setup, unit: str) -> str:
    least, most = show(setup.removed_least, unit, 3), show(setup.removed_most, unit, 3)
    return f"{least.removesuffix(unit)} to {most}" if least != most else most


def _auto_hints(line: Field, plan: Plan) -> Iterator[Hint]:
    """The feed, speed or stepover that was chosen for each face, where the line says `auto`."""
    item = line.items[0] if len(line.items) == 1 else None
    if not isinstance(item, Name) or item.text != "auto" or not plan.setups:
        return
    tooltip = "Calculated from the limits of the job."
    if line.word.text == "stepover":
        shares = [stepover(plan.work, rough=rough) / float(plan.work.cutter.diameter) for rough in (True, False)]
        yield Hint(line.span.end, "up to {:.0%}, in the last pass {:.0%}".format(*shares), tooltip)
        return
    if line.word.text == "speed":
        chosen, limits = [f"{fixed(setup.speed)}rpm" for setup in plan.setups], [""] * len(plan.setups)
    else:
        rate = feed_unit(plan.work.job.stock.size.thickness)
        chosen = [show(setup.feed, rate) for setup in plan.setups]
        limits = [f"limited by {setup.feed_limit.replace('_', ' ')}" for setup in plan.setups]
    by_face = [f"{setup.face} {text}" for setup, text in zip(plan.setups, chosen, strict=True)]
    same = len(set(zip(chosen, limits, strict=True))) == 1
    if limits[0]:
        tooltip += "".join(f"\n{text}, {limit}" for text, limit in zip(by_face, limits, strict=True))
    yield Hint(line.span.end, short(chosen[0], *filter(None, limits[:1])) if same else "; ".join(by_face), tooltip)
