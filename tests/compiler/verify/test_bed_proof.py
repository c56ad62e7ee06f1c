"""The proof of a batch's program: what is wrong with it as a whole, and one panel a little too near to another.

The distances are from the numbers of the example batch, written out here.
"""

from __future__ import annotations

import random
import re
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
from compiler.reading import read_text
from compiler.verify.verify_programs import work
from example_jobs import example_batch
from shapely import LineString, MultiPoint, Polygon, box

from flatwise.core.finding import has_errors
from flatwise.model.stages import Work
from flatwise.pipeline import build_batch
from flatwise.verify import verify_batch
from flatwise.verify.bed_proof import owners_of
from flatwise.verify.interpreter import Location, Move
from flatwise.verify.rs274 import ProgramLine


@cache
def program() -> str:
    return example_batch()[1].programs["first.nc"].decode()


def judged(text: str) -> list[str]:
    """The codes and messages of errors."""
    plan = example_batch()[1].plan
    assert plan is not None
    _, found = verify_batch(text.encode(), plan, plan.faces[0])
    return [f"{each.code} {each.message}" for each in found if each.severity == "error"]


def swapped(old: str, new: str) -> str:
    """The program with the first match of a pattern replaced, which there must be."""
    text, count = re.subn(old, new, program(), count=1)
    assert count
    return text


@pytest.mark.parametrize(
    ("old", "new", "code", "said"),
    [
        ("\nG1 Z", "\nG2 Z", "FW901", "G2 is outside"),
        ("\nM30", "\nM30\nG0 Z0.0", "FW902", "goes on after its end"),
        (r"(?s)^(.*)\nM5\n.*", r"%\n\1\n%\n", "FW903", "ends with the spindle turning"),
        ("\nG4 P4.0\nG0", "\nG4 P3.0\nG0", "FW903", "after a dwell of 3s"),
        ("\nM8", "\nM0", "FW902", "with the dust extraction off"),
        ("\nX", "\n/X", "FW902", "a program of a batch has no such lines"),
        # the highest panel may stand 22.524 mm high, and the machine's lift is 50 mm
        (r"\nG0 Z72\.524\n", "\nG0 Z72.522\n", "FW902", "with the machine's lift of 50mm it must be at least 72.52"),
        (" G61 ", " G64 ", "FW902", "may round its corners (G64)"),
        # the zero lies at machine X 80, Y 80
        ("\nX-37.0 Y418.0", "\nX-80.002 Y418.0", "FW902", "goes to machine X -0.002mm, outside the travel"),
        ("\nX-37.0 Y418.0", "\nX-37.0 Y-80.002", "FW902", "goes to machine Y -0.002mm, outside the travel"),
        ("\nG53 G0 X0.0 Y1300.0", "\nG53 G0 X-1.0 Y1300.0", "FW902", "goes to machine X -1mm, outside the travel"),
    ],
)
def test_what_is_wrong_with_the_program_as_a_whole(old: str, new: str, code: str, said: str) -> None:
    found = judged(swapped(old, new))
    assert any(each.startswith(code) and said in each for each in found), found


def test_a_thousandth_below_the_plane_is_found() -> None:
    """The machine's last digit is a thousandth of a millimetre."""
    lowest = min(re.findall(r"\nG1 Z([\d.]+)", program()), key=float)
    for by, found in ((0.001, True), (0.0005, False)):
        lower = swapped(rf"\nG1 Z{lowest} ", f"\nG1 Z{float(lowest) - by:.4f} ")
        assert any("below the planned plane" in each for each in judged(lower)) == found


def outline(work: Work) -> Polygon:
    """A panel in program X and Y, by the machine X and Y of its corner and of the zero's, both front left."""
    x, y = (float(value) - 80.0 for value in (work.job.zero.corner.x, work.job.zero.corner.y))
    return box(x, y, x + work.length, y + work.width)


