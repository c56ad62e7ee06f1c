"""How a panel lies: natural pose, leaves, rock, and the findings about them."""

from __future__ import annotations

from collections import Counter
from itertools import combinations, product
from typing import Any

import numpy as np
import pytest
from compiler.plan.plans import panel_of
from compiler.seat.everyday_panels import compare
from compiler.shop import LEAVES, clamp_in, mm, shims
from compiler.survey.surveys import free_work, place, supports, survey, twist
from hypothesis_profile import NIGHTLY

from flatwise.core.finding import Finding
from flatwise.core.surface import Surface
from flatwise.model import job as j
from flatwise.model.shop import Leaf, Shims
from flatwise.model.shop_rules import Rules
from flatwise.model.stages import Holder, Work
from flatwise.model.words import CORNERS, PLACES, Whole
from flatwise.seat import seat
from flatwise.seat.choice import LeafPlace, LeafSearch
from flatwise.seat.leaves import Stacks
from flatwise.seat.leaves import stacks as leaf_stacks
from flatwise.seat.rest import Rest, footprint
from flatwise.seat.slab import Slab
from flatwise.survey import survey as surveyed

L, W, T = 1000.0, 600.0, 30.0
SIZE = (L, W, T)
EVEN = dict.fromkeys(PLACES, T)
TWISTED = {"front_left": 0.6, "front": 0.3, "left": 0.3, "centre": 0.15}
ALL = tuple(PLACES)


def seated(gap: dict[str, float] | None = None, size: tuple[float, float, float] = SIZE, **blocks: Any) -> Any:
    thick = dict.fromkeys(PLACES, size[2])
    made = free_work(size, survey=survey(thick, gap if gap is not None else dict.fromkeys(PLACES, 0.0)), **blocks)
    panel, _ = surveyed(made)
    seating, found = seat(made, panel)
    return made, panel, seating, [one for one in found if one.code != "FW207"]


def codes(found: list[Finding]) -> list[str]:
    return [one.code for one in found]


def test_flat_panel_lies_on_the_bed() -> None:
    _, _, seating, found = seated()
    assert found == [] and not seating.rocks
    assert (seating.pose.a, seating.pose.b, seating.pose.c) == pytest.approx((0, 0, 0), abs=1e-9)
    assert seating.most_thickness == pytest.approx(T) == seating.best_thickness
    assert set(seating.touches) == {(0.0, 0.0), (L, 0.0), (0.0, W), (L, W)}
    assert seating.shims == ()


def test_surveyed_panel_stays_in_the_pose_of_the_survey() -> None:
    """A twisted panel can rest on either of two corners; the feelers found it on back_right."""
    _, _, seating, found = seated(TWISTED)
    assert (seating.pose.a * L, seating.pose.b * W, seating.pose.c) == pytest.approx((0, 0, 0), abs=1e-9)
    assert codes(found) == ["FW203"]
    rock = found[0]
    assert rock.rule == "rock" and rock.limit == 0.05
    assert rock.value == pytest.approx(0.6, abs=1e-6)
    assert "front left corner" in rock.message and "0.6mm" in rock.message


def test_words_alone_give_a_pose_on_three_corners() -> None:
    made = free_work(SIZE, survey=survey(EVEN, twist=twist(0.6)))
    panel, _ = surveyed(made)
    seating, found = seat(made, panel)
    assert seating.rocks and "FW203" in codes(list(found))
    gaps = sorted(float(seating.lower.at(PLACES[n][0] * L, PLACES[n][1] * W)) for n in CORNERS)
    assert gaps == pytest.approx([0, 0, 0, 0.6], abs=1e-9)


def test_a_set_too_coarse_for_its_places_is_named_as_the_reason() -> None:
    _, _, seating, found = seated(TWISTED, supports=supports(CORNERS), leaves=shims((1.0,), 1))
    rock = next(one for one in found if one.code == "FW203")
    assert seating.rocks and not seating.shims and rock.help is not None
    assert rock.help.startswith("No stacks of the set at these places hold it still")
    assert codes(found) == ["FW204", "FW203"]


