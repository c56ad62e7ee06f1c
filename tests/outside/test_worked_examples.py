"""Whole jobs against hand calculations from the job's text alone: planes, rows, feed, power, zero, turning.

The calculation stands beside each figure.  Feed n·z·f_z and removal a_e·a_p·v_f are the trade's (second-hand); rim
speed π·D·n, trapezoids of speed and the rest are closed forms.  The program's words follow NISTIR 6556 (2000).
"""

from __future__ import annotations

import re
from math import ceil, floor, pi
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from scipy.interpolate import RegularGridInterpolator

from flatwise.pipeline import read_works, write_programs
from flatwise.report.summary import summary

PLACES = {
    "front_left": (0, 0),
    "front": (1, 0),
    "front_right": (2, 0),
    "left": (0, 1),
    "centre": (1, 1),
    "right": (2, 1),
    "back_left": (0, 2),
    "back": (1, 2),
    "back_right": (2, 2),
}
PLAIN = {
    "machine": "bench_router",
    "standard": "solid_tops",
    "stock": "{ size 900mm x 500mm x 32mm; wood ash; grain along x }",
    "hold": "{ dog low_dog left at 25%, 75%; dog low_dog front at 15%, 85%\n"
    "clamp side_cam right at 50%; clamp side_cam back at 20%, 80% }",
    "zero": "{ corner front_left at 120mm, 120mm; z top by paper 0.05mm }",
    "cut": "{ cutter fly_64; stepover 65%; depth 0.5mm; finish 0.2mm; overrun 6mm; speed 14000rpm }",
    "faces": "{ first until clean; second to 29mm +/- 0.5mm; flip over long_edge }",
}
CORNERS = ("front_left", "front_right", "back_left", "back_right")
FLAT = "twist 0mm; cup 0mm crown; bow 0mm crown"
TOUCHING = "gap front 0mm, back 0mm, left 0mm, right 0mm"
#: 0.02 mm in 200 mm over half the diameter, and `bed flat within 0.08mm`
LEAN, BED = 32 * 0.0001, 0.08


def error_growth(read: list[str], *, arches: bool = True) -> np.ndarray:
    """(169,) by how much the errors of readings, all at their worst, grow in a net of 13 × 13 places over the panel.

    A bilinear form with an arch along and across goes through the readings by numpy's least squares.
    """

    def terms(u: np.ndarray, v: np.ndarray) -> np.ndarray:
        whole = np.column_stack((np.ones_like(u), u, v, u * v, u * (1 - u), v * (1 - v)))
        return whole if arches else whole[:, :4]

    at = np.array([PLACES[name] for name in read]) / 2.0
    u, v = (part.ravel() for part in np.meshgrid(np.linspace(0, 1, 13), np.linspace(0, 1, 13)))
    solved = np.linalg.lstsq(terms(at[:, 0], at[:, 1]), np.eye(len(read)), rcond=None)[0]
    moved = terms(u, v) @ solved
    # a forecast from one reading takes the shape from the fit and the height from that reading
    own = terms(at[:, 0], at[:, 1]) @ solved
    ways = [np.maximum(1.0, np.abs(moved).sum(axis=1))]
    for k in range(len(read)):
        ways.append(np.abs(moved - own[k] + np.eye(len(read))[k]).sum(axis=1))
    return np.min(ways, axis=0)


#: how errors grow in a thickness known from nine readings; the lower face lies flat on the bed and can't be lower
OF_THICKNESS = error_growth(list(PLACES))
ALLOWED = 0.2 * 0.05 + BED + LEAN
CLEAN = 32 - 0.05 * OF_THICKNESS.max() - ALLOWED


def near(growth: np.ndarray, x: float, y: float, size: tuple[float, float] = (900, 500), reach: float = 42) -> float:
    """The largest value of a net over a panel within a reach around a place, mm: the cutter's radius and 10 mm."""
    net = np.linspace(0, 1, 13)
    found = RegularGridInterpolator((net, net), growth.reshape(13, 13))
    angle, far = (part.ravel() for part in np.meshgrid(np.linspace(0, 2 * np.pi, 73), np.linspace(0, reach, 43)))
    u, v = (x + far * np.cos(angle)) / size[0], (y + far * np.sin(angle)) / size[1]
    inside = (u >= 0) & (u <= 1) & (v >= 0) & (v <= 1)
    return float(found(np.column_stack((v, u))[inside]).max())


