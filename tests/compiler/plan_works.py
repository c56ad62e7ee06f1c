"""Works, panels and seatings put together by hand, for the tests of planning: the sample shop and a plain top."""

from __future__ import annotations

import re
from dataclasses import replace
from typing import Any

import numpy as np

from flatwise.model.job import (
    Box,
    Corner,
    Cut,
    Faces,
    Flip,
    Hold,
    Job,
    SecondTo,
    Stock,
    UntilClean,
    Waive,
    Zero,
    ZeroZ,
)
from flatwise.model.shop import (
    ChipLoad,
    ColletCode,
    Controller,
    Cutter,
    Lean,
    Machine,
    Shoe,
    SpeedRange,
    Spindle,
    Travel,
    Wood,
)
from flatwise.model.words import Code, Name, Whole
from flatwise.plan import plan
from flatwise.stages import Holder, Panel, Plan, Pose, Rules, Seating, Setup, Work
from flatwise.surface import Surface
from flatwise.units import Quantity, quantity
from flatwise_grammar.nodes import Span

AT = Span("jobs/example.flat", 0, 1)


def q(text: str) -> Quantity:
    """`q("0.5mm")`."""
    found = re.fullmatch(r"(-?[0-9./ ]+?)\s*([a-zA-Z%][a-zA-Z0-9/%]*)", text)
    assert found is not None, text
    return quantity(found[1], found[2], AT)


def machine(**changed: Any) -> Machine:
    words: dict[str, Any] = {
        "travel": Travel(x=q("1320mm"), y=q("1320mm"), z=q("160mm")),
        "feed": q("8m/min"),
        "rapid": q("12m/min"),
        "acceleration": q("500mm/s2"),
        "spindle": Spindle(power=q("2.2kW"), least=q("8000rpm"), most=q("24000rpm")),
        "collet": ColletCode(code=Code("ER20")),
        "nose": q("63mm"),
        "shoe": Shoe(across=q("140mm"), above=q("4mm")),
        "tram": Lean(out=q("0.02mm"), over=q("200mm")),
        "bed": q("0.08mm"),
        "opening": q("160mm"),
        "controller": Controller(),
    }
    return Machine(**{**words, **changed})


def cutter(**changed: Any) -> Cutter:
    words: dict[str, Any] = {
        "diameter": q("64mm"),
        "wings": Whole(3),
        "shank": q("12mm"),
        "blade": q("9mm"),
        "stick_out": q("38mm"),
        "depth": q("1.2mm"),
        "speed": SpeedRange(least=q("10000rpm"), most=q("16000rpm")),
        "chip_load": ChipLoad(least=q("0.10mm"), most=q("0.30mm")),
    }
    return Cutter(**{**words, **changed})


RULES = Rules(
    depth=0.6, leave=15.0, clearance=2.0, overrun=4.0, ridge=0.03, power=0.7, uneven=3.0, survey=True, standard="rules"
)


def dog(edge: str, along: float, length: float, width: float, *, height: float = 11.0, across: float = 19.0) -> Holder:
    r = across / 2
    x, y = {"left": (-r, along), "right": (length + r, along), "front": (along, -r), "back": (along, width + r)}[edge]
    return Holder(
        "dog",
        "low_dog",
        edge,
        along,
        f"{along:g}mm",
        x - r,
        y - r,
        x + r,
        y + r,
        height,
        _push(edge),
        0.0,
        height / 2,
        AT,  # type: ignore[arg-type]
    )


def clamp(
    edge: str, along: float, length: float, width: float, *, height: float = 13.0, force: float = 450.0
) -> Holder:
    a, out = 35.0, 32.0
    x0, x1, y0, y1 = {
        "left": (-out, 0.0, along - a, along + a),
        "right": (length, length + out, along - a, along + a),
        "front": (along - a, along + a, -out, 0.0),
        "back": (along - a, along + a, width, width + out),
    }[edge]
    return Holder("clamp", "edge_cam", edge, along, f"{along:g}mm", x0, y0, x1, y1, height, _push(edge), force, 8.0, AT)  # type: ignore[arg-type]


