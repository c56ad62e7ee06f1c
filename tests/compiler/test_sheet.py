"""The sheet from plans made by hand: what it says, that it is whole, and that what a job says stays text."""

from __future__ import annotations

import io
import re
from dataclasses import replace
from html.parser import HTMLParser
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree

import pytest
from compiler.write_plans import built, plan, setup, sweep, work

from flatwise.diagnostics import Diagnostic
from flatwise.report.drawing import letter, plan_view
from flatwise.report.limits import bars, holds, panel_bars, second_best
from flatwise.report.measures import Measures, measures
from flatwise.report.progress import watched
from flatwise.report.relief import height_map
from flatwise.report.section import section_of, stack_view
from flatwise.report.sheet import sheet
from flatwise.report.summary import summary
from flatwise.stages import OtherAim, OtherDirection, OtherPose
from flatwise.surface import Surface


class Page(HTMLParser):
    """What a page asks a browser for, and whether its tags close."""

    VOID = frozenset({"meta", "br", "hr", "img", "link", "input"})

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.asks: list[str] = []
        self.tags: set[str] = set()
        self.words: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.asks += [value or "" for name, value in attrs if name in ("src", "href", "xlink:href")]
        if tag not in self.VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        self.words.append(data)


def page(text: str) -> Page:
    read = Page()
    read.feed(text)
    assert read.open == []
    return read


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
        "0.3mm + 0.05mm", "1 × 0.05mm", "14000 rpm", "5600 mm/min", "Turn the panel over its long edge",
        "survey at the touched place", "after first { thickness front_left ____mm", "hearing protection",
        "manuals of the machine and the cutter", "estimates", "No gloves",
        "left edge, 50 mm from the front left corner", "Spindle isolated", "a hand at the stop",
    ):  # fmt: skip
        assert wanted in words, wanted


def test_what_a_job_says_is_text_in_the_sheet() -> None:
    nasty = "<script>alert('x')</script> & \"quotes\""
    note = Diagnostic("FW205", nasty, None, severity="warning")
    text = sheet(built(work(waivers={"depth": nasty}), findings=(note,)))
    read = page(text)
    # the page's own script, and no other
    assert text.count("<script>") == 1 and "<script>alert" not in text
    assert sum(nasty in word for word in read.words) >= 2


def test_the_sheet_knows_a_zero_on_the_bed_and_a_machine_with_a_top() -> None:
    from flatwise.units import quantity

    bed = replace(setup().touch, on="bed", x=-60.0, y=50.0, height=0.0, lowest=0.0)
    whole = plan(work(top=quantity("0", "mm")), setups=(replace(setup(), touch=bed),))
    words = " ".join(" ".join(page(sheet(replace(built(), plan=whole))).words).split())
    assert "bare bed beside the panel, to X -60.0 mm, Y 50.0 mm" in words
    assert "Jog up" not in words and "Measure the top there" not in words


def test_lengths_are_shown_as_the_job_and_the_leaf_set_write_them() -> None:
    from flatwise.model.job import Box
    from flatwise.model.shop import Shims
    from flatwise.units import quantity

    job = work()
    size = Box(length=quantity("8", "in"), width=quantity("4", "in"), thickness=quantity("13/16", "in"))
    stock = job.job.stock.model_copy(update={"size": size})
    leaves = Shims(leaves=(quantity("2", "thou"), quantity("0.012", "in")))
    job = replace(job, job=job.job.model_copy(update={"stock": stock}), sets={"thou_set": leaves})
    shim = replace(setup().shims[0], leaves=(0.012 * 25.4, 0.002 * 25.4), height=0.014 * 25.4)
    whole = plan(job, setups=(replace(setup(), shims=(shim,)),))
    words = " ".join(" ".join(page(sheet(replace(built(), plan=whole))).words).split())
    for wanted in ("0.012in + 2thou", "0.014 in", "0.7992 in", "220.472 in/min", "8in × 4in × 13/16in"):
        assert wanted in words, wanted