def survey(thick: Any = 32.0, more: str = f"{TOUCHING}; {FLAT}", unit: str = "mm", within: str = "0.05mm") -> str:
    """A survey with thickness readings at all nine places: one figure, or a function of the place's steps (0 to 2)."""
    read = {name: thick(*at) if callable(thick) else thick for name, at in PLACES.items()}
    listed = ", ".join(f"{name} {value:g}{unit}" for name, value in read.items())
    return f"{{ thickness {listed}\n{more}\nwithin {within} }}"


class Done:
    """A built job: its summary and the moves of its programs."""

    def __init__(self, shop: Path, declared: str = "", uses: str = "shop", **blocks: str) -> None:
        path = shop / "jobs" / "example.flat"
        fields = {**PLAIN, "survey": survey(), **blocks}
        body = "\n".join(f"{word} {text}" for word, text in fields.items() if text)
        path.write_text(f'use "../shared/{uses}.flat"\n{declared}\njob example {{\n{body}\n}}\n')
        front = read_works([path])
        assert not front.findings, [str(one) for one in front.findings]
        built = write_programs(front.works[0])
        assert not [one for one in built.findings if one.severity == "error"], [str(one) for one in built.findings]
        self.found = summary(built)
        self.programs = {name: text.decode("ascii") for name, text in built.programs.items()}
        self.first = self.found["setups"][0]
        self.second = self.found["setups"][-1]

    def moves(self, face: str = "first") -> list[tuple[bool, dict[str, float], dict[str, float]]]:
        """Whether it feeds, its start and its end, for every move in the work offset, in the program's units."""
        at: dict[str, float] = {}
        feeds, found = False, []
        for line in self.programs[f"{face}.nc"].splitlines():
            line = re.sub(r"\([^()]*\)", "", line)
            words = {letter: float(value) for letter, value in re.findall(r"([XYZ])(-?[\d.]+)", line)}
            feeds = "G1" in line.split() or (feeds and "G0" not in line.split())
            if not words or "G53" in line:
                continue
            found.append((feeds, dict(at), {**at, **words}))
            at.update(words)
        return found

    def reached(self, letter: str, face: str = "first") -> list[float]:
        """The values that an axis reaches, ascending."""
        return sorted({to[letter] for _, _, to in self.moves(face) if letter in to})

    def rows(self, z: float, face: str, across: str) -> list[float]:
        """The places across the rows where the cutter feeds along a row at one height."""
        along = "XY".replace(across, "")
        return sorted(
            {
                to[across]
                for feeds, at, to in self.moves(face)
                if feeds and abs(to["Z"] - z) < 1e-6 and abs(to[along] - at[along]) > 1.0
            }
        )


@pytest.mark.parametrize(
    ("z", "paper", "plus_minus"),
    [
        ("top by paper 0.05mm", 0.05, 0.2 * 0.05 + BED + LEAN + 0.02),
        ("top", 0.0, BED + LEAN + 0.02),
        ("bed by paper 0.05mm", 0.05, 0.2 * 0.05 + BED + LEAN + 0.02),
        ("bed", 0.0, BED + LEAN + 0.02),
    ],
)
def test_planes_zero_and_tolerance_of_a_flat_panel(shop: Path, z: str, paper: float, plus_minus: float) -> None:
    done = Done(shop, zero=f"{{ corner front_left at 120mm, 120mm; z {z} }}")
    # until clean, down to the last digit
    plane = floor((32 - 0.05 * OF_THICKNESS.max() - 0.2 * paper - BED - LEAN) * 1000) / 1000
    assert done.first["plane"] == pytest.approx(plane, abs=1e-6)
    if z.startswith("top"):
        # both faces are touched at one place on the outline, where the thickness is known best
        plus_minus += 0.05 * near(OF_THICKNESS, *done.first["zero"]["touch_at"])
    assert done.found["thickness"]["plus_minus"] == pytest.approx(plus_minus, abs=1e-3)
    # program Z = height - (height of the touched place + paper)
    touched = {"first": 32.0, "second": plane} if z.startswith("top") else {"first": 0.0, "second": 0.0}
    assert done.reached("Z")[0] == pytest.approx(plane - touched["first"] - paper, abs=1e-6)
    assert done.reached("Z", "second")[0] == pytest.approx(29 - touched["second"] - paper, abs=1e-6)
    # from the last plane upward: the finish pass, then full depths
    steps = [one["depth"] for one in done.second["passes"]]
    assert steps[-1] == pytest.approx(0.2) and steps[-2] == steps[-3] == pytest.approx(0.5)


