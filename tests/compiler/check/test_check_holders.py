"""Checks of positions at their limits: travel, ends of rows, holders and how they hold."""

from __future__ import annotations

import pytest
from compiler.check.test_check_plan import L, W, codes, found, tall, with_zero
from compiler.plan.plans import planned
from compiler.shop import clamp, clamp_in, dog, holders, machine, mm, q
from compiler.works import cut, faces, second_to, waiver, work

from flatwise import check
from flatwise.core.fixes import at_least, at_most
from flatwise.model.job import FirstTo, Take, UntilClean
from flatwise.model.shop import Controller, Lean, Park, Spindle, Travel
from flatwise.plan.clearance import by_line, overlap, places, too_tall
from flatwise_grammar.nodes import Span


@pytest.mark.parametrize(("travel", "count"), [("94mm", 0), ("93.9mm", 1)])
def test_the_lowest_plane_and_the_bottom_of_the_travel(travel: str, count: int) -> None:
    # the edge is 122 mm above the bed at the top of the travel; the second face is cut at 28 mm
    short = work(machine=machine(travel=Travel(x=q("1320mm"), y=q("1320mm"), z=q(travel))))
    findings = found(short, "FW302")
    assert len(findings) == count
    for one in findings:
        assert one.message.startswith("The second face is cut 28mm above the bed, ") and one.value == 28.0
        assert one.limit == pytest.approx(28.1)


@pytest.mark.parametrize(("travel", "count"), [("122mm", 0), ("121.9mm", 1)])
def test_touching_off_on_the_bed_needs_the_travel_too(travel: str, count: int) -> None:
    on_bed = with_zero("120mm", "120mm", on="bed")
    short = on_bed._replace(machine=machine(travel=Travel(x=q("1320mm"), y=q("1320mm"), z=q(travel))))
    findings = found(short, "FW302")
    assert [one.message.partition(" 0mm")[0] for one in findings] == ["The cutter touches off"] * count


@pytest.mark.parametrize(("lift", "count"), [("89.95mm", 0), ("89.96mm", 1)])
def test_the_lift_and_the_top_of_the_travel(lift: str, count: int) -> None:
    # the lift counts from the highest thing on the bed, a top of 32 mm that is known within 0.05 mm
    findings = found(work(machine=machine(lift=q(lift))), "FW302")
    assert len(findings) == count
    assert all(one.limit == pytest.approx(122.0) and one.value == pytest.approx(122.01) for one in findings)
    # or from a holder that is higher than the panel
    tall_one = work(machine=machine(lift=q("72.1mm")), holders=(*holders(L, W), clamp("left", 60.0, L, W, height=50.0)))
    assert [one.value for one in found(tall_one, "FW302")] == [pytest.approx(122.1)]


def test_the_park_position_may_be_the_corner_of_the_travel() -> None:
    for x, y, count in (("0mm", "1320mm", 0), ("1320mm", "0mm", 0), ("1320.1mm", "0mm", 1), ("-0.1mm", "0mm", 1)):
        of = work(machine=machine(controller=Controller(park=Park(x=q(x), y=q(y)))))
        findings = found(of, "FW301")
        assert len(findings) == count
        assert all(f"at X {x}, but its X travel is 0 to 1320mm." in one.message for one in findings)


def test_a_panel_too_long_for_the_travel_both_ways() -> None:
    # 900 mm and run-outs of 38 mm each: 976 mm of X
    short = machine(travel=Travel(x=q("970mm"), y=q("1320mm"), z=q("160mm")))
    (one,) = found(with_zero("37mm", "120mm")._replace(machine=short), "FW301")
    assert one.value == pytest.approx(6.0) and one.help == "Turn the panel on the bed."
    assert one.message.endswith(
        "as it lies: with its run-outs, the cut needs 976mm of X travel, 6mm more than there is."
    )
    free = found(with_zero("20mm", "120mm")._replace(machine=machine()), "FW301")
    assert [one.help for one in free] == ["Move the panel by that much away from the left end."]