def test_the_machines_own_board_is_told_so() -> None:
    job = work()
    stock = job.job.stock.model_copy()
    object.__setattr__(stock, "_name", "bed")
    bed = replace(job, job=job.job.model_copy(update={"stock": stock}), holders=())
    whole = plan(bed, setups=(replace(setup(), holders=(), shims=()),))
    words = " ".join(" ".join(page(sheet(replace(built(), plan=whole))).words).split())
    assert "the machine's own board" in words and "corner of the board" in words
    assert (
        "Lay the panel" not in words
        and "Hold it" not in words
        and "Measure the top there" not in words
        and "after first" not in words
    )
    from flatwise.write import write

    program = write(whole, whole.setups[0]).decode()
    assert "nothing is left on the board" in program and "dogs" not in program


def test_a_job_with_nothing_left_to_cut_still_has_its_sheet() -> None:
    done = replace(built(), plan=replace(plan(setups=()), parts=(), plus_minus=0.0), programs={}, proofs={})
    words = " ".join(" ".join(page(sheet(done)).words).split())
    assert "Nothing is left to cut" in words and "What to fetch" not in words and "How sure" not in words
    assert summary(done)["setups"] == [] and summary(done)["verified"] is None


def test_the_expected_thickness_is_given_where_the_calipers_go_in_the_panels_own_frame() -> None:
    import numpy as np

    from flatwise.surface import Surface

    # after the first face the panel is 20 mm at its front and 21 mm at its back; turned over X, front is back
    second = setup("second", height=20.3)
    lying = Surface(np.array([0.0, 200.0]), np.array([0.0, 100.0]), np.array([[21.0, 21.0], [20.0, 20.0]]))
    whole = plan(setups=(setup(), replace(second, top=lying)))
    text = sheet(replace(built(), plan=whole))
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


def shapes(drawing: str, kind: str) -> list[ElementTree.Element]:
    """Every shape of a kind, wherever it stands in the picture."""
    return [each for each in ElementTree.fromstring(drawing).iter() if kind in (each.get("class") or "").split()]


def test_the_drawing_is_to_scale_and_holds_everything() -> None:
    drawing = plan_view(work(), setup())
    whole = ElementTree.fromstring(drawing)
    left, top, width, height = (float(value) for value in whole.attrib["viewBox"].split())
    (panel,) = shapes(drawing, "panel")
    assert (float(panel.get("width", 0)), float(panel.get("height", 0))) == (200.0, 100.0)
    assert [len(shapes(drawing, kind)) for kind in ("dog", "clamp", "leaf", "keepout", "touch", "pass")] == [
        1, 1, 1, 2, 3, 2,
    ]  # fmt: skip
    for each in whole.iter("rect"):
        x, y = float(each.get("x", 0)), float(each.get("y", 0))
        assert left <= x and x + float(each.get("width", 0)) <= left + width
        assert top <= y and y + float(each.get("height", 0)) <= top + height
    # y runs upward on the bed: the clamp's middle, 50 mm from the front, is as high in the drawing as the panel's
    (clamp,) = shapes(drawing, "clamp")
    middle = float(panel.get("y", 0)) + 50.0
    assert float(clamp.get("y", 0)) + float(clamp.get("height", 0)) / 2 == pytest.approx(middle)
    # the keep-out is the holder grown by radius and clearance: 25 + 2 mm
    grown = shapes(drawing, "keepout")[1]
    assert (float(grown.get("width", 0)), float(grown.get("height", 0))) == (32 + 54, 70 + 54)
    assert float(grown.get("rx", 0)) == 27


def test_a_turned_panel_carries_the_names_of_its_own_edges() -> None:
    named = [(each.text or "").split()[0] for each in shapes(plan_view(work(), setup()), "edge")]
    assert named == ["front", "back", "left", "right"]
    turned = shapes(plan_view(work(), setup("second")), "edge")
    # the word alone where a short edge has no room for more
    assert [(each.text or "").split()[0] for each in turned] == ["back", "front", "left", "right"]
    assert ["moved" in (each.get("class") or "") for each in turned] == [True, True, False, False]
    words = " ".join(" ".join(page(sheet(built())).words).split())
    assert "front the panel's back edge" in words and "left the panel's left edge, as before" in words


def test_bands_of_height_are_told_apart_without_colour() -> None:
    from importlib.resources import files

    style = files("flatwise.report").joinpath("sheet.css").read_text()
    shades = [re.search(rf"svg \.b{band} {{ fill: (#[0-9a-f]{{6}}) }}", style) for band in range(6)]

    def luminance(colour: str) -> float:
        """Relative luminance, W3C WCAG 2.1."""
        parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
        red, green, blue = (part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts)
        return 0.2126 * red + 0.7152 * green + 0.0722 * blue

    values = [luminance(shade[1]) for shade in shades if shade]
    assert len(values) == 6
    # each darker than the one before, by a contrast that a copier keeps
    assert all((pale + 0.05) / (dark + 0.05) > 1.2 for pale, dark in pairwise(values))


