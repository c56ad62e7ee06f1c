"""Files of points."""

from __future__ import annotations

import time
from pathlib import Path

import numpy as np
import pytest

from flatwise.core.finding import Finding, has_errors
from flatwise.core.surface import Array
from flatwise.pipeline import read_works
from flatwise.report.messages import json_lines
from flatwise.sources.point_file import head, hull_area, read_points
from flatwise_grammar.nodes import Span

HERE = Span("job", 3, 9)
HEAD = "x mm,y mm,z mm\n"
EXPECTED = [[0.0, 0.0, 31.5], [900.0, 0.0, 31.25], [450.5, 500.0, -0.2]]


def read(text: str | bytes, height: str = "z") -> tuple[Array | None, tuple[Finding, ...]]:
    data = text if isinstance(text, bytes) else text.encode()
    points, findings = read_points(data, "top.csv", HERE, 900.0, 500.0, height, "jobs/top.csv")
    assert (points is None) == has_errors(findings)
    return points, findings


def codes(text: str | bytes) -> list[str]:
    return [finding.code for finding in read(text)[1]]


@pytest.mark.parametrize(
    "text",
    [
        "x mm,y mm,z mm\n0,0,31.5\n900,0,31.25\n450.5,500,-0.2",
        "z mm,x mm,y mm\n31.5,0,0\n31.25,900,0\n-0.2,450.5,500\n",
        '"x mm","y mm","z mm"\r\n0 , 0 , 31.5\r\n900, 0, 31.25\r\n450.5, 500, -0.2\r\n',
        "# probed twice\n\nX mm; Y mm; Z mm\n0;0;31.5\n\n900;0;31.25 # by hand\n450.5;500;-0.2\n",
        "x mm;y mm;z mm\n0;0;31,5\n900;0;31,25\n450,5;500,0;-0,2\n",
        "x mm\ty mm\tz mm\n0\t0\t31.5\n900  0 \t 31.25\n4.505e2 +500 -.2\n",
        "\ufeffx  mm y mm   z mm\r0 0 31.5\r900 0 31.25\r450.5 500 -0.2",
        "x cm,y m,z mm\n0,0,31.5\n90,0,31.25\n45.05,.5,-0.2\n",
    ],
)
def test_the_ways_to_write_points(text: str) -> None:
    points, findings = read(text)
    assert not findings and points is not None
    np.testing.assert_array_equal(points, EXPECTED)


def test_inches_become_millimetres_column_by_column() -> None:
    # 1 in is 25.4 mm exactly (international yard, 1959)
    points, findings = read("x in,y in,z in\n0,0,1.25\n35,0,1.24\n35,19.5,1.26\n0,19.5,1.25\n")
    assert not findings and points is not None
    np.testing.assert_allclose(points[2], [889.0, 495.3, 32.004])
    points, _ = read("x mm,y mm,z in\n0,0,1.25\n900,0,1.24\n900,500,1.26\n")
    assert points is not None
    np.testing.assert_allclose(points[2], [900.0, 500.0, 32.004])


def test_a_coordinate_that_its_file_rounds_outward_lies_on_the_edge() -> None:
    # 900 mm are 35.43307 in; three decimals put the point 0.0018 mm outside
    points, findings = read("x in,y in,z in\n0,0,1\n35.4332,0,1\n35.4332,19.685,1\n")
    assert not findings and points is not None
    assert points[:, 0].max() == 900.0 and points[:, 1].max() <= 500.0


