"""Batches: panels laid out on one bed, cut by one program a face, and its proof over the whole bed.

The judge of distances is shapely: the area that the turning cutter sweeps, by an own reader of programs, against the
outlines of the other panels and their holders.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import cache
from itertools import combinations
from pathlib import Path

import pytest
from compiler.random_batches import write_batch
from compiler.reading import codes, only, read_text, under
from example_jobs import BATCH, ROOT, example_batch
from hypothesis_profile import NIGHTLY
from outside.true_cuts import steps
from shapely import LineString, Point, box
from shapely.geometry.base import BaseGeometry

from flatwise.core.finding import has_errors
from flatwise.model.bed import BatchWork
from flatwise.model.built import BuiltBatch
from flatwise.model.stages import Plan, Work
from flatwise.pipeline import build_batch, read_works, work_out, work_out_batch
from flatwise.plan import neighbours
from flatwise.verify import verify_batch

FACES = ("first", "second")
#: jobs made from the recipe of `shared/sample.flat`, small enough that several lie on the bed
TRAY = "stock { size 400mm x 300mm x 32mm; wood ash; grain along x }"


def trays(lines: str, *more: str) -> str:
    """Two jobs with these further lines, and a batch of them."""
    jobs = [f"job tray_{name} from plain_top {{ {TRAY}; {each} }}" for name, each in zip("abc", more, strict=False)]
    names = ", ".join(f"tray_{name}" for name in "abc"[: len(more)])
    return "\n".join([*jobs, f"batch trays {{ jobs {names}; {lines} }}"])


def at(x: int, y: int) -> str:
    return f"zero {{ corner front_left at {x}mm, {y}mm; z bed }}"


# -- words -------------------------------------------------------------------------------------------------------


def test_a_batch_is_read_with_its_jobs_in_the_order_written(shop: Path) -> None:
    front = read_text(shop, trays("gap 50mm; from front_left at 120mm, 130mm", *["zero { z bed }"] * 3))
    assert not front.findings
    (batch,) = front.batches
    assert [work.name for work in batch.works] == ["tray_a", "tray_b", "tray_c"]
    assert batch.gap == 50.0 and batch.start is not None and (batch.start.x, batch.start.y) == (120.0, 130.0)


def test_without_from_a_job_needs_its_corner(shop: Path) -> None:
    text = (ROOT / "jobs" / f"{BATCH}.flat").read_text(encoding="utf-8")
    assert codes(read_text(shop, text)) == []
    front = read_text(shop, re.sub(r"\n +from .*", "", text))
    assert codes(front) == ["FW105"] and "corner" in front.findings[0].message and not front.batches


@pytest.mark.parametrize(
    ("lines", "code", "marked"),
    [
        ("zero { corner front_left at 100mm, 600mm; z top by paper 0.05mm }", "FW109", "tray_b"),
        ("zero { corner front_left at 100mm, 600mm; z bed by paper 0.1mm }", "FW109", "tray_b"),
        ("machine other; " + at(100, 600), "FW109", "tray_b"),
        ("cut { cutter other }; " + at(100, 600), "FW109", "tray_b"),
        ("cut { speed 12000rpm }; " + at(100, 600), "FW109", "tray_b"),
        ("after first { thickness centre 30mm }; " + at(100, 600), "FW109", "tray_b"),
    ],
)
def test_jobs_that_share_no_set_up(shop: Path, lines: str, code: str, marked: str) -> None:
    others = "machine other like bench_router { lift 60mm }\ncutter other like fly_64 { wings 2 }\n"
    front = read_text(shop, others + trays("", at(100, 100), lines))
    found = only(front)
    assert found.code == code and under(front, found) == marked and found.help
    assert not front.batches


def test_names(shop: Path) -> None:
    front = read_text(shop, trays("", at(100, 100), at(100, 600)).replace("jobs tray_a, tray_b", "jobs tray_a, tray_a"))
    assert only(front).code == "FW103"
    front = read_text(shop, trays("", at(100, 100), at(100, 600)).replace("tray_b;", "tray_x;"))
    assert only(front).code == "FW102" and under(front, only(front)) == "tray_x"
    front = read_text(shop, trays("", at(100, 100), at(100, 600)).replace("batch trays", "batch tray_b"))
    assert only(front).code == "FW103" and only(front).message == "A job and a batch are both called `tray_b`."


@pytest.mark.parametrize("line", ["from middle at 120mm, 120mm", "from front_left", "gap 40", "gap -1mm"])
def test_a_line_that_is_wrong_is_the_only_finding(shop: Path, line: str) -> None:
    """Where the panels were meant to lie is not known: nothing is said of panels in each other's way."""
    front = read_text(shop, trays(line, "zero { z bed }", "zero { z bed }"))
    assert "batch `trays`" in only(front).message + only(front).help and not front.batches