def test_the_deepest_overlap_of_two_holders() -> None:
    one, other = clamp("back", 300.0, L, W), clamp("back", 369.9, L, W)
    assert overlap(one, other) == pytest.approx(0.1)
    assert found(work(holders=(one, other)), "FW503")[0].value == pytest.approx(0.1)
    assert found(work(holders=(one, clamp("back", 370.0, L, W))), "FW503") == []
    # a dog at a clamp's corner: the dog's radius is 9.5 mm, and the corner is 5 and 8 mm from its centre
    corner = dog("back", 300.0, L, W)._replace(x0=330.5, x1=349.5, y0=530.5, y1=549.5)
    assert overlap(one, corner) == overlap(corner, one) == pytest.approx(9.5 - (5.0**2 + 8.0**2) ** 0.5)


def test_two_clamps_overlap_by_the_smaller_of_two_lengths() -> None:
    # 8 mm along and 3 mm across, and the same with the axes swapped; apart across by 1 mm
    one, other = clamp_in((0.0, 0.0, 10.0, 10.0), 13.0), clamp_in((2.0, 7.0, 12.0, 20.0), 13.0)
    turned = clamp_in((7.0, 2.0, 20.0, 12.0), 13.0)
    assert [overlap(one, other), overlap(other, one), overlap(one, turned), overlap(turned, one)] == [3.0] * 4
    assert overlap(one, clamp_in((2.0, 11.0, 12.0, 20.0), 13.0)) == -1.0


@pytest.mark.parametrize(("edge", "at", "out"), [("back", 35.0, 0), ("back", 34.9, 0.1), ("back", 865.1, 0.1)])
def test_a_clamp_at_the_end_of_its_edge(edge: str, at: float, out: float) -> None:
    findings = found(work(holders=(clamp(edge, at, L, W),)), "FW503")
    assert [one.value for one in findings] == ([pytest.approx(out)] if out else [])


def test_the_short_edges_end_at_the_width() -> None:
    assert found(work(holders=(clamp("right", 465.0, L, W),)), "FW503") == []
    (one,) = found(work(holders=(clamp("right", 466.0, L, W),)), "FW503")
    assert one.value == pytest.approx(1.0) and "Move it by at least 1mm" in one.help
    # a dog may stand at the very end: it touches the edge along a line
    assert found(work(holders=(dog("back", 2.0, L, W),)), "FW503") == []


def test_a_holder_in_the_panel() -> None:
    inside = clamp("back", 300.0, L, W)._replace(y0=498.0, y1=530.0)
    (one,) = found(work(holders=(inside,)), "FW503")
    assert one.message.endswith("overlaps the panel by 2mm.")
    front = clamp("front", 300.0, L, W)._replace(y0=-29.0, y1=3.0)
    (one,) = found(work(holders=(front,)), "FW503")
    assert one.message.endswith("overlaps the panel by 3mm.")


def test_holders_of_one_line_are_reported_together_with_all_their_places() -> None:
    high = tuple(clamp("back", at, L, W, height=27.0) for at in (100.0, 300.0, 500.0))
    of = work(holders=(*(one for one in holders(L, W) if one.edge != "back"), *high))
    (one,) = found(of, "FW502")
    assert "on the back edge at 100mm, 300mm and 500mm is 1mm too high" in one.message
    assert one.value == pytest.approx(1.0) and one.limit == 2.0 and one.rule == "clearance"
    (line,) = by_line(planned(of))
    assert places(line[:1]) == "100mm" and places(line[:2]) == "100mm and 300mm"


def test_without_holders_the_message_gives_the_friction() -> None:
    # friction: 900 x 500 x 32 mm of 670 kg/m3 weigh 9.648 kg, and a tenth of 94.6 N holds.  Load: four times the cut's
    # force of 0.5 mm x 8000 / 42 000 mm x 45 N/mm2 for each of two wings, with as much feed thrust; the stall of 2.2 kW
    # at 46.9 m/s is less
    (one,) = found(work(holders=()), "FW504")
    assert one.limit == pytest.approx(0.1 * 9.648 * 9.80665, rel=1e-3) and one.value == pytest.approx(
        4 * 2**0.5 * 0.5 * 8 / 42 * 45 * 2
    )
    assert "push with 48N, but friction resists only 9N" in one.message


