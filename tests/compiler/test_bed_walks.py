"""One walk over all panels of a batch: its points, its order, its program, and the proof over the whole bed.

The judge of distances is shapely: the gauge as a disc against outlines and holders, by an own reader of programs.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from itertools import pairwise
from math import dist
from pathlib import Path

import pytest
from compiler.reading import read_text, under
from compiler.tool.in_process import flatwise
from example_jobs import BATCH, ROOT
from shapely import Point, box

from flatwise.core.finding import has_errors
from flatwise.gcode.walk_program import write_bed_walk
from flatwise.model.measuring import BedWalk, MeasuredBatch, Walk
from flatwise.model.stages import Work
from flatwise.pipeline import measure, measure_batch, read_works
from flatwise.verify import verify_bed_walk

TRAY = "stock { size 400mm x 300mm x 32mm; wood ash; grain along x }"


def with_walks(text: str) -> str:
    """The text of the example batch with a walk in the survey of every job."""
    return text.replace("survey {", "survey {\n        walk  dial_10 at 4 x 3")


def example_text() -> str:
    return with_walks((ROOT / "jobs" / f"{BATCH}.flat").read_text(encoding="utf-8"))


@cache
def measured(turned: bool) -> MeasuredBatch:
    path = ROOT / "jobs" / f"{BATCH}.flat"
    (batch,) = read_works([path], {path: example_text()}).batches
    return measure_batch(batch, under=turned)


def trays(first: str, second: str) -> str:
    jobs = [f"job tray_{name} from plain_top {{ {TRAY}; {each} }}" for name, each in (("a", first), ("b", second))]
    return "\n".join([*jobs, "batch trays { jobs tray_a, tray_b }"])


def at(x: int, y: int, survey: str = "walk dial_10") -> str:
    return f"zero {{ corner front_left at {x}mm, {y}mm; z bed }}; survey {{ {survey} }}"


def of(shop: Path, text: str) -> MeasuredBatch:
    (batch,) = read_text(shop, text).batches
    return measure_batch(batch)


def bed_walk(made: MeasuredBatch) -> BedWalk:
    assert made.walk is not None
    return made.walk


def stops(program: bytes) -> list[tuple[float, float, float]]:
    """Program X, Y and Z where it waits, without the wait at its beginning."""
    place: dict[str, float] = {}
    found = []
    for line in program.decode().splitlines():
        if line == "M0":
            found.append((place.get("X", 0.0), place.get("Y", 0.0), place.get("Z", 0.0)))
        elif not line.startswith(("(", "G53")):
            place |= {axis: float(value) for axis, value in re.findall(r"([XYZ])(-?[\d.]+)", line)}
    return found[1:]


@pytest.mark.parametrize("turned", [False, True])
def test_the_gauge_goes_to_every_point_once_and_clear_of_all_that_stands_on_the_bed(turned: bool) -> None:
    made = measured(turned)
    walk = bed_walk(made)
    assert not has_errors(made.findings) and len(walk.stops) == 48
    assert [stop.number for _, each in walk.panels for stop in each.stops] == list(range(1, 49))
    visited = stops(made.program)
    things = []
    for work, each in walk.panels:
        x, y = float(work.job.zero.corner.x), float(work.job.zero.corner.y)
        things.append((work.name, box(x, y, x + work.length, y + work.width), each.may_stand))
        things += [("", box(x + h.x0, y + h.y0, x + h.x1, y + h.y1), h.height) for h in work.holders]
    zero = walk.first.job.zero.corner
    expected = [(work, stop) for work, each in walk.panels for stop in each.stops]
    for (x, y, z), (work, stop) in zip(visited, expected, strict=True):
        there = Point(x + float(zero.x), y + float(zero.y))
        corner = work.job.zero.corner
        assert there.distance(Point(stop.x + float(corner.x), stop.y + float(corner.y))) < 2e-3
        for name, thing, height in things:
            if name != work.name and height > z:
                assert there.distance(thing) >= 58 / 2
    assert walk.panels[0][1].lift >= max(height for _, _, height in things) + float(walk.first.machine.lift)


def test_the_ways_are_no_longer_than_in_the_order_written() -> None:
    made = measured(False)
    walk = bed_walk(made)

    def way(panels: list[tuple[Work, Walk]]) -> float:
        at = [walk.first.job.zero.corner, *(work.job.zero.corner for work, _ in panels)]
        (x, y), *corners = ((float(each.x), float(each.y)) for each in at)
        zero = walk.panels[0][1].zero_at, walk.panels[0][1].origin
        places = [(x + zero[0][0] - zero[1][0], y + zero[0][1] - zero[1][1])]
        for (u, v), (_, each) in zip(corners, panels, strict=True):
            places += [(u + stop.x, v + stop.y) for stop in each.stops]
        return sum(dist(one, other) for one, other in pairwise(places))

    written = [(work, each) for work, _ in made.panels if (each := measure(work).walk) is not None]
    assert len(written) == 4 and way(list(walk.panels)) <= way(written)


def test_points_that_a_neighbour_covers_are_left_out(shop: Path) -> None:
    wide = "gauge wide { reach 60mm; travel 10mm; across 180mm }\n"
    text = wide + trays(at(100, 100, "walk wide"), at(100, 470, "walk wide"))
    front = read_text(shop, text)
    walk = bed_walk(measure_batch(front.batches[0]))
    for work, each in walk.panels:
        alone = measure(work).walk
        assert alone is not None
        kept, all_of_it = ({(stop.x, stop.y) for stop in one.stops} for one in (each, alone))
        back = max(y for _, y in all_of_it) if work.name == "tray_a" else min(y for _, y in all_of_it)
        # 70 mm between the panels and 15 mm to the points are less than half of 180 mm
        assert kept == {(x, y) for x, y in all_of_it if y != back}
        assert kept < all_of_it


def lines_of(made: MeasuredBatch) -> str:
    return made.program.decode()


def without_a_panel(text: str) -> str:
    return re.sub(r"\(panel 2 of 4.*?(?=\(panel 3 of 4)", "", text, flags=re.DOTALL)


def through_the_neighbour(text: str) -> str:
    spoilt, count = re.subn(r"(\(stop 12 of 48: read the dial\)\nM0\n)G0 Z[\d.]+\n", r"\1", text)
    assert count == 1
    return spoilt


def low_on_the_way(text: str) -> str:
    spoilt, count = re.subn(r"(\(stop 12 of 48: read the dial\)\nM0\nG0 Z)[\d.]+\n", r"\g<1>36.0\n", text)
    assert count == 1
    return spoilt


def stop_at_another_panel(text: str) -> str:
    parts = re.findall(r"\(panel \d of 4.*?(?=\(panel|G53 G0 Z0\.0\nG53|\Z)", text, flags=re.DOTALL)
    one, other = (re.search(r"X[-\d.]+ Y[-\d.]+|X[-\d.]+|Y[-\d.]+", part) for part in parts[:2])
    assert one and other
    return text.replace(one[0], other[0], 1)


@pytest.mark.parametrize(
    ("spoil", "code"),
    [
        (without_a_panel, "FW902"),
        (through_the_neighbour, "FW903"),
        (low_on_the_way, "FW902"),
        (stop_at_another_panel, "FW902"),
        (lambda text: text.replace("(batch tray_batch)", "(job bread_tray)"), "FW902"),
        (lambda text: text.replace("(stop 13 of 48", "(stop 1 of 12"), "FW902"),
        (lambda text: text.replace("panel bread_tray at X -", "panel bread_tray at X "), "FW902"),
        (lambda text: text.replace("\nM0\n", "\nS9000 M3\nM0\n", 1), "FW901"),
    ],
)
def test_a_spoilt_walk_is_refused(spoil: Callable[[str], str], code: str) -> None:
    made = measured(False)
    spoilt = spoil(lines_of(made))
    assert spoilt != lines_of(made)
    assert code in {each.code for each in verify_bed_walk(spoilt.encode(), bed_walk(made), "measure.nc")}


@pytest.mark.parametrize(("axis", "far", "edge"), [("x", at(700, 100), 500.0), ("y", at(100, 470), 400.0)])
@pytest.mark.parametrize(("gap", "meets"), [(2.0, True), (15.99, True), (16.01, False)])
def test_the_gauge_beside_a_neighbour_is_found_out(
    shop: Path, axis: str, far: str, edge: float, gap: float, meets: bool
) -> None:
    """The walk is planned with the neighbour far away; with the neighbour beside it, both have stops too near.

    Stops are 15 mm from an edge; the gauge, 58 mm wide, keeps 2 mm clear.
    """
    walk = bed_walk(of(shop, trays(at(100, 100), far)))
    assert verify_bed_walk(write_bed_walk(walk), walk, "measure.nc") == ()
    (a, over_a), (b, over_b) = sorted(walk.panels, key=lambda each: each[0].name)
    corner = b.job.zero.corner.model_copy(update={axis: type(b.job.zero.corner.y)(edge + gap, "mm")})
    beside = b._replace(job=b.job.model_copy(update={"zero": b.job.zero.model_copy(update={"corner": corner})}))
    by_x, by_y = (float(getattr(b.job.zero.corner, each)) - float(getattr(corner, each)) for each in "xy")
    over_b = over_b._replace(origin=(over_b.origin[0] + by_x, over_b.origin[1] + by_y))
    moved = walk._replace(panels=((a, over_a), (beside, over_b)), first=a)
    found = verify_bed_walk(write_bed_walk(moved), moved, "measure.nc")
    for one, other in (("tray_a", "tray_b"), ("tray_b", "tray_a")):
        said = [each.message for each in found if each.code == "FW903" and f"panel `{other}`" in each.message]
        assert bool(said) == meets and all(each.startswith(f"At {one}, line ") for each in said)


def test_ways_keep_the_lift_over_the_highest_panel(shop: Path) -> None:
    walk = bed_walk(of(shop, trays(at(100, 100), at(100, 600, "walk dial_10; thickness centre 34mm"))))
    assert walk.panels[0][1].may_stand < walk.panels[1][1].may_stand - 0.1
    program = write_bed_walk(walk).decode()
    assert verify_bed_walk(program.encode(), walk, "measure.nc") == ()
    lift = walk.panels[0][1].lift
    lower, count = re.subn(rf"G0 Z{lift:g}0*\n", f"G0 Z{lift - 0.01:.3f}\n", program)
    found = verify_bed_walk(lower.encode(), walk, "measure.nc")
    assert count > 20 and any("the machine's lift of 50mm" in each.message for each in found)


def test_what_stops_it(shop: Path) -> None:
    other = "gauge other { reach 60mm; travel 8mm; across 58mm }\n"
    text = other + trays(at(100, 100), at(100, 600, "walk other"))
    front = read_text(shop, text)
    made = measure_batch(front.batches[0])
    (found,) = (each for each in made.findings if each.severity == "error")
    assert found.code == "FW109" and under(front, found) == "tray_b" and "`other`" in found.message
    assert not made.program
    assert "FW301" in {each.code for each in of(shop, trays(at(100, 100), at(100, 1250))).findings}
    assert "FW503" in {each.code for each in of(shop, trays(at(100, 100), at(100, 420))).findings}
    wrong = of(shop, trays(at(100, 100), at(100, 600, "walk dial_10; thickness centre 40mm")))
    assert not wrong.program and {"FW202"} == {each.code for each in wrong.findings}


def test_a_panel_without_a_walk_is_only_in_the_way(shop: Path) -> None:
    made = of(shop, trays(at(100, 100, "within 0.05mm"), at(100, 600)))
    walk = bed_walk(made)
    assert made.program and [len(each.stops) for _, each in walk.panels] == [15, 0]
    assert [work.name for work, own in made.panels if own.walk is None] == ["tray_a"]
    none = of(shop, trays(at(100, 100, "within 0.05mm"), at(100, 600, "within 0.05mm")))
    assert none.walk is None and not none.program and len(none.panels) == 2


def test_from_the_command_line(shop: Path) -> None:
    job = shop / "jobs" / f"{BATCH}.flat"
    job.write_text(example_text(), encoding="utf-8")
    run = flatwise("measure", f"jobs/{BATCH}.flat:{BATCH}", cwd=shop)
    assert run.returncode == 0 and run.stdout.startswith("tray_batch: 48 points, ")
    folder = shop / "out" / BATCH
    assert {path.name for path in folder.iterdir()} == {"measure.nc", "measure.html"}
    form = (folder / "measure.html").read_text("utf-8")
    assert form.count("Isolate the spindle") == form.count("Dial on the bed") == 1
    for work, each in bed_walk(measured(False)).panels:
        assert f"stops {each.stops[0].number} to {each.stops[-1].number}" in form
        assert f"{work.name}_top.csv" in form and f"Dial at point {each.stops[0].number}" in form
    run = flatwise("verify", f"out/{BATCH}/measure.nc", "--job", f"jobs/{BATCH}.flat", cwd=shop)
    assert run.returncode == 0 and "measures tray_batch at 48 points" in run.stdout
    # a job that leaves the batch leaves the form
    less = re.sub(r"job fruit_tray.*?\n}\n", "", example_text(), flags=re.DOTALL)
    job.write_text(less.replace("tea_tray, fruit_tray\n", "tea_tray\n"), encoding="utf-8")
    assert flatwise("measure", f"jobs/{BATCH}.flat:{BATCH}", cwd=shop).returncode == 0
    assert "fruit_tray" not in (folder / "measure.html").read_text("utf-8")