def test_findings_name_their_jobs_and_what_several_share_is_said_once(shop: Path) -> None:
    """Both panels take the wrong depth from one recipe; only one takes a face from its own."""
    recipe = (shop / "shared" / "sample.flat").read_text().replace("recipe plain_top", "recipe own_top")
    jobs = trays("from front_left at 120mm, 120mm", "zero { z bed }", "zero { z bed }; faces { second to 31.8mm }")
    text = recipe.split("recipe")[0] + "recipe" + recipe.split("recipe")[1].replace("depth 0.5mm", "depth 3mm")
    front = read_text(shop, text.replace('"shop.flat"', '"../shared/shop.flat"') + jobs.replace("plain_top", "own_top"))
    said = {each.code: each.message for each in work_out_batch(front.batches[0])[1] if each.severity == "error"}
    assert said["FW401"].startswith("tray_a and tray_b: The depth of 3mm")
    assert said["FW601"].startswith("tray_b: ")


# -- places ------------------------------------------------------------------------------------------------------


def found_in(shop: Path, text: str) -> dict[str, str]:
    """The errors of the only batch of a text: help by code."""
    (batch,) = read_text(shop, text).batches
    return {each.code: each.help for each in work_out_batch(batch)[1] if each.severity == "error"}


@pytest.mark.parametrize(
    ("x", "y", "expected"),
    [
        (100, 440, {"FW503"}),
        (100, 470, set()),
        (480, 100, {"FW503"}),
        (535, 175, {"FW503"}),
        (560, 100, {"FW501", "FW304"}),
        (590, 100, {"FW304"}),
        (650, 100, set()),
    ],
)
def test_panels_must_lie_apart(shop: Path, x: int, y: int, expected: set[str]) -> None:
    """A panel of 400 × 300 mm at (100 mm, 100 mm), with clamps of 32 mm at its right and back edge, and another.

    Dogs of 19 mm are at the other's left and front.  Rows run along x: the cutter of 64 mm goes past the ends by its
    whole width, the shoe of 140 mm by some 38 mm more.
    """
    jobs = (f"machine low_shoe; {each}" for each in (at(100, 100), at(x, y)))
    machine = "machine low_shoe like bench_router { shoe 140mm across, 2mm above edge }\n"
    assert set(found_in(shop, machine + trays("", *jobs))) == expected


@pytest.mark.parametrize(("x", "y"), [(100, 420), (420, 180), (560, 100), (535, 175)])
def test_moved_as_far_as_the_message_says_all_keep_clear(shop: Path, x: int, y: int) -> None:
    errors = found_in(shop, trays("", at(100, 100), at(x, y)))
    said = [re.search(r"([\d.]+)mm further", text) for text in errors.values()]
    more = round(max(float(found[1]) for found in said if found) + 1)
    assert {} in [found_in(shop, trays("", at(100, 100), at(*place))) for place in ((x + more, y), (x, y + more))]