def test_the_fix_stops_the_rock() -> None:
    _, _, _, found = seated(TWISTED)
    fix = found[0].fix
    assert fix is not None and fix.edits[0].text.startswith("supports { shim ")
    _, height, _, name = fix.edits[0].text.strip().removeprefix("supports { ").removesuffix(" }").split()
    _, _, seating, found = seated(TWISTED, supports=supports(by_hand={name: float(height.removesuffix("mm"))}))
    assert found == [] and not seating.rocks
    assert seating.shims[0].by_hand and seating.shims[0].gap_left < 0.05


def test_leaves_that_do_not_stop_a_rock_are_only_offered_as_a_first_step() -> None:
    gap = {"front_left": 0.3, "front": 0.1, "right": 0.1}
    _, _, seating, found = seated(gap)
    rock = next(one for one in found if one.code == "FW203")
    assert seating.rocks and rock.fix is None and rock.help is not None
    put, then = rock.help.rstrip(".").split("; ")
    assert then == "then check again"
    # with these leaves the worst place still moves too far, though the next one does not
    height = float(put.removeprefix("Put ").partition("mm")[0])
    spot = put.rpartition("under the ")[2].removesuffix(" corner").replace(" ", "_")
    made, panel, tried, _ = seated(gap, supports=supports(by_hand={spot: height}))
    assert tried.rocks
    stack = [footprint(one.x, one.y, L, W) for one in tried.shims]
    first, second, *_ = Rest(panel.lower, stack).rocks(tried.pose, [height], made.mass)
    assert first.move > 0.05 >= second.move


def test_a_shim_set_by_hand_lifts_as_geometry_says() -> None:
    """A flat panel on a 1 mm leaf under one corner can't bear on the three others: it tips over the far end.

    Of the two ways it takes the one with less tilt: 1 mm at x = 25 mm, 0 at x = L.
    """
    _, _, seating, _ = seated(supports=supports(by_hand={"front_left": 1.0}))
    heights = {n: float(seating.lower.at(PLACES[n][0] * L, PLACES[n][1] * W)) for n in CORNERS}
    assert heights["front_right"] == pytest.approx(0, abs=1e-9) == heights["back_right"]
    assert heights["front_left"] == pytest.approx(L / (L - 25)) == heights["back_left"]
    assert (25.0, 25.0) in seating.touches and (L, 0.0) in seating.touches and (L, W) in seating.touches


def test_least_removal_takes_half_of_a_twist() -> None:
    _, _, seating, found = seated(TWISTED, supports=supports(CORNERS, aim="least_removal"))
    assert found == []
    assert seating.best_thickness == pytest.approx(T - 0.3, abs=1e-3)
    # within 0.05 mm, what a reading may be off, fewer stacks count more
    assert seating.most_thickness > T - 0.3 - 0.05


def test_stacks_use_each_leaf_of_the_set_once_and_the_seating_is_what_they_do() -> None:
    gap = {"front_left": 0.73, "front": 0.41, "left": 0.22, "back": 0.12, "right": 0.04, "centre": 0.33}
    _, panel, seating, _ = seated(gap, supports=supports(ALL, aim="least_removal"))
    assert seating.shims
    for shim in seating.shims:
        assert set(shim.leaves) <= set(LEAVES) and len(set(shim.leaves)) == len(shim.leaves) <= 3
        assert shim.height == pytest.approx(sum(shim.leaves))
        assert list(shim.leaves) == sorted(shim.leaves, reverse=True)
    # worked out again from the stacks alone
    rest = Rest(panel.lower, [footprint(s.x, s.y, L, W) for s in seating.shims])
    heights = [s.height for s in seating.shims]
    pose = rest.natural(heights)
    assert (pose.a, pose.b, pose.c) == pytest.approx((seating.pose.a, seating.pose.b, seating.pose.c), abs=1e-9)
    assert seating.most_thickness == pytest.approx(seating.upper.lowest - seating.lower.highest, abs=1e-9)
    assert [s.gap_left for s in seating.shims] == pytest.approx([max(0, g) for g in rest.gaps(pose, heights)], abs=1e-9)
    assert min(rest.gaps(pose, heights)) > -1e-9