@pytest.mark.parametrize("corner", ["front_left", "front_right", "back_left", "back_right"])
def test_rows_from_each_corner(shop: Path, corner: str) -> None:
    x, y = (900 if "right" in corner else 0), (500 if "back" in corner else 0)
    done = Done(shop, zero=f"{{ corner {corner} at {120 + x}mm, {120 + y}mm; z bed }}")
    # first and last centres at 250 -/+ (250 + 6 - 32); 448 mm in steps of at most 41.6 mm: eleven of 40.727 mm
    rows = [26 + 448 / ceil(448 / (0.65 * 64)) * i - y for i in range(12)]
    assert done.reached("Y") == pytest.approx(rows, abs=6e-4)
    # at the ends the centre goes 32 + 6 mm past
    assert (done.reached("X")[0], done.reached("X")[-1]) == pytest.approx((-38 - x, 938 - x))
    assert done.first["ridge"] == pytest.approx(448 / 11 * 0.0001, abs=1e-5)
    # 12 rows of 976 mm at 133.3 mm/s and 11 steps over, each from and to a stand at 500 mm/s2: 97.3 s, and coming down
    assert 97.3 < done.second["passes"][-1]["time"] < 103


def test_speed_feed_chip_rim_and_power(shop: Path) -> None:
    done = Done(shop)
    assert (done.second["feed"], done.second["feed_limit"]) == (8000, "machine")  # 14000 x 3 x 0.30 = 12600 > 8000
    assert done.second["chip_load"] == pytest.approx(8000 / (14000 * 3), abs=1e-4)
    assert done.second["rim_speed"] == pytest.approx(pi * 0.064 * 14000 / 60, abs=0.01)
    # the widest bite is the first row's, 64 - 6 mm; 58 x 0.5 x 8000 / 60 mm3/s x 45 N/mm2
    power = 58 * 0.5 * 8000 / 60 * 45 / 1000
    assert done.second["power"] == pytest.approx(power, abs=0.1)
    # 12 % of 2200 W x 14000 / 24000, down to 10 mm/min
    strict = Done(shop, "standard thrifty like solid_tops { power at most 12% }", standard="thrifty")
    assert strict.second["feed"] == floor(0.12 * 2200 * 14 / 24 * 8000 / power / 10) * 10
    assert strict.second["feed_limit"] == "power"


def test_a_tapered_panel_is_touched_taken_and_balanced(shop: Path) -> None:
    taper = survey(lambda i, j: 32 + i / 2)  # 1 mm thicker at the right end, the lower face flat on the bed
    clean = (np.tile(32 + np.linspace(0, 1, 13), 13) - 0.05 * OF_THICKNESS).min() - ALLOWED
    for faces, plane in (
        ("first until clean; second to 29mm", floor(clean * 1000) / 1000),
        ("first take 2mm; second to 29mm", 33 - 2.0),
        ("first balanced; second to 29mm", 32.5 - (32.5 - 29) / 2),
    ):
        done = Done(shop, survey=taper, faces=f"{{ {faces}; flip over long_edge }}")
        assert done.first["plane"] == pytest.approx(plane, abs=1e-6)
        # heights count from the highest point of the top under the wings, 32 mm to the right of the touched place
        touched = 32 + min(done.first["zero"]["touch_at"][0] + 32, 900) / 900
        assert done.reached("Z")[0] == pytest.approx(plane - touched - 0.05, abs=1.5e-3)