def test_only_panels_close_to_each_other_are_compared(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    compared: list[tuple[str, str]] = []
    plain = neighbours.nearest

    def counted(plan: Plan, other: Plan, names: tuple[str, ...]) -> neighbours.Meeting | None:
        compared.append((plan.work.name, other.work.name))
        return plain(plan, other, names)

    monkeypatch.setattr(neighbours, "nearest", counted)
    wide = "machine wide like bench_router { travel 6m x 6m x 160mm }\n"
    places = ((100, 100), (650, 100), (3000, 100))
    jobs = (f"machine wide; {at(*place)}" for place in places)
    (batch,) = read_text(shop, wide + trays("", *jobs)).batches
    assert work_out_batch(batch)[0] is not None
    # the third is out of the others' reach, for the cutter and for what rides above it
    assert set(compared) == {("tray_a", "tray_b"), ("tray_b", "tray_a")}


def test_a_panel_without_room_is_named(shop: Path) -> None:
    text = trays("from front_left at 120mm, 900mm", *["zero { z bed }"] * 3)
    (batch,) = read_text(shop, text).batches
    plan, findings = work_out_batch(batch)
    (found,) = [each for each in findings if each.severity == "error"]
    assert plan is None and found.code == "FW301" and "tray_c" in found.message and found.value and found.value > 1
    assert "past the back end of the Y travel" in found.message and "move `from` away from the back end" in found.help


def test_a_panel_too_large_for_the_travel_says_how_large_it_may_be(shop: Path) -> None:
    """As for a job alone: no place in the batch would help."""
    text = trays("from front_left at 120mm, 120mm", *["zero { z bed }"] * 2).replace("{ size 400mm", "{ size 1400mm", 1)
    (found,) = [each for each in work_out_batch(read_text(shop, text).batches[0])[1] if each.severity == "error"]
    assert found.code == "FW301" and found.message.startswith("tray_a: The panel is too large for the travel")
    assert "the largest panel is" in found.help


def test_panels_at_the_corner_of_their_recipe_are_marked_in_the_batch(shop: Path) -> None:
    front = read_text(shop, trays("", "zero { z bed }", "zero { z bed }"))
    (found,) = [each for each in work_out_batch(front.batches[0])[1] if each.severity == "error"]
    assert found.code == "FW503" and under(front, found) == "tray_b"


def outline(work: Work) -> BaseGeometry:
    """The panel in machine coordinates."""
    corner = work.job.zero.corner
    x = float(corner.x) - work.length * corner.corner.endswith("right")
    y = float(corner.y) - work.width * corner.corner.startswith("back")
    return box(x, y, x + work.length, y + work.width)


def holders(work: Work) -> Iterator[tuple[float, BaseGeometry]]:
    """The height and the area of each holder, in machine coordinates."""
    x0, y0, *_ = outline(work).bounds
    for each in work.holders:
        middle = Point(x0 + (each.x0 + each.x1) / 2, y0 + (each.y0 + each.y1) / 2)
        area = box(x0 + each.x0, y0 + each.y0, x0 + each.x1, y0 + each.y1)
        yield each.height, middle.buffer((each.x1 - each.x0) / 2, 64) if each.kind == "dog" else area


def swept(program: bytes, work: Work, below: float) -> list[tuple[LineString, bool]]:
    """The ways of the cutter's centre that go below a height, in machine coordinates, and whether each is a rapid."""
    zero = work.job.zero.corner
    return [
        (LineString([(x + float(zero.x), y + float(zero.y)) for x, y, _ in (step.start, step.end)]), step.rapid)
        for step in steps(program.decode())
        if min(step.start[2], step.end[2]) < below
    ]


@pytest.mark.parametrize("corner", ["front_left", "back_right"])
def test_they_are_laid_out_with_the_gap_and_no_more_than_needed(shop: Path, corner: str) -> None:
    start = "120mm, 120mm" if corner == "front_left" else "1200mm, 1200mm"
    text = trays(f"gap 70mm; from {corner} at {start}", *["zero { z bed }"] * 3)
    (batch,) = read_text(shop, text).batches
    plan, findings = work_out_batch(batch)
    assert plan is not None and not has_errors(findings)
    works = [each.work for each in plan.plans]
    whole = [box(*_around(work)) for work in works]
    for one, other in combinations(whole, 2):
        assert one.distance(other) >= 70.0 - 1e-6
    # the second is in the row of the first, at the gap to the next whole millimetre; the third starts another row
    assert whole[0].distance(whole[1]) < 71.0
    assert works[2].job.zero.corner.x == works[0].job.zero.corner.x


def _around(work: Work) -> tuple[float, float, float, float]:
    """The box round a panel and its holders."""
    boxes = [outline(work).bounds, *(area.bounds for _, area in holders(work))]
    return min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes)


