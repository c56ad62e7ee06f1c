"""Files of points, one a row: x, y and a height or thickness in mm, as a probe or a spreadsheet writes them."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from flatwise.core.finding import Finding, Findings
from flatwise.core.surface import Array
from flatwise.findings import fw003_number, fw004_file, fw104_wrong_kind
from flatwise_grammar.nodes import Span

#: how many wrong rows are shown
SHOWN = 3
#: mm by which rounding in the file may put a point outside the outline
ROUNDING = 1e-6


def read_points(
    data: bytes, file: str, span: Span, length: float, width: float, columns: str = "x, y, z"
) -> tuple[Array | None, Findings]:
    """The points of a file, (n, 3) in mm, or None and findings.

    Columns are separated by commas, semicolons, or blanks and tabs.  A first row without numbers is a header, which may
    name x, y and z (or t) in another order.  Blank lines and comments after `#` are skipped.  `span` is where the job
    names the file, `length` and `width` are the panel's sides in mm.
    """
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        return None, (fw004_file.not_utf8(file, span, error.start, data[: error.start].count(b"\n") + 1),)
    text = text.replace("\r\n", "\n").replace("\r", "\n")
    skip, split, order = _form(text)
    points = _table(text, skip, split)
    if points is None:
        read = [(row, line, _numbers(line, split)) for row, line in _rows(text, skip)]
        bad = [(row, line) for row, line, numbers in read if numbers is None]
        first = [(row, line.strip()[:40]) for row, line in bad[:SHOWN]]
        return None, (fw003_number.rows(file, span, first, len(bad), columns),)
    if len(points) < 3:
        return None, (fw104_wrong_kind.few_points(file, span, len(points)),)
    points = points[:, order]
    x, y = points[:, 0], points[:, 1]
    off = np.flatnonzero((x < -ROUNDING) | (y < -ROUNDING) | (x > length + ROUNDING) | (y > width + ROUNDING))
    if len(off):
        return None, tuple(_off(points, off, text, skip, span, length, width))
    return points, ()


def _off(
    points: Array,
    off: NDArray[np.intp],
    text: str,
    skip: int,
    span: Span,
    length: float,
    width: float,
) -> Iterator[Finding]:
    from flatwise.findings import fw201_point_off_panel

    rows = [row for row, _ in _rows(text, skip)]
    for index in off[:SHOWN]:
        x, y = float(points[index, 0]), float(points[index, 1])
        yield fw201_point_off_panel.off(span, x, y, length, width, row=rows[index])


def _form(text: str) -> tuple[int, str | None, list[int]]:
    """The number of lines before the numbers, the separator (None: blanks), and the columns of x, y and height."""
    skip, order = 0, [0, 1, 2]
    for row, line in _rows(text, 0):
        split = ";" if ";" in line else "," if "," in line else None
        cells = [cell.strip().strip('"').lower() for cell in line.split(split)]
        if any(re.match(r"[-+.]?\d", cell) for cell in cells) or skip:
            return skip, split, order
        skip = row  # a header: the numbers come after it
        for names in (["x", "y", "z"], ["x", "y", "t"]):
            if sorted(cells) == sorted(names):
                order = [cells.index(name) for name in names]
    return skip, None, order


def _rows(text: str, skip: int) -> Iterator[tuple[int, str]]:
    """(number, text without comment) of every line with content, after the first `skip` lines."""
    for number, line in enumerate(text.split("\n"), 1):
        bare = line.partition("#")[0]
        if number > skip and bare.strip():
            yield number, bare


def _table(text: str, skip: int, split: str | None) -> Array | None:
    """All rows, or None where one of them is not three finite numbers."""
    if next(_rows(text, skip), None) is None:
        return np.empty((0, 3))
    try:
        table = np.loadtxt(io.StringIO(text), comments="#", delimiter=split, skiprows=skip, ndmin=2)
    except ValueError:
        return None
    return table if table.shape[1] == 3 and bool(np.isfinite(table).all()) else None


def _numbers(line: str, split: str | None) -> list[float] | None:
    """The three finite numbers of a line, or None."""
    cells = line.split(split)
    if len(cells) != 3 or "_" in line:
        return None
    try:
        numbers = [float(cell) for cell in cells]
    except ValueError:
        return None
    return numbers if all(map(math.isfinite, numbers)) else None