def test_natural_fills_the_gaps_of_the_pose_it_rests_in() -> None:
    _, _, seating, found = seated(TWISTED, supports=supports(CORNERS, aim="natural"))
    assert found == []
    assert [(s.place, s.leaves) for s in seating.shims] == [("front_left", (0.5, 0.05))]
    assert seating.shims[0].gap_left < 0.05


def test_least_removal_leaves_no_less_than_other_aims_by_what_a_reading_may_be_off() -> None:
    rng = np.random.default_rng(5)
    for _ in range(6):
        gap = {n: float(abs(rng.normal(0, 0.4))) for n in ("front_left", "front", "left", "back", "right")}
        aims = ("least_removal", "natural", "enough")
        least, *others = (seated(gap, supports=supports(ALL, aim=aim))[2] for aim in aims)
        assert not least.rocks
        for other in others:
            assert least.most_thickness >= other.most_thickness - 0.05
            assert len(other.shims) <= len(least.shims)


def test_no_stack_fits() -> None:
    coarse = shims((0.5, 1.0), 2)
    _, _, _, found = seated(
        {"front_left": 0.8, "front": 0.4, "left": 0.4, "centre": 0.2},
        supports=supports(["front_left"], aim="natural"),
        leaves=coarse,
    )
    assert "FW204" in codes(found)
    none = next(one for one in found if one.code == "FW204")
    assert "front left corner" in none.message and none.limit == 0.05


def exhaustive(leaves: tuple[float, ...], most: int, height: float) -> tuple[float, ...]:
    """The nearest of all subsets; of equals the fewest leaves, then the thickest."""
    every = [c for n in range(most + 1) for c in combinations(sorted(leaves, reverse=True), n)]
    off = min(abs(sum(c) - height) for c in every)
    equal = [c for c in every if abs(sum(c) - height) <= off + 1e-6]
    return min(equal, key=lambda c: (len(c), [-leaf for leaf in c]))


def test_the_nearest_stack_against_exhaustive_search() -> None:
    rng = np.random.default_rng(11)
    for _ in range(60):
        leaves = tuple(sorted({round(float(x), 2) for x in rng.uniform(0.01, 1.2, rng.integers(1, 9))}))
        most = int(rng.integers(1, 5))
        stacks = Stacks(tuple((leaf, None) for leaf in leaves), most)
        for height in (*rng.uniform(0, 2.5, 15), *np.round(rng.uniform(0, 1.5, 10), 2)):
            assert stacks.nearest(float(height)).leaves == exhaustive(leaves, most, float(height))
    assert Stacks(tuple((leaf, None) for leaf in LEAVES), 3).nearest(0.36).leaves == (0.30, 0.05)


FEW = (0.1, 0.2, 0.4)


def every_choice(panel: Any, mass: float, names: tuple[str, ...]) -> dict[tuple[int, int], float]:
    """(stacks, leaves) → the most thickness of every choice of up to two leaves of FEW at each place that lies still.

    Moves under 50 N and 100 N by rest anew (see tests/outside/test_seating.py for HiGHS), one choice after the other.
    """
    sums: dict[float, int] = {}
    for count in range(3):
        for leaves in combinations(FEW, count):
            sums.setdefault(round(sum(leaves), 6), count)
    rest = Rest(panel.lower, [footprint(*(PLACES[n][k] * SIZE[k] for k in (0, 1)), L, W) for n in names])
    slab, best = Slab(panel.lower, panel.upper), dict[tuple[int, int], float]()
    trials = np.array(list(product(sums, repeat=len(names))))
    poses, moves = rest.tried(trials, mass)
    still = (moves[:, 0].max(axis=1) <= 0.4 * 0.05) & (moves[:, 1].max(axis=1) <= 0.05)
    for heights, (a, b, _) in zip(trials[still].tolist(), poses[still].tolist(), strict=True):
        key = sum(height > 0 for height in heights), sum(sums[height] for height in heights)
        best[key] = max(best.get(key, 0.0), slab.left(a, b))
    return best


