"""From a true panel to what came of its job: surveyed, compiled, laid, zeroed, cut, turned, cut again, measured.

The compiler is asked for programs and summary alone; everything else here is the judge's own.  Lengths in mm.
"""

from __future__ import annotations

import json
import re
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

import numpy as np
from outside.true_cuts import Cutter, Holder, Seen, Wood, steps
from outside.true_panels import (
    EDGES,
    PLACES,
    Array,
    Bed,
    Laid,
    Readings,
    Support,
    TruePanel,
    pressed,
    read,
    rest,
)

from flatwise.pipeline import measure, read_works, write_programs
from flatwise.report import files

#: what the shop file of the jobs says; the job text below says the same
DIAMETER, PAPER, REPEAT, LEAN, FLAT, HOP = 64.0, 0.05, 0.02, 0.02 / 200, 0.08, 3.0
ROCK, DEPTH, CORNER, TRAVEL = 0.05, 0.5, 170.0, 1320.0
ACROSS, DOG_HEIGHT, FOOT, CLAMP_HEIGHT = 19.0, 11.0, (70.0, 32.0), 13.0
HELD = {"dog": [("left", 0.25), ("left", 0.75), ("front", 0.15), ("front", 0.85)]}
HELD["clamp"] = [("right", 0.5), ("back", 0.2), ("back", 0.8)]


@dataclass
class Came:
    """What came of one panel: codes if it was refused, else every promise that broke, and the figures."""

    codes: list[str] = field(default_factory=list)
    broken: dict[str, list[str]] = field(default_factory=dict)
    #: loss of each face in the mean, ± promised, the worst of |true − forecast| of the thickness
    lost: list[float] = field(default_factory=list)
    #: of each face: the least wood that came off anywhere, and the deepest bite
    least: list[float] = field(default_factory=list)
    bites: list[float] = field(default_factory=list)
    plus_minus: float = 0.0
    off: float = 0.0
    passes: list[int] = field(default_factory=list)
    #: of each face with `z top`: how far the check by two touches is off, and where it says to stop
    touches: list[tuple[float, float]] = field(default_factory=list)
    #: machine time of both programs as planned, s
    time: float = 0.0
    shims: int = 0
    leaves: int = 0
    rock: float = 0.0
    #: faces of which block delete skipped a pass
    skipped: list[str] = field(default_factory=list)
    #: places where a hand moved the panel by more than `rock`, and a leaf was laid
    seesaws: list[str] = field(default_factory=list)

    def breaks(self, promise: str, what: str) -> None:
        self.broken.setdefault(promise, []).append(what)


def job_text(
    panel: TruePanel,
    readings: Readings | None,
    zero: Literal["top", "bed"],
    more: str = "",
    survey: str = "",
    aim: str = "enough",
) -> str:
    """The job that a person would write for the panel; `survey` and `more` are further lines of its survey and job."""
    lines = []
    if readings is not None:
        said = ", ".join(f"{place} {value}mm" for place, value in readings.thickness.items())
        lines = [f"thickness {said}"] if said else []
        if readings.gaps:
            lines.append("gap " + ", ".join(f"{place} {value}mm" for place, value in readings.gaps.items()))
        lines.append(f"within {readings.within}mm")
        for line, rise, face in panel.steps:
            lower = " lower" if rise < 0 else ""
            lines.append(f"step {face} {abs(rise)}mm at y {line}mm{lower}")
    glue = ", ".join(f"{round(panel.width * share, 1)}mm" for share in (0.25, 0.5, 0.75))
    held = "; ".join(
        f"{kind} {'low_dog' if kind == 'dog' else 'side_cam'} {edge} at {at * 100:g}%"
        for kind, places in HELD.items()
        for edge, at in places
    )
    left = panel.nominal - 2.5
    return f"""use "../shared/shop.flat"
job panel {{
    machine bench_router
    standard solid_tops
    stock {{
        size {panel.length:g}mm x {panel.width:g}mm x {panel.nominal:g}mm
        wood ash
        grain along x
        glue_lines y {glue}
    }}
    survey {{ {"; ".join([*lines, survey])} }}
    supports {{ shims leaf_set under corners, front, back, left, right, centre; aim {aim} }}
    hold {{ {held} }}
    zero {{ corner front_left at {CORNER:g}mm, {CORNER:g}mm; z {zero} by paper {PAPER}mm }}
    cut {{ cutter fly_64; depth {DEPTH}mm; finish 0.2mm; overrun 6mm }}
    faces {{ first until clean; second to {left:g}mm; flip over long_edge }}
    {more}
}}
"""