def test_clamps_without_a_dog_opposite_are_reported_once_a_line() -> None:
    loose = tuple(one for one in holders(L, W) if one.kind == "clamp")
    findings = found(work(holders=loose), "FW504")
    assert [one.help for one in findings] == [
        "Put a dog on the left edge, opposite the clamp.",
        "Put a dog on the front edge, opposite the clamp.",
    ]


def test_the_limit_against_turning_is_the_load_that_would_be_held() -> None:
    # one dog in the middle of each of two edges, clamps opposite: only friction resists turning
    held = (
        dog("left", W / 2, L, W),
        dog("front", L / 2, L, W),
        clamp("right", W / 2, L, W),
        clamp("back", L / 2, L, W),
    )
    (one,) = found(work(holders=held), "FW504")
    assert one.message.startswith("The panel may turn: a push of ") and one.value is not None and one.limit is not None
    assert 0.0 < one.limit < one.value
    needs, has = (float(text.split(" ")[-1]) for text in one.message.split("N·m")[:2])
    assert one.limit / one.value == pytest.approx(has / needs, abs=0.05)


def test_clamps_and_friction_resist_sliding() -> None:
    # a clamp of 30 N on the right against the dogs on the left; friction a tenth of 94.6 + 30 + 900 N
    weak = tuple(one._replace(force=5.0) if one.kind == "clamp" else one for one in holders(L, W))
    (one,) = found(work(holders=weak), "FW504")
    assert one.message.startswith("The panel may slide ") and one.limit is not None and one.value is not None
    assert one.limit < one.value and f"resist only {one.limit:.0f}N" in one.message


@pytest.mark.parametrize(
    ("first", "said"),
    [
        (UntilClean(until="until"), "There is nothing to cut on the second face"),
        (Take(depth=q("0.9mm")), "There is nothing to cut on the second face"),
    ],
)
def test_nothing_to_cut_on_the_second_face(first: object, said: str) -> None:
    of = work(job={"faces": faces(first=first, second=second_to("33mm"))})
    (one,) = found(of, "FW604")
    assert one.message.startswith(said) and "above the first face, and 33mm is asked for" in one.message
    assert one.value == 33.0 and one.limit is not None and one.limit < 32.0


def test_a_plane_exactly_at_the_highest_place_cuts_nothing() -> None:
    of = work(job={"faces": faces(first=FirstTo(height=q("32mm")))})
    (one,) = found(of, "FW604")
    assert one.value == 32.0 == one.limit and one.message.startswith("There is nothing to cut on the first face: its")


def test_a_thin_panel_gives_the_remaining_thickness_and_the_standard() -> None:
    low = tuple(one._replace(height=8.0) for one in holders(L, W))
    only_first = work(holders=low, job={"faces": faces(first=FirstTo(height=q("14.5mm")), second=None)})
    (one,) = found(only_first, "FW602")
    assert one.value == pytest.approx(14.5) and one.message.startswith("Only 14.5mm would be left, less than the 15mm ")
    assert one.help == "Leave 15mm or more."
    assert [w.rule for w in check.waive(only_first._replace(waivers=waiver("leave")), (one,), whole=True)[1]] == [
        "leave"
    ]


def test_the_widest_rows_are_as_wide_as_the_cutter() -> None:
    (one,) = found(work(job={"cut": cut(stepover=q("110%"))}), "FW406")
    # a tenth of 64 mm is left between the rows
    assert "strips of up to 6.4mm" in one.message and (one.value, one.limit) == (pytest.approx(1.1), 1.0)
    assert "FW406" not in codes(work(job={"cut": cut(stepover=q("100%"))}))


