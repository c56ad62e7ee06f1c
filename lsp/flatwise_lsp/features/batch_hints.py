"""What an editor shows of a batch: the hints of its lines, and where each panel lies."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from math import hypot

from flatwise.core.units import show
from flatwise.model.bed import BatchPlan
from flatwise.model.stages import Holder, Plan
from flatwise.plan.neighbours import bed_place, moved, things
from flatwise.report.display import duration, machine_time
from flatwise_grammar.nodes import Block
from flatwise_lsp.features.plan_hints import Hint, short, thickness, unit_of
from flatwise_lsp.workspace.earlier_results import BatchOutcome


def batch_hints(block: Block, outcome: BatchOutcome) -> Iterator[Hint] | None:
    """The hints of a batch; None while it has no plan."""
    return _all_hints(block, outcome.plan) if outcome.plan is not None else None


def _all_hints(block: Block, plan: BatchPlan) -> Iterator[Hint]:
    for line in block.fields:
        at, word = line.span.end, line.word.text
        if word == "jobs":
            yield _time_hint(at, plan)
        elif word == "gap" and plan.batch.start is not None and len(plan.plans) > 1:
            yield _gap_hint(at, plan)
        elif word == "from":
            yield _bed_hint(at, plan)


def panel_lines(plan: BatchPlan) -> dict[str, str]:
    """For each job: where its panel lies, its size, what is left of it, and the time of its cuts."""
    found = {}
    for each in plan.plans:
        corner, size = each.work.job.zero.corner, each.work.job.stock.size
        place = f"{corner.corner} at X {show(float(corner.x), corner.x)}, Y {show(float(corner.y), corner.y)}"
        cuts = sum(one.time for setup in each.setups for one in setup.passes)
        parts = place, f"{size.length} x {size.width}", thickness(each), duration(cuts)
        found[each.work.name] = f"`{each.work.name}`: {' · '.join(parts)}"
    return found


def _time_hint(at: int, plan: BatchPlan) -> Hint:
    """The machine time, and what the jobs would take one by one."""
    time, alone = machine_time(plan), sum(machine_time(each) for each in plan.plans)
    order = [f"{face.face} face: {', '.join(each.work.name for each, _ in face.panels)}" for face in plan.faces]
    saves = [f"saves {duration(alone - time)}"] if alone - time >= 1.0 else []
    tooltip = "\n".join(("The panels are cut in this order.", *order, f"One by one they take {duration(alone)}."))
    return Hint(at, short(duration(time), *saves), tooltip)


def _gap_hint(at: int, plan: BatchPlan) -> Hint:
    """The least distance on the bed between what belongs to two panels."""
    pairs = (
        (_distance(mine, its), one, other)
        for one, other in combinations(plan.plans, 2)
        for mine in _on_bed(one)
        for its in _on_bed(other)
    )
    least, one, other = min(pairs, key=lambda pair: pair[0])
    between = f"Between {one.work.name} and {other.work.name}, clamps and dogs included."
    return Hint(at, f"{show(least, unit_of(plan.plans[0]))} at the nearest", between)


def _bed_hint(at: int, plan: BatchPlan) -> Hint:
    """The part of the bed that panels and holders take."""
    unit = unit_of(plan.plans[0])
    boxes = [thing for each in plan.plans for thing in _on_bed(each)]
    x = min(thing.x0 for thing in boxes), max(thing.x1 for thing in boxes)
    y = min(thing.y0 for thing in boxes), max(thing.y1 for thing in boxes)
    label = f"X {_span(x, unit)}, Y {_span(y, unit)}"
    where = [line.replace("`", "") for line in panel_lines(plan).values()]
    return Hint(at, label, "\n".join(("The bed that panels, clamps and dogs take.", *where)))


def _span(ends: tuple[float, float], unit: str) -> str:
    low, high = (show(end, unit) for end in ends)
    return f"{low.removesuffix(unit)} to {high}"


def _on_bed(plan: Plan) -> list[Holder]:
    """A panel and its holders in machine X and Y."""
    x, y = bed_place(plan.work)
    return [moved(thing, x, y) for thing in things(plan, "first")]


def _distance(one: Holder, other: Holder) -> float:
    """Between the boxes round two things, mm."""
    across = max(other.x0 - one.x1, one.x0 - other.x1, 0.0)
    along = max(other.y0 - one.y1, one.y0 - other.y1, 0.0)
    return hypot(across, along)