def _push(edge: str) -> tuple[float, float]:
    return {"left": (1.0, 0.0), "right": (-1.0, 0.0), "front": (0.0, 1.0), "back": (0.0, -1.0)}[edge]


def holders(length: float, width: float) -> tuple[Holder, ...]:
    """As the sample holds its panels: dogs left and front, clamps right and back."""
    return (
        *(dog("left", share * width, length, width) for share in (0.25, 0.75)),
        *(dog("front", share * length, length, width) for share in (0.15, 0.85)),
        clamp("right", 0.5 * width, length, width),
        *(clamp("back", share * length, length, width) for share in (0.2, 0.8)),
    )


def cut(**changed: Any) -> Cut:
    words: dict[str, Any] = {
        "cutter": Name("fly_64"),
        "stepover": q("65%"),
        "depth": q("0.5mm"),
        "finish": q("0.2mm"),
        "overrun": q("6mm"),
        "speed": q("14000rpm"),
    }
    return Cut(**{**words, **changed})


def faces(first: Any = ..., second: Any = ...) -> Faces:
    return Faces(
        first=UntilClean(until="until") if first is ... else first,
        second=SecondTo(thickness=q("28mm"), within=q("0.5mm")) if second is ... else second,
        flip=Flip(edge="long_edge"),
    )


def work(
    length: float = 900.0,
    width: float = 500.0,
    thickness: float = 32.0,
    *,
    job: dict[str, Any] | None = None,
    **changed: Any,
) -> Work:
    """A Work: `job` replaces blocks of the job, the rest fields of the Work."""
    size = Box(length=q(f"{length}mm"), width=q(f"{width}mm"), thickness=q(f"{thickness}mm"))
    blocks: dict[str, Any] = {
        "machine": Name("bench_router"),
        "stock": Stock(size=size, wood=Name("ash"), grain="x"),
        "hold": Hold(),
        "zero": Zero(
            corner=Corner(corner="front_left", x=q("120mm"), y=q("120mm")), z=ZeroZ(on="top", paper=q("0.05mm"))
        ),
        "cut": cut(),
        "faces": faces(),
    }
    made = Work(
        name="example",
        path=AT.path,
        span=AT,
        job=Job(**{**blocks, **(job or {})}),
        machine=machine(),
        cutter=cutter(),
        wood=Wood(density=q("670kg/m3"), modulus=q("12000MPa"), cutting_energy=q("45N/mm2")),
        rules=RULES,
        holders=holders(length, width),
        sets={},
        points={},
        waivers={},
        sources=((AT.path, "0" * 64),),
    )
    return replace(made, **changed)


def waiver(rule: Any) -> dict[str, Waive]:
    return {rule: Waive(rule=rule)}


def lay(
    of: Work, upper: Surface | None = None, lower: Surface | None = None, bound: float = 0.05
) -> tuple[Panel, Seating]:
    """A panel as it lies: flat, or with the faces given."""
    low = lower if lower is not None else Surface.flat(of.length, of.width, 0.0)
    up = upper if upper is not None else Surface.flat(of.length, of.width, of.thickness)
    thick = up.mean - low.mean
    return (
        Panel(low, up, bound, bound, bound, True, True),
        Seating(low, up, Pose(0.0, 0.0, 0.0), (), (), False, thick, thick, None, bound, bound, bound),
    )


def bumpy(length: float, width: float, height: float, *, seed: int = 1, rough: float = 0.8, nodes: int = 9) -> Surface:
    """A face with random heights at its nodes, mm."""
    z = height + rough * np.random.default_rng(seed).uniform(-0.5, 0.5, (nodes, nodes))
    return Surface(np.linspace(0, length, nodes), np.linspace(0, width, nodes), z)


def planned(of: Work, upper: Surface | None = None, lower: Surface | None = None, bound: float = 0.05) -> Plan:
    made, findings = plan(of, *lay(of, upper, lower, bound))
    assert made is not None, findings
    return made


def first(of: Work, upper: Surface | None = None, bound: float = 0.05) -> Setup:
    return planned(of, upper, bound=bound).setups[0]
