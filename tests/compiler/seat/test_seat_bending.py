"""Sag, bow and hidden shapes of whole panels against figures worked out by hand from the Wood Handbook's beams.

FPL-GTR-190 (2010), equation 9-2 and table 9-1: k_b·W·L³/(E·I) + k_s·W·L/(G·A′), constants read there.
"""

from __future__ import annotations

import pytest
from compiler.seat.test_seat import codes, pushing, seated
from compiler.survey.surveys import free_work, supports, survey, twist

from flatwise.core.finding import Finding
from flatwise.model.shop_rules import Rules
from flatwise.model.words import CORNERS, PLACES
from flatwise.seat.bending import CENTRE, UNIFORM, Bay, bays, own_weight, sag
from flatwise.seat.leaves import Stacks

#: 15 mm of ash on leaves of 3 mm under its four corners: E 12 000 and 800 MPa, G 12 000/14 MPa
SIZE = (1000.0, 600.0, 15.0)
ON_CORNERS = supports(by_hand=dict.fromkeys(CORNERS, 3.0))
ALONG, ACROSS, SHEAR = 12_000.0, 800.0, 12_000.0 / 14.0
WEIGHT = 670e-9 * 1000 * 600 * 15 * 9.80665


def strip(load: float, span: float, width: float, modulus: float, bending: float, shearing: float) -> float:
    inertia, area = width * 15.0**3 / 12.0, 5.0 / 6.0 * width * 15.0
    return bending * load * span**3 / (modulus * inertia) + shearing * load * span / (SHEAR * area)


#: on its corners alone both strips carry the whole load: 1.1 × their sum
PUSHED = 1.1 * (strip(50, 1000, 600, ALONG, 1 / 48, 1 / 4) + strip(50, 600, 1000, ACROSS, 1 / 48, 1 / 4))
HEAVY = 1.1 * (strip(WEIGHT, 1000, 600, ALONG, 5 / 384, 1 / 8) + strip(WEIGHT, 600, 1000, ACROSS, 5 / 384, 1 / 8))


def reported(found: list[Finding], severity: str) -> list[Finding]:
    return [one for one in found if one.code == "FW206" and one.severity == severity]


@pytest.mark.parametrize(("size", "grain"), [(SIZE, "x"), ((600.0, 1000.0, 15.0), "y")])
def test_a_panel_on_its_corners(size: tuple[float, float, float], grain: str) -> None:
    """Turned on the bed together with its grain, it sags as much."""
    assert pytest.approx(1.669, abs=1e-3) == PUSHED and pytest.approx(1.233, abs=1e-3) == HEAVY
    _, _, _, found = seated(size=size, grain=grain, supports=ON_CORNERS)
    (push,), (weight,) = reported(found, "error"), reported(found, "warning")
    assert push.value == pytest.approx(PUSHED) and push.limit == 0.2 and push.help.endswith("about 3mm under centre.")
    assert "sags under its own weight by about 1.2mm at the centre" in weight.message


def test_sag_that_the_survey_already_holds_is_not_reported_again() -> None:
    """Feelers found half a millimetre under the middle as it lay on its corners, so 1.233 − 0.5 mm are new."""
    middles = dict.fromkeys(("left", "right", "front", "back"), 0.25)
    _, _, _, found = seated({"centre": 0.5, **middles}, size=SIZE, supports=ON_CORNERS)
    (weight,) = reported(found, "warning")
    assert "sags under its own weight by about 0.73mm at the centre" in weight.message


def test_no_panel_sags_further_than_the_gap_under_it() -> None:
    low = supports(by_hand=dict.fromkeys(CORNERS, 0.3))
    _, _, _, found = seated(size=SIZE, supports=low)
    (push,) = reported(found, "error")
    assert push.value == pytest.approx(0.3)
    assert "0.3mm at the centre" in reported(found, "warning")[0].message
    _, _, _, found = seated(size=SIZE, supports=supports(by_hand=dict.fromkeys(CORNERS, 0.2)))
    assert codes(found) == []


@pytest.mark.parametrize(("limit", "severities"), [(1.233, ["error", "warning"]), (1.234, ["error"]), (1.67, [])])
def test_the_rule_sag_limits_push_and_weight(limit: float, severities: list[str]) -> None:
    _, _, _, found = seated(size=SIZE, supports=ON_CORNERS, rules=Rules(sag=limit))
    assert [one.severity for one in found] == severities


