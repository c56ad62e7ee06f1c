"""The sheet from plans made by hand: what it says, that it is whole, and that what a job says stays text."""

from __future__ import annotations

import re
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

import pytest
import shapely
from compiler.gcode.write_plans import built, plan, setup, sweep, work
from compiler.pages import page
from compiler.works import zero

from flatwise.core.finding import Finding
from flatwise.core.surface import Surface
from flatwise.model.built import Choice
from flatwise.report.display import DisplayUnit, display_unit
from flatwise.report.first_line import first_line, from_edges
from flatwise.report.limit_bars import face_bars, holding_strength, panel_bars
from flatwise.report.other_choices import as_planned, choice_rows
from flatwise.report.section import stack_view
from flatwise.report.sheet import sheet
from flatwise.report.summary import summary


def test_the_sheet_is_whole_and_asks_for_nothing() -> None:
    text = sheet(built())
    read = page(text)
    # it asks for nothing but its own parts
    assert all(ask.startswith("#") for ask in read.asks) and not read.tags & {"link", "img", "iframe", "object"}
    assert text.count("<script>") == 1 and "url(" not in text and "@import" not in text
    assert len(text.encode()) < 300_000
    words = " ".join(" ".join(read.words).split())
    for wanted in (
        "1. The first face", "2. The second face", "19.6 mm", "± 0.17 mm", "X 100.0 mm, Y 50.0 mm", "41.95 mm",
        "0.3 mm + 0.05 mm", "1 × 0.05 mm", "14000 rpm", "5600 mm/min", "Turn the panel over its long edge",
        "survey at the touched place", "after first { thickness front_left ____mm", "hearing protection",
        "manuals of the machine and the cutter", "estimates", "No gloves",
        "left edge, 50 mm from the front left corner", "Isolate the spindle", "a hand at the stop",
    ):  # fmt: skip
        assert wanted in words, wanted


@pytest.mark.parametrize(
    ("free", "read", "said"),
    [
        ({"twist": 0.8}, {"twist": 0.45, "bow": 0.2}, "Free shape: twist 0.8 mm. As the panel lies, the readings show "
         "twist 0.45 mm."),
        ({"twist": -0.8, "cup": -0.3, "bow": 0.0}, {}, "Free shape: twist 0.8 mm other way, cup 0.3 mm hollow and "
         "bow 0 mm."),
        ({}, {"twist": 0.45}, ""),
    ],
)  # fmt: skip
def test_the_free_shape_stands_once_with_what_the_readings_show(
    free: dict[str, float], read: dict[str, float], said: str
) -> None:
    panel = plan().panel._replace(free_shapes=free, read_shapes=read)
    words = " ".join(" ".join(page(sheet(built(plan=plan()._replace(panel=panel)))).words).split())
    assert words.count("Free shape") == (1 if free else 0) and said in words
    assert ("As the panel lies" in words) == bool(free and read)


def test_what_a_job_says_is_text_in_the_sheet() -> None:
    nasty = "<script>alert('x')</script> & \"quotes\""
    note = Finding("FW205", nasty, None, severity="warning")
    text = sheet(built(work(waivers={"depth": nasty}), findings=(note,)))
    read = page(text)
    # the page's own script, and no other
    assert text.count("<script>") == 1 and "<script>alert" not in text
    assert sum(nasty in word for word in read.words) >= 2


def test_notes_stand_apart_from_warnings() -> None:
    warning = Finding("FW205", "No reading shows the twist.", None, severity="warning")
    note = Finding("FW207", "The weight may hide a bow.", None, severity="note")
    text = sheet(built(findings=(note, warning)))
    # a warning stands open on the first page, and in full with the closed parts
    first = text.partition("<h3>Warnings</h3>")[2].partition("<h2>")[0]
    assert "FW205" in first and "FW207" not in first
    warnings, notes = text.partition("<summary>Warnings in full</summary>")[2].split("<summary>Notes</summary>")
    assert "FW205" in warnings and "FW207" not in warnings
    assert "FW207" in notes and "FW205" not in notes and notes.lstrip().startswith('<ul class="soft">')
    # what is waived has a table of its own there
    waived = Finding("FW703", "The rule depth is waived.", None, severity="warning")
    first, _, rest = sheet(built(findings=(waived,))).partition("<h2>")
    assert "FW703" not in first and "FW703" in rest
    text = sheet(built(findings=(note,)))
    assert "<h3>Warnings" not in text and "Warnings in full" not in text and "<summary>Notes" in text