def test_the_map_paints_each_cell_once_in_the_band_of_its_height() -> None:
    slope = Surface.flat(200.0, 100.0, 20.0).plus(0.01, 0.0, 0.0)
    drawing = height_map(replace(setup(), top=slope), Measures("mm"))
    area = 0.0
    for band in range(6):
        (path,) = [each for each in shapes(drawing, f"b{band}") if each.tag.endswith("path")]
        spans = [[float(part) for part in run] for run in re.findall(r"M(\S+) (\S+)H(\S+)V(\S+)H", path.get("d", ""))]
        area += sum((x1 - x0) * (y1 - y0) for x0, y0, x1, y1 in spans)
        # 20 to 22 mm over 200 mm: each band is a third of a mm, a sixth of the length, within a cell
        assert min(run[0] for run in spans) == pytest.approx(200 * band / 6, abs=200 / 56)
        assert max(run[2] for run in spans) == pytest.approx(200 * (band + 1) / 6, abs=200 / 56)
    # to what the page's hundredths of a millimetre leave
    assert area == pytest.approx(200.0 * 100.0, rel=1e-3)
    level = height_map(setup(), Measures("mm"))
    assert "level: 21 mm" in level and "high" not in level.split("</title>")[-1].replace("higher", "")


def test_a_step_stands_upright_in_the_stack() -> None:
    import numpy as np

    stepped = Surface(
        np.array([0.0, 200.0]),
        np.array([0.0, 40.0, 40.0, 100.0]),
        np.array([[21.0] * 2, [21.0] * 2, [21.5] * 2, [21.5] * 2]),
    )
    whole = plan()
    one = replace(setup(), top=stepped)
    wood = shapes(stack_view(whole, one), "panel")[0].get("d", "")
    points = [tuple(map(float, each)) for each in re.findall(r"([\d.-]+) ([\d.-]+)", wood)]
    rise = [(a, b) for a, b in pairwise(points) if a[1] != b[1] and 0 < a[0] < 100 and 0 < b[0] < 100]
    assert len(rise) == 1 and all(39.9 < x < 40.1 or abs(x - 40) < 2 for x, _ in rise[0])
    assert section_of(work(), one).side == 100.0 and section_of(work(), one).across == "y"


def test_letters_go_on_after_z() -> None:
    assert [letter(each) for each in (0, 1, 25, 26, 51, 52, 701, 702)] == ["A", "B", "Z", "AA", "AZ", "BA", "ZZ", "AAA"]


def test_units_are_those_of_the_job() -> None:
    assert measures(work())(0.1 + 0.2) == "0.3 mm"
    inches = Measures("in")
    assert (inches(25.4 / 3), inches.coarse(25.4 / 3), inches.place(25.4 / 3)) == ("0.3333 in", "0.333 in", "0.33 in")
    assert inches.feed(5600.0) == "220.472 in/min"


def test_a_bar_is_what_is_used_of_what_there_is() -> None:
    from flatwise.plan.holding import weakness

    found = {each.name: each for each in bars(plan(), setup())}
    # 14000 rpm in 9000 to 16000 rpm: the cutter's range, inside the spindle's
    assert (found["Spindle speed"].share, found["Spindle speed"].low) == pytest.approx((14 / 16, 9 / 16))
    assert (found["Chip a wing"].share, found["Chip a wing"].low) == pytest.approx((0.2 / 0.3, 0.1 / 0.3))
    assert found["Feed"].share == pytest.approx(5600 / 6000)
    # 2 kW at 24000 rpm, and no rule of a standard
    assert found["Power, an estimate"].share == pytest.approx(70 / (2000 * 14 / 24))
    assert found["Bite"].share == pytest.approx(0.5)
    assert found["Clearance over holders"].share == pytest.approx(2.0 / (20.3 - 13))
    # the holders stand the load that is shown, and not a newton more
    stands = holds(plan(), setup())
    of = work()
    args = (of.length, of.width, of.mass)
    if stands:
        assert weakness(of.holders, *args, stands) is None
    assert weakness(of.holders, *args, stands + 1.0) is not None


