"""Blocks of a program → the moves that a machine makes of them, in the order of NISTIR 6556, table 8.

Nothing is assumed of what the last program left behind: where the spindle stands, and every mode that can
change a move, is unknown until the program says it.
"""

from __future__ import annotations

from dataclasses import dataclass, field

from flatwise.verify.rs274 import Block, Refusal, Word

#: A place in the setup frame, mm; None where the program has not said it yet.
Place = tuple[float | None, float | None, float | None]

OFFSETS = {540: "G54", 550: "G55", 560: "G56", 570: "G57", 580: "G58", 590: "G59", 591: "G59.1", 592: "G59.2"}
OFFSETS[593] = "G59.3"


@dataclass(frozen=True, slots=True)
class Frame:
    """What turns program coordinates into the setup frame, mm.

    setup = program + `work`; setup = machine + `machine` (its Z None where the machine file gives no `top`).
    `seconds` is the worth of one P.
    """

    work: tuple[float, float, float]
    machine: tuple[float, float, float | None]
    seconds: float


@dataclass(frozen=True, slots=True)
class Move:
    """One straight move.  feed in mm/min (None: not said), speed in rpm, dwelt in s since the spindle started."""

    block: Block
    rapid: bool
    a: Place
    b: Place
    feed: float | None
    speed: float
    spindle: int
    dwelt: float
    coolant: frozenset[int]


@dataclass(frozen=True, slots=True)
class Spin:
    """The spindle is started (3: clockwise, 4: the other way) or its speed set, the cutter at `at`."""

    block: Block
    at: Place
    spindle: int
    speed: float
    starts: bool
    #: whether the program has stopped for the operator (M0) before
    stopped: bool


@dataclass(frozen=True, slots=True)
class Doubt:
    """Something that the program leaves open or sets otherwise than this machine's controller needs.

    kind: units, offset, unset, relative or no_top.  `text` is the word or mode in question.
    """

    kind: str
    block: Block
    start: int
    end: int
    text: str


@dataclass(frozen=True, slots=True)
class Halt:
    """The spindle is stopped, or (`waits`) the program is for the operator while it turns; the cutter at `at`."""

    block: Block
    at: Place
    waits: bool


@dataclass(frozen=True, slots=True)
class Dwell:
    """The turning cutter stands still at `at` for so many seconds."""

    block: Block
    at: Place
    seconds: float


Step = Move | Spin | Halt | Dwell | Doubt


@dataclass(slots=True)
class _Modes:
    motion: int | None = None
    units: float | None = None
    absolute: bool | None = None
    per_minute: bool | None = None
    offset: str | None = None
    radius_off: bool = False
    length_off: bool = False
    feed: float | None = None
    speed: float = 0.0
    spindle: int = 0
    dwelt: float = 0.0
    stopped: bool = False
    coolant: set[int] = field(default_factory=set)
    at: list[float | None] = field(default_factory=lambda: [None, None, None])


def run(blocks: list[Block], frame: Frame, units: str, offset: str) -> tuple[list[Step], list[Refusal], bool]:
    """(steps, refusals, whether the spindle still turns at the end).

    `units` ("mm" or "in") and `offset` are the controller's; a program that sets others gets a Doubt.
    """
    modes = _Modes()
    steps: list[Step] = []
    refusals: list[Refusal] = []
    for block in blocks:
        refusal = _block(block, modes, frame, units, offset, steps)
        if refusal is not None:
            refusals.append(refusal)
        stops = {word.value for word in block.words if word.letter == "M"}
        modes.stopped |= 0.0 in stops
        if modes.spindle and stops & {0.0, 1.0, 2.0, 30.0}:
            steps.append(Halt(block, _place(modes), waits=not stops & {2.0, 30.0}))
        if stops & {2.0, 30.0}:
            modes.spindle = 0
            break
    return steps, refusals, modes.spindle != 0