def test_the_estimate_on_leaves_under_many_nodes_is_the_rest_on_all_of_them() -> None:
    """Estimates look at few places over each stack: some of those that can be the lowest there."""
    rng = np.random.default_rng(5)
    xs, ys = np.linspace(0.0, L, 251), np.linspace(0.0, W, 151)
    hollow = 0.6 * (xs[None, :] / L - 0.5) ** 2 + 0.4 * (ys[:, None] / W - 0.5) ** 2
    face = Surface(xs, ys, hollow + rng.uniform(0.0, 0.002, hollow.shape))
    rest = Rest(face, [footprint(x, y, L, W) for x, y in ((0.0, 0.0), (L, 0.1 * W), (0.3 * L, W), (0.9 * L, W))])
    trials = rng.uniform(0.0, 1.1, (60, 4))
    poses, _ = rest.tried(trials, 15.0)
    corners = np.array([(x, y, 1.0) for x in (0.0, L) for y in (0.0, W)])
    for heights, pose in zip(trials.tolist(), poses, strict=True):
        exact = rest.at(heights, L / 2.0 + 1e-5, W / 2.0 + 1e-5)
        assert corners @ pose == pytest.approx(corners @ (exact.a, exact.b, exact.c), abs=0.002)


def test_leaf_choice_against_every_choice() -> None:
    """Four places, three coarse leaves, two in a stack: 2,401 choices of each panel.

    Nothing gains more for each stack than a reading may be off (0.05 mm), and no fewer stacks lie still: so few are all
    tried.
    """
    missed, seeds = 0, range(60 if NIGHTLY else 2)
    for seed in seeds:
        rng = np.random.default_rng(seed)
        places = {"front_left": 0.9, "front": 0.4, "left": 0.4, "right": 0.3, "back": 0.3}
        gap = {place: float(rng.uniform(0, most)) for place, most in places.items()}
        names = CORNERS if seed % 2 else ("front_left", "back_right", "front", "left")
        made = free_work(SIZE, survey=survey(EVEN, gap))
        panel, _ = surveyed(made)
        stacks = Stacks(tuple((leaf, None) for leaf in FEW), 2)
        spots = tuple(LeafPlace(PLACES[n][0] * L, PLACES[n][1] * W, stacks) for n in names)
        search = LeafSearch(panel.lower, panel.upper, made.mass, 0.05, spots)
        every = every_choice(panel, made.mass, tuple(names))
        fewest = search.fewest(lambda choice: True)
        if not every or fewest is None:
            missed += bool(every)
            continue
        worth, thickest = search.worth(lambda choice: True, 0.05), search.thickest(lambda choice: True, 0.05)
        gains = [most - worth.most - (count - worth.stacks) * 0.05 for (count, _), most in every.items()]
        lost = max(every.values()) - thickest.most - 0.05
        missed += fewest.stacks > min(every)[0] or max(gains) > 5e-3 or lost > 5e-3
        assert max(gains) < 0.1 and lost < 0.1 and fewest.stacks <= min(every)[0] + 1
    assert missed == 0