def test_the_sheet_knows_a_zero_on_the_bed_and_a_machine_with_a_top() -> None:
    from flatwise.core.units import quantity

    bed = setup().touch._replace(on="bed", x=-60.0, y=50.0, height=0.0, lowest=0.0)
    whole = plan(work(top=quantity("0", "mm")), setups=(setup()._replace(touch=bed),))
    words = " ".join(" ".join(page(sheet(built()._replace(plan=whole))).words).split())
    assert "bare bed beside the panel, at X -60.0 mm, Y 50.0 mm" in words
    assert "Jog up" not in words and "Stop if the difference" not in words
    assert "The machine was referenced since its power was switched on" in words
    assert "referenced since its power" not in sheet(built())


def test_the_touch_on_the_bare_bed_has_a_place_clear_of_panel_and_holders() -> None:
    whole = plan()
    words = " ".join(" ".join(page(sheet(built())).words).split())
    places = re.findall(r"Touch the bare bed beside the panel first, at X ([-0-9.]+) mm, Y ([-0-9.]+) mm \.", words)
    assert len(places) == 2
    radius, travel = float(whole.work.cutter.diameter) / 2, whole.work.machine.travel
    for (x, y), one in zip(places, whole.setups, strict=True):
        machine_x, machine_y = float(x) + one.origin_machine[0], float(y) + one.origin_machine[1]
        assert 0 <= machine_x <= float(travel.x) and 0 <= machine_y <= float(travel.y)
        at = shapely.Point(float(x) + one.origin[0], float(y) + one.origin[1])
        boxes = [(0.0, 0.0, one.top.length, one.top.width), *((h.x0, h.y0, h.x1, h.y1) for h in one.holders)]
        assert all(at.distance(shapely.box(*box)) >= radius for box in boxes)
    # a panel that fills the travel leaves none
    full = work()
    stock = full.job.stock
    wide = stock.size.model_copy(update={"length": travel.x, "width": travel.y})
    job = full.job.model_copy(update={"stock": stock.model_copy(update={"size": wide}), "zero": zero(0.0, 0.0)})
    text = sheet(built()._replace(plan=whole._replace(work=full._replace(job=job))))
    assert "Touch the bare bed beside the panel first. " in text


def test_lengths_are_shown_as_the_job_and_the_leaf_set_write_them() -> None:
    from flatwise.core.units import quantity
    from flatwise.model.job import PanelSize
    from flatwise.model.shop import Leaf, Shims

    job = work()
    size = PanelSize(length=quantity("8", "in"), width=quantity("4", "in"), thickness=quantity("13/16", "in"))
    stock = job.job.stock.model_copy(update={"size": size})
    leaves = Shims(leaves=tuple(Leaf(thickness=quantity(*leaf)) for leaf in (("2", "thou"), ("0.012", "in"))))
    job = job._replace(job=job.job.model_copy(update={"stock": stock}), sets={"thou_set": leaves})
    shim = setup().shims[0]._replace(leaves=(0.012 * 25.4, 0.002 * 25.4), height=0.014 * 25.4)
    whole = plan(job, setups=(setup()._replace(shims=(shim,)),))
    words = " ".join(" ".join(page(sheet(built()._replace(plan=whole))).words).split())
    for wanted in ("0.012 in + 2 thou", "0.014 in", "0.7992 in", "220.472 in/min", "8 in × 4 in × 13/16 in"):
        assert wanted in words, wanted


def test_the_machines_own_board_is_told_so() -> None:
    job = work()
    stock = job.job.stock.model_copy().placed("bed")
    bed = job._replace(job=job.job.model_copy(update={"stock": stock}), holders=())
    whole = plan(bed, setups=(setup()._replace(holders=(), shims=()),))
    words = " ".join(" ".join(page(sheet(built()._replace(plan=whole))).words).split())
    assert "the machine's own board" in words and "corner of the board" in words
    assert (
        "Lay the panel" not in words
        and "Hold the panel" not in words
        and "Stop if the difference" not in words
        and "after first" not in words
    )
    from flatwise.gcode.write import write

    program = write(whole, whole.setups[0]).decode()
    assert "nothing lies on the board" in program and "dogs" not in program


