"""The checks of a plan at their limits: what is just allowed, what just is not, and what their fixes do."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from compiler.plan.plans import bumpy, planned
from compiler.shop import clamp, cutter, dog, holders, machine, q
from compiler.works import bed_work, cut, faces, second_to, stock, waiver, work, zero

from flatwise import check
from flatwise.check import fw603_tolerance
from flatwise.core.finding import Finding
from flatwise.core.fixes import at_least, at_most
from flatwise.core.units import Quantity
from flatwise.model.job import FirstTo, Hold, PanelSize, Take
from flatwise.model.shop import ChipLoad, Lean, Park, Shoe, SpeedRange, Spindle
from flatwise.model.stages import Holder, Work

L, W = 900.0, 500.0


def found(of: Work, code: str = "", **laid: Any) -> list[Finding]:
    findings = check.run(planned(of, **laid))
    return [one for one in findings if one.code == code] if code else list(findings)


def codes(of: Work, **laid: Any) -> list[str]:
    return [one.code for one in found(of, **laid)]


def with_cut(**changed: Any) -> Work:
    return work(job={"cut": cut(**changed)})


def with_zero(x: str, y: str, corner: Any = "front_left", on: Any = "top") -> Work:
    return work(job={"zero": zero(x, y, None, on=on, corner=corner)})


def with_second(text: str, within: str | None = None, first: Any = ...) -> Work:
    return work(job={"faces": faces(first=first, second=second_to(text, within))})


def test_the_plain_job_has_only_uneven_faces() -> None:
    # 32 mm to 28 mm until clean: the second face loses far more than the first
    assert codes(work()) == ["FW701"]
    assert codes(with_second("29.5mm")) == []


@pytest.mark.parametrize(
    ("x", "y", "corner", "sides"),
    [
        # run-outs of D/2 + overrun = 38 mm along the rows; across, centres 26 mm inside the edge
        ("38mm", "100mm", "front_left", []),
        ("37.9mm", "100mm", "front_left", ["left"]),
        ("382mm", "100mm", "front_left", []),
        ("382.1mm", "100mm", "front_left", ["right"]),
        ("100mm", "-26mm", "front_left", []),
        ("100mm", "-26.1mm", "front_left", ["front"]),
        ("100mm", "846.1mm", "front_left", ["back"]),
        ("1282.1mm", "600mm", "back_right", ["right"]),
    ],
)
def test_travel(x: str, y: str, corner: str, sides: list[str]) -> None:
    # zero on top, so that only the rows count: on the bed, the place for touching off would count too
    findings = found(with_zero(x, y, corner), "FW301")
    assert [
        side for one in findings for side in ("left", "right", "front", "back") if f" {side} end" in one.message
    ] == sides
    assert all(one.value is not None and one.value == pytest.approx(0.1, abs=1e-6) for one in findings)


def test_the_park_position_lies_within_the_travel() -> None:
    from flatwise.model.shop import Controller

    park = Park(x=q("0mm"), y=q("1400mm"))
    of = work(machine=machine(controller=Controller(park=park)))
    assert ["park" in one.message for one in found(of, "FW301")] == [True]


def test_reach_in_z() -> None:
    # the edge reaches from 160 - 38 = 122 mm down to 122 - travel
    assert found(work(), "FW302") == []
    tall = work(machine=machine(lift=q("100mm")))
    assert "122mm" in found(tall, "FW302")[0].message
    from flatwise.model.shop import Travel

    short = work(machine=machine(travel=Travel(x=q("1320mm"), y=q("1320mm"), z=q("93mm"))))
    assert found(short, "FW302")[0].limit == pytest.approx(29.0)


@pytest.mark.parametrize(
    ("changed", "tool", "name"),
    [
        ({"shoe": Shoe(across=q("140mm"), above=q("0.49mm"))}, {}, "shoe"),
        ({"shoe": None, "nose": q("70mm")}, {"stick_out": q("0.4mm")}, "nose"),
        ({"shoe": None}, {"diameter": q("10mm"), "blade": q("0.4mm")}, "shank"),
    ],
)
def test_what_is_wider_than_the_cutter(changed: dict[str, Any], tool: dict[str, Any], name: str) -> None:
    # reported once, for the deepest pass: the finish pass takes 0.2 mm
    (finding,) = found(work(machine=machine(**changed), cutter=cutter(**tool)), "FW304")
    assert finding.message.startswith(f"The {name} rides ") and finding.value == 0.5
    assert found(work(machine=machine(shoe=Shoe(across=q("140mm"), above=q("0.5mm")))), "FW304") == []


def test_a_part_no_wider_than_the_cutter_meets_nothing() -> None:
    shoe = Shoe(across=q("64mm"), above=q("0.1mm"))
    assert found(work(machine=machine(shoe=shoe)), "FW304") == []
    assert found(work(machine=machine(nose=q("64mm")), cutter=cutter(stick_out=q("0.4mm"))), "FW304") == []
    assert found(work(machine=machine(shoe=None), cutter=cutter(shank=q("64mm"), blade=q("0.1mm"))), "FW304") == []


@pytest.mark.parametrize(("take", "count"), [("3.9mm", 0), ("3.93mm", 1)])
def test_a_border_that_the_travel_leaves_is_as_high_as_all_passes_together(take: str, count: int) -> None:
    # the board begins 40 mm in front of the travel, 8 mm more than the cutter's radius; the top may be 0.1 mm higher
    short = bed_work(take=take)
    findings = found(short, "FW304")
    assert len(findings) == count
    for one in findings:
        assert one.message.endswith("the border that the travel can't reach may stand 4.03mm above the last plane.")
        assert one.message.startswith("The shoe rides 4mm above ") and one.limit == 4.0
    # a shoe as wide as the cutter meets nothing, and a travel that reaches the whole board leaves no border
    assert found(short._replace(machine=machine(shoe=Shoe(across=q("64mm"), above=q("4mm")))), "FW304") == []
    inside = short._replace(job=short.job.model_copy(update={"zero": with_zero("10mm", "10mm").job.zero}))
    assert found(inside, "FW304") == []


@pytest.mark.parametrize(("height", "meets"), [(65.99, False), (66.0, True), (69.0, True)])
def test_a_holder_as_high_as_the_nose(height: float, meets: bool) -> None:
    # the second face is cut at 28 mm, and the nose, wider than the cutter, rides 38 mm above the edge
    small = tall(height)._replace(cutter=cutter(diameter=q("50mm")))
    findings = found(small, "FW304")
    assert len(findings) == meets
    if meets:
        (one,) = findings
        assert one.message.startswith("The nose would meet the clamp side_cam on the right edge at 250mm:")
        assert (one.value, one.limit) == (height, pytest.approx(66.0)) and "when the second face is cut" in one.message
    # a nose as wide as the cutter meets only what the cutter meets
    assert found(small._replace(cutter=cutter()), "FW304") == []


def test_nose_and_shoe_are_checked_on_both_faces() -> None:
    # the first face is cut at 32 mm less its uncertainty, and the nose rides 38 mm higher
    both = found(tall(80.0)._replace(cutter=cutter(diameter=q("50mm"))), "FW304")
    assert ["first" in one.message for one in both] == [True, False]


@pytest.mark.parametrize("what", ["depth", "finish"])
def test_a_written_depth_is_judged_not_lowered(what: str) -> None:
    assert found(with_cut(**{what: q("0.6mm")}), "FW401") == []
    (rule,) = [one for one in found(with_cut(**{what: q("0.61mm")}), "FW701") if one.rule == "depth"]
    assert rule.fix is not None and rule.fix.edits[0].text == "0.6mm"
    (deep,) = found(with_cut(**{what: q("3/64in")}), "FW401") or [None]
    assert deep is None  # 1.19 mm, and the cutter takes 1.2 mm
    (deep,) = found(with_cut(**{what: q("0.05in")}), "FW401")
    assert deep.fix is not None and deep.fix.edits[0].text == "0.0236in"
    plan = planned(with_cut(depth=q("1.5mm")), bumpy(L, W, 32.0, rough=6.0))
    assert max(one.depth for setup in plan.setups for one in setup.passes) == pytest.approx(1.5)


def test_speeds() -> None:
    assert found(with_cut(speed=q("16000rpm")), "FW402") == []
    (fast,) = found(with_cut(speed=q("16001rpm")), "FW402")
    assert "marked" in fast.message and fast.fix is not None and fast.fix.edits[0].text == "16000rpm"
    (slow,) = found(with_cut(speed=q("9000rpm")), "FW402")
    assert slow.fix is not None and slow.fix.edits[0].text == "10000rpm"
    slow_spindle = machine(spindle=Spindle(power=q("2kW"), least=q("2000rpm"), most=q("12000rpm")))
    (spindle,) = found(work(machine=slow_spindle), "FW402")
    assert "spindle turns" in spindle.message
    apart = cutter(speed=SpeedRange(least=q("3000rpm"), most=q("6000rpm")))
    (never,) = found(work(cutter=apart, job={"cut": cut(speed="auto")}), "FW402")
    assert never.message.startswith("No speed suits both")


def test_chips() -> None:
    # 14000 rpm x 3 wings x 0.10 mm = 4.2 m/min, x 0.30 mm = 12.6 m/min
    assert found(with_cut(feed=q("4.2m/min")), "FW403") == []
    (thin,) = found(with_cut(feed=q("4.1m/min")), "FW403")
    assert thin.fix is not None and thin.fix.edits[0].text == "4.2m/min"
    (thick,) = found(with_cut(feed=q("500in/min")), "FW403")
    assert thick.fix is not None and float(q(thick.fix.edits[0].text)) <= 12_600.0
    # rows of 5 % thin the chip to 0.436 of its load: 0.19 mm gives 0.083 mm
    (narrow,) = found(with_cut(stepover=q("5%")), "FW403")
    assert narrow.value == pytest.approx(0.083, abs=2e-3)
    assert found(with_cut(stepover=q("10%")), "FW403") == []


def test_a_faster_feed_is_the_fix_for_thin_chips_only_within_all_limits() -> None:
    def thin(feed: str, most_chip: str, machine_feed: str) -> Finding:
        quick = machine(feed=q(machine_feed))
        tool = cutter(chip_load=ChipLoad(least=q("0.10mm"), most=q(most_chip)))
        one, *others = found(
            work(machine=quick, cutter=tool, job={"cut": cut(stepover=q("5%"), feed=q(feed))}), "FW403"
        )
        assert not others and one.message.endswith("of the cutter's chart.")
        return one

    # rows of 5 % take 4.67 % of the diameter once spread evenly: thinned to 0.436, and 4.2 / 0.436 = 9.64 m/min
    fed = thin("4.5m/min", "0.30mm", "20m/min")
    assert fed.fix is not None and fed.fix.edits[0].text == "9.636m/min" and fed.help.startswith("Feed 9.636m/min or")
    # the machine's limit is 8 m/min; the wide bite of the first row takes the unthinned chip, 0.12 mm at 5 m/min
    for one in (thin("4.5m/min", "0.30mm", "8m/min"), thin("4.5m/min", "0.12mm", "20m/min")):
        assert one.fix is None and one.help.startswith("Reduce the speed, or widen the stepover:")


def test_thin_chips_of_an_auto_feed_name_its_limit() -> None:
    weak = machine(spindle=Spindle(power=q("0.1kW"), least=q("8000rpm"), most=q("24000rpm")))
    (one,) = found(work(machine=weak, job={"cut": cut(feed="auto")}), "FW403", upper=bumpy(L, W, 32.0, rough=3.0))
    assert "a faster feed would need more power than is allowed" in one.message
    assert one.help.startswith("Reduce the speed, the stepover or the depth, so") and one.fix is None


def in_inches(**changed: Any) -> Work:
    """The plain job with its panel written in inches."""
    sides = {"length": Quantity(L, "in"), "width": Quantity(W, "in"), "thickness": Quantity(32.0, "in")}
    block = stock(L, W, 32.0, size=PanelSize(**sides))
    return work(job={"stock": block, "cut": cut(feed="auto")}, **changed)


def test_feeds_of_a_job_in_inches_are_in_inches_a_minute() -> None:
    weak = machine(spindle=Spindle(power=q("0.1kW"), least=q("8000rpm"), most=q("24000rpm")))
    (one,) = found(in_inches(machine=weak), "FW403", upper=bumpy(L, W, 32.0, rough=3.0))
    assert re.match(r"At [\d.]+in/min and 14000rpm, each wing", one.message) and "mm/min" not in one.message


def test_a_figure_is_told_apart_from_its_limit() -> None:
    # 4.2 m/min at 14000 rpm and three wings is a chip of 0.1 mm = 0.00394 in, which is 0.004in to the thou
    tool = cutter(chip_load=ChipLoad(least=q("0.004in"), most=q("0.012in")))
    (thin,) = found(work(cutter=tool, job={"cut": cut(feed=q("4.2m/min"))}), "FW403")
    assert "a chip of 0.0039in, thinner than the 0.004in of the cutter's chart" in thin.message
    low = tuple(one._replace(height=8.0) for one in holders(L, W))
    strict = work().rules._replace(leave=28.002)
    (left,) = found(with_second("28mm")._replace(holders=low, rules=strict), "FW602")
    assert "Only 28mm would be left, less than the 28.002mm that" in left.message


def test_an_auto_speed_is_low_enough_for_thick_chips() -> None:
    # 4,000 / (16,000 x 3) would be 0.083 mm, below 0.10 mm; at 10,000 rpm it is 0.133 mm
    slow = machine(feed=q("4m/min"))
    assert found(work(machine=slow, job={"cut": cut(speed="auto")}), "FW403") == []
    (still,) = found(work(machine=machine(feed=q("2m/min")), job={"cut": cut(speed="auto")}), "FW403")
    assert still.message.startswith("At 2000mm/min and 10000rpm") and "the machine feeds no faster" in still.message
    assert still.help.startswith("Use a cutter with fewer wings or a lower marked speed:") and still.fix is None
    (fed,) = found(work(job={"cut": cut(speed="auto", feed=q("2m/min"))}), "FW403")
    assert fed.help.startswith("Feed 3m/min or more, or use a cutter with fewer wings") and fed.fix is not None


def test_more_power_than_the_spindle_has() -> None:
    # a spindle of 0.25 kW at 24 000 rpm gives 145.83 W at 14 000, and 70 % of that are 102.08 W.  A row 58 mm wide and
    # 0.5 mm deep takes 58 x 0.5 x 8000 x 45 / 60 000 = 174 W at 8 m/min: 102.08 W are enough for 4.693 m/min
    weak = machine(spindle=Spindle(power=q("0.25kW"), least=q("8000rpm"), most=q("24000rpm")))
    rough = bumpy(L, W, 32.0, rough=3.0)
    (one,) = found(work(machine=weak, job={"cut": cut(feed=q("8m/min"))}), "FW405", upper=rough)
    assert one.value == pytest.approx(174.0) and one.limit == pytest.approx(0.25e3 * 14 / 24)
    assert one.fix is not None and one.fix.edits[0].text == "4.693m/min" and "Feed 4.693m/min or less" in one.help
    mended = work(machine=weak, job={"cut": cut(feed=q("4.693m/min"))})
    assert not {"FW403", "FW405"} & set(codes(mended, upper=rough))
    assert not [each for each in found(mended, "FW701", upper=rough) if each.rule == "power"]
    # without a rule the cut may use all of the spindle's power
    (whole,) = found(
        work(machine=weak, rules=work().rules._replace(power=1.0), job={"cut": cut(feed=q("8m/min"))}),
        "FW405",
        upper=rough,
    )
    assert whole.fix is not None and whole.fix.edits[0].text == "6.704m/min"
    # no fix where a slower feed would make the chips too thin (below 4.2 m/min)
    weaker = machine(spindle=Spindle(power=q("0.2kW"), least=q("8000rpm"), most=q("24000rpm")))
    (none,) = found(work(machine=weaker, job={"cut": cut(feed=q("8m/min"))}), "FW405", upper=rough)
    assert none.fix is None and "Feed 3.754m/min or less" in none.help


def test_ranges_of_speed_that_just_meet() -> None:
    meet = cutter(speed=SpeedRange(least=q("3000rpm"), most=q("8000rpm")))
    assert found(work(cutter=meet, job={"cut": cut(speed="auto")}), "FW402") == []
    assert found(work(cutter=meet, job={"cut": cut(speed=q("8000rpm"))}), "FW402") == []
    (fast,) = found(work(cutter=meet, job={"cut": cut(speed=q("8001rpm"))}), "FW402")
    assert fast.help == "Write a speed from 8000rpm to 8000rpm, or auto." and fast.limit == 8000.0


def test_feed_power_and_stepover() -> None:
    assert found(with_cut(feed=q("8m/min")), "FW404") == []
    (feed,) = found(with_cut(feed=q("8.1m/min")), "FW404")
    assert feed.fix is not None and feed.fix.edits[0].text == "8m/min"
    weak = machine(spindle=Spindle(power=q("0.25kW"), least=q("8000rpm"), most=q("24000rpm")))
    rough = bumpy(L, W, 32.0, rough=3.0)
    hungry = work(machine=weak, job={"cut": cut(feed=q("8m/min"))})
    assert "FW405" in codes(hungry, upper=rough)
    # between the rule's 70 % and full power it is the rule that is broken, which can be waived
    less = work(machine=weak, job={"cut": cut(feed=q("5m/min"))})
    assert "FW405" not in codes(less, upper=rough)
    assert [one.rule for one in found(less, "FW701", upper=rough) if one.rule == "power"] == ["power"]
    assert found(with_cut(stepover=q("100%")), "FW406") == []
    assert len(found(with_cut(stepover=q("101%")), "FW406")) == 1


def tall(height: float, edge: str = "right") -> Work:
    kept = tuple(one for one in holders(L, W) if one.edge != edge)
    return work(holders=(*kept, clamp(edge, 250.0, L, W, height=height)))


@pytest.mark.parametrize(
    ("height", "expected", "rule"),
    [
        (26.0, [], ""),
        (26.01, ["FW502"], "clearance"),
        (27.336, ["FW502"], "clearance"),
        (27.337, ["FW501"], ""),
        (28.0, ["FW501"], ""),
    ],
)
def test_a_holder_and_the_lowest_plane(height: float, expected: list[str], rule: str) -> None:
    # the second face is cut at 28 mm and the clearance is 2 mm; the first face would clear all of these.  Contact: zero
    # is on a top that may be 0.05 mm lower; bed 0.08, lean 32 mm of 0.02 in 200, repeat 0.02, paper 0.01 and 0.5 mm
    findings = [one for one in found(tall(height)) if one.code in ("FW501", "FW502")]
    assert [one.code for one in findings] == expected
    if expected:
        assert findings[-1].rule == rule
        assert "right edge" in findings[-1].message and ("74mm" in findings[-1].message) == (rule == "clearance")
        assert "26mm" in findings[-1].help


def test_a_waived_clearance_passes_closer_and_contact_is_never_waived() -> None:
    of = tall(27.0)._replace(waivers=waiver("clearance"))
    plan = planned(of)
    left, waived = check.waive(plan.work, check.run(plan), whole=True)
    assert "FW502" not in [one.code for one in left] and [one.rule for one in waived] == ["clearance"]
    of = tall(28.5)._replace(waivers=waiver("clearance"))
    plan = planned(of)
    left, waived = check.waive(plan.work, check.run(plan), whole=True)
    assert "FW501" in [one.code for one in left] and waived == ()
    # the clearance is broken, so that its waiver is not without need
    assert "FW702" not in [one.code for one in left]


@pytest.mark.parametrize("zero_on", ["top", "bed"])
def test_no_standard_lowers_the_least_gap(zero_on: str) -> None:
    # 0.08 of bed, 0.0032 of lean, 0.02 of repeat, no paper, 0.5; on the top also 0.05 of survey
    contact = 0.6032 + 0.05 * (zero_on == "top")
    for gap, many in ((0.01, 1), (contact - 0.001, 1), (contact + 0.001, 0)):
        of = tall(28.0 - gap)
        of = of._replace(rules=of.rules._replace(clearance=0.0), job=with_zero("120mm", "120mm", on=zero_on).job)
        findings = found(of, "FW501")
        assert len(findings) == many and found(of, "FW502") == []
        for one in findings:
            assert one.limit == pytest.approx(contact) and f"uncertainty is {contact - 0.5:.4g}mm," in one.message


def test_no_place_to_come_down() -> None:
    def rail(edge: str) -> Holder:
        one = clamp(edge, 250.0, L, W, height=40.0)
        return one._replace(y0=5.0, y1=495.0)

    of = work(holders=(*holders(L, W), rail("left"), rail("right")))
    assert len(found(of, "FW407")) == 1
    assert found(work(holders=(*holders(L, W), rail("left"))), "FW407") == []
    assert found(of._replace(cutter=cutter(plunge="yes")), "FW407") == []


def test_holders_in_one_place() -> None:
    near = work(holders=(*holders(L, W), dog("left", 125.0 + 18.9, L, W)))
    (finding,) = found(near, "FW503")
    assert finding.value == pytest.approx(0.1)
    assert found(work(holders=(*holders(L, W), dog("left", 125.0 + 19.1, L, W))), "FW503") == []
    (beyond,) = found(work(holders=(*holders(L, W), clamp("back", 30.0, L, W))), "FW503")
    assert "beyond the end" in beyond.message and beyond.value == pytest.approx(5.0)


def test_not_held() -> None:
    assert found(work(), "FW504") == []
    (nothing,) = found(work(holders=(), job={"hold": Hold()}), "FW504")
    assert nothing.message.startswith("Nothing holds the panel")
    only_left = tuple(one for one in holders(L, W) if one.edge != "front")
    assert {one.message.split(" pushes")[0] for one in found(work(holders=only_left), "FW504")} == {
        "The clamp side_cam on the back edge"
    }
    # dogs alone: only a tenth of the weight resists a push to the right or back
    dogs = tuple(one for one in holders(L, W) if one.kind == "dog")
    (slides,) = found(work(holders=dogs), "FW504")
    assert "slide to the right:" in slides.message


def test_the_feed_is_lowered_to_what_the_holders_resist() -> None:
    # 5000 rpm-wide chips against clamps of 60 N: 4 x the force at full feed is more than they stand, the stall is less
    weak = tuple(one._replace(force=70.0) if one.kind == "clamp" else one for one in holders(L, W))
    rough = bumpy(L, W, 32.0, rough=6.0)
    rules = work().rules._replace(depth=1.2)
    hard = {"cut": cut(depth=q("1.2mm"), speed=q("16000rpm"))}
    setup = planned(work(holders=weak, job=hard, rules=rules), rough).setups[0]
    assert setup.feed_limit == "holding" and setup.feed < 8000.0
    assert found(work(holders=weak, job=hard, rules=rules), "FW504", upper=rough) == []


def test_not_clean_at_the_digit() -> None:
    top = bumpy(L, W, 32.0)
    clean = planned(work(), top).setups[0].plane
    assert found(with_second("28mm", first=FirstTo(height=q(f"{clean:.3f}mm"))), "FW601", upper=top) == []
    (finding,) = found(with_second("28mm", first=FirstTo(height=q(f"{clean + 0.002:.3f}mm"))), "FW601", upper=top)
    assert finding.fix is not None
    assert float(q(finding.fix.edits[0].text)) <= clean + 1e-3
    (take,) = found(with_second("28mm", first=Take(depth=q("0.1mm"))), "FW601", upper=top)
    assert take.fix is not None
    deep = q(take.fix.edits[0].text)
    assert found(with_second("28mm", first=Take(depth=deep)), "FW601", upper=top) == []


def test_too_thin_too_tight_and_nothing() -> None:
    low = tuple(one._replace(height=8.0) for one in holders(L, W))
    assert found(with_second("15mm")._replace(holders=low), "FW602") == []
    (thin,) = found(with_second("14.9mm")._replace(holders=low), "FW602")
    assert (thin.rule, thin.limit) == ("leave", 15.0)
    sum_of = planned(work()).plus_minus
    assert found(with_second("28mm", f"{sum_of + 0.001:.4f}mm"), "FW603") == []
    (tight,) = found(with_second("28mm", "0.1mm"), "FW603")
    assert tight.limit == pytest.approx(sum_of)
    # what the forecast is off the target counts too
    plan = planned(with_second("28mm", f"{sum_of + 0.001:.4f}mm"))
    assert list(fw603_tolerance.check(plan._replace(forecast=28.0005))) == []
    (off,) = fw603_tolerance.check(plan._replace(forecast=27.5))
    assert "the forecast is 0.5mm from the target and the errors add up to" in off.message
    assert off.limit == pytest.approx(sum_of + 0.5) and "the forecast's distance from the target, 0.5mm" in off.help
    (nothing,) = found(with_second("28mm", first=FirstTo(height=q("32mm"))), "FW604")
    assert "first face" in nothing.message
    assert found(with_second("28mm", first=FirstTo(height=q("31.9mm"))), "FW604") == []


RULES: list[tuple[str, Callable[[], Work], Callable[[], Work]]] = [
    ("overrun", lambda: with_cut(overrun=q("3.9mm")), lambda: with_cut(overrun=q("4mm"))),
    (
        "ridge",
        lambda: work(machine=machine(tram=Lean(out=q("0.2mm"), over=q("200mm")))),
        lambda: work(machine=machine(tram=Lean(out=q("0.14mm"), over=q("200mm")))),
    ),
    ("uneven", lambda: with_second("28mm"), lambda: with_second("29mm")),
    ("depth", lambda: with_cut(depth=q("0.7mm")), lambda: with_cut(depth=q("0.6mm"))),
]


@pytest.mark.parametrize(("rule", "breaks", "keeps"), RULES, ids=[one[0] for one in RULES])
def test_rules_of_the_standard(rule: str, breaks: Callable[[], Work], keeps: Callable[[], Work]) -> None:
    (finding,) = [one for one in found(breaks(), "FW701") if one.rule == rule]
    assert finding.value is not None and finding.limit is not None and finding.value != finding.limit
    assert not [one for one in found(keeps(), "FW701") if one.rule == rule]
    plan = planned(breaks()._replace(waivers=waiver(rule)))
    left, waived = check.waive(plan.work, check.run(plan), whole=True)
    assert [one.rule for one in waived] == [rule]
    assert [one.severity for one in left if one.code == "FW703"] == ["warning"]


def test_a_waiver_without_need() -> None:
    plan = planned(with_second("29.5mm")._replace(waivers=waiver("ridge")))
    left, waived = check.waive(plan.work, check.run(plan), whole=True)
    assert [(one.code, one.severity) for one in left] == [("FW702", "warning")] and waived == ()


def test_limits_are_shown_on_the_safe_side() -> None:
    assert at_most(30.8999, "mm") == "30.89mm" and at_least(30.8911, "mm") == "30.9mm"
    assert at_most(0.6, q("1/64in")) == "0.0236in"
    assert at_least(16_000.0, "rpm") == "16000rpm"
