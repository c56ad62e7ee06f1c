"""From a surveyed panel to the panel as it lies for the first face, on bed and leaves."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from functools import cache, lru_cache
from typing import NamedTuple

from flatwise.core.finding import Findings
from flatwise.core.surface import Surface
from flatwise.findings import fw203_rocks, fw204_no_stack
from flatwise.model.job import WITHIN, UntilClean
from flatwise.model.stages import Panel, Pose, Seating, SeatingChoice, Shim, Stack, Work
from flatwise.model.words import CORNERS, PLACES
from flatwise.seat.bending import bends, pushed_sag
from flatwise.seat.choice import LeafChoice, LeafPlace, LeafSearch
from flatwise.seat.leaves import stacks
from flatwise.seat.rest import SAME, Rest, footprint
from flatwise_grammar.nodes import Span


class NamedPlace(NamedTuple):
    """The name that a job gives to a place for leaves, and where it stands in the text."""

    name: str
    span: Span


def seat(
    work: Work, panel: Panel, reaches: Callable[[Seating], bool] | None = lambda seating: True
) -> tuple[Seating, Findings]:
    """Lay the panel on the bed and its leaves, and choose the leaves that the job leaves open.

    Rest is worked out again with the leaves as chosen, so the Seating says what will happen, not what was aimed at.
    `reaches` says whether both faces come clean with the wood that is left as the panel lies, and keep the tolerance;
    None where no choice of leaves does.

    Findings: FW203 if it rocks, FW204 if no stack fits, FW206 and FW207 if it bends.
    """
    if work.job.stock.is_bed:
        return _spoilboard(panel), ()
    search, names = _search(work, panel)

    def lying(choice: LeafChoice) -> Seating:
        return _lying(panel, search, choice, names)

    def is_stiff(seating: Seating) -> bool:
        return pushed_sag(work, panel, seating) <= work.rules.sag

    def good_by(reaches: Callable[[Seating], bool]) -> Callable[[LeafChoice], bool]:
        # where no choice is good, each is asked about twice
        return cache(lambda choice: is_stiff(seating := lying(choice)) and reaches(seating))

    good = None if reaches is None else good_by(reaches)
    choice = _choice(work, search, lambda choice: is_stiff(lying(choice)), good)
    seating = lying(choice)
    if not _cuts_first(work):
        return seating, ()
    limit = work.rules.rock
    findings: Findings = ()
    if seating.rocks:
        findings += tuple(fw204_no_stack.no_stack(work, shim, limit) for shim in _unfilled(search, names))
        findings += (fw203_rocks.rocks(work, choice.rock, _steadying_stack(work, search, choice)),)
    return seating, findings + bends(work, panel, seating)


def seating_choices(work: Work, panel: Panel) -> tuple[SeatingChoice, ...]:
    """The best choice of leaves for 0, 1, 2 … stacks: the one that leaves the most."""
    search, _ = _search(work, panel)
    best = (
        max(each, key=lambda one: (one.most, -one.leaves)) for count in search.counts if (each := search.choices(count))
    )
    limit = work.rules.rock
    return tuple(SeatingChoice(one.stacks, one.leaves, one.most, one.rock.move > limit, one.rock.move) for one in best)


def _choice(
    work: Work, search: LeafSearch, stiff: Callable[[LeafChoice], bool], good: Callable[[LeafChoice], bool] | None
) -> LeafChoice:
    """The leaves that the job's aim wants; `stiff` choices do not sag too far, and with `good` ones wood is enough.

    `good` is None where no choice is.
    """
    supports, survey, faces = work.job.supports, work.job.survey, work.job.faces
    if supports is None or not search.free or not (search.still or "rock" in work.waivers):
        # where no leaves stop the rock, none are laid: FW203 says what would, with nothing in its way
        return search.bare
    value = float(survey.within if survey is not None else WITHIN)
    if supports.aim == "natural":
        return search.fewest(_any) or search.worth(good or _any, value)
    if supports.aim == "least_removal":
        return search.thickest(stiff, value)
    if good is None:
        return search.worth(_any, value)
    cut = [face for face in (faces.first, faces.second) if face is not None]
    clean = all(isinstance(face, UntilClean) for face in cut)
    return (None if clean else search.fewest(good)) or search.worth(good, value)


def _any(choice: LeafChoice) -> bool:
    """Every choice will do."""
    return True


def _unfilled(search: LeafSearch, names: tuple[NamedPlace, ...]) -> Iterator[Shim]:
    """The places where no stack of the set fills the gap of the panel on no leaves to within the rule `rock`."""
    gaps = search.rest.gaps(search.bare.pose, search.heights(search.bare.chosen))
    for k, stacks_there in zip(search.free, search.sets, strict=True):
        stack = stacks_there.nearest(max(0.0, gaps[k]))
        if abs(gaps[k] - stack.height) > search.limit:
            (x, y, *_), (name, span) = search.places[k], names[k]
            yield Shim(name, x, y, stack.leaves, stack.height, gaps[k] - stack.height, False, span)


def _lying(panel: Panel, search: LeafSearch, choice: LeafChoice, names: tuple[NamedPlace, ...]) -> Seating:
    """The panel as it lies on a choice of leaves."""
    pose = choice.pose
    return Seating(
        lower=panel.lower.plus(pose.a, pose.b, pose.c),
        upper=panel.upper.plus(pose.a, pose.b, pose.c),
        pose=pose,
        shims=_shims(search, choice, names),
        touches=search.rest.touches(pose, search.heights(choice.chosen)),
        rocks=choice.rock.move > search.limit,
        most_thickness=choice.most,
        best_thickness=max(search.slab.best[2], choice.most),
        bound_lower=panel.bound_lower,
        bound_upper=panel.bound_upper,
        bound_thickness=panel.bound_thickness,
    )


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
    return Seating(panel.lower, panel.upper, Pose(0.0, 0.0, 0.0), (), corners, False, most, most, *bounds)


def _leaf_places(work: Work, thinnest: float = 0.0) -> dict[LeafPlace, NamedPlace]:
    """Where the job puts or allows leaves, none thinner than `thinnest` (mm).

    A place that it names twice counts once, and a stack set by hand first.
    """
    supports = work.job.supports
    if supports is None:
        return {}
    found: dict[tuple[float, float], tuple[LeafPlace, NamedPlace]] = {}
    for shim in supports.shim:
        at = shim.place.on(work.length, work.width)
        place = LeafPlace(*at, None, float(shim.height))
        found.setdefault(at, (place, NamedPlace(shim.place.name, shim.place.span)))
    for under in supports.shims:
        choices = stacks(work.sets[str(under.set)], thinnest)
        for each in under.places:
            at = each.on(work.length, work.width)
            found.setdefault(at, (LeafPlace(*at, choices), NamedPlace(each.name, each.span)))
    return dict(found.values())


def _search(work: Work, panel: Panel) -> tuple[LeafSearch, tuple[NamedPlace, ...]]:
    """The search for leaves, and the names of its places.

    No leaf is thinner than half the uncertainty of a reading, unless only thinner ones stop the rock.
    """
    survey = work.job.survey
    thinnest = float(survey.within if survey is not None else WITHIN) / 2.0
    for least in (thinnest, 0.0):
        named = _leaf_places(work, least)
        search = _kept_search(panel.lower, panel.upper, work.mass, float(work.rules.rock), tuple(named))
        if search.still:
            break
    return search, tuple(named.values())


@lru_cache(maxsize=4)
def _kept_search(
    lower: Surface, upper: Surface, mass: float, limit: float, places: tuple[LeafPlace, ...]
) -> LeafSearch:
    """The search for a panel and its places for leaves; kept, since most edits of a job change neither."""
    return LeafSearch(lower, upper, mass, limit, places)


def _shims(search: LeafSearch, choice: LeafChoice, names: tuple[NamedPlace, ...]) -> tuple[Shim, ...]:
    """The stacks that are laid, in the order of the job."""
    heights = search.heights(choice.chosen)
    gaps = search.rest.gaps(choice.pose, heights)
    leaves: list[tuple[float, ...]] = [(place.set_by_hand,) for place in search.places]
    for k, stack in zip(search.free, choice.chosen, strict=True):
        leaves[k] = stack.leaves
    return tuple(
        Shim(name, place.x, place.y, leaves[k], heights[k], max(0.0, gaps[k]), place.stacks is None, span)
        for k, (place, (name, span)) in enumerate(zip(search.places, names, strict=True))
        if heights[k] > 0.0
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