def test_a_job_with_nothing_left_to_cut_still_has_its_sheet() -> None:
    done = built()._replace(plan=plan(setups=())._replace(parts=(), plus_minus=0.0), programs={}, proofs={})
    words = " ".join(" ".join(page(sheet(done)).words).split())
    assert "Nothing is left to cut" in words and "What you need" not in words and "How sure" not in words
    assert summary(done)["setups"] == [] and summary(done)["verified"] is None


def test_the_expected_thickness_is_given_where_the_calipers_go_in_the_panels_own_frame() -> None:
    import numpy as np

    from flatwise.core.surface import Surface

    # after the first face the panel is 20 mm at its front and 21 mm at its back; turned over X, front is back
    second = setup("second", height=20.3)
    lying = Surface(np.array([0.0, 200.0]), np.array([0.0, 100.0]), np.array([[21.0, 21.0], [20.0, 20.0]]))
    whole = plan(setups=(setup(), second._replace(top=lying)))
    text = sheet(built()._replace(plan=whole))
    rows = re.findall(r"<td>(front left|centre|back right)</td><td>([a-z ]+)</td><td class=\"n\">([0-9.]+) mm", text)
    assert rows[:3] == [
        ("front left", "front left", "20"),
        ("centre", "centre", "20.5"),
        ("back right", "back right", "21"),
    ]
    # and once it is turned, the same places lie elsewhere on the bed
    assert [row[:2] for row in rows[3:]] == [
        ("front left", "back left"),
        ("centre", "centre"),
        ("back right", "front right"),
    ]


def test_the_table_of_passes_says_how_each_goes() -> None:
    one, other, last = sweep(20.9, 0.4, 41.95), sweep(20.7, 0.4, 41.95), sweep(20.3, 0.4, 41.95)
    ways = (one._replace(rows=(), rounds=3), other._replace(rows=(), rounds=1), last._replace(rows=()), last)
    text = sheet(built()._replace(plan=plan(setups=(setup()._replace(passes=ways),))))
    assert re.findall(r'data-of="Way">([^<]*)<', text) == ["3 rounds", "1 round", "edge", "2 rows"]


def test_units_are_those_of_the_job() -> None:
    assert display_unit(work())(0.1 + 0.2) == "0.3 mm"
    inches = DisplayUnit("in")
    assert (inches(25.4 / 3), inches.coarse(25.4 / 3), inches.place(25.4 / 3)) == ("0.3333 in", "0.333 in", "0.33 in")
    assert inches.feed(5600.0) == "220.472 in/min"


def test_a_bar_is_the_share_of_a_limit_that_is_used() -> None:
    from flatwise.plan.holding import weakness

    found = {each.name: each for each in face_bars(plan(), setup())}
    # 14000 rpm in 9000 to 16000 rpm: the cutter's range, inside the spindle's
    assert (found["Spindle speed"].share, found["Spindle speed"].low) == pytest.approx((14 / 16, 9 / 16))
    assert (found["Chip load"].share, found["Chip load"].low) == pytest.approx((0.2 / 0.3, 0.1 / 0.3))
    assert found["Feed"].share == pytest.approx(5600 / 6000)
    # 2 kW at 24000 rpm, and no rule of a standard
    assert found["Power (estimate)"].share == pytest.approx(70 / (2000 * 14 / 24))
    assert found["Bite"].share == pytest.approx(0.5)
    assert found["Clearance over holders"].share == pytest.approx(2.0 / (20.3 - 13))
    assert (found["Clearance over holders"].used, found["Clearance over holders"].limit) == ("7.3 mm", "at least 2 mm")
    # the holders stand the load that is shown, and not a newton more
    stands = holding_strength(plan(), setup())
    of = work()
    args = (of.length, of.width, of.mass)
    if stands:
        assert weakness(of.holders, *args, stands) is None
    assert weakness(of.holders, *args, stands + 1.0) is not None


