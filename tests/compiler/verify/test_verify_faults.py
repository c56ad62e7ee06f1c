"""Every fault that the proof can find, on a small flat panel with a program made by hand."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from compiler.shop import clamp_in, cutter, dog_at, q
from compiler.verify.verify_programs import (
    CORNER,
    HIGH,
    LENGTH,
    LIFT,
    PAPER,
    RADIUS,
    WIDTH,
    codes,
    lines,
    machine,
    one,
    plan,
    proof,
    rows,
    setup,
    swapped,
    without,
    work,
)
from compiler.works import waiver, zero

from flatwise.core.surface import Surface
from flatwise.core.units import quantity
from flatwise.model.shop_rules import Rules
from flatwise.model.stages import Touch
from flatwise.model.words import CodeWord, DeclaredName
from flatwise.verify import verify

SAFETY = ["G17 G21 G40 G49 G61 G80 G90 G94 M0", "G55"]


def test_a_good_program_has_no_findings() -> None:
    shown, found = proof(lines())
    assert found == []
    assert (shown.deepest_bite, shown.collisions, shown.left_above_plane) == (0.5, 0, 0.0)
    # lift; then for both planes over, down, down, and two lines for each of five rows, and up
    assert shown.program_moves == 1 + 2 * (3 + 2 * len(rows()) + 1)


def test_rows_across_and_slanting_are_as_good() -> None:
    for angle in (90.0, 17.0, 45.0):
        assert proof(lines(sweep=rows(angle=angle)))[1] == []


# -- FW902: deeper or elsewhere ---------------------------------------------------------------------------------


def test_a_bite_that_is_too_deep_names_line_place_depth_and_pass() -> None:
    text = lines((29.45, 29.0))
    _, found = proof(text, setup())
    one(found, "FW902", "bites 0.55mm deep", "pass 1", "limit there is 0.5mm")
    assert len(found) == 1


def test_below_the_plane() -> None:
    _, found = proof(lines((29.5, 28.99)))
    one(found, "FW902", "0.01mm below the planned plane")


@pytest.mark.parametrize(
    ("changed", "limit"),
    [
        ({"depth": "0.5mm"}, "0.5mm"),
        ({"rules": Rules(depth=0.6)}, "0.6mm"),
        ({"cutter": cutter(depth=q("0.7mm"))}, "0.7mm"),
    ],
)
def test_a_bite_is_held_to_job_standard_and_cutter_whatever_the_plan_allows(
    changed: dict[str, Any], limit: str
) -> None:
    made = setup(limit=2.0)
    _, found = proof(lines((29.2, 29.0)), made, work(**changed))
    one(found, "FW902", "bites 0.8mm", f"limit there is {limit}")
    waived = work(rules=Rules(depth=0.6), waivers=waiver("depth"))
    assert proof(lines((29.2, 29.0)), made, waived)[1] == []


def test_a_bite_is_judged_with_the_bound_and_reported_without() -> None:
    shown, found = proof(lines(), setup(bound=0.1))
    one(found, "FW902", "bites 0.6mm")
    assert shown.deepest_bite == 0.5


def test_the_first_bite_is_judged_for_a_touch_at_the_lowest_top() -> None:
    sunk = setup()._replace(touch=Touch("top", 150.0, 100.0, HIGH, HIGH - 0.08, 0.0, PAPER))
    _, found = proof(lines(), sunk)
    one(found, "FW902", "bites 0.58mm", "including 0.08mm of uncertainty", "pass 1")
    assert len(found) == 1


def test_a_step_at_a_glue_line_is_met_at_its_height() -> None:
    z = np.array([[30.0, 30.0]] * 2 + [[30.3, 30.3]] * 2)
    top = Surface(np.array([0.0, LENGTH]), np.array([0.0, 100.0, 100.0, WIDTH]), z)
    _, found = proof(lines(), setup(top))
    one(found, "FW902", "bites 0.8mm")
    shown, found = proof(lines((29.8, 29.5, 29.0)), setup(top, (29.8, 29.5, 29.0)))
    assert found == [] and shown.deepest_bite == pytest.approx(0.5)


@pytest.mark.parametrize(("axis", "far"), [("X", 901.0), ("X", -501.0), ("Y", 950.0), ("Y", -501.0)])
def test_outside_the_travel(axis: str, far: float) -> None:
    text = lines()
    at = text.index("M5")
    _, found = proof([*text[:at], f"G0 {axis}{far}", *text[at:]])
    one(found, "FW902", f"machine {axis} {far + CORNER[0]:g}mm", "travel of 0 to 1400mm")


def test_outside_the_travel_in_z() -> None:
    _, found = proof([*lines()[:-3], "G0 Z120.", "M5", "M30"])
    one(found, "FW902", "can only go from -38mm to 122mm")


def test_wrong_offset_and_wrong_units() -> None:
    one(proof(swapped(lines(), "G55", "G56"))[1], "FW902", "work offset G56", "in G55")
    one(proof(swapped(lines(), "G21", "G20"))[1], "FW902", "sets G20", "in millimetres (G21)")


@pytest.mark.parametrize(
    ("code", "mode"),
    [
        ("G21 ", "units"),
        ("G90 ", "distance mode"),
        ("G40 ", "cutter radius"),
        ("G49 ", "tool length"),
        (" G94", "feed"),
    ],
)
def test_modes_that_are_not_set(code: str, mode: str) -> None:
    _, found = proof(swapped(lines(), code, " "))
    one(found, "FW902", mode)


def test_no_offset_at_all() -> None:
    one(proof(without(lines(), "G55"))[1], "FW902", "work offset")


def test_feed_and_speed_other_than_planned() -> None:
    one(proof(swapped(lines(), "F6000", "F6600"))[1], "FW902", "feeds at 6600mm/min", "the planned 6000mm/min")
    for way in ("X0.", "Z50."):  # in the air, and straight up
        air = [*lines()[:-3], f"G1 {way} F9000", "M5", "M30"]
        one(proof(air)[1], "FW902", "feeds at 9000mm/min", "the machine's maximum is 8000mm/min")
    one(proof(swapped(lines(), "S14000", "S12000"))[1], "FW902", "12000rpm", "the planned 14000rpm")
    one(proof(swapped(lines(), "S14000", "S18000"))[1], "FW902", "the maximum is 16000rpm")


def test_extraction_that_is_wired_and_off_is_refused() -> None:
    of = work(machine=machine(extraction=CodeWord("M8")))
    made = setup()
    _, findings = verify("\n".join(lines()).encode(), plan(made, of), made)
    assert [(one.code, one.severity) for one in findings] == [("FW902", "error")]
    assert proof(swapped(lines(), "G4 P4.", "M8 G4 P4."), made, of)[1] == []
    # for extraction by hand the program has to stop
    one(proof(swapped(lines(), " M0", ""))[1], "FW902", "no M0 before it")


def test_relative_coordinates_are_followed() -> None:
    _, found = proof(swapped(lines(), "G90", "G91"))
    one(found, "FW902", "from a position that the program has not set")
    assert len([line for line in found if "has not set" in line]) == 3  # once for each axis


def test_machine_coordinates_need_the_top_of_the_travel() -> None:
    text = [*SAFETY, "G53 G0 Z0.", *lines()[5:]]
    one(proof(text)[1], "FW902", "gives no `top`")
    topped = work(machine=machine(top=quantity("0", "mm")))
    assert proof(text, of=topped)[1] == []
    # the edge reaches 122 mm above the bed at machine Z 0, so Z-100 is 22 mm above it
    one(proof(swapped(text, "Z0.", "Z-100."), of=topped)[1], "FW903", "22mm above the bed", "before")


# -- FW903: it hits something -------------------------------------------------------------------------------------


def test_rapid_into_wood_and_along_the_face() -> None:
    text = lines()
    down = next(i for i, line in enumerate(text) if line.startswith("G1 Z"))
    _, found = proof([*text[: down + 2], text[down + 2].replace("G1", "G0"), *text[down + 3 :]])
    one(found, "FW903", "moves at rapid through wood, 0.5mm deep", "pass 1")
    last = len(text) - text[::-1].index(f"G0 Z{LIFT - HIGH - PAPER:.3f}") - 1
    _, found = proof([*text[:last], "G0 X100. Y100.", *text[last:]])
    one(found, "FW903", "at rapid along the face")


def test_a_rapid_may_go_anywhere_in_its_box() -> None:
    # the straight line misses the panel's corner, the box round its ends does not
    text = [*lines()[:8], "G0 X-40. Y50.", f"G0 Z{29 - HIGH}", "G0 X60. Y-40.", "G0 Z40.", *lines()[8:]]
    one(proof(text)[1], "FW903", "at rapid through wood, 0.95mm deep")


def test_a_plunge_needs_a_cutter_that_can_plunge() -> None:
    text = [*lines()[:8], "G0 X150. Y100.", "G1 Z-0.55 F2000", "G0 Z40.", *lines()[8:]]
    one(proof(text)[1], "FW903", "plunges 0.5mm into wood", "cannot plunge")
    assert proof(text, of=work(cutter=cutter(plunge="yes")))[1] == []


def test_spindle_still_backward_late_and_unknown() -> None:
    one(proof(without(lines(), "S14000"))[1], "FW903", "spindle stands still")
    one(proof(swapped(lines(), "M3", "M4"))[1], "FW903", "backward")
    one(proof(without(lines(), "G4"))[1], "FW903", "after a dwell of 0s", "needs 4s")
    one(proof(swapped(lines(), "P4.", "P0.004"))[1], "FW903", "after a dwell of 0.004s")
    one(proof(swapped(lines(), "S14000 ", ""))[1], "FW903", "before a speed S")
    one(
        proof([*SAFETY, "S14000 M3", "G4 P4.", *lines()[5:6], *lines()[8:]])[1],
        "FW903",
        "starts the spindle before the program",
    )
    assert proof(without(lines(), "M5"))[1] == []  # M30 stops the spindle


def test_dwell_in_milliseconds() -> None:
    of = work(machine=machine(dwell="milliseconds"))
    one(proof(lines(), of=of)[1], "FW903", "dwell of 0.004s")
    assert proof(swapped(lines(), "P4.", "P4000"), of=of)[1] == []


def test_spindle_that_starts_in_wood() -> None:
    text = [*SAFETY, "G0 Z40.", "G0 X150. Y100.", "G1 Z-0.5 F6000", "S14000 M3", "G4 P4.", "G0 Z40.", *lines()[8:]]
    _, found = proof(text, of=work(cutter=cutter(plunge="yes")))
    one(found, "FW903", "spindle stands still")


def test_spindle_left_turning_at_a_percent_sign() -> None:
    text = ["%", *without(lines(), "M5")[:-1], "%"]
    one(proof(text)[1], "FW903", "ends with the spindle turning")


def test_a_cut_without_a_feed() -> None:
    text = [re.sub(" F[26]000", "", line) for line in lines()]
    one(proof(text)[1], "FW903", "before a feed F is set")


def test_moves_before_any_height_or_place() -> None:
    one(proof(without(lines(), "G0 Z"))[1], "FW903", "sideways before")
    low = swapped(lines(), f"G0 Z{LIFT - HIGH - PAPER:.3f}", "G0 Z-10.")
    one(proof(low)[1], "FW903", "20.05mm above the bed before the program has set X and Y", "wood may be 30mm high")


#: a dog beside the end of the first row is higher than both planes; 0.5 mm beside it is contact still
@pytest.mark.parametrize(("graze", "meets"), [(0.01, True), (-0.01, True), (-0.49, True), (-0.51, False)])
def test_a_graze_of_a_hundredth_is_found_and_a_miss_is_not(graze: float, meets: bool) -> None:
    of = work()._replace(rules=Rules(clearance=0.0))
    first = rows()[0]
    right = max(first[0], first[2])
    beside = dog_at(right + RADIUS + 9.5 - graze, first[1], 30.2)
    shown, found = proof(lines(), setup(holders=(beside,)), of)
    assert (codes(found) == {"FW903"}) == meets, found
    assert (shown.collisions > 0) == meets
    if meets:
        close = "0.01mm deep" if graze > 0 else f"{-graze}mm beside it, where 0.5mm or less counts as contact"
        one(found, "FW903", "cutter into the dog `low_dog`", close)
    square = clamp_in((right + RADIUS - graze, first[1] - 5, right + 60, first[1] + 5), 30.2)
    assert (codes(proof(lines(), setup(holders=(square,)), of)[1]) == {"FW903"}) == meets


#: the plane lies at 29 mm; heights may be off by bed 0.08, lean 0.0032, repeat 0.02, and 0.5 mm more are contact
@pytest.mark.parametrize(("height", "meets"), [(29.0, True), (28.99, True), (28.386, False)])
def test_height_alone_decides_over_a_holder(height: float, meets: bool) -> None:
    of = work()._replace(rules=Rules(clearance=0.0))
    under = clamp_in((LENGTH, 50.0, LENGTH + 30.0, 150.0), height)
    found = proof(lines(), setup(holders=(under,)), of)[1]
    assert (codes(found) == {"FW903"}) == meets
    over = ", 0.51mm over it, where 0.6032mm or less counts as contact, on its way"
    assert any(over in each for each in found) == (height == 28.99)


def test_the_clearance_is_kept_over_or_beside_unless_it_is_waived() -> None:
    under = setup(holders=(clamp_in((LENGTH, 50.0, LENGTH + 30.0, 150.0), 27.5),))
    _, found = proof(lines(), under)
    one(found, "FW903", "passes the clamp `side_cam`", "at 1.5mm", "the clearance of 2mm")
    assert proof(lines(), under, work(waivers={"clearance": None}))[1] == []  # type: ignore[dict-item]
    assert proof(lines(), setup(holders=(clamp_in((LENGTH, 50.0, LENGTH + 30.0, 150.0), 27.0),)))[1] == []


def test_a_lift_too_low_over_a_clamp_sweeps_its_box() -> None:
    # only the box of the rapid between the planes comes near this clamp
    tall = clamp_in((400.0, -60.0, 440.0, -40.0), 65.0)
    text = lines()
    at = text.index("M5")
    aside = [*text[:at], "G0 Z30.", "G0 X350. Y-150.", "G0 X500. Y-10.", "G0 Z39.95", *text[at:]]
    bare = work(machine=machine().model_copy(update={"shoe": None, "lift": q("5mm")}))
    _, found = proof(aside, setup(holders=(tall,)), bare)
    one(found, "FW903", "cutter into the clamp")
    feed = [re.sub("G0 X(350|500).*", r"G1 X\1. Y-150.", line) for line in aside]
    assert proof(feed, setup(holders=(tall,)), bare)[1] == []


def test_shoe_and_nose_meet_what_the_cutter_passes() -> None:
    first = rows()[0]
    right = max(first[0], first[2])
    # 40 mm beside the last centre: the cutter (32 mm) passes with 8 mm, the shoe (70 mm) does not, 4 mm above
    tall = clamp_in((right + 40.0, 0.0, right + 60.0, 40.0), 33.5)
    one(proof(lines(), setup(holders=(tall,)))[1], "FW903", "dust shoe into the clamp")
    wide_nose = work(machine=machine().model_copy(update={"shoe": None, "nose": quantity("120", "mm")}))
    assert proof(lines(), setup(holders=(tall,)), wide_nose)[1] == []
    taller = clamp_in((right + 40.0, 0.0, right + 60.0, 40.0), 68.0)
    one(proof(lines(), setup(holders=(taller,)), wide_nose)[1], "FW903", "spindle's nose into the clamp")
    # the nose ends 38 mm above the edge, at 67 mm; with zero 1 mm lower it may come down to 66 mm
    for height, told in ((65.9, False), (66.1, True)):
        under = setup(holders=(clamp_in((right + 40.0, 0.0, right + 60.0, 40.0), height),))
        low = under._replace(touch=under.touch._replace(lowest=under.touch.height - 1.0))
        found = proof(lines(), low, wide_nose)[1]
        assert any("may bring the spindle's nose into the clamp" in each for each in found) == told
        assert not any("nose" in each for each in proof(lines(), under, wide_nose)[1])


def test_shank_and_shoe_meet_standing_wood() -> None:
    ridge = Surface(np.array([0.0, 200.0, 200.0, LENGTH]), np.array([0.0, WIDTH]), np.array([[30, 30, 36, 36.0]] * 2))
    text = lines((29.5,), [(-40.0, 100.0, 150.0, 100.0)])
    _, found = proof(text, setup(ridge, (29.5,)))
    one(found, "FW903", "dust shoe 2.5mm into standing wood")


def test_a_spoilboard_is_judged_where_the_travel_reaches() -> None:
    from flatwise.model.job import Stock

    board = work(1400.0, 1400.0)
    stock = Stock(size=board.job.stock.size, wood=DeclaredName("mdf"), grain="x").placed("bed")
    board = board._replace(job=board.job.model_copy(update={"stock": stock, "zero": zero(0.0, 0.0)}))
    top = Surface.flat(1400.0, 1400.0, 0.0)
    made = setup(
        top, (-0.5,), origin_machine=(0.0, 0.0), touch=Touch("top", 0.0, 0.0, 0.0, 0.0, 0.0, 0.0), lift=50.0,
        stepover=40.0,
    )  # fmt: skip
    inside = [(0.0, 40.0 * k, 1400.0, 40.0 * k) if k % 2 else (1400.0, 40.0 * k, 0.0, 40.0 * k) for k in range(36)]
    text = swapped(lines((-0.5,), inside, zero=0.0), "G0 Z2.500", "G0 Z3.")
    _, found = proof(text, made, board._replace(cutter=cutter(plunge="yes")))
    assert found == []
    _, found = proof(text[:-30], made, board._replace(cutter=cutter(plunge="yes")))
    assert codes(found) == {"FW901"}
    fewer = swapped(lines((-0.5,), inside[:-1], zero=0.0), "G0 Z2.500", "G0 Z3.")
    assert codes(proof(fewer, made, board._replace(cutter=cutter(plunge="yes")))[1]) == {"FW904"}


def test_origin_and_limit_of_the_plan_are_not_trusted() -> None:
    # the job puts the panel at the end of the travel, unlike the plan; or the plan allows deeper bites than the cutter
    tray = work()
    far = tray._replace(job=tray.job.model_copy(update={"zero": zero(1300.0, 500.0)}))
    found = proof(lines(), setup(), far)[1]
    assert codes(found) == {"FW902"} and "outside the travel" in found[0] and proof(lines())[1] == []
    deep = lines((28.5,))
    told = [proof(deep, setup(planes=(28.5,), limit=limit))[1] for limit in (0.5, 3.0)]
    assert all(codes(found) == {"FW902"} for found in told)
    assert "limit there is 0.5mm" in told[0][0] and "limit there is 1.2mm" in told[1][0]


@pytest.mark.parametrize(("aside", "bite"), [(0.0, "0.5"), (0.4, "1")])
def test_a_pocket_that_is_cut_again_along_the_same_line_bites_no_deeper(aside: float, bite: str) -> None:
    # cells at the rim of the pocket keep their height, but the cutter touches nothing there the second time
    pocket = ["G0 X100. Y100.", "G1 Z-0.55 F2000", "G1 X200. F6000", "G0 Z40."]
    again = [f"G0 Y{100 + aside}", "G1 Z-1.05 F2000", "G1 X100. F6000", "G0 Z40."]
    text = [*lines()[:8], *pocket, *again, *lines()[8:]]
    shown, found = proof(text, of=work(cutter=cutter(plunge="yes")))
    assert f"{shown.deepest_bite:g}" == bite
    assert codes(found) == (set() if not aside else {"FW902"}), found
