"""Write a setup as a program: RS274/NGC in bytes.

The words and their groups are those of Kramer, Proctor, Messina, *The NIST RS274/NGC Interpreter – Version 3*,
NISTIR 6556 (2000): one code of a modal group on a line (table 4), comments in plain ASCII that never nest (3.3.4),
no exponents (3.3.2), and G53 on each line in machine coordinates.
"""

from __future__ import annotations

import hashlib
import math
import unicodedata
from collections.abc import Iterable, Iterator, Sequence

from flatwise.core.units import settled
from flatwise.model.bed import BatchFace, BatchPlan, BatchWork
from flatwise.model.block_delete import BlockDelete, block_delete
from flatwise.model.shop import Controller
from flatwise.model.stages import Pass, Plan, Setup, Work

#: What a comment may hold.  Everything else becomes a blank: parentheses would end the comment, and some controllers
#: read `%` `;` `!` `~` `?` as commands wherever they are.
_PLAIN = frozenset("ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789 .,:+-/='_")

#: Marks the further lines of a long comment, so that no part of it can be read as a line of the header.
_GOES_ON = "+ "


def write(plan: Plan, setup: Setup) -> bytes:
    """The program of one setup, ASCII with LF line ends; the same plan gives the same bytes.

    Coordinates count in the work offset: x and y from the setup's origin, z from the touched point and its paper
    (`Touch.zero`), rounded once to the controller's decimals.  Heights in comments count from the bed.  Raises
    ValueError for a leg that no plan may have: a rapid that changes z together with x or y.
    """
    work, controller = plan.work, plan.work.machine.controller
    named = names(work, f"job {work.name}", f"face {setup.face}", int(controller.line))
    skipped = block_delete(work, setup)
    moves = Moves(controller, setup.origin, setup.touch.zero, setup.lift, *_feeds(plan, setup))
    lines = [*_header(named, [(plan, setup)], work, skipped), *_begin(setup, controller, moves), *moves.lift()]
    lines += [*_passes(setup, controller, moves, skipped), *moves.lift(), *_end(controller)]
    return ("\n".join(lines) + "\n").encode("ascii")


def write_batch(plan: BatchPlan, face: BatchFace) -> bytes:
    """The program of one face of a batch: one start, then panel by panel, with ways between them at the lift height."""
    first, (_, setup) = plan.plans[0].work, face.panels[0]
    controller = first.machine.controller
    limit, jobs = int(controller.line), ", ".join(work.name for work in plan.batch.works)
    named = names(plan.batch, f"batch {plan.batch.name}", f"face {face.face}", limit)
    moves = Moves(controller, setup.origin, setup.touch.zero, setup.lift, *_feeds(*face.panels[0]))
    header = _header([*named, *comment(f"jobs {jobs}", limit)], face.panels, first)
    lines = [*header, *_begin(setup, controller, moves), *moves.lift()]
    for number, (each, own) in enumerate(face.panels, 1):
        lines += comment(f"panel {number} of {len(face.panels)}: {each.work.name}", limit)
        moves.turn_to(own.origin, *_feeds(each, own))
        lines += _passes(own, controller, moves)
    lines += [*moves.lift(), *_end(controller)]
    return ("\n".join(lines) + "\n").encode("ascii")


def _feeds(plan: Plan, setup: Setup) -> tuple[float, float]:
    """The feed of a setup, and the one straight down, mm/min."""
    return setup.feed, min(plan.work.machine.z_feed, setup.feed)


def _passes(setup: Setup, controller: Controller, moves: Moves, skipped: BlockDelete | None = None) -> Iterator[str]:
    """The passes of one panel, those that block delete may skip marked."""
    for number, sweep in enumerate(setup.passes, 1):
        yield from comment(_pass_line(sweep, number, len(setup.passes), controller), int(controller.line))
        moves.mark(skipped is not None and number <= skipped.passes)
        for leg in sweep.path:
            yield from moves.go(leg.rapid, leg.x, leg.y, leg.z)
    moves.mark(False)