def test_the_bar_over_holders_shows_the_limit_that_binds() -> None:
    # 0.5 mm, and of heights: 0.08 bed, 0.0025 lean (25 mm at 0.02 in 200), 0.02 repeat, 0.01 paper, and the touch
    def bar(sink: float, **waivers: str) -> tuple[str, str, float]:
        touch = setup().touch._replace(lowest=setup().touch.height - sink)
        found = face_bars(plan(work(waivers=waivers)), setup()._replace(touch=touch))
        return next((each.name, each.limit, each.share) for each in found if " over holders" in each.name)

    assert bar(0.2) == ("Clearance over holders", "at least 2 mm", pytest.approx(2.0 / 7.3))
    name, limit, share = bar(3.3875)
    assert (name, limit) == ("Gap over holders", "more than 4 mm")
    assert share == pytest.approx(4.0 / 7.3)
    # a waiver of the clearance leaves contact
    assert bar(0.1875, clearance="tried")[:2] == ("Gap over holders", "more than 0.8 mm")


def test_the_panels_own_limits() -> None:
    from flatwise.core.units import quantity
    from flatwise.model.job import Faces, Flip, SecondTo
    from flatwise.model.shop_rules import Rules

    faces = Faces(
        second=SecondTo(thickness=quantity("19.6", "mm"), within=quantity("0.2", "mm")), flip=Flip(edge="long_edge")
    )
    base = work()
    asked = base._replace(
        job=base.job.model_copy(update={"faces": faces}), rules=Rules(leave=15.0, uneven=3.0, ridge=0.03)
    )
    whole = plan(asked, setups=(setup(), setup("second")._replace(removed_mean=1.3)))
    found = {each.name: each.share for each in panel_bars(whole)}
    assert found["± on thickness"] == pytest.approx(0.17 / 0.2)
    assert found["Thickness left"] == pytest.approx(15 / 19.6)
    assert found["Difference in wood removed"] == pytest.approx(0.6 / 3)
    # a limit that is broken and waived fills its bar in another shade and stays inside the picture
    words = sheet(built()._replace(plan=whole._replace(plus_minus=0.5)))
    assert 'class="over" x="0" y="0" width="104.00"' in words


def test_the_cost_of_other_choices() -> None:
    whole = plan()
    assert as_planned(whole) == (
        "As planned: about 1 min 2 s, 19.6 mm left, 0.7 mm and 0.7 mm removed on average. At most 20.9 mm could be "
        "left in this pose; the best tilt would allow 20.95 mm."
    )
    slower = setup()._replace(ridge=0.012, feed=4000.0)
    other = whole._replace(setups=(slower, *whole.setups[1:]))
    (row,) = choice_rows(built()._replace(plan=whole, choices=(Choice("stepover", "stepover auto", 100.4, other),)))
    assert (row.line, row.saves) == ("stepover auto", "1 min 40 s")
    assert (
        row.changes == "Ridge: 0.012 mm instead of 0.008 mm. Feed: 4000 mm/min and 5600 mm/min instead of 5600 mm/min."
    )
    assert choice_rows(built()._replace(plan=whole)) == []
    # a spoilboard lies where it is: no pose, no tilt and no leaves are reported
    stock = whole.work.job.stock.model_copy().placed("bed")
    bed = whole.work._replace(job=whole.work.job.model_copy(update={"stock": stock}))
    assert as_planned(whole._replace(work=bed)).endswith("removed on average.")


def test_a_panel_that_nothing_holds_fills_its_bar_twice() -> None:
    from flatwise.model.shop_rules import Rules

    # 2 kW at 14000 of 24000 rpm gives 1167 W, of which a rule grants 70 %
    ruled = work()._replace(rules=Rules(power=0.7))
    found = {each.name: each for each in face_bars(plan(ruled), setup())}
    assert (found["Power (estimate)"].limit, found["Power (estimate)"].note) == (
        "817 W",
        "70% of the spindle's power at this speed",
    )
    one = setup().holders[0]
    clamp = one._replace(kind="clamp", force=0.0)
    alone = next(
        each for each in face_bars(plan(), setup()._replace(holders=(clamp,))) if each.name.startswith("Holding")
    )
    assert alone.limit == f"{holding_strength(plan(), setup()._replace(holders=(clamp,))):.0f} N"