def test_only_a_clamp_that_reaches_the_lowest_plane_is_in_the_way() -> None:
    assert found(tall(26.0), "FW501") == [] and len(found(tall(28.0), "FW501")) == 1
    # a zero on the top is uncertain by 0.05 mm
    assert too_tall(planned(tall(26.0))) == () == too_tall(planned(tall(28.0))._replace(setups=()))
    # a foot of 70 mm and 2 mm on either side, along any edge
    for edge in ("right", "back"):
        assert "leaves 74mm of that edge uncut" in found(tall(27.0, edge), "FW502")[0].message
    # contact: 0.05 of survey, 0.08 of bed, 0.0032 of lean, 0.02 of repeat, 0.01 of paper, and 0.5
    assert found(tall(27.336), "FW501") == [] and len(found(tall(27.337), "FW501")) == 1


def test_a_cutter_set_on_a_top_that_may_lie_lower_than_the_clearance_may_meet_a_clamp() -> None:
    # an uncertainty of 2.75 mm, 0.1132 mm of the machine and 0.5 mm: a gap of 3.3632 mm under 28 mm is contact, though
    # 2 mm of clearance would allow a clamp of 26 mm
    for height, expected in ((25.3, ["FW501"]), (24.637, ["FW501"]), (24.636, []), (26.01, ["FW501"])):
        findings = [one for one in found(tall(height), bound=2.75) if one.code in ("FW501", "FW502")]
        assert [one.code for one in findings] == expected and all(one.rule == "" for one in findings)
    one = found(tall(25.4), "FW501", bound=2.75)[0]
    assert one.message.startswith(
        "The cutter may meet the clamp side_cam on the right edge at 250mm: the clamp is 25.4mm high"
    )
    assert one.message.endswith(
        "second face is cut at 28mm, 2.6mm above it; the uncertainty is 2.863mm, and a gap must exceed 3.363mm."
    )
    assert (one.value, one.limit) == (pytest.approx(2.6), pytest.approx(3.3632))
    assert "no higher than 24.62mm," in one.help and "add readings" in one.help
    # the survey's uncertainty does not matter to a zero on the bed
    on_bed = with_zero("120mm", "120mm", on="bed")
    for height, many in ((25.3, 0), (27.396, 0), (27.397, 1), (28.0, 1)):
        assert len(found(on_bed._replace(holders=tall(height).holders), "FW501", bound=2.75)) == many


@pytest.mark.parametrize(("free", "count"), [(64.2, 0), (63.8, 1)])
def test_a_zero_on_the_bed_needs_a_place_as_wide_as_the_cutter(free: float, count: int) -> None:
    # the travel allows touching off only in front of the panel, between two clamps that are `free` apart
    left, right = 450.0 - free / 2.0, 450.0 + free / 2.0
    clamps = (clamp_in((-90.0, -90.0, left, 0.0), 13.0), clamp_in((right, -90.0, 990.0, 0.0), 13.0, edge="front"))
    of = with_zero("30mm", "60mm", on="bed")._replace(holders=clamps)
    of = of._replace(machine=machine(travel=Travel(x=mm(960.0), y=mm(590.0), z=q("160mm"))))
    findings = [one for one in found(of, "FW501") if "lowered to the bed" in one.message]
    assert len(findings) == count
    for one in findings:
        assert one.message.endswith("it would meet the clamp side_cam on the right edge at -90mm.")
        assert (one.value, one.limit) == (pytest.approx(31.9), 32.0) and one.span == of.job.zero.span("z")
    on_top = of._replace(job=with_zero("30mm", "60mm").job)
    assert not [one for one in found(on_top, "FW501") if "lowered to the bed" in one.message]


@pytest.mark.parametrize(("height", "face", "gap"), [(28.5, "second", -0.5), (25.0, "first", 6.9)])
def test_the_setup_that_may_run_lowest_is_reported(height: float, face: str, gap: float) -> None:
    # the first face is cut at 31.9 mm, or up to 9 mm lower; the second at 28 mm, or up to 0.05 mm lower
    first, second = planned(
        work(holders=tall(height).holders, job={"faces": faces(first=FirstTo(height=mm(31.9)))})
    ).setups
    deep = first._replace(touch=first.touch._replace(lowest=first.touch.height - 9.0))
    (one,) = too_tall(planned(work())._replace(setups=(deep, second)))
    assert (one.face, one.gap, one.meets) == (face, pytest.approx(gap), True)


