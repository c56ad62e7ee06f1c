"""Hover and signature help: what stands here, in words, with the numbers of this very job."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import NamedTuple

from flatwise.core.units import quantity, show
from flatwise.language import description as spoken
from flatwise.language.items import joined
from flatwise.language.phrase_shape import (
    EdgePlace,
    Fixed,
    Measure,
    PhrasePart,
    Sign,
    ValueKind,
    WordShape,
    block_shape,
)
from flatwise.language.phrase_shape import PanelPlace as PlaceKind
from flatwise.model.kinds import KINDS
from flatwise.model.stages import Holder, Plan
from flatwise.model.words import PLACES
from flatwise_grammar.nodes import Block, Field, Item, Name, NumberWithUnit, Span
from flatwise_lsp.features import word_pages as words
from flatwise_lsp.features.names import Meant, meant_at
from flatwise_lsp.features.phrases import kind_at, wanted
from flatwise_lsp.workspace.cursor import place_at
from flatwise_lsp.workspace.view import Spot, View, inside, item_at, model_of_blocks, spot_at


class Page(NamedTuple):
    """What to show, in Markdown, and of which stretch."""

    span: Span
    markdown: str


def hover(view: View, offset: int) -> Page | None:
    """What stands at an offset."""
    spot = spot_at(view.tree, offset)
    if spot is None:
        return None
    mention = meant_at(view, offset)
    if isinstance(spot.node, Block):
        return _header(view, spot, offset, mention.meant if mention else None)
    field = spot.node
    if inside(field.word.span, offset):
        made = spot.model
        if made is not None and spot.shape is not None:
            return Page(field.word.span, words.word_page(made, field.word.text))
        if mention is not None and mention.meant.kind == "parameter":
            return Page(field.word.span, f"`{mention.meant.name}` is a parameter of the recipe.")
        return None
    if mention is not None:
        return Page(mention.span, _name_page(view, mention.meant, spot, offset))
    item = item_at(joined(field.items), offset)
    return _value(spot, field, item) if item is not None else None


def _header(view: View, spot: Spot, offset: int, meant: Meant | None) -> Page | None:
    block = spot.node
    assert isinstance(block, Block)
    if not inside(block.head_span, offset):
        return None
    item = item_at(block.head, offset)
    if item is None:
        return None
    if meant is not None and meant.name == getattr(item, "text", ""):
        return Page(item.span, _name_page(view, meant, spot, offset))
    if not spot.blocks:
        return Page(item.span, words.kind_page(block.kind)) if block.kind in KINDS else None
    made = model_of_blocks(spot.inner)
    return Page(block.head_span, words.block_page(made)) if made is not None else None


# -- names -----------------------------------------------------------------------------------------------------------


def _name_page(view: View, meant: Meant, spot: Spot, offset: int) -> str:
    if meant.kind == "parameter":
        return f"`{meant.name}` is a parameter of the recipe: each job made from it gives its value."
    declaration = view.meaning.linked.find(meant.kind, meant.name, view.name)
    parts = [words.declaration_page(meant.kind, meant.name, declaration)]
    if not parts[0]:
        parts = [f"No {meant.kind} `{meant.name}` is declared in this file or in those it uses."]
    outcome = view.outcome_at(offset)
    plan = outcome.plan if outcome is not None else None
    if plan is not None:
        parts.extend(_here(plan, meant, spot))
    return "\n\n".join(part for part in parts if part)


def _here(plan: Plan, meant: Meant, spot: Spot) -> Iterator[str]:
    """What a declaration comes to in this job."""
    work = plan.work
    if meant.kind == "cutter" and meant.name == work.cutter.name:
        for setup in plan.setups:
            chips = work.cutter.chip_load
            yield (
                f"**{setup.face} face here:** {setup.speed:.0f}rpm, feed {setup.feed:.0f}mm/min "
                f"(stopped by {setup.feed_limit.replace('_', ' ')}), rim speed {setup.rim_speed:.1f}m/s, chip load "
                f"{setup.chip_load:.3f}mm (range {chips.least} to {chips.most}), power {setup.power:.0f}W (an estimate)"
            )
    if meant.kind in ("clamp", "dog") and isinstance(spot.node, Field):
        for holder in work.holders:
            if holder.kind == meant.kind and inside(spot.node.span, holder.span.start):
                yield from (f"**{_where(holder)}:** {line}" for line in clearances(plan, holder))


def _where(holder: Holder) -> str:
    return f"{holder.edge} at {holder.at}"


def clearances(plan: Plan, holder: Holder) -> Iterator[str]:
    """How a holder stands to the plane in each setup."""
    need = plan.work.rules.clearance
    for setup in plan.setups:
        over = setup.plane - holder.height
        if over >= need:
            said = f"the cutter passes {show(over)} above it"
        elif over > 0:
            said = f"the plane is only {show(over)} above it (rule: {show(need)}), so the cutter keeps beside it"
        else:
            said = f"it stands {show(-over)} above the plane, so the cutter keeps beside it"
        yield f"{setup.face} face: {said}"


# -- values ----------------------------------------------------------------------------------------------------------


def _value(spot: Spot, field: Field, item: Item) -> Page | None:
    shape = spot.shape
    kind = kind_at(shape, field.items, item.span) if shape is not None else None
    if isinstance(item, NumberWithUnit):
        return _quantity(item, kind)
    if isinstance(item, Name) and isinstance(kind, PlaceKind):
        at = PLACES.get("centre" if item.text == "center" else item.text)
        if at is not None:
            said = f"{at[0]:.0%} of the length from the left, {at[1]:.0%} of the width from the front."
            return Page(item.span, f"`{item.text}`: {said}")
    if shape is not None and spot.model is not None:
        return Page(item.span, words.word_page(spot.model, shape.word))
    return None


def _quantity(item: NumberWithUnit, kind: ValueKind | None) -> Page | None:
    try:
        value = quantity(item.number, item.unit)
    except (KeyError, ValueError, ZeroDivisionError):
        return None
    others = words.in_other_units(float(value), item.unit)
    parts = [f"`{item.number}{item.unit}`" + (f" = {' = '.join(others)}" if others else "")]
    if isinstance(kind, Measure) and (said := spoken.limits(kind.of)):
        parts.append(f"*Bounds:* {said}")
    if isinstance(kind, EdgePlace):
        parts.append("Along the edge, from its left or front end.")
    return Page(item.span, "\n\n".join(parts))


# -- signature help --------------------------------------------------------------------------------------------------


class Signature(NamedTuple):
    """A phrase: `label` with its holes as (start, end) in it, the one that is due, and what the word means."""

    label: str
    holes: tuple[tuple[int, int], ...]
    active: int | None
    documentation: str


def signature(view: View, offset: int) -> Signature | None:
    """The phrase of the line at an offset, with the hole that is due there."""
    if view.too_long:
        return None
    place = place_at(view.text.text, offset)
    made = place.model
    if place.comment or made is None or not place.line:
        return None
    shape = block_shape(made).words.get(place.line[0].text)
    if shape is None:
        return None
    label, holes = _label(shape)
    wants = wanted(shape, place.items[1:])
    active = _active(wants, shape.pattern, len(place.items) - 1, holes)
    return Signature(label, holes, active, made.model_fields[shape.word].description or "")


def _label(shape: WordShape) -> tuple[str, tuple[tuple[int, int], ...]]:
    """A word's phrase, and where its values stand in it."""
    label = " | ".join(spoken.phrases(shape))
    if shape.pattern == "{}":
        found = tuple((one.start(), one.end()) for one in re.finditer(r"‹[^›]*›", label))
        return label, found or ((len(shape.word) + 1, len(label)),)
    holes, at = [], 0
    for text, value in spoken.pieces(shape):
        if value:
            holes.append((at, at + len(text)))
        at += len(text)
    return label, tuple(holes)


def _active(
    wants: tuple[PhrasePart | ValueKind, ...], pattern: str, given: int, holes: tuple[tuple[int, int], ...]
) -> int | None:
    """The hole whose value is due: as many holes are filled as values stand there, fixed words apart."""
    if not wants:
        return None
    fixed = [word for want in wants if isinstance(want, Fixed) for words_ in want.words for word in words_]
    joints = re.findall(r"\{\w*\}|[^\s\[\]{}]+", pattern)
    hole = 0
    for seen, joint in enumerate(joints):
        if seen >= given and (joint.startswith("{") or joint in fixed):
            break
        hole += joint.startswith("{")
    only_joint = all(isinstance(want, Fixed | Sign) for want in wants)
    return None if only_joint and hole >= len(holes) else min(hole, len(holes) - 1)