def test_a_support_in_the_middle_helps_only_if_it_reaches_the_panel() -> None:
    every = dict.fromkeys((*CORNERS, "front", "back", "left", "right", "centre"), 3.0)
    thick = (1000.0, 600.0, 20.0)
    assert codes(seated(size=thick, supports=supports(by_hand=every))[3]) == []
    assert len(reported(seated(size=thick, supports=ON_CORNERS)[3], "error")) == 1
    # leaves 0.1 mm lower than the panel do not touch it, by the rule `rock`
    short = seated(size=SIZE, supports=supports(by_hand={**dict.fromkeys(CORNERS, 3.0), "centre": 2.9}))[3]
    assert "FW206" not in codes(short)  # it sags 0.1 mm onto the leaves: less than the rule
    shorter = seated(size=SIZE, supports=supports(by_hand={**dict.fromkeys(CORNERS, 3.0), "centre": 2.7}))[3]
    (push,) = reported(shorter, "error")
    assert push.value == pytest.approx(0.3) and push.help.endswith("leaves of about 3mm under centre.")


def test_strips_with_both_ends_held_share_the_load() -> None:
    made = free_work(SIZE)
    x = strip(50, 1000, 600, ALONG, 1 / 48, 1 / 4)
    y = strip(50, 600, 1000, ACROSS, 1 / 48, 1 / 4)

    def of(*held: bool) -> float:
        return sag(made, Bay(0, 1000, 0, 600, held), 50.0, CENTRE, 15.0) / 1.1  # type: ignore[arg-type]

    assert of(False, False, False, False) == pytest.approx(x + y)
    # a strip on two supports counts with half its width; on one, half the other strip's sag is added
    assert of(True, True, False, False) == pytest.approx(min(2 * x, y + x))
    assert of(False, False, True, True) == pytest.approx(min(2 * y, x + y))
    assert of(True, False, False, False) == of(False, True, False, False) == pytest.approx(min(x + y / 2, y + x))
    assert of(False, False, True, False) == of(False, False, False, True) == pytest.approx(min(y + x / 2, x + y))
    # four held sides: two springs side by side
    assert of(True, True, True, True) == pytest.approx(1 / (1 / (2 * x) + 1 / (2 * y)))
    assert sag(made, Bay(0, 1000, 0, 600, (False,) * 4), 50.0, UNIFORM, 15.0) < of(False, False, False, False) * 1.1


def test_bays_split_at_a_support_that_is_not_at_the_edge() -> None:
    corners = [(0.0, 0.0), (900.0, 0.0), (0.0, 500.0), (900.0, 500.0)]
    assert [(b.x0, b.x1, b.y0, b.y1) for b in bays(corners, 900.0, 500.0)] == [(0.0, 900.0, 0.0, 500.0)]
    whole = bays(corners, 900.0, 500.0)[0]
    assert whole.middle == (450.0, 250.0) and whole.area == 450_000.0 and whole.held == (False,) * 4
    middle = sorted((b.x0, b.x1, b.y0, b.y1) for b in bays([*corners, (450.0, 250.0)], 900.0, 500.0))
    assert middle == [
        (0.0, 450.0, 0.0, 500.0),
        (0.0, 900.0, 0.0, 250.0),
        (0.0, 900.0, 250.0, 500.0),
        (450.0, 900.0, 0.0, 500.0),
    ]
    # a support within a leaf's side of the edge counts as on it; one further in splits the bay
    for x, parts in ((25.0, 1), (26.0, 2)):
        assert max(b.area for b in bays([*corners, (x, 250.0)], 900.0, 500.0)) == (
            450_000.0 if parts == 1 else (900.0 - 26.0) * 500.0
        )


@pytest.mark.parametrize(
    ("spot", "held"),
    [
        ((0.0, 250.0), (True, False, False, False)),
        ((25.0, 250.0), (True, False, False, False)),
        ((900.0, 250.0 + 62.5), (False, True, False, False)),
        ((900.0, 250.0 + 62.6), (False, False, False, False)),
        ((450.0 + 112.5, 0.0), (False, False, True, False)),
        ((450.0 + 112.6, 0.0), (False, False, False, False)),
        ((450.0, 475.0), (False, False, False, True)),
    ],
)
def test_a_support_holds_a_side_only_near_its_middle(
    spot: tuple[float, float], held: tuple[bool, bool, bool, bool]
) -> None:
    """Within an eighth of the side from its middle, and within a leaf's side of the edge."""
    corners = [(0.0, 0.0), (900.0, 0.0), (0.0, 500.0), (900.0, 500.0)]
    (whole,) = [b for b in bays([*corners, spot], 900.0, 500.0) if b.area == 450_000.0]
    assert whole.held == held


def test_own_weight_follows_the_grain() -> None:
    one, other = own_weight(free_work(SIZE), 15.0), own_weight(free_work((600.0, 1000.0, 15.0), grain="y"), 15.0)
    assert one == pytest.approx(other)
    assert one["bow"] == pytest.approx(strip(WEIGHT, 1000, 600, ALONG, 5 / 384, 1 / 8))
    assert one["cup"] == pytest.approx(strip(WEIGHT, 600, 1000, ACROSS, 5 / 384, 1 / 8))
    assert one["twist"] == pytest.approx(WEIGHT / 4 * 3 * 1000 * 600 / (SHEAR * 15.0**3))


