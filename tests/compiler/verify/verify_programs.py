"""Plans and programs made by hand for the tests of verify; nothing here comes from the planner or the writer."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import cos, hypot, radians, sin
from typing import Any

from compiler.plan.plans import flat_setup, panel_of
from compiler.shop import q

from compiler import shop, works
from flatwise.core.surface import Surface
from flatwise.model.built import Proof
from flatwise.model.job import Cut
from flatwise.model.shop import Controller, Machine, Spindle, Travel
from flatwise.model.shop_rules import Rules
from flatwise.model.stages import Pass, Plan, Setup, Touch, Work
from flatwise.model.words import CodeWord, DeclaredName
from flatwise.verify import verify

LENGTH, WIDTH, HIGH = 300.0, 200.0, 30.0
RADIUS = 32.0
#: where the panel's corner lies in machine coordinates, mm
CORNER = (500.0, 500.0)
PAPER = 0.05
LIFT = 70.0


def machine(**controller: Any) -> Machine:
    """The shop's, with a weaker spindle, travel that ends where the tests know, and a controller that says more."""
    return shop.machine(
        lift=q("20mm"),
        travel=Travel(x=q("1400mm"), y=q("1400mm"), z=q("160mm")),
        spindle=Spindle(power=q("2kW"), least=q("8000rpm"), most=q("24000rpm")),
        controller=Controller(**{"offset": CodeWord("G55"), "spin_up": q("4s"), **controller}),
    )


def work(length: float = LENGTH, width: float = WIDTH, depth: str = "", **changed: Any) -> Work:
    """A panel at CORNER without holders, in a shop without a standard."""
    cut = Cut(cutter=DeclaredName("fly_64"), depth=q(depth) if depth else None)
    blocks = {"zero": works.zero(*CORNER, paper=0.0), "cut": cut}
    words = {"machine": machine(), "rules": Rules(), "holders": ()}
    return works.work(length, width, HIGH, name="tray", job=blocks, **{**words, **changed})


def setup(
    top: Surface | None = None,
    planes: Sequence[float] = (29.5, 29.0),
    *,
    bound: float = 0.0,
    limit: float = 0.5,
    **changed: Any,
) -> Setup:
    """The first face of a panel that lies flat at HIGH, or as `top`; its passes have planes but no moves."""
    top = top if top is not None else Surface.flat(LENGTH, WIDTH, HIGH)
    words: dict[str, Any] = {
        "bound": bound,
        "touch": Touch("top", top.length / 2, top.width / 2, HIGH, HIGH, bound, PAPER),
        "origin_machine": CORNER,
        "lift": LIFT,
        "stepover": 0.6 * 2 * RADIUS,
        "feed": 6000.0,
        "feed_limit": "machine",
        "chip_load": 0.14,
        "rim_speed": 46.9,
        "power": 100.0,
        "holding_load": 60.0,
        "ridge": 0.004,
        "time": 60.0,
    }
    passes = tuple(Pass(plane, limit, limit, False, True, "x", (), (), 0.0, 0.0) for plane in planes)
    return flat_setup(top, passes, **{**words, **changed})


def plan(one: Setup, of: Work | None = None) -> Plan:
    flat = Surface.flat(one.top.length, one.top.width, 0.0)
    return Plan(
        work=of if of is not None else work(one.top.length, one.top.width),
        panel=panel_of(flat, one.top, (0.0, 0.0, 0.0)),
        seating=None,
        setups=(one,),
        target=None,
        forecast=one.plane,
        plus_minus=0.1,
        parts=(),
        most_left=one.plane,
    )


Row = tuple[float, float, float, float]


def rows(
    length: float = LENGTH, width: float = WIDTH, *, step: float = 1.3 * RADIUS, angle: float = 0.0, past: float = 6.0
) -> list[Row]:
    """Zigzag rows (ax, ay, bx, by) that cover a panel at an angle in degrees; their ends are clear of it."""
    c, s = cos(radians(angle)), sin(radians(angle))
    half = (abs(c) * width + abs(s) * length) / 2
    run = (abs(c) * length + abs(s) * width) / 2 + RADIUS + past
    count = max(1, -(-int(1e6 * (2 * (half + past - RADIUS))) // int(1e6 * step)))
    first = -(half + past - RADIUS)
    spread = 2 * (half + past - RADIUS) / count
    made = []
    for i in range(count + 1):
        v, way = first + i * spread, 1 if i % 2 == 0 else -1
        middle = (length / 2 - s * v, width / 2 + c * v)
        made.append(
            (middle[0] - way * c * run, middle[1] - way * s * run, middle[0] + way * c * run, middle[1] + way * s * run)
        )
    return made


def lines(
    planes: Sequence[float] = (29.5, 29.0), sweep: Iterable[Row] | None = None, *, zero: float = HIGH + PAPER
) -> list[str]:
    """A whole program that sweeps the same rows at each plane, one line an item."""
    sweep = list(sweep if sweep is not None else rows())
    text = [
        "(flatwise program)",
        "(job tray)",
        "(face first)",
        "G17 G21 G40 G49 G61 G80 G90 G94 M0",
        "G55",
        f"G0 Z{LIFT - zero:.3f}",
        "S14000 M3",
        "G4 P4.",
    ]
    for plane in planes:
        ax, ay, *_ = sweep[0]
        text += [f"G0 X{ax:.4f} Y{ay:.4f}", f"G0 Z{plane + 3 - zero:.3f}", f"G1 Z{plane - zero:.3f} F2000"]
        for number, (ax, ay, bx, by) in enumerate(sweep):
            text += [f"G1 X{ax:.4f} Y{ay:.4f}" + " F6000" * (not number), f"G1 X{bx:.4f} Y{by:.4f}"]
        text += [f"G0 Z{LIFT - zero:.3f}"]
    return [*text, "M5", "M9", "M30"]


def proof(text: Sequence[str], one: Setup | None = None, of: Work | None = None) -> tuple[Proof, list[str]]:
    """The proof of a program, and `CODE message` for every finding."""
    made = one if one is not None else setup()
    shown, findings = verify(("\n".join(text) + "\n").encode("ascii"), plan(made, of), made)
    return shown, [f"{finding.code} {finding.message}" for finding in findings]


def codes(found: Iterable[str]) -> set[str]:
    return {one[:5] for one in found}


def far(row: Row) -> float:
    return hypot(row[2] - row[0], row[3] - row[1])


def without(text: list[str], start: str) -> list[str]:
    """The program without the first line that starts like this."""
    at = next(i for i, line in enumerate(text) if line.startswith(start))
    return text[:at] + text[at + 1 :]


def swapped(text: list[str], old: str, new: str, *, which: int = 0) -> list[str]:
    """The program with `old` replaced in the n-th line that has it."""
    at = [i for i, line in enumerate(text) if old in line][which]
    return [*text[:at], text[at].replace(old, new), *text[at + 1 :]]


def one(found: list[str], code: str, *parts: str) -> None:
    """Exactly one finding of this code has all the parts."""
    assert [line for line in found if line.startswith(code) and all(part in line for part in parts)], found