@pytest.mark.parametrize(
    ("text", "fixed"),
    [
        ("0,0,31\n900,0,31\n0,500,31\n", "x mm,y mm,z mm\n"),
        ("0;0;31\n900;0;31,5\n0;500;31\n", "x mm;y mm;z mm\n"),
        ("0 0 31\n900 0 31\n0 500 31\n", "x mm y mm z mm\n"),
        ("# probed\n\n-0.0,0,31\n900,0,31\n0,500,31\n", "x mm,y mm,z mm\n"),
        # as millimetres they would cover a corner of the panel, as inches the whole
        ("0,0,1.25\n35,0,1.25\n0,19,1.25\n", "x in,y in,z in\n"),
        ("x,y,z\n0,0,31\n900,0,31\n0,500,31\n", "x mm,y mm,z mm"),
        ("# probed\r\n z;x;y # by hand\r\n31;0;0\r\n31;900;0\r\n31;0;500\r\n", "z mm;x mm;y mm"),
        ("x z y\n0 1.2 0\n35 1.2 0\n0 1.2 19\n", "x in z in y in"),
    ],
)
def test_a_file_without_units_is_refused_and_the_fix_writes_them(text: str, fixed: str) -> None:
    _, (finding,) = read(text)
    assert finding.code == "FW003" and finding.span == HERE and finding.fix is not None
    assert f"`{fixed.strip()}`" in finding.help
    (edit,) = finding.fix.edits
    assert edit.text == fixed and edit.span.path == "jobs/top.csv"
    plain = text.replace("\r\n", "\n")
    assert edit.span.end <= len(head(text.encode()))
    points, findings = read(plain[: edit.span.start] + fixed + plain[edit.span.end :])
    assert points is not None and len(points) == 3 and not findings


def test_the_fix_for_a_thickness_file_says_t() -> None:
    _, (finding,) = read("0,0,31\n900,0,31\n0,500,31\n", "t")
    assert finding.fix is not None and finding.fix.edits[0].text == "x mm,y mm,t mm\n"


@pytest.mark.parametrize("header", ["x mm,y mm,{}mm", "{}in; x in; y in", "x y {}"])
@pytest.mark.parametrize(
    ("height", "other", "message", "way_out"),
    [
        ("z", "t", "has a column `t` (thickness), but `probe` reads heights above the bed", '`thickness "top.csv"`'),
        ("t", "z", "has a column `z` (height), but `thickness` reads thicknesses", '`probe "top.csv"`'),
    ],
)
def test_a_file_headed_for_the_other_word_is_refused(
    header: str, height: str, other: str, message: str, way_out: str
) -> None:
    rows = "\n0,0,31\n900,0,31\n0,500,31\n"
    _, (finding,) = read(header.format(f"{other} ") + rows, height)
    assert finding.code == "FW003" and finding.span == HERE and finding.fix is None
    assert message in finding.message and way_out in finding.help and f"`{height}` in the first line" in finding.help


def test_a_thickness_file_has_its_thicknesses_in_t() -> None:
    points, findings = read("t mm,x mm,y mm\n31,0,0\n31,900,0\n30.5,0,500\n", "t")
    assert not findings and points is not None and points[2].tolist() == [0.0, 500.0, 30.5]


@pytest.mark.parametrize(
    "header", ["x mm,y mm,z", "place mm,across mm,z mm", "x mm,y mm,z kg", "x mm,y mm", "x mm,y mm,z mm,note", "a b c"]
)
def test_a_header_that_says_something_else_is_refused_without_a_fix(header: str) -> None:
    _, (finding,) = read(f"{header}\n0,0,31\n900,0,31\n0,500,31\n")
    assert finding.code == "FW003" and finding.fix is None
    assert f'begins with "{header}"' in finding.message and "`x mm" in finding.help


