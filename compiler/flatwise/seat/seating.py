"""From a surveyed panel to the panel as it lies for the first face, on bed and leaves."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache
from typing import NamedTuple

from flatwise.core.finding import Findings
from flatwise.core.surface import Surface
from flatwise.findings import fw203_rocks, fw204_no_stack
from flatwise.model.stages import OtherAim, Panel, Pose, Seating, Shim, Stack, Work
from flatwise.model.words import CORNERS, PLACES
from flatwise.seat.bending import bends
from flatwise.seat.choice import LeafChoice, LeafPlace, LeafSearch
from flatwise.seat.leaves import stacks
from flatwise.seat.rest import SAME, Rest, footprint
from flatwise_grammar.nodes import Span


class NamedPlace(NamedTuple):
    """The name that a job gives to a place for leaves, and where it stands in the text."""

    name: str
    span: Span


def seat(work: Work, panel: Panel) -> tuple[Seating, Findings]:
    """Lay the panel on the bed and its leaves, and choose the leaves that the job leaves open.

    Rest is worked out again with the leaves as chosen, so the Seating says what will happen, not what was aimed at.

    Findings: FW203 if it rocks, FW204 if no stack fits, FW206 and FW207 if it bends.
    """
    if work.job.stock.is_bed:
        return _spoilboard(panel), ()
    named = _leaf_places(work)
    names = tuple(named.values())
    limit = float(work.rules.rock)
    search = _search(panel.lower, panel.upper, work.mass, limit, tuple(named))
    aim, other = _aims(work, search.choices)
    choice = search.choices[aim]
    pose = choice.pose
    seating = Seating(
        lower=panel.lower.plus(pose.a, pose.b, pose.c),
        upper=panel.upper.plus(pose.a, pose.b, pose.c),
        pose=pose,
        shims=_shims(search, choice, names),
        touches=search.rest.touches(pose, search.heights(choice.chosen)),
        rocks=choice.rock.move > limit,
        most_thickness=choice.most,
        best_thickness=max(search.slab.best[2], choice.most),
        other=OtherAim(other, search.choices[other].most, _shims(search, search.choices[other], names))
        if other
        else None,
        bound_lower=panel.bound_lower,
        bound_upper=panel.bound_upper,
        bound_thickness=panel.bound_thickness,
        aim=aim if other else "",
    )
    if not _cuts_first(work):
        return seating, ()
    unfilled = (shim for shim in seating.shims if not shim.by_hand and shim.gap_left > limit)
    findings: Findings = tuple(fw204_no_stack.no_stack(work, shim, limit) for shim in unfilled)
    if seating.rocks:
        findings += (fw203_rocks.rocks(work, choice.rock, _steadying_stack(work, search, choice)),)
    return seating, findings + bends(work, panel, seating)


def _cuts_first(work: Work) -> bool:
    """Whether the first face is still to be cut; afterwards its leaves and its rock no longer matter."""
    job = work.job
    done = job.after_second is not None or (job.after_first is not None and job.after_first.marks is None)
    return job.faces.first is not None and not done


def _spoilboard(panel: Panel) -> Seating:
    """A spoilboard lies where it is."""
    length, width = panel.lower.length, panel.lower.width
    most = panel.upper.lowest - panel.lower.highest
    corners = ((0.0, 0.0), (length, 0.0), (0.0, width), (length, width))
    bounds = (panel.bound_lower, panel.bound_upper, panel.bound_thickness)
    return Seating(panel.lower, panel.upper, Pose(0.0, 0.0, 0.0), (), corners, False, most, most, None, *bounds)


def _leaf_places(work: Work) -> dict[LeafPlace, NamedPlace]:
    """Where the job puts or allows leaves.  A place that it names twice counts once, and a stack set by hand first."""
    supports = work.job.supports
    if supports is None:
        return {}
    found: dict[tuple[float, float], tuple[LeafPlace, NamedPlace]] = {}
    for shim in supports.shim:
        at = shim.place.on(work.length, work.width)
        place = LeafPlace(*at, None, float(shim.height))
        found.setdefault(at, (place, NamedPlace(shim.place.name, shim.place.span)))
    for under in supports.shims:
        choices = stacks(work.sets[str(under.set)])
        for each in under.places:
            at = each.on(work.length, work.width)
            found.setdefault(at, (LeafPlace(*at, choices), NamedPlace(each.name, each.span)))
    return dict(found.values())


@lru_cache(maxsize=4)
def _search(lower: Surface, upper: Surface, mass: float, limit: float, places: tuple[LeafPlace, ...]) -> LeafSearch:
    """The search for a panel and its places for leaves; kept, since most edits of a job change neither."""
    return LeafSearch(lower, upper, mass, limit, places)


def _aims(work: Work, choices: Mapping[str, LeafChoice]) -> tuple[str, str]:
    """The aim whose leaves are laid, and the other one; "natural" and "" if there is nothing to choose."""
    if len(choices) == 1 or work.job.supports is None:
        return "natural", ""
    aim = str(work.job.supports.aim)
    other = "natural" if aim == "least_removal" else "least_removal"
    # filling the gaps of the natural pose can leave more than leaves that only come near to the best tilt
    if aim == "least_removal" and choices[other].most > choices[aim].most + SAME:
        return other, aim
    return aim, other


def _shims(search: LeafSearch, choice: LeafChoice, names: tuple[NamedPlace, ...]) -> tuple[Shim, ...]:
    """The stacks that are laid, and the places with a gap beyond the limit, in the order of the job."""
    heights = search.heights(choice.chosen)
    gaps = search.rest.gaps(choice.pose, heights)
    leaves: list[tuple[float, ...]] = [(place.set_by_hand,) for place in search.places]
    for k, stack in zip(search.free, choice.chosen, strict=True):
        leaves[k] = stack.leaves
    return tuple(
        Shim(name, place.x, place.y, leaves[k], heights[k], max(0.0, gaps[k]), place.stacks is None, span)
        for k, (place, (name, span)) in enumerate(zip(search.places, names, strict=True))
        if heights[k] > 0.0 or gaps[k] > search.limit
    )


def _steadying_stack(work: Work, search: LeafSearch, choice: LeafChoice) -> tuple[str, Stack, bool] | None:
    """A place and a stack that stop the panel from rocking (True), or else the first that could help (False)."""
    sets = [stacks(shims) for shims in work.sets.values()]
    helpful: tuple[str, Stack, bool] | None = None
    for name in dict.fromkeys((choice.rock.place, *CORNERS)):
        at = (PLACES[name][0] * work.length, PLACES[name][1] * work.width)
        if any((place.x, place.y) == at for place in search.places):
            continue
        places = (*((place.x, place.y) for place in search.places), at)
        rest = Rest(search.rest.lower, [footprint(*place, work.length, work.width) for place in places])
        heights = [*search.heights(choice.chosen), 0.0]
        gap = rest.gaps(choice.pose, heights)[-1]
        if gap <= SAME:
            continue
        fitting = [each.nearest(gap) for each in sets] or [Stack(round(gap / 0.05) * 0.05, ())]
        stack = min(fitting, key=lambda each: abs(each.height - gap))
        if stack.height <= 0.0:
            continue
        heights[-1] = stack.height
        if rest.rocks(rest.natural(heights), heights, work.mass)[0].move <= search.limit:
            return name, stack, True
        helpful = helpful or (name, stack, False)
    return helpful