def test_many_passes_and_a_cut_again_have_their_sheet() -> None:
    passes = tuple(sweep(21.0 - 0.02 * number, 0.02, 63.0) for number in range(1, 61))
    whole = plan(setups=(setup("second", again=True)._replace(passes=passes),))
    text = sheet(built()._replace(plan=whole))
    words = " ".join(" ".join(page(text).words).split())
    assert "The second face, again" in words and "The panel lies as it did when this face was cut" in words
    assert "Turn the panel" not in words
    # of sixty passes some are labelled in the stack, the last one among them, a line apart and inside the picture
    picture = ElementTree.fromstring(stack_view(whole, whole.setups[0]))
    high = float(picture.attrib["viewBox"].split()[3])
    labels = [each for each in picture.iter() if re.match(r"\d+: ", each.text or "")]
    assert 5 <= len(labels) <= 10 and (labels[-1].text or "").startswith("60: ")
    at = [float(each.get("y", 0)) for each in labels]
    size = float(labels[0].get("font-size", 0))
    assert all(below - above > size for above, below in pairwise(at)) and at[0] > 0 and at[-1] < high
    assert summary(built()._replace(plan=whole))["setups"][0]["again"] is True


def test_a_waiver_shows_its_figures_in_the_units_of_its_rule() -> None:
    from flatwise.model.built import Waived

    waived = (Waived("power", "a", 0.82, 0.7), Waived("depth", "b", 0.8, 0.6), Waived("survey", "c", 0.0, 0.0))
    text = sheet(built()._replace(waived=waived))
    rows = re.findall(
        r"<tr><td class=\"key\">(\w+)</td><td class=\"n\"[^>]*>([^<]*)</td><td class=\"n\"[^>]*>([^<]*)</td>"
        r"<td data-of=\"Reason\">(\w)</td></tr>",
        text,
    )
    assert rows == [
        ("power", "82%", "70%", "a"),
        ("depth", "0.8 mm", "0.6 mm", "b"),
        ("survey", "none", "required", "c"),
    ]


@pytest.mark.parametrize("long", (12.0, 3000.0))
def test_odd_panels_have_their_pictures(long: float) -> None:
    # no pass at all, a face that is level to the last digit, and a panel narrower than a leaf or very long
    top, under = Surface.flat(long, 12.0, 21.0), Surface.flat(long, 12.0, 0.0)
    odd = setup()._replace(top=top, under=under, passes=(), holders=(), touch=setup().touch._replace(x=6.0, y=6.0))
    whole = plan(setups=(odd, odd._replace(face="second", passes=setup().passes, shims=())))
    text = sheet(built()._replace(plan=whole))
    page(text)
    for drawing in re.findall(r"<svg.*?</svg>", text, re.S):
        assert not re.search(r"\b(nan|inf)\b", drawing)
        ElementTree.fromstring(drawing)


def test_the_touch_check_stops_at_what_two_touches_may_differ() -> None:
    from flatwise.core.units import quantity

    # 0.15 mm of bound, 0.08 mm of bed, and twice a fifth of the paper and the repeat: 0.15 + 0.08 + 2 (0.01 + 0.02)
    job = work()
    machine = job.machine.model_copy(update={"bed": quantity("0.08", "mm"), "repeat": quantity("0.02", "mm")})
    job = job._replace(machine=machine)
    touch = setup().touch._replace(bound=0.15, paper=0.05)
    assert job.touch_limit(touch) == pytest.approx(0.29)
    whole = plan(job, setups=(setup()._replace(touch=touch), setup("second")._replace(touch=touch)))
    words = " ".join(" ".join(page(sheet(built()._replace(plan=whole))).words).split())
    first, second = words.split("The second face: ")
    assert "off by more than 0.29 mm : survey the panel again, and build again" in first
    assert "off by more than 0.29 mm : measure the thickness, write it into the job as after first" in second