def test_an_inch_job(shop: Path) -> None:
    done = Done(
        shop,
        uses="inch_shop",
        machine="long_router",
        standard="inch_tops",
        stock="{ size 36in x 12in x 1 1/4in; wood walnut; grain along x }",
        survey=survey(1.25, f"gap front 0in, back 0in, left 0in, right 0in; {FLAT}", "in", "0.002in"),
        hold="{ dog pin_dog left at 3in, 9in; dog pin_dog front at 6in, 30in\n"
        "clamp wedge_clamp right at 50%; clamp wedge_clamp back at 20%, 80% }",
        zero="{ corner front_left at 4in, 6in; z top by paper 0.003in }",
        cut="{ cutter slab_2in; rough same; stepover 60%; depth 0.018in; overrun 1/4in }",
        faces="{ first until clean; second to 1 3/16in +/- 18thou; flip over long_edge }",
    )
    # 1.25 - 0.002 for each reading - 0.2 x 0.003 - 0.003 - 1 x 0.0005 / 8, down to the fourth decimal
    plane = floor((1.25 - 0.002 * OF_THICKNESS.max() - 0.0006 - 0.003 - 0.0005 / 8) * 1e4) / 1e4
    assert done.first["plane"] == pytest.approx(plane * 25.4, abs=1e-4)
    assert done.reached("Z")[0] == pytest.approx(plane - 1.25 - 0.003, abs=1e-6)
    assert (done.reached("X")[0], done.reached("X")[-1]) == pytest.approx((-1.25, 37.25))
    assert (done.reached("Y")[0], done.reached("Y")[-1]) == pytest.approx((0.75, 11.25))
    known = near(OF_THICKNESS, *done.first["zero"]["touch_at"], (36 * 25.4, 12 * 25.4), 25.4 + 10)
    assert done.found["thickness"]["plus_minus"] == pytest.approx(
        25.4 * (0.0006 + 0.002 * known + 0.003 + 0.0000625 + 0.001), abs=1e-3
    )
    # 300 in/min with two wings and at most 0.012 in each: 300 / (2 x 0.012) = 12500 rpm, less than both top speeds
    assert (done.first["feed"], done.first["speed"]) == (7620, 12_500)
    assert done.first["chip_load"] == pytest.approx(0.012 * 25.4, abs=1e-4)


@pytest.mark.parametrize(("way", "climbs"), [(" climb", True), (" conventional", False), ("", False)])
def test_the_uncut_side_of_rows_that_are_cut_one_way(shop: Path, way: str, climbs: bool) -> None:
    """M3 turns clockwise seen from above: fed to +X, teeth on the -Y side move against the feed, which is climb."""
    done = Done(shop, cut=f"{{ cutter fly_64; rows along grain, one_way{way}; depth 0.5mm }}")
    last = done.reached("Z", "second")[0]
    cuts = [
        (to["X"] > at["X"], to["Y"])
        for feeds, at, to in done.moves("second")
        if feeds and abs(to["Z"] - last) < 1e-6 and abs(to["X"] - at["X"]) > 500
    ]
    (to_the_right,) = {right for right, _ in cuts}
    away = [y for _, y in cuts]
    assert away == sorted(away) or away == sorted(away, reverse=True)
    uncut_on_the_left = (away[1] > away[0]) == to_the_right
    assert uncut_on_the_left != climbs


@pytest.mark.parametrize("flip", ["long_edge", "short_edge"])
@pytest.mark.parametrize("wide", [False, True])
def test_the_panel_is_turned_about_the_named_edge(shop: Path, flip: str, wide: bool) -> None:
    """The lower face is 0.3 mm high beyond 375 mm, so after a cut at 31 mm the turned panel stands 30.7 mm there.

    The pass that leaves 30.9 mm cuts the other boards only: the long edge turns the step to the near side (about X
    where the length is the longer, about Y where the width is), the short edge leaves it where it is.
    """
    axis, ends = ("x", ("front_right", "right", "back_right")) if wide else ("y", ("back_left", "back", "back_right"))
    size = "500mm x 900mm" if wide else "900mm x 500mm"
    line = 2 if axis == "y" else 1
    done = Done(
        shop,
        stock=f"{{ size {size} x 32mm; wood ash; grain along {'y' if wide else 'x'}; glue_lines {axis} 375mm }}",
        survey=survey(
            lambda i, j: 31.7 if (i, j)[line - 1] == 2 else 32.0, f"{FLAT}; step under 0.3mm at {axis} 375mm"
        ),
        supports="{ " + "; ".join(f"shim 0.3mm under {end}" for end in ends) + " }",
        zero="{ corner front_left at 120mm, 120mm; z bed }",
        cut=PLAIN["cut"].replace("stepover", "rough same; stepover"),
        faces=f"{{ first to 31mm; second to 29.7mm; flip over {flip} }}",
    )
    assert (done.second["highest"], done.second["lowest"]) == pytest.approx((31.0, 30.7))
    rows = done.rows(30.9, "second", axis.upper())
    if flip == "long_edge":  # wood from 125 mm on: rows reach it with 32 mm of radius
        assert rows[0] > 125 - 32 - 1e-6 and rows[-1] == pytest.approx(474)
    else:
        assert rows[0] == pytest.approx(26) and rows[-1] < 375 + 32 + 1e-6