def test_the_panels_own_limits() -> None:
    from flatwise.model.job import Faces, Flip, SecondTo
    from flatwise.rules import Rules
    from flatwise.units import quantity

    faces = Faces(
        second=SecondTo(thickness=quantity("19.6", "mm"), within=quantity("0.2", "mm")), flip=Flip(edge="long_edge")
    )
    base = work()
    asked = replace(
        base, job=base.job.model_copy(update={"faces": faces}), rules=Rules(leave=15.0, uneven=3.0, ridge=0.03)
    )
    whole = plan(asked, setups=(setup(), replace(setup("second"), removed_mean=1.3)))
    found = {each.name: each.share for each in panel_bars(whole)}
    assert found["± on thickness"] == pytest.approx(0.17 / 0.2)
    assert found["Least that may be left"] == pytest.approx(15 / 19.6)
    assert found["Faces lose unevenly"] == pytest.approx(0.6 / 3)
    # a limit that is broken and waived fills its bar in another shade and stays inside the picture
    words = sheet(replace(built(), plan=replace(whole, plus_minus=0.5)))
    assert 'class="over" x="0" y="0" width="104.00"' in words


def test_what_second_best_would_have_cost_is_said() -> None:
    other = OtherAim("natural", 20.6, setup().shims)
    whole = plan()
    assert whole.seating is not None
    whole = replace(whole, seating=replace(whole.seating, other=other))
    way = OtherDirection("across", 100.4, (5600.0, 4000.0))
    pose = OtherPose("natural", 19.5, (0.9, 0.8), 50.0)
    own, aim, rows = second_best(replace(built(), plan=whole, other_direction=way, other_pose=pose))
    assert (own.choice, own.time) == ("As planned", "About 1 min 2 s.")
    assert own.wood == (
        "19.6 mm left; 0.7 mm and 0.7 mm come off in the mean. At most 20.9 mm could be left in this pose; any tilt "
        "at all could give 20.95 mm."
    )
    assert aim.choice == "Leaves for the aim natural"
    assert aim.wood == (
        "19.5 mm left; 0.9 mm and 0.8 mm come off in the mean. At most 20.6 mm could be left in this pose, 0.3 mm "
        "less. Leaves at 1 place."
    )
    assert aim.time == "50 s: 12 s quicker."
    assert (rows.choice, rows.wood) == ("Rows across the grain", "The same wood.")
    assert rows.time == "1 min 40 s: 38 s slower. Feed 4000 mm/min and 5600 mm/min."
    barred = replace(way, faults=("FW504", "FW701"))
    *_, rows = second_best(replace(built(), plan=whole, other_direction=barred))
    assert rows.time.startswith("It would not do: FW504, the panel is not held against the cut; FW701, ")
    assert second_best(replace(built(), plan=replace(whole, seating=None))) == []


def test_what_second_best_says_of_more_of_the_same_and_of_as_long() -> None:
    whole = plan()
    assert whole.seating is not None
    shim = replace(setup().shims[0], leaves=(0.3,))
    bare = replace(shim, leaves=())

    def told(most: float, shims: tuple[Any, ...], time: float = 62.0) -> tuple[str, str]:
        assert whole.seating is not None
        other = OtherAim("least_removal", most, shims)
        pose = OtherPose("least_removal", 19.5, (0.9, 0.8), time)
        there = replace(whole, seating=replace(whole.seating, other=other))
        _, aim = second_best(replace(built(), plan=there, other_pose=pose))
        assert aim.choice == "Leaves for the aim least removal"
        return aim.wood.partition("in this pose, ")[2], aim.time

    # the pose that is taken leaves 20.9 mm at most
    assert told(21.0, (shim, shim, bare))[0] == "0.1 mm more. Leaves at 2 places."
    assert told(20.6, (shim,))[0] == "0.3 mm less. Leaves at 1 place."
    assert told(20.9004, ())[0] == told(20.8996, (bare,))[0] == "the same. Leaves at 0 places."
    now = sum(one.time for one in whole.setups)
    assert told(20.9, (), now + 0.9)[1].startswith("As long: 1 min ")
    assert told(20.9, (), now - 0.9)[1].startswith("As long: 1 min ")
    assert told(20.9, (), now + 1.4)[1].endswith(" slower.")
    assert told(20.9, (), now + 2.0)[1].endswith(": 2 s slower.")
    assert told(20.9, (), now - 2.0)[1].endswith(": 2 s quicker.")
    way = OtherDirection("across", 100.4, (5600.0,), line="pattern raster across grain")
    *_, rows = second_best(replace(built(), plan=whole, other_direction=way))
    assert rows.time.endswith("If the look of it allows that, write: pattern raster across grain.")
    # a spoilboard lies where it is: no pose, no tilt and no leaves are told of
    stock = whole.work.job.stock.model_copy()
    object.__setattr__(stock, "_name", "bed")
    bed = replace(whole.work, job=whole.work.job.model_copy(update={"stock": stock}))
    own, _ = second_best(replace(built(), plan=replace(whole, work=bed), other_direction=way))
    assert own.wood.endswith("come off in the mean.")