@pytest.mark.parametrize("seed", range(30 if NIGHTLY else 2))
def test_ending_early_chooses_what_trying_every_number_of_stacks_would(seed: int) -> None:
    rng = np.random.default_rng(seed)
    places = {"front_left": 0.9, "front": 0.4, "left": 0.4, "right": 0.3, "back": 0.3}
    gap = {place: float(rng.uniform(0, most)) for place, most in places.items()}
    made = free_work(SIZE, survey=survey(EVEN, gap))
    panel, _ = surveyed(made)
    stacks = Stacks(tuple((leaf, None) for leaf in (0.05, 0.1, 0.15, 0.2, 0.4)), 2)
    spots = tuple(LeafPlace(PLACES[n][0] * L, PLACES[n][1] * W, stacks) for n in (*CORNERS, "front"))

    def search() -> LeafSearch:
        return LeafSearch(panel.lower, panel.upper, made.mass, 0.1, spots)

    whole = search()
    still = [one for count in whole.counts for one in whole.choices(count) if not one.excess]
    assert len({one.stacks for one in still}) > 1
    for good in (lambda one: True, lambda one: one.leaves % 2 == 1, lambda one: one.stacks > 3):
        will_do = [one for one in still if good(one)] or still
        for value in (0.02, 0.1):
            worth = min(will_do, key=lambda one: (-round(one.most - one.stacks * value, 6), one.stacks, one.leaves))
            assert search().worth(good, value) == worth
            most = max(one.most for one in will_do)
            by = min(will_do, key=lambda one: (one.most < most - value, one.stacks, one.leaves, -one.most))
            assert search().thickest(good, value) == by


def test_leaves_are_laid_only_as_many_as_are_owned() -> None:
    gap = {"front_left": 0.4, "back_right": 0.4, "front": 0.2, "back": 0.2, "left": 0.2, "right": 0.2}
    for count, most in ((None, 9), (1, 1), (2, 2)):
        leaves = shims((0.1, 0.2, 0.4), 2, count)
        aimed = supports(ALL, aim="least_removal")
        seating = seated(gap, supports=aimed, leaves=leaves, rules=Rules(rock=0.3))[2]
        used = Counter(leaf for shim in seating.shims for leaf in shim.leaves)
        assert used and max(used.values()) <= most, (count, used)


def test_how_many_of_a_leaf_there_are_may_stand_before_it() -> None:
    owned = Shims(
        count=Whole(4),
        leaves=(Leaf(thickness=mm(0.1)), Leaf(owned=Whole(2), thickness=mm(0.2)), Leaf(thickness=mm(0.2))),
    )
    assert leaf_stacks(owned).owned == {0.1: 4, 0.2: 6}
    assert leaf_stacks(shims((0.1,))).owned == {0.1: None}


def test_no_leaf_is_thinner_than_half_of_what_a_reading_may_be_off_unless_the_rock_asks_for_it() -> None:
    gap = {"front_left": 0.33, "front": 0.16, "left": 0.17, "centre": 0.08}
    fine = shims((0.02, 0.03, 0.1, 0.3))
    laid = seated(gap, supports=supports(CORNERS), leaves=fine)[2]
    assert [shim.leaves for shim in laid.shims if shim.leaves] and not laid.rocks
    assert 0.02 not in {leaf for shim in laid.shims for leaf in shim.leaves}
    only_thin = shims((0.01, 0.02), 2)
    little = {"front_left": 0.07, "front": 0.035, "left": 0.035, "centre": 0.02}
    laid = seated(little, supports=supports(CORNERS), leaves=only_thin, rules=Rules(rock=0.03))[2]
    assert not laid.rocks and {leaf for shim in laid.shims for leaf in shim.leaves} <= {0.01, 0.02}