def test_a_twisted_panel_on_leaves(shop: Path) -> None:
    """0.6 mm of twist: level between its diagonals the slab loses 0.3 mm a face: 31.7 mm of 32 left, within 0.05."""
    twisted = survey(more="twist 0.6mm; cup 0mm crown; bow 0mm crown")
    done = Done(shop, survey=twisted, supports="{ shims leaf_set under corners; aim least_removal }")
    shims = done.found["seating"]["shims"]
    assert sorted(one["place"] for one in shims) == ["back_right", "front_left"]
    assert all(one["height"] + one["gap_left"] == pytest.approx(0.3, abs=0.05) for one in shims)
    assert done.found["seating"]["most_thickness"] == pytest.approx(31.7, abs=0.05)
    assert done.found["free_shape"] == {"twist": 0.6, "cup": 0.0, "bow": 0.0}


@pytest.mark.parametrize("step", ["0.3mm at y 375mm lower", "0.3mm lower at y 375mm"])
def test_a_step_down_may_be_given_from_either_side_of_its_line(shop: Path, step: str) -> None:
    done = Done(
        shop,
        stock="{ size 900mm x 500mm x 32mm; wood ash; grain along x; glue_lines y 125mm, 375mm }",
        survey=survey(lambda i, j: 31.7 if j == 2 else 32.0, f"{TOUCHING}; {FLAT}; step {step}"),
    )
    assert (done.first["highest"], done.first["lowest"]) == pytest.approx((32.0, 31.7))
    # the boards beyond the line stand 0.3 mm lower
    low = 32 - 0.3 * (np.repeat(np.linspace(0, 1, 13), 13) >= 0.75)
    clean = (low - 0.05 * OF_THICKNESS).min() - ALLOWED
    assert done.first["plane"] == pytest.approx(floor(clean * 1000) / 1000, abs=2e-3)


def test_a_shape_that_no_reading_shows_is_added_to_the_uncertainty(shop: Path) -> None:
    # thickness at the corners alone: cup 0.5 mm/m x 0.5 m and bow 0.5 mm/m x 0.9 m
    corners = "{ thickness front_left 32mm, front_right 32mm, back_left 32mm, back_right 32mm; "
    done = Done(shop, survey=f"{corners}{TOUCHING}; twist 0mm; within 0.05mm }}", faces="{ first until clean }")
    grown = error_growth(list(CORNERS), arches=False)
    clean = 32 - 0.05 * grown.max() - ALLOWED - 0.25 - 0.45
    assert done.first["plane"] == pytest.approx(floor(clean * 1000) / 1000, abs=1e-3)
    assert {one["code"] for one in done.found["warnings"]} >= {"FW205"}


@pytest.mark.parametrize(
    ("controller", "first", "lacks"),
    [
        ("offset G59.3; dwell milliseconds", r"(?ms)^G59\.3$.*^G4 P4000", "G57"),
        ("spin_up 2.5s; ending M2", r"(?ms)^G4 P2\.5$.*^M2\s*\Z", "M30"),
        ("extraction by hand", r"(?ms)^M0$.*M3", "M8"),
        ("units in; decimals 4", r"(?ms)G20.*^X-1\.4961", "G21"),  # -38 mm
    ],
)
def test_the_words_for_each_controller(shop: Path, controller: str, first: str, lacks: str) -> None:
    done = Done(shop, f"machine other like bench_router {{ controller {{ {controller} }} }}", machine="other")
    bare = re.sub(r"\([^()]*\)", "", done.programs["first.nc"])
    assert re.search(first, bare), bare
    assert lacks not in bare
    # the machine's top at the start and before parking
    assert len(re.findall(r"(?m)^G53 G0 Z0", bare)) == 2


def test_the_spoilboard_is_cut_from_its_own_top(shop: Path) -> None:
    done = Done(
        shop,
        standard="",
        survey="",
        hold="",
        stock="bed { size 1000mm x 800mm x 18mm; grain along x }",
        zero="{ corner front_left at 100mm, 100mm; z top by paper 0.05mm }",
        cut="{ cutter fly_64; stepover 65%; depth 0.4mm; speed 14000rpm }",
        faces="{ first take 0.4mm }",
    )
    assert done.first["plane"] == pytest.approx(-0.4) and done.reached("Z")[0] == pytest.approx(-0.45)
