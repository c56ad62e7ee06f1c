"""Faults of typing or transfer in a program: each function takes its lines and the setup and gives other lines."""

from __future__ import annotations

import re
from collections.abc import Callable

from flatwise.model.stages import Setup

Lines = list[str]
Spoil = Callable[[Lines, Setup], Lines]
#: a line of a move along a row
ROW = r"^X-?\d"


# -- finding lines in a program ------------------------------------------------------------------------------------


def at(lines: Lines, pattern: str, which: int = 0) -> int:
    """Index of the n-th line that matches (−1: the last)."""
    return [i for i, line in enumerate(lines) if re.search(pattern, line)][which]


def sub(pattern: str, new: str, which: int = 0) -> Spoil:
    """Replace in the n-th line that matches."""

    def spoil(lines: Lines, setup: Setup) -> Lines:
        i = at(lines, pattern, which)
        return [*lines[:i], re.sub(pattern, new, lines[i], count=1), *lines[i + 1 :]]

    return spoil


def drop(pattern: str, which: int = 0, count: int = 1) -> Spoil:
    """Leave out `count` lines from the n-th line that matches."""

    def spoil(lines: Lines, setup: Setup) -> Lines:
        i = at(lines, pattern, which)
        return lines[:i] + lines[i + count :]

    return spoil


def shift(axis: str, by: float, which: slice = slice(None)) -> Spoil:
    """Add to every word of an axis in the work offset."""

    def spoil(lines: Lines, setup: Setup) -> Lines:
        words = [i for i, line in enumerate(lines) if re.search(rf"^[^(]*{axis}-?[\d.]+", line) and "G53" not in line]
        chosen = set(words[which])
        return [
            re.sub(rf"{axis}(-?[\d.]+)", lambda m: f"{axis}{float(m[1]) + by:.3f}", line) if i in chosen else line
            for i, line in enumerate(lines)
        ]

    return spoil


def bounds(lines: Lines, which: int) -> tuple[int, int]:
    """First line after a pass's comment, and one past its last line."""
    starts = [i for i, line in enumerate(lines) if re.match(r"\((finish )?pass \d+ of", line)]
    ends = [*starts[1:], at(lines, "^(G53 )?G0 Z", -1)]
    which %= len(starts)
    return starts[which] + 1, ends[which]


def deeper(by: float, which: int) -> Spoil:
    """One pass lower (or higher) than planned."""

    def spoil(lines: Lines, setup: Setup) -> Lines:
        first, last = bounds(lines, which)
        return lines[:first] + shift("Z", by)(lines[first:last], setup) + lines[last:]

    return spoil


def without_pass(which: int) -> Spoil:
    def spoil(lines: Lines, setup: Setup) -> Lines:
        first, last = bounds(lines, which)
        return lines[:first] + lines[last:]

    return spoil


def without_row(lines: Lines, setup: Setup) -> Lines:
    """Skip a row of the final pass: two sidesteps in one."""
    first, last = bounds(lines, -1)
    middle = [i for i in range(first, last) if lines[i].startswith("Y")][4]
    return lines[:middle] + lines[middle + 4 :]


def short_row(lines: Lines, setup: Setup) -> Lines:
    """The last pass turns 30 mm before an end."""
    first, last = bounds(lines, -1)
    right = f"X{setup.top.length + 38:.1f}"
    return [line.replace(right, f"X{setup.top.length - 30:.1f}") if first <= i < last else line
            for i, line in enumerate(lines)]  # fmt: skip


def spindle_late(lines: Lines, setup: Setup) -> Lines:
    i = at(lines, " M3")
    rest = lines[:i] + lines[i + 1 :]
    k = at(rest, "^G1 ") + 2
    return [*rest[:k], lines[i], *rest[k:]]


def spindle_stops(lines: Lines, setup: Setup) -> Lines:
    first, _ = bounds(lines, -1)
    return [*lines[:first], "M5", *lines[first:]]


def in_last_pass(*words: str) -> Spoil:
    """Insert lines after the third move along a row of the last pass, where the cutter has just left wood."""

    def spoil(lines: Lines, setup: Setup) -> Lines:
        first, last = bounds(lines, -1)
        place = [i for i in range(first, last) if re.match(ROW, lines[i])][3] + 1
        return [*lines[:place], *words, *lines[place:]]

    return spoil


def in_wood(*words: str) -> Spoil:
    """Insert lines in the middle of a row of the last pass, with wood in front of the cutter and under it."""

    def spoil(lines: Lines, setup: Setup) -> Lines:
        first, last = bounds(lines, -1)
        here: dict[str, float] = {}
        runs, feeds = [], False
        for i in range(first, last):
            feeds = "G1" in lines[i] or (feeds and "G0" not in lines[i])
            for axis, value in re.findall(r"([XY])(-?[\d.]+)", lines[i]):
                if axis in here and feeds:
                    runs.append((abs(float(value) - here[axis]), i, f"{axis}{(float(value) + here[axis]) / 2:.3f}"))
                here[axis] = float(value)
        longest = max(runs)[0]
        _, place, half = next(run for run in runs if run[0] > 0.9 * longest)
        return [*lines[:place], half, *words, *lines[place:]]

    return spoil