def test_a_leaf_that_would_slip_is_taped() -> None:
    shim = setup().shims[0]
    safe, loose = [((0.3,), 0.0), ((0.1,), 0.0)], [((0.3, 0.05), 0.0), ((0.3,), 0.02)]
    for leaves, gap in (*safe, *loose):
        laid = shim._replace(leaves=leaves, height=sum(leaves), gap_left=gap)
        words = " ".join(page(sheet(built(plan=plan(setups=(setup()._replace(shims=(laid,)),))))).words)
        assert ("by the end that sticks out, never under the panel" in words) == ((leaves, gap) in loose)
        assert ("longer where taped" in words) == ((leaves, gap) in loose)


def test_each_face_is_scribbled_on_before_its_cut_and_looked_at_after_it() -> None:
    for face, words in zip(("first", "second"), sheet(built()).split('<section class="face"')[1:], strict=True):
        steps = [words.index(f'id="{face}-{step}"') for step in ("pencil", "air", "cut", "marks")]
        assert steps == sorted(steps) and f"after {face} {{ marks left }}" in words


@pytest.mark.parametrize(
    ("shims", "on", "face", "passes", "seconds", "said"),
    [
        ([("back_right", (0.4,))], "top", "first", 3, 431.0, "One 0.4 mm leaf under the back right corner; touch off "
         "120 mm from the left, 40 mm from the front; three passes, seven minutes."),
        ([("front", (0.3, 0.05)), ("centre", (0.1,))], "top", "first", 1, 89.0, "Two leaves, 0.3 mm + 0.05 mm, under "
         "the middle of the front edge and one 0.1 mm leaf under the centre; touch off 120 mm from the left, 40 mm "
         "from the front; one pass, one minute."),
        ([("front", (0.3, 0.05)), ("back", (0.1,)), ("left", (0.1,))], "bed", "first", 11, 690.0, "Four "
         "leaves at three places; touch off on the bed beside the panel; 11 passes, 12 minutes."),
        ([], "bed", "second", 10, 20.0, "No leaves. Keep Z if the cutter stayed in; ten passes, less than a minute."),
    ],
)  # fmt: skip
def test_the_first_line_of_a_face_is_what_one_would_say(
    shims: list[Any], on: Any, face: Any, passes: int, seconds: float, said: str
) -> None:
    laid = tuple(setup().shims[0]._replace(place=place, leaves=leaves) for place, leaves in shims)
    touch = setup().touch._replace(on=on, x=120.0, y=40.0)
    one = setup(face)._replace(shims=laid, touch=touch, passes=setup().passes[:1] * passes, time=seconds)
    assert first_line(work(), one, display_unit(work())) == said


def test_the_first_line_of_a_face_that_is_cut_again() -> None:
    bed = setup().touch._replace(on="bed")
    kept = setup(again=True)._replace(touch=bed._replace(kept=True))
    assert "keep Z if the cutter stayed in; " in first_line(work(), kept, display_unit(work()))
    assert "set Z on the cut face; " in first_line(work(), kept._replace(touch=bed), display_unit(work()))


def test_a_place_on_the_outline_is_over_its_edge() -> None:
    assert from_edges(0.0, 315.0, 1120.0, 610.0, DisplayUnit("mm")) == "over the left edge, 315 mm from the front"
    assert from_edges(254.0, 610.0, 1120.0, 610.0, DisplayUnit("in")) == "10 in from the left, over the back edge"


def test_the_sheet_says_when_block_delete_may_be_on() -> None:
    """A pass at 21 mm, the top of the forecast: Z may show 0.065 mm less, what two touches are off by."""
    high = setup()
    one = high._replace(passes=(sweep(21.0, 0.0, 63.0), *high.passes))
    for says, skips in (("no", False), ("yes", True)):
        made = built(plan=plan(work(block_delete=says))._replace(setups=(one, setup("second", height=20.3))))
        text = sheet(made)
        words = " ".join(" ".join(page(text).words).split())
        assert ("Block delete is off unless you measured" in words) == skips
        assert ("Z shows at most -0.065 mm there (20.935 mm above the bed as planned)" in words) == skips
        assert text.count("&nbsp;<code>/</code>") == skips
        said = [each.get("block_delete") for each in summary(made)["setups"]]
        assert said == [{"passes": 1, "highest_z": -0.065, "height": 20.935} if skips else None, None]