@pytest.mark.parametrize("odd", [0, 1])
def test_the_worse_of_the_two_setups_is_reported(odd: int) -> None:
    plan = planned(work())

    def values(code: str, **changed: float | tuple[float, float]) -> list[float | None]:
        setups = tuple(one._replace(**changed) if k == odd else one for k, one in enumerate(plan.setups))
        return [one.value for one in check.run(plan._replace(setups=setups)) if one.code == code]

    # the chart allows 0.10 mm to 0.30 mm
    assert values("FW403", chip_load=0.05) == [0.05] and values("FW403", chip_load=0.1) == []
    assert values("FW403", chip_load=0.35) == [0.35] and values("FW403", chip_load=0.3) == []
    # 2.2 kW at 14 000 of 24 000 rpm
    assert values("FW405", power=1300.0) == [1300.0] and values("FW405", power=1283.0) == []
    assert values("FW701", power=900.0)[0] == pytest.approx(900.0 / (2200.0 * 14 / 24))
    assert values("FW504", holding_load=5000.0) == [5000.0]
    # the last centre is at 938 mm
    assert values("FW301", origin_machine=(500.0, 120.0)) == [pytest.approx(938.0 + 500.0 - 1320.0)]
    assert values("FW302", lift=200.0) == [200.0] and values("FW302", plane=-45.0) == [-45.0]


def test_power_and_speed_findings_name_their_numbers() -> None:
    from compiler.shop import cutter

    from flatwise.model.shop import SpeedRange

    slow = cutter(speed=SpeedRange(least=q("10000rpm"), most=q("12000rpm")))
    (nameless,) = found(work(cutter=slow), "FW402")
    assert "the cutter is marked for 10000rpm to 12000rpm" in nameless.message
    slow.placed("slow_fly")
    (named,) = found(work(cutter=slow), "FW402")
    assert "slow_fly is marked for 10000rpm to 12000rpm" in named.message


@pytest.mark.parametrize(("gap", "count"), [(33.9, 1), (34.1, 0)])
def test_room_to_come_down_at_the_end_of_a_row(gap: float, count: int) -> None:
    # the cutter comes down 38 mm past the edge: its radius and 2 mm of clearance reach 34 mm further
    rails = []
    for edge, low in (("left", -38.0 - gap), ("right", L + 38.0 + gap)):
        x0, x1 = (low - 10.0, low) if edge == "left" else (low, low + 10.0)
        rails.append(clamp(edge, 250.0, L, W, height=40.0)._replace(x0=x0, x1=x1, y0=-60.0, y1=W + 60.0))
    assert len(found(work(holders=(*holders(L, W), *rails)), "FW407")) == count


@pytest.mark.parametrize(
    # the face is cut at 28 mm; 0.5 mm, bed 0.08, lean 0.0032, repeat 0.02, paper 0.01 and survey 0.05 are contact
    ("height", "beside", "waived", "count"),
    [
        # a waived clearance lets the cutter come down over what it does not meet
        (27.0, 10.0, False, 1),
        (27.0, 10.0, True, 0),
        # it still can't over what it may meet, nor within 0.5 mm of that in plan
        (27.5, 10.0, True, 1),
        (40.0, 32.4, True, 1),
        (40.0, 32.6, True, 0),
        (40.0, 32.6, False, 1),
    ],
)
def test_a_waived_clearance_leaves_what_contact_forbids(height: float, beside: float, waived: bool, count: int) -> None:
    # rails along both ends of all rows, whose near sides lie `beside` the cutter's centre there
    rails = [
        clamp(edge, 250.0, L, W, height=height)._replace(x0=x0, x1=x1, y0=-60.0, y1=W + 60.0)
        for edge, x0, x1 in (("left", -90.0, -38.0 - beside), ("right", L + 38.0 + beside, L + 90.0))
    ]
    of = work(holders=(*holders(L, W), *rails), waivers=waiver("clearance") if waived else {})
    assert len(found(of, "FW407")) == count


