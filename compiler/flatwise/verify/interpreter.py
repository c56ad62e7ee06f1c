"""Lines of a program → the moves that a machine makes of them, executed in the order of NISTIR 6556, table 8.

Nothing is assumed about the state that the previous program left: the position, and every mode that can change a
move, are unknown until the program sets them.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf

from flatwise.verify.rs274 import ProgramLine, Refusal, Word

#: A point in the setup frame, mm; None for each axis that the program has not set yet.
Location = tuple[float | None, float | None, float | None]

OFFSETS = {540: "G54", 550: "G55", 560: "G56", 570: "G57", 580: "G58", 590: "G59", 591: "G59.1", 592: "G59.2"}
OFFSETS[593] = "G59.3"


@dataclass(frozen=True, slots=True)
class Frame:
    """The conversion of program coordinates to the setup frame, mm.

    setup = program + `work`; setup = machine + `machine` (its Z is None where the machine's file gives no `top`).
    `seconds` is the value of one P.
    """

    work: tuple[float, float, float]
    machine: tuple[float, float, float | None]
    seconds: float


@dataclass(frozen=True, slots=True)
class Move:
    """A straight move from `a` to `b`.

    feed: mm/min, None where it is not set.  speed: rpm.  dwelt: s of dwell since the spindle started.  rested: s of
    dwell since it was stopped, inf where it has not turned.  parks: it goes to an X or Y in machine coordinates.
    rounds: G64 is in force, so that the machine may round the corners at its ends.
    """

    line: ProgramLine
    rapid: bool
    a: Location
    b: Location
    feed: float | None
    speed: float
    spindle: int
    dwelt: float
    rested: float
    coolant: frozenset[int]
    parks: bool
    rounds: bool = False

    @property
    def cuts_level(self) -> bool:
        """Whether the move is at feed and keeps its height."""
        return not self.rapid and self.a[2] is not None and self.a[2] == self.b[2]


@dataclass(frozen=True, slots=True)
class Spin:
    """The spindle starts (3: clockwise, 4: counter-clockwise) or its speed is set, with the cutter at `at`."""

    line: ProgramLine
    at: Location
    spindle: int
    speed: float
    starts: bool
    #: whether the program has stopped for the operator (M0) before
    stopped: bool


@dataclass(frozen=True, slots=True)
class Doubt:
    """A mode that the program leaves open, or sets differently from what the machine's controller needs.

    kind: units, offset, unset, relative or no_top.  `text` is the word or mode in question.
    """

    kind: str
    line: ProgramLine
    start: int
    end: int
    text: str


@dataclass(frozen=True, slots=True)
class Halt:
    """The spindle stops, or (`waits`) the program stops for the operator while it turns, with the cutter at `at`."""

    line: ProgramLine
    at: Location
    waits: bool


@dataclass(frozen=True, slots=True)
class Dwell:
    """The turning cutter stands still at `at` for some seconds."""

    line: ProgramLine
    at: Location
    seconds: float


@dataclass(frozen=True, slots=True)
class Wait:
    """The program stops for the operator (M0) with the spindle still and the tool at `at`."""

    line: ProgramLine
    at: Location


Step = Move | Spin | Halt | Dwell | Doubt | Wait


@dataclass(slots=True)
class _Modes:
    motion: int | None = None
    units: float | None = None
    absolute: bool | None = None
    per_minute: bool | None = None
    offset: str | None = None
    radius_off: bool = False
    length_off: bool = False
    #: whether G64 is in force, None before the first G61 or G64
    rounds: bool | None = None
    feed: float | None = None
    speed: float = 0.0
    spindle: int = 0
    dwelt: float = 0.0
    rested: float = inf
    stopped: bool = False
    coolant: set[int] = field(default_factory=set)
    at: list[float | None] = field(default_factory=lambda: [None, None, None])

    @property
    def location(self) -> Location:
        return (self.at[0], self.at[1], self.at[2])


def interpret(
    lines: list[ProgramLine], frame: Frame, units: str, offset: str
) -> tuple[list[Step], list[Refusal], bool]:
    """(steps, refusals, whether the spindle still turns at the end).

    `units` ("mm" or "in") and `offset` are the controller's; a program that sets others gets a Doubt.
    """
    modes = _Modes()
    steps: list[Step] = []
    refusals: list[Refusal] = []
    for line in lines:
        refusal = _execute(line, modes, frame, units, offset, steps)
        if refusal is not None:
            refusals.append(refusal)
        stops = {word.value for word in line.words if word.letter == "M"}
        modes.stopped |= 0.0 in stops
        if modes.spindle and stops & {0.0, 1.0, 2.0, 30.0}:
            steps.append(Halt(line, modes.location, waits=not stops & {2.0, 30.0}))
        elif 0.0 in stops:
            steps.append(Wait(line, modes.location))
        if stops & {2.0, 30.0}:
            modes.spindle = 0
            break
    return steps, refusals, modes.spindle != 0


def _execute(
    line: ProgramLine, modes: _Modes, frame: Frame, units: str, offset: str, steps: list[Step]
) -> Refusal | None:
    g = {word.tenths: word for word in line.words if word.letter == "G"}
    m = {int(word.value) for word in line.words if word.letter == "M"}
    if 930 in g or 940 in g:
        modes.per_minute = 940 in g
    f = line.first("F")
    if f is not None:
        # F counts in the units in force before this line: units come later in table 8
        modes.feed = f.value * (modes.units if modes.units is not None and modes.per_minute is not False else 1.0)
    _spindle(line, modes, m, steps)
    modes.coolant |= m & {7, 8}
    if 9 in m:
        modes.coolant.clear()
    p = line.first("P")
    if 40 in g and p is not None and not modes.spindle:
        modes.rested += p.value * frame.seconds
    elif 40 in g and p is not None:
        modes.dwelt += p.value * frame.seconds
        if p.value > 0:
            steps.append(Dwell(line, modes.location, p.value * frame.seconds))
    _set_modes(line, modes, g, units, offset, steps)
    return _motion(line, modes, 530 in g, f, frame, steps)


def _spindle(line: ProgramLine, modes: _Modes, m: set[int], steps: list[Step]) -> None:
    s = line.first("S")
    if s is not None:
        if s.value > modes.speed:
            modes.dwelt = 0.0  # the spindle has to speed up first
        modes.speed = s.value
    before = modes.spindle
    if 3 in m or 4 in m:
        modes.spindle = 3 if 3 in m else 4
    elif 5 in m:
        modes.spindle = 0
        if before:
            modes.rested = 0.0
            steps.append(Halt(line, modes.location, waits=False))
    starts = bool(modes.spindle) and modes.spindle != before
    if starts:
        modes.dwelt = 0.0
    if modes.spindle and (starts or s is not None):
        steps.append(Spin(line, modes.location, modes.spindle, modes.speed, starts, modes.stopped))


def _set_modes(
    line: ProgramLine, modes: _Modes, g: dict[int, Word], units: str, offset: str, steps: list[Step]
) -> None:
    """Units, radius, length, work offset, distance and motion, in the order of table 8."""
    if 200 in g or 210 in g:
        inches = 200 in g
        modes.units = 25.4 if inches else 1.0
        if inches != (units == "in"):
            word = g[200 if inches else 210]
            steps.append(Doubt("units", line, word.start, word.end, word.text))
    modes.radius_off |= 400 in g
    modes.length_off |= 490 in g
    if 610 in g or 640 in g:
        modes.rounds = 640 in g
    for code, name in OFFSETS.items():
        if code in g:
            modes.offset = name
            if name != offset:
                steps.append(Doubt("offset", line, g[code].start, g[code].end, name))
    if 900 in g or 910 in g:
        modes.absolute = 900 in g
    for code in (0, 10, 800):
        if code in g:
            modes.motion = code


def _motion(
    line: ProgramLine, modes: _Modes, in_machine: bool, f: Word | None, frame: Frame, steps: list[Step]
) -> Refusal | None:
    axes = [word for word in line.words if word.letter in "XYZ"]
    if not axes:
        return None
    first = axes[0]
    if modes.motion not in (0, 10):
        reason = f"{first.text} has no G0 or G1 before it that says how to move"
        return Refusal(line.number, first.start - line.start + 1, first.start, first.end, reason)
    rapid = modes.motion == 0
    for mode in _unset(modes, in_machine, rapid):
        steps.append(Doubt("unset", line, first.start, first.end, mode))
    a = modes.location
    for word in axes:
        _go(word, line, modes, frame.machine if in_machine else frame.work, in_machine, steps)
    b = modes.location
    feed = modes.feed
    if modes.per_minute is False:
        # inverse time (G93): F is the number of such moves in a minute, and each line needs its own
        feed = None if f is None else f.value * _length(a, b)
    parks = in_machine and any(word.letter in "XY" for word in axes)
    spindle, rounds = (modes.speed, modes.spindle, modes.dwelt, modes.rested), modes.rounds is True
    steps.append(Move(line, rapid, a, b, feed, *spindle, frozenset(modes.coolant), parks, rounds))
    return None


def _go(
    word: Word,
    line: ProgramLine,
    modes: _Modes,
    shift: tuple[float, float, float | None],
    in_machine: bool,
    steps: list[Step],
) -> None:
    """Move one axis as its word says; the position becomes unknown where it cannot be worked out."""
    axis = "XYZ".index(word.letter)
    value = word.value * (modes.units if modes.units is not None else 1.0)
    absolute = in_machine or modes.absolute is not False
    start = shift[axis] if absolute else modes.at[axis]
    if start is None:
        steps.append(Doubt("no_top" if absolute else "relative", line, word.start, word.end, word.text))
    modes.at[axis] = None if start is None else start + value


def _unset(modes: _Modes, in_machine: bool, rapid: bool) -> list[str]:
    """Modes that this move depends on and that the program has not set; each is reported once."""
    missing = []
    if modes.units is None:
        missing.append("units (G20 or G21)")
        modes.units = 1.0
    if modes.absolute is None and not in_machine:
        missing.append("distance mode (G90)")
        modes.absolute = True
    if modes.offset is None and not in_machine:
        missing.append("work offset (G54 to G59.3)")
        modes.offset = ""
    if modes.per_minute is None and not rapid:
        missing.append("feed mode (G94)")
        modes.per_minute = True
    if not modes.radius_off:
        missing.append("cutter radius off (G40)")
        modes.radius_off = True
    if not modes.length_off:
        missing.append("tool length off (G49)")
        modes.length_off = True
    if modes.rounds is None:
        missing.append("exact corners (G61)")
        modes.rounds = False
    return missing


def _length(a: Location, b: Location) -> float:
    squares = [(q - p) ** 2 for p, q in zip(a, b, strict=True) if p is not None and q is not None]
    return float(sum(squares) ** 0.5)
