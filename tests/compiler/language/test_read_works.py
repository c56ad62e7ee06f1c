"""From a text to a Work: the numbers of the samples, missing lines, and parts that do not go together."""

from __future__ import annotations

import gc
import pickle
from pathlib import Path

import pytest
from bench.test_many_bench import project
from compiler.reading import codes, only, read_text, under
from hypothesis_profile import NIGHTLY

from flatwise.model.job import UntilClean
from flatwise.model.shop_rules import Rules
from flatwise.pipeline import read_works

ROOT = Path(__file__).resolve().parents[3]


def test_the_reading_table_has_the_numbers_of_its_text(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(ROOT)
    front = read_works([Path("jobs/reading_table.flat")])
    assert not front.findings
    (work,) = front.works
    job = work.job
    assert (work.name, work.length, work.width, work.thickness) == ("reading_table", 1120.0, 610.0, 31.5)
    assert work.mass == pytest.approx(1.120 * 0.610 * 0.0315 * 670.0)
    assert work.turn == "x"
    assert (work.wood.density, work.wood.modulus, work.wood.cutting_energy) == (670.0, 12000.0, 45.0)
    assert job.stock.glue_lines is not None
    assert (job.stock.glue_lines.axis, job.stock.glue_lines.at) == ("y", (122.0, 244.0, 366.0, 488.0))
    assert job.survey is not None
    assert [(r.place.name, float(r.value)) for r in job.survey.thickness] == [  # type: ignore[union-attr]
        ("front_left", 31.6),
        ("front", 31.4),
        ("front_right", 31.4),
        ("left", 31.5),
        ("centre", 31.3),
        ("right", 31.3),
        ("back_left", 31.9),
        ("back", 31.6),
        ("back_right", 31.6),
    ]
    assert [(r.place.name, float(r.value)) for r in job.survey.gap] == [
        ("back_right", 0.42),
        ("back", 0.16),
        ("right", 0.20),
        ("front", 0.0),
        ("left", 0.0),
    ]
    (step,) = job.survey.step
    assert (step.rise, step.axis, step.line, step.face) == (0.30, "y", 244.0, None)
    assert job.survey.within == 0.05
    assert job.supports is not None and job.supports.aim == "enough"
    assert [place.name for place in job.supports.shims[0].places][:5] == [
        "front_left",
        "front_right",
        "back_left",
        "back_right",
        "front",
    ]
    assert len(job.supports.shims[0].places) == 9
    assert [float(leaf.thickness) for leaf in work.sets["leaf_set"].leaves] == [
        0.03,
        0.05,
        0.1,
        0.15,
        0.2,
        0.25,
        0.3,
        0.4,
        0.5,
        1.0,
    ]
    cut = job.cut
    assert (cut.stepover, cut.depth, cut.finish, cut.overrun, cut.speed, cut.feed) == (
        "auto",
        0.5,
        0.2,
        6.0,
        "auto",
        "auto",
    )
    assert (cut.rows.direction, cut.rows.one_way, cut.skip_air) == ("along", None, "yes")
    assert isinstance(job.faces.first, UntilClean)
    assert (job.faces.second.thickness, job.faces.second.within) == (29.0, 0.3)  # type: ignore[union-attr]
    assert (job.zero.corner.x, job.zero.corner.y, job.zero.z.paper) == (90.0, 120.0, 0.05)
    assert work.machine.spindle.power == 2200.0
    assert work.machine.collet.range == (1.0, 13.0)
    assert work.machine.bed == 0.08 and work.machine.tram.tangent == pytest.approx(1e-4)
    assert (work.machine.feed.most, work.machine.z_feed) == (8000.0, 2000.0) and work.machine.rapid_feed == 12000.0
    assert work.machine.shoe is not None and (work.machine.shoe.across, work.machine.shoe.above) == (140.0, 4.0)
    rules = work.rules
    assert rules == Rules(0.6, 15.0, 2.0, 4.0, 0.05, 0.03, 0.7, 3.0, 0.2, 0.0005, True, "solid_tops", rules.spans)
    assert front.texts["shared/shop.flat"][rules.spans["depth"].start :].startswith("depth")


def test_a_walk_has_its_gauge_and_five_by_three_points_unless_the_job_says_how_many(shop: Path) -> None:
    """The figures of `dial_10` in the shop file; a survey that has only `walk` and `within` counts as none (FW205)."""
    for text, points in (("walk dial_10", (5, 3)), ("walk dial_10 at 2 x 50; within 0.05mm", (2, 50))):
        front = read_text(shop, f"job demo from plain_top {{ survey {{ {text} }} }}")
        assert not front.findings
        (work,) = front.works
        assert work.gauge is not None and work.job.survey is not None and work.job.survey.walk is not None
        assert (work.gauge.reach, work.gauge.travel, work.gauge.across) == (60.0, 10.0, 58.0)
        assert (work.job.survey.walk.nx, work.job.survey.walk.ny) == points


@pytest.mark.parametrize(
    ("walk", "code", "underlined"),
    [
        ("dial_1", "FW102", "dial_1"),
        ("low_dog", "FW102", "low_dog"),
        ("dial_10 at 1 x 3", "FW107", "1"),
        ("dial_10 at 5 x 51", "FW107", "51"),
        ("dial_10 at 5mm x 3", "FW104", "5mm"),
    ],
)
def test_a_walk_that_cannot_be(shop: Path, walk: str, code: str, underlined: str) -> None:
    front = read_text(shop, f"job demo from plain_top {{ survey {{ thickness centre 32mm; walk {walk} }} }}")
    finding = only(front)
    assert (finding.code, under(front, finding)) == (code, underlined)


def test_holders_stand_outside_and_touch_the_edge(shop: Path) -> None:
    front = read_text(shop, "job demo from plain_top { }")
    work = front.works[0]
    placed = {(h.kind, h.edge, h.at): h for h in work.holders}
    dog = placed["dog", "left", "25%"]
    assert (dog.x0, dog.x1, dog.y0, dog.y1) == (-19.0, 0.0, 115.5, 134.5)
    assert (dog.along, dog.height, dog.pushes, dog.force) == (125.0, 11.0, (1.0, 0.0), 0.0)
    clamp = placed["clamp", "back", "20%"]
    assert (clamp.x0, clamp.x1, clamp.y0, clamp.y1) == (145.0, 215.0, 500.0, 532.0)
    assert (clamp.pushes, clamp.force, clamp.push_height, clamp.height) == ((0.0, -1.0), 450.0, 8.0, 13.0)
    right = placed["clamp", "right", "50%"]
    assert (right.x0, right.x1, right.y0, right.y1) == (900.0, 932.0, 215.0, 285.0)
    front_dog = placed["dog", "front", "15%"]
    assert (front_dog.x0, front_dog.x1, front_dog.y0, front_dog.y1) == (125.5, 144.5, -19.0, 0.0)
    assert len(work.holders) == 7


def test_defaults_of_a_short_job(shop: Path) -> None:
    front = read_text(
        shop,
        """
        machine plain {
            travel 1m x 1m x 120mm; feed up to 6m/min; spindle 1kW, 8000rpm to 24000rpm; collet ER20; nose 60mm
        }
        wood soft { density 400kg/m3; modulus 9000MPa }
        clamp push { foot 70mm x 32mm; height 12mm; force 300N }
        job demo {
            machine plain
            stock { size 400mm x 500mm x 30mm; wood soft; grain along y }
            hold { dog low_dog left at 50%; dog low_dog front at 50%; clamp push right at 50%; clamp push back at 50% }
            zero { corner front_left at 120mm, 120mm; z bed }
            cut { cutter fly_64 }
            faces { first take 0.8mm }
        }
        """,
    )
    assert not front.findings
    work = front.works[0]
    machine = work.machine
    assert machine.rapid_feed == 6000.0 and machine.acceleration == 250.0 and machine.lift == 50.0
    assert machine.tram.tangent == pytest.approx(0.05 / 200) and machine.bed == 0.1 and machine.repeat == 0.02
    assert machine.collet_height == 120.0 and machine.shoe is None
    control = machine.controller
    assert (control.units, str(control.offset), control.places, control.dwell) == ("mm", "G54", 3, "seconds")
    assert (control.spin_up, control.extraction, str(control.ending), control.line) == (5.0, "by hand", "M30", 256)
    assert control.park is None and control.top is None
    assert work.wood.cutting_energy == 50.0 and work.wood.across == 600.0
    assert work.rules == Rules()
    assert (work.job.cut.stepover, work.job.cut.speed, work.job.cut.feed) == ("auto", "auto", "auto")
    assert work.job.cut.rows.direction == "along" and work.job.cut.skip_air == "yes"
    assert work.holders[-1].push_height == 6.0
    assert work.turn == "y"  # wider than long: the long edge runs along Y


def test_a_spoilboard_needs_no_holders_and_takes_nothing_else(shop: Path) -> None:
    bed = "machine bench_router; zero { corner front_left at 0mm, 0mm; z top } cut { cutter fly_64 }"
    stock = "stock bed { size 1300mm x 1300mm x 18mm; grain along x }"
    front = read_text(shop, f"job skim {{ {bed}; {stock}; faces {{ first take 0.5mm }} }}")
    assert not front.findings
    work = front.works[0]
    assert work.job.stock.is_bed and work.holders == () and work.wood.name == "mdf" and work.wood.density == 750.0
    for more, marked in {
        "hold { }": "hold",
        "survey { }": "survey",
        "after first { marks left }": "after first",
        'waive depth because "why not"': "waive",
    }.items():
        front = read_text(shop, f"job skim {{ {bed}; {stock}; faces {{ first take 0.5mm }}; {more} }}")
        assert "FW101" in codes(front) and not front.works
        assert under(front, front.findings[0]).startswith(marked)
    for faces in ("first until clean", "first take 0.5mm; second to 17mm", "first take 0.5mm; flip over long_edge"):
        assert codes(read_text(shop, f"job skim {{ {bed}; {stock}; faces {{ {faces} }} }}")) == ["FW101"], faces


@pytest.mark.parametrize(
    ("body", "code"),
    [
        ("faces { second to 29mm; first until clean }", "FW105"),
        ("faces { }", "FW105"),
        ("faces { second to 29mm; flip over long_edge }", "FW105"),
        ("faces { second to 29mm; flip over long_edge } after first { thickness centre 31mm }", ""),
        ("faces { first until clean; second balanced; flip over long_edge }", "FW104"),
        ("faces { first balanced }", "FW105"),
        ("faces { first balanced; second until clean; flip over long_edge }", "FW104"),
        ("faces { first balanced; second to 29mm; flip over long_edge }", ""),
        ("faces { first until clean } after first { }", "FW105"),
        ("faces { first until clean } after first { marks left }", ""),
        ("faces { first until clean } after first { thickness centre 31mm }", "FW105"),
        ("faces { first until clean } waive depth", "FW702"),
        ('faces { first until clean } waive depth because "  "', "FW702"),
        ('faces { first until clean } waive depth because "a"; waive depth because "b"', "FW103"),
        ("faces { first until clean } survey { thickness (901mm, 3mm) 32mm }", "FW201"),
        ("faces { first until clean } survey { thickness (3mm, -1mm) 32mm }", "FW201"),
        ("faces { first until clean } supports { shim 0.1mm under (3mm, 501mm) }", "FW201"),
        ("faces { second to 29mm; flip over long_edge } after first { thickness (901mm, 3mm) 32mm }", "FW201"),
        ("faces { first until clean } survey { thickness centre -3mm }", "FW107"),
        ("faces { first until clean } survey { gap front 0.1mm; gap front 0.1mm }", "FW103"),
        ("faces { first until clean } survey { gap front 0.1mm; gap front 0.9mm }", ""),
        ("faces { first until clean } stock { glue_lines y 500mm }", "FW107"),
        ("faces { first until clean } stock { glue_lines x 500mm }", ""),
        ("faces { first until clean } hold { dog low_dog left at 600mm }", "FW107"),
        ("faces { first until clean } hold { dog low_dog left at 110% }", "FW107"),
        ("faces { first until clean } after third { }", "FW101"),
        ("faces { first until clean } faces { first until clean }", "FW103"),
    ],
)
def test_parts_of_a_job_that_do_not_go_together(shop: Path, body: str, code: str) -> None:
    recipe = (shop / "shared" / "sample.flat").read_text()
    start = recipe.index("    faces {")
    (shop / "shared" / "sample.flat").write_text(recipe[:start] + "}\n")
    front = read_text(shop, f"job demo from plain_top {{ {body} }}")
    assert codes(front) == ([code] if code else [])
    assert bool(front.works) == (not code)


@pytest.mark.parametrize(
    "text",
    [
        "cutter odd like fly_64 { depth up to 10mm }",
        "cutter odd like fly_64 { blade 39mm }",
        "clamp odd like side_cam { pushes at 14mm }",
        "machine odd like bench_router { tram 3mm in 2mm }",
        "machine odd like bench_router { spindle 1kW, 9000rpm to 8000rpm }",
    ],
)
def test_declarations_of_the_shop_that_make_no_sense(shop: Path, text: str) -> None:
    assert codes(read_text(shop, text)) == ["FW107"]


@pytest.mark.parametrize(
    ("kind", "needed"),
    [
        ("machine", {"travel", "feed", "spindle", "collet", "nose"}),
        ("cutter", {"diameter", "wings", "shank", "blade", "stick_out", "depth", "speed", "chip_load"}),
        ("dog", {"across", "height"}),
        ("clamp", {"foot", "height", "force"}),
        ("shims", {"leaves"}),
        ("job", {"machine", "stock", "hold", "zero", "cut", "faces"}),
        ("wood", {"density", "modulus"}),
        ("standard", set()),
        ("recipe", set()),
    ],
)
def test_what_is_missing_is_named_with_a_line_that_would_do(shop: Path, kind: str, needed: set[str]) -> None:
    front = read_text(shop, f"{kind} nameless {{ }}")
    assert codes(front) == ["FW105"] * bool(needed)
    for finding in front.findings:
        shown = [other.message for other in finding.related] or [finding.help]
        assert len(shown) == len(needed)
        for word in needed:
            assert f"`{word}`" in finding.message and any(f"`{word} " in one for one in shown), word


def test_missing_lines_of_inner_blocks(shop: Path) -> None:
    front = read_text(
        shop, "job demo { machine bench_router; stock { } hold { } zero { } cut { } faces { first until clean } }"
    )
    words = [["size", "wood", "grain"], ["corner", "z"], ["cutter"]]
    assert [f.message.partition(" has no ")[2].split("`")[1::2] for f in front.findings] == words


def test_a_block_that_is_not_closed_is_not_said_to_lack_anything(shop: Path) -> None:
    start = "job demo { machine bench_router; "
    assert codes(read_text(shop, start + "stock { size 900mm x 300mm x 30mm")) == ["FW002"]
    assert codes(read_text(shop, start + "faces { second to 29mm")) == ["FW002"]
    assert codes(read_text(shop, start + "stock { size 900mm x 300mm x 30mm }")) == ["FW002", "FW105"]


def test_every_prefix_of_the_samples_is_read_without_an_exception(shop: Path) -> None:
    text = (ROOT / "jobs" / "reading_table.flat").read_text()
    for end in range(0, len(text), 37 if NIGHTLY else 101):
        front = read_text(shop, text[:end] or "use")
        for finding in front.findings:
            assert finding.code < "FW2" and finding.message


def test_messages_are_one_sentence_with_a_way_out(shop: Path) -> None:
    front = read_text(
        shop,
        "cutter odd { diameter 3; wings 2.5; shank 3rpm; blade 9mn; depth 3mm; speed 3rpm to 1rpm; plunge no no }\n"
        "job demo from plain_top { cut { cuter fly_64 } hold { dog low_dog left at 3 } machine benchrouter }",
    )
    assert len(front.findings) >= 10
    for finding in front.findings:
        assert finding.message.endswith(".") and ". " not in finding.message, finding.message
        assert finding.help.endswith((".", "?")), finding.help
        assert finding.message[0].isupper() or finding.message[0] == "`"


def test_one_finding_for_a_wrong_value_in_the_job_itself(shop: Path) -> None:
    front = read_text(shop, "job demo from plain_top { cut { depth 12in/min } }")
    finding = only(front)
    assert finding.message == "`12in/min` at `depth` of cut of job `demo` is a feed; a length is expected."


def test_a_work_survives_the_way_to_another_process(repository: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(repository)
    (work,) = read_works([Path("jobs/reading_table.flat")]).works
    sent = pickle.loads(pickle.dumps(work))
    assert sent == work and sent.job.hold is not None and work.job.hold is not None
    at, was = sent.job.hold.dog[0].at[0], work.job.hold.dog[0].at[0]
    assert (type(at), at.text, at.span, at.on(400.0)) == (type(was), was.text, was.span, was.on(400.0))
    assert sent.job.stock.span("wood") == work.job.stock.span("wood")


def test_reading_leaves_no_circles(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A short run has no collector; an exception that is kept would keep the tree and all that was read."""
    project(tmp_path, 25)
    monkeypatch.chdir(tmp_path)
    read_works([Path("jobs")])
    gc.collect()
    gc.disable()
    try:
        front = read_works([Path("jobs")])
        assert not front.findings and len(front.works) == 25
        assert gc.collect() < 30 * 25  # a few objects a job; with exceptions kept it was over 500
    finally:
        gc.enable()