def uneven(first: str, second: str) -> list[float | None]:
    low = tuple(one._replace(height=8.0) for one in holders(L, W))
    of = work(holders=low, job={"faces": faces(first=FirstTo(height=q(first)), second=second_to(second))})
    return [one.value for one in found(of, "FW701") if one.rule == "uneven"]


def test_what_the_faces_lose_may_differ_by_exactly_the_rule() -> None:
    # a board of 32 mm: 1 mm and 4 mm, and the rule is 3 mm
    assert uneven("31mm", "27mm") == [] and uneven("31mm", "26.99mm") == [pytest.approx(3.01)]
    assert uneven("28mm", "27mm") == [] and uneven("27.9mm", "26.9mm") == [pytest.approx(3.1)]
    # a plane above the wood is FW604, not a face that loses less than nothing
    assert uneven("33mm", "20mm") == [] and uneven("31mm", "36mm") == []


def test_the_stepover_that_would_keep_the_ridge_low() -> None:
    # a ridge of 0.03 mm at a lean of 0.2 mm in 200 mm is a step of 30 mm, which is 46.87 % of 64 mm
    leaning = machine(tram=Lean(out=q("0.2mm"), over=q("200mm")))
    (one,) = [each for each in found(work(machine=leaning), "FW701") if each.rule == "ridge"]
    assert "Write a stepover of 46.87% or less" in one.help
    assert one.value is not None and one.value > 0.03
    mended = work(machine=leaning, job={"cut": cut(stepover=q("46.87%"))})
    assert [each for each in found(mended, "FW701") if each.rule == "ridge"] == []


def test_lengths_are_shown_in_the_unit_of_the_job() -> None:
    inches = work(job={"faces": faces(first=FirstTo(height=q("1.3in")))})
    (nothing,) = found(inches, "FW604")
    assert "1.26in above the bed, and 1.3in is asked for" in nothing.message
    (unclean,) = found(work(job={"faces": faces(first=FirstTo(height=q("1.2598in")))}), "FW601")
    assert "can't come clean when cut to 1.2598in: its lowest place is 1.26in above the bed" in unclean.message
    assert unclean.fix is not None and unclean.fix.edits[0].text.endswith("in")
    low = tuple(one._replace(height=8.0) for one in holders(L, W))
    (thin,) = found(work(holders=low, job={"faces": faces(second=second_to("1/2in"))}), "FW602")
    assert "Only 0.5in would be left, less than the 0.5906in" in thin.message


def test_a_finding_about_a_written_value_points_to_it() -> None:
    at = Span("jobs/example.flat", 300, 306)
    feed = q("20m/min")
    feed.span = at
    weak = work(job={"cut": cut(feed=feed)}, machine=machine(spindle=slow_spindle()))
    assert {one.span for one in found(weak) if one.code in ("FW403", "FW404", "FW405")} == {at}
    auto = work(job={"cut": cut(feed="auto")}, machine=machine(spindle=slow_spindle()))
    assert at not in {one.span for one in found(auto)}


def slow_spindle() -> Spindle:
    return Spindle(power=q("0.02kW"), least=q("8000rpm"), most=q("24000rpm"))


def test_limits_are_rounded_to_four_digits_on_the_safe_side() -> None:
    assert [at_most(value, "mm") for value in (123.456, 12345.6, 1.23456, 0.123456, 9.9999)] == [
        "123.4mm", "12345mm", "1.234mm", "0.1234mm", "9.999mm",
    ]  # fmt: skip
    assert [at_least(value, "mm") for value in (123.456, 12345.6, 1.23456, 0.123456, 9.9999)] == [
        "123.5mm", "12346mm", "1.235mm", "0.1235mm", "10mm",
    ]  # fmt: skip
    assert at_most(25.4, "in") == "1in" == at_least(25.4, "in")