def down_on(kind: str, word: str) -> Spoil:
    """Go down onto a dog or clamp, to just above the plane, before the last pass."""

    def spoil(lines: Lines, setup: Setup) -> Lines:
        ones = [holder for holder in setup.holders if holder.kind == kind]
        if not ones:
            raise IndexError(kind)
        one = ones[0]
        x, y = (one.x0 + one.x1) / 2 - setup.origin[0], (one.y0 + one.y1) / 2 - setup.origin[1]
        low = min(setup.plane, one.height - 1.0) + 0.1 - setup.touch.zero
        lift = setup.lift - setup.touch.zero
        first, _ = bounds(lines, -1)
        there = [f"G0 X{x:.3f} Y{y:.3f}", f"{word} Z{low:.3f}", f"G0 Z{lift:.3f}"]
        return [*lines[:first], *there, *lines[first:]]

    return spoil


def over_panel(*words: str) -> Spoil:
    """Go over the middle of the panel before the last pass: words with heights above the wood that stands there, mm."""

    def spoil(lines: Lines, setup: Setup) -> Lines:
        first, _ = bounds(lines, -1)
        stands = (setup.passes[-2].plane if len(setup.passes) > 1 else setup.may_stand) - setup.touch.zero
        x, y = setup.top.length / 2 - setup.origin[0], setup.top.width / 2 - setup.origin[1]
        place = {"x": x, "y": y, "z": stands}
        there = [re.sub(r"([xyz])([+-][\d.]+)", lambda m: f"{m[1].upper()}{place[m[1]] + float(m[2]):.3f}", word)
                 for word in ("G0 x+0 y+0", *words)]  # fmt: skip
        back = [re.findall(rf"^[^(\n]*({axis}[\d.-]+)", "\n".join(lines[:first]), re.MULTILINE)[-1] for axis in "XY"]
        up = f"G0 Z{setup.lift - setup.touch.zero:.3f}"
        return [*lines[:first], *there, up, f"G0 {' '.join(back)}", *lines[first:]]

    return spoil


def feed_late(lines: Lines, setup: Setup) -> Lines:
    """Give F only with the second line that feeds."""
    i = at(lines, r" F\d")
    return [*lines[:i], re.sub(r" F\d+", "", lines[i]), *lines[i + 1 :]]


def speed_late(lines: Lines, setup: Setup) -> Lines:
    """Start the spindle slowly, and bring it to its speed without a dwell."""
    i = at(lines, " M3$")
    k = at(lines, "^G4")
    return [*lines[:i], "S900 M3", *lines[i + 1 : k + 1], lines[i].removesuffix(" M3"), *lines[k + 1 :]]


def ends_early(lines: Lines, setup: Setup) -> Lines:
    first, last = bounds(lines, -1)
    middle = (first + last) // 2
    return [*lines[:middle], "M30", *lines[middle:]]


def low_lift(lines: Lines, setup: Setup) -> Lines:
    """Lift between passes to only 5 mm above the bed, lower than every clamp and dog."""
    low = f"Z{5.0 - setup.touch.zero:.3f}"
    first = bounds(lines, 0)[0]
    return [re.sub(r"^G0 Z[\d.]+$", f"G0 {low}", line) if i >= first else line for i, line in enumerate(lines)]


def lower_lift(lines: Lines, setup: Setup) -> Lines:
    """Lift to 20 mm below the lift height, still above everything on the bed."""
    high = setup.lift - setup.touch.zero

    def lower(match: re.Match[str]) -> str:
        return f"G0 Z{high - 20.0:.3f}" if abs(float(match[1]) - high) < 0.01 else match[0]

    return [re.sub(r"^G0 Z([\d.]+)$", lower, line) for line in lines]


def mirrored(axis: str) -> Spoil:
    def spoil(lines: Lines, setup: Setup) -> Lines:
        return [re.sub(rf"{axis}(-?)(\d)", lambda m: axis + ("" if m[1] else "-") + m[2], line)
                if "G53" not in line and not line.startswith("(") else line for line in lines]  # fmt: skip

    return spoil


def exchanged(lines: Lines, setup: Setup) -> Lines:
    swap = str.maketrans("XY", "YX")
    return [line if line.startswith("(") else line.translate(swap) for line in lines]


def cut_off(lines: Lines, setup: Setup) -> Lines:
    last = bounds(lines, -1)[1]
    return [*lines[: last - 5], lines[last - 5][:2]]


def no_points(lines: Lines, setup: Setup) -> Lines:
    return [line if line.startswith("(") else line.replace(".", "") for line in lines]


def bed_zero(lines: Lines, setup: Setup) -> Lines:
    """Write heights above the bed where heights from the touched top belong."""
    return shift("Z", setup.touch.zero)(lines, setup)