def test_enough_lays_the_fewest_that_the_job_can_do_with() -> None:
    """A panel that only rocks gets one stack; where its thickness is short, the pose that saves it."""
    _, panel, easy, found = seated(TWISTED, supports=supports(CORNERS))
    assert found == [] and len([shim for shim in easy.shims if shim.leaves]) == 1
    made = free_work(SIZE, survey=survey(EVEN, TWISTED), supports=supports(CORNERS))
    short = seat(made, panel, lambda lying: lying.most_thickness >= T - 0.34)[0]
    assert short.most_thickness >= T - 0.34 > easy.most_thickness
    stacks = [shim for shim in short.shims if shim.leaves]
    # half of a twist lies on two corners: one stack under either holds it, within what readings may be off
    assert 1 <= len(stacks) <= 2
    # where nothing is enough, and where all faces are cut until clean, each stack must be worth its wood
    hopeless = seat(made, panel, lambda lying: False)[0]
    assert hopeless.most_thickness >= T - 0.3 - 0.1 and hopeless == seat(made, panel, None)[0]


def test_a_mirrored_panel_gets_the_mirrored_pose() -> None:
    rng = np.random.default_rng(13)
    z = 0.4 * rng.normal(size=(5, 6))
    face = Surface(np.linspace(0, L, 6), np.linspace(0, W, 5), z)
    panel = panel_of(face, face.plus(0, 0, T), (0.05, 0.1, 0.05), posed=False)
    mirror = panel_of(face.turned("y"), face.plus(0, 0, T).turned("y"), (0.05, 0.1, 0.05), posed=False)
    made = free_work(SIZE, survey=survey(EVEN, twist=twist(0)))
    one, other = seat(made, panel)[0], seat(made, mirror)[0]

    assert one.pose.a == pytest.approx(-other.pose.a, abs=1e-9) and one.pose.b == pytest.approx(other.pose.b, abs=1e-9)
    assert one.best_thickness == pytest.approx(other.best_thickness, abs=1e-9)


def test_lifting_the_whole_panel_changes_nothing() -> None:
    rng = np.random.default_rng(14)
    face = Surface(np.linspace(0, L, 6), np.linspace(0, W, 5), 0.4 * rng.normal(size=(5, 6)))
    rest, lifted = Rest(face).natural([]), Rest(face.plus(0, 0, 7.0)).natural([])
    assert (rest.a, rest.b, rest.c) == pytest.approx((lifted.a, lifted.b, lifted.c + 7.0), abs=1e-9)


def test_a_heavier_panel_rocks_no_more() -> None:
    """Pressing a corner tips a light panel over the line between two others, but not a heavy one."""
    gap = {"front_left": 0.5, "front": 0.0, "back": 0.0, "left": 0.2, "right": 0.0}
    rocks = []
    for density in (200.0, 700.0, 2500.0):
        _, _, _, found = seated(gap, density=density)
        rocks.append(max([one.value for one in found if one.code == "FW203"], default=0.0))
    assert rocks == sorted(rocks, reverse=True)


def test_after_the_first_face_its_rock_no_longer_matters() -> None:
    done = j.After(thickness=(j.Reading(place=place("centre"), value=mm(29.5)),))
    _, _, seating, found = seated(TWISTED, after_first=done)
    assert seating.rocks and found == []
    again = j.After(marks="left")
    assert codes(seated(TWISTED, after_first=again)[3]) == ["FW203"]


def test_spoilboard_lies_where_it_is() -> None:
    made = free_work((1300.0, 1300.0, 18.0), bed=True)
    panel, _ = surveyed(made)
    seating, found = seat(made, panel)
    assert found == () and seating.upper.highest == 0.0
    assert (seating.pose.a, seating.pose.b, seating.pose.c) == (0.0, 0.0, 0.0) and not seating.rocks
    assert seating.most_thickness == seating.best_thickness == 18.0 and seating.shims == ()
    assert set(seating.touches) == {(0.0, 0.0), (1300.0, 0.0), (0.0, 1300.0), (1300.0, 1300.0)}