def comment(text: str, line: int) -> list[str]:
    """`text` as comment lines of at most `line` characters (at least 10), whatever it holds.

    Accents are dropped, and characters that a comment may not hold become blanks.  Words stay whole where they fit;
    further lines begin with `+ `.
    """
    lines: list[str] = []
    room = line - len("()")
    current = ""
    for word in plain(text).split(" "):
        while word:
            start = current + " " if current.strip(_GOES_ON) else current
            if len(start) + len(word) <= room:
                current, word = start + word, ""
            elif not current.strip(_GOES_ON):  # a word longer than a line
                cut = room - len(start)
                current, word = start + word[:cut], word[cut:]
                if word:
                    lines.append(f"({current})")
                    current = _GOES_ON
            else:
                lines.append(f"({current})")
                current = _GOES_ON
    if current.strip(_GOES_ON) or not lines:
        lines.append(f"({current})")
    return lines


def plain(text: str) -> str:
    """`text` in the characters that a comment may hold, with single blanks."""
    spelled = unicodedata.normalize("NFKD", text.replace("±", "+/-"))
    ascii_only = (ch for ch in spelled if not unicodedata.combining(ch))
    return " ".join("".join(ch if ch in _PLAIN else " " for ch in ascii_only).split())


def sources_hash(work: Work | BatchWork) -> str:
    """The first 16 hex digits of the SHA-256 over the digest and path of every source, in their order."""
    listed = "".join(f"{digest} {path}\n" for path, digest in work.sources)
    return hashlib.sha256(listed.encode("utf-8", "surrogatepass")).hexdigest()[:16]


def decimal(value: float, places: int, *, point: bool = True) -> str:
    """`value` rounded to `places` decimals: no exponent, no -0, no trailing zeros.

    `point` keeps at least one decimal: a controller may count a coordinate without a decimal point in its smallest
    steps.
    """
    return _digits(_ticks(value, places), places, point=point)


def _ticks(value: float, places: int) -> int:
    return round(settled(value) * 10.0**places)


def _digits(ticks: int, places: int, *, point: bool) -> str:
    whole, rest = divmod(abs(ticks), 10**places)
    fraction = f"{rest:0{places}d}".rstrip("0") if places else ""
    if point:
        fraction = fraction or "0"
    return ("-" if ticks < 0 else "") + str(whole) + ("." + fraction if fraction else "")


def coordinate(value: float, controller: Controller) -> str:
    """A coordinate (mm) in the program's unit and decimals."""
    return decimal(value / controller.unit, controller.places)


def length_text(value: float, controller: Controller) -> str:
    """A length (mm) for a comment: in the program's unit, with its name."""
    return decimal(value / controller.unit, controller.places, point=False) + controller.units


def names(work: Work | BatchWork, name: str, program: str, limit: int) -> Iterator[str]:
    """The lines that name job, program and sources: verify reads them back, so each is on one line or left out."""
    for named in (name, program, f"sources {sources_hash(work)}"):
        if len(named) + 2 <= limit:
            yield f"({named})"


def zero_corner(work: Work, at: tuple[float, float], board: str = "panel") -> str:
    """The line that says which corner, of what, lies at X 0 Y 0; `at` in machine coordinates, mm."""
    controller = work.machine.controller
    x, y = (length_text(value, controller) for value in at)
    return f"zero X Y: {work.job.zero.corner.corner} corner of the {board}, at machine X {x} Y {y}"