# -- programs ----------------------------------------------------------------------------------------------------


def test_the_example_is_proven_and_quicker_than_its_jobs_alone() -> None:
    batch, built = example_batch()
    assert (
        built.plan is not None and not has_errors(built.findings) and list(built.programs) == ["first.nc", "second.nc"]
    )
    assert (
        len({(work.length, work.width) for work in batch.works}) == 2
        and len({work.wood.name for work in batch.works}) == 2
    )
    for panel in built.panels:
        assert set(panel.proofs) == set(FACES) and not any(proof.collisions for proof in panel.proofs.values())
    alone = [work_out(work)[0] for work in batch.works]
    controller = batch.works[0].machine.controller
    for face, text in zip(built.plan.faces, built.programs.values(), strict=True):
        program = text.decode()
        assert len(re.findall(r"^S\d+ M3$", program, re.M)) == len(re.findall(r"^M5$", program, re.M)) == 1
        # each panel is visited once
        assert sorted(re.findall(r"panel \d of 4: (\w+)", program)) == sorted(work.name for work in batch.works)
        by_themselves = sum(setup.time for plan in alone if plan for setup in plan.setups if setup.face == face.face)
        # a start, a stop before parking and a rise are saved for each panel but one; the ways between cost less
        starts = 3 * 2 * float(controller.spin_up)
        assert face.time < by_themselves - starts + 3 * 5.0


@pytest.mark.parametrize("face", [0, 1])
def test_the_cutter_keeps_clear_of_the_other_panels_by_shapely(face: int) -> None:
    _, built = example_batch()
    assert built.plan is not None
    program, first = list(built.programs.values())[face], built.plan.plans[0].work
    radius, rule = float(first.cutter.diameter) / 2, first.rules.clearance
    ways = swept(program, first, 60.0)
    plans = built.plan.plans
    assert len(ways) > 100
    for line, rapid in ways:
        area = box(*line.bounds) if rapid and line.length else line
        over = [plan for plan in plans if outline(plan.work).distance(area) < radius]
        # so low, the cutter is at one panel at most, and at its clearance from all others
        assert len(over) <= 1
        for plan in plans:
            assert plan in over or outline(plan.work).distance(area) >= radius + rule - 1e-6


@cache
def lines_of(face: int) -> list[str]:
    return list(example_batch()[1].programs.values())[face].decode().splitlines()


def judged(lines: list[str], face: int) -> set[str]:
    built = example_batch()[1]
    assert built.plan is not None
    _, findings = verify_batch(("\n".join(lines) + "\n").encode(), built.plan, built.plan.faces[face])
    return {finding.code for finding in findings if finding.severity == "error"}


def parts(lines: list[str]) -> list[int]:
    """Where the part of each panel begins, and where the last ends."""
    return [k for k, line in enumerate(lines) if line.startswith("(panel ")] + [lines.index("M5") - 1]


@pytest.mark.parametrize("face", [0, 1])
def test_the_program_itself_is_good(face: int) -> None:
    assert not judged(lines_of(face), face)


@pytest.mark.parametrize("face", [0, 1])
@pytest.mark.parametrize("panel", range(4))
def test_a_missing_panel_is_refused(face: int, panel: int) -> None:
    lines, begins = lines_of(face), parts(lines_of(face))
    rest = [*lines[: begins[panel]], *lines[begins[panel + 1] :]]
    assert "FW904" in judged(rest, face)


def test_two_panels_exchanged_are_refused() -> None:
    """The parts of two panels of unlike sizes stand under each other's names."""
    lines, begins = lines_of(0), parts(lines_of(0))
    (_, *one), (_, *other) = (lines[begins[k] : begins[k + 1]] for k in (0, 1))
    middle = [lines[begins[0]], *other, lines[begins[1]], *one]
    assert judged([*lines[: begins[0]], *middle, *lines[begins[2] :]], 0) & {"FW902", "FW904"}


