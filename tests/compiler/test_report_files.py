"""The summary, the sheet and the lines of a build, from a plan made by hand."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from html.parser import HTMLParser
from xml.etree import ElementTree

import pytest
from compiler.write_plans import built, plan, setup, sweep, work

from flatwise.diagnostics import Diagnostic
from flatwise.report import files
from flatwise.report.drawing import plan_view
from flatwise.report.lines import job_lines, minutes
from flatwise.report.sheet import sheet
from flatwise.report.summary import as_bytes, figure, summary
from flatwise_grammar.nodes import Span


def test_the_summary_has_just_the_keys_of_its_form() -> None:
    told = summary(built())
    assert list(told) == [
        "schema",
        "job",
        "sources",
        "seating",
        "setups",
        "thickness",
        "verified",
        "waived",
        "warnings",
    ]
    assert set(told["seating"]) == {"shims", "tilt", "touches", "rocks", "most_thickness"}
    assert set(told["seating"]["shims"][0]) == {"at", "place", "leaves", "height", "gap_left"}
    assert " ".join(told["setups"][0]) == (
        "face program zero highest lowest plane removed passes speed feed feed_limit chip_load rim_speed power "
        "ridge time"
    )
    assert set(told["setups"][0]["passes"][0]) == {"plane", "depth", "cut_length", "time"}
    assert set(told["thickness"]) == {"target", "forecast", "plus_minus", "parts"}
    assert set(told["verified"]) == {"program_moves", "deepest_bite", "collisions", "left_above_plane", "flatness"}
    assert told["schema"] == 1 and told["verified"]["program_moves"] == 60


def test_again_stands_only_where_a_face_is_cut_again() -> None:
    once = built(plan=plan(setups=(setup("second", again=True),)))
    assert [each.get("again") for each in summary(once)["setups"]] == [True]
    assert all("again" not in each for each in summary(built())["setups"])


def test_the_summary_is_json_without_nan_or_minus_zero_and_always_the_same() -> None:
    first, second = as_bytes(summary(built())), as_bytes(summary(built()))
    assert first == second
    assert not re.search(rb"-0\.0\b(?!\d)|NaN|Infinity", first)
    assert json.loads(first)["job"] == "tray"
    assert str(figure(-0.00001)) == "0.0" and str(figure(-0.0)) == "0.0"


def test_warnings_and_waivers_are_carried() -> None:
    warning = Diagnostic("FW205", "No reading shows the twist.", Span("jobs/tray.flat", 4, 8), severity="warning")
    told = summary(built(work(waivers={"depth": "tried it"}), findings=(warning,)), {"jobs/tray.flat": "job tray {"})
    assert told["waived"] == [{"rule": "depth", "because": "tried it", "value": 0.8, "limit": 0.6}]
    assert [(each["code"], each["line"], each["column"]) for each in told["warnings"]] == [("FW205", 1, 5)]


def test_the_files_of_a_job_and_their_agreement() -> None:
    made = built()
    told = files(made, {})
    assert set(told) == {"first.nc", "second.nc", "sheet.html", "summary.json"}
    number = re.search(rb"\(sources ([0-9a-f]{16})\)", told["first.nc"])
    assert number is not None
    # the sheet and the program at the machine can be held against each other
    assert number[1] in told["sheet.html"] and number[1] in told["second.nc"]


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
    assert read.asks == [] and not read.tags & {"script", "link", "img", "iframe"}
    assert "url(" not in text and "@import" not in text
    words = " ".join(" ".join(read.words).split())
    for wanted in (
        "1. The first face", "2. The second face", "19.6 mm", "± 0.17 mm", "X 100.0 mm, Y 50.0 mm", "41.95 mm",
        "0.3mm + 0.05mm", "1 × 0.05mm", "14000 rpm", "5600 mm/min", "Turn the panel over its long edge",
        "survey at the touched place", "after first { thickness front_left ____mm", "hearing protection",
        "manuals of the machine and the cutter", "Estimates",
    ):  # fmt: skip
        assert wanted in words, wanted


def test_what_a_job_says_is_text_in_the_sheet() -> None:
    nasty = "<script>alert('x')</script> & \"quotes\""
    note = Diagnostic("FW205", nasty, None, severity="warning")
    read = page(sheet(built(work(waivers={"depth": nasty}), findings=(note,))))
    assert "script" not in read.tags
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
    stock._name = "bed"
    bed = replace(job, job=job.job.model_copy(update={"stock": stock}), holders=())
    whole = plan(bed, setups=(replace(setup(), holders=(), shims=()),))
    words = " ".join(" ".join(page(sheet(replace(built(), plan=whole))).words).split())
    assert "the machine's own board" in words and "corner of the board" in words
    assert "Lay and hold" not in words and "Measure the top there" not in words and "after first" not in words
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
    rows = re.findall(r"<td>(front_left|centre|back_right)</td><td class=\"n\">([0-9.]+) mm", text)[:3]
    assert rows == [("front_left", "20"), ("centre", "20.5"), ("back_right", "21")]


def test_the_drawing_is_to_scale_and_holds_everything() -> None:
    drawing = ElementTree.fromstring(plan_view(work(), setup()))
    left, top, width, height = (float(value) for value in drawing.attrib["viewBox"].split())
    panel = next(each for each in drawing if each.get("class") == "panel")
    assert (float(panel.get("width", 0)), float(panel.get("height", 0))) == (200.0, 100.0)
    kinds = [each.get("class") for each in drawing]
    assert kinds.count("dog") == 1 and kinds.count("clamp") == 1 and kinds.count("leaf") == 1
    assert {"row", "zero", "touch", "cutter"} <= set(kinds)
    for each in drawing:
        if each.tag.endswith("rect"):
            x, y = float(each.get("x", 0)), float(each.get("y", 0))
            assert left <= x and x + float(each.get("width", 0)) <= left + width
            assert top <= y and y + float(each.get("height", 0)) <= top + height
    # y runs upward on the bed: the clamp's middle, 50 mm from the front, is as high in the drawing as the panel's
    clamp = next(each for each in drawing if each.get("class") == "clamp")
    middle = float(panel.get("y", 0)) + 50.0
    assert float(clamp.get("y", 0)) + float(clamp.get("height", 0)) / 2 == pytest.approx(middle)


def test_a_build_in_a_terminal_says_what_matters_at_the_machine() -> None:
    assert job_lines(built(), "out/tray", full=True) == (
        "tray\n"
        "  left      19.6mm +/- 0.17mm\n"
        "  first     2 passes down to 20.3mm above the bed, at most 0.5mm at a time, 31 s\n"
        "  second    2 passes down to 19.6mm above the bed, at most 0.5mm at a time, 31 s\n"
        "  leaves    front_left 0.3mm + 0.05mm\n"
        "  files     out/tray: first.nc, second.nc, sheet.html, summary.json"
    )
    assert job_lines(built(), "out/tray", full=False) == "tray: 19.6mm +/- 0.17mm left; first.nc, second.nc in out/tray"
    done = replace(built(), plan=plan(setups=()), programs={})
    assert job_lines(done, "out/tray", full=False) == "tray: nothing left to cut; out/tray"
    assert (minutes(59.4), minutes(59.6), minutes(190.5)) == ("59 s", "1 min 0 s", "3 min 10 s")


def test_a_rapid_that_moves_z_with_x_is_a_fault_of_the_plan() -> None:
    from flatwise.stages import Leg
    from flatwise.write import write

    bad = sweep(20.5, 0.5, 63.0)
    bad = replace(bad, path=(*bad.path, Leg(True, 0.0, 0.0, 10.0)))
    with pytest.raises(ValueError, match="Z together"):
        write(plan(), replace(setup(), passes=(bad,)))