def _header(
    named: Iterable[str], panels: Sequence[tuple[Plan, Setup]], work: Work, skipped: BlockDelete | None = None
) -> Iterator[str]:
    """The comments before the first line; `work` has the zero, `named` the lines that say what the program is."""
    setup, controller = panels[0][1], work.machine.controller
    touch, limit, one = setup.touch, int(controller.line), len(panels) == 1

    def say(text: str) -> list[str]:
        return comment(text, limit)

    yield from say("flatwise program")
    yield from named
    if controller.top is not None or controller.park is not None:
        yield from say("check: the machine was referenced since its power was switched on")
    cutter = work.cutter
    yield from say(f"cutter {cutter.name} {cutter.diameter}, {int(cutter.wings)} wings, shank {cutter.shank}")
    yield from say(f"lengths in {controller.units}, work offset {controller.offset}")
    if controller.rounding:
        by = length_text(controller.rounding, controller)
        yield from say(f"check: the machine rounds corners by up to {by} in G64, its own setting must be no larger")
    board = "board" if work.job.stock.is_bed else "panel" if one else f"panel {work.name}"
    yield from say(zero_corner(work, setup.origin_machine, board))
    x = coordinate(touch.x - setup.origin[0], controller)
    y = coordinate(touch.y - setup.origin[1], controller)
    where = "on the bed beside the panel" if touch.on == "bed" else "on the top"
    paper = (
        f"until paper of {length_text(touch.paper, controller)} just drags" if touch.paper else "until it just touches"
    )
    if setup.zero_on_face:
        kept = "keep the one that is still set, and only if it was lost: " if touch.kept else ""
        face_z = coordinate(setup.face_z + touch.paper, controller)
        yield from say(f"zero Z: {kept}lower the stopped cutter on the cut face {paper}, set Z {face_z} there")
    else:
        yield from say(f"zero Z: {where} at X {x} Y {y}: lower the stopped cutter {paper}, set Z 0 there")
    if touch.on == "top" and not touch.kept and not work.job.stock.is_bed:
        height, off = (length_text(each, controller) for each in (touch.height, work.touch_limit(touch)))
        way_out = "survey again" if setup.face == "first" else "measure, write after first into the job"
        yield from say(f"the top there should be {height} above the bed: touch the bare bed first, then the top")
        yield from say(f"stop if the difference is off by more than {off}: {way_out}, and build again")
    yield from say(
        "touch off in small steps, and turn the cutter by hand only while the axis rests and the spindle is isolated"
    )
    yield from say("the wing that drags first hangs lowest: set Z with it")
    yield from say(
        "set Z anew whenever the cutter was out of the collet, the power was off, or the machine was referenced"
    )
    if skipped is not None:
        marked = "pass 1, which cuts" if skipped.passes == 1 else f"passes 1 to {skipped.passes}, which cut"
        most = coordinate(skipped.highest_z, controller)
        yield from say(f"lines that begin with / are {marked} only air by the forecast")
        yield from say(
            f"block delete: off unless you measured the face as it lies. On only if Z shows at most {most} "
            "where the face is highest, touched in the same way as the zero"
        )
    if work.job.stock.is_bed:
        yield from say("check: nothing lies on the board, cutter tight and clean in its collet")
    else:
        laid = sum(1 for _, each in panels for shim in each.shims if shim.leaves)
        leaves = f"leaves at {laid} place{'s' * (laid != 1)} as the sheet says"
        yield from say(f"check: {leaves if laid else 'no leaves under ' + ('the panel' if one else 'any panel')}")
        panel = "panel" if one else "each panel"
        yield from say(f"check: {panel} against its dogs, clamps tried by hand, cutter tight and clean in its collet")
    yield from say("check: bed and paths clear, first run in the air above the work")
    yield from say("the manuals of machine and cutter, local rules and trained practice come first")
    for plan, _ in panels:
        of = f" of {plan.work.name}" * (not one)
        for rule, waiver in plan.work.waivers.items():
            yield from say(f"waived {rule}{of}: {waiver.reason or ''}")


def _begin(setup: Setup, controller: Controller, moves: Moves) -> Iterator[str]:
    limit = int(controller.line)
    yield from modes(controller)
    if controller.top is not None:
        yield from to_top(controller)
    else:
        lift = coordinate(setup.lift - setup.touch.zero, controller)
        yield from comment(f"before starting: jog up until Z is above {lift}", limit)
        yield from moves.lift()
    if controller.extraction == "by hand":
        yield from comment("stop here: switch the dust extraction on by hand, then continue", limit)
        yield "M0"
    yield f"S{decimal(setup.speed, 3, point=False)} M3"
    if controller.extraction != "by hand":
        yield str(controller.extraction)
    yield _spin_up(controller)


def _spin_up(controller: Controller) -> str:
    """A dwell of `spin_up`, rounded up: never shorter than the spindle needs to start or to stop."""
    spin_up = math.ceil(float(controller.spin_up) * 1000.0 - 1e-6)
    return f"G4 P{spin_up}" if controller.dwell == "milliseconds" else f"G4 P{decimal(spin_up / 1000.0, 3)}"


def modes(controller: Controller) -> tuple[str, str]:
    """The modes that a program needs, on one line, and the work offset."""
    return f"G17 G{20 if controller.units == 'in' else 21} G40 G49 G61 G80 G90 G94", str(controller.offset)


def to_top(controller: Controller) -> Iterator[str]:
    """Up to the top of the travel, where the machine's file gives it."""
    if controller.top is not None:
        yield f"G53 G0 Z{coordinate(float(controller.top), controller)}"


def park_and_end(controller: Controller) -> Iterator[str]:
    """To the place where the spindle parks, and the program's end."""
    if controller.park is not None:
        x, y = (coordinate(float(value), controller) for value in (controller.park.x, controller.park.y))
        yield f"G53 G0 X{x} Y{y}"
    yield f"M{int(controller.ending[1:])}"