def test_only_shapes_without_a_word_count_as_hidden() -> None:
    from flatwise.seat import seat
    from flatwise.survey import survey as surveyed

    flat = dict.fromkeys(PLACES, 15.0), dict.fromkeys(PLACES, 0.0)
    for words, names in (({}, "twist, cup and bow"), ({"twist": twist(0.0)}, "cup and bow")):
        made = free_work(SIZE, survey=survey(*flat, **words))
        panel, _ = surveyed(made)
        (hidden,) = [one for one in seat(made, panel)[1] if one.code == "FW207"]
        assert f"to the survey: {names}." in hidden.message + hidden.help
    # thicknesses alone fix no pose, so the weight pressed nothing flat
    made = free_work(SIZE, survey=survey(flat[0]))
    panel, _ = surveyed(made)
    assert "FW207" not in [one.code for one in seat(made, panel)[1]]


@pytest.mark.parametrize(
    ("edge", "grain", "span", "side", "modulus"),
    [
        ("back", "x", 600.0, 1000.0, ACROSS),
        ("back", "y", 600.0, 1000.0, ALONG),
        ("right", "x", 1000.0, 600.0, ALONG),
        ("right", "y", 1000.0, 600.0, ACROSS),
    ],
)
def test_clamps_bow_the_panel_the_way_they_push(
    edge: str, grain: str, span: float, side: float, modulus: float
) -> None:
    """F·e·W²/(8·E·I): 30 mm thick for the first face; 27.5 mm for the second, with the middle at 13.75 mm."""
    held = (pushing(edge, 4000.0, 1.0), pushing(edge, 4000.0, 2.0))
    _, _, _, found = seated(holders=held, grain=grain)
    moment = 4000.0 * 12.75 + 4000.0 * 11.75
    bow = moment * span**2 / (8 * modulus * side * 27.5**3 / 12)
    first = 4000.0 * (14.0 + 13.0) * span**2 / (8 * modulus * side * 30.0**3 / 12)
    (one,) = [each for each in found if each.code == "FW206"]
    assert one.value == pytest.approx(max(bow, first), rel=1e-6) and f"the {edge} edge" in one.message


def test_a_push_above_the_middle_presses_no_further_than_the_bed() -> None:
    high = (pushing("back", 9000.0, 29.0),)
    assert "FW206" not in codes(seated(holders=high)[3])
    # on leaves of 3 mm the middle of 30 mm is at 18 mm: 11 mm below the push, and 3 mm of room
    _, _, _, found = seated(holders=high, supports=ON_CORNERS)
    (one,) = [each for each in found if "clamps" in each.message]
    assert one.value == pytest.approx(min(3.0, 9000.0 * 11.0 * 600.0**2 / (8 * ACROSS * 1000 * 30.0**3 / 12)))
    assert "but the middle of the thickness is at 18mm" in one.message
    # dogs push nothing
    dogs = tuple(one._replace(kind="dog") for one in high)
    assert not [one for one in seated(holders=dogs, supports=ON_CORNERS)[3] if "clamps" in one.message]


@pytest.mark.parametrize("x", [200.0, 300.0, 700.0])
def test_the_bay_that_sags_most_is_reported(x: float) -> None:
    """A line of leaves across the panel: the bays to either side sag by themselves."""
    under = {**dict.fromkeys(CORNERS, 9.0), (x, 0.0): 9.0, (x, 300.0): 9.0, (x, 600.0): 9.0}
    made, _, _, found = seated(size=SIZE, supports=supports(by_hand=under), rules=Rules(sag=0.01))
    corners = [(0.0, 0.0), (1000.0, 0.0), (0.0, 600.0), (1000.0, 600.0)]
    apart = bays([*corners, (x, 0.0), (x, 300.0), (x, 600.0)], 1000.0, 600.0)
    for severity, load, constants in (("error", 50.0, CENTRE), ("warning", None, UNIFORM)):
        (one,) = reported(found, severity)
        sags = [sag(made, bay, load or WEIGHT * bay.area / 6e5, constants, 15.0) for bay in apart]
        assert len(set(sags)) > 2 and sags.count(max(sags)) == 1
        px, py = apart[sags.index(max(sags))].middle
        assert f"at ({px:g}mm, {py:g}mm)" in one.message


def test_the_stacks_beside_a_stack() -> None:
    every = Stacks(((0.1, None), (0.2, None), (0.4, None)), 2)
    assert [round(stack.height, 6) for stack in every.all] == [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6]
    for k, stack in enumerate(every.all):
        beside = [round(one.height, 6) for one in every.beside(stack)]
        assert beside == [round(every.all[n].height, 6) for n in (k - 1, k + 1) if 0 <= n < 7]
    # the highest that goes in without lifting
