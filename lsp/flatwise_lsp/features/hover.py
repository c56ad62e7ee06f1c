"""Hover: what is at an offset, in words, with the numbers of the job around it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import NamedTuple

from flatwise.core.units import feed_unit, fixed, quantity, show, show_apart
from flatwise.language import description
from flatwise.language.items import join_units
from flatwise.language.phrase_shape import EdgePlace, Measure, PanelPlace, ValueKind
from flatwise.model.kinds import KINDS
from flatwise.model.stages import Holder, Plan
from flatwise.model.words import OTHER_SPELLINGS, PLACES
from flatwise.report.display import duration, machine_time
from flatwise_grammar.nodes import Block, Field, Item, Name, NumberWithUnit, Span
from flatwise_lsp.features import documentation, file_links
from flatwise_lsp.features.batch_hints import panel_lines
from flatwise_lsp.features.declared_names import Declared, mention_at
from flatwise_lsp.features.results import batch_summary, job_summary
from flatwise_lsp.workspace.earlier_results import JobOutcome
from flatwise_lsp.workspace.phrase_trace import kind_at
from flatwise_lsp.workspace.tree_search import NodePath, contains, item_at, model_of_blocks, node_at
from flatwise_lsp.workspace.view import View


class HoverPage(NamedTuple):
    """Markdown, and the stretch of text that it explains."""

    span: Span
    markdown: str


def hover(view: View, offset: int) -> HoverPage | None:
    """Explain what is at an offset, with the lines that would save machine time instead of one of `cut`."""
    if any(contains(use.span, offset) for use in view.tree.uses):
        link = file_links.find_link(view, offset)
        return HoverPage(link.span, file_links.used_file_page(view, link)) if link is not None else None
    path = node_at(view.tree, offset)
    page = _page_at(view, path, offset) if path is not None else None
    if page is None or path is None or not isinstance(path.node, Field) or path.blocks[-1].kind != "cut":
        return page
    outcome = view.outcome_of(path.blocks[0])
    if outcome is None or outcome.plan is None:
        return page
    whole = duration(machine_time(outcome.plan))
    choices = outcome.choices(path.node.word.text)
    savings = [f"`{each.line}` would save {duration(each.saves)} of {whole} of machine time." for each in choices]
    return page._replace(markdown="\n\n".join([page.markdown, *savings]))


def takes_time(view: View, offset: int) -> bool:
    """Whether `hover` there reads other files, or plans the job anew for the lines that would save machine time."""
    if any(contains(use.span, offset) for use in view.tree.uses):
        return True
    path = node_at(view.tree, offset)
    if path is None or not isinstance(path.node, Field) or path.blocks[-1].kind != "cut":
        return False
    outcome = view.outcome_of(path.blocks[0])
    return outcome is not None and outcome.has_choices and path.node.word.text not in outcome.asked


def _page_at(view: View, path: NodePath, offset: int) -> HoverPage | None:
    mention = mention_at(view, offset)
    if isinstance(path.node, Block):
        return _header_page(view, path, path.node, offset, mention.declared if mention else None)
    line = path.node
    if contains(line.word.span, offset):
        if path.model is not None and path.shape is not None:
            return HoverPage(line.word.span, documentation.word_page(path.model, line.word.text))
        if mention is not None and mention.declared.kind == "parameter":
            return HoverPage(line.word.span, f"`{mention.declared.name}` is a parameter of the recipe.")
        return None
    if mention is not None:
        return HoverPage(mention.span, _name_text(view, mention.declared, path))
    item = item_at(join_units(line.items), offset)
    return _value_page(path, line, item) if item is not None else None


def _header_page(view: View, path: NodePath, block: Block, offset: int, declared: Declared | None) -> HoverPage | None:
    item = item_at(block.head, offset) if contains(block.head_span, offset) else None
    if item is None:
        return None
    if declared is not None and declared.name == getattr(item, "text", ""):
        return HoverPage(item.span, _name_text(view, declared, path))
    if not path.blocks:
        return HoverPage(item.span, documentation.kind_page(block.kind)) if block.kind in KINDS else None
    made = model_of_blocks(path.open_blocks)
    return HoverPage(block.head_span, documentation.block_page(made)) if made is not None else None


# -- names


def _name_text(view: View, declared: Declared, path: NodePath) -> str:
    kind, name, _ = declared
    if kind == "parameter":
        return f"`{name}` is a parameter of the recipe: each job made from the recipe gives its value."
    declaration = view.meaning.linked.find(kind, name, view.name)
    page = documentation.declaration_page(kind, name, declaration)
    parts = [
        *_results(view, declared, path),
        page or f"No {kind} `{name}` is declared in this file or in the files it uses.",
    ]
    outcome = view.outcome_of(path.open_blocks[0])
    if outcome is not None and outcome.plan is not None:
        parts.extend(_in_this_job(outcome, outcome.plan, declared, path))
    return "\n\n".join(parts)


def _results(view: View, declared: Declared, path: NodePath) -> Iterator[str]:
    """The result of a job or a batch, and where panels lie: all of a batch, or one that the batch around it lists."""
    if view.analysis is None or declared.at is None or declared.at.path != view.name:
        return
    job, batch = view.analysis.outcomes.get(declared.name), view.analysis.batches.get(declared.name)
    if declared.kind == "job" and job is not None:
        yield f"**{job_summary(job)}**"
        around = view.batch_of(path.open_blocks[0])
        if around is not None and around.plan is not None:
            yield panel_lines(around.plan)[declared.name]
    elif declared.kind == "batch" and batch is not None:
        yield f"**{batch_summary(view, batch)}**"
        if batch.plan is not None:
            yield "\n".join(f"- {line}" for line in panel_lines(batch.plan).values())


def _in_this_job(outcome: JobOutcome, plan: Plan, declared: Declared, path: NodePath) -> Iterator[str]:
    """How a declaration is used in the job around it."""
    work = plan.work
    if declared.kind == "cutter" and declared.name == work.cutter.name:
        chips = work.cutter.chip_load
        rate = feed_unit(work.job.stock.size.thickness)
        for setup in plan.setups:
            yield (
                f"**In this job, {setup.face} face:** {fixed(setup.speed)}rpm, feed {show(setup.feed, rate)} "
                f"(limited by {setup.feed_limit.replace('_', ' ')}), rim speed {fixed(setup.rim_speed, 1)}m/s, "
                f"chip load {show(setup.chip_load, chips.least, 3)} (range {chips.least} to {chips.most}), "
                f"power {fixed(setup.power)}W (an estimate)"
            )
    if declared.kind in ("clamp", "dog") and isinstance(path.node, Field):
        for holder in work.holders:
            at = outcome.place(holder.span)
            if holder.kind == declared.kind and at is not None and contains(path.node.span, at.start):
                yield from (
                    f"**{holder.edge.capitalize()} edge at {holder.at}:** {line}" for line in clearances(plan, holder)
                )


def clearances(plan: Plan, holder: Holder) -> Iterator[str]:
    """How high a holder is compared with the plane that is cut, for each face."""
    rule, unit = plan.work.rules.clearance, plan.work.job.stock.size.thickness
    for setup in plan.setups:
        over = setup.plane - holder.height
        if over >= rule:
            text = f"the cutter passes {show(over, unit)} above it"
        elif over > 0:
            above, least = show_apart(over, rule, unit)
            text = f"the plane is only {above} above it (rule: {least}), so the cutter passes beside it"
        else:
            text = f"it is {show(-over, unit)} higher than the plane, so the cutter passes beside it"
        yield f"{setup.face} face: {text}"


# -- values


def _value_page(path: NodePath, line: Field, item: Item) -> HoverPage | None:
    shape = path.shape
    kind = kind_at(shape, line.items, item.span) if shape is not None else None
    if isinstance(item, NumberWithUnit):
        return _quantity_page(item, kind)
    if isinstance(item, Name) and isinstance(kind, PanelPlace):
        at = PLACES.get(OTHER_SPELLINGS.get(item.text, item.text))
        if at is not None:
            where = f"at {at[0]:.0%} of the length from the left and {at[1]:.0%} of the width from the front."
            return HoverPage(item.span, f"`{item.text}`: {where}")
    if shape is not None and path.model is not None:
        return HoverPage(item.span, documentation.word_page(path.model, shape.word))
    return None


def _quantity_page(item: NumberWithUnit, kind: ValueKind | None) -> HoverPage | None:
    try:
        value = quantity(item.number, item.unit)
    except (KeyError, ValueError, ZeroDivisionError):
        return None
    parts = [" = ".join([f"`{item.number}{item.unit}`", *documentation.in_other_units(float(value), item.unit)])]
    if isinstance(kind, Measure) and (bounds := description.limits(kind)):
        parts.append(f"*Bounds:* {bounds}")
    if isinstance(kind, EdgePlace):
        parts.append("Along the edge, from its left or front end.")
    return HoverPage(item.span, "\n\n".join(parts))