@pytest.mark.parametrize("axis", [0, 1])
@pytest.mark.parametrize("number", range(4))
def test_the_cutter_keeps_its_clearance_from_the_panel_beside_it(number: int, axis: int) -> None:
    """From a row of the last pass the cutter goes on towards the next panel: to 2.005 mm from it, and to 1.995 mm."""
    plan = example_batch()[1].plan
    assert plan is not None
    works = {each.work.name: each.work for each in plan.plans}
    name, part = re.findall(r"\(panel \d of 4: (\w+)\)\n((?s:.)*?)(?=\(panel|G53)", program())[number]
    *_, passed = part.split("(pass")
    own, others = outline(works[name]), [outline(work) for work in works.values() if work.name != name]
    towards = sum(other.centroid.coords[0][axis] for other in others) / 3 - own.centroid.coords[0][axis]
    way = 1.0 if towards > 0 else -1.0
    ends = re.findall(r"\nY([\d.-]+)\nX([\d.-]+)(?=\n)", passed)
    y, x = next((y, x) for y, x in ends if axis or (float(x) - own.centroid.x) * way > 0)
    for gap, meets in ((2.005, False), (1.995, True)):
        low, high = 0.0, 500.0  # further along the axis, by halving
        while high - low > 1e-5:
            middle = (low + high) / 2
            to = float(x) + way * middle * (not axis), float(y) + way * middle * axis
            near = min(other.distance(LineString([(float(x), float(y)), to])) for other in others) - 32.0 < gap
            low, high = (low, middle) if near else (middle, high)
        assert 0.0 < low < 400.0
        along, across = (f"X{float(x) + way * low:.4f}", f"X{x}"), (f"Y{float(y) + way * low:.4f}", f"Y{y}")
        spoilt = passed.replace(f"\nX{x}\n", "\n".join(("", f"X{x}", *(along, across)[axis], "")), 1)
        found = judged(program().replace(part, part.replace(passed, spoilt)))
        assert any("passes the panel" in each for each in found) == meets, found
        assert all(each.startswith(f"FW903 At {name}, line ") for each in found if each.startswith("FW903")) and (
            meets or not any(each.startswith("FW903") for each in found)
        )


@pytest.mark.parametrize("corner", ["front_left", "front_right", "back_left", "back_right"])
def test_panels_of_two_sizes_are_proven_with_their_zero_at_any_corner(shop: Path, corner: str) -> None:
    start = f"{1200 if 'right' in corner else 120}mm, {1200 if 'back' in corner else 120}mm"
    jobs = [
        f"job {name} from plain_top {{ stock {{ size {size} x 32mm; wood ash; grain along x }}; zero {{ z bed }} }}"
        for name, size in (("tray_a", "300mm x 200mm"), ("tray_b", "200mm x 250mm"))
    ]
    text = "\n".join([*jobs, f"batch trays {{ jobs tray_a, tray_b; from {corner} at {start} }}"])
    built = build_batch(read_text(shop, text).batches[0])
    assert built.programs and not has_errors(built.findings)
    assert all(proof.left_above_plane == 0.0 for panel in built.panels for proof in panel.proofs.values())


@pytest.mark.parametrize("seed", range(20))
def test_moves_belong_to_the_panel_that_the_box_round_them_covers_most(seed: int) -> None:
    """By shapely; where it covers none, to the nearest.  Rapids count only where there is no move at feed."""
    chance = random.Random(seed)
    line = ProgramLine(1, 0, 1, ())
    panels = [(work(300.0, 200.0), (0.0, 0.0)), (work(500.0, 100.0), (350.0, 0.0)), (work(200.0, 300.0), (0.0, 250.0))]
    areas = [box(x, y, x + of.length, y + of.width) for of, (x, y) in panels]

    def move(a: Location, b: Location, rapid: bool) -> Move:
        return Move(line, rapid, a, b, 100.0, 9000.0, 3, 4.0, 4.0, frozenset(), False)

    def place(z: float | None) -> Location:
        return chance.uniform(-100.0, 900.0), chance.uniform(-100.0, 600.0), z

    at = [place(20.0) for _ in range(chance.choice((2, 3)))]
    rapids = chance.random() < 0.3
    cuts = [move(a, b, rapids) for a, b in pairwise(at)]
    low, off = move(at[-1], place(20.0), True), move((None, None, 20.0), place(20.0), False)
    high, unknown = move(place(20.0), place(51.0), True), move(place(None), place(None), True)
    whole = [*cuts, *([low] if not rapids else [])]
    corners = MultiPoint([each[:2] for each in at]).bounds
    swept = box(corners[0] - 32.0, corners[1] - 32.0, corners[2] + 32.0, corners[3] + 32.0)
    shares = [area.intersection(swept).area for area in areas]
    wanted = shares.index(max(shares)) if max(shares) > 0 else None
    level = move(place(50.0), place(50.0), False)
    found = owners_of([level, *whole, level, off, level, unknown, level, high], panels, 32.0, 50.0)
    assert wanted is None or found[1 : 1 + len(whole)] == [wanted] * len(whole)
    rest = found[1 + len(whole) :]
    assert found[0] is None and rest[0] is None and rest[1] is None and rest[2] is None and rest[4] is None
    assert rest[3] is not None and rest[5] is not None
    beside = [move((x, y, 20.0), (x, y, 10.0), False) for x, y in ((420.0, 160.0), (330.0, 230.0), (-40.0, 320.0))]
    assert [owners_of([each], panels, 5.0, 50.0) for each in beside] == [[1], [0], [2]]