def test_a_panel_that_nothing_holds_fills_its_bar_twice() -> None:
    from flatwise.rules import Rules

    # 2 kW at 14000 of 24000 rpm gives 1167 W, of which a rule grants 70 %
    ruled = replace(work(), rules=Rules(power=0.7))
    found = {each.name: each for each in bars(plan(ruled), setup())}
    assert (found["Power, an estimate"].of, found["Power, an estimate"].note) == (
        "817 W",
        "70% of what the spindle gives at this speed",
    )
    one = setup().holders[0]
    clamp = replace(one, kind="clamp", force=0.0)
    alone = next(each for each in bars(plan(), replace(setup(), holders=(clamp,))) if each.name.startswith("Holding"))
    assert alone.of == f"{holds(plan(), replace(setup(), holders=(clamp,))):.0f} N"


def test_many_passes_and_a_cut_again_have_their_sheet() -> None:
    passes = tuple(sweep(21.0 - 0.02 * number, 0.02, 63.0) for number in range(1, 61))
    whole = plan(setups=(replace(setup("second", again=True), passes=passes),))
    text = sheet(replace(built(), plan=whole))
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
    assert summary(replace(built(), plan=whole))["setups"][0]["again"] is True


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


def test_the_bar_of_many_jobs_is_seen_in_a_terminal_only(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    monkeypatch.setenv("TERM", "xterm")
    shown = Terminal()
    assert list(watched(iter("abcd"), 4, shown)) == list("abcd")
    assert "2 of 4 jobs" in shown.getvalue() and shown.getvalue().endswith("\r\x1b[K")
    for stream, total in ((io.StringIO(), 4), (Terminal(), 2)):
        assert list(watched(iter("abcd"), total, stream)) == list("abcd")
        assert stream.getvalue() == ""
    monkeypatch.setenv("CI", "true")
    quiet = Terminal()
    assert list(watched(iter("abcd"), 4, quiet)) == list("abcd")
    assert quiet.getvalue() == ""


def test_the_bar_is_wiped_when_a_run_breaks_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.delenv("CI", raising=False)
    monkeypatch.setenv("TERM", "xterm")

    def broken() -> object:
        yield 1
        raise KeyboardInterrupt

    shown = Terminal()
    with pytest.raises(KeyboardInterrupt):
        list(watched(broken(), 4, shown))  # type: ignore[arg-type]
    assert shown.getvalue().endswith("\r\x1b[K")


def test_a_waiver_shows_its_figures_in_the_units_of_its_rule() -> None:
    from flatwise.stages import Waived

    waived = (Waived("power", "a", 0.82, 0.7), Waived("depth", "b", 0.8, 0.6), Waived("survey", "c", 0.0, 0.0))
    text = sheet(replace(built(), waived=waived))
    rows = re.findall(
        r"<tr><td class=\"key\">(\w+)</td><td class=\"n\"[^>]*>([^<]*)</td><td class=\"n\"[^>]*>([^<]*)</td>"
        r"<td data-of=\"Because\">(\w)</td></tr>",
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
    odd = replace(setup(), top=top, under=under, passes=(), holders=(), touch=replace(setup().touch, x=6.0, y=6.0))
    whole = plan(setups=(odd, replace(odd, face="second", passes=setup().passes, shims=())))
    text = sheet(replace(built(), plan=whole))
    page(text)
    for drawing in re.findall(r"<svg.*?</svg>", text, re.S):
        assert not re.search(r"\b(nan|inf)\b", drawing)
        ElementTree.fromstring(drawing)