def test_thin_panel_sags_and_says_where_to_support_it() -> None:
    gap = {"front": 0.8, "back": 0.8, "left": 0.0, "right": 0.0, "centre": 0.8}
    _, _, _, found = seated(gap, (1000.0, 500.0, 20.0))
    sags = [one for one in found if one.code == "FW206" and one.severity == "error"]
    assert len(sags) == 1 and sags[0].rule == "sag" and "centre" in sags[0].help
    # never more than the gap below
    assert sags[0].value is not None and 0.2 < sags[0].value <= 0.8
    _, _, _, found = seated(gap, (1000.0, 500.0, 20.0), supports=supports(("front", "centre", "back")))
    assert "FW206" not in codes(found)
    _, _, _, found = seated(dict.fromkeys(gap, 0.1), (1000.0, 500.0, 20.0))
    assert "FW206" not in codes(found)


def pushing(edge: str, force: float, height: float) -> Holder:
    """A clamp that pushes at a height above the bed."""
    return clamp_in((0.0, 0.0, 70.0, 32.0), 13.0, edge=edge, along=300.0, force=force, pushes_at=height)


def test_clamps_below_the_middle_bow_the_panel() -> None:
    low = tuple(pushing("back", 900.0, 2.0) for _ in range(2))
    _, _, _, found = seated(holders=low)
    bows = [one for one in found if one.code == "FW206"]
    assert len(bows) == 1 and "back edge" in bows[0].message and bows[0].rule == "sag"
    # F·e·W²/(8·E·I), E across 800 MPa: 2 × 900 N at 2 mm; of the 27.5 mm left for the second face the middle is 13.75
    assert bows[0].value == pytest.approx(1800 * 11.75 * W**2 / (8 * 800 * L * 27.5**3 / 12), rel=1e-6)
    _, _, _, found = seated(holders=tuple(pushing("back", 900.0, 14.5) for _ in range(2)))
    assert "FW206" not in codes(found)


def test_own_weight_hides_shapes_until_they_are_given_in_words() -> None:
    made = free_work(SIZE, survey=survey(EVEN, dict.fromkeys(PLACES, 0.0)))
    panel, _ = surveyed(made)
    found = [one for one in seat(made, panel)[1] if one.code == "FW207"]
    assert len(found) == 1 and found[0].severity == "note" and "twist" in found[0].message
    stiff = free_work(SIZE, survey=survey(EVEN, dict.fromkeys(PLACES, 0.0)), modulus=1e6)
    assert "FW207" not in codes(list(seat(stiff, panel)[1]))


@pytest.mark.nightly
def test_random_panels_against_the_everyday_way() -> None:
    """Least removal keeps most of what the best tilt saves over one full shim, less what a reading may be off.

    Seen of forty: 81 % in all, since leaves thinner than half a reading's error and choices that give are left out.
    """
    rows = compare(40)
    assert len(rows) == 40
    assert sum(row.seated - row.everyday for row in rows) >= 0.75 * sum(row.best - row.everyday for row in rows)
    assert all(row.seated >= row.everyday - 0.05 for row in rows)
    assert all(row.seated <= row.best + 1e-9 for row in rows)


def test_always_a_result() -> None:
    """Odd panels raise no exception: tiny, long, of one cell, noise."""
    rng = np.random.default_rng(15)
    for size in ((20.0, 15.0, 5.0), (2400.0, 30.0, 10.0), (26.0, 900.0, 40.0)):
        for _ in range(5 if NIGHTLY else 1):
            nx, ny = rng.integers(2, 9, 2)
            z = rng.choice([0.0, 0.01, 1.0]) * rng.normal(size=(ny, nx))
            face = Surface(np.linspace(0, size[0], nx), np.linspace(0, size[1], ny), z)
            panel = panel_of(face, face.plus(0, 0, size[2]), (0.1, 0.1, 0.1))
            made: Work = free_work(size, survey=survey(), supports=supports(ALL))
            seating = seat(made, panel)[0]
            assert seating.lower.lowest > -1e-6