def compiled(text: str, shop: Path) -> tuple[list[str], dict[str, bytes], dict[str, Any]]:
    """Error and warning codes, programs by name, and the summary of a job; `shop` is a project with shared/."""
    path = shop / "jobs" / "panel.flat"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text, encoding="utf-8")
    front = read_works([path])
    errors = [f"{each.code} {each.message}" for each in front.findings if each.severity == "error"]
    if errors or not front.works:
        return errors, {}, {}
    built = write_programs(front.works[0])
    errors = [f"{each.code} {each.message}" for each in built.findings if each.severity == "error"]
    if errors:
        return errors, {}, {}
    made = files(built, front.texts)
    return [], dict(built.programs), json.loads(made["summary.json"])


def holders(length: float, width: float, bed: Bed) -> list[Holder]:
    """Where dogs and clamps stand, in the frame of the program, with their true heights over the machine's Z 0."""
    found = []
    for kind, places in HELD.items():
        for edge, share in places:
            along = share * (length if edge in ("front", "back") else width)
            out = {"left": (-1, 0), "right": (1, 0), "front": (0, -1), "back": (0, 1)}[edge]
            x = along if edge in ("front", "back") else (0.0 if edge == "left" else length)
            y = along if edge in ("left", "right") else (0.0 if edge == "front" else width)
            if kind == "dog":
                x, y = x + out[0] * ACROSS / 2, y + out[1] * ACROSS / 2
                box, radius, height = (x, y, x, y), ACROSS / 2, DOG_HEIGHT
            else:
                deep, half = FOOT[1], FOOT[0] / 2
                xs = (x - half, x + half) if out[0] == 0 else sorted((x, x + out[0] * deep))
                ys = (y - half, y + half) if out[1] == 0 else sorted((y, y + out[1] * deep))
                box, radius, height = (xs[0], ys[0], xs[1], ys[1]), 0.0, CLAMP_HEIGHT
            found.append(
                Holder(f"{kind} {edge} {share:g}", *box, radius, height + float(bed.at(x + CORNER, y + CORNER)))
            )
    return found


