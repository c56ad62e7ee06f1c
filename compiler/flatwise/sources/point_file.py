"""Files of points, one a row: x, y and a height or thickness, below a header that names each column with its unit."""

from __future__ import annotations

import io
import math
import re
from collections.abc import Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from flatwise.core.finding import Edit, Finding, Findings, Fix
from flatwise.core.fixes import replacing
from flatwise.core.surface import Array
from flatwise.core.units import UNITS, units_of
from flatwise.findings import fw003_number, fw004_file, fw104_wrong_kind, fw201_point_off_panel, fw205_unseen
from flatwise_grammar.nodes import Span

#: how many wrong rows are shown
SHOWN = 3
#: mm by which rounding in the file may put a point outside the outline: half of a thousandth of an inch
ROUNDING = 0.0128
#: the least share of the panel that its points cover without a warning
LEAST_SHARE = 0.2
#: bytes at the start of a file in which its header is looked for
_HEAD = 4096
_LENGTHS = units_of("length")
_NUMBER = re.compile(r"[-+.]?\d")


class _Header(NamedTuple):
    """How rows are read: the separator (None: blanks), the columns of x, y and height, and the mm of their units."""

    split: str | None
    order: list[int]
    worths: list[float]


def read_points(
    data: bytes, file: str, span: Span, length: float, width: float, height: str = "z", path: str = ""
) -> tuple[Array | None, Findings]:
    """The points of a file, (n, 3) in mm, or None where a finding is an error.

    The first row with content is the header: `x`, `y` and `height` in any order, each followed by a unit of length.
    Columns are separated as in the header, by semicolons (then a comma may be the decimal sign), commas, or blanks and
    tabs.  Blank lines and comments after `#` are skipped.  `span` is where the job names the file, `height` the third
    column that its word asks for (`z` or `t`), `path` the file's path as spans carry it, `length` and `width` the
    panel's sides in mm.
    """
    try:
        text = _with_plain_line_ends(data.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        return None, (fw004_file.not_utf8(file, span, error.start, data[: error.start].count(b"\n") + 1),)
    first = next(_rows(text, 0), None)
    if first is None:
        return None, (fw104_wrong_kind.few_points(file, span, 0),)
    names = _names([cell.split() for cell in _cells(first[1])])
    if names is not None and names[2] != height:
        return None, (fw003_number.other_height(file, span, height),)
    header = _header(first[1])
    if header is None:
        return None, (_no_units(text, file, span, (length, width), height, path or file),)
    points = _table(text, first[0], header)
    if points is None:
        bad = [(row, line) for row, line in _rows(text, first[0]) if not _is_point(line, header)]
        shown = [(row, line.strip()[:40]) for row, line in bad[:SHOWN]]
        return None, (fw003_number.rows(file, span, shown, len(bad), first[1].strip()[:40]),)
    if len(points) < 3:
        return None, (fw104_wrong_kind.few_points(file, span, len(points)),)
    x, y = points[:, 0], points[:, 1]
    off = np.flatnonzero((x < -ROUNDING) | (y < -ROUNDING) | (x > length + ROUNDING) | (y > width + ROUNDING))
    if len(off):
        return None, tuple(_off(points, off, text, first[0], span, length, width))
    np.clip(x, 0.0, length, out=x)
    np.clip(y, 0.0, width, out=y)
    return points, tuple(_small(points, file, span, length * width, header))


def head(data: bytes) -> str:
    """The text of a file up to the end of its header; fixes that write the header point into it."""
    text = _with_plain_line_ends(data[:_HEAD].decode("utf-8-sig", "replace"))
    first = next(_rows(text, 0), None)
    return "" if first is None else "\n".join(text.split("\n", first[0])[: first[0]])


def _with_plain_line_ends(text: str) -> str:
    return text.replace("\r\n", "\n").replace("\r", "\n")


def _off(
    points: Array,
    off: NDArray[np.intp],
    text: str,
    skip: int,
    span: Span,
    length: float,
    width: float,
) -> Iterator[Finding]:
    rows = [row for row, _ in _rows(text, skip)]
    for index in off[:SHOWN]:
        x, y = float(points[index, 0]), float(points[index, 1])
        yield fw201_point_off_panel.off(span, x, y, length, width, row=rows[index])


def _small(points: Array, file: str, span: Span, area: float, header: _Header) -> Iterator[Finding]:
    """FW205 for points that cover less than a fifth of a panel of `area` mm², with the unit that is likely meant."""
    share = hull_area(points) / area
    if share >= LEAST_SHARE - 1e-9:
        return
    for unit in ("mm", "in"):
        scale = UNITS[unit].worth / header.worths[0]
        likely = header.worths[0] == header.worths[1] and LEAST_SHARE <= share * scale**2 <= 1.0
        if likely:
            yield fw205_unseen.small_area(file, span, share, unit)
            return
    yield fw205_unseen.small_area(file, span, share)


def hull_area(points: Array) -> float:
    """The area of the convex hull of points (n, 2 or more), mm², from the furthest point in each of 16 directions.

    Exact for rectangles along the axes, and less than 3 % too small for a circle.
    """
    x, y = points[:, :2].T.copy()
    furthest = [int(np.argmax(x * math.cos(angle) + y * math.sin(angle))) for angle in np.arange(16) * math.pi / 8]
    x, y = x[furthest], y[furthest]
    return float(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2.0


def _separator(line: str) -> str | None:
    return ";" if ";" in line else "," if "," in line else None


def _cells(line: str) -> list[str]:
    """The cells of a header in small letters, without quotation marks; `x mm` is one also between blanks."""
    split = _separator(line)
    if split is None:
        return re.findall(rf"[^\s]+(?:\s+(?:{'|'.join(_LENGTHS)})(?!\S))?", line.lower())
    return [cell.strip().strip('"').strip().lower() for cell in line.split(split)]


def _names(cells: list[list[str]]) -> list[str] | None:
    """The names of the columns of x, y and height as a header has them; None where they are others."""
    names = [cell[0] if cell else "" for cell in cells]
    return next((want for want in (["x", "y", "z"], ["x", "y", "t"]) if sorted(names) == sorted(want)), None)


def _header(line: str) -> _Header | None:
    """The columns of a header, or None where it is none, or lacks a unit."""
    cells = [cell.split() for cell in _cells(line)]
    names = _names(cells)
    if names is None or any(len(cell) != 2 or cell[1] not in _LENGTHS for cell in cells):
        return None
    order = [[cell[0] for cell in cells].index(name) for name in names]
    return _Header(_separator(line), order, [UNITS[cells[column][1]].worth for column in order])


def _no_units(text: str, file: str, span: Span, size: tuple[float, float], height: str, path: str) -> Finding:
    """FW003 for a file without a header, or with one that lacks units; the fix writes it, where it is clear which."""
    row, line = next(_rows(text, 0))
    cells, split = [cell.split() for cell in _cells(line)], _separator(line)
    bare = _names(cells) is not None and all(len(cell) == 1 for cell in cells)
    missing = bool(_NUMBER.match(line.strip()))
    columns = [cell[0] for cell in cells] if bare else ["x", "y", height]
    order = [columns.index("x"), columns.index("y"), 0]
    table = _table(text, 0 if missing else row, _Header(split, order, [1.0] * 3))
    inches = table is not None and len(table) > 0 and bool((table[:, :2].max(axis=0) * 25.4 <= size).all())
    wanted = (split or " ").join(f"{column} {'in' if inches else 'mm'}" for column in columns)
    fix = None
    if missing:
        fix = Fix(f"Write `{wanted}` as the first line", (Edit(Span(path, 0, 0), f"{wanted}\n"),))
    elif bare and len(before := head(text.encode())) < _HEAD:
        start = before.rindex(line.strip())
        fix = replacing(Span(path, start, start + len(line.strip())), wanted)
    return fw003_number.header(file, span, "" if missing else line.strip()[:40], wanted, fix)


def _rows(text: str, skip: int) -> Iterator[tuple[int, str]]:
    """(number, text without comment) of every line with content, after the first `skip` lines."""
    for number, line in enumerate(text.split("\n"), 1):
        bare = line.partition("#")[0]
        if number > skip and bare.strip():
            yield number, bare


def _table(text: str, skip: int, header: _Header) -> Array | None:
    """All rows after the first `skip` lines, in mm, or None where one of them is not three finite numbers."""
    if next(_rows(text, skip), None) is None:
        return np.empty((0, 3))
    if header.split == ";":
        text = text.replace(",", ".")
    try:
        table = np.loadtxt(io.StringIO(text), comments="#", delimiter=header.split, skiprows=skip, ndmin=2)
    except ValueError:
        return None
    if table.shape[1] != 3:
        return None
    with np.errstate(over="ignore"):
        table = table[:, header.order] * header.worths
    return table if bool(np.isfinite(table).all()) else None


def _is_point(line: str, header: _Header) -> bool:
    """Whether a line has three finite numbers."""
    if header.split == ";":
        line = line.replace(",", ".")
    cells = line.split(header.split)
    if len(cells) != 3 or "_" in line:
        return False
    try:
        return all(
            math.isfinite(float(cells[at]) * worth) for at, worth in zip(header.order, header.worths, strict=True)
        )
    except ValueError:
        return False
