"""Coming down: beside the panel, or from a hop above the wood on a ramp of 1 in 20; hops from patch to patch."""

from __future__ import annotations

import pytest
from compiler.shop import clamp_in, cutter, q
from compiler.verify.verify_programs import lines, machine, one, proof, setup, swapped, work

from flatwise.model.job import Stock
from flatwise.model.words import DeclaredName

#: over the middle of the panel, which stands 30 mm high; program Z 0 lies at 30.05 mm
OVER, UP = "G0 X150. Y100.", "G0 Z39.95"


def before(*words: str) -> list[str]:
    """A good program that does something else before its first pass, from line 9 on."""
    return [*lines()[:8], *words, UP, *lines()[8:]]


@pytest.mark.parametrize(
    ("words", "message"),
    [
        (
            (OVER, "G0 Z2.95", "G1 Z0.45 F2000"),
            "FW902 Line 11 comes straight down to 30.5mm above the bed at (125.5mm, 91.5mm), where wood may stand 30mm "
            "high; cutter `fly_64` cannot plunge and must stop 3mm above it.",
        ),
        (
            (OVER, "G0 Z1.95"),
            "FW902 Line 10 goes down at rapid to 32mm above the bed; wood may stand 30mm high there, and with the "
            "machine's hop of 3mm it must be at least 33mm.",
        ),
        (
            (OVER, "G0 Z2.95", "G1 X190. Z0.45 F6000"),
            "FW902 Line 11 comes down 2.5mm on a way of 40mm, where wood may stand 30mm high; cutter `fly_64` cannot "
            "plunge, so its ramp may be 1 in 20 at most.",
        ),
        (
            (OVER, "G0 Z2.95", "G1 X220. Z-0.15 F6000"),
            "FW903 Line 11 plunges 0.1mm into wood at (125.5mm, 91.5mm), but cutter `fly_64` cannot plunge.",
        ),
        (
            (OVER, "G0 Z2.95", "G1 X210. Z0. F6000", "G1 X230. Z-0.2"),
            "FW903 Line 12 plunges 0.15mm into wood at (180.5mm, 91.5mm), but cutter `fly_64` cannot plunge.",
        ),
        (
            ("G0 X-40. Y100.", "G0 Z2.95", "G1 Z0. F2100"),
            "FW902 Line 11 brings Z down at 2100mm/min; the machine's maximum on the way down is 2000mm/min.",
        ),
    ],
)
def test_a_wrong_way_down_names_line_and_numbers(words: tuple[str, ...], message: str) -> None:
    assert proof(before(*words))[1] == [message]


@pytest.mark.parametrize(
    "words",
    [
        (OVER, "G0 Z2.95", "G1 X210. Z0. F6000"),
        (OVER, "G0 Z20.", "G1 Z2.95 F2000", "G1 X180. Z1.45 F6000", "G1 X150. Z0."),
        ("G0 X-33. Y100.", "G0 Z2.95", "G1 Z-0.5 F2000"),
        ("G0 X-40. Y100.", "G0 Z2.95", "G1 Y130. Z-1. F6000"),
    ],
)
def test_ways_down_that_are_right(words: tuple[str, ...]) -> None:
    feed = machine().feed.model_copy(update={"down": q("300mm/min")})
    slow = work(machine=machine().model_copy(update={"feed": feed}))
    assert proof(before(*words))[1] == []
    # the vertical part of a ramp counts: 6000 mm/min at 1 in 20 bring Z down at just under 300 mm/min
    told = [each for each in proof(before(*words), of=slow)[1] if "Line 11 brings" in each or "Line 12 brings" in each]
    assert bool(told) == ("F2000" in "".join(words) or "Y130." in words[-1])


def test_the_first_way_up_may_be_at_feed() -> None:
    """Where it begins is not known: a machine may stand anywhere before a program."""
    assert proof(swapped(lines(), "G0 Z39.950", "G1 Z39.95 F2000"))[1] == []


def test_a_cutter_that_can_plunge_comes_down_anywhere() -> None:
    able = work(cutter=cutter(plunge="yes"))
    assert proof(before(OVER, "G0 Z2.95", "G1 Z-0.55 F2000"), of=able)[1] == []
    # but not at rapid
    one(proof(before(OVER, "G0 Z1."), of=able)[1], "FW902", "goes down at rapid to 31.05mm", "at least 33mm")


def test_what_may_stand_includes_the_bound() -> None:
    words = (OVER, "G0 Z2.95")
    one(proof(before(*words), setup(bound=0.2))[1], "FW902", "wood may stand 30.2mm high there", "at least 33.2mm")


def test_beside_the_panel_a_rapid_ends_a_hop_above_the_plane() -> None:
    low = swapped(lines(), "G0 Z2.450", "G0 Z2.400")
    one(proof(low)[1], "FW902", "Line 10 goes down at rapid to 32.45mm", "the plane of the next cut lies 29.5mm high")
    high = work(machine=machine().model_copy(update={"hop": q("5mm")}))
    one(proof(lines(), of=high)[1], "FW902", "with the machine's hop of 5mm it must be at least 34.5mm")


def hopped(*words: str) -> list[str]:
    """A good program that hops back after the first row, to where the second begins."""
    text = lines()
    row = next(i for i, line in enumerate(text) if line.startswith("G1 X338."))
    down = ["G0 X338.0000 Y" + text[row].split("Y")[1], "G0 Z2.450", "G1 Z-0.55 F2000", "F6000"]
    return [*text[: row + 1], *words, *down, *text[row + 1 :]]


def test_a_hop_within_a_pass_clears_the_wood_in_its_box() -> None:
    assert proof(hopped("G0 Z2.95", "G0 X-40. Y60."))[1] == []
    low = proof(hopped("G0 Z2.9", "G0 X-40. Y60."))[1]
    one(low, "FW902", "moves sideways at rapid 32.95mm above the bed; wood may stand 30mm high there", "at least 33mm")
    # beside the panel there is no wood in the box; between passes the lift counts
    assert proof(hopped("G0 Z0.", "G0 Y-40."))[1] == []
    between = swapped(lines(), UP + "0", "G0 Z3.", which=1)
    one(proof(between)[1], "FW902", "moves sideways at rapid 33.05mm", "machine's lift of 20mm", "at least 50mm")


def test_a_hop_clears_a_holder_by_its_clearance() -> None:
    # out of every row's reach, but under the rapid
    far = setup(holders=(clamp_in((420.0, 0.0, 460.0, 40.0), 29.5),))
    words = ("G0 Z2.95", "G0 X500.")
    assert proof(hopped(*words))[1] == []
    one(
        proof(hopped(*words), far)[1],
        "FW902",
        "clamp `side_cam`",
        "with its clearance stands 31.5mm high there",
        "34.5mm",
    )
    bare = work(waivers={"clearance": None})  # type: ignore[dict-item]
    assert proof(hopped(*words), far, bare)[1] == []


def test_on_a_spoilboard_a_ramp_through_wood_is_as_long_as_the_cutter() -> None:
    panel = work()
    stock = Stock(size=panel.job.stock.size, wood=DeclaredName("mdf"), grain="x").placed("bed")
    board = panel._replace(job=panel.job.model_copy(update={"stock": stock}))
    for along, told in ((64.0, False), (60.0, True)):
        # 3 mm at 1 in 20, then 0.5 mm through wood
        ramp = ("G0 X100. Y100.", "G0 Z2.95", "G1 X160. Z-0.05 F6000", f"G1 X{160 + along} Z-0.55")
        found = proof(before(*ramp), of=board)[1]
        assert found == [] if not told else "Line 12 plunges 0.5mm into wood" in found[0]