def _end(controller: Controller) -> Iterator[str]:
    yield from to_top(controller)
    yield "M5"
    if controller.park is not None:
        yield _spin_up(controller)
    if controller.extraction == "by hand":
        yield from comment("the dust extraction is still on: switch it off by hand", int(controller.line))
    else:
        yield "M9"
    yield from park_and_end(controller)


def _pass_line(sweep: Pass, number: int, total: int, controller: Controller) -> str:
    kind = "finish pass" if sweep.finish else "pass"
    return (
        f"{kind} {number} of {total}: down to {length_text(sweep.plane, controller)} above the bed, "
        f"bite {length_text(sweep.depth, controller)} by the forecast, at most {length_text(sweep.limit, controller)}"
    )


class Moves:
    """Moves as lines of words; a word is written only where it changes."""

    def __init__(
        self,
        controller: Controller,
        origin: tuple[float, float],
        zero: float,
        lift: float,
        feed: float,
        z_feed: float,
    ) -> None:
        """`origin` is program X 0 Y 0 in the setup frame, `zero` the height of program Z 0, mm; feeds in mm/min.

        Straight down it goes at `z_feed`.
        """
        self._origin, self._zero, self._lift = origin, zero, lift
        self._places = controller.places
        self._unit = controller.unit
        self._limit = int(controller.line)
        self._feed, self._z_feed = self._rate(feed), self._rate(z_feed)
        self._fed = ""
        self._motion = ""
        self._rounds, self._rounding = controller.rounding > 0, False
        self._at: dict[str, int] = {}
        self._mark = ""

    def mark(self, on: bool) -> None:
        """Begin or end lines that block delete may skip: nothing but Z, at the lift height, is known after them."""
        if self._mark:
            self._at = {"Z": self._at["Z"]}
            self._motion = self._fed = ""
        self._mark = "/" if on else ""

    def turn_to(self, origin: tuple[float, float], feed: float, z_feed: float) -> None:
        """Go on with another panel: where X 0 Y 0 lies in its setup frame, mm, and its feeds."""
        self._origin, self._feed, self._z_feed = origin, self._rate(feed), self._rate(z_feed)

    def lift(self) -> list[str]:
        """Up to the lift height, unless the program is there already."""
        return self._line("G0", {"Z": self._tick(self._lift - self._zero)})

    def go(self, rapid: bool, x: float, y: float, z: float) -> list[str]:
        """One leg to (x, y, z) in the setup frame."""
        to = {
            "X": self._tick(x - self._origin[0]),
            "Y": self._tick(y - self._origin[1]),
            "Z": self._tick(z - self._zero),
        }
        moved = [axis for axis, value in to.items() if self._at.get(axis) != value]
        if rapid and "Z" in moved and len(moved) > 1:
            raise ValueError(f"a rapid to {(x, y, z)} changes Z together with X or Y")
        down = moved == ["Z"] and to["Z"] < self._at.get("Z", to["Z"])
        return self._line("G0" if rapid else "G1", to, self._z_feed if down else self._feed)

    def _tick(self, value: float) -> int:
        return _ticks(value / self._unit, self._places)

    def _rate(self, feed: float) -> str:
        """A feed as a word, rounded down: never above the planned feed."""
        return f"F{_digits(math.floor(feed / self._unit * 10**self._places + 1e-6), self._places, point=False)}"

    def _line(self, motion: str, to: dict[str, int], feed: str = "") -> list[str]:
        moved = {axis: value for axis, value in to.items() if self._at.get(axis) != value}
        if not moved:
            return []
        words = [] if motion == self._motion else [motion]
        words += [axis + _digits(value, self._places, point=True) for axis, value in moved.items()]
        self._motion = motion
        self._at |= moved
        lines, limit = [], self._limit - len(self._mark)
        # rounding is for corners in the plane of a pass: Z, and rapids, are exact
        rounding = self._rounds and motion == "G1" and "Z" not in moved
        if rounding != self._rounding:
            self._rounding = rounding
            lines.append("G64" if rounding else "G61")
        if motion == "G1" and feed != self._fed:
            self._fed = feed
            if len(" ".join([*words, feed])) > limit:
                lines.append(feed)
            else:
                words.append(feed)
        line = " ".join(words)
        # blanks may be left out (NISTIR 6556, 3.3), but they count as characters of the line
        lines.append(line if len(line) <= limit else "".join(words))
        return [self._mark + line for line in lines]
