"""Every strip that is left is found, however narrow; rows that just meet leave nothing."""

from __future__ import annotations

from math import cos, radians, sin

import pytest
from compiler.shop import cutter, q
from compiler.verify.verify_programs import (
    HIGH,
    LENGTH,
    RADIUS,
    WIDTH,
    Row,
    codes,
    lines,
    proof,
    rows,
    setup,
    swapped,
    work,
)
from hypothesis import given
from hypothesis import strategies as st
from hypothesis_profile import examples


def gapped(angle: float, at: float, gap: float) -> list[Row]:
    """Rows at an angle with a strip of width `gap` between two of them, `at` mm from the panel's middle."""
    c, s = cos(radians(angle)), sin(radians(angle))
    made = []
    low, high = at - gap / 2 - RADIUS, at + gap / 2 + RADIUS
    across = sorted([*(low - 40.0 * k for k in range(6)), *(high + 40.0 * k for k in range(6))])
    run = (abs(c) * LENGTH + abs(s) * WIDTH) / 2 + 3 * RADIUS
    for i, v in enumerate(across):
        way = 1 if i % 2 == 0 else -1
        x, y = LENGTH / 2 - s * v, WIDTH / 2 + c * v
        made.append((x - way * c * run, y - way * s * run, x + way * c * run, y + way * s * run))
    return made


@examples(6, 400)
@given(st.floats(0.0, 180.0), st.floats(-60.0, 60.0), st.floats(0.05, 2.0))
def test_a_strip_is_found_at_any_angle_and_place(angle: float, at: float, gap: float) -> None:
    shown, found = proof(lines((29.5,), gapped(angle, at, gap)), setup(planes=(29.5,)))
    assert codes(found) == {"FW904"}, found
    assert shown.left_above_plane == pytest.approx(0.5)


@examples(8, 480)
@given(st.floats(0.0, 180.0), st.floats(-60.0, 60.0), st.floats(0.0, 1.5))
def test_rows_that_just_meet_leave_nothing(angle: float, at: float, overlap: float) -> None:
    shown, found = proof(lines((29.5, 29.0), gapped(angle, at, -overlap)), setup())
    assert found == []
    assert shown.left_above_plane == 0.0


@pytest.mark.parametrize("gap", [0.05, 0.3, 2.0])
def test_a_strip_along_an_edge_is_found(gap: float) -> None:
    sweep = [row for row in rows() if row[1] < WIDTH - RADIUS - gap]
    y = WIDTH - RADIUS - gap
    _, found = proof(lines((29.5,), [*sweep, (-40.0, y, LENGTH + 40.0, y)]), setup(planes=(29.5,)))
    assert codes(found) == {"FW904"}
    assert "along y" in found[0] and f"{LENGTH:g}mm along x" in found[0]


def test_a_corner_that_round_ends_leave_is_found() -> None:
    # rows that stop 25 mm inside the outline and 26 mm from the front: 36 mm from the corner, with a disc of 32 mm
    low, high = 25.0, LENGTH - 25.0
    short = [(low, ay, high, by) if ax < bx else (high, ay, low, by) for ax, ay, bx, by in rows()]
    shown, found = proof(
        swapped(lines((29.5,), short), "G0 Z2.450", "G0 Z3."), setup(planes=(29.5,)), work(cutter=cutter(plunge="yes"))
    )
    assert codes(found) == {"FW904"}
    assert shown.left_above_plane == pytest.approx(0.5)


def test_a_whole_sweep_at_the_wrong_height_is_left_wood() -> None:
    shown, found = proof(lines((29.5, 29.01)), setup())
    assert codes(found) == {"FW904"}
    assert shown.left_above_plane == pytest.approx(0.01)


def test_a_low_place_of_the_old_face_is_not_clean() -> None:
    _, found = proof(lines(), setup(planes=(29.5, 29.0), bound=1.1, limit=2.0), work(cutter=cutter(depth=q("2mm"))))
    assert codes(found) == {"FW904"}
    assert "0.1mm below the plane" in found[0]


def test_an_empty_program_leaves_everything() -> None:
    shown, found = proof(["G21 G90 G94 G40 G49 G61", "G55", "G0 Z40.", "M30"])
    assert codes(found) == {"FW904"}
    assert shown.left_above_plane == pytest.approx(HIGH - 29.0)


def test_rows_that_just_meet_and_are_cut_one_way_leave_nothing() -> None:
    # a lift and a move back through the air between the rows, which do not overlap
    spaced = [(-40.0, y, LENGTH + 40.0, y) for y in (20.0, 84.0, 148.0, 212.0)]
    text = lines((29.5, 29.0), spaced[:1])
    at = [i for i, line in enumerate(text) if line.startswith("G1 X340")]
    for i in reversed(at):
        z = text[i - 2].split()[1]
        for _, y, _, _ in reversed(spaced[1:]):
            text[i + 1 : i + 1] = ["G0 Z40.", f"G0 X-40. Y{y}", "G0 Z3.", f"G1 {z} F2000", "G1 X340. F6000"]
    shown, found = proof(text, setup())
    assert found == [] and shown.deepest_bite == 0.5