def _block(block: Block, modes: _Modes, frame: Frame, units: str, offset: str, steps: list[Step]) -> Refusal | None:
    g = {word.tenths: word for word in block.words if word.letter == "G"}
    m = {int(word.value): word for word in block.words if word.letter == "M"}
    if 930 in g or 940 in g:
        modes.per_minute = 940 in g
    f = block.first("F")
    if f is not None:
        # the unit of F is the one in force before this block: units come later in table 8
        modes.feed = f.value * (modes.units if modes.units is not None and modes.per_minute is not False else 1.0)
    _spindle(block, modes, m, steps)
    for code in (7, 8):
        if code in m:
            modes.coolant.add(code)
    if 9 in m:
        modes.coolant.clear()
    p = block.first("P")
    if 40 in g and p is not None and modes.spindle:
        modes.dwelt += p.value * frame.seconds
        if p.value > 0:
            steps.append(Dwell(block, _place(modes), p.value * frame.seconds))
    _modal(block, modes, g, units, offset, steps)
    for code in (0, 10, 800):
        if code in g:
            modes.motion = code
    return _motion(block, modes, g, f, frame, steps)


def _spindle(block: Block, modes: _Modes, m: dict[int, Word], steps: list[Step]) -> None:
    s = block.first("S")
    if s is not None:
        if s.value > modes.speed:
            modes.dwelt = 0.0  # it has to get there first
        modes.speed = s.value
    was = modes.spindle
    if 3 in m or 4 in m:
        modes.spindle = 3 if 3 in m else 4
    elif 5 in m:
        modes.spindle = 0
        if was:
            steps.append(Halt(block, _place(modes), waits=False))
    starts = bool(modes.spindle) and modes.spindle != was
    if starts:
        modes.dwelt = 0.0
    if modes.spindle and (starts or s is not None):
        steps.append(Spin(block, _place(modes), modes.spindle, modes.speed, starts, modes.stopped))


def _modal(block: Block, modes: _Modes, g: dict[int, Word], units: str, offset: str, steps: list[Step]) -> None:
    """Units, radius, length, system, distance: in the order of table 8."""
    if 200 in g or 210 in g:
        inches = 200 in g
        modes.units = 25.4 if inches else 1.0
        if inches != (units == "in"):
            word = g[200 if inches else 210]
            steps.append(Doubt("units", block, word.start, word.end, word.text))
    modes.radius_off |= 400 in g
    modes.length_off |= 490 in g
    for code, name in OFFSETS.items():
        if code in g:
            modes.offset = name
            if name != offset:
                steps.append(Doubt("offset", block, g[code].start, g[code].end, name))
    if 900 in g or 910 in g:
        modes.absolute = 900 in g


def _motion(
    block: Block, modes: _Modes, g: dict[int, Word], f: Word | None, frame: Frame, steps: list[Step]
) -> Refusal | None:
    axes = [word for word in block.words if word.letter in "XYZ"]
    if not axes:
        return None
    first = axes[0]
    column = first.start - block.start + 1
    if modes.motion not in (0, 10):
        reason = f"{first.text} has no G0 or G1 before it that says how to move"
        return Refusal(block.line, column, first.start, first.end, reason)
    in_machine = 530 in g
    rapid = modes.motion == 0
    for mode in _unset(modes, in_machine, rapid):
        steps.append(Doubt("unset", block, first.start, first.end, mode))
    worth = modes.units if modes.units is not None else 1.0
    a = _place(modes)
    for word in axes:
        axis = "XYZ".index(word.letter)
        value = word.value * worth
        shift = frame.machine[axis] if in_machine else frame.work[axis]
        if in_machine or modes.absolute is not False:
            if shift is None:
                steps.append(Doubt("no_top", block, word.start, word.end, word.text))
            modes.at[axis] = None if shift is None else value + shift
        else:
            here = modes.at[axis]
            if here is None:
                steps.append(Doubt("relative", block, word.start, word.end, word.text))
            modes.at[axis] = None if here is None else here + value
    b = _place(modes)
    feed = modes.feed
    if modes.per_minute is False:
        # inverse time (G93): F is how many such moves a minute would hold, said anew in each line
        feed = None if f is None else f.value * _far(a, b)
    steps.append(Move(block, rapid, a, b, feed, modes.speed, modes.spindle, modes.dwelt, frozenset(modes.coolant)))
    return None


def _unset(modes: _Modes, in_machine: bool, rapid: bool) -> list[str]:
    """Modes that this move rests on and that the program has not set; each is told once."""
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
    return missing


def _place(modes: _Modes) -> Place:
    return (modes.at[0], modes.at[1], modes.at[2])


def _far(a: Place, b: Place) -> float:
    parts = [(q - p) ** 2 for p, q in zip(a, b, strict=True) if p is not None and q is not None]
    return float(sum(parts) ** 0.5)