def rows(lines: list[str], low: int, high: int) -> list[int]:
    """The lines of a part that go along X alone at feed, in its last pass."""
    last = max(k for k in range(low, high) if "pass" in lines[k])
    return [k for k in range(last, high) if re.fullmatch(r"X[\d.-]+( F\d+)?", lines[k])]


@pytest.mark.parametrize("panel", range(4))
def test_a_row_into_the_neighbour_is_refused(panel: int) -> None:
    """Every panel has another beside it along x, some 100 mm away."""
    lines, begins = list(lines_of(0)), parts(lines_of(0))
    found = rows(lines, begins[panel], begins[panel + 1])
    places = [float(re.match(r"X([\d.-]+)", lines[k])[1]) for k in found]  # type: ignore[index]
    further = max(range(len(found)), key=lambda n: places[n])
    nearer = min(range(len(found)), key=lambda n: places[n])
    refused = set()
    for n, by in ((further, 150.0), (nearer, -150.0)):
        spoiled = list(lines)
        spoiled[found[n]] = spoiled[found[n]].replace(f"X{places[n]}", f"X{places[n] + by}")
        refused |= judged(spoiled, 0)
    assert "FW903" in refused


def test_a_rapid_through_a_neighbour_is_refused() -> None:
    lines, begins = list(lines_of(0)), parts(lines_of(0))
    for panel in range(3):
        spoiled = list(lines)
        # the way up before the next panel is left out
        up = max(k for k in range(begins[panel + 1]) if re.search(r"Z\d", lines[k]))
        assert lines[up].startswith("G0 Z")
        del spoiled[up]
        assert judged(spoiled, 0) & {"FW902", "FW903"}


def test_a_whole_panel_cut_at_the_place_of_another_is_refused() -> None:
    lines, begins = list(lines_of(0)), parts(lines_of(0))
    twice = [*lines[: begins[1]], *lines[begins[0] : begins[1]], *lines[begins[2] :]]
    assert "FW904" in judged(twice, 0)


def test_heights_of_another_panel_are_refused() -> None:
    """The second panel cut 0.2 mm lower than planned."""
    lines, begins = list(lines_of(1)), parts(lines_of(1))
    for k in range(begins[1], begins[2]):
        lines[k] = re.sub(r"^G1 Z([\d.]+)", lambda found: f"G1 Z{float(found[1]) - 0.2:.3f}", lines[k])
    assert "FW902" in judged(lines, 1)


@pytest.mark.parametrize(
    ("old", "new"),
    [(f"batch {BATCH}", "batch other"), (f"batch {BATCH}", "job bread_tray"), ("front_left", "back_right")],
)
def test_another_header_is_refused(old: str, new: str) -> None:
    assert "FW902" in judged([line.replace(old, new) for line in lines_of(0)], 0)


# -- random batches ----------------------------------------------------------------------------------------------


def built_of(shop: Path, seed: int) -> tuple[BatchWork, BuiltBatch]:
    path = shop / "jobs" / "random.flat"
    path.write_text(write_batch(seed), encoding="utf-8")
    front = read_works([path])
    assert not has_errors(front.findings), (seed, front.findings)
    (batch,) = front.batches
    return batch, build_batch(batch)


def test_random_batches_verify(shop: Path) -> None:
    """What the checks accept is proven; where a batch lays its panels out, none is in another's way."""
    accepted, seeds = 0, 500 if NIGHTLY else 2
    for seed in range(seeds):
        batch, built = built_of(shop, seed)
        errors = {finding.code for finding in built.findings if finding.severity == "error"}
        assert not any(code >= "FW9" for code in errors), (seed, built.findings)
        assert batch.start is None or not errors & {"FW501", "FW503", "FW304"}, (seed, built.findings)
        accepted += bool(built.programs)
    assert accepted >= 0.4 * seeds
