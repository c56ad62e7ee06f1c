"""Files of points."""

from __future__ import annotations

import numpy as np
import pytest

from flatwise.sources.point_file import read_points
from flatwise_grammar.nodes import Span

HERE = Span("job", 3, 9)
EXPECTED = [[0.0, 0.0, 31.5], [900.0, 0.0, 31.25], [450.5, 500.0, -0.2]]


def codes(data: bytes, length: float = 900.0, width: float = 500.0) -> list[str]:
    points, findings = read_points(data, "top.csv", HERE, length, width)
    assert (points is None) == bool(findings)
    return [finding.code for finding in findings]


@pytest.mark.parametrize(
    "text",
    [
        "0,0,31.5\n900,0,31.25\n450.5,500,-0.2\n",
        "x,y,z\n0,0,31.5\n900,0,31.25\n450.5,500,-0.2",
        "z,x,y\n31.5,0,0\n31.25,900,0\n-0.2,450.5,500",
        '"x","y","t"\r\n0 , 0 , 31.5\r\n900, 0, 31.25\r\n450.5, 500, -0.2\r\n',
        "# probed twice\n\nX;Y;Z\n0;0;31.5\n\n900;0;31.25 # by hand\n450.5;500;-0.2\n",
        "0\t0\t31.5\n900  0 \t 31.25\n4.505e2 +500 -.2\n",
        "\ufeff0 0 31.5\r900 0 31.25\r450.5 500 -0.2",
        "place (mm), across, height\n0,0,31.5\n900,0,31.25\n450.5,500,-0.2\n",
    ],
)
def test_the_ways_to_write_points(text: str) -> None:
    points, findings = read_points(text.encode(), "top.csv", HERE, 900.0, 500.0)
    assert not findings
    assert points is not None
    np.testing.assert_array_equal(points, EXPECTED)


@pytest.mark.parametrize(
    ("text", "row", "shown"),
    [
        ("0,0,1\n900,0,one\n0,1,1\n", 2, "900,0,one"),
        ("x,y,z\n\n0,0,1\n900,0\n0,1,1\n", 4, "900,0"),
        ("0,0,1\n1,0,nan\n0,1,1\n", 2, "1,0,nan"),
        ("0,0,1\n1,0,inf\n0,1,1\n", 2, "1,0,inf"),
        ("0,0,1\n1,,1\n0,1,1\n", 2, "1,,1"),
        ("0,0,1\n1,2,3,4\n0,1,1\n", 2, "1,2,3,4"),
        ("0,0,1\n1,2,1_0\n0,1,1\n", 2, "1,2,1_0"),
        ("0;0;1\n1;2;1,5\n0;1;1\n", 2, "1;2;1,5"),
    ],
)
def test_a_wrong_row_is_reported_with_its_number(text: str, row: int, shown: str) -> None:
    points, findings = read_points(text.encode(), "top.csv", HERE, 900.0, 500.0)
    assert points is None
    (finding,) = findings
    assert finding.code == "FW003" and finding.span == HERE
    assert f'row {row} is "{shown}"' in finding.message


def test_the_first_bad_rows_are_shown_and_the_rest_counted() -> None:
    _, (finding,) = read_points(b"0,0,1\n" + b"a,b,c\n" * 40, "top.csv", HERE, 900.0, 500.0)
    assert "40 rows" in finding.message and "37 more" in finding.message


def test_too_few_points_points_off_the_panel_and_binary_files() -> None:
    assert codes(b"") == ["FW104"]
    assert codes(b"x,y,z\n") == ["FW104"]
    assert codes(b"0,0,1\n1,1,1\n") == ["FW104"]
    assert codes(b"\xff\xfe0,0,1") == ["FW004"]
    points, findings = read_points(b"x,y,z\n0,0,1\n1,1,1\n901,2,1\n3,-1,1\n", "top.csv", HERE, 900.0, 500.0)
    assert points is None
    assert [finding.code for finding in findings] == ["FW201", "FW201"]
    assert "row 4" in findings[0].message.lower() and "row 5" in findings[1].message.lower()


def test_many_rows_at_once() -> None:
    rng = np.random.default_rng(3)
    table = np.column_stack((rng.uniform(0, 900, 20_000), rng.uniform(0, 500, 20_000), rng.normal(32, 0.2, 20_000)))
    data = "\n".join(",".join(map(repr, row)) for row in table.tolist()).encode()
    points, findings = read_points(data, "top.csv", HERE, 900.0, 500.0)
    assert not findings
    np.testing.assert_array_equal(points, table)  # every digit: the general parser of numpy against Python's repr