def test_the_fix_has_its_place_in_the_file_of_points(shop: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(shop)
    (shop / "jobs" / "top.csv").write_text("# probed\nx,y,z\n0,0,32\n900,0,32\n0,500,32\n")
    job = shop / "jobs" / "example.flat"
    job.write_text(
        'use "../shared/shop.flat"\nuse "../shared/sample.flat"\n'
        'job demo from plain_top { survey { probe "top.csv" } }\n'
    )
    front = read_works([job])
    assert [finding.code for finding in front.findings] == ["FW003"] and not front.works
    said = json_lines(front.findings, front.texts)
    place = '"path": "jobs/top.csv", "line": 2, "column": 1, "end_line": 2, "end_column": 6, "text": "x mm,y mm,z mm"'
    assert place in said and '"line": 3, "column": 42' in said


@pytest.mark.parametrize(
    ("text", "row", "shown"),
    [
        ("0,0,1\n900,0,one\n0,1,1\n", 3, "900,0,one"),
        ("\n0,0,1\n900,0\n0,1,1\n", 4, "900,0"),
        ("0,0,1\n1,0,nan\n0,1,1\n", 3, "1,0,nan"),
        ("0,0,1\n1,0,inf\n0,1,1\n", 3, "1,0,inf"),
        ("0,0,1\n1,,1\n0,1,1\n", 3, "1,,1"),
        ("0,0,1\n1,2,3,4\n0,1,1\n", 3, "1,2,3,4"),
        ("0,0,1\n1,2,1_0\n0,1,1\n", 3, "1,2,1_0"),
        ("0,0,1\n1;2;1,5\n0,1,1\n", 3, "1;2;1,5"),
    ],
)
def test_a_wrong_row_is_reported_with_its_number(text: str, row: int, shown: str) -> None:
    _, (finding,) = read(HEAD + text)
    assert finding.code == "FW003" and finding.span == HERE
    assert f'row {row} is "{shown}"' in finding.message


def test_a_number_that_is_infinite_in_millimetres_is_wrong() -> None:
    _, (finding,) = read("x in,y in,z in\n0,0,1\n1,0,1e308\n0,1,1\n")
    assert finding.code == "FW003" and 'row 3 is "1,0,1e308"' in finding.message


def test_the_first_bad_rows_are_shown_and_the_rest_counted() -> None:
    _, (finding,) = read(HEAD + "0,0,1\n" + "a,b,c\n" * 40)
    assert "40 rows" in finding.message and "37 more" in finding.message


def test_too_few_points_points_off_the_panel_and_binary_files() -> None:
    assert codes("") == ["FW104"]
    assert codes(HEAD) == ["FW104"]
    assert codes(HEAD + "0,0,1\n1,1,1\n") == ["FW104"]
    assert codes(b"\xff\xfe0,0,1") == ["FW004"]
    _, findings = read(HEAD + "0,0,1\n1,1,1\n901,2,1\n3,-1,1\n")
    assert [finding.code for finding in findings] == ["FW201", "FW201"]
    assert "row 4" in findings[0].message.lower() and "row 5" in findings[1].message.lower()


def test_points_that_cover_less_than_a_fifth_are_reported_with_the_likely_unit() -> None:
    corner = "{0}0,0,32\n{1},0,32\n{1},{2},32\n0,{2},32\n"
    assert codes(corner.format(HEAD, 900, 100)) == []
    _, (finding,) = read(corner.format(HEAD, 900, 99))
    assert (finding.code, finding.severity) == ("FW205", "warning")
    assert "cover only 20% of the panel" in finding.message and finding.help == "Measure from edge to edge."
    _, (finding,) = read(corner.format(HEAD, 35, 19))
    assert "0.15% of the panel" in finding.message and "in inches, write `in`" in finding.help
    # on one line they cover nothing, in whatever unit
    _, (finding,) = read(HEAD + "0,0,32\n450,0,32\n900,0,32\n")
    assert "only 0% of the panel" in finding.message and finding.help == "Measure from edge to edge."


def test_the_area_of_a_hull_is_nearly_that_of_qhull() -> None:
    from scipy.spatial import ConvexHull

    rng = np.random.default_rng(5)
    for kind in range(4):
        points = rng.uniform(0, 500, (40, 2)) if kind else np.array([[0, 0], [10, 0], [10, 5], [0, 5], [3, 3]], float)
        area = ConvexHull(points).volume
        assert 0.94 * area <= hull_area(points) <= area * (1 + 1e-9)
    circle = np.array([[np.cos(t), np.sin(t)] for t in np.linspace(0, 2 * np.pi, 500)])
    assert hull_area(circle) == pytest.approx(np.pi, rel=0.03)


def test_many_rows_at_once() -> None:
    rng = np.random.default_rng(3)
    table = np.column_stack((rng.uniform(0, 900, 20_000), rng.uniform(0, 500, 20_000), rng.normal(32, 0.2, 20_000)))
    points, findings = read(HEAD + "\n".join(",".join(map(repr, row)) for row in table.tolist()))
    assert not findings and points is not None
    np.testing.assert_array_equal(points, table)  # every digit: the general parser of numpy against Python's repr


def test_a_hundred_thousand_points_take_a_fraction_of_a_second() -> None:
    data = (HEAD + "".join(f"{x * 0.9:.3f},{y * 5},32.123\n" for x in range(1000) for y in range(100))).encode()
    started = time.process_time()
    points, findings = read(data)
    assert points is not None and len(points) == 100_000 and not findings
    assert time.process_time() - started < 1.0