class Bench:
    """One panel on the machine, through both faces."""

    def __init__(self, panel: TruePanel, zero: Literal["top", "bed"], rng: np.random.Generator, within: float) -> None:
        self.panel, self.zero, self.rng = panel, zero, rng
        self.bed = Bed.drawn(rng, FLAT, (0.0, 0.0, TRAVEL, TRAVEL))
        turn = rng.uniform(0, 2 * np.pi)
        self.cutter = Cutter(DIAMETER / 2, (LEAN * np.cos(turn), LEAN * np.sin(turn)))
        self.readings = read(panel, self.support(), rng, within)
        self.came = Came()
        self.base: float | None = None
        #: by how much the machine cuts the corners of a cut, mm; the shop file of the job says the same
        self.rounding = 0.0
        #: the person touches the highest place of each face, and block delete is on where the header then allows it
        self.measures = False

    def support(self, leaves: list[tuple[float, float, float]] | None = None) -> Support:
        return Support(self.panel.length, self.panel.width, self.bed, (CORNER, CORNER), list(leaves or []))

    def _settled(self, lower: Any, support: Support, face: str) -> Laid:
        """At rest; where a corner or edge then moves by more than `rock`, a leaf as thick as the gap goes under it."""
        centre = (self.panel.length / 2, self.panel.width / 2)
        for _ in range(4):
            x, y, height = support.points()
            heights = lower(x, y)
            laid = rest(heights, x, y, height, centre)
            moves = pressed(heights, support, self.panel.weight, EDGES, laid)
            worst = max(moves, key=lambda name: moves[name])
            if face == "first" and not self.came.rock:
                self.came.rock = moves[worst]
            if moves[worst] <= ROCK:
                break
            px, py = PLACES[worst][0] * self.panel.length, PLACES[worst][1] * self.panel.width
            # the leaf goes in where the gap under all of it is wide enough, so that it lifts nothing
            x, y = support.under(px, py)
            gap = float((lower(x, y) + laid.at(x, y) - self.bed.at(x + CORNER, y + CORNER)).min())
            support.leaves.append((px, py, max(gap, 0.0)))
            self.came.seesaws.append(f"{face}: {worst} {moves[worst]:.3f} {gap:.3f}")
        return laid

    def _zeroed(self, top: Any, touch: dict[str, Any]) -> float:
        """The machine's height of program Z 0 (mm): the cutter let down on a paper at the place of the summary."""
        x, y = touch["touch_at"]
        paper = PAPER * float(self.rng.uniform(0.8, 1.2))
        turn = float(self.rng.uniform(0, 2 * np.pi))
        if touch["z"] == "bed":
            if self.base is None:
                on_bed = lambda px, py: self.bed.at(px + CORNER, py + CORNER)  # noqa: E731
                self.base = self.cutter.touched(on_bed, x, y, paper, turn)
            return self.base
        slip = self.rng.uniform(-2.0, 2.0, 2)
        return self.cutter.touched(top, x + slip[0], y + slip[1], paper, turn)

    def _check_touch(self, text: str, zero: float) -> None:
        """The check that the program's header asks for: the bed beside the panel, then the place, by one paper."""
        said = re.findall(r"should be ([\d.]+)mm above the bed|off by more than ([\d.]+)mm", text)
        if self.zero == "bed":
            assert not said
            return
        (height, _), (_, limit) = said
        rng = np.random.default_rng(round(1e6 * zero))
        paper, turn = PAPER * float(rng.uniform(0.8, 1.2)), float(rng.uniform(0, 2 * np.pi))
        on_bed = self.cutter.touched(lambda x, y: self.bed.at(x + CORNER, y + CORNER), -42.0, -42.0, paper, turn)
        read = zero - on_bed + float(rng.uniform(-REPEAT, REPEAT) + rng.uniform(-REPEAT, REPEAT))
        self.came.touches.append((read - float(height), float(limit)))

    def _skipped(self, name: str, text: str, zero: float, high: Any, wood: Wood) -> str:
        """The program as it runs: without its lines marked `/` where the highest place is low enough to skip them."""
        said = re.findall(r"block delete: off unless .* Z shows at most (-?[\d.]+) where the face is highest", text)
        if not said:
            assert "\n/" not in text
            return text
        row, column = np.unravel_index(int(wood.raw.argmax()), wood.raw.shape)
        paper, turn = PAPER * float(self.rng.uniform(0.8, 1.2)), float(self.rng.uniform(0, 2 * np.pi))
        top = self.cutter.touched(high, float(wood.xs[column]), float(wood.ys[row]), paper, turn)
        if top - zero + float(self.rng.uniform(-REPEAT, REPEAT)) > float(said[0]):
            return text
        self.came.skipped.append(name)
        return "\n".join("" if line.startswith("/") else line for line in text.splitlines())

    def face(
        self, name: str, program: bytes, setup: dict[str, Any], lower: Any, top: Any, leaves: Any
    ) -> tuple[Wood, Laid]:
        """Lay, zero and cut one face; `lower` and `top` in the panel's frame as it lies now."""
        laid = self._settled(lower, self.support(leaves), name)
        length, width = self.panel.length, self.panel.width

        def high(x: Array, y: Array) -> Array:
            inside = (x >= 0) & (x <= length) & (y >= 0) & (y <= width)
            return np.where(inside, top(np.clip(x, 0, length), np.clip(y, 0, width)) + laid.at(x, y), -1e6)

        wood = Wood(length, width, lambda x, y: top(x, y) + laid.at(x, y), HOP - 2 * REPEAT)
        zero = self._zeroed(high, setup["zero"])
        text = program.decode("ascii")
        self._check_touch(text, zero)
        if self.measures:
            text = self._skipped(name, text, zero, high, wood)
        stand = holders(length, width, self.bed)
        seen = wood.cut(text, self.cutter, zero, REPEAT, stand, self.rng, self.rounding)
        self._judge(name, seen, wood)
        self.came.lost.append(float((wood.raw - wood.now).mean()))
        self.came.least.append(float((wood.raw - wood.now).min()))
        self.came.bites.append(seen.deepest)
        self.came.passes.append(len(setup["passes"]))
        return wood, laid

    def _judge(self, name: str, seen: Seen, wood: Wood) -> None:
        allowed = DEPTH + 2 * REPEAT + DIAMETER * LEAN * 2**0.5
        if seen.deepest > allowed:
            self.came.breaks("bite", f"{name}: {seen.deepest:.3f} mm")
        for promise in ("plunges", "rapids", "met", "low"):
            for what in getattr(seen, promise)[:3]:
                self.came.breaks(promise, f"{name}: {what}")
        if wood.unclean() > 0:
            self.came.breaks("clean", f"{name}: {wood.unclean():.3f} mm under the cut")

    def run(self, shop: Path, text: str | None = None) -> Came:
        """The whole way; `text` stands for the job's own text."""
        codes, programs, summary = compiled(text or job_text(self.panel, self.readings, self.zero), shop)
        self.came.codes = codes
        if not programs:
            return self.came
        shims = summary["seating"]["shims"]
        leaves = [(*shim["at"], sum(shim["leaves"])) for shim in shims]
        self.came.time = sum(setup["time"] for setup in summary["setups"])
        self.came.shims, self.came.leaves = len(shims), sum(len(shim["leaves"]) for shim in shims)
        setups = {setup["face"]: setup for setup in summary["setups"]}
        panel = self.panel
        wood, laid = self.face("first", programs["first.nc"], setups["first"], panel.lower, panel.top, leaves)
        self.cut_first = _sampled(wood, laid)
        self.second(programs["second.nc"], setups["second"], summary)
        return self.came

    def walk(self, shop: Path, places: list[str]) -> str:
        """Walk a gauge over 5 x 3 points of the free panel by the program that `measure` writes, save `top.csv`, and
        return the job, with calipers at `places`.

        A person reads the dial at each stop, off by up to `within` with what Z does not repeat, in hundredths; Z 0 is
        where the gauge is pressed by half its travel on the bed at the place that the program names.
        """
        panel, readings = self.panel, self.readings
        path = shop / "jobs" / "panel.flat"
        path.parent.mkdir(exist_ok=True)
        walk = "walk dial_10 at 5 x 3"
        path.write_text(
            job_text(panel, None, self.zero, survey=f"{walk}; within {readings.within}mm"), encoding="utf-8"
        )
        (work,) = read_works([path]).works
        program = measure(work).program.decode("ascii")
        lines = program.splitlines()
        x, y, height = self.support().points()
        laid = rest(panel.lower(x, y), x, y, height, (panel.length / 2, panel.width / 2))
        (beside,) = re.findall(r"X (-?[\d.]+) Y (-?[\d.]+): lower the gauge", program)
        base = float(self.bed.at(float(beside[0]) + CORNER, float(beside[1]) + CORNER))
        on_bed, points = round(float(self.rng.uniform(4.9, 5.1)), 2), ["x mm,y mm,z mm"]
        for step in steps(program):
            if step.line < len(lines) and lines[step.line].startswith("(stop "):
                x, y, z = step.end
                # on a glue line the ball of the gauge rides on the higher board
                true = max(float(panel.top(np.asarray(x), np.asarray(each))) for each in (y - 0.3, y + 0.3))
                off = 0.9 * float(self.rng.uniform(-readings.within, readings.within))
                dial = round(on_bed + true + float(laid.at(x, y)) - base - z + off, 2)
                points.append(f"{x:g},{y:g},{z + dial - on_bed:.3f}")
        assert len(points) == 1 + len(re.findall(r"\(stop \d+ of", program))
        (shop / "jobs" / "top.csv").write_text("\n".join(points), encoding="utf-8")
        by_hand = Readings({place: readings.thickness[place] for place in places}, {}, readings.within)
        return job_text(panel, by_hand, self.zero, survey=f'{walk}; probe "top.csv"')

    def thickness_after_first(self, places: list[str]) -> dict[str, float]:
        """Calipers at places once the first face has been cut, each off by up to `within`, in hundredths (mm)."""
        found = {}
        for name in places:
            x, y = np.array([PLACES[name][0] * self.panel.length]), np.array([PLACES[name][1] * self.panel.width])
            true = float(self.cut_first(x, y)[0] - self.panel.lower(x, y)[0])
            found[name] = round(true + 0.9 * float(self.rng.uniform(-self.readings.within, self.readings.within)), 2)
        return found

    def again(self, shop: Path, more: str) -> Came:
        """The second face once more, by a job that says `more` of what was measured after the first."""
        self.came = Came()
        codes, programs, summary = compiled(job_text(self.panel, self.readings, self.zero, more), shop)
        self.came.codes = codes
        if programs:
            self.second(programs["second.nc"], summary["setups"][-1], summary)
        return self.came

    def second(self, program: bytes, setup: dict[str, Any], summary: dict[str, Any]) -> None:
        """Turned over the long edge, which is the X axis where the length is the longer side."""
        panel, about_x = self.panel, self.panel.length >= self.panel.width

        def turned(x: Array, y: Array) -> tuple[Array, Array]:
            return (x, panel.width - y) if about_x else (panel.length - x, y)

        wood, laid = self.face(
            "second",
            program,
            setup,
            lambda x, y: -self.cut_first(*turned(x, y)),
            lambda x, y: -panel.lower(*turned(x, y)),
            None,
        )
        x, y = wood.xs[None, :], wood.ys[:, None]
        thick = wood.now - laid.at(x, y) + self.cut_first(*np.broadcast_arrays(*turned(x + 0 * y, y + 0 * x)))
        forecast, promised = summary["thickness"]["forecast"], summary["thickness"]["plus_minus"]
        self.came.plus_minus = promised
        self.came.off = float(np.abs(thick - forecast).max())
        if self.came.off > promised:
            self.came.breaks("thickness", f"{thick.min():.3f} to {thick.max():.3f} of {forecast} ± {promised}")


def _sampled(wood: Wood, laid: Laid) -> Any:
    """The face as cut, in the panel's frame: the height of the cell in which a place lies."""
    heights = wood.now - laid.at(wood.xs[None, :], wood.ys[:, None])
    step_x, step_y = wood.xs[1] - wood.xs[0], wood.ys[1] - wood.ys[0]

    def at(x: Array, y: Array) -> Array:
        i = np.clip((np.asarray(x) / step_x).astype(int), 0, len(wood.xs) - 1)
        j = np.clip((np.asarray(y) / step_y).astype(int), 0, len(wood.ys) - 1)
        return np.asarray(heights[j, i])

    return at
